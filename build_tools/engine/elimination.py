"""Exact sums over sets of present causes, without any subtraction.

Works on one group of connected findings. A table is kept over the highest level reached so
far by each open finding; causes are taken one at a time; a finding is closed when its last
cause is done. Every term is a product or a sum of numbers that are not negative, so nothing
cancels. It knows no files and decides nothing about what to do next.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from build_tools.engine.terms import Link, Term


@dataclass(frozen=True, slots=True)
class Step:
    """One cause, with the terms to open before it and to close after it."""

    cause: int
    opens: tuple[int, ...]
    closes: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Order:
    """The steps of one group and what they take.

    `width` is the largest table, in numbers, and `work` the numbers met on the way, each
    once for its step and once for each axis the cause moves. `constant` is the share of a
    term that no cause still possible touches.
    """

    terms: Sequence[Term]
    steps: tuple[Step, ...]
    width: int
    work: int
    constant: float


@dataclass(frozen=True, slots=True)
class GroupSum:
    """The logarithm of one group's sum, and the posterior of each of its causes by place."""

    log_sum: float
    posteriors: dict[int, float]


def find_order(terms: Sequence[Term], causes: Sequence[int]) -> Order:
    """Choose the order of causes that closes findings early.

    Greedy: the next finding to finish is the one that needs the smallest table on the way while
    all its remaining causes are done. Ties: smaller table left, fewer causes, first.
    """
    touched = {c: [f for f, term in enumerate(terms) if c in term.links] for c in causes}
    remaining = [[c for c in causes if c in term.links] for term in terms]
    opened = [False] * len(terms)
    steps: list[Step] = []
    size = width = 1
    work = 0
    while unfinished := [f for f in range(len(terms)) if remaining[f]]:
        best = min(
            (_growth(terms, remaining, opened, [touched[c] for c in remaining[f]]), f)
            for f in unfinished
        )[1]
        batch = list(remaining[best])
        while batch:
            cause = min((_growth(terms, remaining, opened, [touched[c]]), c) for c in batch)[1]
            batch.remove(cause)
            step = _take(cause, touched[cause], remaining, opened)
            size *= math.prod(len(terms[f].weights) for f in step.opens)
            width = max(width, size)
            work += size * (1 + len(touched[cause]))
            size //= math.prod(len(terms[f].weights) for f in step.closes)
            steps.append(step)
    constant = math.prod(
        _dot(term.leak, term.weights)
        for f, term in enumerate(terms)
        if not any(f in places for places in touched.values())
    )
    return Order(terms, tuple(steps), width, work, constant)


def _growth(
    terms: Sequence[Term],
    remaining: Sequence[Sequence[int]],
    opened: Sequence[bool],
    batches: Sequence[Sequence[int]],
) -> tuple[float, float, int]:
    """Say how a batch of causes changes the table; each batch lists the terms of one cause."""
    hits = [0] * len(terms)
    for batch in batches:
        for f in batch:
            hits[f] += 1
    opening = 1.0
    closing = 1.0
    for f, hit in enumerate(hits):
        if hit and not opened[f]:
            opening *= len(terms[f].weights)
        if hit and hit == len(remaining[f]):
            closing *= len(terms[f].weights)
    return opening, opening / closing, len(batches)


def _take(
    cause: int, touched: Sequence[int], remaining: Sequence[list[int]], opened: list[bool]
) -> Step:
    opens = tuple(f for f in touched if not opened[f])
    for f in touched:
        opened[f] = True
        remaining[f].remove(cause)
    closes = tuple(f for f in touched if not remaining[f])
    return Step(cause, opens, closes)


def sum_group(order: Order, present: Sequence[float], absent: Sequence[float]) -> GroupSum | None:
    """Give the logarithm of the group's sum and its posteriors, or None when it is zero."""
    tape: list[tuple[list[int], list[float]]] = []
    found = _forward(order, present, absent, tape)
    if found is None:
        return None
    return GroupSum(found[0], _backward(order, present, absent, tape))


def sum_forward(order: Order, present: Sequence[float], absent: Sequence[float]) -> float | None:
    """Give the logarithm of the group's sum alone, or None when it is zero."""
    found = _forward(order, present, absent, None)
    return None if found is None else found[0]


def sum_states(
    order: Order, present: Sequence[float], absent: Sequence[float]
) -> list[float] | None:
    """Give the share of each state of the group's last term, whatever its weights.

    None when the sum is zero.
    """
    kept = len(order.terms) - 1
    found = _forward(order, present, absent, None, kept)
    if found is None:
        return None
    shares = found[1] if order.steps else order.terms[kept].leak
    total = 0.0
    for share in shares:
        total += share
    return [share / total for share in shares]


def _forward(
    order: Order,
    present: Sequence[float],
    absent: Sequence[float],
    tape: list[tuple[list[int], list[float]]] | None,
    kept: int = -1,
) -> tuple[float, list[float]] | None:
    """Run all steps but closing the term `kept`: the logarithm of the sum, and the last table.

    A tape keeps the open terms and the table before each cause.
    """
    if order.constant == 0:
        return None
    log_sum = math.log(order.constant)
    table = [1.0]
    layout: list[int] = []
    for step in order.steps:
        for f in step.opens:
            table = [x * share for share in order.terms[f].leak for x in table]
            layout.append(f)
        if tape is not None:
            tape.append((list(layout), table))
        raised = table
        for stride, link in _axes(order, layout, step.cause):
            raised = _raise_axis(raised, stride, link)
        off, on = absent[step.cause], present[step.cause]
        table = [x * off + y * on for x, y in zip(table, raised, strict=True)]
        for f in step.closes:
            if f == kept:
                continue
            table = _close_axis(table, _stride(order, layout, f), order.terms[f].weights)
            layout.remove(f)
        largest = max(table)
        if largest == 0:
            return None
        log_sum += math.log(largest)
        table = [x / largest for x in table]
    return log_sum, table


def _backward(
    order: Order,
    present: Sequence[float],
    absent: Sequence[float],
    tape: Sequence[tuple[list[int], list[float]]],
) -> dict[int, float]:
    """Run the steps back: what follows each state, and with it each cause's posterior."""
    posteriors: dict[int, float] = {}
    after = [1.0]
    for step, (layout, table) in zip(reversed(order.steps), reversed(tape), strict=True):
        after = _reopen(order, step, layout, after)
        lowered = after
        for stride, link in _axes(order, layout, step.cause):
            lowered = _lower_axis(lowered, stride, link)
        off, on = absent[step.cause], present[step.cause]
        with_cause = on * _dot(table, lowered)
        without = off * _dot(table, after)
        posteriors[step.cause] = with_cause / (with_cause + without)
        after = [x * off + y * on for x, y in zip(after, lowered, strict=True)]
        for f in reversed(step.opens):
            size = len(after) // len(order.terms[f].leak)
            after = _unopen(after, size, order.terms[f].leak)
        largest = max(after)
        after = [x / largest for x in after]
    return posteriors


def _reopen(order: Order, step: Step, layout: Sequence[int], after: list[float]) -> list[float]:
    """Undo the closings of a step, last first, so the table has its layout again."""
    open_terms = list(layout)
    strides = []
    for f in step.closes:
        strides.append(_stride(order, open_terms, f))
        open_terms.remove(f)
    for f, stride in zip(reversed(step.closes), reversed(strides), strict=True):
        weights = order.terms[f].weights
        wider = [0.0] * (len(after) * len(weights))
        for inner, places in _runs(len(wider), stride, len(weights)):
            row = after[inner]
            for place, weight in zip(places, weights, strict=True):
                wider[place] = [x * weight for x in row]
        after = wider
    return after


def _unopen(after: Sequence[float], size: int, leak: Sequence[float]) -> list[float]:
    total = [x * leak[0] for x in after[:size]]
    for state in range(1, len(leak)):
        row = after[state * size : (state + 1) * size]
        total = [t + x * leak[state] for t, x in zip(total, row, strict=True)]
    return total


def _stride(order: Order, layout: Sequence[int], f: int) -> int:
    return math.prod(len(order.terms[g].weights) for g in layout[: layout.index(f)])


def _axes(order: Order, layout: Sequence[int], cause: int) -> list[tuple[int, Link]]:
    """Give stride and link of each open term the cause touches, innermost first."""
    axes = []
    stride = 1
    for f in layout:
        term = order.terms[f]
        if cause in term.links:
            axes.append((stride, term.links[cause]))
        stride *= len(term.weights)
    return axes


def _runs(size: int, stride: int, states: int) -> Iterator[tuple[slice, list[slice]]]:
    """Cut a table along one axis into as few runs as can be, each with its states' places.

    The first slice is the run's place in the table without the axis.
    """
    block = stride * states
    if stride * block < size:
        for start in range(stride):
            places = [slice(start + state * stride, None, block) for state in range(states)]
            yield slice(start, None, stride), places
        return
    for start in range(0, size, block):
        places = [slice(one, one + stride) for one in range(start, start + block, stride)]
        yield slice(start // states, start // states + stride), places


def _raise_axis(table: Sequence[float], stride: int, link: Link) -> list[float]:
    """Replace the level reached on one axis by its maximum with the cause's own level."""
    raised = list(table)
    for _, places in _runs(len(table), stride, len(link.mass)):
        below = table[places[0]]
        raised[places[0]] = [x * link.reach[0] for x in below]
        for state in range(1, len(places)):
            row = table[places[state]]
            reach, mass = link.reach[state], link.mass[state]
            raised[places[state]] = [x * reach + b * mass for x, b in zip(row, below, strict=True)]
            if state + 1 < len(places):
                below = [b + x for b, x in zip(below, row, strict=True)]
    return raised


def _lower_axis(after: Sequence[float], stride: int, link: Link) -> list[float]:
    """Apply the transpose of `_raise_axis`."""
    lowered = list(after)
    last = len(link.mass) - 1
    for _, places in _runs(len(after), stride, len(link.mass)):
        row = after[places[last]]
        lowered[places[last]] = [x * link.reach[last] for x in row]
        above = [x * link.mass[last] for x in row]
        for state in range(last - 1, -1, -1):
            row = after[places[state]]
            reach, mass = link.reach[state], link.mass[state]
            lowered[places[state]] = [x * reach + a for x, a in zip(row, above, strict=True)]
            if state:
                above = [a + x * mass for a, x in zip(above, row, strict=True)]
    return lowered


def _close_axis(table: Sequence[float], stride: int, weights: Sequence[float]) -> list[float]:
    closed = [0.0] * (len(table) // len(weights))
    for inner, places in _runs(len(table), stride, len(weights)):
        total = [x * weights[0] for x in table[places[0]]]
        for place, weight in zip(places[1:], weights[1:], strict=True):
            total = [t + x * weight for t, x in zip(total, table[place], strict=True)]
        closed[inner] = total
    return closed


def _dot(left: Sequence[float], right: Sequence[float]) -> float:
    total = 0.0
    for x, y in zip(left, right, strict=True):
        total += x * y
    return total
