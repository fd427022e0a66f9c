"""Room reasoning: what a trip could have served, from its log.

Joins the figures of a trip into one report: the drive that counts, warm-up, voltage, stretches,
and for every incomplete monitor whether this trip had what it usually needs. Nothing here
proves that a monitor ran. `triplog.js` does the same in the same order.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final

from build_tools.logs.triplog_metrics import (
    Criterion,
    Start,
    evap_criteria,
    find_start,
    general_denominator,
    named_stretches,
    trip_metrics,
    warm_up,
)
from build_tools.logs.triplog_timeline import (
    LONGEST_HOLD,
    STARTED,
    Bounds,
    Piece,
    Stretch,
    all_of,
    pieces_of,
    verdict,
    verdict_at_most,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from build_tools.knowledge.readiness_entries import Condition, Monitor
    from build_tools.logs.triplog_columns import Column, Trip

LOW_VOLTAGE: Final = 11.0  # from memory: makers may hold self-tests below this; text not seen


@dataclass(frozen=True)
class Voltage:
    """Say what the voltage did while the engine ran, cranking left out.

    `verdict`: "low-seen" (consistent with self-tests being held, never the proof), "none-seen"
    or "unknown". Without rpm cranking cannot be told apart, so it stays unknown.
    """

    verdict: str
    lowest: float | None
    seconds_low: float
    stretches: tuple[Stretch, ...]


@dataclass(frozen=True)
class ConditionResult:
    """Hold one condition of a monitor, the trip's figure, and met / not-met / unknown."""

    metric: str
    at_least: float | None
    at_most: float | None
    low: float | None
    high: float | None
    verdict: str
    source: str


@dataclass(frozen=True)
class MonitorChance:
    """Say whether a trip had what a monitor usually needs: could, could-not or unknown."""

    id: str
    chance: str
    missing: tuple[ConditionResult, ...]
    met: tuple[str, ...]


@dataclass(frozen=True)
class TripReport:
    """Hold everything told about one trip. Times in seconds from the log's start."""

    state: str  # ok | no-time | too-short | engine-not-seen
    duration: float = 0.0
    gap_seconds: float = 0.0
    start: Start | None = None
    general: dict[str, Criterion] = field(default_factory=dict)
    general_strict: str = "unknown"
    general_lenient: str = "unknown"
    evap: tuple[Criterion, ...] = ()
    evap_verdict: str = "unknown"
    warm_up: dict[str, str] = field(default_factory=dict)
    voltage: Voltage | None = None
    stretches: tuple[Stretch, ...] = ()
    metrics: dict[str, Bounds] = field(default_factory=dict)
    monitors: tuple[MonitorChance, ...] = ()
    mapping: dict[str, Column] = field(default_factory=dict)
    assumed: tuple[str, ...] = ()
    dropped: dict[str, int] = field(default_factory=dict)


def analyse_trip(
    trip: Trip, monitors: Mapping[str, Monitor], incomplete: Sequence[str]
) -> TripReport:
    """Report on a trip for the monitors that are incomplete.

    Unknown stays unknown: a channel the log has not got never makes a criterion met.
    """
    told = TripReport(trip.state, mapping=trip.mapping, dropped=trip.dropped)
    if trip.state != "ok":
        return told
    every = pieces_of(trip)
    start = find_start(every)
    told = replace(
        told, duration=trip.times[-1], gap_seconds=total_of_gaps(every), assumed=trip.assumed
    )
    if start is None:
        return replace(told, state="engine-not-seen")
    report = _judged(told, every[start.index :], start, whole=trip.whole_speed)
    chances = (chance_of(monitors[name], report.metrics) for name in incomplete if name in monitors)
    return replace(report, monitors=tuple(chances))


def _judged(told: TripReport, pieces: Sequence[Piece], start: Start, *, whole: bool) -> TripReport:
    """Add what the stretches since the engine's start show."""
    general = general_denominator(pieces, start, whole=whole)
    common = [general["total"].verdict, general["idle"].verdict]
    strict = all_of([*common, general["strict"].verdict])
    evap = evap_criteria(pieces, start)
    return replace(
        told,
        start=start,
        general=general,
        general_strict=strict,
        general_lenient=all_of([*common, general["lenient"].verdict]),
        evap=tuple(evap),
        evap_verdict=all_of([strict, *(one.verdict for one in evap)]),
        warm_up=warm_up(pieces, start),
        voltage=watch_voltage(pieces),
        stretches=tuple(named_stretches(pieces, whole=whole)),
        metrics=trip_metrics(pieces, start, whole=whole),
    )


def total_of_gaps(pieces: Sequence[Piece]) -> float:
    """Add up the gaps one by one; `sum` rounds differently in newer Pythons and browsers."""
    seconds = 0.0
    for piece in pieces:
        if piece.gap:
            seconds += piece.length
    return seconds


def chance_of(monitor: Monitor, metrics: Mapping[str, Bounds]) -> MonitorChance:
    """Compare what a monitor usually needs with what the trip had.

    A monitor for which no condition is known stays unknown, unless it runs all the time.
    """
    results = [_judge(condition, metrics) for condition in monitor.conditions]
    if not results:
        return MonitorChance(monitor.id, "could" if monitor.continuous else "unknown", (), ())
    joined = all_of([result.verdict for result in results])
    chance = {"met": "could", "not-met": "could-not", "unknown": "unknown"}[joined]
    missing = tuple(result for result in results if result.verdict != "met")
    met = tuple(dict.fromkeys(result.metric for result in results if result.verdict == "met"))
    return MonitorChance(monitor.id, chance, missing, met)


def _judge(condition: Condition, metrics: Mapping[str, Bounds]) -> ConditionResult:
    bounds = metrics.get(condition.metric, Bounds(None, None))
    verdicts = []
    if condition.at_least is not None:
        verdicts.append(verdict(bounds, condition.at_least))
    if condition.at_most is not None:
        verdicts.append(verdict_at_most(bounds, condition.at_most))
    return ConditionResult(
        condition.metric,
        condition.at_least,
        condition.at_most,
        bounds.low,
        bounds.high,
        all_of(verdicts),
        condition.source,
    )


def watch_voltage(pieces: Sequence[Piece]) -> Voltage:
    """Look for low voltage while the engine runs, leaving out cranking.

    Left out are rpm below 400 and the first 5 s after it rises above (common practice).
    """
    lowest: float | None = None
    seconds = seen = 0.0
    since: float | None = None
    found: list[Stretch] = []
    for piece in pieces:
        rpm = None if piece.gap else piece.values.get("rpm")
        volts = piece.values.get("voltage")
        if rpm is None or rpm < STARTED:
            since = None
            continue
        since = piece.start if since is None else since
        if volts is None or piece.start - since < LONGEST_HOLD:
            continue
        seen += piece.length
        lowest = volts if lowest is None else min(lowest, volts)
        if volts < LOW_VOLTAGE:
            seconds += piece.length
            _extend(found, piece)
    state = "unknown" if seen == 0.0 else "none-seen"
    return Voltage("low-seen" if found else state, lowest, seconds, tuple(found))


def _extend(found: list[Stretch], piece: Piece) -> None:
    end = piece.start + piece.length
    if found and found[-1].end == piece.start:
        found[-1] = Stretch("low-voltage", found[-1].start, end)
    else:
        found.append(Stretch("low-voltage", piece.start, end))
