"""The exact posterior of every cause, and a near one where the exact sum takes too long.

Noisy-MAX with two layers: P(F <= k | present set S) is the leak's P(F <= k) times the
product over S of the links' (Pearl 1988 for two levels, Henrion and Diez for more, from
memory). Nothing is sampled and nothing is cut off. It does not choose a next step.

Only `infer_nearly` weighs causes apart in each finding, where all together take too long; what is
left of the sum is still exact. A cause taken apart counts in each of its findings with the chance
that all the others give it, but no longer ties them to each other: belief propagation (Pearl 1988;
over loops Murphy, Weiss and Jordan 1999, from memory) for those causes alone.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from build_tools.engine.elimination import Order, find_order, sum_forward, sum_group, sum_states
from build_tools.engine.network import Network
from build_tools.engine.terms import Prepared, Term, prepare, split_components, term_of

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


WIDTH_LIMIT = 131072
"""Largest table, in numbers, that inference will build: 1 MB a step, our choice."""

WORK_LIMIT = 6_000_000
"""Most numbers one exact sum may go through: about a second in Python, our choice.

Of cases with 12 symptoms and 25 abnormal results drawn at random about half are within it.
"""

NEARLY_LIMIT = 2**24
"""Largest table of an exact sum that `infer_nearly` may stand for: beyond it nobody could hold
its odds against the exact ones."""

NEARLY_WORK = 3_000_000
"""Most numbers the sum beside the causes weighed apart may go through: choosing them takes time
as well."""

NEARLY = 0.3
"""How far a posterior of `infer_nearly` may be off; over the cases drawn by the tests none is."""


class ContradictoryEvidence(ValueError):  # noqa: N818 - the public name says what it is
    """The evidence has probability zero; the findings that clash are named.

    Taking any one of `findings` away makes the rest possible.
    """

    def __init__(self, findings: tuple[str, ...]) -> None:
        self.findings = findings
        names = ", ".join(findings)
        super().__init__(f"no set of causes can show these findings together: {names}")


class FrontierTooWide(ValueError):  # noqa: N818 - the public name says what it is
    """The exact sum needs a larger or a longer table than allowed; both counts are numbers."""

    def __init__(self, width: int, limit: int, what: str = "a table") -> None:
        self.width = width
        self.limit = limit
        super().__init__(
            f"the findings are too entangled: {what} of {width} numbers is needed, "
            f"{limit} are allowed"
        )


@dataclass(frozen=True)
class Inference:
    """The posterior of each cause and the natural logarithm of P(evidence).

    The logarithm takes the weights as they were given. `work` counts the numbers the exact sum
    goes through (see `elimination.Order`), the same in both languages. `apart` has the causes
    weighed apart, None where everything is exact.
    """

    posteriors: dict[str, float]
    log_evidence: float
    work: int
    apart: Apart | None = None


def infer(
    network: Network,
    odds: Mapping[str, float],
    evidence: Mapping[str, Sequence[float]],
    *,
    width_limit: int = WIDTH_LIMIT,
) -> Inference:
    """Give every cause's posterior, exactly.

    `odds` are prior odds with context already multiplied in; a cause left out keeps its
    prior. `evidence` holds one weight per level, P(what was seen | level). A finding left
    out is no evidence either way.

    Raises:
        ContradictoryEvidence: if the evidence has probability zero.
        FrontierTooWide: if the largest table would pass `width_limit` numbers, or all
            together `WORK_LIMIT`.
        ValueError: if odds or evidence cannot be used.
    """
    result = _infer(network, odds, evidence, width_limit)
    if result is None:
        raise ContradictoryEvidence(_clash(network, odds, evidence, width_limit))
    return result


def infer_nearly(
    network: Network, odds: Mapping[str, float], evidence: Mapping[str, Sequence[float]]
) -> Inference:
    """Give every cause's posterior: exactly where `infer` can, else within about `NEARLY`.

    Raises:
        ContradictoryEvidence, ValueError: as `infer`.
        FrontierTooWide: if the exact sum would need a table above `NEARLY_LIMIT` numbers.
    """
    state = prepare(network, odds, evidence)
    orders = _all_orders(state) if state.possible else []
    width = max((order.width for order in orders), default=1)
    if width > NEARLY_LIMIT:
        raise FrontierTooWide(width, NEARLY_LIMIT)
    apart = None
    if not _fits(orders, WORK_LIMIT):
        apart = take_apart(state, lambda one: _fits(_all_orders(one), NEARLY_WORK))
        state = loosened(state, apart)
    result = None
    if state.possible:
        result = _summed(network, state, orders if apart is None else _all_orders(state))
    if result is None:
        raise ContradictoryEvidence(_clash(network, odds, evidence, WIDTH_LIMIT))
    if apart is None:
        return result
    for place, posterior in apart.posteriors.items():
        result.posteriors[network.causes[place].id] = posterior
    work = sum(order.work for order in orders)
    return Inference(result.posteriors, result.log_evidence, work, apart)


def _fits(orders: Sequence[Order], work: int) -> bool:
    return (
        all(order.width <= WIDTH_LIMIT for order in orders)
        and sum(order.work for order in orders) <= work
    )


def log_probability(
    network: Network,
    odds: Mapping[str, float],
    evidence: Mapping[str, Sequence[float]],
    *,
    apart: Apart | None = None,
) -> tuple[float, int]:
    """Give the natural logarithm of P(evidence) alone, and the work; less than half of `infer`.

    Minus infinity if the evidence has probability zero. With `apart`, as weighed there.

    Raises:
        FrontierTooWide, ValueError: as `infer`.
    """
    state = prepare(network, odds, evidence)
    if not state.possible:
        return -math.inf, 0
    if apart is not None:
        state = loosened(state, apart)
    total = state.log_constant
    orders = _orders(state, WIDTH_LIMIT)
    work = sum(order.work for order in orders)
    summed: set[int] = set()
    for order in orders:
        log_sum = sum_forward(order, state.present, state.absent)
        if log_sum is None:
            return -math.inf, work
        total += log_sum
        summed.update(step.cause for step in order.steps)
    for place in range(len(network.causes)):
        if place not in summed:
            total += math.log(state.present[place] + state.absent[place])
    return total, work


def foretell(
    network: Network,
    odds: Mapping[str, float],
    evidence: Mapping[str, Sequence[float]],
    name: str,
) -> tuple[list[float], int]:
    """Give P(level | evidence) of each level of a finding that nothing tells of, and the work.

    One sum for all levels, over the group of the finding alone.

    Raises:
        ContradictoryEvidence, FrontierTooWide, ValueError: as `infer`.
    """
    state = prepare(network, odds, evidence)
    finding = network.finding_by_id[name]
    # Weights that differ, so that no levels are merged.
    kept = term_of(network, finding, [place + 1.0 for place in range(len(finding.levels))])
    state.terms.append(kept)
    groups = split_components(state)
    (order,) = _limited(
        [find_order(terms, causes) for terms, causes in groups if terms[-1] is kept], WIDTH_LIMIT
    )
    shares = sum_states(order, state.present, state.absent)
    if shares is None:
        raise ContradictoryEvidence(_clash(network, odds, evidence, WIDTH_LIMIT))
    return shares, order.work


def _infer(
    network: Network,
    odds: Mapping[str, float],
    evidence: Mapping[str, Sequence[float]],
    width_limit: int,
) -> Inference | None:
    state = prepare(network, odds, evidence)
    return _summed(network, state, _orders(state, width_limit)) if state.possible else None


def _summed(network: Network, state: Prepared, orders: Sequence[Order]) -> Inference | None:
    log_evidence = state.log_constant
    found: dict[int, float] = {}
    for order in orders:
        summed = sum_group(order, state.present, state.absent)
        if summed is None:
            return None
        log_evidence += summed.log_sum
        found.update(summed.posteriors)
    posteriors: dict[str, float] = {}
    for place, cause in enumerate(network.causes):
        posterior = found.get(place)
        if posterior is None:
            total = state.present[place] + state.absent[place]
            posterior = state.present[place] / total
            log_evidence += math.log(total)
        posteriors[cause.id] = posterior
    return Inference(posteriors, log_evidence, sum(order.work for order in orders))


def _all_orders(state: Prepared) -> list[Order]:
    return [find_order(terms, causes) for terms, causes in split_components(state)]


def _orders(state: Prepared, width_limit: int) -> list[Order]:
    return _limited(_all_orders(state), width_limit)


def _limited(orders: list[Order], width_limit: int) -> list[Order]:
    for order in orders:
        if order.width > width_limit:
            raise FrontierTooWide(order.width, width_limit)
    work = sum(order.work for order in orders)
    if work > WORK_LIMIT:
        raise FrontierTooWide(work, WORK_LIMIT, "a sum")
    return orders


def sum_work(
    network: Network, odds: Mapping[str, float], evidence: Mapping[str, Sequence[float]]
) -> int:
    """Count the numbers `infer` would go through for this evidence, without going there."""
    return sum(order.work for order in _all_orders(prepare(network, odds, evidence)))


def frontier_width(network: Network, evidence: Mapping[str, Sequence[float]]) -> int:
    """Give the largest table, in numbers, that inference needs for this evidence.

    With prior odds; 1 when nothing has to be summed.
    """
    orders = _all_orders(prepare(network, {}, evidence))
    return max((order.width for order in orders), default=1)


def _clash(
    network: Network,
    odds: Mapping[str, float],
    evidence: Mapping[str, Sequence[float]],
    width_limit: int,
) -> tuple[str, ...]:
    """Drop findings one by one while the rest still contradicts itself."""
    kept = {f.id: evidence[f.id] for f in network.findings if f.id in evidence}
    for name in list(kept):
        fewer = {key: weights for key, weights in kept.items() if key != name}
        try:
            still = _infer(network, odds, fewer, width_limit) is None
        except FrontierTooWide:
            # Another order came out too wide; keeping the finding is the safe side.
            still = False
        if still:
            kept = fewer
    return tuple(kept)
