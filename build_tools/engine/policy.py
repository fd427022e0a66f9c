"""The supply-first policy, all of it, in one place.

Planning knows costs; this file knows what we are willing to advise. Its rules, in order:

1. Stop-now lines stand before everything else; they change nothing below.
2. A part is anything a repair buys. While the supply is unproven or doubtful no part dearer
   than the cheapest open supply check is advised, whatever it would be expected to save.
3. A repair is advised when its cause is the likeliest that is confirmed by a check, more likely
   than not (or 0.35 if its parts cost no more than 60), and allowed by rule 2; while the supply
   is failing, only that of a supply cause. If a look-alike of at least 0.08 can still be told
   apart by a check, that check comes first, unless the cause is 0.9 sure. With a repair no next
   check is named. With no check left worth making, none that could confirm such a cause and
   none that proves an open side of the supply, a repair is worth trying unproven, in p/c order:
   of a cause more likely than not, or of at least 0.35 if its parts cost no more than 60, or of
   at least 0.15 if nothing is bought; and where trying it in vain is expected to cost no more
   than the finding of the cause in a workshop that it saves. It is then told as a try.
4. Supply failing, no repair advised: only checks on the supply and those rule 3 asks for.
   Here and in rule 5, what an abnormal result calls for itself (charge first, then judge) comes
   before other supply checks.
5. Supply unproven or doubtful: the first next check is one on the supply if the supply causes
   that can produce a complaint together reach 0.25, or if nothing else is worth making; then
   it is the cheapest that can prove an open side, if that costs at most 5 units of money or no
   look of at most 1 is left. A side that came out abnormal is followed up first, then one
   without proof. Among those within 2 units of money or 5 % of the best saving the cheapest
   check comes first: our numbers are softer than that. Where one look can confirm the
   likeliest cause, or, at no more than 5 units of money, the one of at least 0.15 that is
   cheapest to put right for its chance, that look leads, if it is on the supply or the supply
   does not matter by this rule.
6. Supply sound: only checks worth making are offered, by saving; if none is, the check that
   would confirm the likeliest cause.
7. A check is worth making when it is expected to save something by itself, and with what
   follows it at least a tenth of what buying parts now is expected to cost.
8. Any other part of a likely cause is put on hold, with what would settle it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from build_tools.engine.abilities import check_requires, repair_requires
from build_tools.engine.diagnosis import relevant_causes
from build_tools.engine.pricing import UNRESOLVED_COST, PricedCheck, hour_value, repair_cost
from build_tools.engine.supply import is_supply_cause

if TYPE_CHECKING:
    from build_tools.engine.diagnosis import Diagnosis
    from build_tools.engine.pricing import Planning
    from build_tools.engine.supply import Supply
    from build_tools.knowledge.entries import Cause

_VERY_SURE: Final = 0.9
_MORE_LIKELY_THAN_NOT: Final = 0.5
_LIKELY_AND_CHEAP: Final = 0.35
_NOTHING_BOUGHT: Final = 0.15
_CHEAP_PART: Final = 60.0
_LOOKS_ALIKE: Final = 0.08
_SUPPLY_MATTERS: Final = 0.25
_CONFIRMED: Final = 0.8
_WORTH_SHARE: Final = 0.1
_QUICK_COST: Final = 5.0
_GLANCE_COST: Final = 1.0
_CLOSE_MONEY: Final = 2.0
_CLOSE_SHARE: Final = 0.05
MOST_NEXT: Final = 6
MOST_HELD: Final = 6
MOST_WITHHELD: Final = 6


@dataclass(frozen=True)
class RepairChoice:
    """A cause whose repair is advised, and the check result that confirms it, if any."""

    cause: str
    confirmed_by: tuple[str, str] | None


@dataclass(frozen=True)
class RepairDecision:
    """What rule 3 comes to: a repair, or a check that has to come before one, or neither.

    `because` says, as data, what the check is for: it confirms a cause or tells two apart.
    """

    repair: RepairChoice | None = None
    check: str | None = None
    because: dict[str, Any] | None = None


def is_gated(supply: Supply) -> bool:
    """Return whether parts are held back by rule 2."""
    return supply.state in ("unproven", "doubtful")


def confirmation(diagnosis: Diagnosis, cause: Cause) -> tuple[str, str] | None:
    """Return the check that confirms a cause and the level it came out at, or None."""
    for one in cause.confirmed_by:
        weights = diagnosis.findings.results.get(one.check)
        if weights is None:
            continue
        levels = [level.id for level in diagnosis.catalogue.checks[one.check].levels]
        if one.level not in levels:
            continue
        confirming = range(levels.index(one.level), len(levels))
        if sum(weights[place] for place in confirming) >= _CONFIRMED:
            return one.check, levels[max(confirming, key=weights.__getitem__)]
    return None


def decide_repair(diagnosis: Diagnosis, planning: Planning) -> RepairDecision:
    """Choose the repair to advise, or the check that has to come before it, by rule 3."""
    ranked = sorted(diagnosis.posteriors.items(), key=lambda one: (-one[1], one[0]))
    likely = [name for name, probability in ranked if _likely_enough(diagnosis, name, probability)]
    confirming = RepairDecision()
    for name in likely:
        cause = diagnosis.catalogue.causes[name]
        found = confirmation(diagnosis, cause)
        if found is None:
            if confirming.check is None:
                confirming = _confirming_check(planning, cause)
        elif _may_advise(diagnosis, planning, cause):
            told_apart = _telling_apart(diagnosis, planning, cause)
            return (
                RepairDecision(RepairChoice(name, found))
                if told_apart.check is None
                else told_apart
            )
    if confirming.check is None:
        confirming = _quick_look(diagnosis, planning)
    if confirming.check is None and not _is_more_to_learn(diagnosis, planning):
        worth = _worth_trying(diagnosis, planning)
        return RepairDecision() if worth is None else RepairDecision(RepairChoice(worth, None))
    return confirming


def _is_more_to_learn(diagnosis: Diagnosis, planning: Planning) -> bool:
    """Return whether a check is worth making, or could still prove an open side of the supply."""
    return any(worth_making(planning, one) for one in planning.priced) or any(
        _proves_open_side(diagnosis, name) for name in planning.offers
    )


def _worth_trying(diagnosis: Diagnosis, planning: Planning) -> str | None:
    """Return the cause whose repair is worth trying unproven, first in p/c order; or None."""
    causes, hour = diagnosis.catalogue.causes, hour_value(diagnosis.case)
    found = []
    for name in planning.causes:
        cause, probability = causes[name], diagnosis.posteriors[name]
        cost = repair_cost(cause, hour)
        # In vain it costs itself; otherwise it saves what a workshop asks to find the cause.
        pays = cost * (1 - probability) <= UNRESOLVED_COST * probability
        likely = probability >= _least_to_try(cause)
        if pays and likely and _may_advise(diagnosis, planning, cause):
            found.append((-round(probability / max(cost, 1.0), 9), name))
    return min(found)[1] if found else None


def _least_to_try(cause: Cause) -> float:
    if cause.repair.part is None and cause.repair.price.middle == 0:
        return _NOTHING_BOUGHT
    cheap = cause.repair.price.middle <= _CHEAP_PART
    return _LIKELY_AND_CHEAP if cheap else _MORE_LIKELY_THAN_NOT


def _likely_enough(diagnosis: Diagnosis, name: str, probability: float) -> bool:
    """Return whether rule 3 looks at a cause: more likely than not, or confirmed and cheap."""
    if probability >= _MORE_LIKELY_THAN_NOT:
        return True
    cause = diagnosis.catalogue.causes[name]
    cheap = cause.repair.price.middle <= _CHEAP_PART
    return probability >= _LIKELY_AND_CHEAP and cheap and confirmation(diagnosis, cause) is not None


def _quick_look(diagnosis: Diagnosis, planning: Planning) -> RepairDecision:
    """Return the check that confirms the cause cheapest to put right for its chance."""
    name = planning.cheapest_first
    if name is None or diagnosis.supply.state == "failing":
        return RepairDecision()
    found = _confirming_check(planning, diagnosis.catalogue.causes[name])
    if found.check is None or planning.offers[found.check].cost > _QUICK_COST:
        return RepairDecision()
    return RepairDecision(None, found.check, {"kind": "quick-look", "cause": name})


def _may_advise(diagnosis: Diagnosis, planning: Planning, cause: Cause) -> bool:
    if diagnosis.findings.abilities.missing(repair_requires(cause)) is not None:
        return False
    if diagnosis.supply.state == "failing":
        return is_supply_cause(diagnosis.catalogue, cause.id)
    return not (is_gated(diagnosis.supply) and _too_dear(cause, planning))


def _confirming_check(planning: Planning, cause: Cause) -> RepairDecision:
    """Return the cheapest check that can be made and would confirm a cause."""
    offers = [
        planning.offers[one.check] for one in cause.confirmed_by if one.check in planning.offers
    ]
    if not offers:
        return RepairDecision()
    best = min(offers, key=lambda one: (one.cost, one.check))
    return RepairDecision(None, best.check, {"kind": "confirms", "cause": cause.id})


def _telling_apart(diagnosis: Diagnosis, planning: Planning, cause: Cause) -> RepairDecision:
    """Return the check that tells a cause from a look-alike still in play, in the file's order."""
    if diagnosis.posteriors[cause.id] >= _VERY_SURE:
        return RepairDecision()
    for one in cause.confused_with:
        other = diagnosis.catalogue.causes.get(one.cause)
        if other is None or one.told_apart_by not in planning.offers:
            continue
        # A look-alike that is confirmed itself is there beside the cause, not in its place.
        likely = diagnosis.posteriors[one.cause] >= _LOOKS_ALIKE
        if likely and confirmation(diagnosis, other) is None:
            because = {"kind": "look-alike", "cause": cause.id, "other": one.cause}
            return RepairDecision(None, one.told_apart_by, because)
    return RepairDecision()


def _too_dear(cause: Cause, planning: Planning) -> bool:
    """Return whether rule 2 holds a cause's part back; without an open check nothing does."""
    if cause.repair.part is None or planning.gate is None:
        return False
    return cause.repair.price.middle > planning.gate.cost


def worth_making(planning: Planning, one: PricedCheck) -> bool:
    """Return whether a check is worth making, by rule 7."""
    return one.alone > 0 and one.saving >= _WORTH_SHARE * planning.buying_now


def choose_next(
    diagnosis: Diagnosis, planning: Planning, decided: RepairDecision
) -> tuple[PricedCheck, ...]:
    """Order the checks to offer by rules 4 to 6; at most 6, each thing to do once."""
    worth = [one for one in planning.priced if worth_making(planning, one)]
    asked = _asked_for(planning, decided)
    if diagnosis.supply.state == "sound":
        tells_apart = decided.because is not None and decided.because["kind"] == "look-alike"
        return _once([*asked, *worth] if tells_apart or not worth else worth)
    on_supply = [one for one in planning.priced if judges_supply(diagnosis, one)]
    called_for = [one for one in on_supply if one.offer.instead]
    if diagnosis.supply.state == "failing":
        return _once([*asked, *called_for, *on_supply])
    rest = [one for one in planning.priced if one in worth or one in on_supply]
    if decided.because is not None and decided.because["kind"] == "look-alike":
        first = [one for one in asked if judges_supply(diagnosis, one)]
        return _once(
            [*first, *called_for, *_first_on_supply(diagnosis, planning, worth, on_supply), *rest]
        )
    on_supply_first = _first_on_supply(diagnosis, planning, [*asked, *worth], on_supply)
    leads = not on_supply_first or any(judges_supply(diagnosis, one) for one in asked)
    head = [*asked, *on_supply_first] if leads else [*on_supply_first, *asked]
    return _once([*called_for, *head, *rest])


def _asked_for(planning: Planning, decided: RepairDecision) -> list[PricedCheck]:
    """Return the check that rule 3 asks for, priced; it need not be worth making."""
    if decided.check is None:
        return []
    for one in planning.priced:
        if one.offer.check == decided.check:
            return [one]
    alone = planning.alone.get(decided.check, 0.0)
    return [PricedCheck(planning.offers[decided.check], alone, alone)]


def _once(found: list[PricedCheck]) -> tuple[PricedCheck, ...]:
    kept: dict[str, PricedCheck] = {}
    for one in found:
        kept.setdefault(one.offer.first, one)
    return tuple(kept.values())[:MOST_NEXT]


def judges_supply(diagnosis: Diagnosis, one: PricedCheck) -> bool:
    """Return whether a check judges a side of the supply."""
    return bool(diagnosis.catalogue.checks[one.offer.check].aspects)


def _proves_open_side(diagnosis: Diagnosis, name: str) -> bool:
    check = diagnosis.catalogue.checks[name]
    return check.levels[0].proves and bool(set(check.aspects) & set(diagnosis.supply.open_aspects))


def _cheapest_proof(diagnosis: Diagnosis, planning: Planning) -> PricedCheck | None:
    """Return the cheapest check that can prove an open side of the supply; None if none is left.

    Once nothing more can be learned for its price, proof is all that a supply check is for.
    """
    found = [one for name, one in planning.offers.items() if _proves_open_side(diagnosis, name)]
    if not found:
        return None
    offer = min(found, key=lambda one: (one.cost, one.check))
    alone = planning.alone.get(offer.check, 0.0)
    return PricedCheck(offer, alone, alone)


def _first_on_supply(
    diagnosis: Diagnosis, planning: Planning, worth: list[PricedCheck], on_supply: list[PricedCheck]
) -> list[PricedCheck]:
    """Return the supply check that comes first by rule 5, alone in a list; none if not asked."""
    catalogue = diagnosis.catalogue
    relevant = relevant_causes(catalogue, diagnosis.network, diagnosis.case)
    on_it = sum(
        diagnosis.posteriors[name] for name in sorted(relevant) if is_supply_cause(catalogue, name)
    )
    if worth and on_it < _SUPPLY_MATTERS:
        return []
    if not worth and (proving := _cheapest_proof(diagnosis, planning)) is not None:
        glance = min((one.offer.cost for one in on_supply), default=proving.offer.cost)
        if proving.offer.cost <= _QUICK_COST or glance > _GLANCE_COST:
            return [proving]
    wanted = set(diagnosis.supply.open_aspects)
    if diagnosis.supply.abnormal:
        wanted = {
            side for name in diagnosis.supply.abnormal for side in catalogue.checks[name].aspects
        }
    preferred = [
        one for one in on_supply if wanted & set(catalogue.checks[one.offer.check].aspects)
    ]
    among = preferred or on_supply
    if not among:
        return []
    most = among[0].saving
    least = most - max(_CLOSE_MONEY, _CLOSE_SHARE * most)
    close = [one for one in among if one.saving >= least]
    return [min(close, key=lambda one: (one.offer.cost, -round(one.saving, 9), one.offer.check))]


def hold_off(
    diagnosis: Diagnosis, planning: Planning, repair: RepairChoice | None
) -> tuple[dict[str, Any], ...]:
    """List the parts not to buy yet by rule 8, likeliest first, each part once."""
    held: dict[str, dict[str, Any]] = {}
    for name in planning.causes:
        cause = diagnosis.catalogue.causes[name]
        part = cause.repair.part
        if part is None or (repair is not None and repair.cause == name):
            continue
        if part in held or (
            repair and diagnosis.catalogue.causes[repair.cause].repair.part == part
        ):
            continue
        price = cause.repair.price
        held[part] = {
            "part": part,
            "cause": name,
            "price_low": price.low,
            "price_high": price.high,
            "currency": price.currency,
            "probability_at_fault": diagnosis.posteriors[name],
            "until": _until(diagnosis, planning, cause),
        }
    return tuple(held.values())[:MOST_HELD]


def _until(diagnosis: Diagnosis, planning: Planning, cause: Cause) -> dict[str, Any]:
    """Say, as data, what would settle whether to buy a part; a check only if it can be made."""
    outside = not is_supply_cause(diagnosis.catalogue, cause.id)
    if outside and diagnosis.supply.state != "sound":
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
            found.setdefault(name, {"check": name, "ability": lost.root})
    for name in planning.causes:
        lost = findings.abilities.missing(repair_requires(catalogue.causes[name]))
        if lost is not None and confirmation(diagnosis, catalogue.causes[name]) is not None:
            found[name] = {"cause": name, "ability": lost.root}
    return tuple(found.values())[:MOST_WITHHELD]
