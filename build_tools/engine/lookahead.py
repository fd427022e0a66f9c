"""The value of acting well for a few steps.

V_0 is the expected cost of repair in p/c order; V_h is the least of that, of each check
followed by V_(h-1), and for h >= 2 of each repair followed by V_(h-1). Deep enough, this is
the optimum.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from build_tools.engine.situation import after_outcome, after_repair

if TYPE_CHECKING:
    from collections.abc import Sequence

    from build_tools.engine.situation import PlanTables

COUNT_LIMIT = 2**40
"""State counts stop growing here, so that the browser's numbers stay exact."""

STATE_COST = 40
"""What a state costs beside its worlds, in worlds; from timings in Chromium."""

_INFINITE = float("inf")
# Values closer than this share count as equal; then the earlier action in the fixed order wins.
_TIE = 1e-12


@dataclass(frozen=True, slots=True)
class RepairCost:
    """The expected cost of repair without further checks, for weights of any sum.

    `first` is the first action of that order: ("repair" or "check", place), or None when
    no repair is left. `shares` are the weights of the worlds with each cause, `total` the
    weight of all worlds, `least` a lower bound of what any plan costs.
    """

    value: float
    first: tuple[str, int] | None
    shares: list[float]
    total: float
    least: float


def expected_repair_cost(
    tables: PlanTables, weights: Sequence[float], *, gated: bool
) -> RepairCost:
    """Price the repairs in p/c order, with a look after each and no further check.

    p is the weight of the worlds with the cause, c the cost of its repair (Kadane and
    Simon 1977, as described in arXiv 1203.3502). While `gated`, repairs no dearer than
    the rule come first, then the check of the rule, then the others. Ties go by id.
    """
    shares, total, least = _shares(tables, weights)
    order = _p_over_c(tables, shares, gated=gated)
    # The last place stands for a world that no repair explains.
    through = [0.0] * (len(tables.costs) + 1)
    running = 0.0
    first: tuple[str, int] | None = None
    for cause in order:
        if gated and tables.costs[cause] > tables.dearer_than:
            gated = False
            running += tables.check_costs[tables.gate]
            first = first or ("check", tables.gate)
        running += tables.costs[cause]
        through[cause] = running
        first = first or ("repair", cause)
    through[-1] = running + tables.unresolved
    return RepairCost(_paid(tables, weights, through), first, shares, total, least)


def _paid(tables: PlanTables, weights: Sequence[float], through: Sequence[float]) -> float:
    """Weigh what each world costs once the last of its causes has been reached."""
    value = 0.0
    if tables.pairs:
        for weight, (one, other) in zip(weights, tables.pairs, strict=True):
            paid, later = through[one], through[other]
            value += weight * (later if later > paid else paid)  # noqa: FURB136 - no call here
        return value
    for weight, places in zip(weights, tables.bits, strict=True):
        if weight > 0:
            value += weight * max((through[place] for place in places), default=through[-1])
    return value


def _shares(tables: PlanTables, weights: Sequence[float]) -> tuple[list[float], float, float]:
    shares = [0.0] * (len(tables.costs) + 1)
    total = 0.0
    least = 0.0
    if tables.pairs:
        for weight, bound, (one, other) in zip(weights, tables.least, tables.pairs, strict=True):
            total += weight
            least += weight * bound
            shares[one] += weight
            if other != one:
                shares[other] += weight
    else:
        for weight, bound, places in zip(weights, tables.least, tables.bits, strict=True):
            total += weight
            least += weight * bound
            for place in places:
                shares[place] += weight
    shares.pop()
    return shares, total, least


def _p_over_c(tables: PlanTables, shares: Sequence[float], *, gated: bool) -> list[int]:
    """Sort by insertion, so that both languages compare the same pairs of numbers.

    While gated, repairs dearer than the rule allows come after all others.
    """
    costs = tables.costs
    order: list[int] = []
    for cause in tables.causes_by_id:
        share, cost = shares[cause], costs[cause]
        if share <= 0:
            continue
        waits = gated and cost > tables.dearer_than
        place = len(order)
        while place:
            other = order[place - 1]
            if gated and waits != (costs[other] > tables.dearer_than):
                goes_before = not waits
            else:
                goes_before = share * costs[other] > shares[other] * cost
            if not goes_before:
                break
            place -= 1
        order.insert(place, cause)
    return order


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
        self._values: dict[int, float] | None = {} if tables.cause_codes else None
        self._repair_first = repair_first

    def decide(self, weights: Sequence[float], depth: int) -> Decision:
        """Choose by V_depth, and give the value of every action admissible here.

        Equal values go to the p/c order first, then to checks by id, then to repairs by id.
        """
        repairs = expected_repair_cost(self.tables, weights, gated=self._is_gated())
        best, action = repairs.value, repairs.first
        values: dict[tuple[str, int], float] = {}
        if repairs.first is None:
            return Decision(None, best, repairs, values)
        state = _State(weights, repairs.total, depth, 0)
        if depth > 0:
            for check in self.tables.checks_by_id:
                if not self._done[check]:
                    values["check", check] = self._check_value(state, check, _INFINITE)
        if depth > 1 and self._repair_first:
            for cause in self._open_repairs(repairs):
                values["repair", cause] = self._repair_value(state, cause)
        elif repairs.first[0] == "repair":
            values[repairs.first] = repairs.value
        for one, value in values.items():
            if value < best - _TIE * best:
                best, action = value, one
        return Decision(action, best, repairs, values)

    def value(self, weights: Sequence[float], depth: int, code: int = 0) -> float:
        """Give V_depth of weights that need not add up to 1."""
        if self._values is not None and code in self._values:
            return self._values[code]
        tables = self.tables
        repairs = expected_repair_cost(tables, weights, gated=self._is_gated())
        best = repairs.value
        if depth > 0 and repairs.first is not None:
            state = _State(weights, repairs.total, depth, code)
            for check in tables.checks_by_id:
                # Whatever a check shows, the causes present must still be repaired.
                bound = tables.check_costs[check] * repairs.total + repairs.least
                if not self._done[check] and bound < best:
                    best = min(best, self._check_value(state, check, best))
            if depth > 1 and self._repair_first:
                for cause in self._open_repairs(repairs):
                    wasted = tables.costs[cause] * (repairs.total - repairs.shares[cause])
                    if repairs.least + wasted < best:
                        best = min(best, self._repair_value(state, cause))
        if self._values is not None:
            self._values[code] = best
        return best

    def _is_gated(self) -> bool:
        """Say whether the rule still keeps dear repairs back."""
        return self.tables.gate >= 0 and not self._done[self.tables.gate]

    def _open_repairs(self, repairs: RepairCost) -> list[int]:
        tables, gated = self.tables, self._is_gated()
        return [
            cause
            for cause in tables.causes_by_id
            if repairs.shares[cause] > 0
            and not (gated and tables.costs[cause] > tables.dearer_than)
        ]

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
            value += self.value(after, state.depth - 1, reached)
        self._done[check] = False
        return value

    def _repair_value(self, state: _State, cause: int) -> float:
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
        return sum(1 for share in _shares(self.tables, weights)[0] if share > 0)

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
