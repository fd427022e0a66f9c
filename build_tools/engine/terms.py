"""What is observed, made ready for elimination.

Turns evidence into terms: one per finding, with neighbouring levels of equal weight merged,
because the sum over them never needs them apart. Findings left with one state (a normal
result among them) fold into the causes at once. Nothing is summed out here.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from build_tools.engine.network import Network, NetworkFinding


@dataclass(frozen=True, slots=True)
class Link:
    """What one present cause does to the states of one finding.

    `mass` is the chance that it alone reaches exactly that state, `reach` that it stays
    at or below it.
    """

    mass: tuple[float, ...]
    reach: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Term:
    """One observed finding: its states, their weights, its leak and its links.

    `weights` are scaled so that the largest is 1. `links` go by place of the cause.
    """

    finding: str
    weights: tuple[float, ...]
    leak: tuple[float, ...]
    links: dict[int, Link]


@dataclass(slots=True)
class Prepared:
    """The sum before elimination: causes with weights, and the open terms.

    `present` and `absent` are the weights of each cause, normal results folded in.
    `possible` is false when the evidence is ruled out before any sum is taken.
    """

    present: list[float]
    absent: list[float]
    log_constant: float
    terms: list[Term]
    possible: bool


def prepare(
    network: Network, odds: Mapping[str, float], evidence: Mapping[str, Sequence[float]]
) -> Prepared:
    """Fold one-state findings into the causes and list the other findings as terms.

    A cause without an entry in `odds` keeps its prior odds. Findings are taken in the
    order of the network, so the order of the evidence changes nothing.

    Raises:
        ValueError: if odds or weights are negative, not finite or for nothing known.
    """
    present, absent = cause_weights(network, odds)
    state = Prepared(present, absent, 0.0, [], possible=True)
    for name in evidence:
        if name not in network.finding_by_id:
            raise ValueError(f'evidence: "{name}" is no finding of this network')
    for name in sorted(evidence, key=network.finding_index.__getitem__):
        finding, weights = network.finding_by_id[name], evidence[name]
        largest = check_weights(finding, weights)
        if largest == 0:
            state.possible = False
            continue
        state.log_constant += math.log(largest)
        term = term_of(network, finding, [weight / largest for weight in weights])
        if len(term.weights) == 1:
            _fold(state, term)
        else:
            state.terms.append(term)
    return state


def cause_weights(network: Network, odds: Mapping[str, float]) -> tuple[list[float], list[float]]:
    """Give the weights of presence and absence of every cause, in network order."""
    by_prior = network.prior_weights
    present, absent = list(by_prior[0]), list(by_prior[1])
    for name, value in odds.items():
        if name not in network.cause_index:
            raise ValueError(f'odds: "{name}" is no cause of this network')
        if not (math.isfinite(value) and value >= 0):
            raise ValueError(f'odds of "{name}": {value} is not a finite number from 0 up')
        place = network.cause_index[name]
        present[place] = value / (1 + value)
        absent[place] = 1 / (1 + value)
    return present, absent


def check_weights(finding: NetworkFinding, weights: Sequence[float]) -> float:
    """Refuse weights that cannot be used, and give the largest one."""
    if len(weights) != len(finding.levels):
        raise ValueError(
            f'evidence on "{finding.id}": {len(weights)} weights for {len(finding.levels)} levels'
        )
    largest = 0.0
    for weight in weights:
        if not (math.isfinite(weight) and weight >= 0):
            raise ValueError(
                f'evidence on "{finding.id}": weight {weight} is not a finite number from 0 up'
            )
        largest = max(largest, weight)
    return largest


def term_of(network: Network, finding: NetworkFinding, weights: Sequence[float]) -> Term:
    """Merge neighbouring levels of equal weight and drop the top ones of weight zero.

    The level reached is a maximum, so it only rises: once in a top level of weight zero
    nothing leads back, and that part of the sum is zero.
    """
    bounds: list[int] = []
    merged: list[float] = []
    for level, weight in enumerate(weights):
        if merged and merged[-1] == weight:
            bounds[-1] = level
        else:
            bounds.append(level)
            merged.append(weight)
    if merged[-1] == 0:
        bounds.pop()
        merged.pop()
    leak = _row_of_states(finding.leak, bounds)
    places = sorted((network.cause_index[cause], cause) for cause in finding.links)
    links = {place: _row_of_states(finding.links[cause], bounds) for place, cause in places}
    return Term(finding.id, tuple(merged), leak.mass, links)


def _row_of_states(row: Sequence[float], bounds: Sequence[int]) -> Link:
    reach = [row[bound] if bound < len(row) else 1.0 for bound in bounds]
    mass = [value if state == 0 else value - reach[state - 1] for state, value in enumerate(reach)]
    return Link(tuple(mass), tuple(reach))


def _fold(state: Prepared, term: Term) -> None:
    if term.leak[0] == 0:
        state.possible = False
        return
    state.log_constant += math.log(term.leak[0])
    for place, link in term.links.items():
        state.present[place] *= link.reach[0]


def split_components(state: Prepared) -> list[tuple[list[Term], list[int]]]:
    """Group terms that share a cause still possible; groups do not influence each other.

    Gives for each group its terms and the places of its causes, both in network order.
    """
    groups: list[tuple[list[Term], list[int]]] = []
    free = list(range(len(state.terms)))
    while free:
        inside = [free.pop(0)]
        causes: set[int] = set()
        for member in inside:
            fresh = {c for c in state.terms[member].links if state.present[c] > 0} - causes
            causes |= fresh
            joined = [f for f in free if not fresh.isdisjoint(state.terms[f].links)]
            inside.extend(joined)
            free = [f for f in free if f not in joined]
        groups.append(([state.terms[member] for member in sorted(inside)], sorted(causes)))
    return groups
