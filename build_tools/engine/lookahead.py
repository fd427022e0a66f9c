"""Room 3, reasoning: the value of acting well for a few steps.

V_0 is the price of repairing in p/c order; V_h is the least of that price, of each check
followed by V_(h-1), and for h >= 2 of each repair followed by V_(h-1). Deep enough, this is
the optimum. It does not choose how deep to look.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from build_tools.engine.lookahead_board import after_outcome, after_repair, price_repairs

if TYPE_CHECKING:
    from collections.abc import Sequence

    from build_tools.engine.lookahead_board import Board, Price

COUNT_LIMIT = 2**40
"""State counts stop growing here, so that the browser's numbers stay exact."""

STATE_COST = 40
"""What a state costs beside its worlds, in worlds; from timings in Chromium."""

_INFINITE = float("inf")
# Values closer than this share count as equal; then the earlier action in the fixed order wins.
_TIE = 1e-12


@dataclass(slots=True)
class Search:
    """Hold one look ahead: what is done already, and what is known about states."""

    board: Board
    done: list[bool]
    memo: dict[int, float] | None
    repair_first: bool


@dataclass(frozen=True, slots=True)
class Valued:
    """Hold an action ("check" or "repair", place) and the cost of starting with it."""

    action: tuple[str, int]
    value: float


@dataclass(frozen=True, slots=True)
class Decision:
    """Hold the action chosen, its value, and the value of every action looked at."""

    action: tuple[str, int] | None
    value: float
    price: Price
    values: tuple[Valued, ...]


def start_search(board: Board, done: Sequence[bool], *, repair_first: bool = True) -> Search:
    """Begin a look ahead; states are remembered only if they can be numbered."""
    numbered = bool(board.cause_codes)
    return Search(board, list(done), {} if numbered else None, repair_first)


def is_gated(board: Board, done: Sequence[bool]) -> bool:
    """Say whether the rule still keeps dear repairs back."""
    return board.gate >= 0 and not done[board.gate]


def decide(search: Search, weights: Sequence[float], depth: int) -> Decision:
    """Choose by V_depth, and give the value of every action admissible here.

    Equal values go to the p/c order first, then to checks by id, then to repairs by id.
    """
    board = search.board
    price = price_repairs(board, weights, gated=is_gated(board, search.done))
    best, action = price.value, price.first
    if price.first is None:
        return Decision(None, best, price, ())
    values = []
    if depth > 0:
        for check in board.checks_by_id:
            if not search.done[check]:
                value = _check_value(search, weights, check, (depth, 0, price.total, _INFINITE))
                values.append(Valued(("check", check), value))
    if depth > 1 and search.repair_first:
        for cause in _open_repairs(search, price):
            value = _repair_value(search, weights, cause, (depth, 0, price.total))
            values.append(Valued(("repair", cause), value))
    elif price.first[0] == "repair":
        values.append(Valued(price.first, price.value))
    for valued in values:
        if valued.value < best - _TIE * best:
            best, action = valued.value, valued.action
    return Decision(action, best, price, tuple(values))


def look_ahead(search: Search, weights: Sequence[float], depth: int, code: int = 0) -> float:
    """Give V_depth of weights that need not add up to 1."""
    if search.memo is not None and code in search.memo:
        return search.memo[code]
    board = search.board
    price = price_repairs(board, weights, gated=is_gated(board, search.done))
    best = price.value
    if depth > 0 and price.first is not None:
        for check in board.checks_by_id:
            # Whatever a check shows, the causes present must still be repaired.
            bound = board.check_costs[check] * price.total + price.least
            if not search.done[check] and bound < best:
                around = (depth, code, price.total, best)
                best = min(best, _check_value(search, weights, check, around))
        if depth > 1 and search.repair_first:
            for cause in _open_repairs(search, price):
                wasted = board.costs[cause] * (price.total - price.shares[cause])
                if price.least + wasted < best:
                    around_repair = (depth, code, price.total)
                    best = min(best, _repair_value(search, weights, cause, around_repair))
    if search.memo is not None:
        search.memo[code] = best
    return best


def _open_repairs(search: Search, price: Price) -> list[int]:
    board = search.board
    gated = is_gated(board, search.done)
    return [
        cause
        for cause in board.causes_by_id
        if price.shares[cause] > 0 and not (gated and board.costs[cause] > board.dearer_than)
    ]


def _check_value(
    search: Search,
    weights: Sequence[float],
    check: int,
    around: tuple[int, int, float, float],
) -> float:
    """Price a check and what follows; stop early once it is no better than `enough`."""
    depth, code, total, enough = around
    board = search.board
    value = board.check_costs[check] * total
    search.done[check] = True
    for outcome in range(len(board.columns[check])):
        if value >= enough:
            break
        reached = 0
        if search.memo is not None:
            reached = code + board.check_codes[check] * (outcome + 1)
        after = after_outcome(board, weights, check, outcome)
        value += look_ahead(search, after, depth - 1, reached)
    search.done[check] = False
    return value


def _repair_value(
    search: Search, weights: Sequence[float], cause: int, around: tuple[int, int, float]
) -> float:
    depth, code, total = around
    board = search.board
    reached = code + board.cause_codes[cause] if search.memo is not None else 0
    after = after_repair(board, weights, cause)
    return board.costs[cause] * total + look_ahead(search, after, depth - 1, reached)


def deepest_depth(search: Search, weights: Sequence[float], work_limit: int) -> tuple[int, bool]:
    """Give the deepest look-ahead whose work fits, at least 1, and whether it is the optimum.

    Work is states times their cost, worlds plus a fixed share: with numbered states each
    is visited once, otherwise once for every way to reach it. Pruning only makes the real
    work smaller.
    """
    board = search.board
    levels = [len(board.columns[j]) for j, done in enumerate(search.done) if not done]
    price = price_repairs(board, weights, gated=False)
    repairs = sum(1 for share in price.shares if share > 0)
    state_cost = STATE_COST + sum(1 for weight in weights if weight > 0)
    whole = max(1, len(levels) + repairs)
    count = _count_numbered if search.memo is not None else _count_paths
    depth = 1
    while depth < whole and count(levels, repairs, depth + 1) * state_cost <= work_limit:
        depth += 1
    return depth, depth >= whole


def count_states(search: Search, weights: Sequence[float]) -> int:
    """Count the states, or paths where states have no number, that the optimum visits."""
    levels = [len(columns) for columns in search.board.columns]
    price = price_repairs(search.board, weights, gated=False)
    repairs = sum(1 for share in price.shares if share > 0)
    count = _count_numbered if search.memo is not None else _count_paths
    return count(levels, repairs, len(levels) + repairs)


def _count_numbered(levels: Sequence[int], repairs: int, depth: int) -> int:
    """Count states at most `depth` steps away: checks with outcomes times sets of repairs."""
    by_checks = [1] + [0] * depth
    for outcomes in levels:
        for made in range(depth, 0, -1):
            more = by_checks[made] + by_checks[made - 1] * outcomes
            by_checks[made] = min(COUNT_LIMIT, more)
    by_repairs = [1] + [0] * depth
    for _ in range(repairs):
        for made in range(depth, 0, -1):
            by_repairs[made] = min(COUNT_LIMIT, by_repairs[made] + by_repairs[made - 1])
    total = 0
    for checks in range(depth + 1):
        for tried in range(depth + 1 - checks):
            ways = min(COUNT_LIMIT, by_checks[checks] * by_repairs[tried])
            total = min(COUNT_LIMIT, total + ways)
    return total


def _count_paths(levels: Sequence[int], repairs: int, depth: int) -> int:
    outcomes = sum(levels)
    total = 1 + outcomes
    for _ in range(depth - 1):
        total = min(COUNT_LIMIT, 1 + (outcomes + repairs) * total)
    return total
