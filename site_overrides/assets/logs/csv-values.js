/**
 * Room logs: numbers, clock times and units in the cells of a log.
 *
 * It knows nothing of cars.
 *
 * @import { Table } from "./csv-reader.js"
 */

import { trimmed } from "./csv-lines.js";

const POINT = /^[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?$/;
const COMMA = /^[+-]?(?:[0-9]+,?[0-9]*|,[0-9]+)(?:[eE][+-]?[0-9]{1,3})?$/;
const GROUPED_POINT = /^[+-]?[0-9]{1,3}(?:,[0-9]{3})+(?:\.[0-9]+)?$/;
const GROUPED_COMMA = /^[+-]?[0-9]{1,3}(?:\.[0-9]{3})+(?:,[0-9]+)?$/;
const CLOCK = /^(?:.*[ T])?([0-9]{1,2}):([0-9]{2}):([0-9]{2}(?:[.,][0-9]{1,9})?) ?([AaPp])?[Mm]?Z?$/;
const MINUTES = /^([0-9]{1,3}):([0-9]{2}(?:[.,][0-9]{1,9})?)$/;
const LONGEST_CELL = 64;
const MOST = 1e15;
const NOTHING = new Set(["", "-", "--", "---", "n/a", "na", "nan", "null", "none", "no data", "nodata", "?"]);
/** How a header may write a unit -> the unit's id. */
const UNITS = new Map(
  Object.entries({
    "km/h": "km/h kmh kph km/hr kmph",
    mph: "mph mi/h miles/h",
    "m/s": "m/s",
    rpm: "rpm 1/min u/min r/min min-1",
    degC: "\u00b0c degc deg.c c celsius \u2103",
    degF: "\u00b0f degf f fahrenheit \u2109",
    V: "v volt volts",
    mV: "mv",
    percent: "% pct percent",
    kPa: "kpa",
    hPa: "hpa mbar",
    bar: "bar",
    psi: "psi",
    inHg: "inhg",
    s: "s sec secs second seconds",
    ms: "ms msec milliseconds",
    min: "min minutes",
  }).flatMap(([unit, words]) => words.split(" ").map((word) => [word, unit])),
);
const BRACKETED = /[([{]([^()[\]{}]*)[)\]}]/g;
const LAST_WORD = /[_ ,/]([^_ ,]+)$/;
const LONGEST_UNIT = 500; // a longer cell is no name of a column

/**
 * Find the unit a header names: in brackets, or as its last word; null if none is known.
 * @type {(text: string) => string|null}
 */
export function unitOf(text) {
  if (text.length > LONGEST_UNIT) return null;
  const inner = [...text.matchAll(BRACKETED)].map((match) => match[1]).reverse();
  for (const one of inner) {
    const found = UNITS.get(squeezed(one));
    if (found) return found;
  }
  const last = LAST_WORD.exec(text);
  // A lone letter as last word is no unit: "Bank 1 Sensor C".
  return last && [...last[1]].length > 1 ? (UNITS.get(squeezed(last[1])) ?? null) : null;
}

/** Find the unit a cell of a row of units names, with or without brackets. @type {(text: string) => string|null} */
export function unitOfCell(text) {
  if (text.length > LONGEST_UNIT) return null;
  return UNITS.get(squeezed(text)) ?? unitOf(text);
}

/**
 * Read one number; null if the cell is none. Grouped thousands are understood.
 * @type {(cell: string, decimal: string) => number|null}
 */
export function numberOf(cell, decimal) {
  if (cell.length > LONGEST_CELL) return null;
  const comma = decimal === ",";
  let plain = "";
  if ((comma ? COMMA : POINT).test(cell)) {
    plain = comma ? cell.replaceAll(",", ".") : cell;
  } else if ((comma ? GROUPED_COMMA : GROUPED_POINT).test(cell)) {
    plain = comma ? cell.replaceAll(".", "").replaceAll(",", ".") : cell.replaceAll(",", "");
  } else {
    return null;
  }
  const value = Number(plain);
  return value > -MOST && value < MOST ? value : null;
}

/**
 * Read a column as numbers; also return how many filled cells were no number.
 * @type {(table: Table, column: number) => [(number|null)[], number]}
 */
export function columnNumbers(table, column) {
  const { decimal } = table;
  let strange = 0;
  const values = table.rows.map((row) => {
    const cell = row[column];
    const value = cell ? numberOf(cell, decimal) : null;
    if (value === null && cell && !NOTHING.has(cell.toLowerCase())) strange += 1;
    return value;
  });
  return [values, strange];
}

/**
 * Read a time of day, with or without a date before it, as seconds since midnight.
 *
 * Two parts are minutes and seconds. null if the cell is no such time.
 * @type {(cell: string) => number|null}
 */
export function clockSeconds(cell) {
  if (cell.length > LONGEST_CELL) return null;
  const clock = CLOCK.exec(cell);
  if (clock) {
    let hour = Number(clock[1]);
    const half = (clock[4] ?? "").toLowerCase();
    if (half) hour = (hour % 12) + (half === "p" ? 12 : 0);
    return hour * 3600 + Number(clock[2]) * 60 + Number(clock[3].replace(",", "."));
  }
  const minutes = MINUTES.exec(cell);
  return minutes ? Number(minutes[1]) * 60 + Number(minutes[2].replace(",", ".")) : null;
}

/** @param {string} text */
function squeezed(text) {
  return trimmed(text).toLowerCase().replaceAll(" ", "");
}
