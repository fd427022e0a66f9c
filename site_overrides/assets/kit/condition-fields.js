/**
 * Output room: form fields for facts about the car and conditions of a reading.
 *
 * Every field may be left at "not known". It reads what was entered and says what cannot be
 * read; it judges nothing.
 *
 * @import { Context, Fact, Knowledge } from "../knowledge/types.js"
 */
import { ReadingRefused, readNumber } from "../measure/gauges-numbers.js";
import { refusalWords } from "../measure/words-reading.js";
import { el } from "./element.js";
import { unitSymbol } from "./figures.js";

/** @typedef {{$field: HTMLElement, read: () => Fact | null}} Field */

/** Say which field holds something that cannot be used, in words for the reader. */
export class FieldRefused extends Error {
  /**
   * @param {HTMLElement} $input
   * @param {string} words
   */
  constructor($input, words) {
    super(words);
    this.name = "FieldRefused";
    this.$input = $input;
  }
}

/**
 * Read the number in a text field.
 * @param {HTMLInputElement} $input
 * @param {string} example
 * @returns {number}
 */
export function numberIn($input, example) {
  const typed = $input.value.trim();
  try {
    return readNumber(typed, "value");
  } catch (error) {
    if (!(error instanceof ReadingRefused)) throw error;
    if (typed === "") throw new FieldRefused($input, `Type a number, for example ${example}.`);
    throw new FieldRefused($input, refusalWords(error));
  }
}

/**
 * Draw a list of units; one unit is plain text.
 * @param {Knowledge} knowledge
 * @param {string[]} accepts
 * @param {{name: string, chosen: string, label: string}} options
 * @returns {{$unit: HTMLElement, unit: () => string}}
 */
export function unitField(knowledge, accepts, { name, chosen, label }) {
  const symbol = (/** @type {string} */ unit) => unitSymbol(knowledge.units, unit) || "ratio";
  if (accepts.length === 1) {
    const only = accepts[0] ?? chosen;
    return { $unit: el("span", { class: "unit" }, symbol(only)), unit: () => only };
  }
  const $select = el(
    "select",
    { id: name, "aria-label": label, class: "unit" },
    accepts.map((unit) => el("option", { value: unit, selected: unit === chosen }, symbol(unit))),
  );
  return { $unit: $select, unit: () => $select.value };
}

/**
 * @param {string} name
 * @param {Context} context
 * @param {Fact | undefined} given
 * @returns {Field}
 */
function choiceField(name, context, given) {
  const $select = el(
    "select",
    { id: name },
    el("option", { value: "" }, "Not known"),
    (context.options ?? []).map((option) =>
      el("option", { value: option.id, selected: option.id === given }, option.label),
    ),
  );
  const $field = el("div", { class: "entry" }, el("label", { for: name }, context.question), $select);
  return { $field, read: () => $select.value || null };
}

/**
 * @param {Knowledge} knowledge
 * @param {string} name
 * @param {Context} context
 * @param {Fact | undefined} given
 * @returns {Field}
 */
function numberField(knowledge, name, context, given) {
  const canonical = context.unit ?? "";
  const quantity = typeof given === "object" ? given : null;
  const $input = el("input", {
    type: "text",
    inputmode: "decimal",
    id: name,
    autocomplete: "off",
    maxlength: 24,
    value: quantity?.value ?? (typeof given === "number" ? given : ""),
    placeholder: "Not known",
  });
  const label = `Unit: ${context.title}`;
  const chosen = quantity?.unit ?? canonical;
  const { $unit, unit } = unitField(knowledge, context.accepts ?? [canonical], {
    name: `${name}-unit`,
    chosen,
    label,
  });
  const $field = el(
    "div",
    { class: "entry" },
    el("label", { for: name }, context.question),
    el("div", { class: "entry__pair" }, $input, $unit),
  );
  const read = () => ($input.value.trim() === "" ? null : { value: numberIn($input, "20"), unit: unit() });
  return { $field, read };
}

/**
 * Make a field for one fact or condition.
 * @param {Knowledge} knowledge
 * @param {string} id of the context
 * @param {{place: string, given: Fact | undefined}} options place keeps ids on a page apart
 * @returns {Field | null} null when the knowledge has no such question
 */
export function contextField(knowledge, id, { place, given }) {
  const context = knowledge.contexts[id];
  if (!context) return null;
  const name = `${place}-${id}`;
  return context.type === "choice" ? choiceField(name, context, given) : numberField(knowledge, name, context, given);
}

/**
 * Say what is wrong beside a form and lead the reader to the field.
 * @param {HTMLElement} $message
 * @param {FieldRefused} error
 */
export function showRefusal($message, error) {
  $message.textContent = error.message;
  error.$input.setAttribute("aria-invalid", "true");
  error.$input.setAttribute("aria-describedby", $message.id);
  error.$input.focus();
}
