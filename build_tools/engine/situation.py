"""What a plan is made from, and the same laid out for fast repeated look-ups.

Worlds with weights, checks with their chances in each world, repairs with their costs, what a
workshop asks, and what must hold before a part is bought. It refuses what the planner could
not use; it plans nothing.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

CAUSE_LIMIT = 30
"""Most causes in one plan; the browser keeps a set in one 32-bit number."""

CODE_LIMIT = 2**53
"""States get one whole number each; the browser counts exactly up to here."""

_SUM_SLACK = 1e-6


@dataclass(frozen=True)
class Gate:
    """The rule that repairs dearer than `dearer_than` wait until `check` has a result."""

    check: str
    dearer_than: float


@dataclass(frozen=True)
class Buying:
    """What must hold in a state before a repair is made there; see `lookahead.may_repair`.

    By cause: `possible`, whether its repair can be made at all; `bought`, whether it buys a
    part; `confirmed`, whether a check has confirmed it; `confirmable`, whether one that can be
    made would; `finding_out`, each check that finds it out first, as its place (-1 if it is not
    planned) and its cost; `waits`, whether its part waits for the supply; `on_supply`, whether
    it is a supply cause. `supply_share` is, by world, the part of the supply in the complaints.
    A part is bought from a probability of `sure`; one that waits, while the supply's part in
    the complaints is below `excluded`, or, if it is the supply's own, once it is confirmed or no
    check can confirm it. `unresolved` is what a workshop asks to find out. `gate` is the place
    of the cheapest open check on the supply, -1 without one.
    """

    possible: tuple[bool, ...]
    bought: tuple[bool, ...]
    confirmed: tuple[bool, ...]
    confirmable: tuple[bool, ...]
    finding_out: tuple[tuple[tuple[int, float], ...], ...]
    waits: tuple[bool, ...]
    on_supply: tuple[bool, ...]
    supply_share: tuple[float, ...]
    sure: float
    excluded: float
    unresolved: float
    gate: int = -1


@dataclass(frozen=True)
class PlanCheck:
    """A check: what it costs and P(level) in each world, in the order of the masks.

    `confirms` lists for each level the causes it confirms; it is empty if none does.
    """

    id: str
    cost: float
    levels: int
    table: tuple[tuple[float, ...], ...]
    confirms: tuple[tuple[int, ...], ...] = ()


@dataclass(frozen=True)
class Situation:
    """Everything a plan depends on.

    Bit i of a mask means `cause_ids[i]` is present. Repairing i takes the bits of
    `puts_right[i]` away, by default its own, and a world is cured once a repair leaves no
    cause. The world without any is unexplained: no repair cures it, and it costs
    `unresolved_cost` once all repairs have been tried. With `workshop`, what one asks in each
    world, going there is a step too, and repairs are tried only as far as they pay. All costs
    share one currency.

    Raises:
        ValueError: naming the field, if the parts do not fit together.
    """

    cause_ids: tuple[str, ...]
    repair_costs: tuple[float, ...]
    masks: tuple[int, ...]
    weights: tuple[float, ...]
    checks: tuple[PlanCheck, ...]
    rule: Gate | None = None
    unresolved_cost: float = 0.0
    workshop: tuple[float, ...] | None = None
    puts_right: tuple[int, ...] | None = None
    buying: Buying | None = None

    def __post_init__(self) -> None:
        _check_causes(self)
        _check_worlds(self)
        if len({check.id for check in self.checks}) != len(self.checks):
            raise ValueError("checks: an id is used twice")
        for check in self.checks:
            _check_table(check, len(self.masks))
        if self.rule is not None and all(check.id != self.rule.check for check in self.checks):
            raise ValueError(f'rule: "{self.rule.check}" is not among the checks')
        if self.workshop is not None:
            if len(self.workshop) != len(self.masks):
                raise ValueError("workshop: one price per world is wanted")
            _check_numbers("workshop", self.workshop)


def _check_causes(situation: Situation) -> None:
    count = len(situation.cause_ids)
    if count > CAUSE_LIMIT:
        raise ValueError(f"cause_ids: {count} causes, {CAUSE_LIMIT} are allowed")
    if len(set(situation.cause_ids)) != count:
        raise ValueError("cause_ids: an id is used twice")
    if len(situation.repair_costs) != count:
        raise ValueError("repair_costs: one cost per cause is wanted")
    _check_numbers("repair_costs", situation.repair_costs)
    _check_numbers("unresolved_cost", [situation.unresolved_cost])


def _check_worlds(situation: Situation) -> None:
    if len(situation.weights) != len(situation.masks):
        raise ValueError("weights: one weight per world is wanted")
    _check_numbers("weights", situation.weights)
    if not any(weight > 0 for weight in situation.weights):
        raise ValueError("weights: no world has any weight")
    known = set(situation.masks)
    if len(known) != len(situation.masks):
        raise ValueError("masks: a world is listed twice")
    for mask in situation.masks:
        if mask < 0 or mask >> len(situation.cause_ids):
            raise ValueError(f"masks: {mask} names a cause that is not there")
        for place in range(len(situation.cause_ids)):
            left = mask & ~(1 << place)
            if left and left not in known:
                raise ValueError(f"masks: {mask} is listed but {left} is not")


def _check_table(check: PlanCheck, worlds: int) -> None:
    _check_numbers(f'check "{check.id}", cost', [check.cost])
    if len(check.table) != worlds:
        raise ValueError(f'check "{check.id}", table: one row per world is wanted')
    for row in dict.fromkeys(check.table):  # worlds share rows, and one look at each will do
        if len(row) != check.levels or not row:
            raise ValueError(f'check "{check.id}", table: one number per level is wanted')
        _check_numbers(f'check "{check.id}", table', row)
        if abs(math.fsum(row) - 1) > _SUM_SLACK:
            raise ValueError(f'check "{check.id}", table: a row adds up to {math.fsum(row)}, not 1')


def _check_numbers(where: str, numbers: Sequence[float]) -> None:
    for number in numbers:
        if not (math.isfinite(number) and number >= 0):
            raise ValueError(f"{where}: {number} is not a finite number from 0 up")


@dataclass(frozen=True, slots=True)
class Look:
    """A check that confirms a cause, by place; `hits` is P(it does) in each world."""

    check: int
    cause: int
    hits: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class PlanTables:
    """The parts of a situation by place.

    `columns[check][outcome]` are P(outcome) by world. `moved[cause]` gives the world each
    world turns into when the cause is repaired, -1 for cured; `changed[cause]` lists only
    those that change, each with what a workshop then asks less. `alike[cause]` are the causes
    the repair puts right. `bits` are the causes of each world. `least` is a lower bound of
    what every plan costs there. `pairs` are the first and the last cause of each world, both
    the number of causes where there is none; it is empty if some world has more than two.
    `looks` go by id of the check.
    `check_codes` and `cause_codes` number the states reached, or are empty if they do not fit.
    """

    costs: tuple[float, ...]
    causes_by_id: tuple[int, ...]
    checks_by_id: tuple[int, ...]
    check_costs: tuple[float, ...]
    columns: tuple[tuple[tuple[float, ...], ...], ...]
    confirms: tuple[tuple[tuple[int, ...], ...], ...]
    moved: tuple[tuple[int, ...], ...]
    bits: tuple[tuple[int, ...], ...]
    least: tuple[float, ...]
    unresolved: float
    gate: int
    dearer_than: float
    workshop: tuple[float, ...]
    changed: tuple[tuple[tuple[int, int, float], ...], ...]
    alike: tuple[tuple[int, ...], ...]
    buying: Buying | None
    pairs: tuple[tuple[int, int], ...]
    looks: tuple[Look, ...]
    check_codes: tuple[int, ...]
    cause_codes: tuple[int, ...]


def plan_tables(situation: Situation) -> PlanTables:
    """Lay a situation out by place."""
    bits = tuple(_bits(mask) for mask in situation.masks)
    ids = [check.id for check in situation.checks]
    check_codes, cause_codes = _codes(situation, bits)
    rule = situation.rule
    fixed = situation.puts_right or tuple(1 << place for place in range(len(situation.cause_ids)))
    moved = tuple(_moves(situation.masks, mask) for mask in fixed)
    workshop = situation.workshop or ()
    return PlanTables(
        costs=situation.repair_costs,
        causes_by_id=_by_id(situation.cause_ids),
        checks_by_id=_by_id(ids),
        check_costs=tuple(check.cost for check in situation.checks),
        columns=tuple(_columns(check) for check in situation.checks),
        confirms=tuple(check.confirms or ((),) * check.levels for check in situation.checks),
        moved=moved,
        bits=bits,
        least=_least(situation, bits, fixed),
        unresolved=situation.unresolved_cost,
        gate=-1 if rule is None else ids.index(rule.check),
        dearer_than=0.0 if rule is None else rule.dearer_than,
        workshop=workshop,
        changed=tuple(_changes(targets, workshop) for targets in moved),
        alike=tuple(_bits(mask) for mask in fixed),
        buying=situation.buying,
        pairs=_pairs(bits, len(situation.cause_ids)),
        looks=_looks(situation),
        check_codes=check_codes,
        cause_codes=cause_codes,
    )


def _looks(situation: Situation) -> tuple[Look, ...]:
    found = []
    for place in _by_id([check.id for check in situation.checks]):
        check = situation.checks[place]
        for cause in sorted({one for level in check.confirms for one in level}):
            hits = [0.0] * len(situation.masks)
            for level, confirmed in enumerate(check.confirms):
                if cause in confirmed:
                    hits = [hit + row[level] for hit, row in zip(hits, check.table, strict=True)]
            found.append(Look(place, cause, tuple(hits)))
    return tuple(found)


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


def _moves(masks: Sequence[int], fixed: int) -> tuple[int, ...]:
    """Say where a repair takes each world; a world without what it puts right stays."""
    place_of = {mask: place for place, mask in enumerate(masks)}
    return tuple(
        place if not mask & fixed else place_of[left] if (left := mask & ~fixed) else -1
        for place, mask in enumerate(masks)
    )


def _changes(
    targets: Sequence[int], workshop: Sequence[float]
) -> tuple[tuple[int, int, float], ...]:
    """List world, where it goes, and what a workshop asks less, of the worlds that change."""
    if not workshop:
        return ()
    return tuple(
        (world, target, workshop[world] - (workshop[target] if target >= 0 else 0.0))
        for world, target in enumerate(targets)
        if target != world
    )


def _least(
    situation: Situation, bits: Sequence[Sequence[int]], fixed: Sequence[int]
) -> tuple[float, ...]:
    """Bound from below what each world costs: each cause its share of the cheapest repair.

    A repair that puts several causes of the world right is shared among them.
    """
    found = []
    for world, places in enumerate(bits):
        total = 0.0 if places else situation.unresolved_cost
        mask = situation.masks[world]
        for place in places:
            total += min(
                cost / (mask & fix).bit_count()
                for cost, fix in zip(situation.repair_costs, fixed, strict=True)
                if fix >> place & 1
            )
        found.append(min(total, situation.workshop[world]) if situation.workshop else total)
    return tuple(found)


def _codes(
    situation: Situation, bits: Sequence[tuple[int, ...]]
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Give each state a number: each check unmade or at a level, each cause open or repaired.

    Only with one cause a world: then the order of the steps leaves no trace.
    """
    if any(len(places) > 1 for places in bits):
        return (), ()
    codes = []
    unit = 1
    for kinds in [
        *(check.levels + 1 for check in situation.checks),
        *(2 for _ in situation.cause_ids),
    ]:
        codes.append(unit)
        unit *= kinds
        if unit > CODE_LIMIT:
            return (), ()
    return tuple(codes[: len(situation.checks)]), tuple(codes[len(situation.checks) :])


def after_outcome(
    tables: PlanTables, weights: Sequence[float], check: int, outcome: int
) -> list[float]:
    """Give the weights once a check has shown an outcome, not normalised."""
    column = tables.columns[check][outcome]
    return [weight * chance for weight, chance in zip(weights, column, strict=True)]


def after_repair(tables: PlanTables, weights: Sequence[float], cause: int) -> list[float]:
    """Give the weights once a repair has been made and the symptom is still there."""
    after = [0.0] * len(weights)
    for weight, target in zip(weights, tables.moved[cause], strict=True):
        if target >= 0:
            after[target] += weight
    return after
