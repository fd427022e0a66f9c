/**
 * Room logs: what a log of a drive held, as one document for programs.
 *
 * @import { Table } from "./csv-reader.js"
 * @import { Column } from "./triplog-columns.js"
 * @import { TripReport } from "./triplog.js"
 * @import { Monitor } from "../knowledge/readiness-types.js"
 */

import { TripWork } from "./trip-work.js";

/** @typedef {{column?: string | number, unit?: string | null}} Wanted a name, or a number from 1 */
/** @typedef {{monitors: Record<string, Monitor>, incomplete: string[], constants: Record<string, number>}} TripFacts */

/**
 * Analyse a log; columns that are not there are named at the end.
 * @param {string} text
 * @param {Record<string, Wanted>} mapping by role
 * @param {TripFacts} facts
 * @returns {[TripReport, object, string[]]}
 */
export function tripDocument(text, mapping, { monitors, incomplete, constants }) {
  const work = new TripWork(monitors);
  work.open(text);
  const { table } = work;
  /** @type {Record<string, Column>} */
  const columns = {};
  const missing = [];
  for (const [role, wanted] of Object.entries(mapping)) {
    const column = placeOf(table, wanted.column);
    if (column >= 0 && column < table.header.length) columns[role] = { column, unit: wanted.unit ?? null };
    else missing.push(role);
  }
  const { report } = work.read(columns, constants, incomplete);
  const { delimiter, decimal, header, rows, bad, first_bad } = table;
  return [report, { delimiter, decimal, header, rows: rows.length, bad, first_bad }, missing];
}

/**
 * @param {Table} table
 * @param {string | number | undefined} column
 */
function placeOf(table, column) {
  return typeof column === "number" ? column - 1 : table.header.indexOf(String(column));
}
