/**
 * Output room: which part of a log is shown, and how its rows are thinned for drawing.
 *
 * Plain arithmetic, without the page. Every row counts: a column of the picture shows the
 * lowest and the highest of all rows that fall into it.
 */

/** @typedef {{from: number, to: number}} Range seconds since the first row */
/** @typedef {{times: ArrayLike<number>, levels: ArrayLike<number>}} Series levels of one quantity, such as volts */
/** @typedef {{from: number, to: number, low: number, high: number, rows: number}} Bucket */

const NEAREST = 2; // seconds; nearer than this nothing more is to be seen
const ROOM = 0.05; // room above and below, as a share of what is shown

/** The first row at or after a time. @type {(times: ArrayLike<number>, time: number) => number} */
function firstAt(times, time) {
  let low = 0;
  let high = times.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((times[middle] ?? 0) < time) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** Keep a range inside the log and not too narrow. @type {(wanted: Range, duration: number) => Range} */
export function fitted({ from, to }, duration) {
  const span = Math.min(Math.max(to - from, Math.min(NEAREST, duration)), duration);
  const start = Math.min(Math.max(from, 0), duration - span);
  return { from: start, to: start + span };
}

/**
 * Zoom by a factor about a point of the picture; above 1 comes nearer.
 * @type {(range: Range, factor: number, about: {at: number, duration: number}) => Range}
 * @param about `at` from 0 (left) to 1 (right)
 */
export function zoomed({ from, to }, factor, { at, duration }) {
  const still = from + (to - from) * at;
  const span = Math.min(Math.max((to - from) / factor, Math.min(NEAREST, duration)), duration);
  return fitted({ from: still - span * at, to: still + span * (1 - at) }, duration);
}

/** Move by a share of what is shown. @type {(range: Range, share: number, duration: number) => Range} */
export function moved({ from, to }, share, duration) {
  const by = (to - from) * share;
  return fitted({ from: from + by, to: to + by }, duration);
}

/**
 * Thin the rows of a range to columns. Empty columns are left out.
 * @type {(series: Series, range: Range, options: {columns: number, withNeighbours?: boolean}) => Bucket[]}
 * @param options neighbours: one row beyond
 *   either end, so that a line leaves the picture
 */
export function buckets({ times, levels }, { from, to }, { columns, withNeighbours = false }) {
  const width = (to - from) / columns || 1;
  const beyond = withNeighbours ? 1 : 0;
  const last = Math.min(firstAt(times, to + width * 1e-6) + beyond, times.length);
  /** @type {Bucket[]} */
  const found = [];
  /** @type {Bucket | null} */
  let now = null;
  let place = -1;
  for (let i = Math.max(firstAt(times, from) - beyond, 0); i < last; i += 1) {
    const time = times[i] ?? 0;
    const level = levels[i] ?? 0;
    const column = time <= to && time >= to - width ? columns - 1 : Math.floor((time - from) / width);
    if (now === null || column !== place) {
      now = { from: time, to: time, low: level, high: level, rows: 0 };
      place = column;
      found.push(now);
    }
    now.to = time;
    now.rows += 1;
    if (level < now.low) now.low = level;
    if (level > now.high) now.high = level;
  }
  return found;
}

/**
 * The levels to show from bottom to top, with a little room.
 * @param {Bucket[]} columns
 * @param {{least: number, empty: [number, number]}} quantity least: the least that is shown
 *   from bottom to top; empty: what is shown when there is nothing
 * @returns {{low: number, high: number}}
 */
export function levelsShown(columns, { least, empty }) {
  let low = Infinity;
  let high = -Infinity;
  for (const one of columns) {
    low = Math.min(low, one.low);
    high = Math.max(high, one.high);
  }
  if (low > high) return { low: empty[0], high: empty[1] };
  const room = Math.max((high - low) * ROOM, (least - (high - low)) / 2);
  return { low: low - room, high: high + room };
}

/**
 * A round distance between marks, so that about `wanted` of them fit.
 * @type {(span: number, wanted: number, steps: number[]) => number}
 * @param steps ascending round steps
 */
export function roundStep(span, wanted, steps) {
  return steps.find((step) => span / step <= wanted) ?? steps[steps.length - 1] ?? span;
}
