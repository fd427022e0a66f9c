/**
 * Room logs: everything between the text of a log of a drive and what the page draws.
 *
 * It keeps the table, so that other columns and units can be tried. It draws nothing.
 *
 * @import { Table } from "./csv-reader.js"
 * @import { Column, Trip } from "./triplog-columns.js"
 * @import { TripReport } from "./triplog.js"
 * @import { Monitor } from "../knowledge/readiness-types.js"
 * @import { Work } from "./runner.js"
 */
import { readTable } from "./csv-reader.js";
import { analyseTrip } from "./triplog.js";
import { ROLES, readTrip, tripOf } from "./triplog-columns.js";

/** @typedef {Pick<Table, "state" | "header" | "bad">} TableHead what the page needs of the table */
/** @typedef {{table: TableHead, trip: Trip, report: TripReport}} TripResult */

/**
 * The text of a log, null for the same one, and how to read it.
 * @typedef {{text: string | null, monitors: Record<string, Monitor>, mapping: Record<string, Column>,
 *   constants: Record<string, number>, incomplete: string[]}} TripOrder
 */

/** One log after another; each takes the place of the former. */
export class TripWork {
  /** @param {Record<string, Monitor>} monitors */
  constructor(monitors) {
    this.monitors = monitors;
    this.table = readTable("");
  }

  /** @param {string} text */
  open(text) {
    this.table = readTable(text);
  }

  /**
   * Read the log with these columns and units; what is not named is found by its header.
   * @type {(mapping: Record<string, Column>, constants: Record<string, number>, incomplete: string[]) => TripResult}
   */
  read(mapping, constants, incomplete) {
    const { table } = this;
    const trip = table.state === "ok" ? readTrip(table, mapping, constants) : tripOf(table.state);
    const { state, header, bad } = table;
    return { table: { state, header, bad }, trip, report: analyseTrip(trip, this.monitors, incomplete) };
  }
}

/**
 * Thin a channel to the rows that hold a value, ready for the plot.
 * @type {(trip: Trip, role: string) => {times: number[], levels: number[]}}
 */
export function seriesOf(trip, role) {
  /** @type {{times: number[], levels: number[]}} */
  const found = { times: [], levels: [] };
  (trip.channels[role] ?? []).forEach((value, row) => {
    if (value === null) return;
    found.times.push(trip.times[row] ?? 0);
    found.levels.push(value);
  });
  return found;
}

/** List the channels that can be drawn: those with at least two values. @type {(trip: Trip) => string[]} */
export function drawable(trip) {
  const isFilled = (/** @type {(number|null)[]} */ values) => values.filter((one) => one !== null).length > 1;
  return ROLES.filter((role) => role !== "run-time" && isFilled(trip.channels[role] ?? []));
}

/** Read logs of drives by order. @returns {Work<TripOrder, TripResult>} */
export function tripReader() {
  const work = new TripWork({});
  return {
    async run({ text, monitors, mapping, constants, incomplete }) {
      work.monitors = monitors;
      if (text !== null) work.open(text);
      return work.read(mapping, constants, incomplete);
    },
  };
}
