/**
 * Room logs: turn a text with time and volts into one document with what it shows.
 *
 * It draws nothing and sends nothing anywhere.
 *
 * @import { Table } from "./csv-reader.js"
 * @import { LogRows } from "./voltlog-rows.js"
 * @import { VoltLog } from "./voltlog.js"
 */

import { say } from "../kit/sentences.js";
import { ReadingRefused, readNumber } from "../measure/gauges-numbers.js";
import { fixed } from "../measure/words.js";
import { readTable } from "./csv-reader.js";
import { analyse } from "./voltlog.js";
import { capacityOf, LABEL_LIMITS, VOLTS_PER_PERCENT } from "./voltlog-limits.js";
import { ColumnUnknownError, DateOrderError, logRows, REASONS } from "./voltlog-rows.js";
import { DOES_NOT_TELL, SOURCES, voltLogFindings, voltLogSummary } from "./voltlog-words.js";

/** @type {Record<string, [string, string]>} */
const STATES = {
  empty: ["The file is empty.", "Export the log again and open that file."],
  binary: ["This is no text with columns.", "Export the log as CSV, with time and volts."],
  "too-large": ["The file is too large to read here.", "Cut it into parts, or log with longer steps."],
  "one-column": ["No two columns can be told apart.", "Export the log as CSV, with time and volts beside each other."],
  "no-rows": ["There is a header and no rows below it.", "Export the log again."],
};
const FEWEST_ROWS = 2;

/**
 * What a log of volts shows. `options` may hold `time` and `volts` (a header or a column
 * number from 1), `capacity` in ampere-hours, and the conditions of a reading.
 * @type {(text: string, options: Record<string, any>) => VoltLogDocument}
 */
export function voltLogDocument(text, options) {
  return voltLogWithRows(readTable(text), options).document;
}

/**
 * The same of a table that was read before, with the rows it rests on, for a plot; null where nothing was found out.
 * @type {(table: Table, options: Record<string, any>) => {document: VoltLogDocument, rows: LogRows | null}}
 */
export function voltLogWithRows(table, options) {
  const empty = emptyDocument(table);
  const refuse = (/** @type {VoltLogDocument["refused"]} */ refused, soFar = empty) => ({
    document: { ...soFar, refused },
    rows: null,
  });
  if (table.state !== "ok") {
    const [why, mend] = STATES[table.state];
    return refuse({ field: "file", why, mend });
  }
  const unusable = optionRefused(options);
  if (unusable !== null) return refuse(unusable);
  /** @type {LogRows} */
  let rows;
  try {
    rows = logRows(table, options);
  } catch (problem) {
    if (problem instanceof DateOrderError) {
      const why = "The dates can be read with the day or the month first, and nothing in the log decides it.";
      return refuse({ field: "time", why, mend: "Say which, or write the dates as year-month-day: 2026-03-28." });
    }
    if (!(problem instanceof ColumnUnknownError)) throw problem;
    return refuse(columnRefused(table, problem));
  }
  const counted = { ...empty, ...countedRows(rows, table) };
  if (rows.times.length < FEWEST_ROWS) {
    const why = "Fewer than two rows hold both a time and a voltage.";
    const mend = "Choose other columns, or export the log again.";
    return refuse({ field: "file", why, mend }, counted);
  }
  return { document: { ...counted, ...analysed(rows, options) }, rows };
}

/** Which option cannot be used; nothing is put in its place. @param {Record<string, any>} options */
function optionRefused(options) {
  const label = options.capacity ?? null;
  const kind = options["battery-type"] ?? null;
  if (label !== null && !isLabel(label)) {
    const [low, high] = LABEL_LIMITS;
    const why = `“${label}” is no capacity of a car battery.`;
    return { field: "capacity", why, mend: `Give the ampere-hours on the label, ${low} to ${high}.` };
  }
  if (kind !== null && !Object.hasOwn(VOLTS_PER_PERCENT, kind)) {
    const mend = `Choose one of: ${Object.keys(VOLTS_PER_PERCENT).join(", ")}.`;
    return { field: "battery-type", why: `“${kind}” is no type of battery here.`, mend };
  }
  return null;
}

/** @param {unknown} label */
function isLabel(label) {
  try {
    const number = readNumber(label, "capacity");
    return LABEL_LIMITS[0] <= number && number <= LABEL_LIMITS[1];
  } catch (problem) {
    if (problem instanceof ReadingRefused) return false;
    throw problem;
  }
}

/** @param {Table} table */
function firstBadLines(table) {
  return table.first_bad.map(({ line, reason }) => ({ line, why: REASONS[reason] }));
}

/** @param {Record<string, number>} bad */
function total(bad) {
  return Object.values(bad).reduce((sum, count) => sum + count, 0);
}

/** @param {Record<string, number>} bad */
function reasonsOf(bad) {
  return Object.keys(bad)
    .sort()
    .map((reason) => ({ why: REASONS[reason], count: bad[reason] }));
}

/**
 * @typedef {object} VoltLogDocument
 * @property {"voltlog"} kind
 * @property {{field: string, why: string, mend: string} | null} refused
 * @property {string | null} summary how many rows were read and left out
 * @property {string[]} header
 * @property {Record<"time" | "volts", {name: string, unit: string}> | null} columns
 * @property {{used: number, bad: number, reasons: {why: string, count: number}[],
 *   first_bad: {line?: number, row?: number, why: string}[]}} rows
 * @property {Record<string, any> | null} log
 * @property {import("./voltlog-words.js").Finding[]} findings
 * @property {string[]} assumptions
 * @property {string} does_not_tell
 * @property {{mark: string, id?: string}[]} sources
 */

/** @type {(table: Table) => VoltLogDocument} */
function emptyDocument(table) {
  return {
    kind: "voltlog",
    refused: null,
    summary: null,
    header: [...table.header],
    columns: null,
    rows: {
      used: 0,
      bad: total(table.bad),
      reasons: reasonsOf(table.bad),
      first_bad: firstBadLines(table),
    },
    log: null,
    findings: [],
    assumptions: [],
    does_not_tell: DOES_NOT_TELL,
    sources: SOURCES.map((id) => {
      const words = say("mark", { mark: id });
      return words ? { mark: words } : { mark: "published", id };
    }),
  };
}

/**
 * @param {Table} table
 * @param {ColumnUnknownError} unknown
 */
function columnRefused(table, unknown) {
  const why = unknown.given ? `There is no column “${unknown.given}”.` : "No column looks like volts.";
  return { field: unknown.wanted, why, mend: `Choose one of: ${table.header.join(", ")}.` };
}

/**
 * @param {LogRows} rows
 * @param {Table} table
 */
function countedRows(rows, table) {
  const bad = rows.firstBad.map(({ row, reason }) => ({ row, why: REASONS[reason] }));
  return {
    columns: {
      time: { name: rows.time.name, unit: rows.time.unit },
      volts: { name: rows.volts.name, unit: rows.volts.unit },
    },
    rows: {
      used: rows.times.length,
      bad: total(rows.bad),
      reasons: reasonsOf(rows.bad),
      first_bad: [...firstBadLines(table), ...bad],
    },
  };
}

/**
 * @param {LogRows} rows
 * @param {Record<string, any>} options
 */
function analysed(rows, options) {
  const label = options.capacity ?? null;
  const slope = VOLTS_PER_PERCENT[options["battery-type"] ?? "flooded"];
  const capacity = capacityOf(label === null ? null : readNumber(label, "capacity"));
  const log = analyse(rows.times, rows.levels, capacity, slope);
  const findings = voltLogFindings(log, options);
  return {
    summary: voltLogSummary(log, total(rows.bad), findings.length > 0),
    log: describe(log, rows.began),
    findings,
    assumptions: assumptionsOf(rows, options),
  };
}

/**
 * @param {VoltLog} log
 * @param {string | null} began
 */
function describe(log, began) {
  return {
    rows: log.rows,
    began,
    duration: log.duration,
    step: log.step,
    gaps: log.gaps,
    out_of_order: log.outOfOrder,
    coarse: log.coarse,
    stretches: log.stretches.map(({ kind, start, end }) => ({ kind, start: start - log.start, end: end - log.start })),
  };
}

/** @type {(rows: LogRows, options: Record<string, any>) => string[]} */
function assumptionsOf(rows, options) {
  /** @type {string[]} */
  const said = [...rows.said];
  if (rows.time.assumed) said.push(`No unit of time is named: taken as ${rows.time.unit}.`);
  if (rows.volts.assumed) said.push(`No unit of voltage is named: taken as ${rows.volts.unit}.`);
  if ((options.capacity ?? null) === null) {
    const { low, high } = capacityOf(null);
    said.push(`Ampere-hours not given: ${fixed(low, 0)} to ${fixed(high, 0)}\u00a0Ah are taken, our estimate.`);
  } else {
    said.push("A used battery is taken to hold at least 80% of its label, our estimate.");
  }
  if ((options["battery-type"] ?? null) === null) {
    said.push("Battery type not given: the volts are read as those of a flooded one.");
  }
  return said;
}
