"""Room 5: turn a text with time and volts into one document with what it shows.

Reads the table, takes its two columns, analyses them and words the findings. Rows that
cannot be used are counted and shown. It opens no file and prints nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from build_tools.knowledge.sentences import say
from build_tools.logs import voltlog_words
from build_tools.logs.csv_reader import read_table
from build_tools.logs.voltlog import analyse
from build_tools.logs.voltlog_limits import LABEL_LIMITS, VOLTS_PER_PERCENT, capacity_of
from build_tools.logs.voltlog_rows import REASONS, ColumnUnknownError, LogRows, log_rows
from build_tools.measure.gauges_numbers import ReadingRefused, read_number
from build_tools.measure.sum_words import fixed

if TYPE_CHECKING:
    from collections.abc import Mapping

    from build_tools.logs.csv_reader import Table
    from build_tools.logs.voltlog import VoltLog

    Options = Mapping[str, Any]

_STATES: Final = {
    "empty": ("The file is empty.", "Export the log again and open that file."),
    "binary": (
        "This is no text with columns.",
        "Export the log as CSV, with time and volts.",
    ),
    "too-large": (
        "The file is too large to read here.",
        "Cut it into parts, or log with longer steps.",
    ),
    "one-column": (
        "No two columns can be told apart.",
        "Export the log as CSV, with time and volts beside each other.",
    ),
    "no-rows": ("There is a header and no rows below it.", "Export the log again."),
}
_FEWEST_ROWS: Final = 2


def voltlog_document(text: str, options: Options) -> dict[str, Any]:
    """Return what a log of volts shows.

    `options` may hold `time` and `volts` (a header or a column number from 1), `capacity`
    in ampere-hours, and `battery-type`, `temperature`, `charging-control` as a reading's
    conditions. `refused` says why nothing was found out, `summary` how many rows were read
    and left out, `findings` what they show.
    """
    table = read_table(text)
    if table.state != "ok":
        why, mend = _STATES[table.state]
        return {**_empty(table), "refused": {"field": "file", "why": why, "mend": mend}}
    refused = _option_refused(options)
    if refused is not None:
        return {**_empty(table), "refused": refused}
    try:
        rows = log_rows(table, options.get("time"), options.get("volts"))
    except ColumnUnknownError as unknown:
        return {**_empty(table), "refused": _column_refused(table, unknown)}
    counted = {**_empty(table), **_counted(rows, table)}
    if len(rows.times) < _FEWEST_ROWS:
        why = "Fewer than two rows hold both a time and a voltage."
        mend = "Choose other columns, or export the log again."
        return {**counted, "refused": {"field": "file", "why": why, "mend": mend}}
    return {**counted, **_analysed(rows, options)}


def _empty(table: Table) -> dict[str, Any]:
    return {
        "kind": "voltlog",
        "refused": None,
        "summary": None,
        "header": list(table.header),
        "columns": None,
        "rows": {
            "used": 0,
            "bad": sum(table.bad.values()),
            "reasons": _reasons(table.bad),
            "first_bad": [
                {"line": one.line, "why": REASONS[one.reason]} for one in table.first_bad
            ],
        },
        "log": None,
        "findings": [],
        "assumptions": [],
        "does_not_tell": voltlog_words.DOES_NOT_TELL,
        "sources": [
            {"mark": words}
            if (words := say("mark", mark=mark))
            else {"mark": "published", "id": mark}
            for mark in voltlog_words.SOURCES
        ],
    }


def _option_refused(options: Options) -> dict[str, str] | None:
    """Say which option cannot be used; nothing is put in its place."""
    label, kind = options.get("capacity"), options.get("battery-type")
    if label is not None:
        low, high = (fixed(one, 0) for one in LABEL_LIMITS)
        mend = f"Give the ampere-hours on the label, {low} to {high}."
        try:
            fits = LABEL_LIMITS[0] <= read_number(label, "capacity") <= LABEL_LIMITS[1]
        except ReadingRefused:
            fits = False
        if not fits:
            why = f"“{label}” is no capacity of a car battery."
            return {"field": "capacity", "why": why, "mend": mend}
    if kind is not None and kind not in VOLTS_PER_PERCENT:
        mend = f"Choose one of: {', '.join(VOLTS_PER_PERCENT)}."
        return {
            "field": "battery-type",
            "why": f"“{kind}” is no type of battery here.",
            "mend": mend,
        }
    return None


def _reasons(bad: Mapping[str, int]) -> list[dict[str, Any]]:
    return [{"why": REASONS[reason], "count": count} for reason, count in sorted(bad.items())]


def _column_refused(table: Table, unknown: ColumnUnknownError) -> dict[str, str]:
    names = ", ".join(table.header)
    if unknown.given:
        why = f"There is no column “{unknown.given}”."
    else:
        why = "No column looks like volts."
    return {"field": unknown.wanted, "why": why, "mend": f"Choose one of: {names}."}


def _counted(rows: LogRows, table: Table) -> dict[str, Any]:
    bad: list[dict[str, Any]] = [
        {"line": one.line, "why": REASONS[one.reason]} for one in table.first_bad
    ]
    bad += [{"row": row, "why": REASONS[reason]} for row, reason in rows.first_bad]
    return {
        "columns": {
            "time": {"name": rows.time.name, "unit": rows.time.unit},
            "volts": {"name": rows.volts.name, "unit": rows.volts.unit},
        },
        "rows": {
            "used": len(rows.times),
            "bad": sum(rows.bad.values()),
            "reasons": _reasons(rows.bad),
            "first_bad": bad,
        },
    }


def _analysed(rows: LogRows, options: Options) -> dict[str, Any]:
    label = options.get("capacity")
    kind = options.get("battery-type")
    log = analyse(
        rows.times,
        rows.levels,
        capacity_of(None if label is None else read_number(label, "capacity")),
        volts_per_percent=VOLTS_PER_PERCENT["flooded" if kind is None else str(kind)],
    )
    found = voltlog_words.findings(log, options)
    return {
        "summary": voltlog_words.summary(log, sum(rows.bad.values()), found=bool(found)),
        "log": _log(log),
        "findings": found,
        "assumptions": _assumptions(rows, options),
    }


def _log(log: VoltLog) -> dict[str, Any]:
    return {
        "rows": log.rows,
        "duration": log.duration,
        "step": log.step,
        "gaps": log.gaps,
        "out_of_order": log.out_of_order,
        "coarse": log.coarse,
        "stretches": [
            {"kind": one.kind, "start": one.start - log.start, "end": one.end - log.start}
            for one in log.stretches
        ],
    }


def _assumptions(rows: LogRows, options: Options) -> list[str]:
    said = []
    if rows.time.assumed:
        said.append(f"No unit of time is named: taken as {rows.time.unit}.")
    if rows.volts.assumed:
        said.append(f"No unit of voltage is named: taken as {rows.volts.unit}.")
    if options.get("capacity") is None:
        low, high = (fixed(one, 0) for one in (capacity_of(None).low, capacity_of(None).high))
        said.append(f"Ampere-hours not given: {low} to {high}\u00a0Ah are taken, our estimate.")
    else:
        said.append("A used battery is taken to hold at least 80% of its label, our estimate.")
    if options.get("battery-type") is None:
        said.append("Battery type not given: the volts are read as those of a flooded one.")
    return said
