/**
 * Room logs: what a trip could have served, from its log.
 *
 * Nothing here proves that a monitor ran.
 *
 * @import { Column, Trip } from "./triplog-columns.js"
 * @import { Criterion } from "./triplog-metrics.js"
 * @import { Bounds, Piece, Start, Stretch } from "./triplog-timeline.js"
 * @import { Condition, Monitor } from "../knowledge/readiness-types.js"
 * @typedef {{verdict: string, lowest: number|null, seconds_low: number,
 *   stretches: Stretch[]}} Voltage
 * @typedef {{metric: string, at_least: number|null, at_most: number|null, low: number|null,
 *   high: number|null, verdict: string, source: string}} ConditionResult
 * @typedef {{id: string, chance: string, missing: ConditionResult[], met: string[],
 *   results: ConditionResult[]}} MonitorChance `results`: every condition; `missing`: those not met or not seen
 * @typedef {{state: string, duration: number, gap_seconds: number, start: Start|null,
 *   general: Record<string, Criterion>, general_strict: string, general_lenient: string,
 *   evap: Criterion[], evap_verdict: string, warm_up: Record<string, string>,
 *   voltage: Voltage|null, stretches: Stretch[], metrics: Record<string, Bounds>,
 *   monitors: MonitorChance[], mapping: Record<string, Column>, assumed: string[], asked: string[], notes: string[],
 *   dropped: Record<string, number>}} TripReport
 */

import { medianStep } from "./csv-times.js";
import { evapCriteria, generalDenominator, namedStretches, tripMetrics, warmUp } from "./triplog-metrics.js";
import {
  allOf,
  findStart,
  LONGEST_HOLD,
  piecesOf,
  STARTED,
  valueIn,
  verdict,
  verdictAtMost,
} from "./triplog-timeline.js";

const LOW_VOLTAGE = 11; // from memory: makers may hold self-tests below this; text not seen

/**
 * Report on a trip for the monitors that are incomplete.
 *
 * Unknown stays unknown: a channel the log has not got never makes a criterion met.
 * @type {(trip: Trip, monitors: Record<string, Monitor>, incomplete: string[]) => TripReport}
 */
export function analyseTrip(trip, monitors, incomplete) {
  if (trip.state !== "ok") return reportOf(trip.state, { ...trip, assumed: [], asked: [], notes: [] });
  const whole = trip.whole_speed;
  const every = piecesOf(trip);
  const told = reportOf("ok", trip);
  const base = {
    ...told,
    notes: (medianStep(trip.times) ?? 0) > LONGEST_HOLD ? [...told.notes, "sparse"] : told.notes,
    duration: trip.times[trip.times.length - 1],
    gap_seconds: every.reduce((sum, piece) => (piece.gap ? sum + piece.length : sum), 0),
  };
  const start = findStart(every);
  if (start === null) return { ...base, state: "engine-not-seen" };
  const pieces = every.slice(start.index);
  const general = generalDenominator(pieces, start, whole);
  const common = [general.total.verdict, general.idle.verdict];
  const strict = allOf([...common, general.strict.verdict]);
  const evap = evapCriteria(pieces, start);
  const metrics = tripMetrics(pieces, start, whole);
  return {
    ...base,
    start,
    general,
    general_strict: strict,
    general_lenient: allOf([...common, general.lenient.verdict]),
    evap,
    evap_verdict: allOf([strict, ...evap.map((one) => one.verdict)]),
    warm_up: warmUp(pieces, start),
    voltage: watchVoltage(pieces),
    stretches: namedStretches(pieces, whole),
    metrics,
    monitors: incomplete
      .filter((name) => Object.hasOwn(monitors, name))
      .map((name) => chanceOf(monitors[name], metrics)),
  };
}

/** @type {(state: string, trip: Trip) => TripReport} */
function reportOf(state, trip) {
  return {
    state,
    duration: 0,
    gap_seconds: 0,
    start: null,
    general: {},
    general_strict: "unknown",
    general_lenient: "unknown",
    evap: [],
    evap_verdict: "unknown",
    warm_up: {},
    voltage: null,
    stretches: [],
    metrics: {},
    monitors: [],
    mapping: trip.mapping,
    assumed: trip.assumed,
    asked: trip.asked,
    notes: trip.notes,
    dropped: trip.dropped,
  };
}

/**
 * Compare what a monitor usually needs with what the trip had.
 *
 * A monitor for which no condition is known stays unknown, unless it runs all the time.
 * @type {(monitor: Monitor, metrics: Record<string, Bounds>) => MonitorChance}
 */
export function chanceOf(monitor, metrics) {
  const { id } = monitor;
  const results = monitor.conditions.map((condition) => judge(condition, metrics));
  if (!results.length) {
    return { id, chance: monitor.continuous ? "could" : "unknown", missing: [], met: [], results };
  }
  const joined = allOf(results.map((result) => result.verdict));
  const chance = joined === "met" ? "could" : joined === "not-met" ? "could-not" : "unknown";
  const met = results.filter((result) => result.verdict === "met").map((result) => result.metric);
  const missing = results.filter((result) => result.verdict !== "met");
  return { id, chance, missing, met: [...new Set(met)], results };
}

/** @type {(condition: Condition, metrics: Record<string, Bounds>) => ConditionResult} */
function judge(condition, metrics) {
  const { metric, at_least: least, at_most: most, source } = condition;
  const bounds = metrics[metric] ?? { low: null, high: null };
  const verdicts = [];
  if (least !== null) verdicts.push(verdict(bounds, least));
  if (most !== null) verdicts.push(verdictAtMost(bounds, most));
  const { low, high } = bounds;
  return { metric, at_least: least, at_most: most, low, high, verdict: allOf(verdicts), source };
}

/**
 * Look for low voltage while the engine runs, leaving out cranking.
 *
 * Left out are rpm below 400 and the first 5 s after it rises above (common practice).
 * @type {(pieces: Piece[]) => Voltage}
 */
function watchVoltage(pieces) {
  /** @type {number|null} */
  let lowest = null;
  let [seconds, seen] = [0, 0];
  /** @type {number|null} */
  let since = null;
  /** @type {Stretch[]} */
  const found = [];
  for (const piece of pieces) {
    const rpm = piece.gap ? null : valueIn(piece, "rpm");
    if (rpm === null || rpm < STARTED) {
      since = null;
      continue;
    }
    since ??= piece.start;
    const volts = valueIn(piece, "voltage");
    if (volts === null || piece.start - since < LONGEST_HOLD) continue;
    seen += piece.length;
    lowest = lowest === null ? volts : Math.min(lowest, volts);
    if (volts < LOW_VOLTAGE) {
      seconds += piece.length;
      extend(found, piece);
    }
  }
  const state = seen === 0 ? "unknown" : "none-seen";
  const told = found.length ? "low-seen" : state;
  return { verdict: told, lowest, seconds_low: seconds, stretches: found };
}

/** @type {(found: Stretch[], piece: Piece) => void} */
function extend(found, piece) {
  const end = piece.start + piece.length;
  const last = found[found.length - 1];
  if (last !== undefined && last.end === piece.start) {
    found[found.length - 1] = { ...last, end };
  } else {
    found.push({ kind: "low-voltage", start: piece.start, end });
  }
}
