"""Room 5: take the two columns of a volt log out of a table.

Chooses the columns unless the reader did, brings them to seconds and volts, and counts every
row it cannot use with the reason. It analyses nothing. `assets/logs/voltlog-rows.js` is its
twin.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from build_tools.logs.csv_values import (
    clock_seconds,
    column_numbers,
    column_times,
    unit_of,
    unit_of_cell,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from build_tools.logs.csv_reader import Table

_TIME_NAMES: Final = re.compile(r"time|clock|date|elapsed|stamp|zeit|seconds?\b", re.IGNORECASE)
_VOLT_NAMES: Final = re.compile(r"volt|spannung|\bbat", re.IGNORECASE)
_SECONDS: Final = {"s": 1.0, "ms": 0.001, "min": 60.0, "h": 3600.0}
_VOLTS: Final = {"V": 1.0, "mV": 0.001}
_MILLIVOLTS_FROM: Final = 1000.0  # no car's supply reads a thousand volts
_EPOCH_MILLISECONDS_FROM: Final = 1e11  # as seconds this would be the year 5138
_LOWEST_USUAL: Final = 5.0  # below this the middle of a column is no car's supply
_HIGHEST: Final = 20.0  # the highest charging volts anyone could read: the gauge's limit
_BAD_SHOWN: Final = 20
REASONS: Final = {
    "no-time": "no time that can be read",
    "no-volts": "no number in the volts column",
    "not-a-voltage": "volts below 0 or above 20",
    "too-few-cells": "too few cells",
    "too-many-cells": "too many cells",
    "header-again": "the header once more",
    "open-quote": "a quote that is never closed",
}


@dataclass(frozen=True)
class Column:
    """Name a chosen column, counted from 0, its unit, and whether the unit was assumed."""

    index: int
    name: str
    unit: str
    assumed: bool


@dataclass
class LogRows:
    """Hold the usable rows, and the others by reason. `first_bad` are (row, reason)."""

    time: Column
    volts: Column
    times: list[float] = field(default_factory=list)
    levels: list[float] = field(default_factory=list)
    bad: dict[str, int] = field(default_factory=dict)
    first_bad: list[tuple[int, str]] = field(default_factory=list)

    def refuse(self, row: int, reason: str) -> None:
        """Count a row that cannot be used; rows of the table count from 1."""
        self.bad[reason] = self.bad.get(reason, 0) + 1
        if len(self.first_bad) < _BAD_SHOWN:
            self.first_bad.append((row, reason))


class ColumnUnknownError(LookupError):
    """Say that a column was asked for which the table does not have, or none fits."""

    def __init__(self, wanted: str, given: str) -> None:
        self.wanted = wanted
        self.given = given
        super().__init__(f"{wanted}: {given}")


def find_column(table: Table, wanted: str, given: str | int | None) -> int:
    """Return the position of the time or volts column.

    `given` is a header, in any case of letters, or a number from 1; None chooses by header,
    then by unit, then by what the cells hold.

    Raises:
        ColumnUnknownError: if the column does not exist or none fits.
    """
    names = [name.strip().lower() for name in table.header]
    if given is not None:
        text = str(given).strip().lower()
        if text in names:
            return names.index(text)
        if re.fullmatch(r"[0-9]{1,4}", text) and 1 <= int(text) <= len(names):
            return int(text) - 1
        raise ColumnUnknownError(wanted, str(given))
    found = _guess_time(table) if wanted == "time" else _guess_volts(table)
    if found is None:
        raise ColumnUnknownError(wanted, "")
    return found


def _unit(table: Table, index: int) -> str | None:
    told = unit_of_cell(table.units_row[index]) if table.units_row else None
    return told or unit_of(table.header[index])


def _guess_time(table: Table) -> int | None:
    columns = range(len(table.header))
    for index in columns:
        if _TIME_NAMES.search(table.header[index]):
            return index
    for index in columns:
        if _unit(table, index) in _SECONDS or clock_seconds(table.rows[0][index]) is not None:
            return index
    return 0


def _guess_volts(table: Table) -> int | None:
    columns = range(len(table.header))
    for index in columns:
        if _VOLT_NAMES.search(table.header[index]) and _middle(table, index) is not None:
            return index
    for index in columns:
        if _unit(table, index) in _VOLTS:
            return index
    for index in columns[1:]:
        middle = _middle(table, index)
        if middle is not None and any(
            _LOWEST_USUAL <= middle * factor <= _HIGHEST for factor in _VOLTS.values()
        ):
            return index
    return None


def _middle(table: Table, index: int) -> float | None:
    numbers = sorted(one for one in column_numbers(table, index)[0] if one is not None)
    return numbers[len(numbers) // 2] if numbers else None


def log_rows(table: Table, time: str | int | None, volts: str | int | None) -> LogRows:
    """Return the rows of a table as seconds and volts.

    Raises:
        ColumnUnknownError: if a column was asked for which the table does not have.
    """
    time_index = find_column(table, "time", time)
    volts_index = find_column(table, "volts", volts)
    seconds, is_clock = column_times(table, time_index)
    levels = column_numbers(table, volts_index)[0]
    time_unit, time_assumed = _time_unit(table, time_index, seconds, is_clock=is_clock)
    volts_unit, volts_assumed = _volts_unit(table, volts_index)
    found = LogRows(
        Column(time_index, table.header[time_index], time_unit, time_assumed),
        Column(volts_index, table.header[volts_index], volts_unit, volts_assumed),
    )
    to_seconds = 1.0 if is_clock else _SECONDS[time_unit]
    to_volts = _VOLTS[volts_unit]
    for row, (second, level) in enumerate(zip(seconds, levels, strict=True), start=1):
        if second is None:
            found.refuse(row, "no-time")
        elif level is None:
            found.refuse(row, "no-volts")
        elif not 0 <= level * to_volts <= _HIGHEST:
            found.refuse(row, "not-a-voltage")
        else:
            found.times.append(second * to_seconds)
            found.levels.append(level * to_volts)
    for reason, count in table.bad.items():
        found.bad[reason] = found.bad.get(reason, 0) + count
    return found


def _time_unit(
    table: Table, index: int, times: Sequence[float | None], *, is_clock: bool
) -> tuple[str, bool]:
    if is_clock:
        return "clock", False
    unit = _unit(table, index)
    if unit in _SECONDS and unit is not None:
        return unit, False
    first = next((one for one in times if one is not None), 0.0)
    return ("ms" if first >= _EPOCH_MILLISECONDS_FROM else "s"), True


def _volts_unit(table: Table, index: int) -> tuple[str, bool]:
    unit = _unit(table, index)
    if unit in _VOLTS and unit is not None:
        return unit, False
    middle = _middle(table, index)
    return ("mV" if middle is not None and middle >= _MILLIVOLTS_FROM else "V"), True
