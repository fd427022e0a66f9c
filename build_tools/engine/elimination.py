"""Room 3, reasoning: exact sums over sets of present causes, without any subtraction.

Works on one group of connected findings. A table is kept over the highest level reached so
far by each open finding; causes are taken one at a time; a finding is closed when its last
cause is done. Every term is a product or a sum of numbers that are not negative, so nothing
cancels. It knows no files and decides nothing about what to do next.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from build_tools.engine.elimination_terms import Link, Term


@dataclass(frozen=True, slots=True)
class Step:
    """Take one cause: the terms to open before it and to close after it."""

    cause: int
    opens: tuple[int, ...]
    closes: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Order:
    """Hold the steps of one group and the largest table they need, in numbers.

    `constant` is the share of a term that no cause still possible touches.
    """

    terms: Sequence[Term]
    steps: tuple[Step, ...]
    width: int
    constant: float


@dataclass(frozen=True, slots=True)
class Summed:
    """Hold the result of one group: logarithm of its sum (None if zero), and posteriors."""

    log_sum: float | None
    posteriors: dict[int, float]


def find_order(terms: Sequence[Term], causes: Sequence[int]) -> Order:
    """Choose the order of causes that closes findings early.

    Greedy: the next finding to finish is the one that leaves the smallest table when all
    its remaining causes are done. Ties: smaller table on the way, fewer causes, first.
    """
    touched = {c: [f for f, term in enumerate(terms) if c in term.links] for c in causes}
    remaining = [[c for c in causes if c in term.links] for term in terms]
    opened = [False] * len(terms)
    steps: list[Step] = []
    size = width = 1
    while True:
        unfinished = [f for f in range(len(terms)) if remaining[f]]
        if not unfinished:
            break
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
            size //= math.prod(len(terms[f].weights) for f in step.closes)
            steps.append(step)
    constant = math.prod(
        _dot(term.leak, term.weights)
        for f, term in enumerate(terms)
        if not any(f in places for places in touched.values())
    )
    return Order(terms, tuple(steps), width, constant)


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
    return opening / closing, opening, len(batches)


def _take(
    cause: int, touched: Sequence[int], remaining: Sequence[list[int]], opened: list[bool]
) -> Step:
    opens = tuple(f for f in touched if not opened[f])
    for f in touched:
        opened[f] = True
        remaining[f].remove(cause)
    closes = tuple(f for f in touched if not remaining[f])
    return Step(cause, opens, closes)


def sum_forward(order: Order, present: Sequence[float], absent: Sequence[float]) -> float | None:
    """Give the logarithm of the group's sum, or None when it is zero."""
    return _forward(order, present, absent, [])


def sum_both_ways(order: Order, present: Sequence[float], absent: Sequence[float]) -> Summed:
    """Give the logarithm of the group's sum and the posterior of each of its causes."""
    tape: list[tuple[list[int], list[float]]] = []
    log_sum = _forward(order, present, absent, tape)
    if log_sum is None:
        return Summed(None, {})
    return Summed(log_sum, _backward(order, present, absent, tape))


def _forward(
    order: Order,
    present: Sequence[float],
    absent: Sequence[float],
    tape: list[tuple[list[int], list[float]]],
) -> float | None:
    """Run all steps; the tape keeps the open terms and the table before each cause."""
    if order.constant == 0:
        return None
    log_sum = math.log(order.constant)
    table = [1.0]
    layout: list[int] = []
    for step in order.steps:
        for f in step.opens:
            table = [x * share for share in order.terms[f].leak for x in table]
            layout.append(f)
        tape.append((list(layout), table))
        raised = table
        for stride, link in _axes(order, layout, step.cause):
            raised = _raise_axis(raised, stride, link)
        off, on = absent[step.cause], present[step.cause]
        table = [x * off + y * on for x, y in zip(table, raised, strict=True)]
        for f in step.closes:
            table = _close_axis(table, _stride(order, layout, f), order.terms[f].weights)
            layout.remove(f)
        largest = max(table)
        if largest == 0:
            return None
        log_sum += math.log(largest)
        table = [x / largest for x in table]
    return log_sum


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
        wider: list[float] = []
        for base in range(0, len(after), stride):
            row = after[base : base + stride]
            for weight in weights:
                wider.extend([x * weight for x in row])
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


def _raise_axis(table: Sequence[float], stride: int, link: Link) -> list[float]:
    """Replace the level reached on one axis by its maximum with the cause's own level."""
    raised: list[float] = []
    for base in range(0, len(table), stride * len(link.mass)):
        below = table[base : base + stride]
        raised.extend([x * link.reach[0] for x in below])
        for state in range(1, len(link.mass)):
            start = base + state * stride
            row = table[start : start + stride]
            reach, mass = link.reach[state], link.mass[state]
            raised.extend([x * reach + b * mass for x, b in zip(row, below, strict=True)])
            below = [b + x for b, x in zip(below, row, strict=True)]
    return raised


def _lower_axis(after: Sequence[float], stride: int, link: Link) -> list[float]:
    """Apply the transpose of `_raise_axis`."""
    lowered = [0.0] * len(after)
    states = len(link.mass)
    for base in range(0, len(after), stride * states):
        above = [0.0] * stride
        for state in range(states - 1, -1, -1):
            start = base + state * stride
            row = after[start : start + stride]
            reach, mass = link.reach[state], link.mass[state]
            lowered[start : start + stride] = [
                x * reach + a for x, a in zip(row, above, strict=True)
            ]
            above = [a + x * mass for a, x in zip(above, row, strict=True)]
    return lowered


def _close_axis(table: Sequence[float], stride: int, weights: Sequence[float]) -> list[float]:
    closed: list[float] = []
    for base in range(0, len(table), stride * len(weights)):
        total = [x * weights[0] for x in table[base : base + stride]]
        for state in range(1, len(weights)):
            start = base + state * stride
            row = table[start : start + stride]
            total = [t + x * weights[state] for t, x in zip(total, row, strict=True)]
        closed.extend(total)
    return closed


def _dot(left: Sequence[float], right: Sequence[float]) -> float:
    total = 0.0
    for x, y in zip(left, right, strict=True):
        total += x * y
    return total
