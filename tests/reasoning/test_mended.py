"""A repair that did not help: the cause goes, what was measured before it goes, the rest stays."""

import pytest

from build_tools.engine.cases import CarCase, read_case
from build_tools.engine.findings import find
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.mended import checks_shifted_by, mend
from build_tools.engine.noisy_max import infer
from tests.reasoning.small_catalogue import small_catalogue

CATALOGUE = small_catalogue()
NETWORK = network_from_catalogue(CATALOGUE)
LOOSE = CarCase(
    symptoms=("lamps",),
    outcomes={"twist": "loose"},
    readings={"rest-volts": {"value": 12.35, "unit": "V"}},
)


def test_mended_odds_are_a_fiftieth_of_the_prior():
    # 0.05 / 0.95 / 50, worked out by hand; causes not mended keep theirs.
    found = find(CATALOGUE, NETWORK, CarCase(mended=("clamp-loose",)))
    assert found.odds["clamp-loose"] == pytest.approx(0.05 / 0.95 / 50)
    assert found.odds["battery-weak"] == pytest.approx(0.1 / 0.9)


def test_results_from_before_the_repair_go_and_the_others_stay():
    after = mend(CATALOGUE, NETWORK, LOOSE, "clamp-loose")
    gone = checks_shifted_by(CATALOGUE, NETWORK, "clamp-loose")
    assert "twist" in gone
    assert after.outcomes == {}
    assert after.mended == ("clamp-loose",)
    assert after.symptoms == LOOSE.symptoms
    kept = {name for name in LOOSE.readings if name not in gone}
    assert set(after.readings) == kept


def test_the_cause_falls_and_another_takes_its_place():
    def posterior(case, cause):
        found = find(CATALOGUE, NETWORK, case)
        return infer(NETWORK, found.odds, found.evidence).posteriors[cause]

    after = mend(CATALOGUE, NETWORK, LOOSE, "clamp-loose")
    assert posterior(LOOSE, "clamp-loose") > 0.5
    assert posterior(after, "clamp-loose") < 0.1
    assert posterior(after, "battery-weak") > posterior(LOOSE, "battery-weak")


def test_what_is_measured_again_counts():
    after = mend(CATALOGUE, NETWORK, LOOSE, "clamp-loose")
    again = CarCase(symptoms=after.symptoms, outcomes={"twist": "loose"}, mended=after.mended)
    found = find(CATALOGUE, NETWORK, again)
    assert found.evidence["twist"] == (0, 1)


def test_mending_twice_names_the_cause_once():
    twice = mend(CATALOGUE, NETWORK, mend(CATALOGUE, NETWORK, LOOSE, "clamp-loose"), "clamp-loose")
    assert twice.mended == ("clamp-loose",)


def test_an_unknown_mended_cause_is_named():
    _, problems = read_case({"mended": ["clamp-lose"]}, CATALOGUE)
    assert [one.path for one in problems] == ["mended[0]"]
    assert "clamp-loose" in problems[0].mend
