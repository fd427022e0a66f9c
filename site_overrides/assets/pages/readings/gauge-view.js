/**
 * Output room: one gauge as a page: cautions, entry with conditions, picture, meaning.
 *
 * The reading goes through the same gauge as in the checker, so both say the same.
 *
 * @import { Check, Gauge, Reading } from "../../knowledge/types.js"
 * @import { Interpretation } from "../../measure/gauges.js"
 * @import { CaseReading, Known } from "../../measure/known.js"
 */

import { keptCase } from "../../case/kept-case.js";
import { stopBlock } from "../../case/stop-block.js";
import { el, folded } from "../../kit/element.js";
import { lowerFirst } from "../../kit/figures.js";
import { markedCautions, markedText, marksBehind, marksOf, ROOT } from "../../kit/marks.js";
import { scaleFigure } from "../../kit/scale.js";
import { gaugeFields, quantityText, readGauge, valueForm } from "../../kit/value-form.js";
import { degreesTold } from "../../measure/gauges.js";
import { assumptionsWords, readingWords } from "../../measure/words.js";
import { answerEnd } from "./answer.js";

/**
 * Find the check that is read on a gauge.
 * @type {(knowledge: Known, gauge: string) => {id: string, about: Check} | null}
 */
function checkOf(knowledge, gauge) {
  const found = Object.entries(knowledge.checks).find(([, check]) => check.gauge === gauge);
  return found ? { id: found[0], about: found[1] } : null;
}

/** List every mark a gauge's edges carry. @type {(gauge: Gauge) => string[]} */
function edgeMarks(gauge) {
  return gauge.tables.flatMap((table) => [
    table.source,
    ...table.bands.flatMap((/** @type {{source?: string}} */ band) => band.source ?? []),
  ]);
}

/** @type {(reading: Reading, check: string) => CaseReading} */
function caseReading(reading, check) {
  const { value, unit, confirmed, ...conditions } = reading;
  return { check, value, unit, conditions, confirmed: confirmed === true };
}

/** @type {(knowledge: Known, id: string, reading: Reading, found: Interpretation) => HTMLElement} */
function gaugeAnswer(knowledge, id, reading, found) {
  const gauge = /** @type {Gauge} */ (knowledge.gauges[id]);
  const check = checkOf(knowledge, id);
  const level = check?.about.levels.find((each) => (each.bands ?? []).includes(found.band ?? ""));
  const cold = level?.stop_colder;
  const isCold = cold !== undefined && (degreesTold(reading, knowledge) ?? Infinity) < cold.than;
  const stops = [...(level?.stop_now ?? []), ...(isCold ? [cold.line] : [])].flatMap((stop) => {
    const line = knowledge.stop_lines[stop];
    return line ? [{ id: stop, text: line.text, why: line.why }] : [];
  });
  const band = gauge.bands.find((each) => each.id === found.band);
  const $figure = scaleFigure(knowledge, gauge, { reading, found, check: check?.about }, (isAssumed) => [
    "The bar is what meter and conditions leave open.",
    isAssumed ? " The edges are those of the most likely conditions." : "",
    ...marksBehind(knowledge, edgeMarks(gauge)),
  ]);
  $figure.classList.add("marked");
  return el(
    "section.answer",
    { "aria-labelledby": "answer-title" },
    stopBlock(stops),
    el(
      "h2",
      { id: "answer-title", tabindex: -1, "data-given": true },
      `${quantityText(knowledge, reading)}: ${lowerFirst(band?.label ?? "")}`,
    ),
    $figure,
    markedText(knowledge, readingWords(knowledge, found), found.sources, { kind: "verdict" }),
    answerEnd(knowledge, {
      next: level?.means ?? "",
      nextCheck: check?.id ?? null,
      checkWords: "This reading belongs to the check",
      doesNotTell: gauge.does_not_tell ?? "",
      assumptions: assumptionsWords(knowledge, found.assumptions),
      marks: found.sources,
      toCase: check ? caseReading(reading, check.id) : null,
      more: { address: `${ROOT}gauges/${id}/`, words: "Every edge of this gauge, and where it comes from" },
    }),
  );
}

/**
 * Draw a gauge with its form.
 * @type {(knowledge: Known, id: string, ask: string, typed: {value: string, unit: string}) =>
 *   Array<HTMLElement | null>}
 * @param ask the question it answers
 * @param typed what was typed elsewhere, "" for nothing
 */
export function gaugeView(knowledge, id, ask, typed) {
  const gauge = /** @type {Gauge} */ (knowledge.gauges[id]);
  const check = checkOf(knowledge, id);
  const hazards = check ? [...check.about.cautions, ...check.about.steps.flatMap((step) => step.caution ?? [])] : [];
  const facts = keptCase(knowledge).context;
  const fields = gaugeFields(knowledge, gauge, {
    name: "entry-value",
    place: "entry",
    unit: gauge.accepts.includes(typed.unit) ? typed.unit : gauge.accepts[0],
    conditions: gauge.conditions.map((each) => each.id),
    given: (condition) => facts[condition],
  });
  const [$number] = fields;
  if ($number?.$input instanceof HTMLInputElement) $number.$input.value = typed.value;
  const { $form, $answer } = valueForm(knowledge, {
    name: "entry",
    draft: id,
    fields,
    areConditions: true,
    submit: "Show what it means",
    limitsMark: gauge.plausible.source,
    marks: (ids) => marksOf(knowledge, ids),
    work: (confirmed) =>
      readGauge(knowledge, id, { fields, confirmed }, (reading, found) => gaugeAnswer(knowledge, id, reading, found)),
  });
  const $how = check
    ? el("p", el("a", { href: `${ROOT}checks/${check.id}/` }, "How to measure it, step by step"))
    : el("p");
  return [
    el("h2", { id: "entry-title", tabindex: -1 }, ask),
    $form,
    $answer,
    markedText(knowledge, `${gauge.title}. ${gauge.summary}`, edgeMarks(gauge)),
    folded("measure-cautions", "Before you measure", markedCautions(knowledge, hazards), $how),
  ];
}
