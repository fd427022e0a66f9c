/**
 * Output room: say what a sum found, in the sentences its file holds.
 * The same words as `build_tools/output/sum_words.py`.
 *
 * @import { SlipQuestion } from "./gauges-slips.js"
 * @import { Interval } from "./sums-parts.js"
 * @import { Refusal, SumDefinition, SumResult } from "./sums.js"
 */
import { plainNumber, roundedToMillionth } from "./sums-parts.js";

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
export const MARKS = /** @type {Record<string, string>} */ ({
  "from-memory": "from memory",
  "common-practice": "common practice, no source",
  "our-estimate": "our estimate",
});
const REFUSALS = /** @type {Record<string, string>} */ ({
  missing: "{label} is needed for this sum.",
  "not-a-number": "{label}: “{given}” is not a number. Write it like 12.5.",
  "not-finite": "{label}: “{given}” is not a number a meter can show.",
  "comma-or-thousands": "{label}: “{given}” can be read two ways. Use a point for decimals.",
  "unknown-unit": "{label}: the unit “{given}” is not used here. Use {options}.",
  "unknown-option": "{label}: “{given}” is not one of the choices. Use {options}.",
  "unknown-input": "This sum takes no “{given}”. It takes {options}.",
  "outside-limits": "{label}: {given} lies outside {options}.",
});
const MENDS = /** @type {Record<string, string>} */ ({
  missing: "Enter it, or leave this sum.",
  "not-a-number": "Write digits with a point for decimals.",
  "not-finite": "Write digits with a point for decimals.",
  "comma-or-thousands": "Write 12.5 for twelve and a half.",
  "unknown-unit": "Choose a unit from the list.",
  "unknown-option": "Choose one of the list.",
  "unknown-input": "Take it out or correct its name.",
  "outside-limits": "Check the decimal point, the sign and the unit.",
});

/**
 * Writes a number with that many decimals, halves away from zero, true minus sign.
 * @param {number} value
 * @param {number} decimals
 */
export function fixed(value, decimals) {
  const scale = 10 ** decimals;
  const whole = Math.floor(Math.abs(value) * scale + 0.5);
  const sign = value < 0 && whole > 0 ? "\u2212" : "";
  const digits = String(whole).padStart(decimals + 1, "0");
  if (decimals === 0) return sign + digits;
  return `${sign}${digits.slice(0, -decimals)}.${digits.slice(-decimals)}`;
}

/**
 * How a unit is written after a figure, with its space; "%" takes none.
 * @param {string} unit
 * @param {Record<string, any>} units
 */
export function unitWords(unit, units) {
  const symbol = WORD_UNITS[unit] ?? units[unit]?.symbol ?? unit;
  return symbol === "" || symbol === "%" ? symbol : `\u00a0${symbol}`;
}

/**
 * @param {Interval} interval
 * @param {SumOutput} output
 * @param {Record<string, any>} units
 */
export function rangeWords(interval, output, units) {
  const low = fixed(interval.low, output.decimals);
  const high = fixed(interval.high, output.decimals);
  const unit = unitWords(output.unit, units);
  return low === high ? `${low}${unit}` : `${low} to ${high}${unit}`;
}

/**
 * The verdict's sentence with its figures filled in.
 * @param {SumEntry} definition
 * @param {SumResult} result
 * @param {Record<string, any>} units
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
    return fixed(value, output.decimals) + unitWords(output.unit, units);
  });
}

/** @param {string} text */
function signed(text) {
  return text.replaceAll("-", "\u2212");
}

/**
 * Says which input cannot be used, why, and what would do.
 * @param {SumEntry} definition
 * @param {Refusal} refusal
 * @param {Record<string, any>} units
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
  const parts = /** @type {Record<string, string>} */ ({
    label: entry?.label ?? refusal.field,
    given: refusal.given,
    options,
  });
  return REFUSALS[refusal.reason].replace(/\{(label|given|options)\}/g, (_, name) => parts[name]);
}

/**
 * Says what to do about a refused input; a likely slip is asked about.
 * @param {SumEntry} definition
 * @param {Refusal} refusal
 * @param {SlipQuestion | null} question
 * @param {Record<string, any>} units
 */
export function sumMendWords(definition, refusal, question, units) {
  if (definition.refusals?.[refusal.reason]) return "Change or add that input.";
  if (question === null || question.likely_value === null || question.likely_unit === null) {
    return MENDS[refusal.reason];
  }
  const meant = signed(plainNumber(roundedToMillionth(question.likely_value)));
  return `Did you mean ${meant}${unitWords(question.likely_unit, units)}?`;
}

/**
 * Says what was taken where nothing was given, and which units were assumed.
 * @param {SumEntry} definition
 * @param {SumResult} result
 * @param {Record<string, any>} units
 */
export function sumAssumptionWords(definition, result, units) {
  const given = [...Object.keys(result.numbers), ...Object.keys(result.choices)];
  /** @type {string[]} */
  const said = [];
  for (const entry of definition.inputs) {
    if (result.assumedUnits.includes(entry.id)) {
      const canonical = /** @type {string} */ (entry.unit);
      const unit = unitWords(canonical, units).trim() || canonical;
      said.push(`${entry.label}: no unit was given, taken as ${unit}.`);
    }
    const taken = entry.if_left_out;
    if (taken && ![entry.id, ...(taken.unless ?? [])].some((name) => given.includes(name))) {
      said.push(taken.says);
    }
  }
  return said;
}

/**
 * The source ids and marks a sum stands on, each once, the file's order first.
 * @param {SumEntry} definition
 */
export function marksUsed(definition) {
  const found = [...definition.sources];
  const entries = { ...definition.constants, ...definition.tables };
  for (const entry of Object.values(entries)) {
    if (!found.includes(entry.source)) found.push(entry.source);
  }
  return found;
}

/**
 * Describes one source or mark for people.
 * @param {string} mark
 * @param {Record<string, any>} sources
 */
export function sourceDocument(mark, sources) {
  const words = MARKS[mark];
  if (words) return { mark: words };
  const source = sources[mark];
  const kind = source.mark === "published" ? "published" : "second-hand";
  return { mark: kind, id: mark, title: source.title };
}
