"""Room 3, reasoning: ways of choosing the next move, to be played against each other.

Ours is the advice of the checker, move by move. The others are what people do: buy the
likeliest part, buy a battery first, make every check and then buy. One is our planner
without the supply-first policy, to see what the policy costs or saves. None knows the car.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from build_tools.engine.cases import CarCase
from build_tools.engine.findings import find
from build_tools.engine.noisy_max import infer
from build_tools.engine.play import MOST_PARTS, Known, Move
from build_tools.engine.triage import stand
from build_tools.engine.triage_offers import Offers
from build_tools.engine.triage_plan import Asked, plan

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from build_tools.engine.play import Yard

WORKSHOP: Final = Move("workshop")
_LEAST: Final = 0.01
_BATTERY: Final = "battery"
# Every check made in a car with much amiss needs larger tables than advice ever builds.
_WIDEST: Final = 2**22


def remembering(choose: Callable[[Known], Move]) -> Callable[[Known], Move]:
    """Keep each choice: many cars lead through the same states."""
    kept: dict[Known, Move] = {}

    def remembered(known: Known) -> Move:
        if known not in kept:
            kept[known] = choose(known)
        return kept[known]

    return remembered


def policies(yard: Yard, work_limit: int) -> dict[str, Callable[[Known], Move]]:
    """Return every way of choosing under its name; ours comes first."""
    return {
        "ours": remembering(lambda known: _ours(yard, known, work_limit)),
        "no-supply-first": remembering(lambda known: _planner(yard, known, work_limit)),
        "likeliest-part": remembering(lambda known: _likeliest_part(yard, known)),
        "battery-first": remembering(lambda known: _battery_first(yard, known)),
        "every-check": remembering(lambda known: _every_check(yard, known)),
    }


def _case(known: Known) -> CarCase:
    return CarCase(symptoms=(known.complaint,), outcomes=dict(known.outcomes))


def _ours(yard: Yard, known: Known, work_limit: int) -> Move:
    network = yard.without(known.repaired)
    standing = stand(yard.catalogue, network, _case(known), work_limit=work_limit)
    repair = standing.settled.repair
    if repair is not None and repair.cause not in known.repaired:
        return _buy(yard, known, repair.cause)
    if standing.offered:
        return Move("check", standing.offered[0].offer.first)
    return WORKSHOP


def _planner(yard: Yard, known: Known, work_limit: int) -> Move:
    """Make the check that is expected to save most, else the repair first in p/c order."""
    network, case = yard.without(known.repaired), _case(known)
    findings = find(yard.catalogue, network, case)
    posteriors = infer(network, findings.odds, findings.evidence).posteriors
    asked = Asked(posteriors, gated=False, work_limit=work_limit)
    planning = plan(yard.catalogue, network, case, findings, asked)
    if planning.priced and planning.priced[0].saving > 0:
        return Move("check", planning.priced[0].offer.first)
    if planning.cheapest_first is None:
        return WORKSHOP
    return _buy(yard, known, planning.cheapest_first)


def _likeliest_part(yard: Yard, known: Known) -> Move:
    return _buy_in_order(yard, known, _by_odds(yard, known), parts_only=True)


def _battery_first(yard: Yard, known: Known) -> Move:
    """Buy a battery whatever the complaint, then the likeliest part."""
    ranked = _by_odds(yard, known)
    if not known.bought:
        everything = [*ranked, *sorted(yard.catalogue.causes)]
        causes = yard.catalogue.causes
        batteries = [name for name in everything if causes[name].repair.part == _BATTERY]
        if batteries:
            return Move("repair", batteries[0])
    return _buy_in_order(yard, known, ranked, parts_only=True)


def _every_check(yard: Yard, known: Known) -> Move:
    """Make every check that any cause of the complaint moves, then repair by odds."""
    findings = find(yard.catalogue, yard.without(known.repaired), _case(known))
    if not known.repaired:
        relevant = yard.relevant(known.complaint)
        offers = Offers(yard.catalogue, _case(known), findings, lambda _check, _level: 0.0).all()
        useful = [
            (one.cost, name)
            for name, one in offers.items()
            if name in yard.network.finding_by_id
            and relevant & yard.network.finding_by_id[name].links.keys()
        ]
        if useful:
            return Move("check", offers[min(useful)[1]].first)
    return _buy_in_order(yard, known, _by_odds(yard, known), parts_only=False)


def _by_odds(yard: Yard, known: Known) -> list[str]:
    """Return the causes of the complaint of at least 1 in 100, likeliest first."""
    network = yard.without(known.repaired)
    findings = find(yard.catalogue, network, _case(known))
    odds: Mapping[str, float] = infer(
        network, findings.odds, findings.evidence, width_limit=_WIDEST
    ).posteriors
    found = [name for name in yard.relevant(known.complaint) if odds[name] >= _LEAST]
    return sorted(found, key=lambda name: (-odds[name], name))


def _buy_in_order(yard: Yard, known: Known, ranked: Iterable[str], *, parts_only: bool) -> Move:
    for name in ranked:
        part = yard.catalogue.causes[name].repair.part
        if name not in known.repaired and not (parts_only and part is None):
            return _buy(yard, known, name)
    return WORKSHOP


def _buy(yard: Yard, known: Known, cause: str) -> Move:
    """Repair, unless that would be one part too many."""
    part = yard.catalogue.causes[cause].repair.part
    if part is not None and known.bought >= MOST_PARTS:
        return WORKSHOP
    return Move("repair", cause)
