"""Room reasoning: limits for what a log of volts may be taken for.

When a resting stretch is a fair resting reading, when an implied draw is clear enough to be
entered, and what a battery holds when nobody says. `voltlog-limits.js` is its twin.
"""

from __future__ import annotations

from typing import Final

from build_tools.measure.sums_parts import Interval

# At least 3 h, better 8 h: AGM care text of an army manual (tm-9-6115-agm-care).
SOME_HOURS: Final = 3 * 3600.0
OVERNIGHT: Final = 8 * 3600.0
# Edges of the gauge for parked draw (parasitic-service-report, common practice).
SMALL_DRAW: Final = 0.05
LARGE_DRAW: Final = 0.085
# Volts a percent of charge: slope of the trade table for flooded and of the remembered ones.
VOLTS_PER_PERCENT: Final = {"flooded": 0.0076, "efb": 0.0076, "agm": 0.01, "gel": 0.01}
# What a car battery holds when nobody says, and how far a used one falls short of its
# label: our estimates.
TYPICAL_CAPACITY: Final = Interval(60.0, 45.0, 80.0)
USED_SHARE: Final = 0.8
LABEL_LIMITS: Final = (10.0, 300.0)  # as in the sums that take ampere-hours


def capacity_of(label: float | None) -> Interval:
    """Return the ampere-hours to count with: the label's, less for wear, or typical ones."""
    if label is None:
        return TYPICAL_CAPACITY
    return Interval(label, label * USED_SHARE, label)


def rest_of(seconds: float) -> str | None:
    """Return the rest that a stretch of this length counts as, None if it is too short."""
    if seconds >= OVERNIGHT:
        return "overnight"
    return "some-hours" if seconds >= SOME_HOURS else None


def draw_size(draw: Interval) -> str:
    """Return small, large or unclear: whether the whole range lies on one side."""
    if draw.high < SMALL_DRAW:
        return "small"
    return "large" if draw.low >= LARGE_DRAW else "unclear"
