/**
 * Output room: give a sum's whole answer in the shape every reading has.
 * Twin of `build_tools/measure/sum_document.py`; it draws nothing.
 *
 * @import { SumResult } from "./sums.js"
 * @import { SumEntry, ToCase } from "./words.js"
 */
import { marksUsed, sourceDocument, sumAssumptionWords, sumMendWords, sumRefusalWords, sumSentence } from "./words.js";

/** @typedef {{value: number, unit: string}} Quantity */
/** @typedef {{check: string, value: number, unit: string, conditions: Record<string, any>}} CaseReading */

/** @type {(definition: SumEntry, name: string) => string} */
function unitOf(definition, name) {
  return /** @type {string} */ (definition.inputs.find((entry) => entry.id === name)?.unit);
}

/**
 * @param {SumEntry} definition
 * @param {SumResult} result
 */
function inputsOf(definition, result) {
  /** @type {Record<string, {value: number | string, unit: string | null}>} */
  const inputs = {};
  for (const [name, value] of Object.entries(result.numbers)) {
    inputs[name] = { value, unit: unitOf(definition, name) };
  }
  for (const [name, value] of Object.entries(result.choices)) inputs[name] = { value, unit: null };
  return inputs;
}

/**
 * @param {SumEntry} definition
 * @param {SumResult} result
 */
function figuresOf(definition, result) {
  return definition.outputs
    .filter((output) => result.outputs[output.id])
    .map((output) => ({
      id: output.id,
      label: output.label,
      ...result.outputs[output.id],
      unit: output.unit,
      decimals: output.decimals,
    }));
}

/**
 * @param {SumEntry} definition
 * @param {SumResult} result
 * @param {Record<string, any>} units
 */
function refusedOf(definition, result, units) {
  if (result.refused === null) return null;
  const { field, reason } = result.refused;
  return {
    field,
    reason,
    why: sumRefusalWords(definition, result.refused, units),
    mend: sumMendWords(definition, result.refused, result.question, units),
  };
}

/** @param {SumResult} result */
function questionOf(result) {
  if (result.question === null) return null;
  const { field, likely_value, likely_unit, why } = result.question;
  return { field, likely_value, likely_unit, why };
}

/** @type {(definition: SumEntry, result: SumResult, way: ToCase) => Quantity | null} */
function readingOf(definition, result, way) {
  if (way.input !== undefined) {
    const value = result.numbers[way.input];
    return value === undefined ? null : { value, unit: unitOf(definition, way.input) };
  }
  const output = definition.outputs.find((one) => one.id === way.output);
  const figure = output && result.outputs[output.id];
  return output && figure ? { value: figure.value, unit: output.unit } : null;
}

/** @type {(definition: SumEntry, result: SumResult) => CaseReading | null} */
function toCase(definition, result) {
  for (const way of definition.to_case ?? []) {
    const reading = readingOf(definition, result, way);
    const chosen = Object.entries(way.when ?? {}).every(([name, option]) => result.choices[name] === option);
    const meant = way.verdicts === undefined || way.verdicts.includes(/** @type {string} */ (result.verdict));
    if (reading === null || !chosen || !meant) continue;
    /** @type {Record<string, any>} */
    const conditions = {};
    for (const [context, name] of Object.entries(way.conditions ?? {})) {
      if (result.choices[name] !== undefined) conditions[context] = result.choices[name];
      else if (result.numbers[name] !== undefined) {
        conditions[context] = { value: result.numbers[name], unit: unitOf(definition, name) };
      }
    }
    return { check: way.check, ...reading, conditions };
  }
  return null;
}

/**
 * @param {SumEntry} definition
 * @param {SumResult} result
 * @param {Record<string, any>} units
 * @param {Record<string, any>} sources
 */
export function sumDocument(definition, result, units, sources) {
  const isRefused = result.refused !== null;
  return {
    id: definition.id,
    kind: "sum",
    title: definition.title,
    inputs: inputsOf(definition, result),
    verdict: result.verdict,
    outputs: figuresOf(definition, result),
    band: null,
    band_weights: null,
    near_edge: (result.verdict ?? "").startsWith("near"),
    assumptions: isRefused ? [] : sumAssumptionWords(definition, result, units),
    question: questionOf(result),
    refused: refusedOf(definition, result, units),
    sentence: isRefused ? null : sumSentence(definition, result, units),
    does_not_tell: definition.does_not_tell,
    next: definition.next,
    next_check: definition.next_check,
    cautions: [...definition.cautions],
    sources: marksUsed(definition).map((mark) => sourceDocument(mark, sources)),
    note: definition.note ?? null,
    to_case: isRefused ? null : toCase(definition, result),
  };
}
