"""Room 5: draw a reading scale, a ruler with ticks and hatched, named bands.

The same drawing serves every gauge. It knows shapes and labels only: it interprets no
reading, and it uses no colour to carry meaning. All lengths are in the units of a
320-wide picture, which is the narrowest screen we promise.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

WIDTH = 320.0
_SIDE = 6.0
_LETTER = 7.0  # width of a letter at the label size in a wide face; labels wrap by it
_LINE = 13.0
_GAP = 6.0
_LEADER = 14.0
_BAND_HEIGHT = 26.0
_MINOR_PARTS = 5
_WANTED_TICKS = 5
_MAX_DENSITY = 4


@dataclass(frozen=True)
class ScaleBand:
    """Name one stretch of the ruler; `density` 0 is blank, higher is hatched closer.

    An end that is None runs off the picture.
    """

    label: str
    low: float | None
    high: float | None
    density: int


@dataclass(frozen=True)
class _Label:
    lines: tuple[str, ...]
    target: float

    @property
    def width(self) -> float:
        return max(len(line) for line in self.lines) * _LETTER + _GAP


def hatch_step(density: int) -> float | None:
    """Return the distance between hatch lines, or None for a blank band."""
    if density <= 0:
        return None
    return (12.0, 7.0, 4.5, 3.0)[min(density, _MAX_DENSITY) - 1]


def hatch_path(left: float, top: float, width: float, height: float, density: int) -> str:
    """Return path data of slanted lines clipped to a box, or "" for a blank one.

    Lines and not a pattern fill: they need no ids, so drawings can share a page.
    """
    step = hatch_step(density)
    if step is None:
        return ""
    parts = []
    offset = step / 2
    while offset < width + height:
        start, end = max(0.0, offset - height), min(width, offset)
        if end > start:
            parts.append(
                f"M{_n(left + start)} {_n(top + offset - start)}"
                f"L{_n(left + end)} {_n(top + offset - end)}"
            )
        offset += step
    return "".join(parts)


def swatch(density: int) -> str:
    """Draw a small box with the hatching of a band, for a legend."""
    hatch = hatch_path(0.5, 0.5, 27, 15, density)
    return (
        '<svg viewBox="0 0 28 16" aria-hidden="true" focusable="false">'
        '<rect x="0.5" y="0.5" width="27" height="15" fill="none" stroke="currentColor"/>'
        f'<path class="hatch" d="{hatch}"/></svg>'
    )


def draw_scale(
    bands: Sequence[ScaleBand], *, unit: str, title: str, reach: tuple[float, float] | None = None
) -> str:
    """Draw the ruler as SVG markup with a title for screen readers.

    Bands must be in ascending order and at least one must have an edge. `reach` fixes the
    values at the two ends, so that several rulers can be compared.

    Raises:
        ValueError: if no band has an edge, so there is nothing to rule.
    """
    low, high = reach or picture_range(bands)
    left, right = _SIDE, WIDTH - _SIDE

    def across(value: float) -> float:
        return left + (min(max(value, low), high) - low) / (high - low) * (right - left)

    shown = [
        (
            band,
            across(low if band.low is None else band.low),
            across(high if band.high is None else band.high),
        )
        for band in bands
    ]
    labels, top = _draw_labels(
        [_Label(_wrap(band.label, len(bands)), (start + end) / 2) for band, start, end in shown]
    )
    body = [_draw_band(start, end, top, band.density) for band, start, end in shown]
    ticks, bottom = _draw_ticks(low, high, top + _BAND_HEIGHT, unit)
    picture = labels + "".join(body) + ticks
    return (
        f'<svg viewBox="0 0 {_n(WIDTH)} {_n(bottom)}" role="img" '
        f'aria-label="{escape(title, quote=True)}">{picture}</svg>'
    )


def picture_range(bands: Sequence[ScaleBand]) -> tuple[float, float]:
    """Return the values at the two ends of the ruler: the edges with room beyond them.

    A scale whose first edge is small against its span starts at zero.
    """
    edges = sorted({edge for b in bands for edge in (b.low, b.high) if edge is not None})
    if not edges:
        raise ValueError("a scale needs at least one edge")
    span = edges[-1] - edges[0] or abs(edges[0]) or 1.0
    room = span * (0.28 if len(bands) > 2 else 0.6)  # noqa: PLR2004 - one edge needs more around it
    low, high = edges[0], edges[-1]
    if bands[0].low is None:
        low -= room
    if bands[-1].high is None:
        high += room
    if edges[0] > 0 and edges[0] <= span * 1.5:
        low = 0.0
    return low, high


def tick_step(span: float) -> float:
    """Return a round distance between numbered ticks: 1, 2 or 5 times a power of ten."""
    raw = span / _WANTED_TICKS
    power = 10.0 ** math.floor(math.log10(raw))
    return next(factor * power for factor in (1.0, 2.0, 5.0, 10.0) if factor * power >= raw * 0.999)


def _draw_band(start: float, end: float, top: float, density: int) -> str:
    hatch = hatch_path(start, top, end - start, _BAND_HEIGHT, density)
    lines = f'<path class="hatch" d="{hatch}"/>' if hatch else ""
    return (
        f'{lines}<rect class="scale__line" x="{_n(start)}" y="{_n(top)}" '
        f'width="{_n(end - start)}" height="{_n(_BAND_HEIGHT)}"/>'
    )


def _draw_ticks(low: float, high: float, top: float, unit: str) -> tuple[str, float]:
    step = tick_step(high - low)
    minor = step / _MINOR_PARTS
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    left, right = _SIDE, WIDTH - _SIDE
    parts = []
    index = math.ceil(low / minor - 1e-9)
    while index * minor <= high + minor * 1e-6:
        value = index * minor
        x = left + (value - low) / (high - low) * (right - left)
        major = index % _MINOR_PARTS == 0
        length = 9 if major else 4
        parts.append(
            f'<line class="scale__line" x1="{_n(x)}" y1="{_n(top)}" '
            f'x2="{_n(x)}" y2="{_n(top + length)}"/>'
        )
        if major:
            anchor = "start" if x < left + 12 else "end" if x > right - 12 else "middle"
            at = left if anchor == "start" else right if anchor == "end" else x
            parts.append(
                f'<text class="scale__tick-text" x="{_n(at)}" y="{_n(top + 21)}" '
                f'text-anchor="{anchor}">{_tick_text(value, decimals, unit)}</text>'
            )
        index += 1
    return "".join(parts), top + 26


def _tick_text(value: float, decimals: int, unit: str) -> str:
    shown = f"{value:.{decimals}f}".replace("-", "\N{MINUS SIGN}")
    return escape(f"{shown}\N{NO-BREAK SPACE}{unit}".strip())


def _draw_labels(labels: Sequence[_Label]) -> tuple[str, float]:
    """Set the names above the ruler in one row, or in two where one would overlap."""
    if sum(label.width for label in labels) <= WIDTH:
        rows = [list(range(len(labels)))]
    else:
        rows = [list(range(0, len(labels), 2)), list(range(1, len(labels), 2))]
    # The lower row leaves a slit for each leader that comes from the upper one.
    slots = [label.width if index in rows[0] else 8.0 for index, label in enumerate(labels)]
    low_at = _spread([label.target for label in labels], slots)
    heights = [max(len(labels[i].lines) for i in row) * _LINE for row in rows]
    bottom_top = heights[1] + 4 if len(rows) > 1 else 0.0
    ruler_top = bottom_top + heights[0] + _LEADER
    at = dict(enumerate(low_at))
    if len(rows) > 1:
        upper = _spread([low_at[i] for i in rows[1]], [labels[i].width for i in rows[1]])
        at.update(dict(zip(rows[1], upper, strict=True)))
    parts = []
    for number, row in enumerate(rows):
        base = bottom_top + heights[0] if number == 0 else heights[1]
        for i in row:
            parts.append(_draw_label(labels[i], at[i], base))
            parts.append(_draw_leader(labels[i].target, [at[i], low_at[i]], base, ruler_top))
    return "".join(parts), ruler_top


def _draw_label(label: _Label, x: float, base: float) -> str:
    top = base - (len(label.lines) - 1) * _LINE - 3
    spans = "".join(
        f'<tspan x="{_n(x)}" y="{_n(top + row * _LINE)}">{escape(line)}</tspan>'
        for row, line in enumerate(label.lines)
    )
    return f'<text text-anchor="middle">{spans}</text>'


def _draw_leader(target: float, path: Sequence[float], base: float, ruler_top: float) -> str:
    own, slit = path
    turn = ruler_top - _LEADER + 3
    points = f"M{_n(own)} {_n(base)}L{_n(slit)} {_n(max(base + 3, base))}"
    points += f"L{_n(slit)} {_n(turn)}L{_n(target)} {_n(ruler_top)}"
    return f'<path class="scale__leader" d="{points}"/>'


def _spread(targets: Sequence[float], widths: Sequence[float]) -> list[float]:
    """Place boxes in order near their targets so that none overlap and all stay inside."""
    at = [
        min(max(target, width / 2), WIDTH - width / 2)
        for target, width in zip(targets, widths, strict=True)
    ]
    for i in range(1, len(at)):
        at[i] = max(at[i], at[i - 1] + (widths[i - 1] + widths[i]) / 2)
    limit = WIDTH
    for i in reversed(range(len(at))):
        at[i] = min(at[i], limit - widths[i] / 2)
        limit = at[i] - widths[i] / 2
    return at


def _wrap(label: str, bands: int) -> tuple[str, ...]:
    """Break a name into lines short enough for its share of the picture."""
    room = max(8, int(WIDTH / bands / _LETTER) - 1)
    lines = [""]
    for word in label.split():
        longer = f"{lines[-1]} {word}".strip()
        if len(longer) <= room or not lines[-1]:
            lines[-1] = longer
        else:
            lines.append(word)
    return tuple(lines)


def _n(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")
