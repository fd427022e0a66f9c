/**
 * Room kit: one form for every reading and sum: its fields, a word beside the one that cannot be
 * used, the question about a likely slip, and the place of the answer.
 *
 * The gauge suspects a slip, the reader decides; nothing is used until an answer is given.
 *
 * @import { SlipQuestion } from "../measure/gauges-numbers.js"
 * @import { Interpretation } from "../measure/gauges.js"
 * @import { Fact, Gauge, Knowledge, Reading } from "../knowledge/types.js"
 * @import { Child } from "./element.js"
 */
import { interpret } from "../measure/gauges.js";
import { convert, ReadingRefused } from "../measure/gauges-numbers.js";
import { refusalWords } from "../measure/words.js";
import { button, el, folded, formOf } from "./element.js";
import { contextField, entry, FieldRefused, numberBox, numberIn, showRefusal, unitField } from "./fields.js";
import { numberWords, unitSymbol } from "./figures.js";
import { settleAll } from "./place.js";
import { scalesOf } from "./scale.js";
import { say } from "./sentences.js";

/**
 * One field of a form. `read` gives what was entered, null for nothing.
 * @typedef {{id: string, $field: HTMLElement, $input: HTMLElement, read: () => any}} FormField
 */
/**
 * What came of the entered figures: an answer to show, a question, or a refusal by a field. All
 * null: it was taken elsewhere.
 * @typedef {{$answer: HTMLElement | null, question: SlipQuestion | null,
 *   refused: {field: string, words: string, mark: string | null} | null}} Outcome
 */
/**
 * @typedef {object} FormParts
 * @property {string} name begins the ids, and the class of the form
 * @property {string} draft names the form among those whose half-typed fields are kept
 * @property {FormField[]} fields
 * @property {string} submit what the button says
 * @property {boolean} [areConditions] whether the fields after the first are conditions, which stand folded
 * @property {(confirmed: boolean) => Outcome} work
 * @property {string} [limitsMark] where the limits of a slip question come from
 * @property {(ids: string[]) => Child[]} [marks] draws marks; without it none are shown
 */

/** Round away the dust that moving a decimal point leaves (1.21 * 10). @type {(value: number) => number} */
function tidy(value) {
  return Number(value.toPrecision(12));
}

/**
 * Write a value with its unit as the reader gave it.
 * @type {(knowledge: Knowledge, quantity: {value: number, unit: string}) => string}
 */
export function quantityText({ units }, { value, unit }) {
  return `${numberWords(value)} ${unitSymbol(units, unit)}`.trim();
}

/**
 * Draw the question with its answers; the likely one comes first. What was typed may be kept
 * when it lies within the limits.
 * @type {(knowledge: Knowledge, question: SlipQuestion, ways: {take: (value: number, unit: string) => void,
 *   keep: () => void, again: () => void}) => HTMLElement}
 */
function slipQuestion(knowledge, question, { take, keep, again }) {
  const { typed_value: value, typed_unit: unit, unit_of_limits: target, low, high } = question;
  const { likely_value: likely, likely_unit: likelyUnit } = question;
  const typed = quantityText(knowledge, { value, unit });
  const meant = likely === null || likelyUnit === null ? null : { value: tidy(likely), unit: likelyUnit };
  const words = meant ? quantityText(knowledge, meant) : "";
  const inLimits = convert(value, unit, target, knowledge.units);
  const fits = say("slip-fits", {
    low: numberWords(low),
    high: quantityText(knowledge, { value: high, unit: target }),
  });
  const quiet = { class: "control control--quiet" };
  return el(
    "div.slip",
    { role: "group", "aria-labelledby": "slip-title" },
    el(
      "h4",
      { id: "slip-title", tabindex: -1 },
      meant ? say("slip-meant", { meant: words }) : say("slip-impossible", { typed }),
    ),
    el("p", meant ? `${say("slip-unusual", { typed })} ` : "", fits),
    meant ? button(`Yes, ${words}`, () => take(meant.value, meant.unit), { class: "control" }) : null,
    low <= inLimits && inLimits <= high ? button(`No, it is ${typed}`, keep, quiet) : null,
    button("Type it again", again, quiet),
  );
}

/** Open the fold a field stands in, so that what is said about it is seen. @param {HTMLElement | undefined} $field */
function openAround($field) {
  const $fold = $field?.closest("details");
  if ($fold) $fold.open = true;
}

/** Put the number first and what it may depend on in a fold below it. @param {FormParts} parts */
function withConditions({ name, fields }) {
  const [value, ...conditions] = fields.map(({ $field }) => $field);
  if (conditions.length === 0) return [value];
  return [value, folded(`${name}-conditions`, "Add what you know for a closer answer", ...conditions)];
}

/** One form that is on the page. */
class ValueForm {
  /**
   * @param {Knowledge} knowledge
   * @param {FormParts} parts
   */
  constructor(knowledge, parts) {
    this.knowledge = knowledge;
    this.parts = parts;
    this.$message = el("p.refused", { id: `${parts.name}-refused`, role: "alert" });
    this.$slip = el("div.slip-place");
    this.$answer = el("div.answer-place");
    this.$form = formOf(
      { class: `${parts.name}-form`, novalidate: true, "data-draft": parts.draft },
      () => this.attempt(false),
      parts.areConditions ? withConditions(parts) : parts.fields.map(({ $field }) => $field),
      this.$message,
      this.$slip,
      el("button.control", { type: "submit" }, parts.submit),
    );
  }

  /** Take away what the last attempt said. */
  clear() {
    this.$message.replaceChildren();
    this.$slip.replaceChildren();
    this.$answer.replaceChildren();
    for (const $input of this.$form.querySelectorAll("[aria-invalid]")) {
      $input.removeAttribute("aria-invalid");
      $input.removeAttribute("aria-describedby");
    }
  }

  /** @type {(id: string) => FormField | undefined} */
  field(id) {
    return this.parts.fields.find((each) => each.id === id) ?? this.parts.fields[0];
  }

  /**
   * Say what cannot be used beside its field, and lead the reader there.
   * @param {FieldRefused} refusal
   * @param {string | null} mark where the limits in the words come from
   */
  refuse(refusal, mark) {
    const { marks } = this.parts;
    refusal.$input.closest(".entry")?.after(this.$message);
    openAround(refusal.$input);
    showRefusal(this.$message, refusal);
    this.$message.classList.toggle("marked", mark !== null && marks !== undefined);
    if (mark !== null && marks) this.$message.append(...marks([mark]).map((each) => each || ""));
  }

  /** @param {SlipQuestion} question */
  ask(question) {
    const field = this.field(question.field);
    const again = () => {
      this.$slip.replaceChildren();
      field?.$input.focus();
      if (field?.$input instanceof HTMLInputElement) field.$input.select();
    };
    const take = (/** @type {number} */ value, /** @type {string} */ unit) => {
      const $unit = field?.$field.querySelector("select.unit");
      if (field?.$input instanceof HTMLInputElement) field.$input.value = String(value);
      if ($unit instanceof HTMLSelectElement) $unit.value = unit;
      this.attempt(false);
    };
    const { limitsMark, marks } = this.parts;
    const $question = slipQuestion(this.knowledge, question, { take, keep: () => this.attempt(true), again });
    if (limitsMark !== undefined && marks) {
      $question.classList.add("marked");
      $question.append(el("p.small", "These limits:", marks([limitsMark])));
    }
    field?.$field.after(this.$slip);
    openAround(field?.$field);
    this.$slip.replaceChildren($question);
    this.$slip.querySelector("h4")?.focus();
  }

  /** @param {boolean} confirmed the reader stands by what was typed */
  attempt(confirmed) {
    this.clear();
    try {
      const { $answer, question, refused } = this.parts.work(confirmed);
      const $refused = refused === null ? null : this.field(refused.field)?.$input;
      if (question !== null) this.ask(question);
      else if (refused !== null && $refused) this.refuse(new FieldRefused($refused, refused.words), refused.mark);
      else if ($answer !== null) this.show($answer);
    } catch (error) {
      if (!(error instanceof FieldRefused)) throw error;
      this.refuse(error, null);
    }
  }

  /** @param {HTMLElement} $answer */
  show($answer) {
    settleAll(this.$form);
    this.$answer.replaceChildren($answer);
    $answer.querySelector("h2")?.focus({ preventScroll: true });
    $answer.scrollIntoView({ block: "start" });
  }
}

/**
 * Draw a form and the place of its answer.
 * @type {(knowledge: Knowledge, parts: FormParts) => {$form: HTMLElement, $answer: HTMLElement}}
 */
export function valueForm(knowledge, parts) {
  const { $form, $answer } = new ValueForm(knowledge, parts);
  return { $form, $answer };
}

/**
 * Make the fields of a reading: what the meter shows, then the conditions that matter.
 * @param {Knowledge} knowledge
 * @param {Gauge} gauge
 * @param {object} how
 * @param {string} how.name id of the field of the value
 * @param {string} how.place begins the ids of the conditions
 * @param {Reading} [how.known] a reading to begin with
 * @param {string} [how.unit] chosen where there is none
 * @param {string[]} how.conditions
 * @param {(id: string) => Fact | undefined} how.given
 * @returns {FormField[]}
 */
export function gaugeFields(knowledge, gauge, { name, place, known, unit: usual, conditions, given }) {
  const $input = numberBox(name, { class: "field", value: known?.value ?? "" });
  const chosen = known?.unit ?? usual ?? gauge.unit;
  const label = "Unit of the reading";
  const { $unit, unit } = unitField(knowledge, gauge.accepts, { name: `${name}-unit`, chosen, label });
  const $field = entry(name, "What the meter shows", el("div.entry__pair", $input, $unit));
  const example = gauge.plausible.high > 20 ? "120" : "12.4";
  const value = { id: "value", $field, $input, read: () => ({ value: numberIn($input, example), unit: unit() }) };
  return [
    value,
    ...conditions.flatMap((id) => {
      const field = contextField(knowledge, id, { place, given: given(id) });
      return field ? [{ id, ...field }] : [];
    }),
  ];
}

/**
 * Put what stands in the fields before its gauge.
 * @param {Knowledge} knowledge
 * @param {string} id of the gauge
 * @param {{fields: FormField[], confirmed: boolean}} entered confirmed: the reader stands by it
 * @param {(reading: Reading, found: Interpretation) => HTMLElement | null} use what to do with one that holds
 * @returns {Outcome}
 */
export function readGauge(knowledge, id, { fields, confirmed }, use) {
  const gauge = /** @type {Gauge} */ (knowledge.gauges[id]);
  const [value, ...conditions] = fields;
  /** @type {Reading} */
  const reading = { ...value?.read() };
  for (const { id: condition, read } of conditions) {
    const fact = read();
    if (fact !== null) reading[condition] = fact;
  }
  if (confirmed) reading.confirmed = true;
  try {
    const found = interpret({ ...gauge, id }, reading, reading, scalesOf(knowledge));
    if (found.question) return { $answer: null, question: found.question, refused: null };
    return { $answer: use(reading, found), question: null, refused: null };
  } catch (error) {
    if (!(error instanceof ReadingRefused)) throw error;
    const mark = error.reason === "outside-plausible" ? gauge.plausible.source : null;
    return { $answer: null, question: null, refused: { field: error.field, words: refusalWords(error), mark } };
  }
}
