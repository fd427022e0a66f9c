"""Why a cause rose or fell: each finding left out in turn."""

from math import log

import pytest

from build_tools.engine.cases import CarCase
from build_tools.engine.findings import find
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.noisy_max import infer
from build_tools.engine.trace import log_odds, trace
from tests.reasoning.small_catalogue import small_catalogue

CATALOGUE = small_catalogue()
NETWORK = network_from_catalogue(CATALOGUE)


def pushes(**case):
    car = CarCase(**case)
    findings = find(CATALOGUE, NETWORK, car)
    posteriors = infer(NETWORK, findings.odds, findings.evidence).posteriors
    return trace(CATALOGUE, NETWORK, car, findings, posteriors)


def test_context_alone_pushes_by_the_logarithm_of_its_multiplier():
    found = pushes(context={"age": "old"})
    assert [(one.kind, one.id) for one in found["battery-weak"]] == [("context", "age")]
    assert found["battery-weak"][0].change == pytest.approx(log(5))
    assert found["module-broken"][0].change == pytest.approx(log(0.5))
    assert found["clamp-loose"] == ()


def test_one_finding_alone_pushes_by_its_own_bayes_factor():
    # twist loose: leak 0.02, link 0.95; P(loose | clamp) = 1 - 0.98 * 0.05.
    found = pushes(outcomes={"twist": "loose"})["clamp-loose"]
    assert found[0].change == pytest.approx(log((1 - 0.98 * 0.05) / 0.02))


def test_signs_and_order():
    found = pushes(symptoms=("lamps",), absent=("slow-crank",), outcomes={"load-test": "holds"})
    battery = found["battery-weak"]
    signs = {(one.kind, one.id): one.change > 0 for one in battery}
    assert signs == {
        ("symptom", "lamps"): True,
        ("absent", "slow-crank"): False,
        ("check", "load-test"): False,
    }
    sizes = [abs(one.change) for one in battery]
    assert sizes == sorted(sizes, reverse=True)


def test_explaining_away_lowers_the_other_cause():
    found = pushes(symptoms=("lamps",), outcomes={"twist": "loose"})["battery-weak"]
    assert [one.change < 0 for one in found if one.id == "twist"] == [True]


def test_a_finding_without_a_link_pushes_nothing():
    found = pushes(outcomes={"twist": "loose"})
    assert found["wire-chafed"] == ()


def test_log_odds_stay_finite():
    assert log_odds(0.5) == 0
    assert log_odds(1.0) == pytest.approx(-log_odds(0.0))
