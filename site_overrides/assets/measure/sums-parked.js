/**
 * Sums on a parked or cold car: draw, days, own loss, reserve, cold.
 * Twin of `build_tools/measure/sums_parked.py`, where each formula's contract stands.
 */

import { between, exactly, interval, toFahrenheit } from "./sums-parts.js";

/** @typedef {import("./sums-parts.js").Sum} Sum */
/** @typedef {import("./sums-parts.js").Interval} Interval */
/** @typedef {import("./sums-parts.js").Outcome} Outcome */

const HOURS_A_DAY = 24;
const DAYS_A_MONTH = 30;

/** @param {Sum} given */
function isGlassMatOrGel(given) {
  const kind = given.choices["battery-type"] ?? "flooded";
  return kind === "agm" || kind === "gel";
}

/** @type {(given: Sum) => Outcome} */
export function fuseDropCurrent(given) {
  const milliohms = given.constants[given.choices.fuse];
  const step = given.constants["meter-step"];
  const differs = given.constants["makers-differ"];
  const { drop } = given.numbers;
  // mV / mOhm = A; shown in mA.
  const current = interval(
    (drop / milliohms) * 1000,
    (Math.max(drop - step, 0) / (milliohms * (1 + differs))) * 1000,
    ((drop + step) / (milliohms * (1 - differs))) * 1000,
  );
  return { verdict: drop >= step ? "some" : "none", outputs: { current } };
}

/** @type {(given: Sum) => number | null} */
function totalOf(given) {
  const { reserve, capacity } = given.numbers;
  if (capacity !== undefined) return capacity;
  return reserve === undefined ? null : reserve * given.constants["reserve-times"];
}

/** @type {(given: Sum) => Interval} */
function usableOf(given) {
  const stated = given.numbers.usable;
  if (stated !== undefined) return exactly(stated);
  const frost = given.choices.season === "frost";
  const low = given.constants[frost ? "frost-share-low" : "share"];
  const high = given.constants[frost ? "frost-share-high" : "share"];
  const missing = 1 - (given.numbers.charge ?? 100) / 100;
  const least = Math.max(low - missing, 0);
  const most = Math.max(high - missing, 0);
  const total = totalOf(given);
  if (total === null) {
    // The bulletin's 20 to 30 Ah are its mild share of a typical battery from full.
    const { share } = given.constants;
    const small = (given.constants["typical-low"] / share) * least;
    const large = (given.constants["typical-high"] / share) * most;
    return interval((small + large) / 2, small, large);
  }
  return interval(((least + most) / 2) * total, least * total, most * total);
}

/** @type {(given: Sum) => Outcome} */
export function daysUntilNoStart(given) {
  const usable = usableOf(given);
  const { draw } = given.numbers;
  const daily = draw * HOURS_A_DAY;
  /** @type {Record<string, Interval>} */
  const outputs = {
    days: interval(usable.value / daily, usable.low / daily, usable.high / daily),
    daily: exactly(daily),
    usable,
  };
  const total = totalOf(given);
  if (total !== null && draw <= given.constants["own-loss-up-to"]) {
    // Per month, as a share of the whole capacity.
    const own = daily + (total * given.constants["own-loss-month"]) / 100 / DAYS_A_MONTH;
    outputs["with-own-loss"] = interval(usable.value / own, usable.low / own, usable.high / own);
  }
  return { verdict: usable.value <= 0 ? "already-low" : "days", outputs };
}

/** @type {(given: Sum) => Outcome} */
export function ownLoss(given) {
  const rate = given.constants[isGlassMatOrGel(given) ? "month-agm" : "month-flooded"];
  const warmer = given.numbers.temperature - given.constants.reference;
  const percent = rate * 2 ** (warmer / given.constants["doubles-every"]);
  const lost = Math.min((percent * given.numbers.days) / DAYS_A_MONTH, 100);
  const verdict = lost < given.constants["top-up-from"] ? "small" : "top-up";
  return { verdict, outputs: { lost: exactly(lost) } };
}

/** @type {(given: Sum) => Outcome} */
export function reserveCapacity(given) {
  const { reserve } = given.numbers;
  const twenty = reserve * given.constants["twenty-hour-times"] + given.constants["twenty-hour-plus"];
  const outputs = {
    "at-25-amperes": exactly((reserve * 25) / 60),
    "twenty-hour": exactly(twenty),
    "run-down": exactly(reserve * given.constants["run-down-times"]),
  };
  return { verdict: "three", outputs };
}

/** @type {(given: Sum) => Outcome} */
export function runTime(given) {
  const { capacity, current } = given.numbers;
  const hours = given.numbers["rated-hours"] ?? given.constants["rated-hours"];
  const power = given.constants[isGlassMatOrGel(given) ? "exponent-agm" : "exponent-flooded"];
  const time = hours * (capacity / (current * hours)) ** power;
  const delivered = Math.min(current * time, capacity);
  const outputs = {
    minutes: exactly((delivered / current) * 60),
    delivered: exactly(delivered),
    uncorrected: exactly(capacity / current ** power),
  };
  return { verdict: "minutes", outputs };
}

/** @type {(given: Sum) => Outcome} */
export function coldMargin(given) {
  const fahrenheit = toFahrenheit(given.numbers.temperature);
  const available = between(given.tables.available, fahrenheit);
  const needed = between(given.tables.needed, fahrenheit);
  const outputs = {
    available: exactly(available),
    needed: exactly(needed),
    margin: exactly(available / needed),
  };
  const thin = available / needed < given.constants["thin-below"];
  return { verdict: thin ? "thin" : "fair", outputs };
}
