/**
 * Output room: one sum as a page: cautions, inputs, a table of figures, the sentence.
 *
 * The sum itself is worked out by the reasoning; nothing is computed here.
 *
 * @import { SumInput } from "../../measure/sums.js"
 * @import { SumEntry } from "../../measure/words.js"
 * @import { FormField, Outcome } from "../../kit/value-form.js"
 * @import { Known } from "../../measure/known.js"
 */

import { keptCase } from "../../case/kept-case.js";
import { el, tableOf, titled } from "../../kit/element.js";
import { choiceBox, numberBox, unitField } from "../../kit/fields.js";
import { hasFigure, markedCautions, markedText, marksBehind, marksOf, ROOT } from "../../kit/marks.js";
import { valueForm } from "../../kit/value-form.js";
import { sumDocument } from "../../measure/sum-document.js";
import { workOut } from "../../measure/sums.js";
import { figureWords, fixed, marksUsed, unitWords } from "../../measure/words.js";
import { answerEnd } from "./answer.js";

/** What an input may be is our own choice, for every sum. */
const OWN_LIMITS = "our-estimate";
/** Refusals whose own words already say how to mend them. */
const SELF_MENDING = new Set(["missing", "not-a-number", "not-finite", "comma-or-thousands"]);

/**
 * Draw label, control and hint of one input; figures in them carry the sum's marks.
 * @type {(knowledge: Known, definition: SumEntry, input: SumInput, control: {name: string, $control: HTMLElement}) =>
 *   HTMLElement}
 */
function entryOf(knowledge, definition, input, { name, $control }) {
  const hint = input.hint ?? "";
  const needsMark = hasFigure(`${input.label} ${hint}`);
  const marks = needsMark ? marksBehind(knowledge, marksUsed(definition)) : null;
  const $hint = hint !== "" || needsMark ? el("p.entry__hint", { id: `${name}-hint` }, hint, marks) : null;
  if ($hint) $control.setAttribute("aria-describedby", `${name}-hint`);
  const $box = $control.parentElement ?? $control;
  return el(
    "div",
    { class: needsMark ? "entry marked" : "entry" },
    el("label", { for: name }, input.label, input.optional ? el("span.optional-word", " (optional)") : null),
    $box,
    $hint,
  );
}

/** @type {(knowledge: Known, definition: SumEntry, input: SumInput) => FormField} */
function choiceInput(knowledge, definition, input) {
  const name = `entry-${input.id}`;
  const fact = keptCase(knowledge).context[input.id];
  const options = (input.options ?? []).map(({ id, label }) => /** @type {[string, string]} */ ([id, label]));
  const $input = choiceBox(name, options, {
    chosen: String(fact ?? ""),
    none: input.optional ? "Not known" : "Choose",
  });
  const $field = entryOf(knowledge, definition, input, { name, $control: $input });
  return { id: input.id, $field, $input, read: () => $input.value || null };
}

/** @type {(knowledge: Known, definition: SumEntry, input: SumInput) => FormField} */
function numberInput(knowledge, definition, input) {
  const name = `entry-${input.id}`;
  const canonical = input.unit ?? "";
  const $input = numberBox(name);
  const { $unit, unit } = unitField(knowledge, input.accepts ?? [canonical], {
    name: `${name}-unit`,
    chosen: input.accepts?.[0] ?? canonical,
    label: `Unit: ${input.label}`,
  });
  el("div.entry__pair", $input, canonical === "count" ? null : $unit);
  const $field = entryOf(knowledge, definition, input, { name, $control: $input });
  const read = () => {
    const typed = $input.value.trim();
    return typed === "" ? null : { value: typed, unit: unit() };
  };
  return { id: input.id, $field, $input, read };
}

/**
 * @type {(knowledge: Known, outputs: Array<{label: string, value?: number, low?: number, high?: number, unit: string,
 *   decimals: number}>) => HTMLElement}
 */
function figureTable(knowledge, outputs) {
  const isWide = outputs.some(({ low, high, decimals }) => fixed(low ?? 0, decimals) !== fixed(high ?? 0, decimals));
  const rows = outputs.map(({ label, value = 0, low = value, high = value, unit, decimals }) => {
    const words = unitWords(unit, knowledge.units);
    const [from, to] = [fixed(low, decimals), fixed(high, decimals)];
    const range = from === to ? "\u2013" : `${from} to ${to}${words}`;
    return el(
      "tr",
      el("th", { scope: "row" }, label),
      el("td.num", figureWords(value, { unit, decimals }, knowledge.units)),
      isWide ? el("td.num", range) : null,
    );
  });
  const names = ["Figure", "Value", ...(isWide ? ["Range"] : [])];
  return el(
    "div.table-wrap",
    { tabindex: 0, role: "region", "aria-label": "The figures" },
    tableOf(names, rows, { class: "figures" }),
  );
}

/** @type {(knowledge: Known, definition: SumEntry, answer: ReturnType<typeof sumDocument>) => HTMLElement} */
function sumAnswer(knowledge, definition, answer) {
  const marks = marksUsed(definition);
  return titled(
    "section.answer",
    el("h2", { id: "answer-title", tabindex: -1 }, "What comes out"),
    el(
      "div.marked",
      el("p.verdict", answer.sentence ?? ""),
      figureTable(knowledge, answer.outputs),
      el("p.small", "These figures rest on:", marksOf(knowledge, marks)),
    ),
    answerEnd(knowledge, {
      next: answer.next,
      nextCheck: answer.next_check,
      checkWords: "The check for it",
      doesNotTell: answer.does_not_tell,
      assumptions: answer.assumptions,
      marks,
      toCase: answer.to_case,
      note: answer.note,
      more: { address: `${ROOT}sums/${definition.id}/`, words: "The formula, its figures and a worked example" },
    }),
  );
}

/** @type {(knowledge: Known, definition: SumEntry, fields: FormField[]) => Outcome} */
function work(knowledge, definition, fields) {
  const given = Object.fromEntries(fields.map(({ id, read }) => [id, read()]));
  const result = workOut(definition, given, knowledge.units);
  if (result.question) return { $answer: null, question: result.question, refused: null };
  const answer = sumDocument(definition, result, knowledge.units, knowledge.sources);
  if (answer.refused) {
    const { field, why, mend, reason } = answer.refused;
    const mark = reason === "outside-limits" || definition.refusals?.[reason] ? OWN_LIMITS : null;
    return {
      $answer: null,
      question: null,
      refused: { field, words: SELF_MENDING.has(reason) ? why : `${why} ${mend}`, mark },
    };
  }
  return { $answer: sumAnswer(knowledge, definition, answer), question: null, refused: null };
}

/** Draw a sum with its form. @type {(knowledge: Known, id: string) => Array<HTMLElement | null>} */
export function sumView(knowledge, id) {
  const definition = /** @type {SumEntry} */ (knowledge.sums[id]);
  const fields = definition.inputs.map((input) =>
    input.options ? choiceInput(knowledge, definition, input) : numberInput(knowledge, definition, input),
  );
  const { $form, $answer } = valueForm(knowledge, {
    name: "entry",
    draft: id,
    fields,
    submit: "Work it out",
    limitsMark: OWN_LIMITS,
    marks: (ids) => marksOf(knowledge, ids),
    work: () => work(knowledge, definition, fields),
  });
  return [
    el("h2", { id: "entry-title", tabindex: -1 }, definition.question),
    markedText(knowledge, `${definition.title}. ${definition.summary}`, marksUsed(definition)),
    markedCautions(knowledge, definition.cautions),
    el("p", el("a", { href: `${ROOT}sums/${id}/` }, "The formula and where its figures come from")),
    $form,
    $answer,
  ];
}
