"""Room 3, reasoning: complaints cut down until the best policy can be worked out.

A few of the likeliest causes, alone or two at once, and a few checks on them: small enough to
price every policy exactly. So the planner's loss can be told from the best there is, inside
the model. It plays nothing and advises nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from build_tools.engine.cases import CarCase
from build_tools.engine.findings import find
from build_tools.engine.noisy_max import infer
from build_tools.engine.planner import PlanCheck, Situation, optimal_value, policy_value
from build_tools.engine.triage_offers import (
    HOUR_VALUE,
    UNRESOLVED_COST,
    check_cost,
    repair_cost,
)
from build_tools.engine.triage_plan import likeliest, relevant_causes
from build_tools.engine.worlds import enumerate_worlds, level_table

if TYPE_CHECKING:
    from collections.abc import Sequence

    from build_tools.engine.play import Yard
    from build_tools.engine.worlds import Worlds

CAUSES: Final = 3
CHECKS: Final = 3
STATE_LIMIT: Final = 20_000_000
"""Paths the optimum may count; pruning visits far fewer."""


@dataclass(frozen=True)
class SmallLoss:
    """Hold the least expected cost of a small complaint, and what look-aheads cost there."""

    complaint: str
    best: float
    one_step: float
    two_steps: float


def small_situation(yard: Yard, complaint: str) -> Situation | None:
    """Return a complaint with its likeliest causes and the checks that move them most.

    None when no check moves any of them.
    """
    case = CarCase(symptoms=(complaint,))
    findings = find(yard.catalogue, yard.network, case)
    posteriors = infer(yard.network, findings.odds, findings.evidence).posteriors
    causes = likeliest(posteriors, relevant_causes(yard.catalogue, yard.network, case))[:CAUSES]
    worlds = enumerate_worlds(
        yard.network, findings.odds, findings.evidence, candidates=causes, most_present=2
    )
    checks = _telling(yard, worlds, causes)
    if not checks:
        return None
    entries = yard.catalogue.causes
    return Situation(
        cause_ids=causes,
        repair_costs=tuple(
            min(UNRESOLVED_COST, repair_cost(entries[name], HOUR_VALUE)) for name in causes
        ),
        masks=worlds.masks,
        weights=worlds.weights,
        checks=tuple(checks),
        unresolved_cost=UNRESOLVED_COST,
    )


def _telling(yard: Yard, worlds: Worlds, causes: Sequence[str]) -> list[PlanCheck]:
    """Return the checks whose outcome differs most between the worlds for their cost."""
    found = []
    for name, check in yard.catalogue.checks.items():
        finding = yard.network.finding_by_id.get(name)
        if finding is None or not finding.links.keys() & set(causes):
            continue
        table = level_table(yard.network, worlds, name)
        mean = [
            sum(weight * row[level] for weight, row in zip(worlds.weights, table, strict=True))
            for level in range(len(finding.levels))
        ]
        spread = sum(
            weight * sum(abs(one - other) for one, other in zip(row, mean, strict=True))
            for weight, row in zip(worlds.weights, table, strict=True)
        )
        cost = check_cost(check, HOUR_VALUE)
        found.append((-spread / (cost + 1), PlanCheck(name, cost, len(finding.levels), table)))
    found.sort(key=lambda one: (round(one[0], 9), one[1].id))
    return sorted((one for _, one in found[:CHECKS]), key=lambda one: one.id)


def small_loss(yard: Yard, complaint: str) -> SmallLoss | None:
    """Price the look-aheads of the planner against the best policy; None if it is too large."""
    situation = small_situation(yard, complaint)
    if situation is None:
        return None
    best = optimal_value(situation, state_limit=STATE_LIMIT)
    if best is None:
        return None
    return SmallLoss(
        complaint,
        best,
        policy_value(situation, horizon=1),
        policy_value(situation, horizon=2),
    )
