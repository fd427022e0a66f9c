"""Play ways of choosing in made-up cars, and count what each costs.

A car is a set of present causes that shows a complaint, drawn from the model itself, with facts
about it, perhaps a repair made before in vain, and one number for each check that decides how
it comes out; some checks are misread. Every way of choosing (`ways`) meets the same cars, and
none knows the car. Uniform numbers are handed in; nothing here is random. Complaints cut down
until the best policy can be worked out tell the planner's loss from the best there is, inside
the model.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Final, TypeVar

from build_tools.engine.cases import CarCase
from build_tools.engine.diagnosis import relevant_causes
from build_tools.engine.findings import find
from build_tools.engine.network import Network, NetworkCause, NetworkFinding
from build_tools.engine.noisy_max import infer
from build_tools.engine.one_look import reads_codes
from build_tools.engine.planner import optimal_value, policy_value
from build_tools.engine.planning import likeliest
from build_tools.engine.pricing import (
    HOUR_VALUE,
    UNRESOLVED_COST,
    WAITING_HOUR,
    check_cost,
    puts_right,
    repair_cost,
    waited,
    workshop_bill,
)
from build_tools.engine.situation import PlanCheck, Situation
from build_tools.engine.worlds import Worlds, enumerate_worlds, level_table
from build_tools.knowledge.catalogue import Catalogue

SMALL_CAUSES: Final = 3
SMALL_CHECKS: Final = 3
SMALL_STATE_LIMIT: Final = 20_000_000
"""Paths the optimum of a small complaint may count; pruning visits far fewer."""

_Thing = TypeVar("_Thing")
_MOST_STEPS: Final = 100
_MOST_OTHERS: Final = 2
_WITH_FACT: Final = 0.5
_WITH_REPAIR: Final = 0.25
# One reading in twenty lands in the band beside the true one: our estimate of cheap meters.
_MISREAD: Final = 0.05


@dataclass(frozen=True)
class Told:
    """What a car's owner tells at first: complaints, facts by context, repairs made in vain."""

    complaints: tuple[str, ...]
    facts: tuple[tuple[str, str], ...] = ()
    mended: tuple[str, ...] = ()


@dataclass(frozen=True)
class Car:
    """One made-up car: what is told, its causes, and for each check a number in 0..1.

    `makers` are, by complaint told, the causes that make it; none where it comes by itself.
    `misread` are the checks whose level is read one too good or, at the best, one too bad.
    """

    told: Told
    present: frozenset[str]
    makers: Mapping[str, frozenset[str]]
    chances: Mapping[str, float]
    misread: frozenset[str] = frozenset()

    @property
    def to_blame(self) -> frozenset[str]:
        """Return the causes that make what is told; others are there without a part in it."""
        return frozenset().union(*self.makers.values())

    def seen_by_owner(self, known: Known, present: frozenset[str]) -> Known:
        """Return what an owner knows then: a complaint whose makers are all put right is over.

        Parts bought before it ended no longer count against buying another.
        """
        told = known.told
        kept = tuple(
            one for one in told.complaints if not self.makers[one] or self.makers[one] & present
        )
        if kept == told.complaints:
            return known
        return replace(known, told=replace(told, complaints=kept), bought=0)


@dataclass(frozen=True)
class Known:
    """What the person knows: what was told, results so far, causes put right.

    `bought` counts parts since a complaint ended.
    `again` are the checks made again after a result that changed the car.
    """

    told: Told
    outcomes: tuple[tuple[str, str], ...] = ()
    repaired: frozenset[str] = frozenset()
    bought: int = 0
    again: frozenset[str] = frozenset()

    @property
    def case(self) -> CarCase:
        """Return it as a case; causes put right in play are left to the network."""
        return CarCase(
            symptoms=self.told.complaints,
            context=dict(self.told.facts),
            outcomes=dict(self.outcomes),
            mended=self.told.mended,
            again=tuple(sorted(self.again)),
        )


@dataclass(frozen=True)
class Move:
    """The next move: `kind` is check, repair or workshop."""

    kind: str
    id: str = ""


WORKSHOP: Final = Move("workshop")

NO_CAUSE: Final = "no-cause"
SHOPS_REPAIR: Final = "shops-repair"
STOPPED: Final = "stopped"
LEFT_OPEN: Final = "left-open"
WORKSHOP_REASONS: Final = {
    NO_CAUSE: "none of our causes",
    SHOPS_REPAIR: "only what a shop repairs",
    STOPPED: "what an owner repairs, but a stop line before it",
    LEFT_OPEN: "what an owner could have found",
}
"""Why a car ends in a workshop, by what is left to blame; the first that holds."""


@dataclass(frozen=True)
class Bill:
    """What a car took until cured.

    `money` includes what a workshop asks; `minutes` are the owner's and a helper's, `waiting`
    hours beside them, up to a day for each wait. `in_vain` counts parts bought that put nothing
    right. `helped` says that no workshop had to find it; else `why` says what it went there with,
    one of `WORKSHOP_REASONS`.
    """

    money: float
    minutes: float
    waiting: float
    checks: int
    parts: int
    in_vain: int
    helped: bool
    why: str = ""

    def cost(self, hour_value: float) -> float:
        """Return money, minutes and waiting together, at a price of an hour."""
        return self.money + self.minutes * hour_value / 60 + self.waiting * WAITING_HOUR


@dataclass(frozen=True)
class CarModel:
    """The knowledge the cars are made from."""

    catalogue: Catalogue
    network: Network
    _without: dict[frozenset[str], Network] = field(default_factory=dict)

    def relevant(self, complaints: Iterable[str]) -> frozenset[str]:
        """Return the causes that can make one of these complaints."""
        findings = self.network.finding_by_id
        return frozenset(
            cause
            for complaint in complaints
            for cause, row in findings[complaint].links.items()
            if row[0] < 1
        )

    @cached_property
    def facts(self) -> Sequence[tuple[str, str]]:
        """Return every answer to a choice that bears on some cause."""
        contexts = self.catalogue.contexts
        asked = {
            (factor.when, factor.equals)
            for cause in self.catalogue.causes.values()
            for factor in cause.context
        }
        return sorted(one for one in asked if one[0] in contexts and contexts[one[0]].options)

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

        See `pricing.puts_right`.
        """
        return puts_right(self.catalogue)


def draw_car(model: CarModel, complaint: str, draw: Callable[[], float]) -> Car:
    """Draw a car that shows a complaint, exactly as the model says they come.

    Half of the cars come with a fact that bears on some cause, one in four with a repair that
    was made in vain. Cars are drawn by the odds that follow, and kept when they show the
    complaint; up to two more that their causes show are told with it. `draw` gives the next
    uniform number in 0..1.
    """
    facts = (_one_of(model.facts, draw()),) if model.facts and draw() < _WITH_FACT else ()
    relevant = sorted(model.relevant((complaint,)))
    mended = (_one_of(relevant, draw()),) if relevant and draw() < _WITH_REPAIR else ()
    case = CarCase(symptoms=(complaint,), context=dict(facts), mended=mended)
    odds = find(model.catalogue, model.network, case).odds
    finding = model.network.finding_by_id[complaint]
    while True:
        present = frozenset(name for name, one in odds.items() if draw() < one / (1 + one))
        if draw() >= _quiet(finding, present):
            break
    shown = [
        name
        for name, one in model.catalogue.symptoms.items()
        if one.role == "complaint"
        and name != complaint
        and present & model.network.finding_by_id[name].links.keys()
        and draw() >= _quiet(model.network.finding_by_id[name], present)
    ]
    others = shown[: int(draw() * (_MOST_OTHERS + 1))]
    checks = model.catalogue.checks
    told = Told((complaint, *others), facts, mended)
    return Car(
        told,
        present,
        {name: _made_by(model, name, present, draw) for name in told.complaints},
        {name: draw() for name in checks},
        frozenset(name for name, one in checks.items() if draw() < _MISREAD and one.gauge),
    )


def _made_by(
    model: CarModel, complaint: str, present: frozenset[str], draw: Callable[[], float]
) -> frozenset[str]:
    """Draw which of the causes make a complaint that is there; none, where it has no cause."""
    finding = model.network.finding_by_id[complaint]
    linked = sorted(present & finding.links.keys())
    while True:
        by_itself = draw() >= finding.leak[0]
        makers = frozenset(name for name in linked if draw() >= finding.links[name][0])
        if by_itself or makers:
            return makers


def _one_of(things: Sequence[_Thing], chance: float) -> _Thing:
    return things[min(len(things) - 1, int(chance * len(things)))]


def _quiet(finding: NetworkFinding, present: frozenset[str]) -> float:
    """Return P(a complaint is not shown) with these causes."""
    quiet = finding.leak[0]
    for cause in sorted(present & finding.links.keys()):
        quiet *= finding.links[cause][0]
    return quiet


def read_level(model: CarModel, car: Car, present: frozenset[str], check: str) -> str:
    """Return the level the owner reads: one beside the true one where the car is misread."""
    level = outcome(model, present, check, car.chances[check])
    levels = [one.id for one in model.catalogue.checks[check].levels]
    if check not in car.misread or len(levels) == 1:
        return level
    return levels[abs(levels.index(level) - 1)]


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
    """Follow a way of choosing until no cause to blame for a complaint is left.

    A result of a check that a repair may have changed is forgotten: it described the car
    before. A check such as a full charge puts right what it mends. A workshop asks its price to
    find out and puts right whatever is left.
    """
    known, present = Known(car.told), car.present
    money = minutes = waiting = 0.0
    checks = parts = in_vain = 0
    for _ in range(_MOST_STEPS):
        move = choose(known)
        if move.kind == "workshop":
            break
        if move.kind == "check":
            effort = model.catalogue.checks[move.id].effort
            money, checks = money + effort.money, checks + 1
            minutes += effort.minutes * 2 if effort.needs_helper else effort.minutes
            waiting += waited(effort.wait_hours)
            known, fixed = _after_check(
                model, known, move.id, read_level(model, car, present, move.id)
            )
            known = _with_what_it_answers(model, car, present, known, move.id)
            present -= fixed
            known = car.seen_by_owner(known, present)
            if fixed and car.to_blame and not car.to_blame & present:
                return Bill(money, minutes, waiting, checks, parts, in_vain, helped=True)
            continue
        price, time, part = repair_bill(model, move.id)
        money, minutes, parts = money + price, minutes + time, parts + part
        waiting += waited(model.catalogue.causes[move.id].repair.wait_hours)
        fixed = model.puts_right[move.id]
        in_vain += part if not fixed & present else 0
        present -= fixed
        known = _after_repair(model, known, fixed, part)
        known = car.seen_by_owner(known, present)
        if car.to_blame and not car.to_blame & present:
            return Bill(money, minutes, waiting, checks, parts, in_vain, helped=True)
    left = sorted(car.to_blame & present)
    money += UNRESOLVED_COST + sum(workshop_bill(model.catalogue.causes[name]) for name in left)
    why = _why_a_workshop(model, known, left)
    return Bill(money, minutes, waiting, checks, parts, in_vain, helped=False, why=why)


def _why_a_workshop(model: CarModel, known: Known, left: Sequence[str]) -> str:
    """Return why a car ends in a workshop, by the causes to blame that are left in it."""
    if not left:
        return NO_CAUSE
    if all(model.catalogue.causes[name].repair.who == "workshop" for name in left):
        return SHOPS_REPAIR
    found = find(model.catalogue, model.without(known.repaired), known.case)
    return STOPPED if found.stop_now else LEFT_OPEN


def repair_bill(model: CarModel, cause: str) -> tuple[float, float, int]:
    """Return money, the owner's minutes, and parts bought (0 or 1) of a repair."""
    repair = model.catalogue.causes[cause].repair
    part = 0 if repair.part is None else 1
    if repair.who == "workshop":
        return workshop_bill(model.catalogue.causes[cause]), 0.0, part
    return repair.price.middle, repair.minutes, part


def _after_check(
    model: CarModel, known: Known, name: str, level: str
) -> tuple[Known, frozenset[str]]:
    """Note a result, and return the causes it puts right; what it overtakes may be made again.

    Where the trouble stays after a result that shows its end, that result told nothing.
    """
    check = model.catalogue.checks[name]
    found = check.levels[check.level_index(level)]
    outcomes = dict(known.outcomes)
    again = known.again | {name} if name in outcomes else known.again
    outcomes[name] = level
    made = replace(
        known, outcomes=tuple(sorted(outcomes.items())), again=again - frozenset(found.resets)
    )
    ended = frozenset(found.ends)
    return _after_repair(model, made, ended, 0) if ended else made, ended | frozenset(found.mends)


def _with_what_it_answers(
    model: CarModel, car: Car, present: frozenset[str], known: Known, reading: str
) -> Known:
    """Note what a list of codes says of every family it could name."""
    outcomes = dict(known.outcomes)
    for name, check in model.catalogue.checks.items():
        if reads_codes(check) and any(need.check == reading for need in check.needs):
            outcomes[name] = outcome(model, present, name, car.chances[name])
    return replace(known, outcomes=tuple(sorted(outcomes.items())))


def _after_repair(model: CarModel, known: Known, fixed: frozenset[str], part: int) -> Known:
    """Forget results that the repair may have changed; the rest still describes the car."""
    findings = model.network.finding_by_id
    kept = tuple(
        (name, level)
        for name, level in known.outcomes
        if name not in findings or not fixed & findings[name].links.keys()
    )
    return replace(
        known, outcomes=kept, repaired=known.repaired | fixed, bought=known.bought + part
    )


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
