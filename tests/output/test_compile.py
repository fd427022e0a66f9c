"""The compiled knowledge: its published shape, its sameness, and what it must agree with."""

import json
import os
import subprocess
import sys
from dataclasses import replace

import jsonschema
import pytest

from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.network import network_from_document
from build_tools.site.compile_json import FORMAT, compile_catalogue, to_text
from tests.shipped import CATALOGUE, ROOT


@pytest.fixture(scope="module")
def compiled():
    return compile_catalogue(CATALOGUE)


def test_it_fits_its_published_schema(compiled):
    schema = json.loads((ROOT / "symptoms/_schema/compiled.schema.json").read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    errors = list(jsonschema.Draft202012Validator(schema).iter_errors(compiled))
    assert [f"{error.json_path}: {error.message}" for error in errors] == []


def test_it_is_the_same_whatever_the_hash_seed():
    # Sets iterate by hash; another seed in another process would show an order that leaks.
    code = (
        "import hashlib, pathlib;"
        "from build_tools.knowledge.assemble import load_catalogue as load;"
        "from build_tools.site.compile_json import compile_catalogue as build, to_text;"
        "text = to_text(build(load(pathlib.Path('.'))[0]));"
        "print(hashlib.sha256(text.encode()).hexdigest())"
    )
    seen = set()
    for seed in ("1", "2"):
        run = subprocess.run(
            [sys.executable, "-c", code],
            cwd=ROOT,
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
            timeout=120,
        )
        seen.add(run.stdout)
    assert len(seen) == 1


def test_the_version_follows_the_content(compiled):
    assert compiled["format"] == FORMAT
    name, cause = next(iter(CATALOGUE.causes.items()))
    changed = replace(CATALOGUE, causes={**CATALOGUE.causes, name: replace(cause, title="Other")})
    assert compile_catalogue(changed)["version"] != compiled["version"]
    assert compile_catalogue(CATALOGUE)["version"] == compiled["version"]


def test_the_network_survives_the_trip_through_text(compiled):
    again = json.loads(to_text(compiled))
    assert network_from_document(again["network"]) == network_from_catalogue(CATALOGUE)


def test_everything_named_is_there(compiled):
    for check in compiled["checks"].values():
        assert check["gauge"] is None or check["gauge"] in compiled["gauges"]
        assert all(tool in compiled["tools"] for tool in check["tools"])
        assert all(need["check"] in compiled["checks"] for need in check["needs"])
    for symptom in compiled["symptoms"].values():
        assert all(link["cause"] in compiled["causes"] for link in symptom["causes"])
        assert all(line in compiled["stop_lines"] for line in symptom["stop_now"])
    for cause in compiled["causes"].values():
        assert cause["group"] in compiled["groups"]
        assert all(one["check"] in compiled["checks"] for one in cause["confirmed_by"])


def test_word_lists_keep_their_order(compiled):
    # Stop-now lines are shown in the order of their file, which is by urgency.
    assert list(compiled["stop_lines"]) == list(CATALOGUE.vocabulary.stop_lines)
    assert list(compiled["causes"]) == sorted(compiled["causes"])
