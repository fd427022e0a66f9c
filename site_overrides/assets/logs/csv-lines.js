/**
 * Room logs: one line of a log as cells, and the separator that cuts a log best.
 *
 * It knows no header.
 */

const MOST_COLUMNS = 500;
export const SAMPLE = 60;
const ODD_SIGNS = /[\^~!&*\x1f@$]/g;
const EITHER_NUMBER = /^[+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][+-]?[0-9]+)?$/;
const BLANKS = " \t\r\n\f\v\u00a0";
const BLANK = /[ \t\f\v\u00a0]/;
const SPACES = /[ \u00a0]+/;
const PREFERRED = ["\t", ";", "|", ","];

/** Tell whether a cell is a number with either decimal sign. @param {string} cell */
export function isNumber(cell) {
  return EITHER_NUMBER.test(cell);
}

/** Take blanks off both ends. @param {string} text */
export function trimmed(text) {
  // By hand: a pattern for the end tries every run of blanks in the middle as well.
  let [start, end] = [0, text.length];
  while (start < end && BLANKS.includes(text[start])) start += 1;
  while (end > start && BLANKS.includes(text[end - 1])) end -= 1;
  return text.slice(start, end);
}

/**
 * Cut one line into trimmed cells; null if a quote stays open.
 *
 * Quotes hold separators, a doubled quote is a quote. Blanks as separator count in runs.
 * @type {(line: string, delimiter: string) => string[]|null}
 */
export function splitLine(line, delimiter) {
  if (!line.includes('"')) {
    if (delimiter === " ") return trimmed(line).split(SPACES);
    const cells = line.split(delimiter);
    // Most logs hold no blanks, and trimming every cell is half the work.
    return BLANK.test(line) ? cells.map(trimmed) : cells;
  }
  const cells = [];
  let at = 0;
  for (;;) {
    while (" \t".includes(line[at] ?? "x") && line[at] !== delimiter) at += 1;
    let cell = "";
    let start = at;
    if (line[at] === '"') {
      const quoted = readQuoted(line, at + 1);
      if (quoted === null) return null;
      [cell, start] = quoted;
    }
    const after = line.indexOf(delimiter, start);
    cell += line.slice(start, after >= 0 ? after : line.length);
    cells.push(trimmed(cell));
    if (after < 0) return cells;
    at = after + 1;
  }
}

/**
 * Choose the separator that cuts most lines alike and leaves most cells numbers.
 *
 * "" means that no separator gives two columns.
 * @type {(lines: string[]) => string}
 */
export function findDelimiter(lines) {
  const sample = lines.slice(0, SAMPLE);
  const odd = sample.slice(0, 1).flatMap((line) => line.match(ODD_SIGNS) ?? []);
  let best = "";
  let bestScore = 0;
  for (const delimiter of new Set([...PREFERRED, ...odd, " "])) {
    const score = scoreOf(sample, delimiter);
    if (score > bestScore) [best, bestScore] = [delimiter, score];
  }
  return best;
}

/**
 * Read from behind an opening quote; the cell and where to go on, null if it stays open.
 * @type {(line: string, at: number) => [string, number]|null}
 */
function readQuoted(line, at) {
  let cell = "";
  for (;;) {
    const end = line.indexOf('"', at);
    if (end < 0) return null;
    cell += line.slice(at, end);
    if (line[end + 1] !== '"') return [cell, end + 1];
    cell += '"';
    at = end + 2;
  }
}

/** @type {(sample: string[], delimiter: string) => number} */
function scoreOf(sample, delimiter) {
  const cut = sample.map((line) => splitLine(line, delimiter) ?? []);
  const width = usualWidth(cut.map((cells) => cells.length));
  if (width < 2) return 0;
  const alike = cut.filter((cells) => cells.length === width);
  let numbers = 0;
  for (const cells of alike) for (const cell of cells) numbers += Number(isNumber(cell));
  return alike.length / sample.length + numbers / (width * alike.length);
}

/** Return the commonest width of at least two; the wider of two equally common. @type {(widths: number[]) => number} */
export function usualWidth(widths) {
  /** @type {Map<number, number>} */
  const counts = new Map();
  for (const width of widths) {
    if (width >= 2 && width <= MOST_COLUMNS) counts.set(width, (counts.get(width) ?? 0) + 1);
  }
  let [best, most] = [0, 0];
  for (const [width, count] of counts) {
    if (count > most || (count === most && width > best)) [best, most] = [width, count];
  }
  return best;
}
