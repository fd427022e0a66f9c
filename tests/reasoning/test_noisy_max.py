"""Posteriors against vectors, a textbook, brute force and a general-purpose library."""

import importlib
import itertools
import json
import math
import random
import warnings
from pathlib import Path

import pytest

from build_tools.engine.network import (
    Network,
    NetworkCause,
    NetworkFinding,
    evidence_from_document,
    network_from_document,
    odds_from_document,
)
from build_tools.engine.noisy_max import (
    ContradictoryEvidence,
    FrontierTooWide,
    infer,
)
from tests.reasoning.samples import (
    chance_of,
    enumerate_joint,
    random_evidence,
    random_network,
    random_odds,
)

VECTORS = Path(__file__).parents[1] / "vectors"


def load(name):
    return json.loads((VECTORS / name).read_text(encoding="utf-8"))


# The answers were made with a general-purpose Bayesian network library (tests/vectors/README.md).
@pytest.mark.parametrize(
    "entry",
    load("posteriors.json") + load("posteriors_big.json"),
    ids=lambda entry: entry["name"],
)
def test_infer_on_the_vectors_agrees_within_1e9(entry):
    network = network_from_document(entry)
    odds = odds_from_document(network, entry["context"])
    result = infer(network, odds, evidence_from_document(network, entry["evidence"]))
    assert set(result.posteriors) == set(entry["posteriors"])
    for cause, expected in entry["posteriors"].items():
        assert result.posteriors[cause] == pytest.approx(expected, abs=1e-9)
    assert result.log_evidence == pytest.approx(entry["log_evidence"], abs=1e-9)


def test_infer_on_the_car_start_example_gives_the_textbook_posteriors():
    # Jensen and Nielsen, Bayesian Networks and Decision Graphs, 2007: a car that does not
    # start; no fuel .02 always stops it, dirty plugs .04 in 99 of 100, leak 1 in 100.
    network = Network(
        (NetworkCause("no-fuel", 0.02), NetworkCause("dirty-plugs", 0.04)),
        (
            NetworkFinding(
                "no-start",
                ("no", "yes"),
                (0.99,),
                {"no-fuel": (0.0,), "dirty-plugs": (0.01 / 0.99,)},
            ),
        ),
    )
    result = infer(network, {}, {"no-start": (0.0, 1.0)})
    assert result.posteriors["no-fuel"] == pytest.approx(0.293186, abs=1e-6)
    assert result.posteriors["dirty-plugs"] == pytest.approx(0.580626, abs=1e-6)


@pytest.mark.parametrize("seed", range(60))
def test_infer_on_small_networks_agrees_with_enumeration(seed):
    rng = random.Random(seed)
    network = random_network(
        rng, causes=rng.randint(1, 8), findings=rng.randint(1, 8), links=rng.randint(1, 6)
    )
    odds = random_odds(rng, network)
    evidence = random_evidence(rng, network)
    joint = enumerate_joint(network, odds, evidence)
    total = math.fsum(joint.values())
    result = infer(network, odds, evidence)
    assert result.log_evidence == pytest.approx(math.log(total), abs=1e-11)
    for cause, posterior in result.posteriors.items():
        expected = math.fsum(w for present, w in joint.items() if cause in present) / total
        assert posterior == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("seed", range(40))
def test_a_level_added_to_the_evidence_is_as_likely_as_enumeration_says(seed):
    rng = random.Random(1000 + seed)
    network = random_network(rng, causes=rng.randint(2, 7), findings=7, links=rng.randint(1, 5))
    odds = random_odds(rng, network)
    evidence = random_evidence(rng, network, share=0.6)
    asked = [f.id for f in network.findings if f.id not in evidence]
    joint = enumerate_joint(network, odds, evidence)
    total = math.fsum(joint.values())
    known = infer(network, odds, evidence).log_evidence
    for name in asked:
        finding = network.finding_by_id[name]
        hard = [one_at(k, len(finding.levels)) for k in range(len(finding.levels))]
        levels = [
            math.exp(infer(network, odds, {**evidence, name: weights}).log_evidence - known)
            for weights in hard
        ]
        assert math.fsum(levels) == pytest.approx(1, abs=1e-12)
        for k, chance in enumerate(levels):
            expected = math.fsum(w * chance_of(finding, k, s) for s, w in joint.items()) / total
            assert chance == pytest.approx(expected, abs=1e-12)


def library():
    # The library's loader crashes where warnings are errors, as they are in this suite.
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return importlib.import_module("pyagrum")


def posteriors_by_library(gum, network, odds, evidence):
    """Build the plain network with full tables and ask for the posteriors.

    Findings with many parents are built as a chain of two-parent maxima, so that no table
    grows with the number of causes.
    """
    net = gum.BayesNet()
    for cause in network.causes:
        own = odds.get(cause.id, cause.prior / (1 - cause.prior))
        net.add(gum.LabelizedVariable(cause.id, cause.id, 2))
        net.cpt(cause.id).fillWith([1 / (1 + own), own / (1 + own)])
    for finding in network.findings:
        if finding.id not in evidence:
            continue
        count = len(finding.levels)
        so_far = f"{finding.id}-leak"
        net.add(gum.LabelizedVariable(so_far, so_far, count))
        net.cpt(so_far).fillWith(differences(finding.leak))
        for cause, row in finding.links.items():
            reached = f"{finding.id}-{cause}"
            net.add(gum.LabelizedVariable(reached, reached, count))
            net.addArc(so_far, reached)
            net.addArc(cause, reached)
            alone = differences(row)
            for before in range(count):
                net.cpt(reached)[{so_far: before, cause: 0}] = one_at(before, count)
                net.cpt(reached)[{so_far: before, cause: 1}] = [
                    sum(p for k, p in enumerate(alone) if max(k, before) == level)
                    for level in range(count)
                ]
            so_far = reached
    last = {
        f.id: f"{f.id}-{list(f.links)[-1]}" if f.links else f"{f.id}-leak" for f in network.findings
    }
    engine = gum.LazyPropagation(net)
    engine.setEvidence({last[name]: list(weights) for name, weights in evidence.items()})
    engine.makeInference()
    return {c.id: float(engine.posterior(c.id)[1]) for c in network.causes}


def differences(row):
    full = [*row, 1.0]
    return [full[0], *(high - low for low, high in itertools.pairwise(full))]


def one_at(place, count):
    return [1.0 if k == place else 0.0 for k in range(count)]


@pytest.mark.parametrize("seed", range(12))
def test_infer_agrees_with_a_general_purpose_library(seed):
    gum = library()
    rng = random.Random(5000 + seed)
    network = random_network(rng, causes=8, findings=8, links=4)
    odds = random_odds(rng, network)
    evidence = random_evidence(rng, network)
    expected = posteriors_by_library(gum, network, odds, evidence)
    result = infer(network, odds, evidence)
    assert result.posteriors == pytest.approx(expected, abs=1e-9)


def test_infer_with_twenty_abnormal_findings_agrees_with_a_general_purpose_library():
    gum = library()
    rng = random.Random(77)
    network = random_network(rng, causes=40, findings=60, links=4, levels=(2, 3))
    linked = [f for f in network.findings if f.links]
    abnormal = rng.sample(linked, 20)
    normal = [f for f in linked if f not in abnormal][:12]
    evidence = {f.id: one_at(1, len(f.levels)) for f in abnormal}
    evidence |= {f.id: one_at(0, len(f.levels)) for f in normal}
    expected = posteriors_by_library(gum, network, {}, evidence)
    result = infer(network, {}, evidence)
    assert result.posteriors == pytest.approx(expected, abs=1e-9)


def test_infer_when_findings_exclude_each_other_names_the_smallest_clash():
    # Cause a always shows both findings; without it neither can appear.
    network = Network(
        (NetworkCause("a", 0.1), NetworkCause("b", 0.1)),
        (
            NetworkFinding("first", ("no", "yes"), (1.0,), {"a": (0.0,)}),
            NetworkFinding("second", ("no", "yes"), (1.0,), {"a": (0.0,)}),
            NetworkFinding("aside", ("no", "yes"), (0.9,), {"b": (0.3,)}),
        ),
    )
    evidence = {"aside": (0, 1), "second": (0, 1), "first": (1, 0)}
    with pytest.raises(ContradictoryEvidence, match="first, second") as caught:
        infer(network, {}, evidence)
    assert caught.value.findings == ("first", "second")


@pytest.mark.parametrize("seed", range(30))
def test_infer_with_dead_links_contradicts_exactly_when_enumeration_is_zero(seed):
    rng = random.Random(9000 + seed)
    network = random_network(rng, causes=3, findings=5, links=3, dead_links=True)
    no_leak = tuple(
        NetworkFinding(f.id, f.levels, (1.0,) * len(f.leak), f.links) for f in network.findings
    )
    network = Network(network.causes, no_leak)
    evidence = random_evidence(rng, network, share=0.9)
    total = math.fsum(enumerate_joint(network, {}, evidence).values())
    if total > 0:
        assert infer(network, {}, evidence).log_evidence == pytest.approx(math.log(total), abs=1e-9)
        return
    with pytest.raises(ContradictoryEvidence) as caught:
        infer(network, {}, evidence)
    clash = {name: evidence[name] for name in caught.value.findings}
    assert math.fsum(enumerate_joint(network, {}, clash).values()) == 0
    for name in clash:
        fewer = {key: value for key, value in clash.items() if key != name}
        assert math.fsum(enumerate_joint(network, {}, fewer).values()) > 0


def test_infer_when_no_weight_is_left_names_that_finding():
    network = random_network(random.Random(3))
    with pytest.raises(ContradictoryEvidence) as caught:
        infer(network, {}, {"f0": (0.0,) * len(network.findings[0].levels)})
    assert caught.value.findings == ("f0",)


def entangled(count):
    """Link every finding to every cause: each abnormal one stays open to the end."""
    causes = tuple(NetworkCause(f"c{k}", 0.1) for k in range(6))
    links = {cause.id: (0.5,) for cause in causes}
    return Network(
        causes,
        tuple(NetworkFinding(f"f{k}", ("no", "yes"), (0.99,), links) for k in range(count)),
    )


def test_infer_past_the_width_limit_says_width_and_limit():
    network = entangled(10)
    evidence = {f"f{k}": (0, 1) for k in range(10)}
    assert infer(network, {}, evidence, width_limit=1024).posteriors["c0"] > 0.1
    with pytest.raises(FrontierTooWide, match="1024 numbers is needed, 1023 are allowed") as caught:
        infer(network, {}, evidence, width_limit=1023)
    assert (caught.value.width, caught.value.limit) == (1024, 1023)


def test_infer_with_a_hundred_normal_findings_stays_narrow():
    network = entangled(100)
    result = infer(network, {}, {f"f{k}": (1, 0) for k in range(100)}, width_limit=1)
    assert 0 < result.posteriors["c0"] < 1e-29


@pytest.mark.parametrize(
    ("odds", "evidence", "said"),
    [
        ({"ghost": 1.0}, {}, 'odds: "ghost" is no cause'),
        ({"c0": math.inf}, {}, 'odds of "c0"'),
        ({"c0": -1.0}, {}, 'odds of "c0"'),
        ({}, {"ghost": (1, 0)}, 'evidence: "ghost" is no finding'),
        ({}, {"f0": (1, 0, 0, 0, 0)}, 'evidence on "f0": 5 weights'),
        ({}, {"f0": (1, -1)}, 'evidence on "f0": weight -1'),
        ({}, {"f0": (1, math.nan)}, 'evidence on "f0": weight nan'),
    ],
)
def test_infer_with_unusable_input_says_where(odds, evidence, said):
    network = random_network(random.Random(1), levels=(2,))
    with pytest.raises(ValueError, match=said):
        infer(network, odds, evidence)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"leak": [1.2]}, 'finding "f", leak: 1.2'),
        ({"leak": [0.9, 0.95]}, "2 numbers for 2 levels, 1 wanted"),
        ({"links": {"ghost": [0.5]}}, 'link to "ghost"'),
        ({"links": {"c": [True]}}, r"findings\[0\].links.c: a number is wanted"),
        ({"levels": ["a", "b", "c"], "leak": [0.9, 0.8], "links": {}}, "falls from 0.9 to 0.8"),
        ({"levels": []}, "it has no levels"),
    ],
)
def test_network_from_document_with_a_bad_finding_says_where(change, said):
    finding = {"id": "f", "levels": ["no", "yes"], "leak": [0.9], "links": {"c": [0.5]}}
    document = {"causes": [{"id": "c", "prior": 0.1}], "findings": [finding | change]}
    with pytest.raises(ValueError, match=said):
        network_from_document(document)
