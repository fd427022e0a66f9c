"""Properties every exact posterior must have, on networks drawn at will."""

import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from build_tools.engine.network import Network, NetworkCause, NetworkFinding
from build_tools.engine.noisy_max import infer
from tests.reasoning.samples import random_evidence, random_network, random_odds

SEEDS = st.integers(min_value=0, max_value=2**32 - 1)


def draw(seed):
    rng = random.Random(seed)
    network = random_network(
        rng, causes=rng.randint(1, 7), findings=rng.randint(1, 7), links=rng.randint(1, 4)
    )
    return rng, network, random_odds(rng, network), random_evidence(rng, network)


@given(SEEDS)
@settings(max_examples=80, deadline=None)
def test_a_check_nobody_made_changes_nothing(seed):
    rng, network, odds, evidence = draw(seed)
    unseen = NetworkFinding(
        "unseen", ("no", "yes"), (0.9,), {c.id: (rng.random(),) for c in network.causes}
    )
    wider = Network(network.causes, (*network.findings, unseen))
    assert infer(wider, odds, evidence) == infer(network, odds, evidence)


@given(SEEDS)
@settings(max_examples=80, deadline=None)
def test_the_order_of_evidence_does_not_matter(seed):
    rng, network, odds, evidence = draw(seed)
    names = list(evidence)
    rng.shuffle(names)
    shuffled = {name: evidence[name] for name in names}
    assert infer(network, odds, shuffled) == infer(network, odds, evidence)


@given(SEEDS)
@settings(max_examples=80, deadline=None)
def test_the_order_of_findings_and_causes_moves_only_rounding(seed):
    rng, network, odds, evidence = draw(seed)
    causes = rng.sample(network.causes, len(network.causes))
    findings = rng.sample(network.findings, len(network.findings))
    turned = infer(Network(tuple(causes), tuple(findings)), odds, evidence)
    plain = infer(network, odds, evidence)
    assert turned.posteriors == pytest.approx(plain.posteriors, abs=1e-12)
    assert turned.log_evidence == pytest.approx(plain.log_evidence, abs=1e-11)


@given(SEEDS, st.floats(min_value=1e-6, max_value=1e6))
@settings(max_examples=80, deadline=None)
def test_weights_have_no_scale(seed, factor):
    rng, network, odds, evidence = draw(seed)
    if not evidence:
        return
    name = rng.choice(sorted(evidence))
    scaled = evidence | {name: tuple(w * factor for w in evidence[name])}
    plain = infer(network, odds, evidence)
    result = infer(network, odds, scaled)
    assert result.posteriors == pytest.approx(plain.posteriors, abs=1e-12)
    assert result.log_evidence == pytest.approx(plain.log_evidence + math.log(factor), abs=1e-9)


@given(SEEDS)
@settings(max_examples=80, deadline=None)
def test_new_ids_change_nothing(seed):
    _, network, odds, evidence = draw(seed)
    renamed = Network(
        tuple(NetworkCause(f"x-{c.id}", c.prior) for c in network.causes),
        tuple(
            NetworkFinding(
                f"y-{f.id}", f.levels, f.leak, {f"x-{c}": row for c, row in f.links.items()}
            )
            for f in network.findings
        ),
    )
    result = infer(
        renamed,
        {f"x-{c}": value for c, value in odds.items()},
        {f"y-{f}": weights for f, weights in evidence.items()},
    )
    plain = infer(network, odds, evidence)
    assert list(result.posteriors.values()) == list(plain.posteriors.values())
    assert result.log_evidence == plain.log_evidence


@given(SEEDS)
@settings(max_examples=80, deadline=None)
def test_a_cause_without_a_link_to_the_evidence_keeps_its_prior(seed):
    _, network, odds, evidence = draw(seed)
    result = infer(network, odds, evidence)
    linked = {c for name in evidence for c in network.finding_by_id[name].links}
    for cause in network.causes:
        if cause.id not in linked:
            own = odds.get(cause.id, cause.prior / (1 - cause.prior))
            assert result.posteriors[cause.id] == pytest.approx(own / (1 + own), abs=1e-15)


@given(SEEDS)
@settings(max_examples=80, deadline=None)
def test_equal_weights_on_every_level_tell_nothing(seed):
    _, network, odds, evidence = draw(seed)
    spare = [f for f in network.findings if f.id not in evidence]
    flat = evidence | {f.id: (1.0,) * len(f.levels) for f in spare}
    assert infer(network, odds, flat) == infer(network, odds, evidence)
