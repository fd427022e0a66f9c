"""Sets of causes that may be present together, with their weights.

Planning needs whole sets, not single posteriors, because a repair changes the set. Lists
small sets of the likeliest causes and weighs them by the same model as inference. Larger
sets, and causes that are no candidate, are left out; the share kept is not computed here.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from build_tools.engine.network import Network, NetworkFinding
from build_tools.engine.noisy_max import ContradictoryEvidence
from build_tools.engine.terms import Term, cause_weights, check_weights, term_of

CANDIDATE_LIMIT = 30
"""Most candidates a set can name; the browser keeps a set in one 32-bit number."""


@dataclass(frozen=True)
class Worlds:
    """The sets considered: bit i of a mask means `causes[i]` is present.

    Every subset of a listed set is listed, the empty one first. `weights` add up to 1.
    """

    masks: tuple[int, ...]
    weights: tuple[float, ...]
    causes: tuple[str, ...]


def enumerate_worlds(
    network: Network,
    odds: Mapping[str, float],
    evidence: Mapping[str, Sequence[float]],
    *,
    candidates: Sequence[str],
    most_present: int = 2,
) -> Worlds:
    """Weigh every set of at most `most_present` candidates given the evidence.

    Causes that are no candidate count as absent. Findings linked to none of the
    candidates change nothing.

    Raises:
        ContradictoryEvidence: if no listed set can show the evidence.
        ValueError: if a candidate is unknown, named twice, or there are too many.
    """
    places = _places(network, candidates)
    present, absent = cause_weights(network, odds)
    masks = _masks(len(places), most_present)
    sets = [_members(places, mask) for mask in masks]
    weights = []
    for members in sets:
        weight = 1.0
        for place in members:
            weight *= present[place] / absent[place]
        weights.append(weight)
    for term in _terms(network, evidence):
        weights = [w * _chance(term, members) for w, members in zip(weights, sets, strict=True)]
        largest = max(weights)
        if largest == 0:
            raise ContradictoryEvidence(tuple(f.id for f in network.findings if f.id in evidence))
        # Rescaled after every finding, so that a long case does not run into zero.
        weights = [weight / largest for weight in weights]
    total = 0.0
    for weight in weights:
        total += weight
    return Worlds(tuple(masks), tuple(weight / total for weight in weights), tuple(candidates))


def level_table(network: Network, worlds: Worlds, finding_id: str) -> tuple[tuple[float, ...], ...]:
    """Give P(level) of one finding in each world, in the order of the masks.

    Raises:
        ValueError: if the finding is unknown.
    """
    finding = network.finding_by_id.get(finding_id)
    if finding is None:
        raise ValueError(f'"{finding_id}" is no finding of this network')
    places = _places(network, worlds.causes)
    # Distinct weights keep every level a state of its own.
    term = term_of(network, finding, [float(level + 1) for level in range(len(finding.levels))])
    linked = sum(1 << bit for bit, place in enumerate(places) if place in term.links)
    # Worlds that differ only in causes the finding does not know share a row.
    rows = {part: tuple(_masses(term, _members(places, part))) for part in _parts(worlds, linked)}
    return tuple(rows[mask & linked] for mask in worlds.masks)


def _parts(worlds: Worlds, linked: int) -> dict[int, None]:
    return dict.fromkeys(mask & linked for mask in worlds.masks)


def _places(network: Network, candidates: Sequence[str]) -> list[int]:
    if len(candidates) > CANDIDATE_LIMIT:
        raise ValueError(f"{len(candidates)} candidates, {CANDIDATE_LIMIT} are allowed")
    if len(set(candidates)) != len(candidates):
        raise ValueError("a candidate is named twice")
    for name in candidates:
        if name not in network.cause_index:
            raise ValueError(f'candidate "{name}" is no cause of this network')
    return [network.cause_index[name] for name in candidates]


def _masks(count: int, most_present: int) -> list[int]:
    """List the sets by size, then in the order of the candidates."""
    return [
        sum(1 << bit for bit in chosen)
        for size in range(min(count, most_present) + 1)
        for chosen in combinations(range(count), size)
    ]


def _members(places: Sequence[int], mask: int) -> list[int]:
    return [place for bit, place in enumerate(places) if mask >> bit & 1]


def _terms(network: Network, evidence: Mapping[str, Sequence[float]]) -> list[Term]:
    for name in evidence:
        if name not in network.finding_by_id:
            raise ValueError(f'evidence: "{name}" is no finding of this network')
    return [
        _scaled_term(network, finding, evidence[finding.id])
        for finding in network.findings
        if finding.id in evidence
    ]


def _scaled_term(network: Network, finding: NetworkFinding, weights: Sequence[float]) -> Term:
    largest = check_weights(finding, weights)
    if largest == 0:
        raise ContradictoryEvidence((finding.id,))
    return term_of(network, finding, [weight / largest for weight in weights])


def _masses(term: Term, members: Sequence[int]) -> list[float]:
    """Give the chance of each state: the leak, max-ed with each member in turn."""
    masses = list(term.leak)
    for place in members:
        link = term.links.get(place)
        if link is None:
            continue
        below = 0.0
        for state, mass in enumerate(masses):
            masses[state] = mass * link.reach[state] + below * link.mass[state]
            below += mass
    return masses


def _chance(term: Term, members: Sequence[int]) -> float:
    total = 0.0
    for mass, weight in zip(_masses(term, members), term.weights, strict=True):
        total += mass * weight
    return total
