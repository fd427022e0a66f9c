"""Room reasoning: the parts not to buy yet, with price, chance and what would settle it.

Rule 8 of the policy in `triage_policy`. `reasoning/triage-hold.js` is its twin.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from build_tools.engine.supply import is_supply_cause

if TYPE_CHECKING:
    from build_tools.engine.triage_plan import Planning
    from build_tools.engine.triage_policy import Matter, RepairChoice
    from build_tools.knowledge.entries import Cause

MOST_HELD: Final = 6


def hold_off(
    matter: Matter, planning: Planning, repair: RepairChoice | None
) -> tuple[dict[str, Any], ...]:
    """List the parts not to buy yet by rule 8, likeliest first, each part once."""
    held: dict[str, dict[str, Any]] = {}
    for name in planning.causes:
        cause = matter.catalogue.causes[name]
        part = cause.repair.part
        if part is None or (repair is not None and repair.cause == name):
            continue
        if part in held or (repair and matter.catalogue.causes[repair.cause].repair.part == part):
            continue
        price = cause.repair.price
        held[part] = {
            "part": part,
            "cause": name,
            "price_low": price.low,
            "price_high": price.high,
            "currency": price.currency,
            "probability_at_fault": matter.posteriors[name],
            "until": _until(matter, cause),
        }
    return tuple(held.values())[:MOST_HELD]


def _until(matter: Matter, cause: Cause) -> dict[str, Any]:
    """Say, as data, what would settle whether to buy a part."""
    outside = not is_supply_cause(matter.catalogue, cause.id)
    if outside and matter.supply.state != "sound":
        return {"kind": "supply-sound"}
    for one in cause.confirmed_by:
        if one.check not in matter.findings.results:
            return {"kind": "check", "check": one.check, "level": one.level}
    return {"kind": "likelier", "cause": cause.id}
