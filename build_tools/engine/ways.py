"""Ways of choosing what to do in a made-up car.

Ours, ours without one or both gates on buying, the first edition's rules, and what people do:
buy the likeliest part, buy a battery first, make every check and then buy.
"""

from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import partial
from typing import Final

from build_tools.engine.abilities import repair_requires
from build_tools.engine.diagnosis import confirmation
from build_tools.engine.findings import find
from build_tools.engine.noisy_max import infer_nearly
from build_tools.engine.planning import Gates
from build_tools.engine.play import WORKSHOP, CarModel, Known, Move
from build_tools.engine.policy import GATES
from build_tools.engine.pricing import HOUR_VALUE, UNRESOLVED_COST, Offers, repair_cost
from build_tools.engine.triage import assess

MOST_PARTS: Final = 3
"""Parts a person buys in a row that end no complaint before asking a workshop, by any way."""

_NEVER: Final = 2.0
GATES_OF: Final = {
    "ours": GATES,
    "no-supply-gate": replace(GATES, excluded=_NEVER),
    "no-gates": Gates(sure=0.0, excluded=_NEVER),
}
"""Our way of choosing, and what it would be without one or both gates on buying."""

_BATTERY: Final = "battery"
_LEAST: Final = 0.01
# The first edition's own numbers: how likely a cause must be, what a cheap part is, and what share
# of going on without it a check must save.
_SURE: Final = 0.5
_CHEAP_SURE: Final = 0.35
_CHEAP_PART: Final = 60.0
_WORTH: Final = 0.1


def remembering(choose: Callable[[Known], Move]) -> Callable[[Known], Move]:
    """Keep each choice: many cars lead through the same states."""
    kept: dict[Known, Move] = {}

    def remembered(known: Known) -> Move:
        if known not in kept:
            kept[known] = choose(known)
        return kept[known]

    return remembered


def policies(model: CarModel) -> dict[str, Callable[[Known], Move]]:
    """Return every way of choosing under its name; ours comes first."""
    ways = {name: partial(_ours, model, gates=gates) for name, gates in GATES_OF.items()}
    return {
        name: remembering(choose)
        for name, choose in {
            **ways,
            "supply-first": partial(_supply_first, model),
            "likeliest-part": partial(_likeliest_part, model),
            "battery-first": partial(_battery_first, model),
            "every-check": partial(_every_check, model),
        }.items()
    }


def _ours(model: CarModel, known: Known, *, gates: Gates) -> Move:
    network = model.without(known.repaired)
    found = assess(model.catalogue, network, known.case, gates=gates)
    repair = found.decided.repair
    if repair is not None and repair.cause not in known.repaired:
        return _buy(model, known, repair.cause)
    if found.offered and not found.decided.workshop:
        return Move("check", found.offered[0].offer.first)
    return WORKSHOP


def _supply_first(model: CarModel, known: Known) -> Move:
    """Choose by the rules of the first edition, on what is known today.

    Until the supply is proven, a check of it comes before all other checks, and no part dearer
    than one is bought. A repair follows what a check confirmed; unconfirmed it is made once no
    check is worth a tenth of going on without, where in vain it costs no more than a workshop's
    finding out would, at its odds.
    """
    found = assess(model.catalogue, model.without(known.repaired), known.case)
    diagnosis, planning = found.diagnosis, found.planning
    causes, odds = model.catalogue.causes, diagnosis.posteriors
    is_open = diagnosis.supply.state != "sound"
    most = planning.gate.cost if is_open and planning.gate is not None else float("inf")
    likely = [
        name
        for name in _by_odds(model, known)
        if odds[name] >= (_SURE if causes[name].repair.price.middle > _CHEAP_PART else _CHEAP_SURE)
        and (causes[name].repair.part is None or causes[name].repair.price.middle <= most)
        and diagnosis.findings.abilities.missing(repair_requires(causes[name])) is None
    ]
    for name in likely:
        if confirmation(diagnosis, causes[name]) is not None:
            return _buy(model, known, name)
    worth = [one for one in planning.priced if one.saving >= _WORTH * planning.buying_now]
    on_supply = [one for one in planning.priced if model.catalogue.checks[one.offer.check].aspects]
    if checks := (on_supply if is_open and on_supply else worth):
        return Move("check", checks[0].offer.first)
    for name in likely:
        in_vain = (1 - odds[name]) * repair_cost(causes[name], HOUR_VALUE)
        if in_vain <= UNRESOLVED_COST * odds[name]:
            return _buy(model, known, name)
    return WORKSHOP


def _likeliest_part(model: CarModel, known: Known) -> Move:
    return _buy_in_order(model, known, _by_odds(model, known), parts_only=True)


def _battery_first(model: CarModel, known: Known) -> Move:
    """Buy a battery whatever the complaint, then the likeliest part."""
    ranked = _by_odds(model, known)
    everything = [*ranked, *sorted(model.catalogue.causes)]
    causes = model.catalogue.causes
    batteries = [name for name in everything if causes[name].repair.part == _BATTERY]
    if batteries and known.repaired.isdisjoint(batteries):
        return Move("repair", batteries[0])
    return _buy_in_order(model, known, ranked, parts_only=True)


def _every_check(model: CarModel, known: Known) -> Move:
    """Make every check that any cause of the complaint moves, then repair by odds."""
    findings = find(model.catalogue, model.without(known.repaired), known.case)
    if not known.repaired:
        relevant = model.relevant(known.told.complaints)
        offers = Offers(model.catalogue, known.case, findings, lambda _check, _level: 0.0).all()
        useful = [
            (one.cost, name)
            for name, one in offers.items()
            if name in model.network.finding_by_id
            and relevant & model.network.finding_by_id[name].links.keys()
        ]
        if useful:
            return Move("check", offers[min(useful)[1]].first)
    return _buy_in_order(model, known, _by_odds(model, known), parts_only=False)


def _by_odds(model: CarModel, known: Known) -> list[str]:
    """Return the causes of the complaint of at least 1 in 100, likeliest first."""
    network = model.without(known.repaired)
    findings = find(model.catalogue, network, known.case)
    odds = infer_nearly(network, findings.odds, findings.evidence).posteriors
    found = [name for name in model.relevant(known.told.complaints) if odds[name] >= _LEAST]
    return sorted(found, key=lambda name: (-odds[name], name))


def _buy_in_order(
    model: CarModel, known: Known, ranked: Iterable[str], *, parts_only: bool
) -> Move:
    for name in ranked:
        part = model.catalogue.causes[name].repair.part
        if name not in known.repaired and not (parts_only and part is None):
            return _buy(model, known, name)
    return WORKSHOP


def _buy(model: CarModel, known: Known, cause: str) -> Move:
    """Repair, unless that would be one part too many."""
    part = model.catalogue.causes[cause].repair.part
    if part is not None and known.bought >= MOST_PARTS:
        return WORKSHOP
    return Move("repair", cause)
