/**
 * Output room: one gauge as a page: cautions, entry with conditions, picture, meaning.
 *
 * The reading goes through the same gauge as in the checker, so both say the same.
 *
 * @import { Check, Gauge, Reading } from "../../knowledge/types.js"
 * @import { Interpretation } from "../../measure/gauges.js"
 * @import { CaseReading, FormField, Known, Outcome } from "./types.js"
 */

import { inSentence } from "../../engine/words.js";
import { el } from "../../kit/element.js";
import { contextField, FieldRefused, numberIn, unitField } from "../../kit/fields.js";
import { numberWords, unitSymbol } from "../../kit/figures.js";
import { interpret } from "../../measure/gauges.js";
import { ReadingRefused } from "../../measure/gauges-numbers.js";
import { readingScale } from "../../measure/reading-scale.js";
import { scaleBands, scalesOf } from "../../measure/scale-bands.js";
import { assumptionWords, readingWords, refusalWords } from "../../measure/words-reading.js";
import { stopBlock } from "../checker/stop-block.js";
import { answerEnd } from "./answer.js";
import { entryForm, setterOf } from "./entry-form.js";
import { keptCase } from "./hand-over.js";
import { markedCautions, markedText, marksOf, ROOT } from "./marks.js";

/** The bar shows plus and minus two sigma, about 19 readings in 20. */
const SIGMAS_SHOWN = 2;

/**
 * Find the check that is read on a gauge.
 * @param {Known} knowledge
 * @param {string} gauge
 * @returns {{id: string, about: Check} | null}
 */
export function checkOf(knowledge, gauge) {
  const found = Object.entries(knowledge.checks).find(([, check]) => check.gauge === gauge);
  return found ? { id: found[0], about: found[1] } : null;
}

/**
 * List every mark a gauge's edges carry.
 * @param {Gauge} gauge
 * @returns {string[]}
 */
function edgeMarks(gauge) {
  return gauge.tables.flatMap((table) => [
    table.source,
    ...table.bands.flatMap((/** @type {{source?: string}} */ band) => band.source ?? []),
  ]);
}

/**
 * @param {Known} knowledge
 * @param {Gauge} gauge
 * @returns {FormField}
 */
function valueField(knowledge, gauge) {
  const $input = el("input", {
    type: "text",
    inputmode: "decimal",
    id: "entry-value",
    autocomplete: "off",
    maxlength: 24,
    class: "field",
  });
  const { $unit, unit } = unitField(knowledge, gauge.accepts, {
    name: "entry-value-unit",
    chosen: gauge.accepts[0] ?? gauge.unit,
    label: "Unit of the reading",
  });
  const $field = el(
    "div",
    { class: "entry" },
    el("label", { for: "entry-value" }, "What the meter shows"),
    el("div", { class: "entry__pair" }, $input, $unit),
  );
  const read = () => {
    if ($input.value.trim() === "") throw new FieldRefused($input, "Type the number the meter shows.");
    return { value: numberIn($input, ""), unit: unit() };
  };
  return { id: "value", $field, $input, read, set: setterOf("entry-value") };
}

/**
 * @param {Known} knowledge
 * @param {Gauge} gauge
 * @returns {FormField[]}
 */
function conditionFields(knowledge, gauge) {
  const facts = keptCase(knowledge).context;
  return gauge.conditions.flatMap(({ id }) => {
    const field = contextField(knowledge, id, { place: "entry", given: facts[id] });
    const $input = field?.$field.querySelector("input, select");
    if (!field || !($input instanceof HTMLElement)) return [];
    return [{ id, ...field, $input, set: setterOf(`entry-${id}`) }];
  });
}

/**
 * @param {FormField[]} fields
 * @param {boolean} confirmed
 * @returns {Reading}
 */
function readingOf(fields, confirmed) {
  const [value, ...conditions] = fields;
  /** @type {Reading} */
  const reading = { ...value?.read() };
  for (const { id, read } of conditions) {
    const fact = read();
    if (fact !== null) reading[id] = fact;
  }
  if (confirmed) reading.confirmed = true;
  return reading;
}

/**
 * @param {Known} knowledge
 * @param {Gauge} gauge
 * @param {{reading: Reading, found: Interpretation, check: Check | undefined}} what
 * @returns {HTMLElement}
 */
function scaleFigure(knowledge, gauge, { reading, found, check }) {
  const bands = scaleBands(knowledge, gauge, reading, check);
  const unit = unitSymbol(knowledge.units, gauge.unit);
  const text = `${numberWords(found.value, gauge.decimals)} ${unit}`.trim();
  const mark = { value: found.value, spread: found.sigma * SIGMAS_SHOWN, text };
  const title = `${text} on its scale. ${readingWords(knowledge, found)}`;
  const isAssumed = found.assumptions.some((each) => each.kind === "unknown-condition");
  const caption = isAssumed
    ? "The bar is what meter and conditions leave open. The edges are those of the likeliest conditions."
    : "The bar is what meter and conditions leave open.";
  return el(
    "figure",
    { class: "scale marked" },
    readingScale(bands, mark, { unit, title }),
    el("figcaption", {}, caption, marksOf(knowledge, edgeMarks(gauge))),
  );
}

/**
 * @param {Reading} reading
 * @param {string} check
 * @returns {CaseReading}
 */
function caseReading(reading, check) {
  const { value, unit, confirmed, ...conditions } = reading;
  return { check, value, unit, conditions, confirmed: confirmed === true };
}

/**
 * @param {Known} knowledge
 * @param {string} id
 * @param {Reading} reading
 * @param {Interpretation} found
 * @returns {HTMLElement}
 */
function gaugeAnswer(knowledge, id, reading, found) {
  const gauge = /** @type {Gauge} */ (knowledge.gauges[id]);
  const check = checkOf(knowledge, id);
  const level = check?.about.levels.find((each) => (each.bands ?? []).includes(found.band ?? ""));
  const stops = (level?.stop_now ?? []).flatMap((stop) => {
    const line = knowledge.stop_lines[stop];
    return line ? [{ id: stop, text: line.text, why: line.why }] : [];
  });
  const band = gauge.bands.find((each) => each.id === found.band);
  const typed = `${numberWords(reading.value)} ${unitSymbol(knowledge.units, reading.unit)}`.trim();
  return el(
    "section",
    { class: "answer", "aria-labelledby": "answer-title" },
    stopBlock(stops),
    el("h2", { id: "answer-title", tabindex: -1, "data-given": true }, `${typed}: ${inSentence(band?.label ?? "")}`),
    scaleFigure(knowledge, gauge, { reading, found, check: check?.about }),
    markedText(knowledge, readingWords(knowledge, found), found.sources, { kind: "verdict" }),
    answerEnd(knowledge, {
      next: level?.means ?? "",
      nextCheck: check?.id ?? null,
      checkWords: "This reading belongs to the check",
      doesNotTell: gauge.does_not_tell ?? "",
      assumptions: found.assumptions.map((each) => assumptionWords(knowledge, each)),
      marks: found.sources,
      toCase: check ? caseReading(reading, check.id) : null,
      more: { address: `${ROOT}gauges/${id}/`, words: "Every edge of this gauge, and where it comes from" },
    }),
  );
}

/**
 * @param {Known} knowledge
 * @param {string} id
 * @param {FormField[]} fields
 * @param {boolean} confirmed
 * @returns {Outcome}
 */
function work(knowledge, id, fields, confirmed) {
  const gauge = /** @type {Gauge} */ (knowledge.gauges[id]);
  const reading = readingOf(fields, confirmed);
  try {
    const found = interpret({ ...gauge, id }, reading, reading, scalesOf(knowledge));
    if (found.question) return { $answer: null, question: found.question, refused: null };
    return { $answer: gaugeAnswer(knowledge, id, reading, found), question: null, refused: null };
  } catch (error) {
    if (!(error instanceof ReadingRefused)) throw error;
    const mark = error.reason === "outside-plausible" ? gauge.plausible.source : null;
    return { $answer: null, question: null, refused: { field: error.field, words: refusalWords(error), mark } };
  }
}

/**
 * Draw a gauge with its form.
 * @param {Known} knowledge
 * @param {string} id
 * @param {string} ask the question it answers
 * @returns {Array<HTMLElement | null>}
 */
export function gaugeView(knowledge, id, ask) {
  const gauge = /** @type {Gauge} */ (knowledge.gauges[id]);
  const check = checkOf(knowledge, id);
  const hazards = check ? [...check.about.cautions, ...check.about.steps.flatMap((step) => step.caution ?? [])] : [];
  const fields = [valueField(knowledge, gauge), ...conditionFields(knowledge, gauge)];
  const { $form, $answer } = entryForm(knowledge, {
    fields,
    submit: "Read it",
    limitsMark: gauge.plausible.source,
    work: (confirmed) => work(knowledge, id, fields, confirmed),
  });
  const $how = check
    ? el("p", {}, el("a", { href: `${ROOT}checks/${check.id}/` }, "How to measure it, step by step"))
    : el("p");
  return [
    el("h2", { id: "entry-title", tabindex: -1 }, ask),
    markedText(knowledge, `${gauge.title}. ${gauge.summary}`, edgeMarks(gauge)),
    markedCautions(knowledge, hazards),
    $how,
    $form,
    $answer,
  ];
}
