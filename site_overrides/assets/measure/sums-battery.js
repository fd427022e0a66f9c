/**
 * Sums on a battery: charge at rest, frost, cells, load test, resistance, ratings.
 * Twin of `build_tools/measure/sums_battery.py`, where the contract of each formula stands.
 */

import {
  around,
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

/** @param {Sum} given */
function testCurrent(given) {
  const rated = given.numbers["rated-cca"];
  const { capacity } = given.numbers;
  if (rated !== undefined) return rated * given.constants["share-of-cca"];
  return capacity === undefined ? null : capacity * given.constants["times-capacity"];
}

/** What a failed test is worth: only a charged battery can fail for good. @param {Sum} given */
function failed(given) {
  const resting = given.numbers["resting-voltage"];
  if (resting === undefined) return "fails-charge-unknown";
  if (resting < given.constants["charged-from-flooded"]) return "charge-and-retest";
  const kind = given.choices["battery-type"];
  if (kind === undefined) {
    const needed = ["flooded", "agm", "gel"].map((one) => given.constants[`charged-from-${one}`]);
    return resting >= Math.max(...needed) ? "fails" : "fails-type-unknown";
  }
  const needed = given.constants[`charged-from-${kind === "efb" ? "flooded" : kind}`];
  return resting >= needed ? "fails" : "charge-and-retest";
}

/**
 * @param {Sum} given
 * @param {number} least
 */
function loadVerdict(given, least) {
  const loaded = given.numbers["loaded-voltage"];
  if (loaded === undefined) return "set-up";
  const above = roundedToMillionth(loaded - least);
  const { near } = given.constants;
  if (above >= near) return "holds";
  if (above >= 0) return "near-holds";
  return above >= -near ? "near-falls" : failed(given);
}

/** @type {(given: Sum) => Outcome} */
export function loadTest(given) {
  const least = between(given.tables["least-volts"], toFahrenheit(given.numbers.temperature));
  /** @type {Record<string, Interval>} */
  const outputs = { least: exactly(least) };
  const current = testCurrent(given);
  if (current !== null) outputs.current = exactly(current);
  else if (given.numbers["loaded-voltage"] === undefined) {
    throw new SumRefusedError("rated-cca", "cca-or-capacity");
  }
  return { verdict: loadVerdict(given, least), outputs };
}

/** @type {(given: Sum) => Outcome} */
export function handTester(given) {
  const rated = given.numbers["rated-cca"];
  const load = given.numbers.load ?? given.constants.load;
  let used = rated;
  if (given.numbers.temperature !== undefined) {
    const fahrenheit = toFahrenheit(given.numbers.temperature);
    if (fahrenheit < given.constants["derate-below"]) {
      const steps = (given.constants["derate-below"] - fahrenheit) / given.constants["derate-step"];
      used = rated - given.constants["derate-by"] * steps;
    }
  }
  if (used <= 0) throw new SumRefusedError("temperature", "too-cold");
  const share = load / (rated / 2);
  return {
    verdict: share < given.constants["fair-share"] ? "weak-evidence" : "fair-evidence",
    outputs: { used: exactly(used), share: exactly(share * 100) },
  };
}

/** @type {(given: Sum) => Outcome} */
export function internalResistance(given) {
  const fall = given.numbers["resting-voltage"] - given.numbers["loaded-voltage"];
  if (fall <= 0) throw new SumRefusedError("loaded-voltage", "no-fall");
  /** @type {Record<string, Interval>} */
  const outputs = { resistance: exactly((fall / given.numbers.current) * 1000) };
  const rated = given.numbers["rated-cca"];
  if (rated !== undefined) {
    const label = (given.constants["label-rest"] - given.constants["label-floor"]) / rated;
    outputs.expected = exactly(label * 1000);
  }
  return { verdict: "compare-only", outputs };
}

/** @type {(value: number, scale: string, given: Sum) => Interval} */
function toSae(value, scale, given) {
  if (scale === "sae") return exactly(value);
  const main =
    scale === "din"
      ? value * given.constants["din-times"] + given.constants["din-plus"]
      : value * given.constants[`${scale}-times`];
  return around(main, given.constants.doubt);
}

/** @type {(given: Sum) => Outcome} */
export function ratingConverted(given) {
  const { scale } = given.choices;
  const value = given.numbers.rating;
  /** @type {Record<string, Interval>} */
  const outputs = { sae: toSae(value, scale, given) };
  if (scale === "din") outputs["other-rule"] = exactly(value * given.constants["din-other-times"]);
  return { verdict: scale === "sae" ? "same-scale" : "about", outputs };
}

/** @type {(ratio: number, given: Sum) => "good" | "marginal" | "low"} */
function ratioWord(ratio, given) {
  if (ratio >= given.constants["good-from"]) return "good";
  return ratio >= given.constants["marginal-from"] ? "marginal" : "low";
}

/** @type {(given: Sum) => Outcome} */
export function ratingRatio(given) {
  const measured = toSae(given.numbers.measured, given.choices["measured-scale"], given);
  const rated = toSae(given.numbers.rated, given.choices["rated-scale"], given);
  let ratio = interval(
    (measured.value / rated.value) * 100,
    (measured.low / rated.high) * 100,
    (measured.high / rated.low) * 100,
  );
  if (given.choices["measured-scale"] === given.choices["rated-scale"]) {
    // The same scale on both sides cancels its doubt.
    ratio = exactly((given.numbers.measured / given.numbers.rated) * 100);
  }
  const low = ratioWord(ratio.low, given);
  return {
    verdict: low === ratioWord(ratio.high, given) ? low : "scales-differ",
    outputs: { ratio },
  };
}
