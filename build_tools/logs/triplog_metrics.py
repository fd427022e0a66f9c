"""Room reasoning: the figures of a trip that bear on monitors.

The regulation's general denominator (a drive that counts), its evaporative addition and the
warm-up cycle are used as a proxy: meeting them does not prove that a monitor ran. Limits are
from memory unless their line says otherwise. `triplog-metrics.js` does the same arithmetic in
the same order.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from build_tools.logs.triplog_timeline import (
    LONGEST_HOLD,
    STARTED,
    Bounds,
    Piece,
    Stretch,
    all_of,
    at_least,
    at_most,
    both,
    longest,
    running,
    stretches,
    total,
    verdict,
    verdict_at_most,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

COLDEST: Final = (20.0 - 32.0) * 5.0 / 9.0  # 20 degF
LEAST_PRESSURE: Final = 75.3  # kPa, standard atmosphere at 8,000 ft (computed)
FAST: Final = 25.0 * 1.609344  # 25 mph
FAST_STRICT: Final = 41.0  # whole km/h surely above 25 mph
FAST_LENIENT: Final = 40.0  # whole km/h that may be above it
STILL: Final = 1.609344  # 1 mph
STILL_WHOLE: Final = 1.0
DRIVE_SECONDS: Final = 600.0
FAST_SECONDS: Final = 300.0
IDLE_SECONDS: Final = 30.0
EVAP_LOW: Final = (40.0 - 32.0) * 5.0 / 9.0
EVAP_HIGH: Final = (95.0 - 32.0) * 5.0 / 9.0
EVAP_OVER: Final = 12.0 * 5.0 / 9.0
RISE: Final = 40.0 * 5.0 / 9.0  # second-hand: several makers' texts
WARM: Final = (160.0 - 32.0) * 5.0 / 9.0  # second-hand: several makers' texts
WARM_WHOLE: Final = 71.0
WARM_DIESEL: Final = (140.0 - 32.0) * 5.0 / 9.0
CRUISE: Final = (64.0, 97.0)  # about 40 to 60 mph, common practice
CRUISE_SECONDS: Final = 60.0
COAST_FROM, COAST_TO, COAST_SECONDS = 64.0, 40.0, 8.0  # our estimate
LATE_START: Final = 30.0  # common practice


@dataclass(frozen=True)
class Criterion:
    """Hold one criterion: its figure's limits, what is wanted, and met / not-met / unknown."""

    id: str
    low: float | None
    high: float | None
    limit: float
    verdict: str


@dataclass(frozen=True)
class Start:
    """Say where the engine's start lies in the log.

    `missed` is how many seconds of running the log did not see, by the car's own clock.
    `seen` is false when the first sample already has the engine running and no clock tells.
    """

    index: int
    missed: float
    seen: bool


def find_start(pieces: Sequence[Piece]) -> Start | None:
    """Find the first stretch in which the engine surely runs; None if there is none."""
    for index, piece in enumerate(pieces):
        rpm, since = piece.values.get("rpm"), piece.values.get("run-time")
        if (rpm is not None and rpm > STARTED) or (rpm is None and since is not None and since > 0):
            missed = since if since is not None and since > LONGEST_HOLD else 0.0
            return Start(index, missed, index > 0 or since is not None)
    return None


def surroundings(piece: Piece) -> bool | None:
    """Tell whether air and altitude let the stretch count."""
    warm = at_least(piece.values.get("ambient"), COLDEST)
    return both(warm, at_least(piece.values.get("pressure"), LEAST_PRESSURE))


def is_idle(*, whole: bool) -> Callable[[Piece], bool | None]:
    """Make the test for idling: standing with the engine running. The pedal cannot be seen."""
    limit = STILL_WHOLE if whole else STILL
    return lambda piece: both(running(piece), at_most(piece.values.get("speed"), limit))


def is_cruise(piece: Piece) -> bool | None:
    """Tell whether the car goes at a steady road speed with the engine running."""
    speed = piece.values.get("speed")
    return both(running(piece), both(at_least(speed, CRUISE[0]), at_most(speed, CRUISE[1])))


def general_denominator(
    pieces: Sequence[Piece], start: Start, *, whole: bool
) -> dict[str, Criterion]:
    """Judge the three criteria of a drive that counts; speed once strict and once lenient.

    `pieces` begin at the engine's start. Seconds the log did not see count only as possible.
    """
    idle = is_idle(whole=whole)
    time = total(pieces, lambda piece: both(running(piece), surroundings(piece)))
    if time.high is not None:
        time = Bounds(time.low, time.high + start.missed)
    found = {"total": _criterion("total", time, DRIVE_SECONDS)}
    for name, limit in (("strict", FAST_STRICT), ("lenient", FAST_LENIENT)):
        fast = total(pieces, _fast(limit if whole else FAST))
        if fast.high is not None:
            fast = Bounds(fast.low, fast.high + start.missed)
        found[name] = _criterion(f"speed-{name}", fast, FAST_SECONDS)
    still = longest(pieces, lambda piece: both(idle(piece), surroundings(piece)))
    if start.missed and still.high is not None:
        still = Bounds(still.low, max(still.high, start.missed))
    found["idle"] = _criterion("idle", still, IDLE_SECONDS)
    return found


def _fast(limit: float) -> Callable[[Piece], bool | None]:
    return lambda piece: both(
        both(running(piece), at_least(piece.values.get("speed"), limit)), surroundings(piece)
    )


def evap_criteria(pieces: Sequence[Piece], start: Start) -> list[Criterion]:
    """Judge what the vapor test adds: mild air for long enough, and a cool, even start."""

    def mild(piece: Piece) -> bool | None:
        air = piece.values.get("ambient")
        inside = both(at_least(air, EVAP_LOW), at_most(air, EVAP_HIGH))
        return both(running(piece), inside)

    time = total(pieces, mild)
    if time.high is not None:
        time = Bounds(time.low, time.high + start.missed)
    cool = start_value(pieces, start, "coolant")
    over = start_over_ambient(pieces, start)
    cold = Criterion("start-coolant-low", *_pair(cool), EVAP_LOW, verdict(cool, EVAP_LOW))
    hot = Criterion("start-coolant-high", *_pair(cool), EVAP_HIGH, verdict_at_most(cool, EVAP_HIGH))
    near = Criterion(
        "start-coolant-over-ambient", *_pair(over), EVAP_OVER, verdict_at_most(over, EVAP_OVER)
    )
    return [_criterion("mild-air", time, DRIVE_SECONDS), cold, hot, near]


def start_value(pieces: Sequence[Piece], start: Start, channel: str) -> Bounds:
    """Return a channel's value at the engine's start; unbounded if the start was missed."""
    if start.missed > LATE_START:
        return Bounds(None, None)
    for piece in pieces:
        if piece.start > pieces[0].start + LONGEST_HOLD:
            break
        value = piece.values.get(channel)
        if value is not None:
            return Bounds(value, value)
    return Bounds(None, None)


def start_over_ambient(pieces: Sequence[Piece], start: Start) -> Bounds:
    """Return how far coolant stood above the air at the start."""
    cool = start_value(pieces, start, "coolant")
    air = start_value(pieces, start, "ambient")
    if cool.low is None or air.low is None:
        return Bounds(None, None)
    return Bounds(cool.low - air.low, cool.low - air.low)


def extreme(pieces: Sequence[Piece], channel: str, *, highest: bool) -> Bounds:
    """Return the highest or lowest value seen while running; open where parts are missing."""
    best: float | None = None
    whole = True
    for piece in pieces:
        if piece.gap:
            whole = False
            continue
        if running(piece) is False:
            continue
        value = piece.values.get(channel)
        if value is None:
            whole = False
        elif best is None or (value > best if highest else value < best):
            best = value
    if highest:
        return Bounds(best, best if whole else None)
    return Bounds(best if whole else None, best)


def warm_up(pieces: Sequence[Piece], start: Start) -> dict[str, str]:
    """Judge the warm-up cycle: spark strict and lenient by whole degrees, and diesel."""
    begin = start_value(pieces, start, "coolant")
    peak = extreme(pieces, "coolant", highest=True)
    rise = _minus(peak, begin)
    if begin.low is None and start.missed > LATE_START:
        # What is seen to rise has risen at least that much.
        seen = extreme(pieces, "coolant", highest=False)
        rise = Bounds(_minus(peak, seen).low, None)
    risen = verdict(rise, RISE)
    return {
        "spark_strict": all_of([risen, verdict(peak, WARM)]),
        "spark_lenient": all_of([risen, verdict(peak, WARM_WHOLE)]),
        "diesel": all_of([risen, verdict(peak, WARM_DIESEL)]),
    }


def coast_downs(pieces: Sequence[Piece]) -> list[Stretch]:
    """List falls of speed that look like coasting; brakes cannot be seen."""
    found: list[Stretch] = []
    begin: float | None = None
    last = 0.0
    reached = False
    end = 0.0
    for piece in pieces:
        speed = None if piece.gap else piece.values.get("speed")
        falling = speed is not None and begin is not None and speed <= last
        if not falling:
            _end_coast(found, begin, end, reached=reached)
            begin, reached = None, False
        if speed is not None:
            if speed >= COAST_FROM:
                begin = piece.start
            if begin is not None and speed <= COAST_TO and not reached:
                reached, end = True, piece.start
            last = speed
    _end_coast(found, begin, end, reached=reached)
    return found


def _end_coast(found: list[Stretch], begin: float | None, end: float, *, reached: bool) -> None:
    if reached and begin is not None and end - begin >= COAST_SECONDS:
        found.append(Stretch("coast-down", begin, end))


def count_stops(pieces: Sequence[Piece]) -> int:
    """Count how often the car came to a stand from more than 10 km/h."""
    stops = 0
    moved = False
    for piece in pieces:
        speed = piece.values.get("speed")
        if speed is not None and speed > 10.0:  # noqa: PLR2004 - clearly moving, our estimate
            moved = True
        elif speed is not None and speed <= STILL and moved:
            stops += 1
            moved = False
    return stops


def trip_metrics(pieces: Sequence[Piece], start: Start, *, whole: bool) -> dict[str, Bounds]:
    """Compute every metric that the conditions of symptoms/monitors may name."""
    idle = is_idle(whole=whole)
    blind = any(piece.gap or piece.values.get("speed") is None for piece in pieces)
    coasts, stops = len(coast_downs(pieces)), count_stops(pieces)
    return {
        "start-coolant": start_value(pieces, start, "coolant"),
        "start-coolant-over-ambient": start_over_ambient(pieces, start),
        "peak-coolant": extreme(pieces, "coolant", highest=True),
        "ambient-low": extreme(pieces, "ambient", highest=False),
        "ambient-high": extreme(pieces, "ambient", highest=True),
        "longest-idle": longest(pieces, idle),
        "first-idle": _first(pieces, start, idle),
        "longest-cruise": longest(pieces, is_cruise),
        "cruise-total": total(pieces, is_cruise),
        "coast-downs": Bounds(float(coasts), None if blind else float(coasts)),
        "stops": Bounds(float(stops), None if blind else float(stops)),
        "driving-time": total(pieces, _driving),
        "running-time": _seen_and_missed(total(pieces, running), start),
        "fuel-level": start_value(pieces, start, "fuel"),
    }


def named_stretches(pieces: Sequence[Piece], *, whole: bool) -> list[Stretch]:
    """List idle, cruise and coast-down stretches in the order of their start."""
    found = stretches(pieces, "idle", IDLE_SECONDS, is_idle(whole=whole))
    found += stretches(pieces, "cruise", CRUISE_SECONDS, is_cruise)
    found += coast_downs(pieces)
    return sorted(found, key=lambda stretch: (stretch.start, stretch.kind))


def _driving(piece: Piece) -> bool | None:
    speed = piece.values.get("speed")
    return both(running(piece), None if speed is None else speed > STILL)


def _seen_and_missed(bounds: Bounds, start: Start) -> Bounds:
    return Bounds(bounds.low, None if bounds.high is None else bounds.high + start.missed)


def _first(pieces: Sequence[Piece], start: Start, wanted: Callable[[Piece], bool | None]) -> Bounds:
    """Return how long something held from the engine's start on."""
    low = high = 0.0
    sure = start.missed <= LONGEST_HOLD
    for piece in pieces:
        truth = False if piece.gap else wanted(piece)
        if truth is False:
            break
        sure = sure and truth is True
        low = low + piece.length if sure else low
        high += piece.length
    return Bounds(low, None if start.missed > LONGEST_HOLD else high)


def _criterion(name: str, bounds: Bounds, limit: float) -> Criterion:
    return Criterion(name, bounds.low, bounds.high, limit, verdict(bounds, limit))


def _pair(bounds: Bounds) -> tuple[float | None, float | None]:
    return bounds.low, bounds.high


def _minus(one: Bounds, other: Bounds) -> Bounds:
    low = None if one.low is None or other.high is None else one.low - other.high
    high = None if one.high is None or other.low is None else one.high - other.low
    return Bounds(low, high)
