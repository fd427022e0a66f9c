/**
 * Room kit: every field of every form: label, control, unit, help, and the error beside it.
 *
 * Two kinds. Fields of a reading or a fact are read when their form is sent (`read`). Fields of
 * the readiness pages are kept as typed, one by one (`Teller`). Every field may stay empty. It
 * says what cannot be read and judges nothing.
 *
 * @import { Fact, Knowledge } from "../knowledge/types.js"
 * @import { Attributes, Child } from "./element.js"
 */
import { el } from "./element.js";
import { unitSymbol } from "./figures.js";
import { readTyped } from "./numbers.js";
import { settle } from "./place.js";

const PAUSE = 200; // milliseconds after the last key, so that a slow phone keeps up with typing
const NOT_KNOWN = "Not known";

export const YES_NO = /** @type {Array<[string, string]>} */ ([
  ["yes", "Yes"],
  ["no", "No"],
]);
export const DEGREES = /** @type {Array<[string, string]>} */ ([
  ["degF", "\u00b0F"],
  ["degC", "\u00b0C"],
]);

/** @typedef {{$field: HTMLElement, $input: HTMLInputElement | HTMLSelectElement, read: () => Fact | null}} Field */
/**
 * What fields kept one by one need of the page: what is kept, and where to put a change.
 * @typedef {{told: () => Record<string, string>, tell: (name: string, value: string) => void}} Teller
 */
/**
 * @typedef {object} NumberOptions
 * @property {string} [unit] shown behind the field
 * @property {Array<[string, string]>} [units] to choose from: value, words
 * @property {string} [hint]
 * @property {[number, number]} range
 */

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
 * Say what is wrong beside a form and lead the reader to the field.
 * @type {($message: HTMLElement, error: FieldRefused) => void}
 */
export function showRefusal($message, error) {
  $message.textContent = error.message;
  error.$input.setAttribute("aria-invalid", "true");
  error.$input.setAttribute("aria-describedby", $message.id);
  error.$input.focus();
}

/**
 * Set a label before a control, and what goes with it behind.
 * @param {string} id of the control
 * @param {string} label
 * @param {...Child} rest the control first
 * @returns {HTMLElement}
 */
export function entry(id, label, ...rest) {
  return el("div.entry", el("label", { for: id }, label), ...rest);
}

/** Draw the box of a number. @type {(id: string, attributes?: Attributes) => HTMLInputElement} */
export function numberBox(id, attributes = {}) {
  const usual = { type: "text", inputmode: "decimal", id, autocomplete: "off", maxlength: 24 };
  return el("input", { ...usual, ...attributes });
}

/**
 * Draw a list to choose from.
 * @param {string} id
 * @param {Array<[string, string]>} options value, words
 * @param {Attributes & {chosen?: string, none?: string}} [rest] none: words of the empty line
 * @returns {HTMLSelectElement}
 */
export function choiceBox(id, options, { chosen, none, ...attributes } = {}) {
  return el(
    "select",
    { id, ...attributes },
    none === undefined ? null : el("option", { value: "" }, none),
    options.map(([value, words]) => el("option", { value, selected: value === chosen }, words)),
  );
}

/** Read the number in a text field. @type {($input: HTMLInputElement, example: string) => number} */
export function numberIn($input, example) {
  const { number, words } = readTyped($input.value);
  if (number === null) throw new FieldRefused($input, words || `Type a number, for example ${example}.`);
  return number;
}

/**
 * Draw a list of units; one unit is plain text.
 * @type {(knowledge: Knowledge, accepts: string[], options: {name: string, chosen: string, label: string}) =>
 *   {$unit: HTMLElement, unit: () => string}}
 */
export function unitField(knowledge, accepts, { name, chosen, label }) {
  const symbol = (/** @type {string} */ unit) => unitSymbol(knowledge.units, unit) || "ratio";
  if (accepts.length === 1) {
    const only = accepts[0] ?? chosen;
    return { $unit: el("span.unit", symbol(only)), unit: () => only };
  }
  const rows = accepts.map((unit) => /** @type {[string, string]} */ ([unit, symbol(unit)]));
  const $select = choiceBox(name, rows, { chosen, "aria-label": label, class: "unit" });
  return { $unit: $select, unit: () => $select.value };
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
  if (context.type === "choice") {
    const options = (context.options ?? []).map((one) => /** @type {[string, string]} */ ([one.id, one.label]));
    const $input = choiceBox(name, options, { chosen: String(given ?? ""), none: NOT_KNOWN });
    return { $field: entry(name, context.question, $input), $input, read: () => $input.value || null };
  }
  const canonical = context.unit ?? "";
  const quantity = typeof given === "object" ? given : null;
  const value = quantity?.value ?? (typeof given === "number" ? given : "");
  const $input = numberBox(name, { value, placeholder: NOT_KNOWN });
  const first = value === "" ? context.accepts?.[0] : undefined;
  const chosen = quantity?.unit ?? first ?? canonical;
  const label = `Unit: ${context.title}`;
  const { $unit, unit } = unitField(knowledge, context.accepts ?? [canonical], { name: `${name}-unit`, chosen, label });
  const $field = entry(name, context.question, el("div.entry__pair", $input, $unit));
  const read = () => ($input.value.trim() === "" ? null : { value: numberIn($input, "20"), unit: unit() });
  return { $field, $input, read };
}

/**
 * Say why what was typed is no number from `low` to `high`; "" when it is, or when nothing is typed.
 * @type {(typed: string, range: [number, number]) => string}
 */
function whyNot(typed, [low, high]) {
  const { number, reason, words } = readTyped(typed);
  if (reason === "empty" || reason === "comma-or-thousands") return words;
  if (number !== null && low <= number && number <= high) return "";
  return `Type a number from ${low} to ${high}, or leave it empty.`;
}

/**
 * Draw a field for a number.
 * @type {(page: Teller, name: string, label: string, options: NumberOptions) => HTMLElement}
 */
export function numberEntry(page, name, label, { unit, units, hint, range }) {
  const id = `told-${name}`;
  const $refused = el("p.refused", { id: `${id}-refused`, role: "alert" });
  const $hint = hint ? el("p.entry__hint", { id: `${id}-hint` }, hint) : null;
  const value = page.told()[name] ?? "";
  const describedBy = $hint ? `${id}-hint` : null;
  const $input = numberBox(id, { maxlength: 12, placeholder: NOT_KNOWN, value, "aria-describedby": describedBy });
  const $unit = unitOf(page, name, label, { unit, units });
  const why = () => whyNot($input.value, range);
  const say = () => {
    $refused.textContent = why();
    if ($refused.textContent === "") $input.removeAttribute("aria-invalid");
    else $input.setAttribute("aria-invalid", "true");
  };
  // A number that cannot be used counts as not told, and what stood there before as well.
  const take = () => {
    const isWrong = why() !== "";
    // The unit in sight goes along: one that was never touched would be taken as another.
    if (units && $unit instanceof HTMLSelectElement) page.tell(`${name}-unit`, $unit.value);
    page.tell(name, isWrong ? "" : $input.value.trim());
    if (!isWrong) settle($input);
  };
  let waiting = 0;
  $input.addEventListener("change", () => {
    clearTimeout(waiting);
    say();
    take();
  });
  // While typing, a number is taken after a moment; one that does not fit is not yet spoken of.
  $input.addEventListener("input", () => {
    clearTimeout(waiting);
    waiting = setTimeout(() => {
      if (why() === "") say();
      take();
    }, PAUSE);
  });
  if (value !== "") say();
  return entry(id, label, withUnit($input, $unit), $hint, $refused);
}

/**
 * @type {(page: Teller, name: string, label: string, options: Pick<NumberOptions, "unit" | "units">) =>
 *   HTMLElement | null}
 */
function unitOf(page, name, label, { unit, units }) {
  if (!units) return unit ? el("span.unit", unit) : null;
  const field = `${name}-unit`;
  const { [field]: told, [name]: value } = page.told();
  // A number kept without its unit is in the last of them.
  const chosen = told || (value ? units.at(-1)?.[0] : undefined);
  const rest = { chosen, class: "unit", "aria-label": `Unit: ${label}` };
  const $select = choiceBox(`told-${field}`, units, rest);
  $select.addEventListener("change", () => {
    page.tell(field, $select.value);
    settle($select);
  });
  return $select;
}

/** @type {($input: HTMLElement, $unit: HTMLElement | null) => HTMLElement} */
function withUnit($input, $unit) {
  return $unit === null ? $input : el("div.entry__pair", $input, $unit);
}

/**
 * Draw a list to choose from; the first line is "not known".
 * @type {(page: Teller, name: string, label: string, options: Array<[string, string]>, none?: string) => HTMLElement}
 * @param options value, words
 */
export function choiceEntry(page, name, label, options, none = NOT_KNOWN) {
  const $select = choiceBox(`told-${name}`, options, { chosen: page.told()[name], none });
  $select.addEventListener("change", () => {
    page.tell(name, $select.value);
    settle($select);
  });
  return entry($select.id, label, $select);
}

/**
 * Draw one box to tick, or one of several to choose.
 * @type {(id: string, words: string, box: Attributes) => HTMLElement}
 */
export function tick(id, words, box) {
  return el(
    "li.tick",
    el("input", { type: "checkbox", id, ...box }),
    el("label", { for: id }, el("span.tick__name", words)),
  );
}

/** Draw one box to tick. @type {(page: Teller, name: string, label: string) => HTMLElement} */
export function tickEntry(page, name, label) {
  const onchange = (/** @type {Event} */ { target }) => {
    const $box = /** @type {HTMLInputElement} */ (target);
    page.tell(name, $box.checked ? "yes" : "");
    settle($box);
  };
  return tick(`told-${name}`, label, { checked: page.told()[name] === "yes", onchange });
}

/**
 * Draw a field for codes.
 * @type {(page: Teller, name: string, label: string, complain: (typed: string) => string) => HTMLElement}
 * @param complain words about what is no code, "" if all is well
 */
export function codesEntry(page, name, label, complain) {
  const id = `told-${name}`;
  const $refused = el("p.refused", { id: `${id}-refused`, role: "alert" });
  const $input = el("input", {
    type: "text",
    id,
    autocomplete: "off",
    autocapitalize: "characters",
    spellcheck: "false",
    maxlength: 200,
    placeholder: NOT_KNOWN,
    value: page.told()[name] ?? "",
    "aria-describedby": `${id}-refused`,
  });
  $input.addEventListener("change", () => {
    $refused.textContent = complain($input.value);
    page.tell(name, $input.value.trim());
    settle($input);
  });
  return entry(id, label, $input, $refused);
}
