/**
 * Room logs: read a log that some tool wrote as text with columns.
 *
 * It never throws on any text; a text that
 * is no table gives a state that says why. It knows nothing of cars.
 * @typedef {{line: number, reason: string}} BadRow
 * @typedef {{state: string, delimiter: string, decimal: string, header: string[],
 *   units_row: string[], rows: string[][], bad: Record<string, number>, first_bad: BadRow[],
 *   preamble: number}} Table
 * @typedef {{delimiter: string, width: number, records: [number, string[]][],
 *   bad: Record<string, number>, firstBad: BadRow[]}} Reading
 */

import { findDelimiter, isNumber, SAMPLE, splitLine, trimmed, usualWidth } from "./csv-lines.js";
import { unitOfCell } from "./csv-values.js";

export const MOST_CHARACTERS = 64_000_000;
const MOST_ROWS = 1_000_000;
const FIRST_LOOK = 4096;
const MOST_QUOTED_LINES = 20;
const BAD_SHOWN = 20;
const CONTROL_SHARE = 20; // one control character in this many is too much for text
const CONTROL = /[\x00-\x08\x0e-\x1f\ufffd]/g;
const WITH_COMMA = /^[+-]?[0-9]*,[0-9]+$/;
const WITH_POINT = /^[+-]?[0-9]*\.[0-9]+$/;
const SOMETHING = /[^ \t\r\n\f\v\u00a0]/;

/** Read a text with columns. Never throws; `state` says what is wrong with it. @type {(text: string) => Table} */
export function readTable(text) {
  if (text.length > MOST_CHARACTERS) return tableOf("too-large");
  const plain = text.startsWith("\ufeff") ? text.slice(1) : text;
  if (!SOMETHING.test(plain)) return tableOf("empty");
  if (isBinary(plain.slice(0, FIRST_LOOK))) return tableOf("binary");
  const lines = plain.replaceAll("\r\n", "\n").replaceAll("\r", "\n").split("\n");
  if (lines.length > MOST_ROWS) return tableOf("too-large");
  const told = /^sep=([!-~])$/i.exec(trimmed(lines[0]));
  let delimiter = "";
  if (told) {
    delimiter = told[1];
    lines[0] = "";
  } else {
    const filledLines = lines.slice(0, 4 * SAMPLE).filter((line) => SOMETHING.test(line));
    delimiter = findDelimiter(filledLines);
  }
  return delimiter ? assemble(readRecords(lines, delimiter)) : tableOf("one-column");
}

/** Return what is known of a text that gives no rows. @type {(state: string, more?: Partial<Table>) => Table} */
export function tableOf(state, more = {}) {
  return {
    state,
    delimiter: "",
    decimal: ".",
    header: [],
    units_row: [],
    rows: [],
    bad: {},
    first_bad: [],
    preamble: 0,
    ...more,
  };
}

/** @param {string} start */
function isBinary(start) {
  const controls = (start.match(CONTROL) ?? []).length;
  return start.includes("\x00") || controls * CONTROL_SHARE > start.length;
}

/** @type {(lines: string[], delimiter: string) => Reading} */
function readRecords(lines, delimiter) {
  /** @type {Reading} */
  const reading = { delimiter, width: 0, records: [], bad: {}, firstBad: [] };
  /** @type {number[]} */
  const widths = [];
  let at = 0;
  while (at < lines.length) {
    const start = at;
    let line = lines[at];
    at += 1;
    if (!line || !SOMETHING.test(line)) continue;
    let cells = splitLine(line, delimiter);
    while (cells === null && at < lines.length && at - start < MOST_QUOTED_LINES) {
      line += `\n${lines[at]}`;
      at += 1;
      cells = splitLine(line, delimiter);
    }
    if (cells === null) {
      refuse(reading, start + 1, "open-quote");
      at = start + 1;
      continue;
    }
    reading.records.push([start + 1, cells]);
    if (widths.length < SAMPLE) widths.push(cells.length);
  }
  reading.width = usualWidth(widths);
  return reading;
}

/** @type {(reading: Reading, line: number, reason: string) => void} */
function refuse(reading, line, reason) {
  reading.bad[reason] = (reading.bad[reason] ?? 0) + 1;
  if (reading.firstBad.length < BAD_SHOWN) reading.firstBad.push({ line, reason });
}

/** @type {(reading: Reading) => Table} */
function assemble(reading) {
  const { width, records, bad, firstBad } = reading;
  const first = width ? records.findIndex(([, cells]) => fits(cells, width)) : -1;
  if (first < 0) return tableOf("one-column", { bad, first_bad: firstBad });
  const top = records[first][1].slice(0, width);
  const numbers = top.filter((cell) => isNumber(cell)).length;
  const hasHeader = 2 * numbers < Math.max(1, top.filter((cell) => cell).length);
  const header = hasHeader ? top : top.map((_, place) => `column ${place + 1}`);
  let body = records.slice(hasHeader ? first + 1 : first);
  /** @type {string[]} */
  let units = [];
  if (hasHeader && body.length && isUnitsRow(body[0][1], width)) {
    units = body[0][1].slice(0, width);
    body = body.slice(1);
  }
  const rows = rowsOf(reading, body, hasHeader ? header : null);
  return tableOf(rows.length ? "ok" : "no-rows", {
    delimiter: reading.delimiter,
    decimal: decimalOf(rows, reading.delimiter),
    header,
    units_row: units,
    rows,
    bad,
    first_bad: firstBad,
    preamble: first,
  });
}

/** @type {(cells: string[], width: number) => boolean} */
function fits(cells, width) {
  return cells.length >= width && !cells.slice(width).some((cell) => cell);
}

/**
 * Tell whether the row under the header holds no number but at least one known unit.
 * @type {(cells: string[], width: number) => boolean}
 */
function isUnitsRow(cells, width) {
  const numbers = cells.some((cell) => isNumber(cell) || cell.includes(":"));
  return fits(cells, width) && !numbers && cells.some((cell) => cell && unitOfCell(cell) !== null);
}

/** @type {(reading: Reading, body: [number, string[]][], header: string[]|null) => string[][]} */
function rowsOf(reading, body, header) {
  const { width } = reading;
  const rows = [];
  for (const [line, cells] of body) {
    const size = cells.length;
    if (size === width) {
      const again = header !== null && cells.every((cell, place) => cell === header[place]);
      if (again) refuse(reading, line, "header-again");
      else rows.push(cells);
    } else if (size < width) refuse(reading, line, "too-few-cells");
    else if (!fits(cells, width)) refuse(reading, line, "too-many-cells");
    else rows.push(cells.slice(0, width));
  }
  return rows;
}

/**
 * Choose the decimal sign by what cells hold; comma only if it is the commoner.
 * @type {(rows: string[][], delimiter: string) => string}
 */
function decimalOf(rows, delimiter) {
  let [commas, points] = [0, 0];
  for (const row of rows.slice(0, 4 * SAMPLE)) {
    for (const cell of row) {
      commas += Number(WITH_COMMA.test(cell));
      points += Number(WITH_POINT.test(cell));
    }
  }
  return commas > points && (delimiter !== "," || points === 0) ? "," : ".";
}
