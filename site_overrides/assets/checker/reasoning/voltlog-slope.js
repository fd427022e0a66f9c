/**
 * The slope of a resting stretch and the parked draw it implies: a straight line through
 * block means, with its error. Twin of `build_tools/reasoning/voltlog_slope.py`.
 */

import { interval } from "./sums-parts.js";

/** @typedef {import("./sums-parts.js").Interval} Interval */

const SETTLE = 3 * 3600; // surface charge keeps falling for hours; source: AGM care text
const SLOPE_SHORTEST = 3600;
const BLOCKS = 200;
const LAST_PART = 1800;
// +1.2 mV per degree C for a battery is from memory; a swing of 10 degrees is our estimate.
const TEMPERATURE_VOLTS = 0.0012 * 10;
// How far the table's slope may be off between its printed points: our estimate.
const TABLE_DOUBT = 0.2;

/**
 * @typedef {object} RestSlope
 * @property {number} start
 * @property {number} end
 * @property {number} volts median of the last half hour
 * @property {Interval | null} slope volts an hour; null when the stretch is too short to tell
 * @property {Interval | null} draw amperes
 * @property {boolean} settling too short to leave the surface charge out
 */

/**
 * Averages equal spans of time: fewer points, and scatter that is nearly independent.
 * @param {ArrayLike<number>} times
 * @param {ArrayLike<number>} volts
 * @param {number} from
 * @param {number} to last index, included
 * @returns {[number, number][]}
 */
function blockMeans(times, volts, from, to) {
  const start = times[from];
  const span = times[to] - start;
  const timeSums = new Array(BLOCKS).fill(0);
  const levelSums = new Array(BLOCKS).fill(0);
  const counts = new Array(BLOCKS).fill(0);
  for (let i = from; i <= to; i += 1) {
    const block = Math.min(Math.floor(((times[i] - start) / span) * BLOCKS), BLOCKS - 1);
    timeSums[block] += times[i];
    levelSums[block] += volts[i];
    counts[block] += 1;
  }
  /** @type {[number, number][]} */
  const means = [];
  counts.forEach((count, i) => {
    if (count > 0) means.push([timeSums[i] / count, levelSums[i] / count]);
  });
  return means;
}

/**
 * The least-squares slope and its standard error, per unit of the first axis.
 * @param {[number, number][]} points
 */
function line(points) {
  const count = points.length;
  let meanX = 0;
  let meanY = 0;
  for (const [x] of points) meanX += x;
  for (const [, y] of points) meanY += y;
  meanX /= count;
  meanY /= count;
  let spread = 0;
  let slope = 0;
  for (const [x] of points) spread += (x - meanX) * (x - meanX);
  for (const [x, y] of points) slope += (x - meanX) * (y - meanY);
  slope /= spread;
  let rest = 0;
  for (const [x, y] of points) rest += (y - meanY - slope * (x - meanX)) ** 2;
  return { slope, error: Math.sqrt(rest / (count - 2) / spread) };
}

/**
 * @param {Interval} slope volts an hour
 * @param {Interval} capacity ampere-hours
 * @param {number} voltsPerPercent
 */
function impliedDraw(slope, capacity, voltsPerPercent) {
  /** @type {(fall: number, hours: number, doubt: number) => number} */
  const amperes = (fall, hours, doubt) => (
    Math.max((-fall / (voltsPerPercent * doubt) / 100) * hours, 0)
  );
  return interval(
    amperes(slope.value, capacity.value, 1),
    amperes(slope.high, capacity.low, 1 + TABLE_DOUBT),
    amperes(slope.low, capacity.high, 1 - TABLE_DOUBT),
  );
}

/**
 * @param {ArrayLike<number>} times
 * @param {ArrayLike<number>} volts
 * @param {number} first
 * @param {number} last
 */
function endingVolts(times, volts, first, last) {
  const ending = [];
  for (let i = first; i <= last; i += 1) {
    if (times[i] >= times[last] - LAST_PART) ending.push(volts[i]);
  }
  ending.sort((a, b) => a - b);
  return (ending[Math.floor((ending.length - 1) / 2)] + ending[Math.floor(ending.length / 2)]) / 2;
}

/**
 * Describes the resting stretch from row `first` to row `last`, both included.
 * @param {{times: ArrayLike<number>, volts: ArrayLike<number>}} rows
 * @param {{first: number, last: number}} stretch
 * @param {Interval} capacity ampere-hours
 * @param {number} voltsPerPercent
 * @returns {RestSlope}
 */
export function restSlope(rows, { first, last }, capacity, voltsPerPercent) {
  const { times, volts } = rows;
  const start = times[first];
  const end = times[last];
  const settling = end - start < 2 * SETTLE;
  const begin = start + (settling ? (end - start) / 2 : SETTLE);
  /** @type {RestSlope} */
  const found = {
    start, end, volts: endingVolts(times, volts, first, last), slope: null, draw: null, settling,
  };
  let from = first;
  while (from <= last && times[from] < begin) from += 1;
  if (last - from + 1 <= 3 || end - times[from] < SLOPE_SHORTEST) return found;
  const points = blockMeans(times, volts, from, last);
  if (points.length <= 3) return found;
  const { slope, error } = line(points);
  const hours = (end - times[from]) / 3600;
  const perHour = slope * 3600;
  const doubt = 2 * error * 3600 + TEMPERATURE_VOLTS / hours;
  found.slope = interval(perHour, perHour - doubt, perHour + doubt);
  found.draw = impliedDraw(found.slope, capacity, voltsPerPercent);
  return found;
}
