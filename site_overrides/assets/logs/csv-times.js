/**
 * Room data: a column of a log as seconds, with dates, clocks and both put together.
 *
 * Dates count, so that days between two rows are days. What can be read with the day or the
 * month first is not guessed. It knows nothing of cars.
 *
 * @import { Table } from "./csv-reader.js"
 * @typedef {"day-first"|"month-first"} DateOrder
 * @typedef {{date: [number, number, number]|null, iso: boolean, dots: boolean, second: number|null,
 *   hour: number|null, half: boolean}} Moment
 * @typedef {{times: (number|null)[], isClock: boolean, isDated: boolean, isAmbiguous: boolean,
 *   order: DateOrder|null, twelve: boolean}} Times
 * @typedef {Times & {columns: number[]}} ReadTimes with the columns they stand in, the date's first
 */

import { clockSeconds, columnNumbers } from "./csv-values.js";

const LONGEST_CELL = 64;
const YEAR_FIRST = /^([0-9]{4})([-/.])([0-9]{1,2})\2([0-9]{1,2})(?:[T ,]+(.+))?$/;
const YEAR_LAST = /^([0-9]{1,2})([-/.])([0-9]{1,2})\2([0-9]{4}|[0-9]{2})(?:[T ,]+(.+))?$/;
const CLOCK =
  /^([0-9]{1,2}):([0-9]{2})(?::([0-9]{2}(?:[.,][0-9]{1,9})?))? ?(?:([AaPp])\.?[Mm]?\.?)? ?(Z|[+-][0-9]{2}:?[0-9]{2})?$/;
const DAY = 86_400;

/** Read a cell as a date, a time of day or both; null if it is neither. @type {(cell: string) => Moment|null} */
export function momentOf(cell) {
  if (cell.length > LONGEST_CELL) return null;
  const [first, last] = [YEAR_FIRST.exec(cell), YEAR_LAST.exec(cell)];
  const found = first ?? last;
  const clock = found ? found[5] : cell;
  const none = { date: null, iso: false, dots: false, second: null, hour: null, half: false };
  if (found) {
    const date = /** @type {[number, number, number]} */ (
      first
        ? [Number(first[1]), Number(first[3]), Number(first[4])]
        : [Number(found[4]) + (found[4].length === 2 ? 2000 : 0), Number(found[1]), Number(found[3])]
    );
    Object.assign(none, { date, iso: first !== null, dots: found[2] === "." });
    if (clock === undefined) return none;
  }
  const parts = CLOCK.exec(clock);
  // Without a date, two numbers are minutes and seconds, as elapsed times are written.
  if (!parts || (!found && parts[3] === undefined && parts[4] === undefined)) {
    const second = found ? null : clockSeconds(cell);
    return second === null ? null : { ...none, second };
  }
  const half = (parts[4] ?? "").toLowerCase();
  const hour = half ? (Number(parts[1]) % 12) + (half === "p" ? 12 : 0) : Number(parts[1]);
  const zone = /^([+-])([0-9]{2}):?([0-9]{2})$/.exec(parts[5] ?? "");
  const shift = zone ? (zone[1] === "-" ? -1 : 1) * (Number(zone[2]) * 3600 + Number(zone[3]) * 60) : 0;
  const second = hour * 3600 + Number(parts[2]) * 60 + Number((parts[3] ?? "0").replace(",", ".")) - shift;
  return { ...none, second, hour: Number(parts[1]), half: half !== "" };
}

/**
 * Read a column as time; a date beside a clock in another column belongs to it.
 * @type {(table: Table, column: number, order?: DateOrder|null) => ReadTimes}
 * @param order what the reader says of 03/04/2026
 */
export function readTimes(table, column, order = null) {
  const start = table.rows.find((row) => row[column])?.[column];
  const first = start === undefined ? null : momentOf(start);
  if (first === null) {
    const times = columnNumbers(table, column)[0];
    return { times, isClock: false, isDated: false, isAmbiguous: false, order: null, twelve: false, columns: [column] };
  }
  const beside = first.date !== null && first.second !== null ? -1 : otherHalf(table, column, first);
  const columns = beside < 0 ? [column] : first.date ? [column, beside] : [beside, column];
  const moments = table.rows.map((row) => momentOf(columns.map((one) => row[one]).join(" ")));
  return { ...(first.date !== null || beside >= 0 ? dated(moments, order) : undated(moments)), columns };
}

/**
 * Find the column that holds the clock to a column of dates, or the dates to a clock.
 * @type {(table: Table, column: number, first: Moment) => number}
 */
function otherHalf(table, column, first) {
  return table.header.findIndex((_, index) => {
    const cell = index === column ? undefined : table.rows.find((row) => row[index])?.[index];
    const other = cell === undefined ? null : momentOf(cell);
    if (other === null) return false;
    return first.date !== null ? other.date === null : other.date !== null && other.second === null;
  });
}

/** @type {(moments: (Moment|null)[], told: DateOrder|null) => Times} */
function dated(moments, told) {
  let [day, month, dots] = [false, false, false];
  const written = new Set();
  for (const moment of moments) {
    if (!moment?.date || moment.iso) continue;
    day ||= moment.date[1] > 12;
    month ||= moment.date[2] > 12;
    dots ||= moment.dots;
    written.add(moment.date.join());
  }
  const seen = day === month ? null : day ? "day-first" : "month-first";
  const order = told ?? seen ?? (dots && !month ? "day-first" : null);
  const isAmbiguous = order === null && (written.size > 1 || (day && month));
  const days = moments.map((moment) => (moment?.date && !isAmbiguous ? dayNumber(moment, order) : null));
  let base = Infinity;
  for (const one of days) if (one !== null && one < base) base = one;
  const times = moments.map((moment, row) => {
    const number = days[row];
    return moment === null || number === null ? null : (number - base) * DAY + (moment.second ?? 0);
  });
  const shown = written.size ? /** @type {DateOrder|null} */ (order) : null;
  return { times, isClock: true, isDated: true, isAmbiguous, order: shown, twelve: false };
}

/**
 * @param {Moment} moment
 * @param {string|null} order
 * @returns {number|null} days since 1970; null if there is no such day
 */
function dayNumber({ date, iso }, order) {
  const [year, one, two] = /** @type {[number, number, number]} */ (date);
  const [month, day] = iso || order === "month-first" ? [one, two] : [two, one];
  const at = new Date(Date.UTC(year, month - 1, day));
  return at.getUTCMonth() === month - 1 && at.getUTCDate() === day ? at.getTime() / (DAY * 1000) : null;
}

/**
 * Let clock times without dates go on over midnight, in the direction in which the rows run.
 *
 * A clock that never shows 0 nor more than 12, and falls by nearly its whole round, has twelve
 * hours.
 * @type {(moments: (Moment|null)[]) => Times}
 */
function undated(moments) {
  const seconds = moments.map((moment) => moment?.second ?? null);
  const plain = moments.every(
    (one) => one === null || (one.hour !== null && !one.half && one.hour >= 1 && one.hour <= 12),
  );
  const round = DAY / 2;
  const [ups, downs, falls, bigFalls] = steps(seconds, 0.75 * round);
  const twelve = plain && bigFalls > 0;
  const period = twelve ? round : DAY;
  const backwards = falls > 0 && downs > ups;
  let turns = 0;
  /** @type {number|null} */
  let last = null;
  const times = seconds.map((given) => {
    if (given === null) return null;
    const second = twelve ? given % round : given;
    if (last !== null && !backwards && second < last - period / 2) turns += period;
    if (last !== null && backwards && second > last + period / 2) turns -= period;
    last = second;
    return second + turns;
  });
  return { times, isClock: true, isDated: false, isAmbiguous: false, order: null, twelve };
}

/**
 * Count the rises and falls over midnight the short way, the falls as written, and the large ones.
 * @type {(seconds: (number|null)[], large: number) => [number, number, number, number]}
 */
function steps(seconds, large) {
  let [ups, downs, falls, bigFalls] = [0, 0, 0, 0];
  /** @type {number|null} */
  let last = null;
  for (const second of seconds) {
    if (second === null) continue;
    if (last !== null) {
      const step = second - last - DAY * Math.round((second - last) / DAY);
      ups += Number(step > 0);
      downs += Number(step < 0);
      falls += Number(second < last);
      bigFalls += Number(second < last - large && second > last - DAY / 2);
    }
    last = second;
  }
  return [ups, downs, falls, bigFalls];
}

/**
 * Return the middle of the forward steps of a time column; null if there are none.
 * @type {(times: (number|null)[]) => number|null}
 */
export function medianStep(times) {
  const steps = [];
  /** @type {number|null} */
  let last = null;
  for (const time of times) {
    if (time === null) continue;
    if (last !== null && time > last) steps.push(time - last);
    last = time;
  }
  return steps.length ? steps.sort((a, b) => a - b)[Math.floor(steps.length / 2)] : null;
}
