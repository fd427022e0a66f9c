"""The data for others: fits its schemas, names every mark, and can be worked with.

Oracles: JSON Schema 2020-12 by the jsonschema and referencing libraries; the SPDX licence list
(https://spdx.org/licenses/, identifier CC-BY-4.0); the Fetch standard for reading across origins.
"""

import copy
import json
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest
import yaml
from referencing import Registry, Resource

from build_tools.engine.cases import CarCase
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.triage import triage
from build_tools.knowledge.entries import UNSOURCED_MARKS
from build_tools.knowledge.schema_check import published_schemas
from build_tools.site.compile_json import compile_catalogue
from build_tools.site.published_data import FILES, published_files
from build_tools.site.security import headers_file
from tests.shipped import CATALOGUE, ROOT

ABOUT = yaml.safe_load((ROOT / "mkdocs.yml").read_text("utf-8").replace("!ENV", ""))["extra"]


@pytest.fixture(scope="module")
def published():
    data = compile_catalogue(CATALOGUE)
    files = published_files(CATALOGUE, data, ABOUT)
    return {Path(name).stem: json.loads(text) for name, text in files}


def judge(document):
    """Return every misfit of a published document, by the schema it names itself."""
    schemas = {name: json.loads(text) for name, text in published_schemas()}
    resources = [(name, Resource.from_contents(one)) for name, one in schemas.items()]
    schema = schemas[Path(document["schema"]).name]
    judged = jsonschema.Draft202012Validator(
        schema, registry=Registry().with_resources(resources)
    ).iter_errors(document)
    return [f"{error.json_path}: {error.message}" for error in judged]


@pytest.mark.parametrize("name", FILES)
def test_each_file_fits_the_schema_it_names(published, name):
    assert judge(published[name]) == []
    broken = copy.deepcopy(published[name])
    del broken["edition"]["number"]
    assert judge(broken) != []


@pytest.mark.parametrize("name", FILES)
def test_a_field_added_anywhere_still_fits(published, name):
    # Only groups of named fields: in a group that goes by id, every key is an entry.
    schemas = dict(published_schemas())
    assert not any('"additionalProperties": false' in text for text in schemas.values())
    whole = published[name] | {"x-added-later": {"any": ["thing"]}}
    for kind in {"causes", "checks", "cases", "monitors"} & set(whole):
        whole[kind] = {key: {**one, "x-added-later": 1} for key, one in whole[kind].items()}
    assert judge(whole) == []


def test_every_figure_of_the_network_has_a_mark_that_exists(published):
    data = published["knowledge"]
    known = {*UNSOURCED_MARKS, *data["sources"]}
    marks = data["marks"]
    assert set(marks["priors"]) == {cause["id"] for cause in data["network"]["causes"]}
    seen = set(marks["priors"].values())
    for finding in data["network"]["findings"]:
        levels = len(finding["levels"]) - 1
        assert len(marks["leaks"][finding["id"]]) == levels
        assert set(marks["likelihoods"][finding["id"]]) == set(finding["links"])
        seen |= set(marks["leaks"][finding["id"]].values())
        for cause in marks["likelihoods"][finding["id"]].values():
            seen |= set(cause.values())
    assert seen <= known
    assert all(
        {"status", "reviewed"} <= set(entry)
        for kind in ("symptoms", "causes", "checks", "gauges", "sums", "contexts")
        for entry in data[kind].values()
    )


def test_the_licence_is_named_as_the_list_of_licences_names_it(published):
    assert {one["licence"] for one in published.values()} == {"CC-BY-4.0"}


def test_pages_elsewhere_may_read_the_data_and_its_schemas():
    rules = headers_file()
    for path in ("/assets/data/*", "/schema/*"):
        assert f"{path}\n  Access-Control-Allow-Origin: *\n" in rules


def test_the_example_reproduces_a_posterior_and_a_verdict(published, tmp_path):
    file = tmp_path / "knowledge.json"
    file.write_text(json.dumps(published["knowledge"]), "utf-8")
    program = ROOT / "content" / "maintain" / "data_example.py"
    run = subprocess.run(
        [sys.executable, program, file], capture_output=True, text=True, check=True, timeout=60
    )
    told = json.loads(run.stdout)
    found = triage(
        CATALOGUE, network_from_catalogue(CATALOGUE), CarCase(symptoms=("flat-overnight",))
    )
    ours = {cause.id: cause.probability for cause in found.causes}
    assert told["posterior"] == pytest.approx({c: ours[c] for c in told["posterior"]}, abs=1e-9)
    # 12.1 V lies between a quarter and a half by the published table that the gauge cites.
    bands = {band.id: band.says for band in CATALOGUE.gauges["resting-voltage"].bands}
    assert told["verdict"] == bands["quarter"]
