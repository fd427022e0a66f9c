"""The value of acting well for a few steps.

V_0 is the expected cost of repair without further checks; V_h is the least of that, of each
check followed by V_(h-1), and for h >= 2 of each repair followed by V_(h-1). Deep enough, this
is the optimum. Where a workshop has its price, V_0 is that of the repairs that pay, then the
workshop; what may be bought is judged anew in every state.
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
# A repair must save more than this, so that rounding never decides for one.
_PAYS = 1e-9


@dataclass(frozen=True, slots=True)
class RepairCost:
    """The expected cost of repair without further checks, for weights of any sum.

    `first` is the first action of that order: ("repair", "check" or "workshop", place), or
    None when no repair is left. `shares` are the weights of the worlds with each cause,
    `total` the weight of all worlds, `least` a lower bound of what any plan costs. `open` are
    the repairs that may be made, by id.
    """

    value: float
    first: tuple[str, int] | None
    shares: list[float]
    total: float
    least: float
    open: list[int]


@dataclass(frozen=True, slots=True)
class _Odds:
    """Weights of the worlds with each cause, and of all worlds."""

    shares: Sequence[float]
    total: float


def may_repair(
    tables: PlanTables, weights: Sequence[float], odds: _Odds, confirmed: Sequence[int]
) -> list[int]:
    """List, by id, the causes whose repair may be made in a state; see `Buying`.

    `confirmed` counts, by cause, the results that confirm it.
    What buys nothing may be tried as soon as its cause is possible. A part is not bought on a
    guess: its cause is confirmed, or likely enough, or buying it in vain is expected to cost
    no more than finding out what it saves.
    """
    buying, shares, total = tables.buying, odds.shares, odds.total
    if buying is None:
        return [cause for cause in tables.causes_by_id if shares[cause] > 0]
    on_supply = 0.0
    for weight, share in zip(weights, buying.supply_share, strict=True):
        on_supply += weight * share
    excluded = on_supply < buying.excluded * total
    found = []
    for cause in tables.causes_by_id:
        share = shares[cause]
        if share <= 0 or not buying.possible[cause]:
            continue
        if buying.bought[cause] and not confirmed[cause]:
            in_vain = (total - share) * tables.costs[cause]
            if share < buying.sure * total and in_vain > share * buying.finding_out[cause]:
                continue
        proven = confirmed[cause] > 0 or not buying.confirmable[cause]
        if buying.waits[cause] and not (proven if buying.on_supply[cause] else excluded):
            continue
        found.append(cause)
    return found


def repairs_then_workshop(
    tables: PlanTables, weights: Sequence[float], confirmed: Sequence[int]
) -> RepairCost:
    """Price the repairs that may be made, as long as the next pays, and then the workshop.

    First comes what lowers the workshop's price most for its cost; ties go by id.
    """
    shares, total, least = _shares(tables, weights)
    value = _workshop_price(tables, weights)
    first = ("workshop", 0)
    may = may_repair(tables, weights, _Odds(shares, total), confirmed)
    left, left_total, following = list(weights), total, may
    while (found := _pays_most(tables, left, left_total, following)) is not None:
        cause, gain = found
        value += tables.costs[cause] * left_total - gain
        if first[0] == "workshop":
            first = ("repair", cause)
        for world, target, _ in tables.changed[cause]:
            if target >= 0:
                left[target] += left[world]
            left[world] = 0.0
        left_shares, left_total, _ = _shares(tables, left)
        following = may_repair(tables, left, _Odds(left_shares, left_total), confirmed)
    return RepairCost(value, first, shares, total, least, may)


def _workshop_price(tables: PlanTables, weights: Sequence[float]) -> float:
    price = 0.0
    for weight, asked in zip(weights, tables.workshop, strict=True):
        price += weight * asked
    return price


def _pays_most(
    tables: PlanTables, weights: Sequence[float], total: float, among: Sequence[int]
) -> tuple[int, float] | None:
    """Return the repair that saves most for its cost and what it saves, or None if none pays."""
    best: tuple[int, float] | None = None
    for cause in among:
        gain = 0.0
        for world, _, less in tables.changed[cause]:
            gain += weights[world] * less
        if gain - tables.costs[cause] * total <= _PAYS * total:
            continue
        if best is None or gain * tables.costs[best[0]] > best[1] * tables.costs[cause]:
            best = (cause, gain)
    return best


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
    waiting = gated
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
    may = [
        cause
        for cause in tables.causes_by_id
        if shares[cause] > 0 and not (waiting and tables.costs[cause] > tables.dearer_than)
    ]
    return RepairCost(_paid(tables, weights, through), first, shares, total, least, may)


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
        state = _State(weights, repairs.total, depth, 0)
        if depth > 0:
            for check in self.tables.checks_by_id:
                if not self._done[check]:
                    values["check", check] = self._check_value(state, check, _INFINITE)
        values |= self._repair_values(state, repairs)
        if self.tables.workshop:
            values["workshop", 0] = _workshop_price(self.tables, weights)
        for one, value in values.items():
            if value < best - _TIE * best:
                best, action = value, one
        return Decision(action, best, repairs, values)

    def _repair_values(self, state: _State, repairs: RepairCost) -> dict[tuple[str, int], float]:
        """Price each repair that may be made first; one step ahead, only the one that leads."""
        if state.depth > 1 and self._repair_first:
            return {
                ("repair", cause): self._repair_value(
                    state, cause, again=self._takes_no_step(cause, repairs)
                )
                for cause in repairs.open
            }
        leads = repairs.first
        return {leads: repairs.value} if leads is not None and leads[0] == "repair" else {}

    def _takes_no_step(self, cause: int, repairs: RepairCost) -> bool:
        """Say whether a repair leaves as many steps to look ahead as there were.

        The one that leads, if it is confirmed, or buys nothing and costs less in vain than a
        check that would confirm it: otherwise a check would go before it merely because that
        leaves room for one check more. Any other must win against the checks that could spare it.
        """
        buying = self.tables.buying
        if buying is None or repairs.first != ("repair", cause):
            return False
        in_vain = (repairs.total - repairs.shares[cause]) * self.tables.costs[cause]
        cheap = in_vain <= buying.finding_out[cause] * repairs.total
        return buying.confirmed[cause] or (cheap and not buying.bought[cause])

    def value(self, weights: Sequence[float], depth: int, code: int = 0) -> float:
        """Give V_depth of weights that need not add up to 1."""
        if self._values is not None and code in self._values:
            return self._values[code]
        tables = self.tables
        repairs = self._repairs(weights)
        best = repairs.value
        if depth > 0 and repairs.first is not None:
            state = _State(weights, repairs.total, depth, code)
            for check in tables.checks_by_id:
                # Whatever a check shows, the causes present must still be repaired.
                bound = tables.check_costs[check] * repairs.total + repairs.least
                if not self._done[check] and bound < best:
                    best = min(best, self._check_value(state, check, best))
            if depth > 1 and self._repair_first:
                for cause in repairs.open:
                    helped = 0.0
                    for other in tables.alike[cause]:
                        helped += repairs.shares[other]
                    wasted = tables.costs[cause] * max(0.0, repairs.total - helped)
                    if repairs.least + wasted < best:
                        best = min(best, self._repair_value(state, cause))
        if self._values is not None:
            self._values[code] = best
        return best

    def _is_gated(self) -> bool:
        """Say whether the rule still keeps dear repairs back."""
        return self.tables.gate >= 0 and not self._done[self.tables.gate]

    def _repairs(self, weights: Sequence[float]) -> RepairCost:
        """Price what is left without a check: V_0."""
        if self.tables.workshop:
            return repairs_then_workshop(self.tables, weights, self._confirmed)
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

    def _repair_value(self, state: _State, cause: int, *, again: bool = False) -> float:
        """Price a repair and what follows, with `again` as many steps as without it."""
        reached = 0
        if self._values is not None:
            reached = state.code + self.tables.cause_codes[cause]
        after = after_repair(self.tables, state.weights, cause)
        following = self.value(after, state.depth - (0 if again else 1), reached)
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
