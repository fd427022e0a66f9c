/**
 * Output room: one form for every gauge and sum: fields, a word beside the one that cannot be
 * used, the question about a slip, and the answer below.
 *
 * It reads nothing into the figures; the caller works them out.
 *
 * @import { App } from "../checker/app.js"
 * @import { FormField, Known, Outcome } from "./types.js"
 */

import { el } from "../../kit/element.js";
import { FieldRefused, showRefusal } from "../../kit/fields.js";
import { slipQuestion } from "../checker/slip-question.js";
import { marksOf } from "./marks.js";

/**
 * @typedef {object} FormParts
 * @property {FormField[]} fields
 * @property {string} submit what the button says
 * @property {string} limitsMark where the limits of a slip question come from
 * @property {(confirmed: boolean) => Outcome} work
 */

/**
 * Enter something into a field made of an input and perhaps a list of units.
 * @param {string} name the id of the input
 * @returns {(value: number, unit: string) => void}
 */
export function setterOf(name) {
  return (value, unit) => {
    const $input = document.getElementById(name);
    const $unit = document.getElementById(`${name}-unit`);
    if ($input instanceof HTMLInputElement) $input.value = String(value);
    if ($unit instanceof HTMLSelectElement) $unit.value = unit;
  };
}

/** One form that is on the page. */
class EntryForm {
  /**
   * @param {Known} knowledge
   * @param {FormParts} parts
   */
  constructor(knowledge, parts) {
    this.knowledge = knowledge;
    this.parts = parts;
    this.$message = el("p", { class: "refused", id: "entry-refused", role: "alert" });
    this.$slip = el("div", { class: "slip-place" });
    this.$answer = el("div", { class: "answer-place" });
    const onsubmit = (/** @type {Event} */ event) => {
      event.preventDefault();
      this.attempt(false);
    };
    const $submit = el("button", { type: "submit", class: "control" }, parts.submit);
    const $fields = parts.fields.map(({ $field }) => $field);
    this.$form = el(
      "form",
      { class: "entry-form", novalidate: true, onsubmit },
      $fields,
      this.$message,
      this.$slip,
      $submit,
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

  /**
   * @param {string} id
   * @returns {FormField | undefined}
   */
  field(id) {
    return this.parts.fields.find((each) => each.id === id) ?? this.parts.fields[0];
  }

  /**
   * Say what cannot be used beside its field, and lead the reader there.
   * @param {FieldRefused} refusal
   * @param {string | null} mark where the limits in the words come from
   */
  refuse(refusal, mark) {
    const $entry = refusal.$input.closest(".entry");
    if ($entry) $entry.after(this.$message);
    showRefusal(this.$message, refusal);
    this.$message.classList.toggle("marked", mark !== null);
    if (mark !== null) this.$message.append(...marksOf(this.knowledge, [mark]).map((each) => each || ""));
  }

  /** @param {import("../../measure/gauges-slips.js").SlipQuestion} question */
  ask(question) {
    const again = () => {
      this.$slip.replaceChildren();
      this.field(question.field)?.$input.focus();
    };
    const take = (/** @type {string} */ id, /** @type {number} */ value, /** @type {string} */ unit) => {
      this.field(id)?.set(value, unit);
      this.attempt(false);
    };
    const app = /** @type {App} */ (/** @type {unknown} */ ({ knowledge: this.knowledge }));
    const $question = slipQuestion(app, question, { take, keep: () => this.attempt(true), again });
    $question.classList.add("marked");
    $question.append(el("p", { class: "small" }, "These limits:", marksOf(this.knowledge, [this.parts.limitsMark])));
    this.field(question.field)?.$field.after(this.$slip);
    this.$slip.replaceChildren($question);
    this.$slip.querySelector("h4")?.focus();
  }

  /** @param {boolean} confirmed the reader stands by what was typed */
  attempt(confirmed) {
    this.clear();
    try {
      const { $answer, question, refused } = this.parts.work(confirmed);
      if (question !== null) return this.ask(question);
      if (refused !== null) {
        const $input = this.field(refused.field)?.$input;
        if ($input) return this.refuse(new FieldRefused($input, refused.words), refused.mark);
      }
      if ($answer === null) return undefined;
      this.$answer.replaceChildren($answer);
      const $heading = $answer.querySelector("h2");
      $heading?.focus({ preventScroll: true });
      $answer.scrollIntoView({ block: "start" });
    } catch (error) {
      if (!(error instanceof FieldRefused)) throw error;
      this.refuse(error, null);
    }
    return undefined;
  }
}

/**
 * Draw a form and the place of its answer.
 * @param {Known} knowledge
 * @param {FormParts} parts
 * @returns {{$form: HTMLElement, $answer: HTMLElement}}
 */
export function entryForm(knowledge, parts) {
  const { $form, $answer } = new EntryForm(knowledge, parts);
  return { $form, $answer };
}
