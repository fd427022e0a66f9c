"""Sets of causes against the definition of the model, multiplied out."""

import itertools
import math
import random

import pytest

from build_tools.engine.network import Network, NetworkCause, NetworkFinding
from build_tools.engine.noisy_max import ContradictoryEvidence, infer
from build_tools.engine.worlds import CANDIDATE_LIMIT, enumerate_worlds, level_table
from tests.reasoning.samples import (
    chance_of,
    enumerate_joint,
    random_evidence,
    random_network,
    random_odds,
)


def sets_of(worlds):
    return [
        frozenset(c for bit, c in enumerate(worlds.causes) if mask >> bit & 1)
        for mask in worlds.masks
    ]


@pytest.mark.parametrize("seed", range(40))
def test_enumerate_worlds_agrees_with_the_definition(seed):
    rng = random.Random(seed)
    network = random_network(rng, causes=6, findings=6, links=3)
    odds = random_odds(rng, network)
    evidence = random_evidence(rng, network)
    candidates = rng.sample([c.id for c in network.causes], 4)
    most = rng.choice((1, 2, 3))
    worlds = enumerate_worlds(network, odds, evidence, candidates=candidates, most_present=most)
    joint = enumerate_joint(network, odds, evidence)
    listed = {
        frozenset(chosen)
        for size in range(most + 1)
        for chosen in itertools.combinations(candidates, size)
    }
    assert set(sets_of(worlds)) == listed
    total = math.fsum(joint[present] for present in listed)
    for present, weight in zip(sets_of(worlds), worlds.weights, strict=True):
        assert weight == pytest.approx(joint[present] / total, abs=1e-12)
    assert math.fsum(worlds.weights) == pytest.approx(1, abs=1e-12)


def test_enumerate_worlds_lists_every_subset_and_the_empty_set_first():
    network = random_network(random.Random(2), causes=6)
    candidates = ["c3", "c0", "c5", "c1"]
    worlds = enumerate_worlds(network, {}, {}, candidates=candidates, most_present=3)
    assert worlds.masks[0] == 0
    assert len(set(worlds.masks)) == 1 + 4 + 6 + 4
    for mask in worlds.masks:
        for bit in range(4):
            assert mask & ~(1 << bit) in worlds.masks


def test_enumerate_worlds_with_every_cause_and_size_gives_the_exact_posteriors():
    rng = random.Random(8)
    network = random_network(rng, causes=6, findings=7, links=4)
    evidence = random_evidence(rng, network)
    ids = [c.id for c in network.causes]
    worlds = enumerate_worlds(network, {}, evidence, candidates=ids, most_present=6)
    exact = infer(network, {}, evidence).posteriors
    for cause in ids:
        pairs = zip(sets_of(worlds), worlds.weights, strict=True)
        share = math.fsum(w for present, w in pairs if cause in present)
        assert share == pytest.approx(exact[cause], abs=1e-12)


def test_level_table_gives_each_worlds_chances():
    rng = random.Random(4)
    network = random_network(rng, causes=5, findings=5)
    worlds = enumerate_worlds(network, {}, {}, candidates=["c1", "c4", "c2"])
    for finding in network.findings:
        table = level_table(network, worlds, finding.id)
        for present, row in zip(sets_of(worlds), table, strict=True):
            expected = [chance_of(finding, k, present) for k in range(len(finding.levels))]
            assert row == pytest.approx(expected, abs=1e-12)
    with pytest.raises(ValueError, match='"ghost" is no finding'):
        level_table(network, worlds, "ghost")


def test_enumerate_worlds_with_hundreds_of_findings_does_not_run_into_zero():
    links = {"a": (0.02,)}
    findings = tuple(
        NetworkFinding(f"f{k}", ("no", "yes"), (0.998,), links if k % 2 else {}) for k in range(300)
    )
    network = Network((NetworkCause("a", 0.1),), findings)
    evidence = {f.id: (0, 1) for f in findings}
    worlds = enumerate_worlds(network, {}, evidence, candidates=["a"])
    assert worlds.weights[1] == pytest.approx(1, abs=1e-12)


def test_enumerate_worlds_refuses_what_it_cannot_weigh():
    network = random_network(random.Random(1), causes=35, levels=(2,))
    ids = [c.id for c in network.causes]
    with pytest.raises(ValueError, match=f"{CANDIDATE_LIMIT} are allowed"):
        enumerate_worlds(network, {}, {}, candidates=ids)
    with pytest.raises(ValueError, match="named twice"):
        enumerate_worlds(network, {}, {}, candidates=["c0", "c0"])
    with pytest.raises(ValueError, match='"ghost" is no cause'):
        enumerate_worlds(network, {}, {}, candidates=["ghost"])
    with pytest.raises(ValueError, match='"ghost" is no finding'):
        enumerate_worlds(network, {}, {"ghost": (1,)}, candidates=["c0"])
    with pytest.raises(ContradictoryEvidence):
        enumerate_worlds(network, {}, {"f0": (0, 0)}, candidates=["c0"])
