/**
 * Sums on charging and connections: drops, output, chargers, charge time.
 * Twin of `build_tools/measure/sums_charging.py`, where each formula's contract stands.
 */

import { between, exactly, interval, SumRefusedError } from "./sums-parts.js";

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
