"""Room reasoning: the slope of a resting stretch and the parked draw it implies.

A straight line and a fading surface charge through block means; the error holds the
scatter, an unknown change of temperature, the meter's last digit, and the doubt in the
state-of-charge table. Nothing is read or drawn here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from build_tools.measure.sums_parts import Interval

if TYPE_CHECKING:
    from collections.abc import Sequence

SETTLE: Final = 3 * 3600.0  # surface charge falls fastest in the first hours: AGM care text
SLOPE_SHORTEST: Final = 3600.0
BLOCKS: Final = 200
LAST_PART: Final = 1800.0
LEAST_POINTS: Final = 6
SAME_READING: Final = 1e-6
ROWS_FOR_DIGIT: Final = 4000
# +1.2 mV per degree C for a battery is from memory; a swing of 10 degrees is our estimate.
TEMPERATURE_VOLTS: Final = 0.0012 * 10
# How far the table's slope may be off between its printed points: our estimate.
TABLE_DOUBT: Final = 0.25
# Hours in which what is left of the surface charge may fall to 1/e: our estimate.
DECAY_HOURS: Final = (0.7, 1.0, 1.5, 2.25, 3.4, 5.0)
# Decays that fit this much worse than the best one are still believed: our estimate.
STILL_FITS: Final = 1.2


@dataclass(frozen=True)
class RestSlope:
    """Hold a resting stretch.

    `volts` is the median of its last half hour. `slope` in volts an hour and `draw` in
    amperes are None when the stretch is too short to tell. `settling` says that it was
    too short to leave the first hours of surface charge out, so the draw may read high.
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


@dataclass(frozen=True)
class _Fit:
    """Hold a slope in volts an hour, its doubt, the decay's height and what is left over."""

    slope: float
    doubt: float
    height: float
    left_over: float

    @property
    def low(self) -> float:
        return self.slope - self.doubt

    @property
    def high(self) -> float:
        return self.slope + self.doubt


def _fit(points: Sequence[tuple[float, float]], decay: float | None, offset: float) -> _Fit:
    """Fit a straight line, with an exponential decay beside it unless `decay` is None.

    The slope is a weighted sum of the volts. A slow change of up to `offset` to either side,
    of temperature or of the meter's last digit, can move it by that times the sum of the
    weights' sizes, whatever its shape.
    """
    count = len(points)
    hours = [x for x, _ in points]
    decays = [0.0 if decay is None else math.exp(-x / decay) for x in hours]
    mean_x, mean_y = sum(hours) / count, sum(y for _, y in points) / count
    mean_d = sum(decays) / count
    xs = [x - mean_x for x in hours]
    ds = [d - mean_d for d in decays]
    ys = [y - mean_y for _, y in points]
    xx, dd = sum(x * x for x in xs), sum(d * d for d in ds)
    xd = sum(x * d for x, d in zip(xs, ds, strict=True))
    if decay is None:
        dd = 1.0  # no decay: the weights below become those of a straight line
    whole = xx * dd - xd * xd
    weights = [(dd * x - xd * d) / whole for x, d in zip(xs, ds, strict=True)]
    slope = sum(w * y for w, y in zip(weights, ys, strict=True))
    height = sum((xx * d - xd * x) / whole * y for x, d, y in zip(xs, ds, ys, strict=True))
    rest = sum((y - slope * x - height * d) ** 2 for x, d, y in zip(xs, ds, ys, strict=True))
    error = math.sqrt(rest / (count - (2 if decay is None else 3)) * dd / whole)
    doubt = 2 * error + offset * sum(abs(w) for w in weights)
    return _Fit(slope, doubt, height, rest)


def _slope(points: Sequence[tuple[float, float]], offset: float) -> Interval:
    """Return the slope in volts an hour once the surface charge is accounted for.

    A surface charge that still falls only makes the line steeper than the truth, so the
    line bounds it on one side; the fits with a decay bound it on the other.
    """
    line = _fit(points, None, offset)
    fits = [_fit(points, decay, offset) for decay in DECAY_HOURS]
    best = min(fits, key=lambda one: one.left_over)
    likely = [one for one in fits if one.left_over <= best.left_over * STILL_FITS]
    low, high = min(one.low for one in likely), max(one.high for one in likely)
    if best.height > 0:
        low = max(low, line.low)
    else:
        high = min(high, line.high)
    return Interval(min(max(best.slope, low), high), low, high)


def _smallest_step(volts: Sequence[float]) -> float:
    """Return the smallest difference between two different readings: the meter's last digit.

    A few thousand rows, evenly taken, show it as well as all of them.
    """
    stride = max(1, -(-len(volts) // ROWS_FOR_DIGIT))
    ordered = sorted(set(volts[::stride]))
    steps = [high - low for low, high in pairwise(ordered) if high - low > SAME_READING]
    return min(steps, default=0.0)


def _implied_draw(slope: Interval, capacity: Interval, volts_per_percent: float) -> Interval:
    def amperes(fall: float, hours: float, doubt: float) -> float:
        return max(-fall / (volts_per_percent * doubt) / 100 * hours, 0.0)

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
    hours = (kept[-1][0] - kept[0][0]) / 3600 if kept else 0.0
    if hours * 3600 < SLOPE_SHORTEST:
        return RestSlope(start, end, middle, None, None, settling)
    points = _block_means([t for t, _ in kept], [v for _, v in kept])
    if len(points) < LEAST_POINTS:
        return RestSlope(start, end, middle, None, None, settling)
    in_hours = [((t - kept[0][0]) / 3600, v) for t, v in points]
    offset = (TEMPERATURE_VOLTS + _smallest_step([v for _, v in kept])) / 2
    slope = _slope(in_hours, offset)
    draw = _implied_draw(slope, capacity, volts_per_percent)
    return RestSlope(start, end, middle, slope, draw, settling)
