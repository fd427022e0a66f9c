"""Closed cases: read, made into worked cases, and held against our odds.

Oracles: published worked figures of the scores; the known network that cases are drawn from, toward
whose odds a proposal has to lead; and the fixed formulas written out by hand.
"""

import json
import math
import random
import shutil
from dataclasses import replace

import pytest
import yaml

from build_tools.cli.main import main
from build_tools.engine.cases import CarCase
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.noisy_max import infer
from build_tools.reports.closed_cases import ClosedCase, closed_case
from build_tools.reports.learn import (
    brier_score,
    calibration,
    changed,
    learn_report,
    log_score,
    proposals,
    proposed_diff,
    rank_of,
    wilson,
)
from tests.shipped import CATALOGUE, ROOT
from tests.test_cli_maintain import BASE, git, run

NETWORK = network_from_catalogue(CATALOGUE)
FIXTURES = ROOT / "tests" / "fixtures" / "closed-cases"
CLAMP, CHECK, FLAT = "battery-clamp-poor", "twist-battery-clamps", "flat-overnight"


# -- the scores ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("chance", "was", "published"),
    # J. S. Armstrong (ed.), Principles of Forecasting, dictionary, "Brier score": rain at 70 %
    # and rain 0.09, at 30 % and rain 0.49, at 50 % 0.25. Its form counts one of the two classes,
    # Brier's own (1950) both.
    [(0.7, "rain", 0.09), (0.3, "rain", 0.49), (0.5, "rain", 0.25), (0.5, "dry", 0.25)],
)
def test_brier_score_of_published_examples(chance, was, published):
    said = [({"rain": chance, "dry": 1 - chance}, was)]
    assert brier_score(said) == pytest.approx(2 * published)


def test_log_score_and_rank_by_hand():
    said = [({"a": 0.5, "b": 0.5}, "a"), ({"a": 0.25, "b": 0.75}, "a")]
    assert log_score(said) == pytest.approx((math.log(2) + math.log(4)) / 2)
    assert [rank_of(*one) for one in said] == [1, 2]


def test_wilson_interval_of_a_published_example():
    # Newcombe, Statistics in Medicine 17 (1998), table I: 81 of 263 gives 0.2553 to 0.3662.
    assert wilson(81, 263) == pytest.approx((0.2553, 0.3662), abs=2e-4)


def test_calibration_of_a_forecaster_that_is_right_lies_on_the_line():
    draw = random.Random(5)
    said = []
    for _ in range(4000):
        rain = draw.random()
        said.append(({"rain": rain, "dry": 1 - rain}, "rain" if draw.random() < rain else "dry"))
    rows = calibration(said)
    assert sum(row["count"] for row in rows) == 8000
    assert all(abs(row["said"] - row["was"]) < 0.05 for row in rows)


# -- drawn cases from a known network --------------------------------------------------------


def drawn(network, count, seed):
    """Draw closed cases: one complaint, one cause by its posterior, and the clamps twisted."""
    draw = random.Random(seed)
    finding = network.finding_by_id[CHECK]
    evidence = {FLAT: (0.0, 1.0)}
    odds = {one.id: one.prior / (1 - one.prior) for one in network.causes}
    chances = infer(network, odds, evidence).posteriors
    names = [link.cause for link in CATALOGUE.symptoms[FLAT].causes]
    cases = []
    for cause in draw.choices(names, [chances[one] for one in names], k=count):
        row, cut = finding.links.get(cause), draw.random()
        below = [leak * link for leak, link in zip(finding.leak, row or [1.0] * 9, strict=False)]
        level = finding.levels[sum(cut > one for one in below)]
        case = CarCase(symptoms=(FLAT,), outcomes={CHECK: level})
        cases.append(ClosedCase({}, case, FLAT, cause, None))
    return cases


def test_a_proposal_leads_toward_the_odds_that_cases_were_drawn_from():
    prior = next(one.prior for one in NETWORK.causes if one.id == CLAMP)
    known = replace(
        NETWORK,
        causes=tuple(
            replace(one, prior=prior * 4) if one.id == CLAMP else one for one in NETWORK.causes
        ),
    )
    cases = drawn(known, 200, 11)
    given = proposals(CATALOGUE, NETWORK, cases)
    [mine] = [one for one in given if one.cause == CLAMP and one.check is None]
    assert prior * 1.3 < mine.new <= prior * 4.5
    report = learn_report(CATALOGUE, NETWORK, cases)
    assert report["effect"]["log_after"] < report["effect"]["log_before"]
    halves = report["effect"]["halves"]
    assert halves["log_after"] < halves["log_before"]
    scores = report["scores"]
    assert scores["with all results"]["log"] < scores["base rates alone"]["log"]


def test_cases_drawn_from_our_own_odds_move_a_check_little():
    given = proposals(CATALOGUE, NETWORK, drawn(NETWORK, 200, 12))
    moved = changed(NETWORK, given)
    row = moved.finding_by_id[CHECK].links[CLAMP]
    before = NETWORK.finding_by_id[CHECK].links[CLAMP]
    assert all(abs(a - b) < 0.2 for a, b in zip(row, before, strict=True))


def test_results_that_differ_from_ours_move_the_check_toward_them():
    case = CarCase(symptoms=(FLAT,), outcomes={CHECK: "tight-and-clean"})
    cases = [ClosedCase({}, case, FLAT, CLAMP, None)] * 30
    moved = changed(NETWORK, proposals(CATALOGUE, NETWORK, cases))
    before, after = (one.finding_by_id[CHECK].links[CLAMP] for one in (NETWORK, moved))
    assert after[0] > before[0] + 0.2
    assert list(after) == sorted(after)


def test_few_cases_propose_nothing():
    assert proposals(CATALOGUE, NETWORK, drawn(NETWORK, 4, 3)) == []


def test_the_diff_changes_the_numbers_and_nothing_else():
    case = CarCase(symptoms=(FLAT,), outcomes={CHECK: "tight-and-clean"})
    given = [
        vars(one)
        for one in proposals(CATALOGUE, NETWORK, [ClosedCase({}, case, FLAT, CLAMP, None)] * 30)
    ]
    diff = proposed_diff(ROOT, given)
    new = [line[1:] for line in diff.splitlines() if line.startswith("+") and line[1] != "+"]
    for one in given:
        assert any(f"{{value: {one['new']:g}, source: our-estimate}}" in line for line in new)
    assert all("value" in line for line in new)
    for line in new:
        assert yaml.safe_load(line) is not None


# -- the commands ----------------------------------------------------------------------------


def test_learn_reads_a_folder_and_changes_nothing(capsys):
    before = {path: path.read_bytes() for path in FIXTURES.iterdir()}
    assert main(["learn", str(FIXTURES)]) == 0
    shown = capsys.readouterr().out
    assert "Closed cases: 1, with a cause that can be judged: 1." in shown
    assert main(["learn", str(FIXTURES), "--json"]) == 0
    report = json.loads(capsys.readouterr().out)
    assert report["scores"]["with all results"]["first"] == 1
    assert report["proposals"] == []
    assert before == {path: path.read_bytes() for path in FIXTURES.iterdir()}


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[]", "no closed case"),
        ('{"symptoms": ["flat-overnight"]}', "no closed case"),
        ('{"closed": {"cause": "no-such-cause"}}', "is no cause"),
        ('{"closed": {"cause": null}}', "symptoms"),
        ('{"symptoms": ["flat-overnigth"], "closed": {"cause": null}}', "does not exist"),
    ],
)
def test_what_is_no_closed_case_is_told_in_words(text, words, tmp_path, capsys):
    (tmp_path / "one.json").write_text(text, "utf-8")
    assert main(["learn", str(tmp_path)]) == 1
    told = capsys.readouterr().err
    assert words in told
    assert "Traceback" not in told
    with pytest.raises(ValueError, match=words):
        closed_case(CATALOGUE, json.loads(text))


def test_a_closed_case_becomes_a_worked_case(capsys):
    made = [
        "new",
        "case",
        "a-loose-clamp-from-the-list",
        "--from",
        str(FIXTURES / "loose-clamp.yml"),
    ]
    assert main([*made, "--dry-run"]) == 0
    text = capsys.readouterr().out.split("\n\n", 1)[1]
    document = yaml.safe_load(text)
    assert document["status"] == "draft"
    assert document["expect"] == {"causes_any_of": [CLAMP]}
    assert "closed" not in document
    assert document["outcomes"] == {CHECK: "loose"}


@pytest.mark.parametrize("cause", ["starter-stuck", None])
def test_the_draft_passes_the_lint_of_what_changed(cause, tmp_path):
    shutil.copytree(BASE, tmp_path / "symptoms")
    git(tmp_path, "init", "-q")
    git(tmp_path, "add", ".")
    git(tmp_path, "commit", "-q", "-m", "Begin")
    closed = {"symptoms": ["will-not-crank"], "closed": {"cause": cause, "gone": True}}
    (tmp_path / "closed.json").write_text(json.dumps(closed), "utf-8")
    made = run(
        "new", "case", "from-the-list", "--from", tmp_path / "closed.json", "--root", tmp_path
    )
    assert (made.returncode, made.stderr) == (0, "")
    ended = run("lint", "--changed", "--root", tmp_path)
    assert (ended.returncode, ended.stdout) == (0, "no problems; exit code 0\n")
