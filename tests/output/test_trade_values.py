"""Check values from the trade: common practice, no source, each said where it is needed."""

import re

import pytest

from build_tools.knowledge.markup import time_words
from build_tools.site.compile_json import compile_catalogue
from tests.reasoning.readings import CATALOGUE, SUMS

PLACES = {
    # A battery over two years old or ever jump-started is load-tested first.
    "old or jump-started": ("check", "load-test-battery", r"two years old.*jump-started"),
    # A hand load tester is pressed at most 10 s and gets hot.
    "ten seconds": ("check", "load-test-battery", r"at most 10 seconds: it gets hot"),
    "ten seconds in the sum": ("sum", "hand-tester", r"at most 10 seconds"),
    # Two days on a charger and still about 10.8 V: a cell is gone.
    "a cell is gone": ("check", "charge-battery-fully", r"Two days.*10\.8 V.*five cells"),
    # Down to about 10.6 V within a minute of a window motor, engine off.
    "window motor": ("check", "measure-resting-voltage", r"window motor.*10\.6 V.*minute"),
    # Engine running, tester pressed: idle dips and recovers, about 100 A.
    "about 100 A": ("check", "measure-charging-voltage-loaded", r"idle dips and recovers.*100 A"),
    # A flooded battery from a hot climate may fail in its first winter.
    "first winter": ("symptom", "cranks-slowly-when-cold", r"hot climate may fail in its first"),
    # 24 h disconnected is a last resort that costs monitors and radio code.
    "last resort": ("check", "read-and-write-down-codes", r"24 hours only as a last resort.*radio"),
    # Hundreds to thousands of miles with a monitor never run while the supply is weak.
    "many miles": ("symptom", "many-miles-still-not-ready", r"hundreds to thousands of miles"),
}


def strings(value):
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for inner in value.values():
            yield from strings(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from strings(inner)


@pytest.mark.parametrize("name", sorted(PLACES))
def test_it_is_said_and_marked_as_common_practice(name):
    kind, entry_id, pattern = PLACES[name]
    document = CATALOGUE.documents[kind, entry_id].value
    said = [" ".join(one.split()) for one in strings(document)]
    found = [one for one in said if re.search(pattern, one)]
    assert found
    if kind == "sum":
        assert SUMS[entry_id]["sources"] == ["common-practice"]
    else:
        assert all("(common practice)" in one for one in found)


def test_a_frozen_battery_has_one_advice():
    # Current through ice can burst it (NHTSA notice, army manual): a shop thaws it, nobody else.
    said = [
        " ".join(one.split())
        for document in CATALOGUE.documents.values()
        for one in strings(document.value)
        if re.search(r"\bthaw", one) and re.search("battery|frozen", one)
    ]
    assert said
    assert all(re.search("shop (must )?thaw", one) for one in said), said


def test_owners_minutes_stand_apart_from_hours_of_waiting():
    published = compile_catalogue(CATALOGUE)["checks"]
    charge, rest = published["charge-battery-fully"], published["rest-overnight"]
    assert (charge["minutes"], charge["wait_hours"]) == (20, 10)
    assert (rest["minutes"], rest["wait_hours"]) == (3, 8)
    assert "wait_hours" not in published["twist-battery-clamps"]
    assert time_words(20, 10) == "20 min of yours, then about 10 h of waiting"


_FIGURE = re.compile(
    r"(?<![\w.])\d+(?:\.\d+)? ?(?:V|mV|A|mA|Ah|\u00b0C|percent|seconds|minutes|hours)\b"
)
_MARKED = re.compile(r"\((?:common practice|from memory|our estimate)\)", re.IGNORECASE)


def acted_on(check):
    """Yield every sentence of a check that holds a figure with its unit."""
    for step in check.steps:
        if not (step.source or step.caution):
            yield step.do
    yield from (level.means for level in check.levels)
    yield check.cannot_tell


@pytest.mark.parametrize("check_id", sorted(CATALOGUE.checks))
def test_figures_in_a_check_carry_a_mark(check_id):
    check = CATALOGUE.checks[check_id]
    for text in acted_on(check):
        if _FIGURE.search(text) and not _MARKED.search(text) and check.gauge is None:
            assert check.sources, text
    assert all(
        mark in CATALOGUE.sources or mark in ("from-memory", "common-practice", "our-estimate")
        for mark in check.sources
    )
