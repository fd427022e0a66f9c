"""Our odds beside published counts of breakdowns and tests.

The published figures are worked out here again from the counts as printed (in thousands, or
as stated), apart from the numbers the report carries.
"""

from pathlib import Path

import pytest

from build_tools.knowledge.assemble import load_catalogue
from build_tools.reports.base_rates import COMPARED, FACTOR, MARKS, base_rates, comparable
from tests.shipped import CATALOGUE

PROJECT = Path(__file__).parents[1]
ROWS = {row.compared.id: row for row in base_rates(CATALOGUE)}
TELLING = {"published": "own", "second-hand": "2nd"}

# Flat, worn, charging, starter.
COUNTS = {
    "breakdown-counts-japan-2000": (778.3, 77.8, 57.0, 27.6),
    "breakdown-counts-japan-1999": (14.2, 1.5, 0.849, 0.408),
    "breakdown-counts-japan-2010": (19.9, 1.8, 0.632, 0.566),
    "breakdown-review-britain-2008": (535.5, 0.0, 76.5, 75.5),
    "breakdown-review-britain-2011": (450.0, 0.0, 124.0, 88.0),
    "winter-breakdowns-britain-2016": (38.6, 70.9, 18.3, 12.6),
}


def figures(row):
    return {one.source: one.value for one in ROWS[row].compared.published}


@pytest.mark.parametrize("source", COUNTS)
def test_published_shares_and_ratios_follow_from_the_counts(source):
    flat, worn, charging, starter = COUNTS[source]
    battery = flat + worn
    share = battery / (battery + charging + starter)
    assert figures("battery-among-three")[source] == pytest.approx(share, abs=0.006)
    assert figures("charging-to-starter")[source] == pytest.approx(charging / starter, abs=0.06)


def test_other_published_figures_follow_from_the_counts():
    worn = figures("worn-among-battery")
    assert worn["breakdown-counts-japan-2000"] == pytest.approx(77.8 / (778.3 + 77.8), abs=0.006)
    assert worn["winter-breakdowns-britain-2016"] == pytest.approx(70.9 / (38.6 + 70.9), abs=0.006)
    assert worn["breakdown-counts-netherlands-2025"] == pytest.approx(80 / 337, abs=0.006)
    cold = figures("cold-to-mild")["breakdown-dispatches-korea-2022"]
    assert cold == pytest.approx((0.59 / 0.41) / (0.40 / 0.60), abs=0.06)
    caps = [one.value for one in ROWS["cap-not-sealing"].compared.published]
    assert max(caps) == pytest.approx(60 / 431, abs=0.0006)


@pytest.mark.parametrize("row", COMPARED, ids=lambda one: one.id)
def test_every_source_exists_and_its_mark_is_no_better_than_what_was_seen(row):
    for one in row.published:
        source = CATALOGUE.sources[one.source]
        assert one.mark in MARKS
        assert TELLING[source.mark] == one.mark
        assert source.seen != "full"


@pytest.mark.parametrize("row", ROWS.values(), ids=lambda one: one.compared.id)
def test_ours_lies_within_a_factor_of_two_or_is_explained(row):
    low, high, ours = row.compared.low, row.compared.high, row.ours
    if row.compared.share:
        low, high, ours = (one / (1 - one) for one in (low, high, ours))
    agrees = low / FACTOR <= ours <= high * FACTOR
    assert agrees == (row.verdict != "apart")
    assert agrees or row.compared.why
    assert row.compared.how


def test_practitioners_order_of_what_empties_a_battery():
    common = {name: cause.how_common.value for name, cause in CATALOGUE.causes.items()}
    assert common["battery-clamp-poor"] < common["battery-run-down"]
    assert common["module-stays-awake"] < common["lamp-left-on"]


def test_knowledge_without_the_compared_entries_is_told_apart():
    tiny, _ = load_catalogue(PROJECT / "tests" / "fixtures" / "base")
    assert comparable(CATALOGUE)
    assert not comparable(tiny)
