"""Room reasoning: read a log of battery volts over time.

Finds cranking dips, charging and resting stretches, and what they say: lowest cranking
volts, charging set-point and its sag, dips while driving, resting slope and the parked
draw it implies, each with its error. It reads no file and draws nothing.
`site_overrides/assets/logs/voltlog.js` is its twin.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from build_tools.logs.voltlog_slope import RestSlope, rest_slope

if TYPE_CHECKING:
    from collections.abc import Sequence

    from build_tools.measure.sums_parts import Interval

# Working limits of the reader of logs: common practice, no source.
CHARGING_FROM: Final = 13.2
CHARGING_UNTIL: Final = 12.9
CRANK_FALL: Final = 0.7
CRANK_BELOW: Final = 12.0
CRANK_LONGEST: Final = 20.0
RECOVERED: Final = 0.7
START_WITHIN: Final = 60.0
SHORT_DIP: Final = 10.0
DRIVING_DIP_BELOW: Final = 12.0
SETTLE_CHARGING: Final = 120.0
REST_SHORTEST: Final = 600.0
GAP_LEAST: Final = 60.0
GAP_STEPS: Final = 10
COARSE_STEP: Final = 1.0


@dataclass(frozen=True)
class Stretch:
    """Hold one stretch: `kind` is crank, charging or rest; times in seconds of the log."""

    kind: str
    first: int
    last: int
    start: float
    end: float


@dataclass(frozen=True)
class Crank:
    """Hold a cranking dip: volts before, lowest volts, and whether charging followed."""

    at: float
    before: float
    lowest: float
    started: bool


@dataclass(frozen=True)
class Charging:
    """Hold a charging stretch: median volts, the low and high ends, short dips in it."""

    start: float
    end: float
    set_point: float
    low: float
    high: float
    dips: int
    lowest_dip: float | None


@dataclass(frozen=True)
class VoltLog:
    """Hold all that was found.

    `start` is the time of the first row in order, `step` the median time between rows, both
    in seconds.
    """

    rows: int
    start: float
    out_of_order: int
    step: float
    gaps: int
    duration: float
    coarse: bool
    stretches: tuple[Stretch, ...]
    cranks: tuple[Crank, ...]
    charging: tuple[Charging, ...]
    rests: tuple[RestSlope, ...]


@dataclass(frozen=True)
class _Rows:
    times: Sequence[float]
    volts: Sequence[float]
    gap: float


def median(values: Sequence[float]) -> float:
    """Return the middle of some numbers, or the mean of the two in the middle."""
    return quantile(values, 0.5)


def quantile(values: Sequence[float], share: float) -> float:
    """Return the value below which `share` of the numbers lie, by straight lines."""
    ordered = sorted(values)
    place = share * (len(ordered) - 1)
    lower = int(place)
    upper = min(lower + 1, len(ordered) - 1)
    return ordered[lower] + (ordered[upper] - ordered[lower]) * (place - lower)


def _dip_end(rows: _Rows, first: int, before: float) -> int | None:
    """Return the row at which a dip that began at `first` is over, or None if too long.

    A weak battery does not come all the way back after a start that failed, so most of the
    way is enough.
    """
    start, lowest = rows.times[first], rows.volts[first]
    for index in range(first, len(rows.times)):
        if rows.times[index] - start > CRANK_LONGEST:
            return None
        if index > first and rows.times[index] - rows.times[index - 1] > rows.gap:
            return None
        lowest = min(lowest, rows.volts[index])
        most = lowest + (before - lowest) * RECOVERED
        if rows.volts[index] >= min(before - CRANK_FALL / 2, most):
            return index
    return None


def _starts_after(rows: _Rows, end: int) -> bool:
    limit = rows.times[end] + START_WITHIN
    index = end
    while index < len(rows.times) and rows.times[index] <= limit:
        if rows.volts[index] >= CHARGING_FROM:
            return True
        index += 1
    return False


def _find_cranks(rows: _Rows) -> list[tuple[Stretch, Crank]]:
    found = []
    index = 1
    while index < len(rows.times):
        # Most rows are far above any crank: the median is only worth its time below.
        if rows.volts[index] >= CRANK_BELOW:
            index += 1
            continue
        before = median(rows.volts[max(0, index - 5) : index])
        fell = rows.volts[index] < before - CRANK_FALL
        gap = rows.times[index] - rows.times[index - 1] > rows.gap
        if not fell or gap or before >= CHARGING_FROM:
            index += 1
            continue
        end = _dip_end(rows, index, before)
        if end is None:
            index += 1
            continue
        lowest = min(rows.volts[index:end])
        stretch = Stretch("crank", index, end - 1, rows.times[index], rows.times[end - 1])
        found.append((stretch, Crank(rows.times[index], before, lowest, _starts_after(rows, end))))
        index = end + 1
    return found


def _charging_end(rows: _Rows, first: int) -> int:
    """Return the last row of the charging stretch that begins at `first`."""
    last_high = first
    index = first + 1
    while index < len(rows.times):
        if rows.times[index] - rows.times[index - 1] > rows.gap:
            break
        if rows.volts[index] >= CHARGING_UNTIL:
            last_high = index
        elif rows.times[index] - rows.times[last_high] > SHORT_DIP:
            break
        index += 1
    return last_high


def _find_charging(rows: _Rows) -> list[Stretch]:
    found = []
    index = 0
    while index < len(rows.times):
        if rows.volts[index] < CHARGING_FROM:
            index += 1
            continue
        last = _charging_end(rows, index)
        found.append(Stretch("charging", index, last, rows.times[index], rows.times[last]))
        index = last + 1
    return [one for one in found if one.end - one.start >= START_WITHIN / 2]


def _find_rests(rows: _Rows, busy: list[Stretch]) -> list[Stretch]:
    """Return the long stretches between cranks, charging and gaps."""
    found: list[Stretch] = []
    taken = bytearray(len(rows.times))
    for stretch in busy:
        taken[stretch.first : stretch.last + 1] = b"\x01" * (stretch.last + 1 - stretch.first)
    first: int | None = None
    for index in range(len(rows.times) + 1):
        ends = index == len(rows.times) or bool(taken[index])
        gap = 0 < index < len(rows.times) and (rows.times[index] - rows.times[index - 1] > rows.gap)
        if first is not None and (ends or gap):
            last = index - 1
            if rows.times[last] - rows.times[first] >= REST_SHORTEST:
                found.append(Stretch("rest", first, last, rows.times[first], rows.times[last]))
            first = None
        if not ends and first is None:
            first = index
    return found


def _describe_charging(rows: _Rows, stretch: Stretch) -> Charging:
    settle = stretch.start + SETTLE_CHARGING
    if stretch.end - stretch.start < 2 * SETTLE_CHARGING:
        settle = stretch.start
    settled = [
        rows.volts[index]
        for index in range(stretch.first, stretch.last + 1)
        if rows.times[index] >= settle
    ]
    dips, lowest, inside = 0, None, False
    for index in range(stretch.first, stretch.last + 1):
        volts = rows.volts[index]
        below = volts < DRIVING_DIP_BELOW
        if below:
            dips += 0 if inside else 1
            lowest = volts if lowest is None else min(lowest, volts)
        inside = below
    return Charging(
        start=stretch.start,
        end=stretch.end,
        set_point=median(settled),
        low=quantile(settled, 0.05),
        high=quantile(settled, 0.95),
        dips=dips,
        lowest_dip=lowest,
    )


def _in_order(
    times: Sequence[float], volts: Sequence[float]
) -> tuple[list[float], list[float], int]:
    wrong = sum(1 for index in range(1, len(times)) if times[index] < times[index - 1])
    if wrong == 0:
        return list(times), list(volts), 0
    order = sorted(range(len(times)), key=lambda index: times[index])
    return [times[index] for index in order], [volts[index] for index in order], wrong


def analyse(
    times: Sequence[float],
    volts: Sequence[float],
    capacity: Interval,
    *,
    volts_per_percent: float,
) -> VoltLog:
    """Analyse a log.

    `times` in seconds, `volts` at the battery, one each per row, finite numbers only.
    `capacity` in ampere-hours turns the resting slope into a draw; `volts_per_percent`
    is the slope of the state-of-charge table of the battery's type.

    Raises:
        ValueError: if there are fewer than two rows, or the lists differ in length.
    """
    if len(times) != len(volts) or len(times) < 2:  # noqa: PLR2004 - two rows span a time
        raise ValueError("a log needs at least two rows of time and volts")
    ordered, levels, wrong = _in_order(times, volts)
    steps = [ordered[index] - ordered[index - 1] for index in range(1, len(ordered))]
    step = median(steps)
    rows = _Rows(ordered, levels, max(GAP_LEAST, GAP_STEPS * step))
    cranks = _find_cranks(rows)
    charging = _find_charging(rows)
    rests = _find_rests(rows, [stretch for stretch, _ in cranks] + charging)
    stretches = [stretch for stretch, _ in cranks] + charging + rests
    stretches.sort(key=lambda stretch: (stretch.first, stretch.kind))
    return VoltLog(
        rows=len(ordered),
        start=ordered[0],
        out_of_order=wrong,
        step=step,
        gaps=sum(1 for one in steps if one > rows.gap),
        duration=ordered[-1] - ordered[0],
        coarse=step > COARSE_STEP,
        stretches=tuple(stretches),
        cranks=tuple(crank for _, crank in cranks),
        charging=tuple(_describe_charging(rows, stretch) for stretch in charging),
        rests=tuple(
            rest_slope(
                ordered[stretch.first : stretch.last + 1],
                levels[stretch.first : stretch.last + 1],
                capacity,
                volts_per_percent=volts_per_percent,
            )
            for stretch in rests
        ),
    )
