"""Room 1: numbers, clock times and units in the cells of a log.

Turns the cells of one column into numbers or seconds, and finds the unit a header names. It
knows nothing of cars. `csv-values.js` does the same in the same order.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Sequence

    from build_tools.logs.csv_reader import Table

_POINT: Final = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?")
_COMMA: Final = re.compile(r"[+-]?(?:[0-9]+,?[0-9]*|,[0-9]+)(?:[eE][+-]?[0-9]{1,3})?")
_GROUPED_POINT: Final = re.compile(r"[+-]?[0-9]{1,3}(?:,[0-9]{3})+(?:\.[0-9]+)?")
_GROUPED_COMMA: Final = re.compile(r"[+-]?[0-9]{1,3}(?:\.[0-9]{3})+(?:,[0-9]+)?")
_CLOCK: Final = re.compile(
    r"(?:.*[ T])?([0-9]{1,2}):([0-9]{2}):([0-9]{2}(?:[.,][0-9]{1,9})?) ?([AaPp])?[Mm]?Z?"
)
_MINUTES: Final = re.compile(r"([0-9]{1,3}):([0-9]{2}(?:[.,][0-9]{1,9})?)")
_LONGEST_CELL: Final = 64
_MOST: Final = 1e15
_NOTHING: Final = frozenset(
    ("", "-", "--", "---", "n/a", "na", "nan", "null", "none", "no data", "nodata", "?")
)
DAY: Final = 86_400.0
# How a header may write a unit -> the unit's id. Looked up in lower case, without blanks.
UNITS: Final = {
    "km/h": "km/h",
    "kmh": "km/h",
    "kph": "km/h",
    "km/hr": "km/h",
    "kmph": "km/h",
    "mph": "mph",
    "mi/h": "mph",
    "miles/h": "mph",
    "m/s": "m/s",
    "rpm": "rpm",
    "1/min": "rpm",
    "u/min": "rpm",
    "r/min": "rpm",
    "min-1": "rpm",
    "\u00b0c": "degC",
    "degc": "degC",
    "deg.c": "degC",
    "c": "degC",
    "celsius": "degC",
    "\u2103": "degC",
    "\u00b0f": "degF",
    "degf": "degF",
    "f": "degF",
    "fahrenheit": "degF",
    "\u2109": "degF",
    "v": "V",
    "volt": "V",
    "volts": "V",
    "mv": "mV",
    "%": "percent",
    "pct": "percent",
    "percent": "percent",
    "kpa": "kPa",
    "hpa": "hPa",
    "mbar": "hPa",
    "bar": "bar",
    "psi": "psi",
    "inhg": "inHg",
    "s": "s",
    "sec": "s",
    "secs": "s",
    "second": "s",
    "seconds": "s",
    "ms": "ms",
    "msec": "ms",
    "milliseconds": "ms",
    "min": "min",
    "minutes": "min",
}
_BRACKETED: Final = re.compile(r"[(\[{]([^()\[\]{}]*)[)\]}]")
_LAST_WORD: Final = re.compile(r"[_ ,/]([^_ ,]+)$")


def unit_of(text: str) -> str | None:
    """Find the unit a header names: in brackets, or as its last word; None if none is known."""
    for inner in reversed(_BRACKETED.findall(text)):
        found = UNITS.get(_squeezed(inner))
        if found:
            return found
    last = _LAST_WORD.search(text)
    # A lone letter as last word is no unit: "Bank 1 Sensor C".
    if last and len(last.group(1)) > 1:
        return UNITS.get(_squeezed(last.group(1)))
    return None


def unit_of_cell(text: str) -> str | None:
    """Find the unit a cell of a row of units names, with or without brackets."""
    return UNITS.get(_squeezed(text)) or unit_of(text)


def number_of(cell: str, decimal: str) -> float | None:
    """Read one number; None if the cell is none. Grouped thousands are understood."""
    if len(cell) > _LONGEST_CELL:
        return None
    comma = decimal == ","
    if (_COMMA if comma else _POINT).fullmatch(cell):
        plain = cell.replace(",", ".") if comma else cell
    elif (_GROUPED_COMMA if comma else _GROUPED_POINT).fullmatch(cell):
        plain = cell.replace(".", "").replace(",", ".") if comma else cell.replace(",", "")
    else:
        return None
    value = float(plain)
    return value if -_MOST < value < _MOST else None


def column_numbers(table: Table, column: int) -> tuple[list[float | None], int]:
    """Read a column as numbers; also return how many filled cells were no number."""
    decimal = table.decimal
    values: list[float | None] = []
    strange = 0
    for row in table.rows:
        cell = row[column]
        value = number_of(cell, decimal) if cell else None
        if value is None and cell and cell.lower() not in _NOTHING:
            strange += 1
        values.append(value)
    return values, strange


def clock_seconds(cell: str) -> float | None:
    """Read a time of day, with or without a date before it, as seconds since midnight.

    Two parts are minutes and seconds. None if the cell is no such time.
    """
    if len(cell) > _LONGEST_CELL:
        return None
    match = _CLOCK.fullmatch(cell)
    if match:
        hour, minute = int(match.group(1)), int(match.group(2))
        half = (match.group(4) or "").lower()
        if half:
            hour = hour % 12 + (12 if half == "p" else 0)
        return hour * 3600.0 + minute * 60.0 + float(match.group(3).replace(",", "."))
    match = _MINUTES.fullmatch(cell)
    if match:
        return int(match.group(1)) * 60.0 + float(match.group(2).replace(",", "."))
    return None


def column_times(table: Table, column: int) -> tuple[list[float | None], bool]:
    """Read a column as time; also return whether it holds clock times.

    Clock times are seconds that go on over midnight. Numbers are left in the column's unit.
    """
    first = next((row[column] for row in table.rows if row[column]), "")
    if clock_seconds(first) is None:
        return column_numbers(table, column)[0], False
    times: list[float | None] = []
    days, last = 0.0, None
    for row in table.rows:
        second = clock_seconds(row[column])
        if second is not None:
            if last is not None and second < last - DAY / 2:
                days += DAY
            last = second
            second += days
        times.append(second)
    return times, True


def median_step(times: Sequence[float | None]) -> float | None:
    """Return the middle of the forward steps of a time column; None if there are none."""
    steps = []
    last = None
    for time in times:
        if time is not None:
            if last is not None and time > last:
                steps.append(time - last)
            last = time
    return sorted(steps)[len(steps) // 2] if steps else None


def _squeezed(text: str) -> str:
    return text.strip().lower().replace(" ", "").replace("\u00b0 ", "\u00b0")
