/**
 * Room logs: read a log of battery volts over time: cranking dips, charging and resting
 * stretches, and what they say.
 */

import { restSlope } from "./voltlog-slope.js";

/** @typedef {import("../measure/sums-parts.js").Interval} Interval */
/** @typedef {import("./voltlog-slope.js").RestSlope} RestSlope */
/** @typedef {{kind: string, first: number, last: number, start: number, end: number}} Stretch */
/** @typedef {{at: number, before: number, lowest: number, started: boolean}} Crank */
/** @typedef {{times: ArrayLike<number>, volts: ArrayLike<number>, gap: number}} Rows */

/**
 * @typedef {{start: number, end: number, setPoint: number, low: number, high: number, dips: number,
 *   lowestDip: number | null}} Charging
 */

/**
 * @typedef {object} VoltLog
 * @property {number} rows
 * @property {number} start time of the first row in order
 * @property {number} outOfOrder
 * @property {number} step
 * @property {number} gaps
 * @property {number} duration
 * @property {boolean} coarse
 * @property {Stretch[]} stretches
 * @property {Crank[]} cranks
 * @property {Charging[]} charging
 * @property {RestSlope[]} rests
 */

// Working limits of the reader of logs: common practice, no source.
const CHARGING_FROM = 13.2;
const CHARGING_UNTIL = 12.9;
const CRANK_FALL = 0.7;
const CRANK_BELOW = 12;
const CRANK_LONGEST = 20;
const RECOVERED = 0.7;
const START_WITHIN = 60;
const SHORT_DIP = 10;
const DRIVING_DIP_BELOW = 12;
const SETTLE_CHARGING = 120;
const REST_SHORTEST = 600;
const GAP_LEAST = 60;
const GAP_STEPS = 10;
const COARSE_STEP = 1;

/** @param {ArrayLike<number>} values */
function inSize(values) {
  return Float64Array.from(values).sort();
}

/**
 * The value below which `share` of the numbers lie, by straight lines.
 * @param {ArrayLike<number>} ordered ascending
 * @param {number} share
 */
function quantile(ordered, share) {
  const place = share * (ordered.length - 1);
  const lower = Math.floor(place);
  const upper = Math.min(lower + 1, ordered.length - 1);
  return ordered[lower] + (ordered[upper] - ordered[lower]) * (place - lower);
}

/** @param {ArrayLike<number>} values */
export function median(values) {
  return quantile(inSize(values), 0.5);
}

/**
 * @param {Rows} rows
 * @param {number} from
 * @param {number} to not included
 */
function slice(rows, from, to) {
  return Array.prototype.slice.call(rows.volts, from, to);
}

/**
 * The row at which a dip that began at `first` is over, or -1 if it lasts too long. A weak
 * battery does not come all the way back, so most of the way is enough.
 * @type {(rows: Rows, first: number, before: number) => number}
 */
function dipEnd(rows, first, before) {
  const start = rows.times[first];
  let lowest = rows.volts[first];
  for (let i = first; i < rows.times.length; i += 1) {
    if (rows.times[i] - start > CRANK_LONGEST) return -1;
    if (i > first && rows.times[i] - rows.times[i - 1] > rows.gap) return -1;
    lowest = Math.min(lowest, rows.volts[i]);
    const most = lowest + (before - lowest) * RECOVERED;
    if (rows.volts[i] >= Math.min(before - CRANK_FALL / 2, most)) return i;
  }
  return -1;
}

/** @type {(rows: Rows, end: number) => boolean} */
function startsAfter(rows, end) {
  const limit = rows.times[end] + START_WITHIN;
  for (let i = end; i < rows.times.length && rows.times[i] <= limit; i += 1) {
    if (rows.volts[i] >= CHARGING_FROM) return true;
  }
  return false;
}

/** @type {(rows: Rows) => {stretch: Stretch, crank: Crank}[]} */
function findCranks(rows) {
  const found = [];
  let i = 1;
  while (i < rows.times.length) {
    // Most rows are far above any crank: the median is only worth its time below.
    const low = rows.volts[i] < CRANK_BELOW;
    const before = low ? median(slice(rows, Math.max(0, i - 5), i)) : 0;
    const gap = rows.times[i] - rows.times[i - 1] > rows.gap;
    const fell = low && rows.volts[i] < before - CRANK_FALL && !gap && before < CHARGING_FROM;
    const end = fell ? dipEnd(rows, i, before) : -1;
    if (end === -1) {
      i += 1;
    } else {
      const at = rows.times[i];
      const stretch = { kind: "crank", first: i, last: end - 1, start: at, end: rows.times[end - 1] };
      const lowest = Math.min(...slice(rows, i, end));
      found.push({ stretch, crank: { at, before, lowest, started: startsAfter(rows, end) } });
      i = end + 1;
    }
  }
  return found;
}

/** The last row of the charging stretch that begins at `first`. @type {(rows: Rows, first: number) => number} */
function chargingEnd(rows, first) {
  let lastHigh = first;
  for (let i = first + 1; i < rows.times.length; i += 1) {
    if (rows.times[i] - rows.times[i - 1] > rows.gap) break;
    if (rows.volts[i] >= CHARGING_UNTIL) lastHigh = i;
    else if (rows.times[i] - rows.times[lastHigh] > SHORT_DIP) break;
  }
  return lastHigh;
}

/** @type {(rows: Rows) => Stretch[]} */
function findCharging(rows) {
  const found = [];
  let i = 0;
  while (i < rows.times.length) {
    if (rows.volts[i] < CHARGING_FROM) {
      i += 1;
    } else {
      const last = chargingEnd(rows, i);
      found.push({ kind: "charging", first: i, last, start: rows.times[i], end: rows.times[last] });
      i = last + 1;
    }
  }
  return found.filter((one) => one.end - one.start >= START_WITHIN / 2);
}

/** The long stretches between cranks, charging and gaps. @type {(rows: Rows, busy: Stretch[]) => Stretch[]} */
function findRests(rows, busy) {
  const count = rows.times.length;
  const taken = new Uint8Array(count + 1);
  taken[count] = 1;
  for (const stretch of busy) taken.fill(1, stretch.first, stretch.last + 1);
  /** @type {Stretch[]} */
  const found = [];
  let first = -1;
  for (let i = 0; i <= count; i += 1) {
    const gap = i > 0 && i < count && rows.times[i] - rows.times[i - 1] > rows.gap;
    if (first !== -1 && (taken[i] === 1 || gap)) {
      const last = i - 1;
      const start = rows.times[first];
      const end = rows.times[last];
      if (end - start >= REST_SHORTEST) found.push({ kind: "rest", first, last, start, end });
      first = -1;
    }
    if (taken[i] === 0 && first === -1) first = i;
  }
  return found;
}

/** @type {(rows: Rows, stretch: Stretch) => Charging} */
function describeCharging(rows, stretch) {
  const long = stretch.end - stretch.start >= 2 * SETTLE_CHARGING;
  const settle = long ? stretch.start + SETTLE_CHARGING : stretch.start;
  const settled = [];
  let dips = 0;
  /** @type {number | null} */
  let lowestDip = null;
  let inside = false;
  for (let i = stretch.first; i <= stretch.last; i += 1) {
    const volts = rows.volts[i];
    if (rows.times[i] >= settle) settled.push(volts);
    const below = volts < DRIVING_DIP_BELOW;
    if (below) {
      dips += inside ? 0 : 1;
      lowestDip = lowestDip === null ? volts : Math.min(lowestDip, volts);
    }
    inside = below;
  }
  const ordered = inSize(settled);
  return {
    start: stretch.start,
    end: stretch.end,
    setPoint: quantile(ordered, 0.5),
    low: quantile(ordered, 0.05),
    high: quantile(ordered, 0.95),
    dips,
    lowestDip,
  };
}

/**
 * Bring rows to the order of time; `wrong` counts those that were not in it.
 * @param {ArrayLike<number>} times
 * @param {ArrayLike<number>} volts
 */
export function inOrder(times, volts) {
  let wrong = 0;
  for (let i = 1; i < times.length; i += 1) if (times[i] < times[i - 1]) wrong += 1;
  if (wrong === 0) return { times, volts, wrong };
  const order = Array.from(times, (_, i) => i).sort((a, b) => times[a] - times[b]);
  return { times: order.map((i) => times[i]), volts: order.map((i) => volts[i]), wrong };
}

/**
 * Analyses a log; see the Python twin for the contract.
 * @param {ArrayLike<number>} givenTimes seconds
 * @param {ArrayLike<number>} givenVolts
 * @param {Interval} capacity ampere-hours
 * @param {number} voltsPerPercent slope of the state-of-charge table
 * @returns {VoltLog}
 */
export function analyse(givenTimes, givenVolts, capacity, voltsPerPercent) {
  if (givenTimes.length !== givenVolts.length || givenTimes.length < 2) {
    throw new RangeError("a log needs at least two rows of time and volts");
  }
  const { times, volts, wrong } = inOrder(givenTimes, givenVolts);
  const steps = new Float64Array(times.length - 1);
  for (let i = 1; i < times.length; i += 1) steps[i - 1] = times[i] - times[i - 1];
  const step = median(steps);
  const rows = { times, volts, gap: Math.max(GAP_LEAST, GAP_STEPS * step) };
  const cranks = findCranks(rows);
  const charging = findCharging(rows);
  const rests = findRests(rows, [...cranks.map((one) => one.stretch), ...charging]);
  const stretches = [...cranks.map((one) => one.stretch), ...charging, ...rests];
  stretches.sort((a, b) => a.first - b.first || (a.kind < b.kind ? -1 : 1));
  return {
    rows: times.length,
    start: times[0],
    outOfOrder: wrong,
    step,
    gaps: steps.filter((one) => one > rows.gap).length,
    duration: times[times.length - 1] - times[0],
    coarse: step > COARSE_STEP,
    stretches,
    cranks: cranks.map((one) => one.crank),
    charging: charging.map((one) => describeCharging(rows, one)),
    rests: rests.map((one) => restSlope(rows, one, capacity, voltsPerPercent)),
  };
}
