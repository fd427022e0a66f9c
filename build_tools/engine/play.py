"""Room 3, reasoning: play a way of choosing in made-up cars, and count what it costs.

A car is a set of present causes that shows a complaint, drawn from the model itself, with one
number for each check that decides how it comes out. Every way of choosing meets the same
cars. Uniform numbers are handed in; nothing here is random, and no way of choosing is
defined here (`play_policies` does).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Final

from build_tools.engine.network import Network, NetworkCause
from build_tools.engine.triage_offers import UNRESOLVED_COST, WORKSHOP_MINUTE

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from build_tools.knowledge.catalogue import Catalogue

MOST_PARTS: Final = 3
"""Parts a person buys before asking a workshop; the same for every way of choosing."""

_MOST_STEPS: Final = 100
_BATTERY: Final = "battery"


@dataclass(frozen=True)
class Car:
    """Hold one made-up car: its complaint, its causes, and a number in 0..1 for each check."""

    complaint: str
    present: frozenset[str]
    chances: Mapping[str, float]


@dataclass(frozen=True)
class Known:
    """Hold what the person knows: results so far, causes put right, parts bought."""

    complaint: str
    outcomes: tuple[tuple[str, str], ...] = ()
    repaired: frozenset[str] = frozenset()
    bought: int = 0


@dataclass(frozen=True)
class Move:
    """Name the next move: `kind` is check, repair or workshop."""

    kind: str
    id: str = ""


@dataclass(frozen=True)
class Bill:
    """Hold what a car took until cured.

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
class Yard:
    """Hold the knowledge the cars are made from."""

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


def draw_car(yard: Yard, complaint: str, draw: Callable[[], float]) -> Car:
    """Draw a car that shows a complaint, exactly as the model says they come.

    Cars are drawn by the priors and kept when they show the complaint. `draw` gives the next
    uniform number in 0..1.
    """
    finding = yard.network.finding_by_id[complaint]
    while True:
        present = frozenset(one.id for one in yard.network.causes if draw() < one.prior)
        quiet = finding.leak[0]
        for cause in sorted(present & finding.links.keys()):
            quiet *= finding.links[cause][0]
        if draw() >= quiet:
            break
    checks = yard.catalogue.checks
    return Car(complaint, present, {name: draw() for name in checks})


def outcome(yard: Yard, present: frozenset[str], check: str, chance: float) -> str:
    """Return how a check comes out in a car, by its number in 0..1."""
    finding = yard.network.finding_by_id.get(check)
    if finding is None:
        return yard.catalogue.checks[check].levels[0].id
    linked = sorted(present & finding.links.keys())
    for level, at_most in enumerate(finding.leak):
        reached = at_most
        for cause in linked:
            reached *= finding.links[cause][level]
        if chance < reached:
            return finding.levels[level]
    return finding.levels[-1]


def play(yard: Yard, car: Car, choose: Callable[[Known], Move]) -> Bill:
    """Follow a way of choosing until no present cause can make the complaint.

    A result of a check that a repair may have changed is forgotten: it described the car
    before. A workshop asks its price to find out and puts right whatever is left.
    """
    known, present = Known(car.complaint), car.present
    relevant = yard.relevant(car.complaint)
    money = minutes = 0.0
    checks = parts = in_vain = 0
    for _ in range(_MOST_STEPS):
        move = choose(known)
        if move.kind == "workshop":
            break
        if move.kind == "check":
            effort = yard.catalogue.checks[move.id].effort
            money, minutes, checks = money + effort.money, minutes + effort.minutes, checks + 1
            level = outcome(yard, present, move.id, car.chances[move.id])
            known = Known(
                known.complaint,
                tuple(sorted({**dict(known.outcomes), move.id: level}.items())),
                known.repaired,
                known.bought,
            )
            continue
        price, time, part = repair_bill(yard, move.id)
        money, minutes, parts = money + price, minutes + time, parts + part
        fixed = yard.puts_right[move.id]
        in_vain += part if not fixed & present else 0
        present -= fixed
        known = _after_repair(yard, known, fixed, part)
        if relevant & car.present and not relevant & present:
            return Bill(money, minutes, checks, parts, in_vain, helped=True)
    money += UNRESOLVED_COST + _workshop_bill(yard, relevant & present)
    return Bill(money, minutes, checks, parts, in_vain, helped=False)


def repair_bill(yard: Yard, cause: str) -> tuple[float, float, int]:
    """Return money, the owner's minutes, and parts bought (0 or 1) of a repair."""
    repair = yard.catalogue.causes[cause].repair
    part = 0 if repair.part is None else 1
    if repair.who == "workshop":
        return repair.price.middle + repair.minutes * WORKSHOP_MINUTE, 0.0, part
    return repair.price.middle, repair.minutes, part


def _workshop_bill(yard: Yard, causes: frozenset[str]) -> float:
    repairs = (yard.catalogue.causes[name].repair for name in sorted(causes))
    return sum(one.price.middle + one.minutes * WORKSHOP_MINUTE for one in repairs)


def _after_repair(yard: Yard, known: Known, fixed: frozenset[str], part: int) -> Known:
    """Forget results that the repair may have changed; the rest still describes the car."""
    findings = yard.network.finding_by_id
    kept = tuple(
        (name, level)
        for name, level in known.outcomes
        if name not in findings or not fixed & findings[name].links.keys()
    )
    return Known(known.complaint, kept, known.repaired | fixed, known.bought + part)
