"""The next check or repair, and what a way of choosing costs.

Plans by expected cost of repair: looks as many steps ahead as the work limit allows and
plans again after every result. When everything fits, the choice is optimal. It knows neither
the knowledge files nor the state of the supply; what may be bought when arrives as `Buying`.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from build_tools.engine.fixed_order import expected_repair_cost
from build_tools.engine.lookahead import Decision, Search
from build_tools.engine.situation import (
    PlanTables,
    Situation,
    after_outcome,
    after_repair,
    plan_tables,
)

WORK_LIMIT = 300_000
"""Work one decision may take, as counted by `deepest_depth`; our choice, for a phone."""

STATE_LIMIT = 300_000
"""States the optimum may visit before it is called too large."""


@dataclass(frozen=True)
class Action:
    """One step: `kind` is "check", "repair" or "workshop", `id` the check, the cause or ""."""

    kind: str
    id: str


@dataclass(frozen=True)
class ActionValue:
    """The expected cost until cured when starting with this action."""

    kind: str
    id: str
    value: float


@dataclass(frozen=True)
class Plan:
    """The step chosen and what it is expected to cost until cured.

    `action` is None when no repair is left to try. `values` covers every admissible check,
    by id, then the repairs looked at, then the workshop. `open` are the causes whose repair
    may be made now. `horizon` is the number of steps looked ahead;
    `exact` says that this was deep enough to be the optimum.
    """

    action: Action | None
    value: float
    ecr_repairs_only: float
    values: tuple[ActionValue, ...]
    open: tuple[str, ...]
    horizon: int
    exact: bool


def choose(situation: Situation, *, work_limit: int = WORK_LIMIT) -> Plan:
    """Choose the next check or repair.

    Ties go to the p/c order of repairs, then to checks by id, then to repairs by id.
    """
    search = Search(plan_tables(situation), [False] * len(situation.checks))
    depth, exact = search.deepest_depth(situation.weights, work_limit)
    decision = search.decide(situation.weights, depth)
    total = decision.repairs.left.total
    return Plan(
        action=None if decision.action is None else Action(*_named(situation, decision.action)),
        value=decision.value / total,
        ecr_repairs_only=search.without_looks(situation.weights) / total,
        values=tuple(
            ActionValue(*_named(situation, action), value / total)
            for action, value in decision.values.items()
        ),
        open=tuple(situation.cause_ids[place] for place in decision.repairs.open),
        horizon=depth,
        exact=exact,
    )


def _named(situation: Situation, action: tuple[str, int]) -> tuple[str, str]:
    kind, place = action
    if kind == "workshop":
        return kind, ""
    return kind, situation.checks[place].id if kind == "check" else situation.cause_ids[place]


def repairs_only_value(situation: Situation) -> float:
    """Give the expected cost of repairing in p/c order with no check but the rule's."""
    gated = situation.rule is not None
    cost = expected_repair_cost(plan_tables(situation), situation.weights, gated=gated)
    return cost.value / cost.left.total


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
    tables = plan_tables(situation)
    done = [False] * len(tables.columns)

    def decide(weights: Sequence[float]) -> Decision:
        search = Search(tables, done, repair_first=repair_first)
        depth = search.deepest_depth(weights, work_limit)[0] if horizon is None else horizon
        return search.decide(weights, depth)

    return _PolicyCost(tables, decide, done).cost(situation.weights, 0) / sum(situation.weights)


class _PolicyCost:
    """Follows a policy through every outcome; states met twice are priced once."""

    def __init__(
        self,
        tables: PlanTables,
        decide: Callable[[Sequence[float]], Decision],
        done: list[bool],
    ) -> None:
        self._tables = tables
        self._decide = decide
        self._done = done
        self._seen: dict[int, float] | None = {} if tables.cause_codes else None

    def cost(self, weights: Sequence[float], code: int) -> float:
        """Give the expected cost from here, times the weight of the worlds still open."""
        if not any(weight > 0 for weight in weights):
            return 0.0
        if self._seen is not None and code in self._seen:
            return self._seen[code]
        decision = self._decide(weights)
        total = decision.repairs.left.total
        if decision.action is None or decision.action[0] == "workshop":
            cost = decision.value
        elif decision.action[0] == "check":
            cost = self._after_check(weights, code, decision.action[1], total)
        else:
            cause = decision.action[1]
            reached = code + self._tables.cause_codes[cause] if self._seen is not None else 0
            cost = self._tables.costs[cause] * total
            cost += self.cost(after_repair(self._tables, weights, cause), reached)
        if self._seen is not None:
            self._seen[code] = cost
        return cost

    def _after_check(self, weights: Sequence[float], code: int, check: int, total: float) -> float:
        tables = self._tables
        cost = tables.check_costs[check] * total
        self._done[check] = True
        for outcome in range(len(tables.columns[check])):
            reached = 0
            if self._seen is not None:
                reached = code + tables.check_codes[check] * (outcome + 1)
            cost += self.cost(after_outcome(tables, weights, check, outcome), reached)
        self._done[check] = False
        return cost


def optimal_value(situation: Situation, *, state_limit: int = STATE_LIMIT) -> float | None:
    """Give the least expected cost any order of checks and repairs can reach.

    None when more than `state_limit` states would have to be visited.
    """
    search = Search(plan_tables(situation), [False] * len(situation.checks))
    if search.count_states(situation.weights) > state_limit:
        return None
    depth = len(situation.checks) + len(situation.cause_ids)
    return search.value(situation.weights, depth) / sum(situation.weights)
