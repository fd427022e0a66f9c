"""Random networks and plans for tests, from fixed seeds. Numbers mean nothing beyond tests."""

import itertools
import math
import random

from build_tools.engine.cases import read_case
from build_tools.engine.findings import find
from build_tools.engine.network import Network, NetworkCause, NetworkFinding
from build_tools.engine.noisy_max import WIDTH_LIMIT, WORK_LIMIT, frontier_width, sum_work
from build_tools.engine.situation import Gate, PlanCheck, Situation


def random_network(rng, *, causes=5, findings=5, links=3, levels=(2, 3, 4), dead_links=False):
    """Draw a network; with `dead_links` some cumulatives are exactly 0."""
    ids = [f"c{place}" for place in range(causes)]
    listed = []
    for place in range(findings):
        count = rng.choice(levels)
        linked = rng.sample(ids, rng.randint(0, min(links, causes)))
        rows = {cause: rising_row(rng, count, 0.02, 0.95) for cause in sorted(linked)}
        if dead_links:
            rows = {c: (0.0, *row[1:]) if rng.random() < 0.3 else row for c, row in rows.items()}
        listed.append(
            NetworkFinding(
                f"f{place}",
                tuple(f"level-{k}" for k in range(count)),
                rising_row(rng, count, 0.8, 0.999),
                rows,
            )
        )
    return Network(tuple(NetworkCause(c, rng.uniform(0.005, 0.4)) for c in ids), tuple(listed))


def rising_row(rng, levels, low, high):
    return tuple(sorted(rng.uniform(low, high) for _ in range(levels - 1)))


def random_evidence(rng, network, share=0.7):
    """Draw hard levels, soft weights with zeros among them, and findings nobody looked at."""
    evidence = {}
    for finding in network.findings:
        if rng.random() > share:
            continue
        count = len(finding.levels)
        if rng.random() < 0.6:
            level = rng.randrange(count)
            evidence[finding.id] = tuple(1.0 if k == level else 0.0 for k in range(count))
        else:
            weights = [rng.choice((0.0, rng.random(), 1.0)) for _ in range(count)]
            weights[rng.randrange(count)] = rng.uniform(0.1, 2.0)
            evidence[finding.id] = tuple(weights)
    return evidence


def random_odds(rng, network):
    return {
        c.id: c.prior / (1 - c.prior) * rng.choice((0.2, 1, 2, 5))
        for c in network.causes
        if rng.random() < 0.5
    }


def chance_at_most(finding, level, present):
    """Multiply the rows out: the definition of noisy-MAX itself."""
    if level >= len(finding.leak):
        return 1.0
    chance = finding.leak[level]
    for cause in present:
        if cause in finding.links:
            chance *= finding.links[cause][level]
    return chance


def chance_of(finding, level, present):
    below = chance_at_most(finding, level - 1, present) if level else 0.0
    return chance_at_most(finding, level, present) - below


def chance_alone(network, complaints, present, makers):
    """P(some `makers`, and no other present cause, make the complaints | they are there)."""
    findings = [network.finding_by_id[name] for name in complaints]
    others = present - makers
    quiet, silent, shown, bare, everything = 1.0, 1.0, 1.0, 1.0, 1.0
    for finding in findings:
        for name in others & finding.links.keys():
            quiet *= finding.links[name][0]
        for name in makers & finding.links.keys():
            silent *= finding.links[name][0]
        shown *= chance_of(finding, 1, makers)
        bare *= chance_of(finding, 1, set())
        everything *= chance_of(finding, 1, present)
    return quiet * (shown - silent * bare) / everything


def enumerate_joint(network, odds, evidence):
    """Weigh every set of causes by the definition; the sum is P(evidence)."""
    joint = {}
    ids = [cause.id for cause in network.causes]
    for flags in itertools.product((False, True), repeat=len(ids)):
        present = frozenset(c for c, flag in zip(ids, flags, strict=True) if flag)
        weight = 1.0
        for cause in network.causes:
            own = odds.get(cause.id, cause.prior / (1 - cause.prior))
            weight *= (own if cause.id in present else 1.0) / (1 + own)
        for name, weights in evidence.items():
            finding = network.finding_by_id[name]
            weight *= math.fsum(w * chance_of(finding, k, present) for k, w in enumerate(weights))
        joint[present] = weight
    return joint


def random_situation(rng, *, causes=4, checks=3, multi=False, gate=False):
    """Draw a plan; `multi` lists worlds with none, one and two causes."""
    masks = [1 << place for place in range(causes)]
    if multi:
        pairs = [a | b for a, b in itertools.combinations(masks, 2)]
        masks = [0, *masks, *pairs]
    weights = [rng.expovariate(1) * (0.2 if mask.bit_count() > 1 else 1) for mask in masks]
    total = math.fsum(weights)
    listed = tuple(
        PlanCheck(f"k{place}", rng.randint(1, 25), levels, random_table(rng, masks, levels))
        for place, levels in enumerate(rng.choice((2, 3)) for _ in range(checks))
    )
    return Situation(
        cause_ids=tuple(f"c{place}" for place in range(causes)),
        repair_costs=tuple(float(round(10 * 80 ** rng.random())) for _ in range(causes)),
        masks=tuple(masks),
        weights=tuple(weight / total for weight in weights),
        checks=listed,
        rule=Gate("k0", 60) if gate else None,
        unresolved_cost=250.0 if multi else 0.0,
    )


def random_table(rng, masks, levels):
    rows = []
    for _ in masks:
        hit = rng.random() < 0.4
        loud = levels - 1 if hit else 0
        row = [(5 if k == loud else 0.5) * rng.uniform(0.2, 1.2) for k in range(levels)]
        rows.append(tuple(x / math.fsum(row) for x in row))
    return tuple(rows)


def situation_for_browser(situation):
    """Give the plain form that planner.js takes."""
    rule = situation.rule
    return {
        "causeIds": list(situation.cause_ids),
        "repairCosts": list(situation.repair_costs),
        "masks": list(situation.masks),
        "weights": list(situation.weights),
        "checks": [
            {"id": c.id, "cost": c.cost, "levels": c.levels, "table": [list(r) for r in c.table]}
            for c in situation.checks
        ],
        "rule": None if rule is None else {"check": rule.check, "dearerThan": rule.dearer_than},
        "unresolvedCost": situation.unresolved_cost,
    }


def network_for_browser(network):
    return {
        "causes": [{"id": c.id, "prior": c.prior} for c in network.causes],
        "findings": [
            {
                "id": f.id,
                "levels": list(f.levels),
                "leak": list(f.leak),
                "links": {cause: list(row) for cause, row in f.links.items()},
            }
            for f in network.findings
        ],
    }


def sum_size(network, findings):
    """Give the widest table and the work of the exact sum, counted before any sum is taken."""
    width = frontier_width(network, findings.evidence)
    return width, sum_work(network, findings.odds, findings.evidence)


def drawn_case(catalogue, rng, symptoms, results):
    """Draw a case with so much noticed, and measured abnormal, at random."""
    return {
        "symptoms": rng.sample(list(catalogue.symptoms), symptoms),
        "outcomes": {
            name: rng.choice(catalogue.checks[name].levels[1:] or catalogue.checks[name].levels).id
            for name in rng.sample(list(catalogue.checks), results)
        },
    }


def entangled_cases(catalogue, network, symptoms, results, draws=40):
    """Draw cases with much noticed and measured abnormal at random; give (work, document), rising.

    Only those that exact inference takes.
    """
    found = []
    for seed in range(draws):
        document = drawn_case(catalogue, random.Random(seed), symptoms, results)
        case, _ = read_case(document, catalogue)
        width, work = sum_size(network, find(catalogue, network, case))
        if width <= WIDTH_LIMIT and work <= WORK_LIMIT:
            found.append((work, document))
    return sorted(found, key=lambda one: one[0])
