/**
 * Room logs: everything between the bytes of a log and what the page draws, in stages.
 *
 * Runs in a worker or, without one, in the page, with a pause after each stage so that the
 * page answers. It keeps the text and the table, so that other columns can be tried. The table keeps no
 * line numbers, to stay small: rows are matched with lines in order, and one that spans lines is named as
 * a row instead. It draws nothing and sends nothing anywhere.
 *
 * @import { Table } from "./csv-reader.js"
 * @import { LogRows } from "./voltlog-rows.js"
 * @import { VoltLogDocument } from "./voltlog-document.js"
 * @import { Tell, Work } from "./runner.js"
 */

import { splitLine } from "./csv-lines.js";
import { MOST_CHARACTERS, readTable, tableOf } from "./csv-reader.js";
import { inOrder } from "./voltlog.js";
import { voltLogWithRows } from "./voltlog-document.js";
import { findColumn } from "./voltlog-rows.js";

/** Tell whether a line holds the cells of a row. @type {(cells: string[] | null, row: string[]) => boolean} */
function holds(cells, row) {
  return cells !== null && row.every((cell, place) => cell === cells[place]);
}

/**
 * Find the lines of some rows, both counted from 1.
 * @type {(text: string, table: Table, wanted: number[]) => Map<number, number>}
 * @returns row to line, without those that were not found
 */
function linesOfRows(text, table, wanted) {
  const found = new Map();
  const last = Math.max(0, ...wanted);
  if (last === 0) return found;
  const asked = new Set(wanted);
  let row = 0;
  let start = 0;
  for (let line = 1; start <= text.length && row < last; line += 1) {
    const feed = text.slice(start).search(/\r\n|\r|\n/);
    const end = feed < 0 ? text.length : start + feed;
    const cells = splitLine(text.slice(start, end).replace(/^\ufeff/, ""), table.delimiter);
    if (holds(cells, table.rows[row] ?? [])) {
      row += 1;
      if (asked.has(row)) found.set(row, line);
    }
    start = end + (text.startsWith("\r\n", end) ? 2 : 1);
  }
  return found;
}

/**
 * What was read, ready to be drawn; times count from the first row.
 * @typedef {object} LogResult
 * @property {VoltLogDocument} document
 * @property {{times: Float64Array, volts: Float64Array} | null} series in order of time
 * @property {{time: number, volts: number} | null} chosen columns, counted from 0
 */
/** @typedef {{given: ArrayBuffer | string | null, options: Record<string, any>}} LogOrder null: the same log */

const NO_TABLE = tableOf("too-large");

/**
 * Turn bytes into text; a byte order mark names the encoding, else it is UTF-8.
 * @type {(bytes: ArrayBuffer) => string}
 */
export function textOf(bytes) {
  const [first, second] = new Uint8Array(bytes, 0, Math.min(2, bytes.byteLength));
  if (first === 0xff && second === 0xfe) return new TextDecoder("utf-16le").decode(bytes);
  if (first === 0xfe && second === 0xff) return new TextDecoder("utf-16be").decode(bytes);
  return new TextDecoder("utf-8").decode(bytes);
}

/**
 * Bring rows to the order of time, counted from the first.
 * @type {(rows: LogRows) => {times: Float64Array, volts: Float64Array}}
 */
function seriesOf(rows) {
  const { times, volts } = inOrder(rows.times, rows.levels);
  return { times: Float64Array.from(times, (time) => time - times[0]), volts: Float64Array.from(volts) };
}

/** One log after another; each takes the place of the former. */
class LogWork {
  /** @param {Tell} tell */
  constructor(tell) {
    this.tell = tell;
    this.text = "";
    this.table = NO_TABLE;
  }

  /**
   * Read a log from its bytes or its text.
   * @type {(given: ArrayBuffer | string, options: Record<string, any>) => Promise<LogResult>}
   */
  async open(given, options) {
    const size = typeof given === "string" ? given.length : given.byteLength;
    this.table = NO_TABLE;
    this.text = "";
    if (size <= MOST_CHARACTERS) {
      await this.tell("Reading the text");
      this.text = typeof given === "string" ? given : textOf(given);
      await this.tell("Finding rows and columns");
      this.table = readTable(this.text);
    }
    return this.again(options);
  }

  /**
   * Look at the same log once more, with other columns or other facts.
   * @type {(options: Record<string, any>) => Promise<LogResult>}
   */
  async again(options) {
    await this.tell("Looking for rest, starts and charging");
    const { document, rows } = voltLogWithRows(this.table, options);
    const series = rows === null ? null : seriesOf(rows);
    return { document: this.withLines(document), series, chosen: this.chosen(options) };
  }

  /** @type {(options: Record<string, any>) => {time: number, volts: number} | null} */
  chosen(options) {
    if (this.table.state !== "ok") return null;
    const place = (/** @type {"time" | "volts"} */ name) => {
      try {
        return findColumn(this.table, name, options[name] ?? null);
      } catch {
        return -1; // the refusal says that none fits; the reader chooses
      }
    };
    return { time: place("time"), volts: place("volts") };
  }

  /**
   * Name the line of each bad row that is shown, where it can be found.
   * @type {(document: VoltLogDocument) => VoltLogDocument}
   */
  withLines(document) {
    const shown = document.rows.first_bad;
    const lines = linesOfRows(
      this.text,
      this.table,
      shown.flatMap(({ row }) => row ?? []),
    );
    const named = shown.map((bad) => {
      const line = bad.line ?? lines.get(bad.row ?? 0);
      return line === undefined ? bad : { line, why: bad.why };
    });
    named.sort((a, b) => (a.line ?? Infinity) - (b.line ?? Infinity));
    return { ...document, rows: { ...document.rows, first_bad: named } };
  }
}

/** Read logs by order. @type {(tell: Tell) => Work<LogOrder, LogResult>} */
export function logReader(tell) {
  const work = new LogWork(tell);
  return {
    run: ({ given, options }) => (given === null ? work.again(options) : work.open(given, options)),
    moved: ({ series }) => (series ? [series.times.buffer, series.volts.buffer] : []),
  };
}
