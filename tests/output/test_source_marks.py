"""Every use of a source reaches the source's page, and every check's page prints its sources.

Held against a walk over the YAML with PyYAML alone, which knows nothing of our entries.
"""

import re
from functools import cache

import pytest
import yaml

from build_tools.site.page_press import SECTIONS
from tests.shipped import ROOT

SOURCES = {path.stem for path in (ROOT / "symptoms/sources").glob("*.yml")}
KINDS = {
    "entries": "symptom", "causes": "cause", "checks": "check", "gauges": "gauge", "sums": "sum",
    "monitors": "monitor",
}  # fmt: skip


class Pages(dict):
    """The text of each page of the built site, by its address without the last slash."""

    def __init__(self, site):
        self.site = site

    def __missing__(self, address):
        self[address] = (self.site / address / "index.html").read_text("utf-8")
        return self[address]


@pytest.fixture(scope="module")
def pages(site):
    return Pages(site)


@cache
def plain_yaml(path):
    return yaml.load(path.read_text("utf-8"), yaml.CSafeLoader)


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


@cache
def all_uses():
    """Return every (source, address of what leans on it) of the YAML files of the knowledge."""
    return frozenset(found_uses())


def found_uses():
    for path in sorted((ROOT / "symptoms").glob("[!_]*/*.yml")):
        value = plain_yaml(path)
        if path.parent.name == "vocabulary":
            for item in value.get("items", ()):
                for mark in set(written(item)) & SOURCES:
                    yield (
                        mark,
                        f"stay-safe/#{item['id']}" if path.stem == "hazards" else "stay-safe/",
                    )
            assert not set(written({**value, "items": []})) & SOURCES
        else:
            for mark in set(written(value)) & SOURCES:
                yield mark, f"{SECTIONS[KINDS[path.parent.name]]}/{path.stem}/"


def test_every_use_of_a_source_stands_on_its_page(pages):
    uses = all_uses()
    assert len(uses) > 90
    missing = [
        (mark, address)
        for mark, address in sorted(uses)
        if f'href="../../{address}"' not in pages[f"sources/{mark}"]
    ]
    assert missing == []


def test_a_source_page_names_nothing_that_does_not_lean_on_it(pages):
    uses = all_uses()
    for source in SOURCES:
        part = pages[f"sources/{source}"].split('id="uses"')[1].split("</article>")[0]
        shown = {(source, one) for one in re.findall(r'href="\.\./\.\./([^"]+)"', part)}
        assert shown <= uses


def test_every_check_prints_its_sources(pages):
    words = {"from-memory": "from memory", "common-practice": "common practice, no source",
             "our-estimate": "our estimate"}  # fmt: skip
    for path in sorted((ROOT / "symptoms/checks").glob("*.yml")):
        part = pages[f"checks/{path.stem}"].split('id="sources"')[1].split("</article>")[0]
        for mark in set(written(plain_yaml(path))):
            wanted = f'href="../../sources/{mark}/"' if mark in SOURCES else words[mark]
            assert wanted in part, (path.stem, mark)
