/**
 * Output room: say what a reading means, in plain sentences.
 *
 * Takes the interpretation of a gauge and the compiled knowledge, and makes the same sentences
 * as build_tools/output/words_reading.py. It decides nothing.
 *
 * @import { Knowledge } from "../knowledge/types.js"
 * @import { ReadingRefused } from "./gauges-numbers.js"
 * @import { SlipQuestion } from "./gauges-slips.js"
 * @import { Interpretation } from "./gauges.js"
 */

import { inSentence } from "../engine/words.js";
import { fractionWords } from "../kit/figures.js";
import { fixed, MARKS, unitWords } from "./sum-words.js";
import { plainNumber, roundedToMillionth } from "./sums-parts.js";

/** @type {Record<string, string>} */
const REFUSALS = {
  "not-a-number": "“{given}” is not a number. Write it like 12.5.",
  "not-finite": "“{given}” is not a number a meter can show.",
  "comma-or-thousands": "“{given}” can be read two ways. Write 12.5 or 12500, without a comma.",
  "unknown-unit": "The unit “{given}” is not used here. Use {options}.",
  "unknown-option": "“{given}” is not one of the answers. Use {options}.",
  "unknown-condition": "“{given}” is not asked for here. Use {options}.",
  "outside-plausible": "{given} cannot be right here. Measure again.",
  "condition-needed": "This reading cannot be judged without that condition.",
  "no-table": "No table covers these conditions. Leave one of them out.",
  "no-gauge": "This check has no gauge.",
};

/**
 * Write a number without the dust that moving a decimal point leaves, true minus sign.
 * @param {number} value
 */
function numberText(value) {
  return plainNumber(roundedToMillionth(value)).replace("-", "\u2212");
}

/** @param {number} value */
function rounded(value) {
  return Math.round(value * 1e9) / 1e9;
}

/**
 * Say which band a reading lies in, and how sure that is when it lies near an edge.
 * @param {Knowledge} knowledge
 * @param {Interpretation} found
 * @returns {string}
 */
export function readingWords(knowledge, found) {
  const gauge = knowledge.gauges[found.gauge];
  const band = gauge?.bands.find(({ id }) => id === found.band);
  if (!gauge || !band) return "";
  const value = fixed(found.value, gauge.decimals) + unitWords(gauge.unit, knowledge.units);
  const words = `${value} reads “${inSentence(band.label)}”. ${band.says}`;
  if (!found.near_edge) return words;
  const share = fractionWords(found.band_weights[band.id] ?? 0);
  const weight = (/** @type {string} */ id) => rounded(found.band_weights[id] ?? 0);
  const [first, ...others] = gauge.bands.filter(({ id }) => id !== band.id);
  if (!first) return words;
  const other = others.reduce((best, one) => (weight(one.id) > weight(best.id) ? one : best), first);
  return `${words} It is close to an edge (${share}); it may be “${inSentence(other.label)}”.`;
}

/**
 * Say what was taken where nothing was measured.
 * @param {Knowledge} knowledge
 * @param {Record<string, any>} assumption
 * @returns {string}
 */
export function assumptionWords(knowledge, assumption) {
  const mark = MARKS[assumption.source ?? ""] ?? "see sources";
  if (assumption.kind === "unit") {
    const unit = unitWords(assumption.unit, knowledge.units).trim() || assumption.unit;
    return `No unit was given, so ${unit} is taken.`;
  }
  const title = knowledge.contexts[assumption.condition]?.title ?? assumption.condition;
  if (assumption.kind === "thermometer") {
    const limit = numberText(assumption.value) + unitWords(assumption.unit, knowledge.units);
    return `${title}: taken to be right within ${limit} (${mark}).`;
  }
  return `${title} was not given, so what is usual was allowed for (${mark}).`;
}

/**
 * Ask about a likely slip of the unit or the decimal point.
 * @param {Knowledge} knowledge
 * @param {SlipQuestion} question
 * @returns {string}
 */
export function questionWords({ units }, question) {
  const typed = numberText(question.typed_value) + unitWords(question.typed_unit, units);
  const limit = unitWords(question.unit_of_limits, units);
  const fits = `What fits here lies between ${numberText(question.low)} and ${numberText(question.high)}${limit}.`;
  if (question.likely_value === null || question.likely_unit === null) {
    return `${typed} cannot be right here. ${fits}`;
  }
  const meant = numberText(question.likely_value) + unitWords(question.likely_unit, units);
  return `Did you mean ${meant}? ${typed} would be unusual. ${fits}`;
}

/**
 * Say why a reading cannot be used and what would do.
 * @param {Pick<ReadingRefused, "reason" | "given" | "options">} refused
 * @returns {string}
 */
export function refusalWords({ reason, given, options }) {
  const words = REFUSALS[reason] ?? "";
  return words.replace("{given}", () => given).replace("{options}", () => options.join(" or "));
}
