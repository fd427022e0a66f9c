"""Room reasoning: suspect a slip of the unit or the decimal point before trusting a number.

Asks a question; it never changes a reading by itself. `assets/measure/gauges-slips.js` is its twin.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from build_tools.measure.gauges_numbers import Plain, convert

_SHIFTS: Final = (0.1, 10.0, 0.01, 100.0, 0.001, 1000.0)
# A gauge whose lowest edge is at least this share of its highest plausible value has a narrow
# working zone (12.06 to 12.6 of 16.5 V), so a reading ten times off stands out. A gauge of
# small limits (0.05 V) has none: there a tiny reading is simply a good one.
_ZONE_SHARE: Final = 0.25
_ZONE_MARGIN: Final = 0.15
_FAR_BELOW: Final = 1 / 500


@dataclass(frozen=True)
class SlipQuestion:
    """Ask whether another value or unit was meant; no weight is used until answered.

    `why` is `other-unit`, `decimal-point` or `outside-plausible`; in the last case no likely
    value was found. `low` and `high` are the plausible limits in `unit_of_limits`.
    """

    field: str
    typed_value: float
    typed_unit: str
    likely_value: float | None
    likely_unit: str | None
    why: str
    low: float
    high: float
    unit_of_limits: str


@dataclass(frozen=True)
class Typed:
    """Hold one typed number with what is plausible for it, in the canonical unit."""

    field: str
    value: float
    unit: str
    canonical_unit: str
    accepts: tuple[str, ...]
    low: float
    high: float


def edge_span(gauge: Plain) -> tuple[float, float]:
    """Return the lowest and highest edge printed in any table of the gauge."""
    edges: list[float] = []
    for table in gauge["tables"]:
        for band in table["bands"]:
            for key in ("from", "below"):
                edge = band.get(key)
                if isinstance(edge, (int, float)):
                    edges.append(float(edge))
                elif edge is not None:
                    edges.extend(float(point[1]) for point in edge["points"])
    return (min(edges), max(edges)) if edges else (0.0, 0.0)


def _candidates(typed: Typed, units: Plain) -> Iterator[tuple[float, float, str, str]]:
    """Yield (canonical value, value, unit, why) of what may have been meant, likeliest first."""
    for unit in typed.accepts:
        if unit != typed.unit:
            other = convert(typed.value, unit, typed.canonical_unit, units)
            yield other, typed.value, unit, "other-unit"
    for shift in _SHIFTS:
        moved = typed.value * shift
        yield (
            convert(moved, typed.unit, typed.canonical_unit, units),
            moved,
            typed.unit,
            ("decimal-point"),
        )


def plausible_slip(
    typed: Typed, units: Plain, zone: tuple[float, float] | None = None
) -> SlipQuestion | None:
    """Ask about a value outside the plausible limits; None when it lies within them.

    `zone` narrows what the likely value may be; without it the plausible limits do.
    """
    value = convert(typed.value, typed.unit, typed.canonical_unit, units)
    if typed.low <= value <= typed.high:
        return None
    low, high = zone or (typed.low, typed.high)
    for other, shown, unit, why in _candidates(typed, units):
        if low <= other <= high:
            return _question(typed, shown, unit, why)
    return _question(typed, None, None, "outside-plausible")


def gauge_slip(gauge: Plain, typed: Typed, units: Plain) -> SlipQuestion | None:
    """Ask about a gauge reading that is outside plausible, or plausible but likely a slip."""
    lowest, highest = edge_span(gauge)
    value = convert(typed.value, typed.unit, typed.canonical_unit, units)
    has_zone = lowest > 0 and lowest >= _ZONE_SHARE * typed.high
    zone = None
    if has_zone:
        zone = (lowest * (1 - _ZONE_MARGIN), min(highest * (1 + _ZONE_MARGIN), typed.high))
    outside = plausible_slip(typed, units, zone)
    if outside is not None:
        return outside
    if zone is not None:
        return _slip_into_zone(typed, value, zone, units)
    if 0 < value < lowest * _FAR_BELOW:
        return _slip_from_far_below(typed, (lowest, highest), units)
    return None


def _slip_into_zone(
    typed: Typed, value: float, zone: tuple[float, float], units: Plain
) -> SlipQuestion | None:
    low, high = zone
    if low / 2 <= value or value == 0:
        return None
    for other, shown, unit, why in _candidates(typed, units):
        if low <= other <= high:
            return _question(typed, shown, unit, why)
    return None


def _slip_from_far_below(
    typed: Typed, edges: tuple[float, float], units: Plain
) -> SlipQuestion | None:
    lowest, highest = edges
    for other, shown, unit, why in _candidates(typed, units):
        near = lowest / 10 <= other <= highest * 10 and other <= typed.high
        if why == "other-unit" and near:
            return _question(typed, shown, unit, why)
    return None


def _question(typed: Typed, value: float | None, unit: str | None, why: str) -> SlipQuestion:
    return SlipQuestion(
        field=typed.field,
        typed_value=typed.value,
        typed_unit=typed.unit,
        likely_value=value,
        likely_unit=unit,
        why=why,
        low=typed.low,
        high=typed.high,
        unit_of_limits=typed.canonical_unit,
    )
