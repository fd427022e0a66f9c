"""The policy, all of it, in one place: the cheapest way on, and two gates on buying.

The step advised is one of least expected cost until cured, among those that can be made: a
check, a repair, or a workshop at its price (`planning`). No list orders checks. Stop-now
lines stand before everything and change nothing here. What buys nothing may be tried whenever
it is the cheapest way on, confirmed or not. A part must pass two gates, judged in every state
the look-ahead reaches, so that a check earns its place by what it unlocks:

1. Not on a guess. Its cause is confirmed, or more likely than not (0.5), or buying it in vain
   is expected to cost no more than finding out would: the cheapest check that confirms the
   cause, or a workshop.
2. Supply first. A part dearer than the cheapest open check on the supply waits while the supply
   has more than 5 in 100 of the complaint: one car in twenty is what a look at a battery is
   worth beside a part. A part of the supply itself waits for a check that confirms its cause,
   as long as one can be made. A proven supply holds nothing back.

Steps within 20 in 100 of the least count as equal, our estimates carry no more: then goes first
what is likeliest to settle it for its cost, a check that confirms a cause or a repair likely to
be it; a part on odds alone only where that is the cheapest way on, or would be little in vain. A
repair that a check confirmed goes before, unless making it in vain would cost much.
What its own check found good is put right only once its cause is more likely than not all the same.
Before a repair come the checks its entry names, and before all a check whose every result gives
back something the car lacks, such as a way in, or a look that may end a stop line or let
somebody near again: the planner cannot see what that makes possible. So does what may bring back
what the car lacks, such as a jump pack, where the repair wants a tool that must be borrowed.

Prices (an hour, a minute in a workshop, finding out there, waiting) stand in `pricing`.
"""

from dataclasses import dataclass
from typing import Any, Final

from build_tools.engine.abilities import check_requires, repair_requires
from build_tools.engine.diagnosis import Diagnosis, confirmation
from build_tools.engine.planning import Gates, Planning, PricedCheck
from build_tools.knowledge.entries import Cause

GATES: Final = Gates(sure=0.5, excluded=0.05)
MOST_NEXT: Final = 6
MOST_HELD: Final = 6
MOST_WITHHELD: Final = 6
# Nobody is warned of a part that may cost nothing, or not much more than the way to the store.
_WORTH_HOLDING: Final = 30.0


@dataclass(frozen=True)
class RepairChoice:
    """A cause whose repair is advised, and the check result that confirms it, if any.

    `beats_checks` says that a check would be worth making too, but trying this costs less.
    """

    cause: str
    confirmed_by: tuple[str, str] | None
    beats_checks: bool


@dataclass(frozen=True)
class Decision:
    """What to do now: a repair, or checks in order of what they save, or a workshop.

    With nothing noticed there is nothing to find in a workshop; then one check may be offered that
    is not expected to pay. Once the trouble is over and no check pays, `watch`: only watch the car.
    """

    repair: RepairChoice | None = None
    offered: tuple[PricedCheck, ...] = ()
    workshop: bool = False
    watch: bool = False


def decide(diagnosis: Diagnosis, planning: Planning) -> Decision:
    """Choose what is advised now."""
    if _is_over(diagnosis):
        return Decision(watch=True)
    kind, name = planning.step
    paying = [one for one in planning.priced if one.saving > 0]
    if kind == "repair":
        found = confirmation(diagnosis, diagnosis.catalogue.causes[name])
        return Decision(repair=RepairChoice(name, found, bool(paying)))
    if kind == "check":
        return Decision(offered=_once(paying) or planning.priced[:1])
    if diagnosis.case.symptoms:
        return Decision(workshop=True)
    if diagnosis.supply.state == "sound":
        return Decision(watch=True)
    return Decision(offered=planning.priced[:1])


def _is_over(diagnosis: Diagnosis) -> bool:
    """Say whether a repair ended the trouble, or there is none: all over, or nothing found amiss.

    Where nothing was noticed, a result must say so; without any, somebody wants to begin.
    """
    case, findings = diagnosis.case, diagnosis.findings
    if findings.settled is not None:
        return True
    told = [findings.results[one] for one in findings.results if one in findings.evidence]
    return bool(case.past or told) and not case.symptoms and not findings.amiss


def _once(found: list[PricedCheck]) -> tuple[PricedCheck, ...]:
    """Keep each thing to do once, at most 6."""
    kept: dict[str, PricedCheck] = {}
    for one in found:
        kept.setdefault(one.offer.first, one)
    return tuple(kept.values())[:MOST_NEXT]


def hold_off(
    diagnosis: Diagnosis, planning: Planning, repair: RepairChoice | None
) -> tuple[dict[str, Any], ...]:
    """List the parts of any price not to buy yet, likeliest first, each part once.

    A confirmed cause is among them only while its part waits for the supply.
    """
    causes = diagnosis.catalogue.causes
    advised = None if repair is None else causes[repair.cause].repair.part
    held: dict[str, dict[str, Any]] = {}
    for name in planning.causes:
        cause = causes[name]
        part, price = cause.repair.part, cause.repair.price
        if part is None or part in held or part == advised or price.middle < _WORTH_HOLDING:
            continue
        if name not in planning.held and confirmation(diagnosis, cause) is not None:
            continue
        held[part] = {
            "part": part,
            "cause": name,
            "price_low": price.low,
            "price_high": price.high,
            "currency": price.currency,
            "probability_at_fault": diagnosis.posteriors[name],
            "until": _until(planning, cause),
        }
    return tuple(held.values())[:MOST_HELD]


def _until(planning: Planning, cause: Cause) -> dict[str, Any]:
    """Say, as data, what would settle whether to buy a part: only what can be made."""
    if cause.id in planning.held:
        return {"kind": "supply-sound"}
    for one in cause.confirmed_by:
        if one.check in planning.offers:
            return {"kind": "check", "check": one.check, "level": one.level}
    return {"kind": "likelier", "cause": cause.id}


def withheld(diagnosis: Diagnosis, planning: Planning) -> tuple[dict[str, Any], ...]:
    """List the steps kept back though they would settle something, likeliest cause first.

    Each names the check or the cause, and the ability that is not there.
    """
    catalogue, findings = diagnosis.catalogue, diagnosis.findings
    found: dict[str, dict[str, Any]] = {}
    confirming = [
        one.check for name in planning.causes for one in catalogue.causes[name].confirmed_by
    ]
    proving = [name for name in catalogue.checks if _proves_open_side(diagnosis, name)]
    for name in [*confirming, *proving]:
        check = catalogue.checks.get(name)
        if check is None or name in findings.results or name in diagnosis.case.not_possible:
            continue
        lost = findings.abilities.missing(check_requires(check))
        if lost is not None:
            found.setdefault(name, {"check": name, "ability": _told_of(diagnosis, lost.root)})
    for name in planning.causes:
        lost = findings.abilities.missing(repair_requires(catalogue.causes[name]))
        if lost is not None and confirmation(diagnosis, catalogue.causes[name]) is not None:
            found[name] = {"cause": name, "ability": _told_of(diagnosis, lost.root)}
    return tuple(found.values())[:MOST_WITHHELD]


def _told_of(diagnosis: Diagnosis, ability: str) -> str:
    """Return the ability to tell of: before one that is lost, what a stop line took of its way out.

    Nobody is told to charge a battery that must be left alone.
    """
    catalogue, abilities = diagnosis.catalogue, diagnosis.findings.abilities
    for one in catalogue.vocabulary.abilities[ability].instead:
        lost = abilities.missing(check_requires(catalogue.checks[one]))
        if lost is not None and lost.because["kind"] == "stop":
            return lost.root
    return ability


def _proves_open_side(diagnosis: Diagnosis, name: str) -> bool:
    check = diagnosis.catalogue.checks[name]
    return check.levels[0].proves and bool(set(check.aspects) & set(diagnosis.supply.open_aspects))
