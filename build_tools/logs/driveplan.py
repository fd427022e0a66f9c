"""Room reasoning: a plan of drives for the monitors that are incomplete.

Merges what several monitors need into one trip, repeated over days, and says what must be
settled first. It never asks for more than ordinary lawful driving, and the handbook wins.
`driveplan.js` does the same in the same order.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from build_tools.logs.driveplan_words import SEGMENTS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from build_tools.knowledge.readiness_entries import Monitor

SUPPLY_STATES: Final = ("unproven", "doubtful", "failing", "sound")
QUARTER, THREE_QUARTERS = 25.0, 75.0  # common practice, and one official page
COLD: Final = -7.0  # 20 degF, from memory
HOT: Final = 35.0  # 95 degF, from memory
DAYS_WITH_SOAK, DAYS_WITHOUT = 3, 2  # two to three days, common practice


@dataclass(frozen=True)
class PlanFacts:
    """Hold what bears on a plan; None means not told. Fuel in percent, air in degC."""

    supply: str = "unproven"
    fuel_percent: float | None = None
    ambient: float | None = None
    lamp_on: bool = False
    pending_code: bool = False


@dataclass(frozen=True)
class PlanPart:
    """Hold one part of a day's trip: which segment, for which monitors, with loads or without."""

    segment: str
    minutes: int | None
    source: str
    serves: tuple[str, ...]
    loads: str | None  # off | as-handbook | None where it does not matter
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class PlanDay:
    """Hold one day: its number, its parts in order, and monitors that may finish only now."""

    day: int
    parts: tuple[PlanPart, ...]
    late: tuple[str, ...]


@dataclass(frozen=True)
class DrivePlan:
    """Hold a plan.

    `state`: "plan", "settle-first" (the plan follows, but something comes before it), "hold" (no
    driving for monitors now) or "nothing-to-do". `first` names what to settle, `notes` what to
    know, `cautions` what holds for the whole plan.
    """

    state: str
    first: tuple[str, ...] = ()
    days: tuple[PlanDay, ...] = ()
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    unserved: tuple[str, ...] = ()


def plan_facts_from(told: Mapping[str, object]) -> PlanFacts:
    """Read facts from plain data; what is not understood counts as not told."""
    supply = told.get("supply")
    return PlanFacts(
        supply=supply if isinstance(supply, str) and supply in SUPPLY_STATES else "unproven",
        fuel_percent=_number(told.get("fuel_percent"), 0.0, 100.5),
        ambient=_number(told.get("ambient"), -60.0, 80.0),
        lamp_on=told.get("lamp_on") is True,
        pending_code=told.get("pending_code") is True,
    )


def plan_drives(
    incomplete: Sequence[str], monitors: Mapping[str, Monitor], facts: PlanFacts
) -> DrivePlan:
    """Plan the drives for the incomplete monitors.

    With a failing supply no drive is planned. Names that are no monitor are left out.
    """
    wanted = [monitors[name] for name in dict.fromkeys(incomplete) if name in monitors]
    if not wanted:
        return DrivePlan("nothing-to-do")
    if facts.supply == "failing":
        return DrivePlan("hold", first=("supply-failing",))
    served = [monitor for monitor in wanted if monitor.segments]
    unserved = tuple(monitor.id for monitor in wanted if not monitor.segments)
    first = _first(facts, served)
    days = _days(served, facts)
    return DrivePlan(
        state="settle-first" if first else "plan",
        first=first,
        days=days,
        notes=_notes(served, facts, days, unserved),
        cautions=("handbook-wins", "no-tool-while-driving", "do-not-clear"),
        unserved=unserved,
    )


def _first(facts: PlanFacts, served: Sequence[Monitor]) -> tuple[str, ...]:
    """Name what should be settled before the first drive."""
    first = []
    if facts.lamp_on:
        first.append("lamp-on")
    if facts.pending_code:
        first.append("pending-code")
    if served and facts.fuel_percent is None:
        first.append("fuel-unknown")
    elif facts.fuel_percent is not None and not QUARTER <= facts.fuel_percent <= THREE_QUARTERS:
        first.append("fuel-to-half")
    if facts.ambient is not None and facts.ambient < COLD:
        first.append("too-cold")
    return tuple(first)


def _days(served: Sequence[Monitor], facts: PlanFacts) -> tuple[PlanDay, ...]:
    parts = tuple(_parts(served, facts))
    if not parts:
        return ()
    soaks = any(part.segment == "soak" for part in parts)
    names = {monitor.id for monitor in served}
    late = tuple(monitor.id for monitor in served if any(name in names for name in monitor.after))
    count = DAYS_WITH_SOAK if soaks else DAYS_WITHOUT
    return tuple(PlanDay(day, parts, late if day > 1 else ()) for day in range(1, count + 1))


def _parts(served: Sequence[Monitor], facts: PlanFacts) -> list[PlanPart]:
    """List the parts of one trip in driving order; every trip starts with an idle."""
    parts = []
    for segment in SEGMENTS:
        serves = tuple(monitor.id for monitor in served if segment.id in monitor.segments)
        needed = serves or (segment.id in {"first-idle", "gentle", "stop-and-go"} and served)
        # A longer stretch at speed serves what a shorter one does.
        if segment.id == "steady" and any("long-steady" in one.segments for one in served):
            continue
        if segment.id == "long-steady" and serves:
            serves = tuple(
                one.id for one in served if {"steady", "long-steady"} & set(one.segments)
            )
        if not needed:
            continue
        loads = None
        if segment.id == "first-idle":
            loads = "as-handbook" if facts.supply == "sound" else "off"
        parts.append(
            PlanPart(segment.id, segment.minutes, segment.source, serves, loads, segment.cautions)
        )
    return parts


def _notes(
    served: Sequence[Monitor],
    facts: PlanFacts,
    days: Sequence[PlanDay],
    unserved: Sequence[str],
) -> tuple[str, ...]:
    notes = []
    if days and facts.supply == "sound":
        notes.append("official-idles-with-loads")
    elif days:
        notes += ["loads-off-first", "differs-from-official"]
    vapor = any(monitor.id == "evaporative-system" for monitor in served)
    if vapor and facts.ambient is not None and facts.ambient > HOT:
        notes.append("too-hot-for-vapor")
    if days and days[-1].late:
        notes.append("late-ones")
    if days:
        notes += ["several-cold-starts", "read-again"]
    if unserved:
        notes.append("no-part-known")
    return tuple(notes)


def _number(value: object, low: float, high: float) -> float | None:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return float(value) if low <= value <= high else None
