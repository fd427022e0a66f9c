"""Room 3, reasoning: the next check or repair, and what a way of choosing costs.

Plans by expected cost until cured: looks as many steps ahead as the work limit allows and
plans again after every result. When everything fits, the choice is optimal. It knows neither
the knowledge files nor the state of the supply; the supply-first rule arrives as a Gate.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from build_tools.engine.lookahead import (
    count_states,
    decide,
    deepest_depth,
    look_ahead,
    start_search,
)
from build_tools.engine.lookahead_board import (
    after_outcome,
    after_repair,
    lay_out,
    price_repairs,
)
from build_tools.engine.planner_situation import ALL_CAUSES, Gate, PlanCheck, Situation

if TYPE_CHECKING:
    from collections.abc import Sequence

    from build_tools.engine.lookahead import Decision
    from build_tools.engine.lookahead_board import Board

__all__ = [
    "ALL_CAUSES",
    "WORK_LIMIT",
    "Action",
    "ActionValue",
    "Gate",
    "Plan",
    "PlanCheck",
    "Situation",
    "choose",
    "optimal_value",
    "policy_value",
    "repairs_only_value",
]

WORK_LIMIT = 300_000
"""Work one decision may take, as counted by `deepest_depth`; our choice, for a phone."""

STATE_LIMIT = 300_000
"""States the optimum may visit before it is called too large."""


@dataclass(frozen=True)
class Action:
    """Name one step: `kind` is "check" or "repair", `id` the check or the cause."""

    kind: str
    id: str


@dataclass(frozen=True)
class ActionValue:
    """Hold the expected cost until cured when starting with this action."""

    kind: str
    id: str
    value: float


@dataclass(frozen=True)
class Plan:
    """Hold the step chosen and what it is expected to cost until cured.

    `action` is None when no repair is left to try. `values` covers every admissible check,
    by id, then the repairs looked at. `horizon` is the number of steps looked ahead;
    `exact` says that this was deep enough to be the optimum.
    """

    action: Action | None
    value: float
    ecr_repairs_only: float
    values: tuple[ActionValue, ...]
    horizon: int
    exact: bool


@dataclass(frozen=True)
class _Depth:
    """Say how deep to look: a fixed number of steps, or as far as the limit allows."""

    fixed: int | None
    work_limit: int
    repair_first: bool


def choose(situation: Situation, *, work_limit: int = WORK_LIMIT) -> Plan:
    """Choose the next check or repair.

    Ties go to the p/c order of repairs, then to checks by id, then to repairs by id.
    """
    board = lay_out(situation)
    done = [False] * len(situation.checks)
    rule = _Depth(None, work_limit, repair_first=True)
    decision, horizon, exact = _decide(board, done, situation.weights, rule)
    total = decision.price.total
    return Plan(
        action=None if decision.action is None else Action(*_named(situation, decision.action)),
        value=decision.value / total,
        ecr_repairs_only=decision.price.value / total,
        values=tuple(
            ActionValue(*_named(situation, valued.action), valued.value / total)
            for valued in decision.values
        ),
        horizon=horizon,
        exact=exact,
    )


def _named(situation: Situation, action: tuple[str, int]) -> tuple[str, str]:
    kind, place = action
    return kind, situation.checks[place].id if kind == "check" else situation.cause_ids[place]


def _decide(
    board: Board, done: Sequence[bool], weights: Sequence[float], rule: _Depth
) -> tuple[Decision, int, bool]:
    search = start_search(board, done, repair_first=rule.repair_first)
    depth, exact = deepest_depth(search, weights, rule.work_limit)
    if rule.fixed is not None:
        depth, exact = rule.fixed, False
    return decide(search, weights, depth), depth, exact


def repairs_only_value(situation: Situation) -> float:
    """Give the expected cost of repairing in p/c order with no check but the rule's."""
    board = lay_out(situation)
    price = price_repairs(board, situation.weights, gated=situation.rule is not None)
    return price.value / price.total


def policy_value(
    situation: Situation,
    *,
    work_limit: int = WORK_LIMIT,
    horizon: int | None = None,
    repair_first: bool = True,
) -> float:
    """Give the exact expected cost of playing `choose` until cured.

    With `horizon`, the same for a look-ahead of exactly that many steps. `repair_first`
    false leaves "try a repair, then see" out of the look-ahead.
    """
    board = lay_out(situation)
    play = _Play(board, _Depth(horizon, work_limit, repair_first), [False] * len(board.columns))
    total = 0.0
    for weight in situation.weights:
        total += weight
    return play.cost(situation.weights, 0) / total


class _Play:
    """Follow a policy through every outcome; states met twice are priced once."""

    def __init__(self, board: Board, rule: _Depth, done: list[bool]) -> None:
        self._board = board
        self._rule = rule
        self._done = done
        self._seen: dict[int, float] | None = {} if board.cause_codes else None

    def cost(self, weights: Sequence[float], code: int) -> float:
        """Give the expected cost from here, times the weight of the worlds still open."""
        if not any(weight > 0 for weight in weights):
            return 0.0
        if self._seen is not None and code in self._seen:
            return self._seen[code]
        decision, _, _ = _decide(self._board, self._done, weights, self._rule)
        if decision.action is None:
            cost = decision.value
        elif decision.action[0] == "check":
            cost = self._after_check(weights, code, decision.action[1], decision.price.total)
        else:
            cause = decision.action[1]
            reached = code + self._board.cause_codes[cause] if self._seen is not None else 0
            cost = self._board.costs[cause] * decision.price.total
            cost += self.cost(after_repair(self._board, weights, cause), reached)
        if self._seen is not None:
            self._seen[code] = cost
        return cost

    def _after_check(self, weights: Sequence[float], code: int, check: int, total: float) -> float:
        cost = self._board.check_costs[check] * total
        self._done[check] = True
        for outcome in range(len(self._board.columns[check])):
            reached = 0
            if self._seen is not None:
                reached = code + self._board.check_codes[check] * (outcome + 1)
            cost += self.cost(after_outcome(self._board, weights, check, outcome), reached)
        self._done[check] = False
        return cost


def optimal_value(situation: Situation, *, state_limit: int = STATE_LIMIT) -> float | None:
    """Give the least expected cost any order of checks and repairs can reach.

    None when more than `state_limit` states would have to be visited.
    """
    board = lay_out(situation)
    search = start_search(board, [False] * len(situation.checks))
    if count_states(search, situation.weights) > state_limit:
        return None
    depth = len(situation.checks) + len(situation.cause_ids)
    total = 0.0
    for weight in situation.weights:
        total += weight
    return look_ahead(search, situation.weights, depth) / total
