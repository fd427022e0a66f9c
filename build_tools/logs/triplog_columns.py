"""Room reasoning: which column of a log is what, in canonical units.

Guesses the columns by their headers, turns units into ours (s, km/h, rpm, degC, V, percent,
kPa) and drops values no car can have. It measures nothing of the trip. `triplog-columns.js`
does the same in the same order.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from build_tools.logs.csv_values import (
    column_numbers,
    column_times,
    median_step,
    unit_of,
    unit_of_cell,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from build_tools.logs.csv_reader import Table

_NOT_WORD: Final = re.compile(r"[^a-z0-9]+")
# role: (what the header must hold, what it must not hold); first match in this order wins.
_GUESSES: Final = (
    ("run-time", r"since .*start|run ?time|engine time|\b(?:01 ?|pid ?|0x)1f\b", r"mil|clear"),
    ("time", r"^(?:t|time|zeit)\b|timestamp|elapsed|\btime\b", r"since|run ?time|engine|mil|clear"),
    ("rpm", r"\brpm\b|engine speed|engine rev|\b(?:01 ?|pid ?|0x)0c\b", r"target|desired"),
    ("speed", r"vehicle speed|road speed|\bvss\b|\b(?:01 ?|pid ?|0x)0d\b", r"engine"),
    ("speed", r"\bspeed\b|\bvelocity\b", r"engine|fan|turbine|shaft|wheel"),
    ("coolant", r"coolant|\bect\b|\b(?:01 ?|pid ?|0x)05\b", r"level|pressure"),
    ("ambient", r"ambient|outside|\baat\b|\b(?:01 ?|pid ?|0x)46\b", r"pressure|light"),
    ("voltage", r"module volt|control volt|battery volt|\b(?:01 ?|pid ?|0x)42\b", r"hybrid|cell"),
    ("voltage", r"volt|\bbatt", r"sensor|o2|lambda|throttle|pedal|hybrid|cell|state|temp"),
    ("fuel", r"fuel level|tank level|fuel remaining|\b(?:01 ?|pid ?|0x)2f\b", r"rail|pressure"),
    ("pressure", r"baro|\b(?:01 ?|pid ?|0x)33\b", r"boost"),
)
ROLES: Final = tuple(dict.fromkeys(role for role, _, _ in _GUESSES))
# role: (canonical unit, lowest and highest value a car can have)
_CHANNELS: Final = {
    "run-time": ("s", 0.0, 1_000_000.0),
    "rpm": ("rpm", 0.0, 20_000.0),
    "speed": ("km/h", 0.0, 450.0),
    "coolant": ("degC", -60.0, 215.0),
    "ambient": ("degC", -60.0, 80.0),
    "voltage": ("V", 0.0, 60.0),
    "fuel": ("percent", 0.0, 100.5),
    "pressure": ("kPa", 20.0, 130.0),
}
# unit: (canonical unit, plus before, times, by)
_CONVERSIONS: Final = {
    "s": ("s", 0.0, 1.0, 1.0),
    "ms": ("s", 0.0, 1.0, 1000.0),
    "min": ("s", 0.0, 60.0, 1.0),
    "km/h": ("km/h", 0.0, 1.0, 1.0),
    "mph": ("km/h", 0.0, 1.609344, 1.0),
    "m/s": ("km/h", 0.0, 3.6, 1.0),
    "rpm": ("rpm", 0.0, 1.0, 1.0),
    "degC": ("degC", 0.0, 1.0, 1.0),
    "degF": ("degC", -32.0, 5.0, 9.0),
    "V": ("V", 0.0, 1.0, 1.0),
    "mV": ("V", 0.0, 1.0, 1000.0),
    "percent": ("percent", 0.0, 1.0, 1.0),
    "kPa": ("kPa", 0.0, 1.0, 1.0),
    "hPa": ("kPa", 0.0, 1.0, 10.0),
    "bar": ("kPa", 0.0, 100.0, 1.0),
    "psi": ("kPa", 0.0, 6.894757, 1.0),
    "inHg": ("kPa", 0.0, 3.386389, 1.0),
}
_MS_STEP: Final = 20.0  # steps of 20 and more in an unnamed unit are taken as milliseconds


@dataclass(frozen=True)
class Column:
    """Say which column holds a role and in which unit; None lets the header decide."""

    column: int
    unit: str | None = None


@dataclass(frozen=True)
class Trip:
    """Hold a log as channels in canonical units.

    `times` rise; `channels` hold one value or None per time. `mapping` says what was used,
    `assumed` lists roles whose unit was not told, `dropped` counts rows and values left out.
    `whole_speed` tells that speeds are whole km/h, so their last digit is unsure.
    """

    state: str  # ok | no-time | too-short
    times: list[float] = field(default_factory=list)
    channels: dict[str, list[float | None]] = field(default_factory=dict)
    mapping: dict[str, Column] = field(default_factory=dict)
    assumed: tuple[str, ...] = ()
    dropped: dict[str, int] = field(default_factory=dict)
    whole_speed: bool = True


def guess_mapping(table: Table) -> dict[str, Column]:
    """Guess which column holds which role, by header; a column serves one role only."""
    names = [_NOT_WORD.sub(" ", name.lower()).strip() for name in table.header]
    found: dict[str, Column] = {}
    taken: set[int] = set()
    for role, wanted, unwanted in _GUESSES:
        if role in found:
            continue
        for column, name in enumerate(names):
            fits = re.search(wanted, name) and not re.search(unwanted, name)
            if fits and column not in taken:
                found[role] = Column(column, header_unit(table, column))
                taken.add(column)
                break
    return found


def header_unit(table: Table, column: int) -> str | None:
    """Find the unit of a column, in the row of units or in the header."""
    if table.units_row:
        return unit_of_cell(table.units_row[column])
    return unit_of(table.header[column])


def read_trip(
    table: Table,
    mapping: Mapping[str, Column] | None = None,
    constants: Mapping[str, float] | None = None,
) -> Trip:
    """Turn a table into a trip.

    `mapping` replaces the guess role by role. `constants` gives a value in our unit for a
    channel the log has not got, such as the air's temperature the driver knows.
    """
    used = {**guess_mapping(table), **(mapping or {})}
    used = {
        role: one for role, one in used.items() if role in ROLES and 0 <= one.column < _width(table)
    }
    if "time" not in used:
        return Trip("no-time", mapping=used)
    dropped: dict[str, int] = {}
    assumed: list[str] = []
    times = _times(table, used["time"], assumed)
    kept, clean = _rising(times, dropped)
    if len(kept) < 2:  # noqa: PLR2004 - a stretch needs two times
        return Trip("too-short", mapping=used, dropped=dropped)
    channels: dict[str, list[float | None]] = {}
    whole = True
    for role in ROLES:
        if role == "time" or role not in used:
            continue
        values, strange = column_numbers(table, used[role].column)
        if strange:
            dropped[f"{role}-unreadable"] = strange
        if role == "speed":
            whole = _all_whole(values) and used[role].unit in {None, "km/h"}
        chosen = [values[row] for row in kept]
        channels[role] = _canonical(role, chosen, used[role].unit, (assumed, dropped))
    for role, value in (constants or {}).items():
        if role in _CHANNELS and not any(v is not None for v in channels.get(role, ())):
            channels[role] = [float(value)] * len(clean)
    return Trip("ok", clean, channels, used, tuple(assumed), dropped, whole)


def _width(table: Table) -> int:
    return len(table.header)


def _times(table: Table, column: Column, assumed: list[str]) -> list[float | None]:
    times, clock = column_times(table, column.column)
    if clock:
        return times
    unit = column.unit
    if unit not in {"s", "ms", "min"}:
        step = median_step(times)
        unit = "ms" if step is not None and step >= _MS_STEP else "s"
        assumed.append("time")
    _, plus, factor, by = _CONVERSIONS[unit]
    return [None if time is None else (time + plus) * factor / by for time in times]


def _rising(
    times: Sequence[float | None], dropped: dict[str, int]
) -> tuple[list[int], list[float]]:
    """Keep the rows whose time does not go back, with times counted from the first of them."""
    kept: list[int] = []
    clean: list[float] = []
    first: float | None = None
    for row, time in enumerate(times):
        if time is None:
            dropped["time-unreadable"] = dropped.get("time-unreadable", 0) + 1
            continue
        if first is None:
            first = time
        if clean and time - first < clean[-1]:
            dropped["time-backwards"] = dropped.get("time-backwards", 0) + 1
            continue
        kept.append(row)
        clean.append(time - first)
    return kept, clean


def _all_whole(values: Sequence[float | None]) -> bool:
    return all(value is None or value == int(value) for value in values)


def _canonical(
    role: str,
    values: Sequence[float | None],
    unit: str | None,
    notes: tuple[list[str], dict[str, int]],
) -> list[float | None]:
    assumed, dropped = notes
    canonical, low, high = _CHANNELS[role]
    known = _CONVERSIONS.get(unit or "")
    if known is None or known[0] != canonical:
        assumed.append(role)
        known = _CONVERSIONS[canonical]
    _, plus, factor, by = known
    result: list[float | None] = []
    outside = 0
    for value in values:
        turned = None if value is None else (value + plus) * factor / by
        if turned is not None and not low <= turned <= high:
            outside += 1
            turned = None
        result.append(turned)
    if outside:
        dropped[f"{role}-out-of-range"] = outside
    return result
