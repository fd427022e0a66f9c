"""Causes weighed apart, held against enumeration and against the exact sum where both can be had."""

import random

import pytest

from build_tools.engine import noisy_max
from build_tools.engine.cases import read_case
from build_tools.engine.findings import find
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.network import Network, NetworkCause, NetworkFinding
from build_tools.engine.noisy_max import (
    NEARLY,
    WIDTH_LIMIT,
    WORK_LIMIT,
    FrontierTooWide,
    infer,
    infer_nearly,
    loosened,
    take_apart,
)
from build_tools.engine.supply import supply_probability
from build_tools.engine.terms import prepare
from tests.reasoning.samples import drawn_case, enumerate_joint, rising_row, sum_size
from tests.shipped import CATALOGUE
from tests.sweeps import SWEEP

NETWORK = network_from_catalogue(CATALOGUE)
# The longest exact sum that is worth its time here, in numbers.
HELD_AGAINST = 40_000_000


def tree(rng, causes=9):
    """Draw findings that each share one cause with what came before: no loop anywhere."""
    ids = [f"c{place}" for place in range(causes)]
    findings = []
    for place in range(0, causes - 2, 2):
        levels = rng.choice((2, 3))
        linked = [rng.choice(ids[: place + 1]), ids[place + 1], ids[place + 2]]
        rows = {cause: rising_row(rng, levels, 0.05, 0.9) for cause in sorted(set(linked))}
        names = tuple(f"level-{k}" for k in range(levels))
        findings.append(
            NetworkFinding(f"f{place}", names, rising_row(rng, levels, 0.8, 0.99), rows)
        )
    return Network(tuple(NetworkCause(c, rng.uniform(0.02, 0.4)) for c in ids), tuple(findings))


@pytest.mark.parametrize("seed", range(10))
def test_without_loops_nothing_is_lost_by_weighing_all_apart(seed):
    rng = random.Random(seed)
    network = tree(rng)
    evidence = {
        one.id: (rng.choice((0.0, 0.3)), *(rng.uniform(0.4, 1.0) for _ in one.levels[1:]))
        for one in network.findings
    }
    state = prepare(network, {}, evidence)
    apart = take_apart(state, lambda _: False)
    joint = enumerate_joint(network, {}, evidence)
    total = sum(joint.values())
    assert apart.posteriors
    for place, near in apart.posteriors.items():
        name = network.causes[place].id
        exact = sum(weight for present, weight in joint.items() if name in present) / total
        assert near == pytest.approx(exact, abs=1e-5)


def test_nothing_is_taken_apart_that_fits():
    evidence = {one.id: (0.0, 1.0) for one in NETWORK.findings[:3] if len(one.levels) == 2}
    state = prepare(NETWORK, {}, evidence)
    apart = take_apart(state, lambda _: True)
    assert (apart.chances, apart.posteriors) == ({}, {})
    assert loosened(state, apart).terms == state.terms
    found = infer_nearly(NETWORK, {}, evidence)
    assert found == infer(NETWORK, {}, evidence)
    assert found.apart is None


@SWEEP
def test_near_odds_are_within_what_is_told_of_them(share, monkeypatch):
    held = []
    shapes = [(n, m, seed) for seed in range(60) for n, m in ((12, 25), (20, 10))]
    for symptoms, results, seed in shapes:
        if share > 1 and len(held) > 1:
            break
        document = drawn_case(CATALOGUE, random.Random(seed), symptoms, results)
        case, _ = read_case(document, CATALOGUE)
        findings = find(CATALOGUE, NETWORK, case)
        width, work = sum_size(NETWORK, findings)
        if (width <= WIDTH_LIMIT and work <= WORK_LIMIT) or work > HELD_AGAINST / min(share, 4):
            continue
        near = infer_nearly(NETWORK, findings.odds, findings.evidence)
        near_supply = supply_probability(CATALOGUE, NETWORK, findings, near)
        with monkeypatch.context() as patch:
            # With causes ruled out, the order found may be a little wider than the whole one.
            patch.setattr(noisy_max, "WORK_LIMIT", 4 * work)
            patch.setattr(noisy_max, "WIDTH_LIMIT", 4 * width)
            exact = infer(NETWORK, findings.odds, findings.evidence, width_limit=width)
            supply = supply_probability(CATALOGUE, NETWORK, findings, exact)
        off = max(abs(near.posteriors[one] - exact.posteriors[one]) for one in exact.posteriors)
        held.append(max(off, abs(near_supply - supply)))
        assert near.apart is not None
        assert near.work == exact.work
    assert held
    assert max(held) <= NEARLY
    assert sum(held) / len(held) <= NEARLY / 3


def test_what_nobody_could_hold_against_an_exact_sum_is_refused():
    document = drawn_case(
        CATALOGUE, random.Random(0), len(CATALOGUE.symptoms), len(CATALOGUE.checks)
    )
    case, _ = read_case(document, CATALOGUE)
    findings = find(CATALOGUE, NETWORK, case)
    with pytest.raises(FrontierTooWide, match="too entangled"):
        infer_nearly(NETWORK, findings.odds, findings.evidence)
