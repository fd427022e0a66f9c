/**
 * Room logs: a trip as stretches of time in which every channel holds its last value, where the engine
 * starts in it, and values at the start and at their extremes.
 *
 * What is unknown counts only in the upper bound of a sum.
 *
 * @import { Trip } from "./triplog-columns.js"
 * @typedef {{start: number, length: number, gap: boolean,
 *   values: Record<string, number|null>}} Piece
 * @typedef {{low: number|null, high: number|null}} Bounds
 * @typedef {{kind: string, start: number, end: number}} Stretch
 * @typedef {(piece: Piece) => boolean|null} Test
 * @typedef {{index: number, missed: number, seen: boolean}} Start
 */

export const LONGEST_HOLD = 5;
export const STARTED = 400; // rpm above which the engine runs by itself (common practice)
const SLACK = 1e-6; // sums of many small steps may fall short of a round number by rounding

/**
 * Cut a trip into stretches; channels that are not there stay null throughout.
 *
 * The last sample is a stretch of no length, so that its values are seen but not counted.
 * @type {(trip: Trip) => Piece[]}
 */
export function piecesOf(trip) {
  const roles = Object.keys(trip.channels);
  /** @type {Map<string, [number, number]>} */
  const last = new Map();
  /** @type {Piece[]} */
  const pieces = [];
  const { times } = trip;
  times.forEach((now, row) => {
    for (const role of roles) {
      const value = trip.channels[role][row];
      if (value !== null) last.set(role, [now, value]);
    }
    const isLast = row + 1 === times.length;
    const length = isLast ? 0 : times[row + 1] - now;
    if (length <= 0 && !isLast) return;
    const gap = length > LONGEST_HOLD;
    /** @type {Record<string, number|null>} */
    const values = {};
    for (const role of roles) values[role] = gap ? null : held(last.get(role), now);
    pieces.push({ start: now, length, gap, values });
  });
  return pieces;
}

/** @type {(last: [number, number]|undefined, now: number) => number|null} */
function held(last, now) {
  return last === undefined || now - last[0] > LONGEST_HOLD ? null : last[1];
}

/** Return a channel's value in a piece; null if unknown. @type {(piece: Piece, channel: string) => number|null} */
export function valueIn(piece, channel) {
  return piece.values[channel] ?? null;
}

/** @type {Test} tell whether the engine runs: by rpm, else by the time since start */
export function running(piece) {
  const rpm = valueIn(piece, "rpm");
  if (rpm !== null) return rpm > 0;
  const since = valueIn(piece, "run-time");
  return since === null ? null : since > 0;
}

/** Join two truths of which some may be unknown. @type {(one: boolean|null, other: boolean|null) => boolean|null} */
export function both(one, other) {
  if (one === false || other === false) return false;
  return one === null || other === null ? null : true;
}

/**
 * Compare with a limit that belongs to what is wanted; unknown stays unknown.
 * @type {(value: number|null, limit: number) => boolean | null}
 */
export function atLeast(value, limit) {
  return value === null ? null : value >= limit - SLACK;
}

/**
 * Compare with an upper limit that belongs to what is wanted; unknown stays unknown.
 * @type {(value: number|null, limit: number) => boolean | null}
 */
export function atMost(value, limit) {
  return value === null ? null : value <= limit + SLACK;
}

/** Sum the seconds in which something holds. @type {(pieces: Piece[], wanted: Test) => {low: number, high: number}} */
export function total(pieces, wanted) {
  let [low, high] = [0, 0];
  for (const piece of pieces) {
    const truth = piece.gap ? null : wanted(piece);
    if (truth === true) low += piece.length;
    if (truth !== false) high += piece.length;
  }
  return { low, high };
}

/**
 * Return the longest unbroken stretch in which something holds.
 * @type {(pieces: Piece[], wanted: Test) => {low: number, high: number}}
 */
export function longest(pieces, wanted) {
  let [low, high, bestLow, bestHigh] = [0, 0, 0, 0];
  for (const piece of pieces) {
    const truth = piece.gap ? null : wanted(piece);
    low = truth === true ? low + piece.length : 0;
    high = truth !== false ? high + piece.length : 0;
    bestLow = Math.max(bestLow, low);
    bestHigh = Math.max(bestHigh, high);
  }
  return { low: bestLow, high: bestHigh };
}

/**
 * List the unbroken stretches in which something surely holds.
 * @type {(pieces: Piece[], kind: string, shortest: number, wanted: Test) => Stretch[]}
 */
export function stretches(pieces, kind, shortest, wanted) {
  /** @type {Stretch[]} */
  const found = [];
  /** @type {number|null} */
  let start = null;
  let end = 0;
  for (const piece of pieces) {
    if (!piece.gap && wanted(piece) === true) {
      start ??= piece.start;
      end = piece.start + piece.length;
      continue;
    }
    if (start !== null && end - start >= shortest - SLACK) found.push({ kind, start, end });
    start = null;
  }
  if (start !== null && end - start >= shortest - SLACK) found.push({ kind, start, end });
  return found;
}

/**
 * Say whether at least `limit` was reached: met, not-met or unknown.
 * @type {(bounds: Bounds, limit: number) => string}
 */
export function verdict(bounds, limit) {
  if (bounds.low !== null && bounds.low >= limit - SLACK) return "met";
  return bounds.high !== null && bounds.high < limit - SLACK ? "not-met" : "unknown";
}

/**
 * Say whether the figure stayed at or below `limit`: met, not-met or unknown.
 * @type {(bounds: Bounds, limit: number) => string}
 */
export function verdictAtMost(bounds, limit) {
  if (bounds.high !== null && bounds.high <= limit + SLACK) return "met";
  return bounds.low !== null && bounds.low > limit + SLACK ? "not-met" : "unknown";
}

/** Join verdicts: not met if any is not, unknown if any is unknown, else met. @type {(verdicts: string[]) => string} */
export function allOf(verdicts) {
  if (verdicts.includes("not-met")) return "not-met";
  return verdicts.includes("unknown") ? "unknown" : "met";
}

export const LATE_START = 30; // common practice

/**
 * Find the first stretch in which the engine may run; null if it surely runs in none.
 * @type {(pieces: Piece[]) => Start|null}
 */
export function findStart(pieces) {
  const sure = pieces.findIndex((piece) => {
    const [rpm, since] = [valueIn(piece, "rpm"), valueIn(piece, "run-time")];
    return rpm !== null ? rpm > STARTED : since !== null && since > 0;
  });
  if (sure < 0) return null;
  // Between samples far apart the engine may have run already: those parts stay unknown.
  let index = sure;
  while (index > 0 && pieces[index - 1].gap) index -= 1;
  const since = valueIn(pieces[sure], "run-time");
  const missed = since !== null && since > LONGEST_HOLD ? since : 0;
  return { index, missed, seen: sure > 0 || since !== null };
}

/**
 * Return a channel's value at the engine's start; unbounded if the start was missed.
 * @type {(pieces: Piece[], start: Start, channel: string) => Bounds}
 */
export function startValue(pieces, start, channel) {
  if (start.missed > LATE_START) return { low: null, high: null };
  for (const piece of pieces) {
    if (piece.start > pieces[0].start + LONGEST_HOLD) break;
    const value = valueIn(piece, channel);
    if (value !== null) return { low: value, high: value };
  }
  return { low: null, high: null };
}

/** Return how far coolant stood above the air at the start. @type {(pieces: Piece[], start: Start) => Bounds} */
export function startOverAmbient(pieces, start) {
  const cool = startValue(pieces, start, "coolant").low;
  const air = startValue(pieces, start, "ambient").low;
  if (cool === null || air === null) return { low: null, high: null };
  return { low: cool - air, high: cool - air };
}

/**
 * Return the highest or lowest value seen while running; open where parts are missing.
 * @type {(pieces: Piece[], channel: string, highest: boolean) => Bounds}
 */
export function extreme(pieces, channel, highest) {
  /** @type {number|null} */
  let best = null;
  let whole = true;
  for (const piece of pieces) {
    if (piece.gap) {
      whole = false;
      continue;
    }
    if (running(piece) === false) continue;
    const value = valueIn(piece, channel);
    if (value === null) whole = false;
    else if (best === null || (highest ? value > best : value < best)) best = value;
  }
  return highest ? { low: best, high: whole ? best : null } : { low: whole ? best : null, high: best };
}

/** Subtract one figure from another, limits and all. @type {(one: Bounds, other: Bounds) => Bounds} */
export function minus(one, other) {
  return {
    low: one.low === null || other.high === null ? null : one.low - other.high,
    high: one.high === null || other.low === null ? null : one.high - other.low,
  };
}
