"""The exact posterior of every cause.

Noisy-MAX with two layers: P(F <= k | present set S) is the leak's P(F <= k) times the
product over S of the links' (Pearl 1988 for two levels, Henrion and Diez for more, from
memory). Nothing is sampled and nothing is cut off; only `infer_nearly` weighs causes apart where
all together take too long. It does not choose a next step.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from build_tools.engine.apart import Apart, loosened, take_apart
from build_tools.engine.elimination import Order, find_order, sum_forward, sum_group, sum_states
from build_tools.engine.network import Network
from build_tools.engine.terms import Prepared, prepare, split_components, term_of

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
