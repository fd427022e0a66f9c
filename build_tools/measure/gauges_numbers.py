"""Room reasoning: numbers as people type them, their units, and likely slips of either.

Reads one number, converts it, and says plainly when it cannot. Before a number far from what a
gauge expects is trusted, it asks; it never changes a reading by itself. It knows no band.
`assets/measure/gauges-numbers.js` is its twin.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from build_tools.knowledge.nearest import nearest

_NUMBER: Final = re.compile(r"([+-]?)([0-9]+)(?:([.,])([0-9]+))?")
_THOUSANDS: Final = 3
_WITH_EXPONENT: Final = 1e21
# No meter shows more; beyond it, arithmetic with units and tables overflows.
LARGEST: Final = 1e12

Plain = Mapping[str, Any]


class ReadingRefused(ValueError):  # noqa: N818 - reads as a sentence where it is caught
    """Say why a reading cannot be used.

    `field` names what was refused (`value`, `unit` or a condition), `reason` is a short
    code, `given` is what was typed and `options` what would have been understood.
    """

    def __init__(self, field: str, reason: str, given: object, options: Iterable[str] = ()) -> None:
        self.field = field
        self.reason = reason
        self.given = _shown(given)
        self.options = tuple(options)
        super().__init__(f"{field}: {reason} ({self.given})")


def _shown(given: object) -> str:
    if isinstance(given, bool):
        return "true" if given else "false"
    if isinstance(given, float) and given.is_integer() and abs(given) < _WITH_EXPONENT:
        return str(int(given))
    return "" if given is None else str(given)


def read_number(given: object, field: str) -> float:
    """Read a number given as a number or as text such as `12.5`, `12,5` or `-3`.

    A comma followed by three digits is refused, because it may stand for a decimal point
    or for thousands. So are words, infinities and not-a-number.
    """
    if isinstance(given, bool) or given is None or given == "":
        raise ReadingRefused(field, "not-a-number", given)
    if isinstance(given, (int, float)):
        if not abs(given) <= LARGEST:
            raise ReadingRefused(
                field, "not-finite", f"{given:.3g}" if isinstance(given, float) else "a long number"
            )
        return float(given)
    if not isinstance(given, str):
        raise ReadingRefused(field, "not-a-number", type(given).__name__)
    match = _NUMBER.fullmatch(given.strip().replace("\N{MINUS SIGN}", "-"))
    if match is None:
        raise ReadingRefused(field, "not-a-number", given)
    sign, whole, point, decimals = match.groups()
    if point == "," and len(decimals) == _THOUSANDS:
        raise ReadingRefused(field, "comma-or-thousands", given)
    number = float(f"{sign}{whole}.{decimals or 0}")
    if not abs(number) <= LARGEST:
        raise ReadingRefused(field, "not-finite", given)
    return number


def known_unit(given: object, accepts: Iterable[str], units: Plain, field: str = "unit") -> str:
    """Return the accepted unit that `given` names, by id or symbol."""
    allowed = list(accepts)
    text = given.strip() if isinstance(given, str) else _shown(given)
    if text in allowed:
        return text
    for unit in allowed:
        names = [unit, units.get(unit, {}).get("symbol", unit)]
        if text.lower() in [name.lower() for name in names]:
            return unit
    raise ReadingRefused(field, "unknown-unit", text, nearest(text, allowed) or allowed)


def convert(value: float, source: str, target: str, units: Plain) -> float:
    """Convert a value between two units of one quantity.

    A unit's `factor` and `offset` lead to the canonical unit of its quantity:
    canonical = value * factor + offset. Units of two quantities are refused.
    """
    if source == target:
        return value
    start, end = units.get(source), units.get(target)
    if start is None or end is None or start["canonical"] != end["canonical"]:
        raise ReadingRefused("unit", "unknown-unit", source, [target])
    base = value * float(start["factor"]) + float(start["offset"])
    return (base - float(end["offset"])) / float(end["factor"])


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
    """One typed number with what is plausible for it, in the canonical unit."""

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
