"""Every use of a source reaches the source's page, and every check's page prints its sources.

Held against a walk over the YAML with PyYAML alone, which knows nothing of our entries.
"""

import re

import pytest
import yaml

from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.site.page_press import SECTIONS, Press
from build_tools.site.pages import make_pages
from tests.shipped import CATALOGUE, ROOT

KINDS = {
    "entries": "symptom", "causes": "cause", "checks": "check", "gauges": "gauge", "sums": "sum",
    "monitors": "monitor",
}  # fmt: skip


@pytest.fixture(scope="module")
def pages():
    made, problems = make_pages(Press(CATALOGUE, network_from_catalogue(CATALOGUE)))
    assert problems == []
    return {page.address: page.html for page in made}


def written(value, key=""):
    """Yield every text under a key `source` or in a list `sources`."""
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from written(inner, name)
    elif isinstance(value, list):
        for inner in value:
            yield from written(inner, key)
    elif key in {"source", "sources"} and isinstance(value, str):
        yield value


def all_uses():
    """Yield (source, address of what leans on it) for every YAML file of the knowledge."""
    sources = {path.stem for path in (ROOT / "symptoms/sources").glob("*.yml")}
    for path in sorted((ROOT / "symptoms").glob("[!_]*/*.yml")):
        value = yaml.safe_load(path.read_text("utf-8"))
        if path.parent.name == "vocabulary":
            for item in value.get("items", ()):
                for mark in set(written(item)) & sources:
                    yield (
                        mark,
                        f"stay-safe/#{item['id']}" if path.stem == "hazards" else "stay-safe/",
                    )
            assert not set(written({**value, "items": []})) & sources
        else:
            for mark in set(written(value)) & sources:
                yield mark, f"{SECTIONS[KINDS[path.parent.name]]}/{path.stem}/"


def test_every_use_of_a_source_stands_on_its_page(pages):
    uses = set(all_uses())
    assert len(uses) > 90
    missing = [
        (mark, address)
        for mark, address in sorted(uses)
        if f'href="../../{address}"' not in pages[f"sources/{mark}"]
    ]
    assert missing == []


def test_a_source_page_names_nothing_that_does_not_lean_on_it(pages):
    uses = set(all_uses())
    for source in CATALOGUE.sources:
        part = pages[f"sources/{source}"].split('id="uses"')[1]
        shown = {(source, one) for one in re.findall(r'href="\.\./\.\./([^"]+)"', part)}
        assert shown <= uses


def test_every_check_prints_its_sources(pages):
    words = {"from-memory": "from memory", "common-practice": "common practice, no source",
             "our-estimate": "our estimate"}  # fmt: skip
    for path in sorted((ROOT / "symptoms/checks").glob("*.yml")):
        part = pages[f"checks/{path.stem}"].split('id="sources"')[1]
        for mark in set(written(yaml.safe_load(path.read_text("utf-8")))):
            wanted = f'href="../../sources/{mark}/"' if mark in CATALOGUE.sources else words[mark]
            assert wanted in part, (path.stem, mark)
