"""Room 2: say what a gauge is: conditions, bands, tables of edges, spread and meters.

Values are in the gauge's own unit unless a field says otherwise.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True, kw_only=True)
class Plausible:
    """Bound what may be entered at all; outside, a slip of unit or decimal is suspected."""

    low: float
    high: float
    source: str


@dataclass(frozen=True, kw_only=True)
class GaugeCondition:
    """Name a context that matters, and what to assume when it was not given.

    `weights` maps options to probabilities. `points` are (value, weight) pairs in the
    context's canonical unit. One of the two is empty.
    """

    id: str
    weights: Mapping[str, float]
    points: tuple[tuple[float, float], ...]
    source: str | None


@dataclass(frozen=True, kw_only=True)
class Band:
    """Name a range of readings and say in one sentence what it means."""

    id: str
    label: str
    says: str


@dataclass(frozen=True, kw_only=True)
class EdgeCurve:
    """Let an edge move with a number context: linear between points, clamped outside.

    `points` are (context value in `unit`, edge in the gauge's unit) pairs, ascending.
    """

    by: str
    unit: str
    points: tuple[tuple[float, float], ...]


Edge = float | EdgeCurve


@dataclass(frozen=True, kw_only=True)
class TableBand:
    """Bound one band: `start` belongs to it, `below` does not; None is open."""

    band: str
    start: Edge | None
    below: Edge | None
    source: str | None


@dataclass(frozen=True, kw_only=True)
class GaugeTable:
    """Hold band edges for the conditions in `fits` (context -> allowed options).

    An empty `fits` holds always. The first fitting table of a gauge wins.
    """

    fits: Mapping[str, tuple[str, ...]]
    source: str
    bands: tuple[TableBand, ...]


@dataclass(frozen=True, kw_only=True)
class Spread:
    """Add one standard deviation in quadrature when every condition in `when` holds."""

    when: Mapping[str, str]
    plus: float
    source: str


@dataclass(frozen=True, kw_only=True)
class Meter:
    """Hold a meter's limits: plus or minus `percent` of reading and `plus` in units."""

    percent: float
    plus: float


@dataclass(frozen=True, kw_only=True)
class Gauge:
    """Hold how a reading is interpreted."""

    id: str
    title: str
    summary: str
    status: str
    reviewed: str
    quantity: str
    unit: str
    accepts: tuple[str, ...]
    plausible: Plausible
    decimals: int
    conditions: tuple[GaugeCondition, ...]
    bands: tuple[Band, ...]
    tables: tuple[GaugeTable, ...]
    spread: tuple[Spread, ...]
    meters: Mapping[str, Meter]
    meters_source: str | None
    does_not_tell: str
