"""Causes weighed apart in each finding, where all together are too much to sum.

What is left of the sum is still exact. A cause taken apart counts in each of its findings with
the chance that all the others give it, but no longer ties them to each other: belief propagation
(Pearl 1988; over loops Murphy, Weiss and Jordan 1999, from memory) for those causes alone.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from build_tools.engine.terms import Prepared, Term

_ROUNDS = 20
_STRONGEST = 1e12
_MOST_ODDS = 1e200


@dataclass(frozen=True, slots=True)
class Apart:
    """Causes weighed apart, by place.

    `chances` has, by finding, how likely each is by all that is known but that finding;
    `posteriors` how likely by everything.
    """

    chances: dict[str, dict[int, float]]
    posteriors: dict[int, float]


def take_apart(state: Prepared, fits: Callable[[Prepared], bool]) -> Apart:
    """Take as few causes apart as make the sum fit, those first that tie findings least.

    Counts only additions, products, quotients and roots, so that both languages choose alike.
    """
    told = _Told(state)
    for _ in range(_ROUNDS):
        told.tell()
    order = sorted(told.shared(), key=lambda cause: (told.tie(cause), cause))
    low, high = 0, len(order)
    # All of them apart leave every finding alone, and that always fits.
    while low < high:
        middle = (low + high) // 2
        if fits(loosened(state, told.apart(order[:middle]))):
            high = middle
        else:
            low = middle + 1
    return told.apart(order[:low])


def loosened(state: Prepared, apart: Apart) -> Prepared:
    """Fold what is weighed apart into each finding's own leak."""
    present, absent = list(state.present), list(state.absent)
    for cause in apart.posteriors:
        present[cause], absent[cause] = 0.0, 1.0
    terms = [_with_leak(term, apart.chances.get(term.finding, {})) for term in state.terms]
    return Prepared(present, absent, state.log_constant, terms, state.possible)


def _with_leak(term: Term, chances: dict[int, float]) -> Term:
    reach = _sums(term.leak)
    for cause, chance in chances.items():
        reach = _with_cause(reach, term.links[cause].reach, chance)
    leak = [one - (reach[state - 1] if state else 0.0) for state, one in enumerate(reach)]
    links = {cause: link for cause, link in term.links.items() if cause not in chances}
    return Term(term.finding, term.weights, tuple(leak), links)


class _Told:
    """What each finding tells of each of its causes: how much likelier it is with it."""

    def __init__(self, state: Prepared) -> None:
        self._terms = state.terms
        self._leaks = [_sums(term.leak) for term in state.terms]
        self._ratios = [
            {cause: 1.0 for cause in term.links if state.present[cause] > 0} for term in state.terms
        ]
        self._odds: dict[int, float] = {}
        self._places: dict[int, list[int]] = {}
        for place, ratios in enumerate(self._ratios):
            for cause in ratios:
                self._odds[cause] = state.present[cause] / state.absent[cause]
                self._places.setdefault(cause, []).append(place)

    def tell(self) -> None:
        """Let every finding tell anew, halfway (in ratio) from what it told before."""
        fresh = [self._told_by(place) for place in range(len(self._terms))]
        for ratios, new in zip(self._ratios, fresh, strict=True):
            for cause, ratio in new.items():
                ratios[cause] = math.sqrt(ratios[cause] * ratio)

    def shared(self) -> list[int]:
        """Return the causes of more than one finding."""
        return [cause for cause, places in self._places.items() if len(places) > 1]

    def tie(self, cause: int) -> float:
        """Say how much a cause ties its findings, for each of them: 0 where it is sure."""
        places = self._places[cause]
        told = sorted(self._strength(place, cause) for place in places)
        chance = self._chance(cause, -1)
        return chance * (1 - chance) * told[-2] / len(places)

    def apart(self, causes: Sequence[int]) -> Apart:
        """Return these causes as they are to be weighed apart."""
        chances: dict[str, dict[int, float]] = {}
        for cause in causes:
            for place in self._places[cause]:
                found = chances.setdefault(self._terms[place].finding, {})
                found[cause] = self._chance(cause, place)
        return Apart(chances, {cause: self._chance(cause, -1) for cause in causes})

    def _strength(self, place: int, cause: int) -> float:
        ratio = self._ratios[place][cause]
        return abs(ratio - 1) / (ratio + 1)

    def _chance(self, cause: int, but: int) -> float:
        """Return P(cause) by all findings, or by all `but` one."""
        odds = self._odds[cause]
        for place in self._places[cause]:
            if place != but:
                odds = _between(odds * self._ratios[place][cause], _MOST_ODDS)
        return odds / (1 + odds)

    def _told_by(self, place: int) -> dict[int, float]:
        """Return what one finding tells of each of its causes, by what the others tell it."""
        term, causes = self._terms[place], list(self._ratios[place])
        chances = [self._chance(cause, place) for cause in causes]
        before = [self._leaks[place]]
        for cause, chance in zip(causes, chances, strict=True):
            before.append(_with_cause(before[-1], term.links[cause].reach, chance))
        behind = [1.0] * len(term.weights)
        told = {}
        for number in range(len(causes) - 1, -1, -1):
            reach = term.links[causes[number]].reach
            without = [x * y for x, y in zip(before[number], behind, strict=True)]
            having = [x * y for x, y in zip(without, reach, strict=True)]
            told[causes[number]] = _ratio(
                _weighed(having, term.weights), _weighed(without, term.weights)
            )
            behind = _with_cause(behind, reach, chances[number])
        return told


def _sums(masses: Sequence[float]) -> list[float]:
    total = 0.0
    sums = []
    for mass in masses:
        total += mass
        sums.append(total)
    return sums


def _with_cause(reach: Sequence[float], own: Sequence[float], chance: float) -> list[float]:
    return [x * (1 - chance + chance * y) for x, y in zip(reach, own, strict=True)]


def _weighed(reach: Sequence[float], weights: Sequence[float]) -> float:
    total = below = 0.0
    for one, weight in zip(reach, weights, strict=True):
        total += max(0.0, one - below) * weight
        below = one
    return total


def _ratio(having: float, without: float) -> float:
    if without > 0:
        return _between(having / without, _STRONGEST)
    return _STRONGEST if having > 0 else 1.0


def _between(ratio: float, most: float) -> float:
    return min(most, max(1 / most, ratio))
