/**
 * Sums on a loaded battery: load test, hand tester, resistance, ratings.
 * Twin of `build_tools/reasoning/sums_load.py`, where each formula's contract stands.
 */

import { SumRefusedError, around, between, exactly, interval, toFahrenheit } from "./sums-parts.js";

/** @typedef {import("./sums-parts.js").Sum} Sum */
/** @typedef {import("./sums-parts.js").Interval} Interval */
/** @typedef {import("./sums-parts.js").Outcome} Outcome */

/** @param {Sum} given */
function testCurrent(given) {
  const rated = given.numbers["rated-cca"];
  const { capacity } = given.numbers;
  if (rated !== undefined) return rated * given.constants["share-of-cca"];
  if (capacity !== undefined) return capacity * given.constants["times-capacity"];
  throw new SumRefusedError("rated-cca", "cca-or-capacity");
}

/**
 * @param {Sum} given
 * @param {number} least
 */
function loadVerdict(given, least) {
  const loaded = given.numbers["loaded-voltage"];
  if (loaded === undefined) return "set-up";
  if (loaded >= least + given.constants.near) return "holds";
  if (loaded >= least - given.constants.near) return "near";
  const resting = given.numbers["resting-voltage"];
  if (resting === undefined) return "fails-charge-unknown";
  return resting >= given.constants["charged-from"] ? "fails" : "charge-and-retest";
}

/**
 * @param {Sum} given
 * @returns {Outcome}
 */
export function loadTest(given) {
  const least = between(given.tables["least-volts"], toFahrenheit(given.numbers.temperature));
  const outputs = { current: exactly(testCurrent(given)), least: exactly(least) };
  return { verdict: loadVerdict(given, least), outputs };
}

/**
 * @param {Sum} given
 * @returns {Outcome}
 */
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

/**
 * @param {Sum} given
 * @returns {Outcome}
 */
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

/**
 * Turns a rating into the SAE scale; `en` and the rest carry the stated doubt.
 * @param {number} value
 * @param {string} scale
 * @param {Sum} given
 * @returns {Interval}
 */
function toSae(value, scale, given) {
  if (scale === "sae") return exactly(value);
  const main = scale === "din"
    ? value * given.constants["din-times"] + given.constants["din-plus"]
    : value * given.constants[`${scale}-times`];
  return around(main, given.constants.doubt);
}

/**
 * @param {Sum} given
 * @returns {Outcome}
 */
export function ratingConverted(given) {
  const { scale } = given.choices;
  const value = given.numbers.rating;
  /** @type {Record<string, Interval>} */
  const outputs = { sae: toSae(value, scale, given) };
  if (scale === "din") outputs["other-rule"] = exactly(value * given.constants["din-other-times"]);
  return { verdict: scale === "sae" ? "same-scale" : "about", outputs };
}

/**
 * @param {number} ratio
 * @param {Sum} given
 */
function ratioWord(ratio, given) {
  if (ratio >= given.constants["good-from"]) return "good";
  return ratio >= given.constants["marginal-from"] ? "marginal" : "low";
}

/**
 * @param {Sum} given
 * @returns {Outcome}
 */
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
