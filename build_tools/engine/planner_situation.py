"""Room 3, reasoning: what a plan is made from.

Worlds with weights, checks with their chances in each world, repairs with their costs, and
the rule that a check comes before dear repairs. It refuses what the planner could not use;
it plans nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

CAUSE_LIMIT = 30
"""Most causes in one plan; the browser keeps a set in one 32-bit number."""

ALL_CAUSES = (1 << CAUSE_LIMIT) - 1
_SUM_SLACK = 1e-6


@dataclass(frozen=True)
class Gate:
    """Keep back repairs dearer than `dearer_than` until `check` has a result."""

    check: str
    dearer_than: float


@dataclass(frozen=True)
class PlanCheck:
    """Offer a check: what it costs and P(level) in each world, in the order of the masks."""

    id: str
    cost: float
    levels: int
    table: tuple[tuple[float, ...], ...]


@dataclass(frozen=True)
class Situation:
    """Hold everything a plan depends on.

    Bit i of a mask means `cause_ids[i]` is present. Repairing i moves world m to
    m & ~(1 << i). A world is cured when no relevant cause is left by a repair. A world
    that starts with no relevant cause is unexplained: no repair cures it, and it costs
    `unresolved_cost` once all repairs have been tried. All costs share one currency.

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
    relevant_mask: int = ALL_CAUSES

    def __post_init__(self) -> None:
        _check_causes(self)
        _check_worlds(self)
        if len({check.id for check in self.checks}) != len(self.checks):
            raise ValueError("checks: an id is used twice")
        for check in self.checks:
            _check_table(check, len(self.masks))
        if self.rule is not None and all(check.id != self.rule.check for check in self.checks):
            raise ValueError(f'rule: "{self.rule.check}" is not among the checks')


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
            if left & situation.relevant_mask and left not in known:
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
