/**
 * Room logs: where the engine starts in a log, and values at the start and at their extremes.
 *
 *
 * @import { Bounds, Piece } from "./triplog-timeline.js"
 * @typedef {{index: number, missed: number, seen: boolean}} Start
 */

import { LONGEST_HOLD, running, STARTED, valueIn } from "./triplog-timeline.js";

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
