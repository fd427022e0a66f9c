/**
 * Room logs: the figures of a trip that bear on monitors, coast-downs and stops among them.
 *
 * Brakes cannot be seen. Meeting the general denominator does not prove that a monitor ran. Limits are
 * from memory unless marked.
 *
 * @import { Bounds, Piece, Start, Stretch, Test } from "./triplog-timeline.js"
 * @typedef {{id: string, low: number|null, high: number|null, limit: number,
 *   verdict: string}} Criterion
 */

import {
  allOf,
  atLeast,
  atMost,
  both,
  extreme,
  LATE_START,
  LONGEST_HOLD,
  longest,
  minus,
  running,
  startOverAmbient,
  startValue,
  stretches,
  total,
  valueIn,
  verdict,
  verdictAtMost,
} from "./triplog-timeline.js";

const COLDEST = ((20 - 32) * 5) / 9; // 20 degF
const LEAST_PRESSURE = 75.3; // kPa, standard atmosphere at 8,000 ft (computed)
const FAST = 25 * 1.609344; // 25 mph
const FAST_STRICT = 41; // whole km/h surely above 25 mph
const FAST_LENIENT = 40; // whole km/h that may be above it
const STILL = 1.609344; // 1 mph
const STILL_WHOLE = 1;
const DRIVE_SECONDS = 600;
const FAST_SECONDS = 300;
const IDLE_SECONDS = 30;
const EVAP_LOW = ((40 - 32) * 5) / 9;
const EVAP_HIGH = ((95 - 32) * 5) / 9;
const EVAP_OVER = (12 * 5) / 9;
const RISE = (40 * 5) / 9; // second-hand: several makers' texts
const WARM = ((160 - 32) * 5) / 9; // second-hand: several makers' texts
const WARM_WHOLE = 71;
const WARM_DIESEL = ((140 - 32) * 5) / 9;
const CRUISE = 64; // about 40 mph, common practice
const CRUISE_WANDER = 12; // km/h within a minute, our estimate
const CRUISE_SECONDS = 60;

/** @type {Test} tell whether air and altitude let the stretch count */
function surroundings(piece) {
  const warm = atLeast(valueIn(piece, "ambient"), COLDEST);
  return both(warm, atLeast(valueIn(piece, "pressure"), LEAST_PRESSURE));
}

/**
 * Make the test for idling: standing with the engine running. The pedal cannot be seen.
 * @type {(whole: boolean) => Test}
 */
function isIdle(whole) {
  const limit = whole ? STILL_WHOLE : STILL;
  return (piece) => both(running(piece), atMost(valueIn(piece, "speed"), limit));
}

/**
 * List the longest stretches at a steady road speed: no higher limit, but little change.
 *
 * Two of them may share a part; `start` leaves that to the first, `from` does not.
 * @param {Piece[]} pieces
 * @param {boolean} unseen take what was not seen for steady
 * @returns {(Stretch & {from: number})[]}
 */
function cruises(pieces, unseen) {
  /** @type {(Stretch & {from: number})[]} */
  const found = [];
  let first = 0;
  /** @type {number[][]} places of the highest and the lowest speeds of the last minute, best first */
  const [tops, lows] = [[], []];
  const close = (/** @type {number} */ until) => {
    if (until <= first) return;
    const from = pieces[first].start;
    const start = Math.max(from, found.length ? found[found.length - 1].end : 0);
    const end = pieces[until - 1].start + pieces[until - 1].length;
    if (end > start) found.push({ kind: "cruise", from, start, end });
  };
  const speedAt = (/** @type {number} */ place) => Number(valueIn(pieces[place], "speed"));
  pieces.forEach((piece, place) => {
    const speed = piece.gap ? null : valueIn(piece, "speed");
    const truth = piece.gap ? null : both(running(piece), atLeast(speed, CRUISE));
    if (truth === false || (truth === null && !unseen)) {
      close(place);
      [first, tops.length, lows.length] = [place + 1, 0, 0];
      return;
    }
    if (speed === null) return;
    while (tops.length && speedAt(tops[tops.length - 1]) <= speed) tops.pop();
    while (lows.length && speedAt(lows[lows.length - 1]) >= speed) lows.pop();
    tops.push(place);
    lows.push(place);
    for (const row of [tops, lows]) while (piece.start - pieces[row[0]].start > CRUISE_SECONDS) row.shift();
    if (speedAt(tops[0]) - speedAt(lows[0]) <= CRUISE_WANDER) return;
    close(place);
    while (speedAt(tops[0]) - speedAt(lows[0]) > CRUISE_WANDER) {
      const older = tops[0] < lows[0] ? tops : lows;
      first = Number(older.shift()) + 1;
    }
  });
  if (first < pieces.length) close(pieces.length);
  return found;
}

/**
 * @param {(Stretch & {from: number})[]} found
 * @returns {[number, number]} the longest and the sum, in seconds
 */
function lengthsOf(found) {
  let [most, sum] = [0, 0];
  for (const { from, start, end } of found) {
    most = Math.max(most, end - from);
    sum += end - start;
  }
  return [most, sum];
}

/** @type {Test} */
function isDriving(piece) {
  const speed = valueIn(piece, "speed");
  return both(running(piece), speed === null ? null : speed > STILL);
}

/**
 * Judge the three criteria of a drive that counts; speed once strict and once lenient.
 * @param {Piece[]} pieces from the engine's start on
 * @param {Start} start
 * @param {boolean} whole speeds are whole km/h
 * @returns {Record<string, Criterion>}
 */
export function generalDenominator(pieces, start, whole) {
  const idle = isIdle(whole);
  const time = total(pieces, (piece) => both(running(piece), surroundings(piece)));
  /** @type {Record<string, Criterion>} */
  const found = { total: criterion("total", withMissed(time, start), DRIVE_SECONDS) };
  for (const [name, limit] of /** @type {[string, number][]} */ ([
    ["strict", FAST_STRICT],
    ["lenient", FAST_LENIENT],
  ])) {
    const wanted = whole ? limit : FAST;
    const fast = total(pieces, (piece) =>
      both(both(running(piece), atLeast(valueIn(piece, "speed"), wanted)), surroundings(piece)),
    );
    found[name] = criterion(`speed-${name}`, withMissed(fast, start), FAST_SECONDS);
  }
  let still = longest(pieces, (piece) => both(idle(piece), surroundings(piece)));
  if (start.missed) still = { low: still.low, high: Math.max(still.high, start.missed) };
  found.idle = criterion("idle", still, IDLE_SECONDS);
  return found;
}

/**
 * Judge what the vapor test adds: mild air for long enough, and a cool, even start.
 * @type {(pieces: Piece[], start: Start) => Criterion[]}
 */
export function evapCriteria(pieces, start) {
  const time = total(pieces, (piece) => {
    const air = valueIn(piece, "ambient");
    return both(running(piece), both(atLeast(air, EVAP_LOW), atMost(air, EVAP_HIGH)));
  });
  const cool = startValue(pieces, start, "coolant");
  const over = startOverAmbient(pieces, start);
  return [
    criterion("mild-air", withMissed(time, start), DRIVE_SECONDS),
    criterion("start-coolant-low", cool, EVAP_LOW),
    criterion("start-coolant-high", cool, EVAP_HIGH, verdictAtMost(cool, EVAP_HIGH)),
    criterion("start-coolant-over-ambient", over, EVAP_OVER, verdictAtMost(over, EVAP_OVER)),
  ];
}

/**
 * Judge the warm-up cycle: spark strict and lenient by whole degrees, and diesel.
 * @type {(pieces: Piece[], start: Start) => Record<string, string>}
 */
export function warmUp(pieces, start) {
  const begin = startValue(pieces, start, "coolant");
  const peak = extreme(pieces, "coolant", true);
  let rise = minus(peak, begin);
  if (begin.low === null && start.missed > LATE_START) {
    // What is seen to rise has risen at least that much.
    rise = { low: minus(peak, extreme(pieces, "coolant", false)).low, high: null };
  }
  const risen = verdict(rise, RISE);
  return {
    spark_strict: allOf([risen, verdict(peak, WARM)]),
    spark_lenient: allOf([risen, verdict(peak, WARM_WHOLE)]),
    diesel: allOf([risen, verdict(peak, WARM_DIESEL)]),
  };
}

/**
 * Compute every metric that the conditions of the monitors may name.
 * @type {(pieces: Piece[], start: Start, whole: boolean) => Record<string, Bounds>}
 */
export function tripMetrics(pieces, start, whole) {
  const idle = isIdle(whole);
  const blind = pieces.some((piece) => piece.gap || valueIn(piece, "speed") === null);
  const [seen, unseen] = [false, true].map((all) => lengthsOf(cruises(pieces, all)));
  const [coasts, stops] = [coastDowns(pieces).length, countStops(pieces)];
  return {
    "start-coolant": startValue(pieces, start, "coolant"),
    "start-coolant-over-ambient": startOverAmbient(pieces, start),
    "peak-coolant": extreme(pieces, "coolant", true),
    "ambient-low": extreme(pieces, "ambient", false),
    "ambient-high": extreme(pieces, "ambient", true),
    "longest-idle": longest(pieces, idle),
    "first-idle": firstOf(pieces, start, idle),
    "longest-cruise": { low: seen[0], high: unseen[0] },
    "cruise-total": { low: seen[1], high: unseen[1] },
    "coast-downs": { low: coasts, high: blind ? null : coasts },
    stops: { low: stops, high: blind ? null : stops },
    "driving-time": total(pieces, isDriving),
    "running-time": withMissed(total(pieces, running), start),
    "fuel-level": startValue(pieces, start, "fuel"),
  };
}

/**
 * List idle, cruise and coast-down stretches in the order of their start.
 * @type {(pieces: Piece[], whole: boolean) => Stretch[]}
 */
export function namedStretches(pieces, whole) {
  const found = [
    ...stretches(pieces, "idle", IDLE_SECONDS, isIdle(whole)),
    ...cruises(pieces, false)
      .filter(({ start, end }) => end - start >= CRUISE_SECONDS)
      .map(({ kind, start, end }) => ({ kind, start, end })),
    ...coastDowns(pieces),
  ];
  return found.sort((a, b) => a.start - b.start || (a.kind < b.kind ? -1 : 1));
}

/**
 * Return how long something held from the engine's start on.
 * @type {(pieces: Piece[], start: Start, wanted: Test) => Bounds}
 */
function firstOf(pieces, start, wanted) {
  let [low, high] = [0, 0];
  let sure = start.missed <= LONGEST_HOLD;
  for (const piece of pieces) {
    const truth = piece.gap ? null : wanted(piece);
    if (truth === false) break;
    sure = sure && truth === true;
    if (sure) low += piece.length;
    high += piece.length;
  }
  return { low, high: start.missed > LONGEST_HOLD ? null : high };
}

/** @type {(bounds: {low: number, high: number}, start: Start) => Bounds} */
function withMissed(bounds, start) {
  return { low: bounds.low, high: bounds.high + start.missed };
}

/** @type {(id: string, bounds: Bounds, limit: number, judged?: string) => Criterion} */
function criterion(id, bounds, limit, judged = verdict(bounds, limit)) {
  return { id, low: bounds.low, high: bounds.high, limit, verdict: judged };
}

const COAST_FROM = 64; // km/h, our estimate, as the two below
const COAST_TO = 40;
const COAST_SECONDS = 8;
const MOVING = 10; // clearly moving, our estimate

/** List falls of speed that look like coasting. @type {(pieces: Piece[]) => Stretch[]} */
function coastDowns(pieces) {
  /** @type {Stretch[]} */
  const found = [];
  /** @type {number|null} */
  let begin = null;
  let [last, end, reached] = [0, 0, false];
  const finish = () => {
    if (reached && begin !== null && end - begin >= COAST_SECONDS) {
      found.push({ kind: "coast-down", start: begin, end });
    }
  };
  for (const piece of pieces) {
    const speed = piece.gap ? null : valueIn(piece, "speed");
    if (!(speed !== null && begin !== null && speed <= last)) {
      finish();
      [begin, reached] = [null, false];
    }
    if (speed === null) continue;
    if (speed >= COAST_FROM) begin = piece.start;
    if (begin !== null && speed <= COAST_TO && !reached) [reached, end] = [true, piece.start];
    last = speed;
  }
  finish();
  return found;
}

/** Count how often the car came to a stand from more than 10 km/h. @type {(pieces: Piece[]) => number} */
function countStops(pieces) {
  let [stops, moved] = [0, false];
  for (const piece of pieces) {
    const speed = valueIn(piece, "speed");
    if (speed === null) continue;
    if (speed > MOVING) {
      moved = true;
    } else if (speed <= STILL && moved) {
      stops += 1;
      moved = false;
    }
  }
  return stops;
}
