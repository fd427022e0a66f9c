"""What a fixed order of steps costs, with no decision on the way.

Two orders: repairs by what they cure for their cost, until cured; and, where a workshop has its
price, looks and repairs as long as the next pays, and then the workshop. Both are plans that
can be followed, so what they cost is never below the best there is. What may be bought is
judged anew after every step.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from build_tools.engine.situation import Buying, Look, PlanTables

# A step must save more than this, so that rounding never decides for one.
_PAYS = 1e-9


@dataclass(frozen=True, slots=True)
class Left:
    """Weights of the worlds still open, of any sum.

    `shares` are the weights of the worlds with each cause, `total` that of all worlds, `least`
    a lower bound of what any plan costs.
    """

    weights: Sequence[float]
    shares: list[float]
    total: float
    least: float


@dataclass(frozen=True, slots=True)
class RepairCost:
    """The expected cost of a fixed order, for weights of any sum.

    `first` is the first action of that order: ("repair", "check" or "workshop", place), or
    None when no repair is left. `open` are the repairs that may be made, by id.
    """

    value: float
    first: tuple[str, int] | None
    left: Left
    open: list[int]


def may_repair(
    tables: PlanTables,
    left: Left,
    confirmed: Sequence[int],
    made: Sequence[bool] | None,
    *,
    supply_first: bool = True,
) -> list[int]:
    """List, by id, the causes whose repair may be made in a state; see `Buying`.

    `confirmed` counts, by cause, the results that confirm it; a check already `made` finds
    nothing out any more.
    What buys nothing may be tried as soon as its cause is possible. A part is not bought on a
    guess: its cause is confirmed, or likely enough, or buying it in vain is expected to cost
    no more than finding out what it saves. With `supply_first` false, what waits for the supply
    is listed as well.
    """
    buying, shares, total = tables.buying, left.shares, left.total
    if buying is None:
        return [cause for cause in tables.causes_by_id if shares[cause] > 0]
    held = supply_first and not _supply_excluded(buying, left)
    found = []
    for cause in tables.causes_by_id:
        share = shares[cause]
        if share <= 0 or not buying.possible[cause]:
            continue
        if buying.bought[cause] and not confirmed[cause]:
            in_vain = (total - share) * tables.costs[cause]
            if share < buying.sure * total and in_vain > share * _finding_out(buying, cause, made):
                continue
        if buying.waits[cause]:
            proven = confirmed[cause] > 0 or not buying.confirmable[cause]
            if not proven if buying.on_supply[cause] else held:
                continue
        found.append(cause)
    return found


def _finding_out(buying: Buying, cause: int, made: Sequence[bool] | None) -> float:
    """Return what it costs to find a cause out first: the cheapest way still open."""
    price = buying.unresolved
    for check, cost in buying.finding_out[cause]:
        if cost < price and (made is None or check < 0 or not made[check]):
            price = cost
    return price


def _supply_excluded(buying: Buying, left: Left) -> bool:
    """Return whether the supply has too small a part in the complaints to hold anything back."""
    part = 0.0
    for weight, share in zip(left.weights, buying.supply_share, strict=True):
        part += weight * share
    return part < buying.excluded * left.total


@dataclass(frozen=True, slots=True)
class _Step:
    """A step of an order: a repair, or a look and the repair if it confirms.

    `gain` is what a workshop asks less for it, without what is paid only where the cause is
    there; `cost` is what is paid in any case, `gate` the check on the supply among it.
    """

    gain: float
    cost: float
    cause: int
    look: Look | None
    gate: float


def order_then_workshop(
    tables: PlanTables,
    weights: Sequence[float],
    confirmed: Sequence[int],
    done: Sequence[bool] | None,
) -> RepairCost:
    """Price the best fixed order found of looks and repairs, and then the workshop.

    A look is a check that confirms one cause, whose repair follows if it does; what else it
    shows is forgotten. Next comes what lowers the workshop's price most for its cost, as long
    as it pays; ties go to repairs by id, then to looks by check. What waits for the supply
    pays for the gate's check once. `done` are the checks already made; None leaves looks out,
    and what waits with them.
    """
    whole = left = left_of(tables, weights)
    value = workshop_price(tables, weights)
    first = ("workshop", 0)
    made = None if done is None else list(done)
    while (step := _best_step(tables, left, confirmed, made)) is not None:
        value += step.cost - step.gain
        if first[0] == "workshop":
            first = _first_of(tables, step)
        if step.gate and made is not None and tables.buying is not None:
            made[tables.buying.gate] = True
        if step.look is not None and made is not None:
            made[step.look.check] = True
        left = _after_step(tables, left, step)
    return RepairCost(value, first, whole, may_repair(tables, whole, confirmed, done))


def _first_of(tables: PlanTables, step: _Step) -> tuple[str, int]:
    if step.gate and tables.buying is not None:
        return "check", tables.buying.gate
    return ("repair", step.cause) if step.look is None else ("check", step.look.check)


def _best_step(
    tables: PlanTables, left: Left, confirmed: Sequence[int], made: Sequence[bool] | None
) -> _Step | None:
    """Return the step that saves most for its cost, or None if none pays."""
    best: _Step | None = None
    for one in _steps(tables, left, confirmed, made):
        if one.gain - one.cost <= _PAYS * left.total:
            continue
        if best is None or one.gain * best.cost > best.gain * one.cost:
            best = one
    return best


def _steps(
    tables: PlanTables, left: Left, confirmed: Sequence[int], made: Sequence[bool] | None
) -> Iterator[_Step]:
    buying = tables.buying
    gate = 0.0
    if buying is not None and made is not None and buying.gate >= 0 and not made[buying.gate]:
        gate = 0.0 if _supply_excluded(buying, left) else tables.check_costs[buying.gate]
    for cause in may_repair(tables, left, confirmed, made, supply_first=made is None):
        gain = 0.0
        for world, _, less in tables.changed[cause]:
            gain += left.weights[world] * less
        due = gate * left.total if gate and _waits(buying, cause) else 0.0
        yield _Step(gain, tables.costs[cause] * left.total + due, cause, None, due)
    if buying is None or made is None:
        return
    for look in tables.looks:
        cause, cost = look.cause, tables.costs[look.cause]
        if made[look.check] or confirmed[cause] or not buying.possible[cause]:
            continue
        gain = hit = 0.0
        for world, _, less in tables.changed[cause]:
            seen = left.weights[world] * look.hits[world]
            hit += seen
            gain += seen * less
        looked = tables.check_costs[look.check] * left.total
        if gain - hit * cost - looked <= _PAYS * left.total:
            continue
        every = 0.0
        for weight, chance in zip(left.weights, look.hits, strict=True):
            every += weight * chance
        due = gate * left.total if gate and _waits(buying, cause) else 0.0
        yield _Step(gain - hit * cost, looked + (every - hit) * cost + due, cause, look, due)


def _waits(buying: Buying | None, cause: int) -> bool:
    return buying is not None and buying.waits[cause] and not buying.on_supply[cause]


def _after_step(tables: PlanTables, left: Left, step: _Step) -> Left:
    """Return what is left once a step was made and the complaint is still there."""
    weights = list(left.weights)
    for world, target, _ in tables.changed[step.cause]:
        moved = weights[world] * (1.0 if step.look is None else step.look.hits[world])
        weights[world] -= moved
        if target >= 0:
            weights[target] += moved
    return left_of(tables, weights)


def workshop_price(tables: PlanTables, weights: Sequence[float]) -> float:
    """Weigh what a workshop asks in each world."""
    price = 0.0
    for weight, asked in zip(weights, tables.workshop, strict=True):
        price += weight * asked
    return price


def expected_repair_cost(
    tables: PlanTables, weights: Sequence[float], *, gated: bool
) -> RepairCost:
    """Price the repairs in p/c order, with a look after each and no further check.

    p is the weight of the worlds with the cause, c the cost of its repair (Kadane and
    Simon 1977, as described in arXiv 1203.3502). While `gated`, repairs no dearer than
    the rule come first, then the check of the rule, then the others. Ties go by id.
    """
    left = left_of(tables, weights)
    shares = left.shares
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
    return RepairCost(_paid(tables, weights, through), first, left, may)


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


def left_of(tables: PlanTables, weights: Sequence[float]) -> Left:
    """Sum up weights of worlds."""
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
    return Left(weights, shares, total, least)


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
