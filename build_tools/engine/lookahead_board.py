"""Room 3, reasoning: a situation laid out for fast repeated play.

Knows where each repair moves each world, what each outcome does to the weights, and the
price of repairing in p/c order without further checks. It looks no step ahead.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from build_tools.engine.planner_situation import PlanCheck, Situation

CODE_LIMIT = 2**53
"""States get one whole number each; the browser counts exactly up to here."""


@dataclass(frozen=True, slots=True)
class Board:
    """Hold the parts of a situation by place.

    `columns[check][outcome]` are P(outcome) by world. `moved[cause]` gives the world each
    world turns into when the cause is repaired, -1 for cured. `bits` are the relevant
    causes of each world. `least` is the price of repairing exactly those, a lower bound of
    every plan. `single` says that no world has two relevant causes. `pairs` are the first
    and the last relevant cause of each world, both the number of causes where there is
    none; it is empty if some world has more than two. `check_codes` and `cause_codes` number
    the states reached, or are empty if they do not fit.
    """

    costs: tuple[float, ...]
    causes_by_id: tuple[int, ...]
    checks_by_id: tuple[int, ...]
    check_costs: tuple[float, ...]
    columns: tuple[tuple[tuple[float, ...], ...], ...]
    moved: tuple[tuple[int, ...], ...]
    bits: tuple[tuple[int, ...], ...]
    least: tuple[float, ...]
    unresolved: float
    gate: int
    dearer_than: float
    single: bool
    pairs: tuple[tuple[int, int], ...]
    check_codes: tuple[int, ...]
    cause_codes: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Price:
    """Hold the price of repairing now, for weights that need not add up to 1.

    `first` is the first action of that order: ("repair" or "check", place), or None when
    no repair is left. `shares` are the weights of the worlds with each cause, `total` the
    weight of all worlds, `least` a lower bound of what any plan costs.
    """

    value: float
    first: tuple[str, int] | None
    shares: list[float]
    total: float
    least: float


def lay_out(situation: Situation) -> Board:
    """Prepare a situation for play."""
    bits = tuple(_bits(mask & situation.relevant_mask) for mask in situation.masks)
    single = all(len(places) <= 1 for places in bits)
    ids = [check.id for check in situation.checks]
    check_codes, cause_codes = _codes(situation) if single else ((), ())
    rule = situation.rule
    return Board(
        costs=situation.repair_costs,
        causes_by_id=_by_id(situation.cause_ids),
        checks_by_id=_by_id(ids),
        check_costs=tuple(check.cost for check in situation.checks),
        columns=tuple(_columns(check) for check in situation.checks),
        moved=tuple(_moves(situation, place) for place in range(len(situation.cause_ids))),
        bits=bits,
        least=tuple(_least(situation, places) for places in bits),
        unresolved=situation.unresolved_cost,
        gate=-1 if rule is None else ids.index(rule.check),
        dearer_than=0.0 if rule is None else rule.dearer_than,
        single=single,
        pairs=_pairs(bits, len(situation.cause_ids)),
        check_codes=check_codes,
        cause_codes=cause_codes,
    )


def _by_id(ids: Sequence[str]) -> tuple[int, ...]:
    return tuple(sorted(range(len(ids)), key=lambda place: ids[place]))


def _bits(mask: int) -> tuple[int, ...]:
    return tuple(place for place in range(mask.bit_length()) if mask >> place & 1)


def _pairs(bits: Sequence[tuple[int, ...]], causes: int) -> tuple[tuple[int, int], ...]:
    """Give each world's causes as two places; the usual worlds have two at most."""
    if any(len(places) > 2 for places in bits):  # noqa: PLR2004 - a pair
        return ()
    return tuple((places[0], places[-1]) if places else (causes, causes) for places in bits)


def _columns(check: PlanCheck) -> tuple[tuple[float, ...], ...]:
    return tuple(tuple(row[level] for row in check.table) for level in range(check.levels))


def _moves(situation: Situation, cause: int) -> tuple[int, ...]:
    """Say where repairing one cause takes each world; causes that do not matter stay."""
    place_of = {mask: place for place, mask in enumerate(situation.masks)}
    targets = []
    for place, mask in enumerate(situation.masks):
        left = mask & ~(1 << cause)
        if left == mask or not mask & situation.relevant_mask:
            targets.append(place)
        elif not left & situation.relevant_mask:
            targets.append(-1)
        else:
            targets.append(place_of[left])
    return tuple(targets)


def _least(situation: Situation, places: Sequence[int]) -> float:
    if not places:
        return situation.unresolved_cost
    total = 0.0
    for place in places:
        total += situation.repair_costs[place]
    return total


def _codes(situation: Situation) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Give each state a number: each check unmade or at a level, each cause open or repaired.

    Only with one relevant cause a world: then the order of the steps leaves no trace.
    """
    check_codes = []
    unit = 1
    for check in situation.checks:
        check_codes.append(unit)
        unit *= check.levels + 1
        if unit > CODE_LIMIT:
            return (), ()
    cause_codes = []
    for _ in situation.cause_ids:
        cause_codes.append(unit)
        unit *= 2
        if unit > CODE_LIMIT:
            return (), ()
    return tuple(check_codes), tuple(cause_codes)


def after_outcome(board: Board, weights: Sequence[float], check: int, outcome: int) -> list[float]:
    """Give the weights once a check has shown an outcome, not normalised."""
    column = board.columns[check][outcome]
    return [weight * chance for weight, chance in zip(weights, column, strict=True)]


def after_repair(board: Board, weights: Sequence[float], cause: int) -> list[float]:
    """Give the weights once a repair has been made and the symptom is still there."""
    after = [0.0] * len(weights)
    for weight, target in zip(weights, board.moved[cause], strict=True):
        if target >= 0:
            after[target] += weight
    return after


def price_repairs(board: Board, weights: Sequence[float], *, gated: bool) -> Price:
    """Price the repairs in p/c order, with a look after each and no further check.

    p is the weight of the worlds with the cause, c the cost of its repair (Kadane and
    Simon 1977, as described in arXiv 1203.3502). While `gated`, repairs no dearer than
    the rule come first, then the check of the rule, then the others. Ties go by id.
    """
    shares, total, least = _shares(board, weights)
    order = _p_over_c(board, shares, gated=gated)
    # The last place stands for a world that no repair explains.
    through = [0.0] * (len(board.costs) + 1)
    running = 0.0
    first: tuple[str, int] | None = None
    for cause in order:
        if gated and board.costs[cause] > board.dearer_than:
            gated = False
            running += board.check_costs[board.gate]
            first = first or ("check", board.gate)
        running += board.costs[cause]
        through[cause] = running
        first = first or ("repair", cause)
    through[-1] = running + board.unresolved
    return Price(_paid(board, weights, through), first, shares, total, least)


def _paid(board: Board, weights: Sequence[float], through: Sequence[float]) -> float:
    """Weigh what each world costs once the last of its causes has been reached."""
    value = 0.0
    if board.pairs:
        for weight, (one, other) in zip(weights, board.pairs, strict=True):
            paid, later = through[one], through[other]
            value += weight * (later if later > paid else paid)  # noqa: FURB136 - no call here
        return value
    for weight, places in zip(weights, board.bits, strict=True):
        if weight > 0:
            value += weight * max((through[place] for place in places), default=through[-1])
    return value


def _shares(board: Board, weights: Sequence[float]) -> tuple[list[float], float, float]:
    shares = [0.0] * (len(board.costs) + 1)
    total = 0.0
    least = 0.0
    if board.pairs:
        for weight, bound, (one, other) in zip(weights, board.least, board.pairs, strict=True):
            total += weight
            least += weight * bound
            shares[one] += weight
            if other != one:
                shares[other] += weight
    else:
        for weight, bound, places in zip(weights, board.least, board.bits, strict=True):
            total += weight
            least += weight * bound
            for place in places:
                shares[place] += weight
    shares.pop()
    return shares, total, least


def _p_over_c(board: Board, shares: Sequence[float], *, gated: bool) -> list[int]:
    """Sort by insertion, so that both languages compare the same pairs of numbers.

    While gated, repairs dearer than the rule allows come after all others.
    """
    costs = board.costs
    order: list[int] = []
    for cause in board.causes_by_id:
        share, cost = shares[cause], costs[cause]
        if share <= 0:
            continue
        waits = gated and cost > board.dearer_than
        place = len(order)
        while place:
            other = order[place - 1]
            if gated and waits != (costs[other] > board.dearer_than):
                goes_before = not waits
            else:
                goes_before = share * costs[other] > shares[other] * cost
            if not goes_before:
                break
            place -= 1
        order.insert(place, cause)
    return order
