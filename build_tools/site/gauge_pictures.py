"""Room 5: turn the tables of a gauge into rulers and rows of edges.

Hatching says how far a band is from normal: blank for the first level of the check that
is read on the gauge, closer lines for later levels. It interprets no reading.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise

from markupsafe import Markup

from build_tools.knowledge import markup
from build_tools.knowledge.entries import Check, Edge, EdgeCurve, Gauge, GaugeTable
from build_tools.knowledge.quantities import between
from build_tools.site.page_press import Press, View
from build_tools.site.scale_drawing import ScaleBand, draw_scale, picture_range

_DENSITIES = {1: (0,), 2: (0, 3), 3: (0, 2, 4), 4: (0, 1, 3, 4)}
_MOST_PICTURES = 3


@dataclass(frozen=True)
class _At:
    """Fix the condition a moving edge depends on, and say so in words."""

    value: float | None
    words: str


def densities(gauge: Gauge, check: Check | None) -> Mapping[str, int]:
    """Return the hatch density of each band: 0 for the normal level's bands."""
    if check is None:
        count = len(gauge.bands)
        return {band.id: min(index, 4) for index, band in enumerate(gauge.bands) if count}
    steps = _DENSITIES.get(len(check.levels), (0, 1, 2, 3, 4))
    return {
        band: steps[min(index, len(steps) - 1)]
        for index, level in enumerate(check.levels)
        for band in level.bands
    }


def table_views(press: Press, gauge: Gauge, check: Check | None) -> list[View]:
    """Return every table as pictures, rows and a heading, in the order of the file."""
    hatch = densities(gauge, check)
    reach = _shared_reach(gauge)
    labels = {band.id: band for band in gauge.bands}
    views = []
    for table in gauge.tables:
        heading = _heading(press, table)
        views.append(
            {
                "heading": heading,
                "pictures": list(_pictures(press, gauge, table, (hatch, reach))),
                "mark": press.mark(table.source),
                "rows": [
                    {
                        "label": labels[row.band].label if row.band in labels else row.band,
                        "says": labels[row.band].says if row.band in labels else "",
                        "density": hatch.get(row.band, 0),
                        "from": _edge_words(press, gauge, row.start),
                        "below": _edge_words(press, gauge, row.below),
                        "mark": press.mark(row.source or table.source),
                    }
                    for row in table.bands
                ],
            }
        )
    return views


def _shared_reach(gauge: Gauge) -> tuple[float, float]:
    """Return one range for all rulers of a gauge: every edge of every table lies inside."""
    edges = sorted(
        {
            value
            for table in gauge.tables
            for row in table.bands
            for edge in (row.start, row.below)
            if edge is not None
            for value in _edge_values(edge)
        }
    )
    bands = [ScaleBand("", low, high, 0) for low, high in pairwise([None, *edges, None])]
    return picture_range(bands)


def _edge_values(edge: Edge) -> list[float]:
    return [value for _, value in edge.points] if isinstance(edge, EdgeCurve) else [edge]


def _heading(press: Press, table: GaugeTable) -> str:
    """Say what a table holds for: "Flooded or EFB battery" or "" for always."""
    parts = []
    for context_id, wanted in table.fits.items():
        labels = [markup.lower_first(press.option_label(context_id, one)) for one in wanted]
        parts.append(f"{press.fact_title(context_id)}: {' or '.join(labels)}")
    return "; ".join(parts)


def _pictures(
    press: Press,
    gauge: Gauge,
    table: GaugeTable,
    look: tuple[Mapping[str, int], tuple[float, float]],
) -> Iterator[View]:
    """Draw a table once, or at up to three conditions where its edges move."""
    hatch, reach = look
    names = {band.id: band.label for band in gauge.bands}
    symbol = markup.unit_symbol(gauge.unit, press.catalogue.vocabulary.units)
    for at in _conditions(press, table):
        bands = [
            ScaleBand(
                names.get(row.band, row.band),
                edge_value(row.start, at.value),
                edge_value(row.below, at.value),
                hatch.get(row.band, 0),
            )
            for row in table.bands
        ]
        title = f"Scale of {markup.lower_first(gauge.title)}. {_spoken(bands, symbol)}"
        picture = draw_scale(bands, unit=symbol, title=title, reach=reach)
        yield {"svg": Markup(picture), "at": at.words}  # noqa: S704 - drawn from escaped labels


def _spoken(bands: list[ScaleBand], symbol: str) -> str:
    parts = []
    for band in bands:
        low = None if band.low is None else markup.with_unit(band.low, symbol)
        high = None if band.high is None else markup.with_unit(band.high, symbol)
        reach = (
            f"from {low} to {high}" if low and high else f"from {low}" if low else f"below {high}"
        )
        parts.append(f"{band.label}: {reach}")
    return "; ".join(parts) + "."


def _conditions(press: Press, table: GaugeTable) -> list[_At]:
    curves = [
        edge
        for row in table.bands
        for edge in (row.start, row.below)
        if isinstance(edge, EdgeCurve)
    ]
    if not curves:
        return [_At(None, "")]
    longest = max(curves, key=lambda curve: len(curve.points))
    points = [value for value, _ in longest.points]
    middle = points[len(points) // 2]
    chosen = sorted({points[0], middle, points[-1]})[:_MOST_PICTURES]
    symbol = markup.unit_symbol(longest.unit, press.catalogue.vocabulary.units)
    title = press.fact_title(longest.by)
    return [_At(value, f"{title}: {markup.with_unit(value, symbol)}") for value in chosen]


def edge_value(edge: Edge | None, at: float | None) -> float | None:
    """Return an edge as a number; a curve is read at `at`, in the curve's own unit.

    Linear between points, clamped outside, as the gauge contract says.
    """
    if edge is None or not isinstance(edge, EdgeCurve):
        return edge
    return between(edge.points, edge.points[0][0] if at is None else at)


def _edge_words(press: Press, gauge: Gauge, edge: Edge | None) -> list[str]:
    """Say an edge in words, one line for each point of a curve; [] for an open end."""
    units = press.catalogue.vocabulary.units
    symbol = markup.unit_symbol(gauge.unit, units)
    if edge is None:
        return []
    if not isinstance(edge, EdgeCurve):
        return [markup.with_unit(edge, symbol)]
    by = markup.unit_symbol(edge.unit, units)
    return [
        f"{markup.with_unit(value, symbol)} at {markup.with_unit(at, by)}"
        for at, value in edge.points
    ]
