/**
 * Output room: say what a sum found, in the sentences its file holds, and what a reading means.
 * The same words as `build_tools/measure/words.py`.
 *
 * @import { ReadingRefused, SlipQuestion } from "./gauges-numbers.js"
 * @import { Interval } from "./sums-parts.js"
 * @import { Refusal, SumDefinition, SumResult } from "./sums.js"
 * @import { Knowledge } from "../knowledge/types.js"
 * @import { Interpretation } from "./gauges.js"
 */

import { fractionWords, lowerFirst } from "../kit/figures.js";
import { say } from "../kit/sentences.js";
import { plainNumber, roundedToMillionth, toFahrenheit } from "./sums-parts.js";

/** @typedef {{id: string, label: string, unit: string, decimals: number}} SumOutput */

/**
 * One way to enter a sum as a reading of a check.
 * @typedef {{check: string, input?: string, output?: string, when?: Record<string, string>,
 *   verdicts?: string[], conditions?: Record<string, string>}} ToCase
 */

/**
 * @typedef {SumDefinition & {outputs: SumOutput[], verdicts: Record<string, string>,
 *   refusals?: Record<string, string>, sources: string[], title: string, summary: string,
 *   question: string, group: string, does_not_tell: string, next: string,
 *   next_check: string | null, cautions: string[], note?: string | null,
 *   to_case?: ToCase[]}} SumEntry
 */

const PLACE = /\{([a-z0-9-]+?)(-range|-low|-high)?\}/g;
const WORD_UNITS = /** @type {Record<string, string>} */ ({
  day: "days",
  h: "h",
  min: "minutes",
  count: "",
  ratio: "",
  sg: "",
});
/** @type {(value: number, decimals: number) => string} */
export function fixed(value, decimals) {
  const scale = 10 ** decimals;
  const whole = Math.floor(Math.abs(value) * scale + 0.5);
  const sign = value < 0 && whole > 0 ? "\u2212" : "";
  const digits = String(whole).padStart(decimals + 1, "0");
  if (decimals === 0) return sign + digits;
  return `${sign}${digits.slice(0, -decimals)}.${digits.slice(-decimals)}`;
}

/** @type {(unit: string, units: Record<string, any>) => string} */
export function unitWords(unit, units) {
  const symbol = WORD_UNITS[unit] ?? units[unit]?.symbol ?? unit;
  return symbol === "" || symbol === "%" ? symbol : `\u00a0${symbol}`;
}

/** @type {(value: number, output: Pick<SumOutput, "unit" | "decimals">, units: Record<string, any>) => string} */
export function figureWords(value, { unit, decimals }, units) {
  const said = fixed(value, decimals) + unitWords(unit, units);
  return unit === "degC" ? `${fixed(toFahrenheit(value), decimals)}${unitWords("degF", units)} (${said})` : said;
}

/** @type {(interval: Interval, output: SumOutput, units: Record<string, any>) => string} */
function rangeWords(interval, output, units) {
  const low = fixed(interval.low, output.decimals);
  const high = fixed(interval.high, output.decimals);
  const unit = unitWords(output.unit, units);
  return low === high ? `${low}${unit}` : `${low} to ${high}${unit}`;
}

/**
 * The verdict's sentence with its figures filled in.
 * @type {(definition: SumEntry, result: SumResult, units: Record<string, any>) => string}
 */
export function sumSentence(definition, result, units) {
  const outputs = Object.fromEntries(definition.outputs.map((one) => [one.id, one]));
  return definition.verdicts[/** @type {string} */ (result.verdict)].replace(PLACE, (_, name, part) => {
    const output = outputs[name];
    const interval = result.outputs[name];
    if (part === "-range") return rangeWords(interval, output, units);
    let { value } = interval;
    if (part === "-low") value = interval.low;
    if (part === "-high") value = interval.high;
    return figureWords(value, output, units);
  });
}

/** @param {string} text */
function signed(text) {
  return text.replaceAll("-", "\u2212");
}

/**
 * Says which input cannot be used, why, and what would do.
 * @type {(definition: SumEntry, refusal: Refusal, units: Record<string, any>) => string}
 */
export function sumRefusalWords(definition, refusal, units) {
  const own = definition.refusals?.[refusal.reason];
  if (own) return own;
  const entry = definition.inputs.find((one) => one.id === refusal.field);
  let options = refusal.options.join(", ");
  if (refusal.reason === "outside-limits") {
    const unit = unitWords(/** @type {string} */ (entry?.unit), units);
    options = signed(refusal.options.join(" to ")) + unit;
  }
  const label = entry?.label ?? refusal.field;
  return say("sum-refused", { reason: refusal.reason, label, given: refusal.given, options });
}

/**
 * Says what to do about a refused input; a likely slip is asked about.
 * @type {(definition: SumEntry, refusal: Refusal, question: SlipQuestion | null, units: Record<string, any>) => string}
 */
export function sumMendWords(definition, refusal, question, units) {
  if (definition.refusals?.[refusal.reason]) return say("sum-mend-own");
  if (question === null || question.likely_value === null || question.likely_unit === null) {
    return say("sum-mend", { reason: refusal.reason });
  }
  const meant = signed(plainNumber(roundedToMillionth(question.likely_value)));
  return say("slip-meant", { meant: meant + unitWords(question.likely_unit, units) });
}

/**
 * Says what was taken where nothing was given, and which units were assumed.
 * @type {(definition: SumEntry, result: SumResult, units: Record<string, any>) => string[]}
 */
export function sumAssumptionWords(definition, result, units) {
  const given = [...Object.keys(result.numbers), ...Object.keys(result.choices)];
  /** @type {string[]} */
  const said = [];
  for (const entry of definition.inputs) {
    if (result.assumedUnits.includes(entry.id)) {
      const canonical = /** @type {string} */ (entry.unit);
      const unit = unitWords(canonical, units).trim() || canonical;
      said.push(say("sum-unit-assumed", { label: entry.label, unit }));
    }
    const taken = entry.if_left_out;
    if (taken && ![entry.id, ...(taken.unless ?? [])].some((name) => given.includes(name))) {
      said.push(taken.says);
    }
  }
  return said;
}

/** The source ids and marks a sum stands on, each once, the file's order first. @param {SumEntry} definition */
export function marksUsed(definition) {
  const found = [...definition.sources];
  const entries = { ...definition.constants, ...definition.tables };
  for (const entry of Object.values(entries)) {
    if (!found.includes(entry.source)) found.push(entry.source);
  }
  return found;
}

/**
 * @param {string} mark
 * @param {Record<string, any>} sources
 */
export function sourceDocument(mark, sources) {
  const source = sources[mark];
  if (!source) return { mark: say("mark", { mark }) };
  return { mark: say("mark", { mark: source.mark }), id: mark, title: source.title };
}

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
