"""Room reasoning: a trip as stretches of time in which every channel holds its last value.

Values are held for at most 5 s; longer gaps are not counted and break what is continuous
(common practice, no source). Every sum has a lower and an upper bound: what is unknown counts
only in the upper one. `triplog-timeline.js` does the same arithmetic in the same order.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from build_tools.logs.triplog_columns import Trip

LONGEST_HOLD: Final = 5.0
STARTED: Final = 400.0  # rpm above which the engine runs by itself (common practice)
SLACK: Final = 1e-6  # sums of many small steps may fall short of a round number by rounding


@dataclass(frozen=True)
class Piece:
    """Hold one stretch between two samples; a gap holds nothing and is not counted."""

    start: float
    length: float
    gap: bool
    values: dict[str, float | None]


@dataclass(frozen=True)
class Bounds:
    """Hold a figure of which only limits may be known; None is unbounded."""

    low: float | None
    high: float | None

    @property
    def known(self) -> bool:
        """Tell whether both limits are the same number."""
        return self.low is not None and self.low == self.high


@dataclass(frozen=True)
class Stretch:
    """Name a continuous stretch of the trip by kind, in seconds from the log's start."""

    kind: str
    start: float
    end: float


def pieces_of(trip: Trip) -> list[Piece]:
    """Cut a trip into stretches; channels that are not there stay None throughout.

    The last sample is a stretch of no length, so that its values are seen but not counted.
    """
    roles = list(trip.channels)
    last: dict[str, tuple[float, float]] = {}
    pieces = []
    times = trip.times
    for row, now in enumerate(times):
        for role in roles:
            value = trip.channels[role][row]
            if value is not None:
                last[role] = (now, value)
        length = times[row + 1] - now if row + 1 < len(times) else 0.0
        if length <= 0.0 and row + 1 < len(times):
            continue
        gap = length > LONGEST_HOLD
        values = {role: None if gap else _held(last.get(role), now) for role in roles}
        pieces.append(Piece(now, length, gap, values))
    return pieces


def _held(last: tuple[float, float] | None, now: float) -> float | None:
    if last is None or now - last[0] > LONGEST_HOLD:
        return None
    return last[1]


def running(piece: Piece) -> bool | None:
    """Tell whether the engine runs: by rpm, or by the time since start where rpm is missing."""
    rpm = piece.values.get("rpm")
    if rpm is not None:
        return rpm > 0.0
    since = piece.values.get("run-time")
    return None if since is None else since > 0.0


def both(one: bool | None, other: bool | None) -> bool | None:  # noqa: FBT001 - a truth table
    """Join two truths of which some may be unknown."""
    if one is False or other is False:
        return False
    return None if one is None or other is None else True


def at_least(value: float | None, limit: float) -> bool | None:
    """Compare with a limit that belongs to what is wanted; unknown stays unknown."""
    return None if value is None else value >= limit - SLACK


def at_most(value: float | None, limit: float) -> bool | None:
    """Compare with an upper limit that belongs to what is wanted; unknown stays unknown."""
    return None if value is None else value <= limit + SLACK


def total(pieces: Sequence[Piece], wanted: Callable[[Piece], bool | None]) -> Bounds:
    """Sum the seconds in which something holds."""
    low = high = 0.0
    for piece in pieces:
        if piece.gap:
            continue
        truth = wanted(piece)
        if truth is True:
            low += piece.length
        if truth is not False:
            high += piece.length
    return Bounds(low, high)


def longest(pieces: Sequence[Piece], wanted: Callable[[Piece], bool | None]) -> Bounds:
    """Return the longest unbroken stretch in which something holds."""
    low = high = best_low = best_high = 0.0
    for piece in pieces:
        truth = False if piece.gap else wanted(piece)
        low = low + piece.length if truth is True else 0.0
        high = high + piece.length if truth is not False else 0.0
        best_low = max(best_low, low)
        best_high = max(best_high, high)
    return Bounds(best_low, best_high)


def stretches(
    pieces: Sequence[Piece], kind: str, shortest: float, wanted: Callable[[Piece], bool | None]
) -> list[Stretch]:
    """List the unbroken stretches in which something surely holds."""
    found: list[Stretch] = []
    start: float | None = None
    end = 0.0
    for piece in pieces:
        if not piece.gap and wanted(piece) is True:
            start = piece.start if start is None else start
            end = piece.start + piece.length
            continue
        if start is not None and end - start >= shortest - SLACK:
            found.append(Stretch(kind, start, end))
        start = None
    if start is not None and end - start >= shortest - SLACK:
        found.append(Stretch(kind, start, end))
    return found


def verdict(bounds: Bounds, limit: float) -> str:
    """Say whether at least `limit` was reached: met, not-met or unknown."""
    if bounds.low is not None and bounds.low >= limit - SLACK:
        return "met"
    if bounds.high is not None and bounds.high < limit - SLACK:
        return "not-met"
    return "unknown"


def verdict_at_most(bounds: Bounds, limit: float) -> str:
    """Say whether the figure stayed at or below `limit`: met, not-met or unknown."""
    if bounds.high is not None and bounds.high <= limit + SLACK:
        return "met"
    if bounds.low is not None and bounds.low > limit + SLACK:
        return "not-met"
    return "unknown"


def all_of(verdicts: Sequence[str]) -> str:
    """Join verdicts: not met if any is not, unknown if any is unknown, else met."""
    if "not-met" in verdicts:
        return "not-met"
    return "unknown" if "unknown" in verdicts else "met"
