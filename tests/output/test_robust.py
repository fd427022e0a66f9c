"""The robustness report counts what stays, repeats itself, and is not out of date."""

import copy
import dataclasses
import json
from pathlib import Path

import pytest

from build_tools.knowledge.assemble import load_catalogue
from build_tools.reports.robust import (
    Noise,
    left_over,
    merged,
    report_text,
    robust_report,
    stale_entries,
)
from build_tools.reports.robust_words import reader_sentence, summary, table
from tests.shipped import CATALOGUE

PROJECT = Path(__file__).parents[2]
REPORT = PROJECT / "symptoms" / "_reports" / "robust.json"
TINY, _ = load_catalogue(PROJECT / "tests" / "fixtures" / "base")
NOISE = Noise(draws=12)


@pytest.fixture(scope="module")
def report():
    return robust_report(TINY, "abc", NOISE)


def test_the_same_seed_gives_the_same_report_and_another_does_not(report):
    assert robust_report(TINY, "abc", NOISE) == report
    other = robust_report(TINY, "abc", Noise((3.0,), 12, 1))
    again = robust_report(TINY, "abc", Noise((3.0,), 12, 2))
    assert other["symptoms"] != again["symptoms"]


def test_hardly_any_noise_changes_nothing():
    still = robust_report(TINY, "abc", Noise((1e-9,), 3))
    for row in (*still["symptoms"].values(), *still["cases"].values()):
        assert row["kept"] == {"1e-09": [1.0, 1.0, 1.0]}
        assert row["regret"] == {"1e-09": [0.0, 0.0]}
        assert row["rival"] is None
        assert row["other_step"] is None


def test_much_noise_changes_a_close_call_more_than_a_clear_one():
    # battery-empty comes 14 times as often as starter-stuck; a full battery that clicks
    # leaves little doubt, the complaint alone leaves more.
    found = robust_report(TINY, "abc", Noise((2.0,), 60))
    row = found["symptoms"]["will-not-crank"]
    assert row["cause"] == "battery-empty"
    assert 0.3 < row["kept"]["2"][0] < 1.0
    assert row["rival"] == "starter-stuck"
    mean, worst = row["regret"]["2"]
    assert 0 <= mean <= worst


def test_only_some_rows_are_asked_for(report):
    part = robust_report(TINY, "abc", NOISE, only=[("case", "clicks-and-full")])
    assert part["symptoms"] == {}
    assert part["cases"] == {"clicks-and-full": report["cases"]["clicks-and-full"]}


def test_a_row_is_stale_when_the_advice_has_changed_or_it_is_missing(report):
    assert stale_entries(TINY, report) == []
    other = copy.deepcopy(report)
    other["symptoms"]["will-not-crank"]["cause"] = "starter-stuck"
    del other["cases"]["clicks-and-full"]
    other["cases"]["gone"] = report["cases"]["clicks-and-full"]
    stale = stale_entries(TINY, other)
    assert stale == [("symptom", "will-not-crank"), ("case", "clicks-and-full")]
    assert left_over(TINY, other) == [("case", "gone")]
    joined = merged(TINY, other, robust_report(TINY, "def", NOISE, only=stale))
    assert joined == {**report, "refreshed": "def"}


def test_a_draft_is_measured_where_it_was_edited_and_missed_by_nobody_else(report):
    case = dataclasses.replace(TINY.cases["clicks-and-full"], status="draft")
    draft = dataclasses.replace(TINY, cases={**TINY.cases, "clicks-and-full": case})
    other = copy.deepcopy(report)
    del other["cases"]["clicks-and-full"]
    assert stale_entries(draft, other) == []
    edited = {draft.place("case", "clicks-and-full").file}
    assert stale_entries(draft, other, edited=edited) == [("case", "clicks-and-full")]


def test_the_text_reads_back_and_has_a_line_for_each_row(report):
    text = report_text(report)
    assert json.loads(text) == report
    assert sum('"kept"' in line for line in text.splitlines()) == 3


def test_readers_are_told_one_sentence(report):
    row = report["symptoms"]["will-not-crank"]
    kept = {**row, "kept": {"0.5": [1.0, 1.0, 1.0]}}
    said = reader_sentence(TINY, {"symptoms": {"will-not-crank": kept}}, "will-not-crank")
    assert said == "What is likeliest and what to check first hardly depend on our estimates."
    close = {**row, "rival": "starter-stuck", "kept": {"0.5": [0.7, 0.7, 1.0]}}
    said = reader_sentence(TINY, {"symptoms": {"will-not-crank": close}}, "will-not-crank")
    assert said == "Which is likeliest is a close call between “battery empty” and “starter stuck”."
    steps = {
        **row,
        "step": "measure-volts",
        "other_step": "listen-while-cranking",
        "kept": {"0.5": [1.0, 0.7, 1.0]},
    }
    said = reader_sentence(TINY, {"symptoms": {"will-not-crank": steps}}, "will-not-crank")
    assert said == (
        "Which check comes first is a close call between “measure the volts” and "
        "“listen while cranking”."
    )
    assert reader_sentence(TINY, {"symptoms": {}}, "will-not-crank") == ""


def test_maintainers_see_the_most_fragile_first(report):
    lines = list(table(report))
    assert len(lines) == 1 + 3
    assert any(line.startswith("symptoms, noise 0.5: likeliest cause ") for line in summary(report))


def test_the_committed_report_is_not_out_of_date():
    report = json.loads(REPORT.read_text(encoding="utf-8"))
    mend = "run: python -m build_tools robust --stale --write"
    assert stale_entries(CATALOGUE, report) == [], mend
    assert left_over(CATALOGUE, report) == [], mend
    assert report["draws"] >= 20
    assert report["sigmas"] == [0.5, 1.0]
