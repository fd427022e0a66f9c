"""The four states of the supply, on a catalogue small enough for hand sums."""

from dataclasses import replace
from itertools import product

import pytest

from build_tools.engine.cases import CarCase
from build_tools.engine.findings import find
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.noisy_max import infer
from build_tools.engine.supply import judge_supply, needs_drain, supply_probability
from tests.reasoning.small_catalogue import small_catalogue

CATALOGUE = small_catalogue()
NETWORK = network_from_catalogue(CATALOGUE)
PROVEN = {"load-test": "holds", "twist": "tight", "charge-volts": "normal"}


def judge(**case):
    car = CarCase(**case)
    findings = find(CATALOGUE, NETWORK, car)
    inferred = infer(NETWORK, findings.odds, findings.evidence)
    return judge_supply(CATALOGUE, NETWORK, car, findings, inferred)


def brute_force(findings):
    """Sum over every set of causes: P(some supply cause | evidence), by definition."""
    supply = {"battery-weak", "clamp-loose", "alternator-tired"}
    names = [cause.id for cause in NETWORK.causes]
    with_supply = total = 0.0
    for bits in product((0, 1), repeat=len(names)):
        present = {name for name, bit in zip(names, bits, strict=True) if bit}
        weight = 1.0
        for name in names:
            odds = findings.odds[name]
            weight *= (odds if name in present else 1) / (1 + odds)
        for finding in NETWORK.findings:
            if finding.id not in findings.evidence:
                continue
            below = [*list(finding.leak), 1.0]
            for name in present & set(finding.links):
                below = [b * r for b, r in zip(below, [*finding.links[name], 1.0], strict=True)]
            masses = [b - a for a, b in zip([0.0, *below], below, strict=False)]
            weight *= sum(m * w for m, w in zip(masses, findings.evidence[finding.id], strict=True))
        total += weight
        if present & supply:
            with_supply += weight
    return with_supply / total


@pytest.mark.parametrize(
    "case",
    [
        CarCase(),
        CarCase(symptoms=("lamps",)),
        CarCase(symptoms=("lamps", "slow-crank"), outcomes={"twist": "tight"}),
        CarCase(symptoms=("lamps",), outcomes=PROVEN, context={"age": "old"}),
        CarCase(symptoms=("lamps",), readings={"rest-volts": {"value": 12.38, "unit": "V"}}),
    ],
)
def test_the_probability_is_that_of_the_definition(case):
    findings = find(CATALOGUE, NETWORK, case)
    got = supply_probability(
        CATALOGUE, NETWORK, findings, infer(NETWORK, findings.odds, findings.evidence)
    )
    assert got == pytest.approx(brute_force(findings), abs=1e-12)


def test_nothing_known_is_unproven():
    assert judge().state == "unproven"
    assert judge(symptoms=("lamps",)).state == "unproven"


def test_every_needed_side_proven_is_sound():
    found = judge(symptoms=("lamps",), outcomes=PROVEN)
    assert found.state == "sound"
    assert found.open_aspects == ()
    assert found.proven == {
        "battery": ("load-test",),
        "connection": ("twist",),
        "charging": ("charge-volts",),
    }


@pytest.mark.parametrize("missing", PROVEN)
def test_one_side_without_proof_is_not_sound(missing):
    outcomes = {name: level for name, level in PROVEN.items() if name != missing}
    found = judge(outcomes=outcomes)
    assert found.state == "unproven"
    assert len(found.open_aspects) == 1


def test_a_normal_result_that_proves_nothing_proves_nothing():
    outcomes = {"rest-volts": "full", "twist": "tight", "charge-volts": "normal"}
    assert "battery" in judge(outcomes=outcomes).open_aspects


def test_an_abnormal_check_with_a_likely_supply_cause_is_failing():
    found = judge(symptoms=("lamps",), outcomes={"twist": "loose"})
    assert found.probability >= 0.9
    assert found.state == "failing"
    assert found.because[0] == {"kind": "abnormal", "check": "twist", "level": "loose"}


def test_an_abnormal_check_that_may_be_chance_is_doubtful():
    # Half charged happens to one car in fifty unprompted, so alone it condemns nothing.
    found = judge(outcomes={"rest-volts": "half", "load-test": "holds", "charge-volts": "normal"})
    assert found.probability < 0.9
    assert found.state == "doubtful"


def test_an_abnormal_result_that_the_others_outweigh_leaves_a_proven_supply_sound():
    # Charging that stays low has other reasons; rest, load, clamps and charging all speak for it.
    proofs = {"load-test": "holds", "twist": "tight", "charge-volts": "normal"}
    others = {"rest-volts": "full", "charge-up": "stays", "wiggle": "reacts"}
    found = judge(symptoms=("lamps",), outcomes={**proofs, **others})
    assert found.abnormal == ("charge-up",)
    assert found.probability < 0.2
    assert found.state == "sound"
    # One side without its proof, and the same abnormal result leaves the supply doubtful.
    fewer = {**others, "load-test": "holds", "twist": "tight"}
    assert judge(symptoms=("lamps",), outcomes=fewer).state == "doubtful"


def test_a_likely_supply_cause_after_a_check_is_doubtful_even_without_an_abnormal_one():
    found = judge(symptoms=("lamps", "slow-crank"), outcomes={"charge-volts": "normal"})
    assert found.abnormal == ()
    assert found.probability >= 0.5
    assert found.state == "doubtful"


def test_a_reading_at_an_edge_is_not_abnormal_until_it_weighs_more_than_half():
    high = judge(readings={"rest-volts": {"value": 12.42, "unit": "V"}})
    low = judge(readings={"rest-volts": {"value": 12.38, "unit": "V"}})
    assert high.abnormal == ()
    assert low.abnormal == ("rest-volts",)


def test_the_drain_is_asked_for_only_where_a_complaint_points_to_it():
    assert not needs_drain(CATALOGUE, NETWORK, CarCase(symptoms=("lamps",)))
    # The wire causes "lamps" in 35 of 100 cars ("sometimes"), the limit; now let it be a drain.
    drained = replace(CATALOGUE.causes["wire-chafed"], group="drain")
    catalogue = replace(CATALOGUE, causes={**CATALOGUE.causes, "wire-chafed": drained})
    assert needs_drain(catalogue, NETWORK, CarCase(symptoms=("lamps",)))
    assert not needs_drain(catalogue, NETWORK, CarCase(symptoms=("slow-crank",)))
