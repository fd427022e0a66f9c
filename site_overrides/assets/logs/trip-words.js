/**
 * Room logs: names for what a log of a drive holds, its units, and what it is measured by.
 *
 * @import { Bounds, Stretch } from "./triplog-timeline.js"
 * @import { ConditionResult, MonitorChance, TripReport } from "./triplog.js"
 * @typedef {{metrics: Record<string, {title: string, unit: string}>}} Metrics
 * @typedef {ConditionResult & {monitors: string[]}} Shared a condition, and the monitors that ask for it
 */

/** role: its name, the units it may come in, whether a trip can be read without it */
export const ROLE_WORDS = /** @type {Record<string, {name: string, units: string[], needed?: boolean}>} */ ({
  time: { name: "Time", units: ["s", "ms", "min"], needed: true },
  "run-time": { name: "Time since start", units: ["s", "ms", "min"] },
  rpm: { name: "Engine speed", units: ["rpm"], needed: true },
  speed: { name: "Road speed", units: ["km/h", "mph", "m/s"] },
  coolant: { name: "Coolant", units: ["degC", "degF"] },
  ambient: { name: "Outside air", units: ["degC", "degF"] },
  voltage: { name: "Module voltage", units: ["V", "mV"] },
  fuel: { name: "Fuel level", units: ["percent"] },
  pressure: { name: "Air pressure", units: ["kPa", "hPa", "bar", "psi", "inHg"] },
});
export const UNIT_WORDS = /** @type {Record<string, string>} */ ({
  degC: "\u00b0C",
  degF: "\u00b0F",
  percent: "%",
  s: "s",
  ms: "ms",
});
/** Kinds of stretches, as the plot and the lists name them. */
export const STRETCH_NAMES = /** @type {Record<string, string>} */ ({
  idle: "Idle",
  cruise: "Steady",
  "coast-down": "Slowing",
  "low-voltage": "Low voltage",
});
/** The stretches in which a condition is met. */
const STRETCH_OF = /** @type {Record<string, string>} */ ({
  "first-idle": "idle",
  "longest-idle": "idle",
  "longest-cruise": "cruise",
  "cruise-total": "cruise",
  "coast-downs": "coast-down",
});
/** Values that a driver can tell where the log has no column for them. */
export const TOLD_ROLES = ["ambient", "fuel", "pressure"];
/** What each of the four criteria of a drive that counts asks for. */
export const CRITERIA = /** @type {Record<string, {name: string, needs: string}>} */ ({
  total: { name: "Time in mild air and low country", needs: "10 min" },
  "speed-strict": { name: "At 25 mph (40 km/h) or more, cautious count", needs: "5 min" },
  "speed-lenient": { name: "At 25 mph (40 km/h) or more, generous count", needs: "5 min" },
  idle: { name: "Longest unbroken idle", needs: "30 s" },
  "mild-air": { name: "Time at 40 to 95 \u00b0F (4 to 35 \u00b0C)", needs: "10 min" },
  "start-coolant-low": { name: "Coolant at the start, not too cold", needs: "40 \u00b0F (4 \u00b0C)" },
  "start-coolant-high": { name: "Coolant at the start, not warm", needs: "at most 95 \u00b0F (35 \u00b0C)" },
  "start-coolant-over-ambient": { name: "Coolant above the air at the start", needs: "at most 12 \u00b0F (7 \u00b0C)" },
});
const SAY = /** @type {Record<string, (value: number) => string>} */ ({
  "start-coolant-low": degrees,
  "start-coolant-high": degrees,
  "start-coolant-over-ambient": warmer,
});

/** Say a length of time. @type {(seconds: number) => string} */
export function secondsWords(seconds) {
  const whole = Math.round(seconds);
  if (whole < 120) return `${whole} s`;
  const minutes = Math.floor(whole / 60);
  if (minutes >= 60) return `${Math.floor(minutes / 60)} h ${minutes % 60} min`;
  return whole % 60 === 0 ? `${minutes} min` : `${minutes} min ${whole % 60} s`;
}

/**
 * Say a figure that may be known only within limits.
 * @type {(bounds: Bounds, say: (value: number) => string) => string}
 */
function boundsWords({ low, high }, say) {
  if (low === null && high === null) return "not in the log";
  if (low === null) return `at most ${say(high ?? 0)}`;
  if (high === null) return `at least ${say(low)}`;
  const [one, other] = [say(low), say(high)];
  return one === other ? one : `${one} to ${other}`;
}

/**
 * Say a temperature, or how far one is above another, in both scales.
 * @type {(celsius: number, isDifference?: boolean) => string}
 */
function degrees(celsius, isDifference = false) {
  const fahrenheit = (celsius * 9) / 5 + (isDifference ? 0 : 32);
  return `${Math.round(fahrenheit)} \u00b0F (${Math.round(celsius)} \u00b0C)`.replaceAll("-", "\u2212");
}

/** @param {number} kelvin */
function warmer(kelvin) {
  return degrees(kelvin, true);
}

/** Say what a criterion found. @type {(criterion: {id: string} & Bounds) => string} */
export function criterionWords(criterion) {
  return boundsWords(criterion, SAY[criterion.id] ?? secondsWords);
}

/** Say an amount of a metric in its unit. @type {(value: number, unit: string) => string} */
function amountWords(value, unit) {
  if (unit === "degC") return degrees(value);
  if (unit === "degree") return warmer(value);
  if (unit === "s") return secondsWords(value);
  if (unit === "percent") return `${Math.round(value)}\u00a0%`;
  return value === 1 ? "once" : `${Math.round(value)} times`;
}

/**
 * Say what a monitor wants of a drive and what the drive had.
 * @type {(tables: Metrics, result: ConditionResult) => string}
 */
export function conditionWords(tables, { metric, at_least: least, at_most: most, low, high, verdict }) {
  const { title, unit } = tables.metrics[metric] ?? { title: metric, unit: "" };
  const say = (/** @type {number} */ value) => amountWords(value, unit);
  const wanted = [least === null ? "" : `at least ${say(least)}`, most === null ? "" : `at most ${say(most)}`]
    .filter((each) => each !== "")
    .join(", ");
  const isBlind = verdict === "unknown" && low === null && high === null;
  const had = isBlind ? boundsWords({ low, high }, say) : `had ${boundsWords({ low, high }, say)}`;
  return `${title}: ${wanted}; ${had}`;
}

/**
 * List each condition once, with the monitors that ask for it; what was not met stands first.
 * @type {(monitors: MonitorChance[]) => Shared[]}
 */
export function sharedConditions(monitors) {
  /** @type {Map<string, Shared>} */
  const found = new Map();
  for (const { id, results } of monitors) {
    for (const result of results) {
      const key = [result.metric, result.at_least, result.at_most].join();
      const known = found.get(key);
      if (known) known.monitors.push(id);
      else found.set(key, { ...result, monitors: [id] });
    }
  }
  const order = ["not-met", "unknown", "met"];
  return [...found.values()].sort((a, b) => order.indexOf(a.verdict) - order.indexOf(b.verdict));
}

/**
 * Find the longest stretch in which a condition was met or nearly met.
 * @type {(report: TripReport, metric: string) => Stretch | null}
 */
export function stretchOf({ stretches }, metric) {
  const fitting = stretches.filter(({ kind }) => kind === STRETCH_OF[metric]);
  fitting.sort((a, b) => b.end - b.start - (a.end - a.start));
  return fitting[0] ?? null;
}

/**
 * Name what a log has no usable column for.
 * @param {{channels: Record<string, unknown>}} trip
 * @returns {string[]} roles
 */
export function missingRoles({ channels }) {
  return Object.keys(ROLE_WORDS).filter((role) => role !== "time" && role !== "run-time" && !channels[role]);
}
