"""Play ways of choosing in made-up cars, and count what each costs.

A car is a set of present causes that shows a complaint, drawn from the model itself, with one
number for each check that decides how it comes out. Every way of choosing meets the same
cars: ours, what people do (buy the likeliest part, buy a battery first, make every check and
then buy), and our planner without the supply-first policy. None knows the car. Uniform numbers
are handed in; nothing here is random. Complaints cut down until the best policy can be worked
out tell the planner's loss from the best there is, inside the model.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING, Final

from build_tools.engine.cases import CarCase
from build_tools.engine.diagnosis import diagnose, relevant_causes
from build_tools.engine.findings import find
from build_tools.engine.network import Network, NetworkCause
from build_tools.engine.noisy_max import infer
from build_tools.engine.planner import optimal_value, policy_value
from build_tools.engine.pricing import (
    HOUR_VALUE,
    UNRESOLVED_COST,
    WORKSHOP_MINUTE,
    Offers,
    check_cost,
    likeliest,
    plan,
    repair_cost,
)
from build_tools.engine.situation import PlanCheck, Situation
from build_tools.engine.triage import assess
from build_tools.engine.worlds import enumerate_worlds, level_table

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from build_tools.engine.worlds import Worlds
    from build_tools.knowledge.catalogue import Catalogue

MOST_PARTS: Final = 3
"""Parts a person buys before asking a workshop; the same for every way of choosing."""

SMALL_CAUSES: Final = 3
SMALL_CHECKS: Final = 3
SMALL_STATE_LIMIT: Final = 20_000_000
"""Paths the optimum of a small complaint may count; pruning visits far fewer."""

_MOST_STEPS: Final = 100
_BATTERY: Final = "battery"
_LEAST: Final = 0.01
# Every check made in a car with much amiss needs larger tables than advice ever builds.
_WIDEST: Final = 2**22


@dataclass(frozen=True)
class Car:
    """One made-up car: its complaint, its causes, and a number in 0..1 for each check."""

    complaint: str
    present: frozenset[str]
    chances: Mapping[str, float]


@dataclass(frozen=True)
class Known:
    """What the person knows: results so far, causes put right, parts bought."""

    complaint: str
    outcomes: tuple[tuple[str, str], ...] = ()
    repaired: frozenset[str] = frozenset()
    bought: int = 0


@dataclass(frozen=True)
class Move:
    """The next move: `kind` is check, repair or workshop."""

    kind: str
    id: str = ""


WORKSHOP: Final = Move("workshop")


@dataclass(frozen=True)
class Bill:
    """What a car took until cured.

    `money` includes what a workshop asks; `minutes` are the owner's own. `in_vain` counts
    parts bought that put nothing right. `helped` says that no workshop had to find it.
    """

    money: float
    minutes: float
    checks: int
    parts: int
    in_vain: int
    helped: bool

    def cost(self, hour_value: float) -> float:
        """Return money and minutes together, at a price of an hour."""
        return self.money + self.minutes * hour_value / 60


@dataclass(frozen=True)
class CarModel:
    """The knowledge the cars are made from."""

    catalogue: Catalogue
    network: Network
    _without: dict[frozenset[str], Network] = field(default_factory=dict)

    def relevant(self, complaint: str) -> frozenset[str]:
        """Return the causes that can make a complaint."""
        links = self.network.finding_by_id[complaint].links
        return frozenset(cause for cause, row in links.items() if row[0] < 1)

    def without(self, repaired: frozenset[str]) -> Network:
        """Return the network with some causes ruled out, made once for each set."""
        if repaired not in self._without:
            causes = tuple(
                NetworkCause(one.id, 0.0 if one.id in repaired else one.prior)
                for one in self.network.causes
            )
            self._without[repaired] = Network(causes, self.network.findings)
        return self._without[repaired]

    @cached_property
    def puts_right(self) -> Mapping[str, frozenset[str]]:
        """Return, for each cause, all that its repair puts right.

        The same part mends every cause that asks for it, and a new battery comes charged: it
        puts right every cause of the battery that nothing else is bought for.
        """
        causes = self.catalogue.causes
        found = {}
        for name, cause in causes.items():
            part = cause.repair.part
            alike = {
                other
                for other, one in causes.items()
                if part is not None and one.repair.part == part
            }
            if part == _BATTERY:
                alike |= {
                    other
                    for other, one in causes.items()
                    if one.group == _BATTERY and one.repair.part is None
                }
            found[name] = frozenset(alike | {name})
        return found


def draw_car(model: CarModel, complaint: str, draw: Callable[[], float]) -> Car:
    """Draw a car that shows a complaint, exactly as the model says they come.

    Cars are drawn by the priors and kept when they show the complaint. `draw` gives the next
    uniform number in 0..1.
    """
    finding = model.network.finding_by_id[complaint]
    while True:
        present = frozenset(one.id for one in model.network.causes if draw() < one.prior)
        quiet = finding.leak[0]
        for cause in sorted(present & finding.links.keys()):
            quiet *= finding.links[cause][0]
        if draw() >= quiet:
            break
    checks = model.catalogue.checks
    return Car(complaint, present, {name: draw() for name in checks})


def outcome(model: CarModel, present: frozenset[str], check: str, chance: float) -> str:
    """Return how a check comes out in a car, by its number in 0..1."""
    finding = model.network.finding_by_id.get(check)
    if finding is None:
        return model.catalogue.checks[check].levels[0].id
    linked = sorted(present & finding.links.keys())
    for level, at_most in enumerate(finding.leak):
        reached = at_most
        for cause in linked:
            reached *= finding.links[cause][level]
        if chance < reached:
            return finding.levels[level]
    return finding.levels[-1]


def play(model: CarModel, car: Car, choose: Callable[[Known], Move]) -> Bill:
    """Follow a way of choosing until no present cause can make the complaint.

    A result of a check that a repair may have changed is forgotten: it described the car
    before. A workshop asks its price to find out and puts right whatever is left.
    """
    known, present = Known(car.complaint), car.present
    relevant = model.relevant(car.complaint)
    money = minutes = 0.0
    checks = parts = in_vain = 0
    for _ in range(_MOST_STEPS):
        move = choose(known)
        if move.kind == "workshop":
            break
        if move.kind == "check":
            effort = model.catalogue.checks[move.id].effort
            money, minutes, checks = money + effort.money, minutes + effort.minutes, checks + 1
            level = outcome(model, present, move.id, car.chances[move.id])
            outcomes = {**dict(known.outcomes), move.id: level}
            known = replace(known, outcomes=tuple(sorted(outcomes.items())))
            continue
        price, time, part = repair_bill(model, move.id)
        money, minutes, parts = money + price, minutes + time, parts + part
        fixed = model.puts_right[move.id]
        in_vain += part if not fixed & present else 0
        present -= fixed
        known = _after_repair(model, known, fixed, part)
        if relevant & car.present and not relevant & present:
            return Bill(money, minutes, checks, parts, in_vain, helped=True)
    money += UNRESOLVED_COST + _workshop_bill(model, relevant & present)
    return Bill(money, minutes, checks, parts, in_vain, helped=False)


def repair_bill(model: CarModel, cause: str) -> tuple[float, float, int]:
    """Return money, the owner's minutes, and parts bought (0 or 1) of a repair."""
    repair = model.catalogue.causes[cause].repair
    part = 0 if repair.part is None else 1
    if repair.who == "workshop":
        return repair.price.middle + repair.minutes * WORKSHOP_MINUTE, 0.0, part
    return repair.price.middle, repair.minutes, part


def _workshop_bill(model: CarModel, causes: frozenset[str]) -> float:
    repairs = (model.catalogue.causes[name].repair for name in sorted(causes))
    return sum(one.price.middle + one.minutes * WORKSHOP_MINUTE for one in repairs)


def _after_repair(model: CarModel, known: Known, fixed: frozenset[str], part: int) -> Known:
    """Forget results that the repair may have changed; the rest still describes the car."""
    findings = model.network.finding_by_id
    kept = tuple(
        (name, level)
        for name, level in known.outcomes
        if name not in findings or not fixed & findings[name].links.keys()
    )
    return Known(known.complaint, kept, known.repaired | fixed, known.bought + part)


def remembering(choose: Callable[[Known], Move]) -> Callable[[Known], Move]:
    """Keep each choice: many cars lead through the same states."""
    kept: dict[Known, Move] = {}

    def remembered(known: Known) -> Move:
        if known not in kept:
            kept[known] = choose(known)
        return kept[known]

    return remembered


def policies(model: CarModel, work_limit: int) -> dict[str, Callable[[Known], Move]]:
    """Return every way of choosing under its name; ours comes first."""
    return {
        "ours": remembering(lambda known: _ours(model, known, work_limit)),
        "no-supply-first": remembering(lambda known: _planner(model, known, work_limit)),
        "likeliest-part": remembering(lambda known: _likeliest_part(model, known)),
        "battery-first": remembering(lambda known: _battery_first(model, known)),
        "every-check": remembering(lambda known: _every_check(model, known)),
    }


def _case(known: Known) -> CarCase:
    return CarCase(symptoms=(known.complaint,), outcomes=dict(known.outcomes))


def _ours(model: CarModel, known: Known, work_limit: int) -> Move:
    network = model.without(known.repaired)
    assessment = assess(model.catalogue, network, _case(known), work_limit=work_limit)
    repair = assessment.decided.repair
    if repair is not None and repair.cause not in known.repaired:
        return _buy(model, known, repair.cause)
    if assessment.offered:
        return Move("check", assessment.offered[0].offer.first)
    return WORKSHOP


def _planner(model: CarModel, known: Known, work_limit: int) -> Move:
    """Make the check that is expected to save most, else the repair first in p/c order."""
    diagnosis = diagnose(model.catalogue, model.without(known.repaired), _case(known))
    planning = plan(diagnosis, gated=False, work_limit=work_limit)
    if planning.priced and planning.priced[0].saving > 0:
        return Move("check", planning.priced[0].offer.first)
    if planning.cheapest_first is None:
        return WORKSHOP
    return _buy(model, known, planning.cheapest_first)


def _likeliest_part(model: CarModel, known: Known) -> Move:
    return _buy_in_order(model, known, _by_odds(model, known), parts_only=True)


def _battery_first(model: CarModel, known: Known) -> Move:
    """Buy a battery whatever the complaint, then the likeliest part."""
    ranked = _by_odds(model, known)
    if not known.bought:
        everything = [*ranked, *sorted(model.catalogue.causes)]
        causes = model.catalogue.causes
        batteries = [name for name in everything if causes[name].repair.part == _BATTERY]
        if batteries:
            return Move("repair", batteries[0])
    return _buy_in_order(model, known, ranked, parts_only=True)


def _every_check(model: CarModel, known: Known) -> Move:
    """Make every check that any cause of the complaint moves, then repair by odds."""
    findings = find(model.catalogue, model.without(known.repaired), _case(known))
    if not known.repaired:
        relevant = model.relevant(known.complaint)
        offers = Offers(model.catalogue, _case(known), findings, lambda _check, _level: 0.0).all()
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
    findings = find(model.catalogue, network, _case(known))
    odds: Mapping[str, float] = infer(
        network, findings.odds, findings.evidence, width_limit=_WIDEST
    ).posteriors
    found = [name for name in model.relevant(known.complaint) if odds[name] >= _LEAST]
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


@dataclass(frozen=True)
class SmallLoss:
    """The least expected cost of a small complaint, and what look-aheads cost there."""

    complaint: str
    best: float
    one_step: float
    two_steps: float


def small_situation(model: CarModel, complaint: str) -> Situation | None:
    """Return a complaint with its likeliest causes and the checks that move them most.

    None when no check moves any of them.
    """
    case = CarCase(symptoms=(complaint,))
    findings = find(model.catalogue, model.network, case)
    posteriors = infer(model.network, findings.odds, findings.evidence).posteriors
    causes = likeliest(posteriors, relevant_causes(model.catalogue, model.network, case))[
        :SMALL_CAUSES
    ]
    worlds = enumerate_worlds(
        model.network, findings.odds, findings.evidence, candidates=causes, most_present=2
    )
    checks = _telling(model, worlds, causes)
    if not checks:
        return None
    entries = model.catalogue.causes
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


def _telling(model: CarModel, worlds: Worlds, causes: Sequence[str]) -> list[PlanCheck]:
    """Return the checks whose outcome differs most between the worlds for their cost."""
    found = []
    for name, check in model.catalogue.checks.items():
        finding = model.network.finding_by_id.get(name)
        if finding is None or not finding.links.keys() & set(causes):
            continue
        table = level_table(model.network, worlds, name)
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
    return sorted((one for _, one in found[:SMALL_CHECKS]), key=lambda one: one.id)


def small_loss(model: CarModel, complaint: str) -> SmallLoss | None:
    """Price the look-aheads of the planner against the best policy; None if it is too large."""
    situation = small_situation(model, complaint)
    if situation is None:
        return None
    best = optimal_value(situation, state_limit=SMALL_STATE_LIMIT)
    if best is None:
        return None
    return SmallLoss(
        complaint,
        best,
        policy_value(situation, horizon=1),
        policy_value(situation, horizon=2),
    )
