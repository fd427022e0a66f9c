/**
 * Room logs: find at which line of a file a row of its table stands.
 *
 * The table keeps no line numbers, to stay small. Rows are matched with lines in order; a row
 * that spans lines is not found, and the caller then names the row instead.
 *
 * @import { Table } from "./csv-reader.js"
 */
import { splitLine } from "./csv-lines.js";

/** Tell whether a line holds the cells of a row. @type {(cells: string[] | null, row: string[]) => boolean} */
function holds(cells, row) {
  return cells !== null && row.every((cell, place) => cell === cells[place]);
}

/**
 * Find the lines of some rows, both counted from 1.
 * @type {(text: string, table: Table, wanted: number[]) => Map<number, number>}
 * @returns row to line, without those that were not found
 */
export function linesOfRows(text, table, wanted) {
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
