/**
 * Room logs: which column of a log is what, in canonical units.
 *
 * It measures nothing of the trip.
 *
 * @import { Table } from "./csv-reader.js"
 * @typedef {{column: number, unit: string|null}} Column
 * @typedef {{state: string, times: number[], channels: Record<string, (number|null)[]>,
 *   mapping: Record<string, Column>, assumed: string[], asked: string[], notes: string[],
 *   dropped: Record<string, number>,
 *   whole_speed: boolean}} Trip
 */

import { medianStep, readTimes } from "./csv-times.js";
import { columnNumbers, unitOf, unitOfCell } from "./csv-values.js";

/** @param {string} number */
const pid = (number) => `\\b(?:01 ?|pid ?|0x)${number}\\b`;
/** @type {[string, RegExp, RegExp][]} role, what the header must hold, what it must not hold */
const GUESSES = [
  ["run-time", new RegExp(`since .*start|run ?time|engine time|${pid("1f")}`), /mil|clear/],
  ["time", /^(?:t|time|zeit)\b|timestamp|elapsed|\btime\b/, /since|run ?time|engine|mil|clear/],
  ["rpm", new RegExp(`\\brpm\\b|engine speed|engine rev|${pid("0c")}`), /target|desired/],
  ["speed", new RegExp(`vehicle speed|road speed|\\bvss\\b|${pid("0d")}`), /engine/],
  ["speed", /\bspeed\b|\bvelocity\b/, /engine|fan|turbine|shaft|wheel/],
  ["coolant", new RegExp(`coolant|\\bect\\b|${pid("05")}`), /level|pressure/],
  ["ambient", new RegExp(`ambient|outside|\\baat\\b|${pid("46")}`), /pressure|light/],
  ["voltage", new RegExp(`module volt|control volt|battery volt|${pid("42")}`), /hybrid|cell/],
  ["voltage", /volt|\bbatt/, /sensor|o2|lambda|throttle|pedal|hybrid|cell|state|temp/],
  ["fuel", new RegExp(`fuel level|tank level|fuel remaining|${pid("2f")}`), /rail|pressure/],
  ["pressure", new RegExp(`baro|${pid("33")}`), /boost/],
];
export const ROLES = [...new Set(GUESSES.map(([role]) => role))];
/** @type {Record<string, [string, number, number]>} canonical unit, lowest and highest value */
const CHANNELS = {
  "run-time": ["s", 0, 1_000_000],
  rpm: ["rpm", 0, 20_000],
  speed: ["km/h", 0, 300],
  coolant: ["degC", -60, 150],
  ambient: ["degC", -60, 60],
  voltage: ["V", 0, 60],
  fuel: ["percent", 0, 100.5],
  pressure: ["kPa", 20, 130],
};
/** @type {Record<string, [string, number, number, number]>} canonical unit, plus, times, by */
const CONVERSIONS = {
  s: ["s", 0, 1, 1],
  ms: ["s", 0, 1, 1000],
  min: ["s", 0, 60, 1],
  "km/h": ["km/h", 0, 1, 1],
  mph: ["km/h", 0, 1.609344, 1],
  "m/s": ["km/h", 0, 3.6, 1],
  rpm: ["rpm", 0, 1, 1],
  degC: ["degC", 0, 1, 1],
  degF: ["degC", -32, 5, 9],
  V: ["V", 0, 1, 1],
  mV: ["V", 0, 1, 1000],
  percent: ["percent", 0, 1, 1],
  kPa: ["kPa", 0, 1, 1],
  hPa: ["kPa", 0, 1, 10],
  bar: ["kPa", 0, 100, 1],
  psi: ["kPa", 0, 6.894757, 1],
  inHg: ["kPa", 0, 3.386389, 1],
};
// Two units are common for these and the figures of both look alike: they are asked.
const TWO_UNITS = ["speed", "coolant", "ambient"];
const LONGEST_NAME = 200;
const MS_STEP = 20; // steps of 20 and more in an unnamed unit are taken as milliseconds

/**
 * Guess which column holds which role, by header; a column serves one role only.
 * @type {(table: Table) => Record<string, Column>}
 */
export function guessMapping(table) {
  const names = table.header.map((name) =>
    name
      .slice(0, LONGEST_NAME)
      .toLowerCase()
      .replace(/[^a-z0-9]+/g, " ")
      .trim(),
  );
  /** @type {Record<string, Column>} */
  const found = {};
  const taken = new Set();
  for (const [role, wanted, unwanted] of GUESSES) {
    if (role in found) continue;
    const column = names.findIndex((name, place) => wanted.test(name) && !unwanted.test(name) && !taken.has(place));
    if (column < 0) continue;
    found[role] = { column, unit: headerUnit(table, column) };
    taken.add(column);
  }
  return found;
}

/**
 * Find the unit of a column, in the row of units or in the header.
 * @type {(table: Table, column: number) => string|null}
 */
function headerUnit(table, column) {
  return table.units_row.length ? unitOfCell(table.units_row[column]) : unitOf(table.header[column]);
}

/**
 * Turn a table into a trip.
 * @param {Table} table
 * @param {Record<string, Column>} [mapping] replaces the guess role by role
 * @param {Record<string, number>} [constants] values in our unit for channels the log has not got
 * @returns {Trip}
 */
export function readTrip(table, mapping = {}, constants = {}) {
  /** @type {Record<string, Column>} */
  const used = {};
  for (const [role, one] of Object.entries({ ...guessMapping(table), ...mapping })) {
    if (ROLES.includes(role) && one.column >= 0 && one.column < table.header.length) used[role] = one;
  }
  /** @type {Record<string, number>} */
  const dropped = {};
  if (!("time" in used)) return tripOf("no-time", used, dropped);
  /** @type {string[]} */
  const assumed = [];
  /** @type {string[]} */
  const asked = [];
  const given = timesOf(table, used.time, assumed);
  if (given === null) return tripOf("date-order", used, dropped);
  /** @type {string[]} */
  const notes = [];
  const [kept, clean] = rising(given, dropped, notes);
  if (kept.length < 2) return tripOf("too-short", used, dropped);
  /** @type {Record<string, (number|null)[]>} */
  const channels = {};
  let whole = true;
  for (const role of ROLES) {
    if (role === "time" || !(role in used)) continue;
    const { column, unit } = used[role];
    const [values, strange] = columnNumbers(table, column);
    if (strange) dropped[`${role}-unreadable`] = strange;
    if (role === "speed") whole = allWhole(values) && (unit === null || unit === "km/h");
    if (TWO_UNITS.includes(role) && (unit === null || !(unit in CONVERSIONS))) {
      asked.push(role);
      assumed.push(role);
      continue;
    }
    channels[role] = canonical(
      role,
      kept.map((row) => values[row]),
      unit,
      assumed,
      dropped,
    );
  }
  for (const [role, value] of Object.entries(constants)) {
    if (role in CHANNELS && !(channels[role] ?? []).some((one) => one !== null)) {
      channels[role] = clean.map(() => value);
    }
  }
  return { ...tripOf("ok", used, dropped), times: clean, channels, assumed, asked, notes, whole_speed: whole };
}

/**
 * Return a trip of which nothing is known but how its columns were read.
 * @type {(state: string, mapping?: Record<string, Column>, dropped?: Record<string, number>) => Trip}
 */
export function tripOf(state, mapping = {}, dropped = {}) {
  return { state, times: [], channels: {}, mapping, assumed: [], asked: [], notes: [], dropped, whole_speed: true };
}

/**
 * @type {(table: Table, column: Column, assumed: string[]) => (number|null)[]|null}
 * @returns null if the dates have two readings
 */
function timesOf(table, column, assumed) {
  const { times, isClock, isAmbiguous } = readTimes(table, column.column);
  if (isAmbiguous) return null;
  if (isClock) return times;
  let unit = column.unit ?? "";
  if (!["s", "ms", "min"].includes(unit)) {
    const step = medianStep(times);
    unit = step !== null && step >= MS_STEP ? "ms" : "s";
    assumed.push("time");
  }
  const [, plus, factor, by] = CONVERSIONS[unit];
  return times.map((time) => (time === null ? null : ((time + plus) * factor) / by));
}

/**
 * Keep the rows whose time does not go back, with times counted from the first of them.
 * @type {(times: (number|null)[], dropped: Record<string, number>, notes: string[]) => [number[], number[]]}
 */
function rising(times, dropped, notes) {
  /** @type {number[]} */
  const kept = [];
  /** @type {number[]} */
  const clean = [];
  /** @type {number|null} */
  let first = null;
  const newestFirst = times.filter((one, row) => one !== null && row > 0 && one < Number(times[row - 1])).length;
  const rows = times.map((_, row) => row);
  if (2 * newestFirst > times.length) {
    rows.reverse();
    notes.push("newest-first");
  }
  rows.forEach((row) => {
    const time = times[row];
    if (time === null) {
      dropped["time-unreadable"] = (dropped["time-unreadable"] ?? 0) + 1;
      return;
    }
    first ??= time;
    if (clean.length && time - first < clean[clean.length - 1]) {
      dropped["time-backwards"] = (dropped["time-backwards"] ?? 0) + 1;
      return;
    }
    kept.push(row);
    clean.push(time - first);
  });
  return [kept, clean];
}

/** @param {(number|null)[]} values */
function allWhole(values) {
  return values.every((value) => value === null || Number.isInteger(value));
}

/**
 * @type {(role: string, values: (number|null)[], unit: string|null, assumed: string[], dropped: Record<string,
 *   number>) => (number|null)[]}
 */
function canonical(role, values, unit, assumed, dropped) {
  const [wanted, low, high] = CHANNELS[role];
  let known = unit !== null && unit in CONVERSIONS ? CONVERSIONS[unit] : null;
  if (known === null || known[0] !== wanted) {
    assumed.push(role);
    known = CONVERSIONS[wanted];
  }
  const [, plus, factor, by] = known;
  let outside = 0;
  const result = values.map((value) => {
    if (value === null) return null;
    const turned = ((value + plus) * factor) / by;
    if (turned >= low && turned <= high) return turned;
    outside += 1;
    return null;
  });
  if (outside) dropped[`${role}-out-of-range`] = outside;
  return result;
}
