"""Room reasoning: the slope of a resting stretch and the parked draw it implies.

A straight line through block means; the error holds the scatter, an unknown change of
temperature, and the doubt in the state-of-charge table. Nothing is read or drawn here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from build_tools.reasoning.sums_parts import Interval

if TYPE_CHECKING:
    from collections.abc import Sequence

SETTLE: Final = 3 * 3600.0  # surface charge keeps falling for hours; source: AGM care text
SLOPE_SHORTEST: Final = 3600.0
BLOCKS: Final = 200
LAST_PART: Final = 1800.0
# +1.2 mV per degree C for a battery is from memory; a swing of 10 degrees is our estimate.
TEMPERATURE_VOLTS: Final = 0.0012 * 10
# How far the table's slope may be off between its printed points: our estimate.
TABLE_DOUBT: Final = 0.2


@dataclass(frozen=True)
class RestSlope:
    """Hold a resting stretch.

    `volts` is the median of its last half hour. `slope` in volts an hour and `draw` in
    amperes are None when the stretch is too short to tell. `settling` says that it was
    too short to leave the surface charge out, so the draw reads high.
    """

    start: float
    end: float
    volts: float
    slope: Interval | None
    draw: Interval | None
    settling: bool


def _block_means(times: Sequence[float], volts: Sequence[float]) -> list[tuple[float, float]]:
    """Average equal spans of time: fewer points, and scatter that is nearly independent."""
    start, span = times[0], times[-1] - times[0]
    sums: dict[int, tuple[float, float, int]] = {}
    for time, level in zip(times, volts, strict=True):
        block = min(int((time - start) / span * BLOCKS), BLOCKS - 1)
        time_sum, level_sum, count = sums.get(block, (0.0, 0.0, 0))
        sums[block] = (time_sum + time, level_sum + level, count + 1)
    return [
        (time_sum / count, level_sum / count)
        for _, (time_sum, level_sum, count) in sorted(sums.items())
    ]


def _line(points: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Return the least-squares slope and its standard error, per unit of the first axis."""
    count = len(points)
    mean_x = sum(x for x, _ in points) / count
    mean_y = sum(y for _, y in points) / count
    spread = sum((x - mean_x) * (x - mean_x) for x, _ in points)
    slope = sum((x - mean_x) * (y - mean_y) for x, y in points) / spread
    rest = sum((y - mean_y - slope * (x - mean_x)) ** 2 for x, y in points)
    return slope, math.sqrt(rest / (count - 2) / spread)


def _implied_draw(slope: Interval, capacity: Interval, volts_per_percent: float) -> Interval:
    def amperes(fall: float, hours: float, doubt: float) -> float:
        return max(-fall / (volts_per_percent * doubt) / 100 * hours, 0)

    return Interval(
        amperes(slope.value, capacity.value, 1),
        amperes(slope.high, capacity.low, 1 + TABLE_DOUBT),
        amperes(slope.low, capacity.high, 1 - TABLE_DOUBT),
    )


def rest_slope(
    times: Sequence[float],
    volts: Sequence[float],
    capacity: Interval,
    *,
    volts_per_percent: float,
) -> RestSlope:
    """Describe one resting stretch: its volts, its slope, and the draw that implies.

    The first three hours are left out where the stretch is long enough, because the
    surface charge is still falling then.
    """
    start, end = times[0], times[-1]
    ending = sorted(v for t, v in zip(times, volts, strict=True) if t >= end - LAST_PART)
    middle = (ending[(len(ending) - 1) // 2] + ending[len(ending) // 2]) / 2
    settling = end - start < 2 * SETTLE
    begin = start + ((end - start) / 2 if settling else SETTLE)
    kept = [(t, v) for t, v in zip(times, volts, strict=True) if t >= begin]
    enough = len(kept) > 3 and kept[-1][0] - kept[0][0] >= SLOPE_SHORTEST  # noqa: PLR2004 - a line and its error need four points
    if not enough:
        return RestSlope(start, end, middle, None, None, settling)
    points = _block_means([t for t, _ in kept], [v for _, v in kept])
    if len(points) <= 3:  # noqa: PLR2004 - as above
        return RestSlope(start, end, middle, None, None, settling)
    slope, error = _line(points)
    hours = (kept[-1][0] - kept[0][0]) / 3600
    per_hour = slope * 3600
    doubt = 2 * error * 3600 + TEMPERATURE_VOLTS / hours
    interval = Interval(per_hour, per_hour - doubt, per_hour + doubt)
    draw = _implied_draw(interval, capacity, volts_per_percent)
    return RestSlope(start, end, middle, interval, draw, settling)
