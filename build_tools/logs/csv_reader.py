"""Room 1: read a log that some tool wrote as text with columns.

Finds the separator, the decimal sign, the header and units by looking, and counts rows it
cannot use with the reason. It never raises on any text; a text that is no table gives a state
that says why. It knows units and clock times, and nothing of cars. `csv-reader.js` does the
same in the same order.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from build_tools.logs.csv_values import unit_of_cell

if TYPE_CHECKING:
    from collections.abc import Sequence

MOST_CHARACTERS: Final = 64_000_000
MOST_ROWS: Final = 1_000_000
MOST_COLUMNS: Final = 500
_SAMPLE: Final = 60
_FIRST_LOOK: Final = 4096
_MOST_QUOTED_LINES: Final = 20
_BAD_SHOWN: Final = 20
_CONTROL_SHARE: Final = 20  # one control character in this many is too much for text
_CONTROL: Final = re.compile(r"[\x00-\x08\x0e-\x1f\ufffd]")
_ODD_SIGNS: Final = re.compile(r"[\^~!&*\x1f@$]")
_EITHER_NUMBER: Final = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][+-]?[0-9]+)?")
_WITH_COMMA: Final = re.compile(r"[+-]?[0-9]*,[0-9]+")
_WITH_POINT: Final = re.compile(r"[+-]?[0-9]*\.[0-9]+")
_SPACE: Final = " \t\r\n\f\v\u00a0"
_BLANK: Final = re.compile(r"[ \t\f\v\u00a0]")
_SPACES: Final = re.compile(r"[ \u00a0]+")
_PREFERRED: Final = ("\t", ";", "|", ",")


@dataclass(frozen=True)
class BadRow:
    """Name one row that was left out. Lines count from 1."""

    line: int
    reason: str


@dataclass(frozen=True)
class Table:
    """Hold a text with columns.

    `state` is "ok", or "empty", "binary", "too-large", "one-column", "no-rows". `rows` hold
    trimmed cells, all of the header's width. `bad` counts left-out rows by reason, `first_bad`
    names the first of them. `preamble` is how many lines stood above the table.
    """

    state: str
    delimiter: str = ""
    decimal: str = "."
    header: tuple[str, ...] = ()
    units_row: tuple[str, ...] = ()
    rows: list[list[str]] = field(default_factory=list)
    bad: dict[str, int] = field(default_factory=dict)
    first_bad: tuple[BadRow, ...] = ()
    preamble: int = 0


@dataclass
class _Reading:
    delimiter: str
    width: int = 0
    records: list[tuple[int, list[str]]] = field(default_factory=list)
    bad: dict[str, int] = field(default_factory=dict)
    first_bad: list[BadRow] = field(default_factory=list)

    def refuse(self, line: int, reason: str) -> None:
        self.bad[reason] = self.bad.get(reason, 0) + 1
        if len(self.first_bad) < _BAD_SHOWN:
            self.first_bad.append(BadRow(line, reason))


def read_table(text: str) -> Table:
    """Read a text with columns. Never raises; `state` says what is wrong with it."""
    if len(text) > MOST_CHARACTERS:
        return Table("too-large")
    plain = text.removeprefix("\ufeff")
    if not plain.strip(_SPACE):
        return Table("empty")
    if _is_binary(plain[:_FIRST_LOOK]):
        return Table("binary")
    lines = plain.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if len(lines) > MOST_ROWS:
        return Table("too-large")
    told = lines[0].strip(_SPACE)
    if re.fullmatch(r"sep=[!-~]", told, re.IGNORECASE):
        delimiter, lines[0] = told[-1], ""
    else:
        delimiter = find_delimiter([line for line in lines[: 4 * _SAMPLE] if line.strip(_SPACE)])
    if not delimiter:
        return Table("one-column")
    return _assemble(_read_records(lines, delimiter))


def split_line(line: str, delimiter: str) -> list[str] | None:
    """Cut one line into trimmed cells; None if a quote stays open.

    Quotes hold separators, a doubled quote is a quote. Blanks as separator count in runs.
    """
    if '"' not in line:
        if delimiter == " ":
            return _SPACES.split(line.strip(_SPACE))
        cells = line.split(delimiter)
        # Most logs hold no blanks, and trimming every cell is half the work.
        return [cell.strip(_SPACE) for cell in cells] if _BLANK.search(line) else cells
    cells = []
    at, size = 0, len(line)
    while True:
        while at < size and line[at] in " \t" and line[at] != delimiter:
            at += 1
        if at < size and line[at] == '"':
            cell, at = _quoted(line, at + 1)
            if at < 0:
                return None
            after = line.find(delimiter, at)
            cell += line[at : after if after >= 0 else size].rstrip(_SPACE)
        else:
            after = line.find(delimiter, at)
            cell = line[at : after if after >= 0 else size]
        cells.append(cell.strip(_SPACE))
        if after < 0:
            return cells
        at = after + 1


def find_delimiter(lines: Sequence[str]) -> str:
    """Choose the separator that cuts most lines alike and leaves most cells numbers.

    "" means that no separator gives two columns. Ties go to tab, semicolon, bar, comma, in
    this order, then to rarer signs as they appear, then to blanks.
    """
    sample = lines[:_SAMPLE]
    odd = [sign for line in sample[:1] for sign in _ODD_SIGNS.findall(line)]
    best, best_score = "", 0.0
    for delimiter in dict.fromkeys((*_PREFERRED, *odd, " ")):
        score = _score(sample, delimiter)
        if score > best_score:
            best, best_score = delimiter, score
    return best


def is_number(cell: str) -> bool:
    """Tell whether a cell is a number with either decimal sign."""
    return _EITHER_NUMBER.fullmatch(cell) is not None


def _is_binary(start: str) -> bool:
    controls = len(_CONTROL.findall(start))
    return "\x00" in start or controls * _CONTROL_SHARE > len(start)


def _quoted(line: str, at: int) -> tuple[str, int]:
    """Read from behind an opening quote; returns the cell and where to go on, -1 if open."""
    cell = ""
    while True:
        end = line.find('"', at)
        if end < 0:
            return cell, -1
        cell += line[at:end]
        if line[end + 1 : end + 2] != '"':
            return cell, end + 1
        cell += '"'
        at = end + 2


def _score(sample: Sequence[str], delimiter: str) -> float:
    cut = [split_line(line, delimiter) or [] for line in sample]
    width = _usual_width([len(cells) for cells in cut])
    if width < 2:  # noqa: PLR2004 - a table has two columns
        return 0.0
    alike = [cells for cells in cut if len(cells) == width]
    numbers = sum(1 for cells in alike for cell in cells if is_number(cell))
    return len(alike) / len(sample) + numbers / (width * len(alike))


def _usual_width(widths: Sequence[int]) -> int:
    """Return the commonest width of at least two; the wider of two equally common."""
    counts: dict[int, int] = {}
    for width in widths:
        if 2 <= width <= MOST_COLUMNS:  # noqa: PLR2004 - a table has two columns
            counts[width] = counts.get(width, 0) + 1
    best = 0
    for width, count in counts.items():
        if not best or (count, width) > (counts[best], best):
            best = width
    return best


def _read_records(lines: Sequence[str], delimiter: str) -> _Reading:
    reading = _Reading(delimiter)
    widths: list[int] = []
    at = 0
    while at < len(lines):
        start, line = at, lines[at]
        at += 1
        if not line or not line.strip(_SPACE):
            continue
        cells = split_line(line, delimiter)
        while cells is None and at < len(lines) and at - start < _MOST_QUOTED_LINES:
            line += "\n" + lines[at]
            at += 1
            cells = split_line(line, delimiter)
        if cells is None:
            reading.refuse(start + 1, "open-quote")
            at = start + 1
            continue
        reading.records.append((start + 1, cells))
        if len(widths) < _SAMPLE:
            widths.append(len(cells))
    reading.width = _usual_width(widths)
    return reading


def _assemble(reading: _Reading) -> Table:
    width = reading.width
    if not width:
        return Table("one-column", bad=reading.bad, first_bad=tuple(reading.first_bad))
    records = reading.records
    first = next((n for n, (_, cells) in enumerate(records) if _fits(cells, width)), None)
    if first is None:
        return Table("one-column", bad=reading.bad, first_bad=tuple(reading.first_bad))
    top = records[first][1][:width]
    has_header = 2 * sum(1 for cell in top if is_number(cell)) < max(1, _filled(top))
    header = tuple(top) if has_header else tuple(f"column {n + 1}" for n in range(width))
    body = records[first + 1 :] if has_header else records[first:]
    units: tuple[str, ...] = ()
    if has_header and body and _is_units_row(body[0][1], width):
        units, body = tuple(body[0][1][:width]), body[1:]
    rows = _rows(reading, body, list(header) if has_header else None)
    return Table(
        state="ok" if rows else "no-rows",
        delimiter=reading.delimiter,
        decimal=_decimal(rows, reading.delimiter),
        header=header,
        units_row=units,
        rows=rows,
        bad=reading.bad,
        first_bad=tuple(reading.first_bad),
        preamble=first,
    )


def _fits(cells: Sequence[str], width: int) -> bool:
    return len(cells) == width or (len(cells) > width and not any(cells[width:]))


def _filled(cells: Sequence[str]) -> int:
    return sum(1 for cell in cells if cell)


def _is_units_row(cells: Sequence[str], width: int) -> bool:
    """Tell whether the row under the header holds no number but at least one known unit."""
    numbers = any(is_number(cell) or ":" in cell for cell in cells)
    known = any(cell and unit_of_cell(cell) for cell in cells)
    return _fits(cells, width) and not numbers and known


def _rows(
    reading: _Reading, body: Sequence[tuple[int, list[str]]], header: list[str] | None
) -> list[list[str]]:
    width = reading.width
    rows = []
    for line, cells in body:
        size = len(cells)
        if size == width:
            if cells == header:
                reading.refuse(line, "header-again")
            else:
                rows.append(cells)
        elif size < width:
            reading.refuse(line, "too-few-cells")
        elif any(cells[width:]):
            reading.refuse(line, "too-many-cells")
        else:
            rows.append(cells[:width])
    return rows


def _decimal(rows: Sequence[Sequence[str]], delimiter: str) -> str:
    """Choose the decimal sign by what cells hold; comma only if it is the commoner."""
    commas = points = 0
    for row in rows[: 4 * _SAMPLE]:
        for cell in row:
            commas += _WITH_COMMA.fullmatch(cell) is not None
            points += _WITH_POINT.fullmatch(cell) is not None
    return "," if commas > points and (delimiter != "," or points == 0) else "."
