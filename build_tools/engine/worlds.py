"""Sets of causes that may be present together, with their weights, and which of them are to blame.

Planning needs whole sets, not single posteriors, because a repair changes the set. Lists
small sets of the likeliest causes and weighs them by the same model as inference. Larger
sets, and causes that are no candidate, are left out; the share kept is not computed here.

A cause may be present and have no part in what is noticed: a weak battery in a car that
misfires. Then it needs no repair for a cure, and looking for it settles nothing. By the model
each present cause makes a complaint by itself, or does not; so every set of present causes
splits into the sets that could be to blame, and planning counts those.
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


@dataclass(frozen=True)
class Blamed:
    """Sets of causes that make the complaints: all of a set do, and nothing else does.

    `worlds` are those sets with their weights; the empty one stands for what no cause explains.
    `found_in` says, for each, in which of the `present` sets it is found, as a place and a
    share; the shares of one add up to 1.
    """

    worlds: Worlds
    present: Worlds
    found_in: tuple[tuple[tuple[int, float], ...], ...]

    def share(self, place: int) -> float:
        """Return P(the cause at a place is to blame)."""
        return self._share_within(1 << place)

    def share_of_any(self, names: frozenset[str]) -> float:
        """Return P(one of these causes at least is to blame)."""
        return self._share_within(
            sum(1 << place for place, name in enumerate(self.worlds.causes) if name in names)
        )

    def _share_within(self, wanted: int) -> float:
        total = 0.0
        for mask, weight in zip(self.worlds.masks, self.worlds.weights, strict=True):
            if mask & wanted:
                total += weight
        return total


def blame(network: Network, present: Worlds, complaints: Sequence[str]) -> Blamed:
    """Split every present set by which of its causes make the complaints, all of them seen.

    Without a complaint all that is present is to blame.
    """
    if not complaints:
        alone = tuple(((place, 1.0),) for place in range(len(present.masks)))
        return Blamed(present, present, alone)
    silence = _Silence(network, present.causes, complaints)
    places = {mask: place for place, mask in enumerate(present.masks)}
    sources: list[list[tuple[int, float]]] = [[] for _ in present.masks]
    for place, (mask, weight) in enumerate(zip(present.masks, present.weights, strict=True)):
        parts = [(part, silence.made_by(part, mask)) for part in _subsets(mask)]
        total = 0.0
        for _, chance in parts:
            total += chance
        for part, chance in parts:
            if chance > 0 and weight > 0:
                sources[places[part]].append((place, weight * chance / total))
    weights, found_in = [], []
    for place, found in enumerate(sources):
        total = 0.0
        for _, weight in found:
            total += weight
        weights.append(total)
        found_in.append(tuple((one, weight / total) for one, weight in found) or ((place, 1.0),))
    return Blamed(Worlds(present.masks, tuple(weights), present.causes), present, tuple(found_in))


def blamed_table(
    network: Network, blamed: Blamed, finding_id: str
) -> tuple[tuple[float, ...], ...]:
    """Give P(level) of one finding where each set is to blame, whatever else is present.

    Raises:
        ValueError: if the finding is unknown.
    """
    return in_blamed(blamed, level_table(network, blamed.present, finding_id))


def in_blamed(blamed: Blamed, table: Sequence[Sequence[float]]) -> tuple[tuple[float, ...], ...]:
    """Turn a table by what is present into one by what is to blame."""
    rows = []
    for sources in blamed.found_in:
        row = [0.0] * len(table[0])
        for place, share in sources:
            for level, chance in enumerate(table[place]):
                row[level] += share * chance
        rows.append(tuple(row))
    return tuple(rows)


def _subsets(mask: int) -> list[int]:
    found = [0]
    for bit in range(mask.bit_length()):
        if mask >> bit & 1:
            found += [one | 1 << bit for one in found]
    return found


class _Silence:
    """How likely causes are to make none of the complaints, or all of them."""

    def __init__(self, network: Network, causes: Sequence[str], complaints: Sequence[str]) -> None:
        findings = [network.finding_by_id[name] for name in complaints]
        self._leaks = [one.leak[0] for one in findings]
        self._each = [
            [one.links[cause][0] if cause in one.links else 1.0 for one in findings]
            for cause in causes
        ]

    def made_by(self, part: int, present: int) -> float:
        """Return P(of `present` exactly `part` make complaints, and all complaints are made).

        By inclusion and exclusion over the causes of the part that make none after all.
        """
        chance = 0.0
        for made in _subsets(part):
            sign = -1.0 if (part ^ made).bit_count() % 2 else 1.0
            chance += sign * self._silent(part ^ made) * self._shown(made)
        return max(0.0, chance) * self._silent(present ^ part)

    def _silent(self, mask: int) -> float:
        chance = 1.0
        for bit, row in enumerate(self._each):
            if mask >> bit & 1:
                for one in row:
                    chance *= one
        return chance

    def _shown(self, mask: int) -> float:
        chance = 1.0
        for place, leak in enumerate(self._leaks):
            quiet = leak
            for bit, row in enumerate(self._each):
                if mask >> bit & 1:
                    quiet *= row[place]
            chance *= 1 - quiet
        return chance
