/**
 * Output room: say what a sum found, in the sentences its file holds.
 * The same words as `build_tools/output/sum_words.py`.
 *
 * @import { Interval } from "../reasoning/sums-parts.js"
 * @import { Refusal, SumDefinition, SumResult } from "../reasoning/sums.js"
 */

/** @typedef {{id: string, label: string, unit: string, decimals: number}} SumOutput */

/**
 * @typedef {SumDefinition & {outputs: SumOutput[], verdicts: Record<string, string>,
 *   refusals?: Record<string, string>, sources: string[], title: string, summary: string,
 *   question: string, group: string, does_not_tell: string, next: string,
 *   next_check: string | null, cautions: string[], note: string}} SumEntry
 */

const PLACE = /\{([a-z0-9-]+?)(-range)?\}/g;
const WORD_UNITS = /** @type {Record<string, string>} */ ({
  day: "days", h: "h", min: "minutes", count: "", ratio: "", sg: "",
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
  "outside-limits": "{label}: {given} lies outside {options}. Check the decimal point and unit.",
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
  return definition.verdicts[/** @type {string} */ (result.verdict)].replace(
    PLACE,
    (_, name, range) => {
      const output = outputs[name];
      const interval = result.outputs[name];
      if (range) return rangeWords(interval, output, units);
      return fixed(interval.value, output.decimals) + unitWords(output.unit, units);
    },
  );
}

/**
 * Says which input cannot be used, why, and what would do.
 * @param {SumEntry} definition
 * @param {Refusal} refusal
 */
export function sumRefusalWords(definition, refusal) {
  const own = definition.refusals?.[refusal.reason];
  if (own) return own;
  const entry = definition.inputs.find((one) => one.id === refusal.field);
  const joiner = refusal.reason === "outside-limits" ? " to " : ", ";
  const parts = /** @type {Record<string, string>} */ ({
    label: entry?.label ?? refusal.field,
    given: refusal.given,
    options: refusal.options.join(joiner),
  });
  return REFUSALS[refusal.reason].replace(/\{(label|given|options)\}/g, (_, name) => parts[name]);
}

/**
 * The source ids and marks a sum stands on, each once, the file's order first.
 * @param {SumEntry} definition
 */
export function marksUsed(definition) {
  const found = [...definition.sources];
  for (const entry of [...Object.values(definition.constants), ...Object.values(definition.tables)]) {
    if (!found.includes(entry.source)) found.push(entry.source);
  }
  return found;
}
