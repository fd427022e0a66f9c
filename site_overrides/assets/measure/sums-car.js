/**
 * Sums on a car: charging and its connections, parked draw, own loss, cold.
 * Twin of `build_tools/measure/sums_car.py`, where the contract of each formula stands.
 */

import { between, exactly, interval, SumRefusedError, toFahrenheit } from "./sums-parts.js";

/** @typedef {import("./sums-parts.js").Sum} Sum */
/** @typedef {import("./sums-parts.js").Interval} Interval */
/** @typedef {import("./sums-parts.js").Outcome} Outcome */

/** @param {Sum} given */
function pathLimit(given) {
  const { path } = given.choices;
  if (path !== "cranking-circuit") return given.constants[path];
  const { current } = given.numbers;
  if (current === undefined) throw new SumRefusedError("current", "current-needed");
  return (given.constants["per-hundred-amperes"] * current) / 100;
}

/** @type {(given: Sum) => Outcome} */
export function dropLimit(given) {
  const limit = pathLimit(given);
  const { current, drop } = given.numbers;
  /** @type {Record<string, Interval>} */
  const outputs = { limit: exactly(limit) };
  if (drop === undefined) return { verdict: "limit-only", outputs };
  if (current !== undefined) outputs.resistance = exactly((drop / current) * 1000);
  const { near } = given.constants;
  if (drop <= limit - near) return { verdict: "within", outputs };
  return { verdict: drop <= limit + near ? "near" : "over", outputs };
}

/** @type {(given: Sum) => Outcome} */
export function alternatorOutput(given) {
  const share = (given.numbers.measured / given.numbers.rated) * 100;
  const enough = share >= given.constants.enough;
  return { verdict: enough ? "enough" : "short", outputs: { share: exactly(share) } };
}

/** @param {Sum} given */
function capacityOf(given) {
  const { capacity, reserve } = given.numbers;
  if (capacity !== undefined) return capacity;
  if (reserve !== undefined) {
    return reserve * given.constants["reserve-times"] + given.constants["reserve-plus"];
  }
  throw new SumRefusedError("capacity", "capacity-or-reserve");
}

/** @type {(given: Sum) => Outcome} */
export function chargeTime(given) {
  const capacity = capacityOf(given);
  const missing = 1 - given.numbers.charge / 100;
  const amperes = given.numbers.current;
  const hours = (capacity * missing * given.constants["charge-factor"]) / amperes;
  const less = given.constants["taper-least"];
  const more = given.constants["taper-most"];
  const gentle = amperes <= capacity * given.constants["gentle-share"];
  const outputs = {
    hours: exactly(hours),
    "with-taper": interval(hours + (less + more) / 2, hours + less, hours + more),
    gentle: exactly(capacity * given.constants["recommended-share"]),
  };
  return { verdict: gentle ? "gentle-rate" : "high-rate", outputs };
}

/** @type {(given: Sum) => Outcome} */
export function driveRecharge(given) {
  const capacity = capacityOf(given);
  const missing = capacity * (1 - given.numbers.charge / 100);
  const spare = given.numbers["spare-current"] ?? given.constants["spare-current"];
  const factor = given.constants["charge-factor"];
  const gained = Math.min((spare * given.numbers.minutes) / 60 / factor, missing);
  const needed = ((missing * factor) / spare) * 60;
  const after = given.numbers.charge + (gained / capacity) * 100;
  const outputs = { gained: exactly(gained), after: exactly(after), needed: exactly(needed) };
  return { verdict: after >= given.constants.enough ? "reaches" : "falls-short", outputs };
}

/** @type {(given: Sum) => Outcome} */
export function chargerVoltage(given) {
  const { temperature } = given.numbers;
  if (temperature > given.constants["too-hot"]) throw new SumRefusedError("temperature", "too-hot");
  const kind = given.choices["battery-type"] ?? "flooded";
  const label = given.numbers["label-voltage"];
  const low = label ?? given.constants[`${kind}-low`];
  const high = label ?? given.constants[`${kind}-high`];
  const base = label ?? (low + high) / 2;
  const apart = given.constants.reference - temperature;
  const stop = between(given.tables.stop, temperature);
  const slopes = [given.constants["slope-low"], given.constants["slope-high"]];
  const wanted = base + apart * given.constants.slope;
  const voltage = interval(
    Math.min(wanted, stop),
    Math.min(stop, ...slopes.map((slope) => low + apart * slope)),
    Math.min(stop, Math.max(...slopes.map((slope) => high + apart * slope))),
  );
  if (wanted > stop) return { verdict: "held", outputs: { voltage } };
  return { verdict: kind === "gel" ? "gel" : "plain", outputs: { voltage } };
}

/** @type {(given: Sum) => Outcome} */
export function regulatorVoltage(given) {
  const base = given.numbers["set-point"] ?? given.constants["set-point"];
  const warmer = given.numbers.temperature - given.constants.reference;
  const volts = base - warmer * given.constants.slope;
  const slack = given.constants.tolerance;
  const voltage = interval(volts, volts - slack, volts + slack);
  return { verdict: "plain", outputs: { voltage } };
}

/** @type {(given: Sum) => Outcome} */
export function chargeMoved(given) {
  const { current, minutes } = given.numbers;
  const outputs = {
    hours: exactly((current * minutes) / 60),
    minutes: exactly(current * minutes),
  };
  return { verdict: "moved", outputs };
}

/** @type {(given: Sum) => Outcome} */
export function slowChargeRate(given) {
  return { verdict: "rate", outputs: { current: exactly((given.numbers.plates - 1) / 2) } };
}

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
