/**
 * Room logs: take the two columns of a volt log out of a table.
 *
 * Chooses the columns unless the reader did, brings them to seconds and volts, and counts every
 * row it cannot use with the reason.
 *
 * @import { Table } from "./csv-reader.js"
 */
import { momentOf, readTimes } from "./csv-times.js";
import { columnNumbers, numberOf, unitOf, unitOfCell } from "./csv-values.js";

const TIME_NAMES = /time|clock|date|elapsed|stamp|zeit|seconds?\b/i;
const VOLT_NAMES = /volt|spannung|\bbat/i;
const SECONDS = /** @type {Record<string, number>} */ ({ s: 1, ms: 0.001, min: 60, h: 3600 });
const VOLTS = /** @type {Record<string, number>} */ ({ V: 1, mV: 0.001 });
const MILLIVOLTS_FROM = 1000; // no car's supply reads a thousand volts
const EPOCH_MILLISECONDS_FROM = 1e11; // as seconds this would be the year 5138
const LOWEST_USUAL = 5; // below this the middle of a column is no car's supply
const HIGHEST = 20; // the highest charging volts anyone could read: the gauge's limit
const BAD_SHOWN = 20;
export const REASONS = /** @type {Record<string, string>} */ ({
  "no-time": "no time that can be read",
  "no-volts": "no number in the volts column",
  "not-a-voltage": "volts below 0 or above 20",
  "too-few-cells": "too few cells",
  "too-many-cells": "too many cells",
  "header-again": "the header once more",
  "open-quote": "a quote that is never closed",
});

/** @typedef {{index: number, name: string, unit: string, assumed: boolean}} Column */

/**
 * @typedef {object} LogRows
 * @property {Column} time
 * @property {Column} volts
 * @property {number[]} times seconds
 * @property {number[]} levels volts
 * @property {string | null} began the date or clock of the earliest row as the log has it, null where it has none
 * @property {string[]} said how the times were read, where it could be otherwise
 * @property {Record<string, number>} bad rows that cannot be used, by reason
 * @property {{row: number, reason: string}[]} firstBad rows of the table count from 1
 */

/** Says that a column was asked for which the table does not have, or that none fits. */
export class ColumnUnknownError extends Error {
  /**
   * @param {"time" | "volts"} wanted
   * @param {string} given
   */
  constructor(wanted, given) {
    super(`${wanted}: ${given}`);
    this.name = "ColumnUnknownError";
    this.wanted = wanted;
    this.given = given;
  }
}

/** Says that dates can be read with the day or the month first. */
export class DateOrderError extends Error {}

/**
 * The position of the time or volts column. `given` is a header or a number from 1; null
 * chooses by header, then by unit, then by what the cells hold.
 * @type {(table: Table, wanted: "time" | "volts", given?: string | number | null) => number}
 */
export function findColumn(table, wanted, given = null) {
  const names = table.header.map((name) => name.trim().toLowerCase());
  if (given !== null) {
    const text = String(given).trim().toLowerCase();
    if (names.includes(text)) return names.indexOf(text);
    const number = /^[0-9]{1,4}$/.test(text) ? Number(text) : 0;
    if (number >= 1 && number <= names.length) return number - 1;
    throw new ColumnUnknownError(wanted, String(given));
  }
  const found = wanted === "time" ? guessTime(table) : guessVolts(table);
  if (found < 0) throw new ColumnUnknownError(wanted, "");
  return found;
}

/** @type {(table: Table, index: number) => string | null} */
function unitAt(table, index) {
  const told = table.units_row.length ? unitOfCell(table.units_row[index]) : null;
  return told ?? unitOf(table.header[index]);
}

/** @param {Table} table */
function guessTime(table) {
  const named = table.header.findIndex((name) => TIME_NAMES.test(name));
  if (named >= 0) return named;
  const told = table.header.findIndex((_, index) => {
    const unit = unitAt(table, index);
    return (unit !== null && unit in SECONDS) || momentOf(table.rows[0][index]) !== null;
  });
  return Math.max(told, 0);
}

/** @param {Table} table */
function guessVolts(table) {
  const named = table.header.findIndex((name, index) => VOLT_NAMES.test(name) && hasNumber(table, index));
  if (named >= 0) return named;
  const told = table.header.findIndex((_, index) => (unitAt(table, index) ?? "") in VOLTS);
  if (told >= 0) return told;
  return table.header.findIndex((_, index) => {
    const middle = index > 0 ? middleOf(columnNumbers(table, index)[0]) : null;
    return (
      middle !== null &&
      Object.values(VOLTS).some((factor) => LOWEST_USUAL <= middle * factor && middle * factor <= HIGHEST)
    );
  });
}

/**
 * Whether any cell is a number; stops at the first, as long logs have one at once.
 * @type {(table: Table, index: number) => boolean}
 */
function hasNumber(table, index) {
  return table.rows.some((row) => row[index] && numberOf(row[index], table.decimal) !== null);
}

/** @type {(values: (number | null)[]) => number | null} */
function middleOf(values) {
  const numbers = new Float64Array(values.length);
  let count = 0;
  for (const one of values) {
    if (one !== null) {
      numbers[count] = one;
      count += 1;
    }
  }
  const ordered = numbers.subarray(0, count).sort();
  return count ? ordered[Math.floor(count / 2)] : null;
}

/**
 * The rows of a table as seconds and volts; throws ColumnUnknownError and DateOrderError.
 * @type {(table: Table, columns?: {time?: string | number | null, volts?: string | number | null,
 *   dates?: import("./csv-times.js").DateOrder | null}) => LogRows}
 */
export function logRows(table, columns = {}) {
  const timeIndex = findColumn(table, "time", columns.time ?? null);
  const voltsIndex = findColumn(table, "volts", columns.volts ?? null);
  const read = readTimes(table, timeIndex, columns.dates ?? null);
  if (read.isAmbiguous) throw new DateOrderError();
  const { times: seconds, isClock } = read;
  const levels = columnNumbers(table, voltsIndex)[0];
  /** @type {LogRows} */
  const found = {
    time: timeColumn(table, timeIndex, seconds, isClock),
    volts: voltsColumn(table, voltsIndex, levels),
    times: [],
    levels: [],
    began: null,
    said: timesSaid(read),
    bad: {},
    firstBad: [],
  };
  const toSeconds = isClock ? 1 : SECONDS[found.time.unit];
  const toVolts = VOLTS[found.volts.unit];
  let earliest = -1;
  for (let i = 0; i < levels.length; i += 1) {
    const second = seconds[i];
    const level = levels[i];
    if (second === null) refuse(found, i + 1, "no-time");
    else if (level === null) refuse(found, i + 1, "no-volts");
    else if (!(level * toVolts >= 0 && level * toVolts <= HIGHEST)) {
      refuse(found, i + 1, "not-a-voltage");
    } else {
      if (earliest < 0 || second < Number(seconds[earliest])) earliest = i;
      found.times.push(second * toSeconds);
      found.levels.push(level * toVolts);
    }
  }
  for (const [reason, count] of Object.entries(table.bad)) {
    found.bad[reason] = (found.bad[reason] ?? 0) + count;
  }
  if (isClock && earliest >= 0) found.began = read.columns.map((one) => table.rows[earliest][one]).join(", ");
  return found;
}

/** @param {import("./csv-times.js").Times} read */
function timesSaid({ isClock, isDated, order, twelve }) {
  /** @type {string[]} */
  const said = [];
  if (order !== null) said.push(`Dates are read with the ${order === "day-first" ? "day" : "month"} first.`);
  if (twelve) said.push("The clock shows no morning or evening: it is taken to go on over twelve.");
  if (isClock && !isDated) said.push("The times have no date: a pause of a day or more cannot be seen.");
  return said;
}

/** @type {(found: LogRows, row: number, reason: string) => void} */
function refuse(found, row, reason) {
  found.bad[reason] = (found.bad[reason] ?? 0) + 1;
  if (found.firstBad.length < BAD_SHOWN) found.firstBad.push({ row, reason });
}

/** @type {(table: Table, index: number, times: (number | null)[], isClock: boolean) => Column} */
function timeColumn(table, index, times, isClock) {
  const name = table.header[index];
  if (isClock) return { index, name, unit: "clock", assumed: false };
  const unit = unitAt(table, index);
  if (unit !== null && unit in SECONDS) return { index, name, unit, assumed: false };
  const first = times.find((one) => one !== null) ?? 0;
  return { index, name, unit: first >= EPOCH_MILLISECONDS_FROM ? "ms" : "s", assumed: true };
}

/** @type {(table: Table, index: number, levels: (number | null)[]) => Column} */
function voltsColumn(table, index, levels) {
  const name = table.header[index];
  const unit = unitAt(table, index);
  if (unit !== null && unit in VOLTS) return { index, name, unit, assumed: false };
  const middle = middleOf(levels);
  const isMilli = middle !== null && middle >= MILLIVOLTS_FROM;
  return { index, name, unit: isMilli ? "mV" : "V", assumed: true };
}
