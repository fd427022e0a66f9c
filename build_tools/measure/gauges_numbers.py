"""Room reasoning: numbers as people type them, and their units.

Reads one number, converts it, and says plainly when it cannot. It knows no gauge and no
band. `assets/measure/gauges-numbers.js` is its twin.
"""

import re
from collections.abc import Iterable, Mapping
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
