/**
 * Output room: say what a reading means, in plain sentences.
 *
 * Takes the interpretation of a gauge and the compiled knowledge, and makes the same sentences
 * as build_tools/measure/words_reading.py. It decides nothing.
 *
 * @import { Knowledge } from "../knowledge/types.js"
 * @import { ReadingRefused } from "./gauges-numbers.js"
 * @import { SlipQuestion } from "./gauges-slips.js"
 * @import { Interpretation } from "./gauges.js"
 */

import { fractionWords, lowerFirst } from "../kit/figures.js";
import { say } from "../kit/sentences.js";
import { fixed, unitWords } from "./sum-words.js";
import { plainNumber, roundedToMillionth } from "./sums-parts.js";

/** Write a number without the dust that moving a decimal point leaves, true minus sign. @param {number} value */
function numberText(value) {
  return plainNumber(roundedToMillionth(value)).replace("-", "\u2212");
}

/** @param {number} value */
function rounded(value) {
  return Math.round(value * 1e9) / 1e9;
}

/**
 * @type {(knowledge: Knowledge, found: Interpretation, typed?: string) => string}
 * @param typed the number as it is to be told, where its unit is not the gauge's
 */
export function readingWords(knowledge, found, typed) {
  const gauge = knowledge.gauges[found.gauge];
  const band = gauge?.bands.find(({ id }) => id === found.band);
  if (!gauge || !band) return "";
  // As meters are read aloud: 12.1, not 12.10, after what was typed.
  const shown = fixed(found.value, gauge.decimals).replace(/\.0+$|(\.\d*?)0+$/, "$1");
  const value = typed ?? shown + unitWords(gauge.unit, knowledge.units);
  const words = say("reading", { value, band: lowerFirst(band.label), says: band.says });
  if (!found.near_edge) return words;
  const odds = fractionWords(found.band_weights[band.id] ?? 0);
  const weight = (/** @type {string} */ id) => rounded(found.band_weights[id] ?? 0);
  const [first, ...others] = gauge.bands.filter(({ id }) => id !== band.id);
  if (!first) return words;
  const other = others.reduce((best, one) => (weight(one.id) > weight(best.id) ? one : best), first);
  return `${words} ${say("reading-near-edge", { odds, other: lowerFirst(other.label) })}`;
}

/**
 * Say what was taken where nothing was measured.
 * @type {(knowledge: Knowledge, assumption: Record<string, any>) => string}
 */
function assumptionWords(knowledge, assumption) {
  const unit = assumption.unit ? unitWords(assumption.unit, knowledge.units) : "";
  return say("reading-assumed", {
    kind: assumption.kind,
    unit: unit.trim() || assumption.unit,
    title: knowledge.contexts[assumption.condition]?.title ?? assumption.condition,
    within: numberText(assumption.value ?? 0) + unit,
    mark: say("mark", { mark: assumption.source }) || "see sources",
  });
}

/** @type {(knowledge: Knowledge, assumptions: Array<Record<string, any>>) => string[]} */
export function assumptionsWords(knowledge, assumptions) {
  const usual = assumptions.filter(({ kind }) => kind === "unknown-condition");
  const others = assumptions.filter(({ kind }) => kind !== "unknown-condition");
  const marks = [...new Set(usual.map(({ source }) => source))];
  const together = marks.map((source) => {
    const titles = usual
      .filter((one) => one.source === source)
      .map(({ condition }) => lowerFirst(knowledge.contexts[condition]?.title ?? condition));
    return say("reading-assumed-all", {
      titles: titles.join(", "),
      mark: say("mark", { mark: source }) || "see sources",
    });
  });
  return [...together, ...others.map((one) => assumptionWords(knowledge, one))];
}

/** @type {(knowledge: Knowledge, question: SlipQuestion) => string} */
export function questionWords({ units }, question) {
  const typed = numberText(question.typed_value) + unitWords(question.typed_unit, units);
  const high = numberText(question.high) + unitWords(question.unit_of_limits, units);
  const fits = say("slip-fits", { low: numberText(question.low), high });
  if (question.likely_value === null || question.likely_unit === null) {
    return `${say("slip-impossible", { typed })} ${fits}`;
  }
  const meant = numberText(question.likely_value) + unitWords(question.likely_unit, units);
  return `${say("slip-meant", { meant })} ${say("slip-unusual", { typed })} ${fits}`;
}

/** @type {(refused: Pick<ReadingRefused, "reason" | "given" | "options">) => string} */
export function refusalWords({ reason, given, options }) {
  return say("reading-refused", { reason, given, options: options.join(" or ") });
}
