/**
 * Output room: form fields whose words are kept as typed, field by field.
 *
 * Every field may stay empty. A number that cannot be read is said so beside its field and
 * counts as not told. It judges nothing.
 */

import { numberOf } from "../pages/readiness/told.js";
import { el } from "./element.js";

const PAUSE = 200; // milliseconds after the last key, so that a slow phone keeps up with typing

/**
 * What the fields need of the page: what is kept, and where to put a change.
 * @typedef {object} Teller
 * @property {() => Record<string, string>} told
 * @property {(name: string, value: string) => void} tell
 */
/**
 * @typedef {object} NumberOptions
 * @property {string} [unit] shown behind the field
 * @property {Array<[string, string]>} [units] to choose from: value, words
 * @property {string} [hint]
 * @property {[number, number]} range
 */

/**
 * Draw a field for a number.
 * @param {Teller} page
 * @param {string} name
 * @param {string} label
 * @param {NumberOptions} options
 * @returns {HTMLElement}
 */
export function numberEntry(page, name, label, { unit, units, hint, range }) {
  const id = `told-${name}`;
  const $refused = el("p", { class: "refused", id: `${id}-refused`, role: "alert" });
  const $hint = hint ? el("p", { class: "entry__hint", id: `${id}-hint` }, hint) : null;
  const $input = el("input", {
    type: "text",
    inputmode: "decimal",
    id,
    autocomplete: "off",
    maxlength: 12,
    placeholder: "Not known",
    value: page.told()[name] ?? "",
    "aria-describedby": $hint ? `${id}-hint` : null,
  });
  const isWrongNow = () => {
    const typed = $input.value.trim();
    const number = numberOf(typed);
    return typed !== "" && (number === null || number < range[0] || number > range[1]);
  };
  const check = () => {
    const isWrong = isWrongNow();
    $refused.textContent = isWrong ? `Type a number from ${range[0]} to ${range[1]}, or leave it empty.` : "";
    if (isWrong) $input.setAttribute("aria-invalid", "true");
    else $input.removeAttribute("aria-invalid");
    page.tell(name, isWrong ? "" : $input.value.trim());
  };
  $input.addEventListener("change", check);
  // While typing, a number that fits is taken after a moment; one that does not is left in peace.
  let waiting = 0;
  $input.addEventListener("input", () => {
    clearTimeout(waiting);
    if (!isWrongNow()) waiting = setTimeout(check, PAUSE);
  });
  /** @type {HTMLElement | null} */
  let $unit = null;
  if (units) {
    const chosen = page.told()[`${name}-unit`];
    const $select = el(
      "select",
      { id: `${id}-unit`, class: "unit", "aria-label": `Unit: ${label}` },
      units.map(([value, words]) => el("option", { value, selected: value === chosen }, words)),
    );
    $select.addEventListener("change", () => page.tell(`${name}-unit`, $select.value));
    $unit = $select;
  } else if (unit) $unit = el("span", { class: "unit" }, unit);
  const $pair = $unit === null ? $input : el("div", { class: "entry__pair" }, $input, $unit);
  return el("div", { class: "entry" }, el("label", { for: id }, label), $pair, $hint, $refused);
}

/**
 * Draw a list to choose from; the first line is "not known".
 * @param {Teller} page
 * @param {string} name
 * @param {string} label
 * @param {Array<[string, string]>} options value, words
 * @param {string} [none]
 * @returns {HTMLElement}
 */
export function choiceEntry(page, name, label, options, none = "Not known") {
  const id = `told-${name}`;
  const chosen = page.told()[name] ?? "";
  const $select = el(
    "select",
    { id },
    el("option", { value: "" }, none),
    options.map(([value, words]) => el("option", { value, selected: value === chosen }, words)),
  );
  $select.addEventListener("change", () => page.tell(name, $select.value));
  return el("div", { class: "entry" }, el("label", { for: id }, label), $select);
}

export const YES_NO = /** @type {Array<[string, string]>} */ ([
  ["yes", "Yes"],
  ["no", "No"],
]);

/**
 * Draw one box to tick.
 * @param {Teller} page
 * @param {string} name
 * @param {string} label
 * @returns {HTMLElement}
 */
export function tickEntry(page, name, label) {
  const id = `told-${name}`;
  const $box = el("input", { type: "checkbox", id, checked: page.told()[name] === "yes" });
  $box.addEventListener("change", () => page.tell(name, $box.checked ? "yes" : ""));
  return el("li", { class: "tick" }, $box, el("label", { for: id }, el("span", { class: "tick__name" }, label)));
}

/**
 * Draw a field for codes.
 * @param {Teller} page
 * @param {string} name
 * @param {string} label
 * @param {(typed: string) => string} complain words about what is no code, "" if all is well
 * @returns {HTMLElement}
 */
export function codesEntry(page, name, label, complain) {
  const id = `told-${name}`;
  const $refused = el("p", { class: "refused", id: `${id}-refused`, role: "alert" });
  const $input = el("input", {
    type: "text",
    id,
    autocomplete: "off",
    autocapitalize: "characters",
    spellcheck: "false",
    maxlength: 200,
    placeholder: "Not known",
    value: page.told()[name] ?? "",
    "aria-describedby": `${id}-refused`,
  });
  $input.addEventListener("change", () => {
    $refused.textContent = complain($input.value);
    page.tell(name, $input.value.trim());
  });
  return el("div", { class: "entry" }, el("label", { for: id }, label), $input, $refused);
}
