"""The next check or repair, the value of acting well for a few steps, and what a choice costs.

Plans by expected cost of repair: looks as many steps ahead as the work limit allows and
plans again after every result. When everything fits, the choice is optimal. V_0 is the expected
cost of repair without further checks; V_h is the least of that, of each check followed by V_(h-1),
and for h >= 2 of each repair followed by V_(h-1). Deep enough, this is the optimum. Where a
workshop has its price, V_0 is that of a fixed order of looks and repairs, then the workshop, and
one step ahead repairs are looked at too. What may be bought is judged anew in every state, and
arrives as `Buying`: it knows neither the knowledge files nor the state of the supply.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from build_tools.engine.fixed_order import (
    RepairCost,
    expected_repair_cost,
    left_of,
    order_then_workshop,
    workshop_price,
)
from build_tools.engine.situation import (
    PlanTables,
    Situation,
    after_outcome,
    after_repair,
    plan_tables,
)

COUNT_LIMIT = 2**40
"""State counts stop growing here, so that the browser's numbers stay exact."""

STATE_COST = 40
"""What a state costs beside its worlds, in worlds; from timings in Chromium."""

_INFINITE = float("inf")
# Values closer than this share count as equal; then the earlier action in the fixed order wins.
_TIE = 1e-12


@dataclass(frozen=True, slots=True)
class Decision:
    """The action chosen, its value, and the value of every action looked at, in their order."""

    action: tuple[str, int] | None
    value: float
    repairs: RepairCost
    values: dict[tuple[str, int], float]


@dataclass(frozen=True, slots=True)
class _State:
    """One state met: its weights and their sum, the steps left, and its number."""

    weights: Sequence[float]
    total: float
    depth: int
    code: int


class Search:
    """One look ahead: what is done already, and the values of the states met.

    States are remembered only if they can be numbered. `repair_first` false leaves "try a
    repair, then see" out.
    """

    def __init__(
        self, tables: PlanTables, done: Sequence[bool], *, repair_first: bool = True
    ) -> None:
        self.tables = tables
        self._done = list(done)
        confirmed = tables.buying.confirmed if tables.buying else (False,) * len(tables.costs)
        self._confirmed = [int(one) for one in confirmed]
        self._values: dict[int, float] | None = {} if tables.cause_codes else None
        self._repair_first = repair_first

    def decide(self, weights: Sequence[float], depth: int) -> Decision:
        """Choose by V_depth, and give the value of every action admissible here.

        Equal values go to the p/c order first, then to checks by id, then to repairs by id.
        """
        repairs = self._repairs(weights)
        best, action = repairs.value, repairs.first
        values: dict[tuple[str, int], float] = {}
        if repairs.first is None:
            return Decision(None, best, repairs, values)
        state = _State(weights, repairs.left.total, depth, 0)
        if depth > 0:
            for check in self.tables.checks_by_id:
                if not self._done[check]:
                    values["check", check] = self._check_value(state, check, _INFINITE)
        values |= self._repair_values(state, repairs)
        if self.tables.workshop:
            values["workshop", 0] = workshop_price(self.tables, weights)
        for one, value in values.items():
            if value < best - _TIE * best:
                best, action = value, one
        return Decision(action, best, repairs, values)

    def _repair_values(self, state: _State, repairs: RepairCost) -> dict[tuple[str, int], float]:
        """Price each repair that may be made first; without a workshop, from two steps ahead."""
        if (state.depth > 0 and self.tables.workshop) or (state.depth > 1 and self._repair_first):
            return {("repair", cause): self._repair_value(state, cause) for cause in repairs.open}
        leads = repairs.first
        return {leads: repairs.value} if leads is not None and leads[0] == "repair" else {}

    def value(self, weights: Sequence[float], depth: int, code: int = 0) -> float:
        """Give V_depth of weights that need not add up to 1."""
        if self._values is not None and code in self._values:
            return self._values[code]
        tables = self.tables
        repairs = self._repairs(weights)
        best = repairs.value
        if depth > 0 and repairs.first is not None:
            left = repairs.left
            state = _State(weights, left.total, depth, code)
            for check in tables.checks_by_id:
                # Whatever a check shows, the causes present must still be repaired.
                bound = tables.check_costs[check] * left.total + left.least
                if not self._done[check] and bound < best:
                    best = min(best, self._check_value(state, check, best))
            if depth > 1 and self._repair_first:
                for cause in repairs.open:
                    helped = 0.0
                    for other in tables.alike[cause]:
                        helped += left.shares[other]
                    wasted = tables.costs[cause] * max(0.0, left.total - helped)
                    if left.least + wasted < best:
                        best = min(best, self._repair_value(state, cause))
        if self._values is not None:
            self._values[code] = best
        return best

    def _is_gated(self) -> bool:
        """Say whether the rule still keeps dear repairs back."""
        return self.tables.gate >= 0 and not self._done[self.tables.gate]

    def without_looks(self, weights: Sequence[float]) -> float:
        """Price going on with no check at all."""
        if self.tables.workshop:
            return order_then_workshop(self.tables, weights, self._confirmed, None).value
        return self._repairs(weights).value

    def _repairs(self, weights: Sequence[float]) -> RepairCost:
        """Price a fixed order: V_0."""
        if self.tables.workshop:
            return order_then_workshop(self.tables, weights, self._confirmed, self._done)
        return expected_repair_cost(self.tables, weights, gated=self._is_gated())

    def _check_value(self, state: _State, check: int, enough: float) -> float:
        """Price a check and what follows; stop early once it is no better than `enough`."""
        tables = self.tables
        value = tables.check_costs[check] * state.total
        self._done[check] = True
        for outcome in range(len(tables.columns[check])):
            if value >= enough:
                break
            reached = 0
            if self._values is not None:
                reached = state.code + tables.check_codes[check] * (outcome + 1)
            after = after_outcome(tables, state.weights, check, outcome)
            for cause in tables.confirms[check][outcome]:
                self._confirmed[cause] += 1
            value += self.value(after, state.depth - 1, reached)
            for cause in tables.confirms[check][outcome]:
                self._confirmed[cause] -= 1
        self._done[check] = False
        return value

    def _repair_value(self, state: _State, cause: int) -> float:
        """Price a repair and what follows."""
        reached = 0
        if self._values is not None:
            reached = state.code + self.tables.cause_codes[cause]
        after = after_repair(self.tables, state.weights, cause)
        following = self.value(after, state.depth - 1, reached)
        return self.tables.costs[cause] * state.total + following

    def deepest_depth(self, weights: Sequence[float], work_limit: int) -> tuple[int, bool]:
        """Give the deepest look-ahead whose work fits, at least 1, and whether it is the optimum.

        Work is states times their cost, worlds plus a fixed share: with numbered states each
        is visited once, otherwise once for every way to reach it. Pruning only makes the real
        work smaller.
        """
        whole = max(1, self._most_steps(weights))
        state_cost = STATE_COST + sum(1 for weight in weights if weight > 0)
        depth = 1
        while depth < whole and self._count(weights, depth + 1) * state_cost <= work_limit:
            depth += 1
        return depth, depth >= whole

    def count_states(self, weights: Sequence[float]) -> int:
        """Count the states, or paths where states have no number, that the optimum visits."""
        return self._count(weights, self._most_steps(weights))

    def _most_steps(self, weights: Sequence[float]) -> int:
        return self._done.count(False) + self._repairs_left(weights)

    def _repairs_left(self, weights: Sequence[float]) -> int:
        return sum(1 for share in left_of(self.tables, weights).shares if share > 0)

    def _count(self, weights: Sequence[float], depth: int) -> int:
        columns = self.tables.columns
        levels = [len(columns[place]) for place, done in enumerate(self._done) if not done]
        repairs = self._repairs_left(weights)
        if self._values is None:
            return _count_paths(levels, repairs, depth)
        return _count_numbered(levels, repairs, depth)


def _count_numbered(levels: Sequence[int], repairs: int, depth: int) -> int:
    """Count states at most `depth` steps away: checks with outcomes times sets of repairs."""
    by_checks = _count_chosen(levels, depth)
    by_repairs = _count_chosen([1] * repairs, depth)
    total = 0
    for checks in range(depth + 1):
        for tried in range(depth + 1 - checks):
            ways = min(COUNT_LIMIT, by_checks[checks] * by_repairs[tried])
            total = min(COUNT_LIMIT, total + ways)
    return total


def _count_chosen(outcomes: Sequence[int], depth: int) -> list[int]:
    """Count the ways to choose some of the things, each in as many ways as it has outcomes."""
    ways = [1] + [0] * depth
    for own in outcomes:
        for made in range(depth, 0, -1):
            ways[made] = min(COUNT_LIMIT, ways[made] + ways[made - 1] * own)
    return ways


def _count_paths(levels: Sequence[int], repairs: int, depth: int) -> int:
    outcomes = sum(levels)
    total = 1 + outcomes
    for _ in range(depth - 1):
        total = min(COUNT_LIMIT, 1 + (outcomes + repairs) * total)
    return total


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
