/**
 * Sums on a battery at rest: charge from volts or gravity, frost, cells.
 * Twin of `build_tools/measure/sums_rest.py`, where each formula's contract stands.
 */

import {
  between,
  clamp,
  exactly,
  interval,
  roundedToMillionth,
  SumRefusedError,
  toCelsius,
  toFahrenheit,
} from "./sums-parts.js";

/** @typedef {import("./sums-parts.js").Sum} Sum */
/** @typedef {import("./sums-parts.js").Interval} Interval */
/** @typedef {import("./sums-parts.js").Outcome} Outcome */

const TYPES = ["agm", "efb", "flooded", "gel"];
const CELLS = 6;

/** @type {(given: Sum, kind: string) => Interval} */
function chargeForType(given, kind) {
  const volts = given.numbers.voltage;
  const table = given.tables[`charge-${kind}`];
  const { temperature } = given.numbers;
  const plain =
    temperature === undefined ||
    (given.constants["plain-from"] <= temperature && temperature <= given.constants["plain-to"]);
  const widen = plain ? 0 : given.constants["widen-volts"];
  const slack = given.constants["charge-band"];
  return interval(
    between(table, volts),
    clamp(between(table, volts - widen) - slack, 0, 100),
    clamp(between(table, volts + widen) + slack, 0, 100),
  );
}

/**
 * @type {(charge: Interval, rest: string | undefined, enough: number) => "not-rested" | "enough" | "too-low" | "near"}
 */
function chargeVerdict(charge, rest, enough) {
  if (rest === "just-driven") return "not-rested";
  if (charge.low >= enough) return "enough";
  return charge.high < enough ? "too-low" : "near";
}

/** @type {(given: Sum) => Interval} */
function chargeForUnknownType(given) {
  const each = TYPES.map((kind) => chargeForType(given, kind));
  const weights = TYPES.map((kind) => given.constants[`share-${kind}`]);
  let total = 0;
  for (const weight of weights) total += weight;
  let value = 0;
  each.forEach((charge, i) => {
    value += weights[i] * charge.value;
  });
  return interval(
    value / total,
    Math.min(...each.map((charge) => charge.low)),
    Math.max(...each.map((charge) => charge.high)),
  );
}

/** @type {(given: Sum) => Outcome} */
export function chargeFromVoltage(given) {
  const chosen = given.choices["battery-type"];
  const charge = chosen === undefined ? chargeForUnknownType(given) : chargeForType(given, chosen);
  const low = given.constants["linear-empty"];
  const high = given.constants["linear-full"];
  const linear = clamp(((given.numbers.voltage - low) / (high - low)) * 100, 0, 100);
  const verdict = chargeVerdict(charge, given.choices.rest, given.constants.enough);
  return { verdict, outputs: { charge, linear: exactly(linear) } };
}

/** @type {(given: Sum) => Outcome} */
export function gravityCorrected(given) {
  const step = given.constants["per-ten-fahrenheit"];
  const temperature = toFahrenheit(given.numbers.temperature);
  const corrected = given.numbers.gravity + (step * (temperature - 80)) / 10;
  const acid = given.choices["full-acid"] ?? "1265";
  const charge = between(given.tables[`charge-by-gravity-${acid}`], corrected);
  const volts = CELLS * (corrected + given.constants["volts-offset"]);
  return {
    verdict: charge >= given.constants.enough ? "enough" : "too-low",
    outputs: {
      corrected: exactly(corrected),
      charge: exactly(charge),
      voltage: exactly(volts),
    },
  };
}

/** @type {(given: Sum) => Outcome} */
export function cellSpread(given) {
  const cells = [1, 2, 3, 4, 5, 6].map((number) => given.numbers[`cell-${number}`]);
  // Hydrometers are read to 0.001.
  const spread = roundedToMillionth(Math.max(...cells) - Math.min(...cells));
  let verdict = "charge-first";
  if (spread < given.constants["watch-from"]) verdict = "even";
  else if (spread < given.constants["replace-from"]) verdict = "watch";
  else if (given.choices.charged === "fully-charged") verdict = "uneven";
  return { verdict, outputs: { spread: exactly(spread) } };
}

/** @type {(given: Sum, gravity: number) => number} */
function freezesAt(given, gravity) {
  const main = given.tables["freezes-by-gravity"];
  const freezes = between(main, gravity);
  if (gravity >= main[0][0]) return freezes;
  return Math.max(freezes, between(given.tables["freezes-when-weak"], gravity));
}

/** @type {(given: Sum) => Outcome} */
export function freezingPoint(given) {
  let { gravity } = given.numbers;
  const { charge, temperature } = given.numbers;
  if (gravity === undefined) {
    if (charge === undefined) throw new SumRefusedError("charge", "charge-or-gravity");
    gravity = between(given.tables["gravity-by-charge"], charge);
  }
  const freezes = toCelsius(freezesAt(given, gravity));
  const keep = between(given.tables["gravity-by-charge"], given.constants["keep-above"]);
  let verdict = "clear";
  if (temperature === undefined) verdict = "point-only";
  else if (temperature <= freezes) verdict = "may-be-frozen";
  else if (temperature < 0 && gravity < keep) verdict = "keep-charged";
  return { verdict, outputs: { freezes: exactly(freezes) } };
}

/** @type {(given: Sum) => Outcome} */
export function voltsFromCell(given) {
  return { verdict: "volts", outputs: { voltage: exactly(given.numbers["cell-voltage"] * CELLS) } };
}
