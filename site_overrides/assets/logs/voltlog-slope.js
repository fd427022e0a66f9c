/**
 * Room logs: the slope of a resting stretch and the parked draw it implies: a straight line and
 * a fading surface charge through block means, with the error.
 */

import { interval } from "../measure/sums-parts.js";

/** @typedef {import("../measure/sums-parts.js").Interval} Interval */

const SETTLE = 3 * 3600; // surface charge falls fastest in the first hours: AGM care text
const SLOPE_SHORTEST = 3600;
const BLOCKS = 200;
const LAST_PART = 1800;
const LEAST_POINTS = 6;
const SAME_READING = 1e-6;
const ROWS_FOR_DIGIT = 4000;
// +1.2 mV per degree C for a battery is from memory; a swing of 10 degrees is our estimate.
const TEMPERATURE_VOLTS = 0.0012 * 10;
// How far the table's slope may be off between its printed points: our estimate.
const TABLE_DOUBT = 0.25;
// Hours in which what is left of the surface charge may fall to 1/e: our estimate.
const DECAY_HOURS = [0.7, 1, 1.5, 2.25, 3.4, 5];
// Decays that fit this much worse than the best one are still believed: our estimate.
const STILL_FITS = 1.2;

/**
 * @typedef {object} RestSlope
 * @property {number} start
 * @property {number} end
 * @property {number} volts median of the last half hour
 * @property {Interval | null} slope volts an hour; null when the stretch is too short to tell
 * @property {Interval | null} draw amperes
 * @property {boolean} settling too short to leave the first hours out
 */

/**
 * Averages equal spans of time: fewer points, and scatter that is nearly independent.
 * @type {(times: ArrayLike<number>, volts: ArrayLike<number>, from: number, to: number) => [number, number][]}
 * @param to last index, included
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

/** @typedef {{slope: number, low: number, high: number, height: number, leftOver: number}} Fit */

/** @type {(a: number[], b: number[]) => number} */
function dot(a, b) {
  let total = 0;
  for (let i = 0; i < a.length; i += 1) total += a[i] * b[i];
  return total;
}

/** @param {number[]} values */
function centred(values) {
  let mean = 0;
  for (const value of values) mean += value;
  mean /= values.length;
  return values.map((value) => value - mean);
}

/**
 * Fits a straight line, with an exponential decay beside it unless `decay` is null. See the
 * Python twin for how the doubt comes about.
 * @param {[number, number][]} points hours and volts
 * @param {number | null} decay hours
 * @param {number} offset volts that may drift to either side
 * @returns {Fit}
 */
function fit(points, decay, offset) {
  const xs = centred(points.map(([x]) => x));
  const ds = centred(points.map(([x]) => (decay === null ? 0 : Math.exp(-x / decay))));
  const ys = centred(points.map(([, y]) => y));
  const xx = dot(xs, xs);
  // No decay: the weights below become those of a straight line.
  const dd = decay === null ? 1 : dot(ds, ds);
  const xd = dot(xs, ds);
  const whole = xx * dd - xd * xd;
  const weights = xs.map((x, i) => (dd * x - xd * ds[i]) / whole);
  const slope = dot(weights, ys);
  const height = dot(
    xs.map((x, i) => (xx * ds[i] - xd * x) / whole),
    ys,
  );
  let leftOver = 0;
  xs.forEach((x, i) => {
    leftOver += (ys[i] - slope * x - height * ds[i]) ** 2;
  });
  const free = points.length - (decay === null ? 2 : 3);
  const error = Math.sqrt(((leftOver / free) * dd) / whole);
  let size = 0;
  for (const weight of weights) size += Math.abs(weight);
  const doubt = 2 * error + offset * size;
  return { slope, low: slope - doubt, high: slope + doubt, height, leftOver };
}

/**
 * The slope in volts an hour once the surface charge is accounted for. A surface charge that
 * still falls only makes the line steeper than the truth, so the line bounds it on one side.
 * @param {[number, number][]} points
 * @param {number} offset
 */
function slopeOf(points, offset) {
  const line = fit(points, null, offset);
  const fits = DECAY_HOURS.map((decay) => fit(points, decay, offset));
  const best = fits.reduce((kept, one) => (one.leftOver < kept.leftOver ? one : kept));
  const likely = fits.filter((one) => one.leftOver <= best.leftOver * STILL_FITS);
  let low = Math.min(...likely.map((one) => one.low));
  let high = Math.max(...likely.map((one) => one.high));
  if (best.height > 0) low = Math.max(low, line.low);
  else high = Math.min(high, line.high);
  return interval(Math.min(Math.max(best.slope, low), high), low, high);
}

/**
 * The smallest difference between two different readings: the meter's last digit.
 * @type {(volts: ArrayLike<number>, first: number, last: number) => number}
 */
function smallestStep(volts, first, last) {
  // A few thousand rows, evenly taken, show it as well as all of them.
  const stride = Math.max(1, Math.ceil((last - first + 1) / ROWS_FOR_DIGIT));
  const taken = [];
  for (let i = first; i <= last; i += stride) taken.push(volts[i]);
  const ordered = Float64Array.from(taken).sort();
  let least = Infinity;
  for (let i = 1; i < ordered.length; i += 1) {
    const step = ordered[i] - ordered[i - 1];
    if (step > SAME_READING && step < least) least = step;
  }
  return least === Infinity ? 0 : least;
}

/**
 * @param {Interval} slope volts an hour
 * @param {Interval} capacity ampere-hours
 * @param {number} voltsPerPercent
 */
function impliedDraw(slope, capacity, voltsPerPercent) {
  /** @type {(fall: number, hours: number, doubt: number) => number} */
  const amperes = (fall, hours, doubt) => Math.max((-fall / (voltsPerPercent * doubt) / 100) * hours, 0);
  return interval(
    amperes(slope.value, capacity.value, 1),
    amperes(slope.high, capacity.low, 1 + TABLE_DOUBT),
    amperes(slope.low, capacity.high, 1 - TABLE_DOUBT),
  );
}

/** @type {(times: ArrayLike<number>, volts: ArrayLike<number>, first: number, last: number) => number} */
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
 * @type {(rows: {times: ArrayLike<number>, volts: ArrayLike<number>}, stretch: {first: number, last: number},
 *   capacity: Interval, voltsPerPercent: number) => RestSlope}
 * @param capacity ampere-hours
 */
export function restSlope(rows, { first, last }, capacity, voltsPerPercent) {
  const { times, volts } = rows;
  const start = times[first];
  const end = times[last];
  const settling = end - start < 2 * SETTLE;
  const begin = start + (settling ? (end - start) / 2 : SETTLE);
  /** @type {RestSlope} */
  const found = {
    start,
    end,
    volts: endingVolts(times, volts, first, last),
    slope: null,
    draw: null,
    settling,
  };
  let from = first;
  while (from <= last && times[from] < begin) from += 1;
  if (from > last || end - times[from] < SLOPE_SHORTEST) return found;
  const points = blockMeans(times, volts, from, last);
  if (points.length < LEAST_POINTS) return found;
  const inHours = points.map(([t, v]) => /** @type {[number, number]} */ ([(t - times[from]) / 3600, v]));
  const offset = (TEMPERATURE_VOLTS + smallestStep(volts, from, last)) / 2;
  found.slope = slopeOf(inHours, offset);
  found.draw = impliedDraw(found.slope, capacity, voltsPerPercent);
  return found;
}
