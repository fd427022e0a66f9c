/**
 * Room logs: what a log of a drive held, as one document for programs.
 *
 * @import { Table } from "./csv-reader.js"
 * @import { Metrics } from "./trip-words.js"
 * @import { Column, Trip } from "./triplog-columns.js"
 * @import { Criterion } from "./triplog-metrics.js"
 * @import { TripReport } from "./triplog.js"
 * @import { Monitor } from "../knowledge/readiness-types.js"
 */

import {
  CRITERIA,
  conditionWords,
  criterionWords,
  missingRoles,
  ROLE_WORDS,
  STRETCH_NAMES,
  secondsWords,
  sharedConditions,
} from "./trip-words.js";
import { TripWork } from "./trip-work.js";
import { clock } from "./voltlog-words.js";

/** @typedef {{column?: string | number, unit?: string | null}} Wanted a name, or a number from 1 */
/** @typedef {{monitors: Record<string, Monitor>, incomplete: string[], constants: Record<string, number>} & Metrics} TripFacts */

/**
 * Analyse a log; columns that are not there are named at the end.
 * @param {string} text
 * @param {Record<string, Wanted>} mapping by role
 * @param {TripFacts} facts
 * @returns {[TripReport, object, string[], object]} the last: the same in words
 */
export function tripDocument(text, mapping, { monitors, incomplete, constants, metrics }) {
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
  const { report, trip } = work.read(columns, constants, incomplete);
  const { delimiter, decimal, header, rows, bad, first_bad } = table;
  return [
    report,
    { delimiter, decimal, header, rows: rows.length, bad, first_bad },
    missing,
    tripWords({ metrics }, report, trip),
  ];
}

/**
 * Say what the page shows of a report, in words.
 * @param {Metrics} tables
 * @param {TripReport} report
 * @param {Trip} trip
 */
function tripWords(tables, report, trip) {
  const criterion = (/** @type {Criterion} */ one) => {
    const { name, needs } = CRITERIA[one.id] ?? { name: one.id, needs: "" };
    return { says: `${name}: ${criterionWords(one)}, needs ${needs}`, verdict: one.verdict };
  };
  const stretches = [...report.stretches, ...(report.voltage?.stretches ?? [])];
  return {
    length: `${trip.times.length} rows over ${secondsWords(report.duration)}`,
    gaps: report.gap_seconds > 0 ? secondsWords(report.gap_seconds) : null,
    missing: missingRoles(trip).map((role) => ({ role, name: (ROLE_WORDS[role]?.name ?? role).toLowerCase() })),
    general: Object.values(report.general).map(criterion),
    evap: report.evap.map(criterion),
    conditions: sharedConditions(report.monitors).map((one) => ({
      says: conditionWords(tables, one),
      verdict: one.verdict,
      monitors: one.monitors,
    })),
    stretches: stretches.map(
      ({ kind, start, end }) =>
        `${STRETCH_NAMES[kind] ?? kind}, ${clock(start)} to ${clock(end)} (${secondsWords(end - start)})`,
    ),
  };
}

/** @type {(table: Table, column: string | number | undefined) => number} */
function placeOf(table, column) {
  return typeof column === "number" ? column - 1 : table.header.indexOf(String(column));
}
