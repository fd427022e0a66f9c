/**
 * Output room: open a log, paste one, and say what is known about the car.
 *
 * @import { Known } from "../../measure/known.js"
 * @import { Field } from "../../kit/fields.js"
 */

import { keptCase } from "../../case/kept-case.js";
import { button, el, folded } from "../../kit/element.js";
import { contextField, entry, FieldRefused, numberBox, showRefusal } from "../../kit/fields.js";
import { marksOf } from "../../kit/marks.js";

/** What goes along with every reading taken from the log. */
const FACTS = ["battery-type", "charging-control", "temperature"];

/** A longer text is read as it is pasted: setting it into the field would hold up a phone. */
const LONG_TEXT = 20_000;
const SHOWN_TEXT = 400;

/**
 * @typedef {object} OpenForm
 * @property {HTMLElement} $form
 * @property {() => Record<string, any> | null} options null when a field cannot be read; it says so
 */
/**
 * @typedef {object} Ways
 * @property {(file: File) => void} open
 * @property {(text: string) => void} paste
 * @property {() => void} again
 */

/**
 * @param {Known} knowledge
 * @param {HTMLInputElement} $capacity
 * @param {Array<{id: string} & Field>} fields
 * @param {{$message: HTMLElement, again: () => void}} rest
 * @returns {HTMLElement}
 */
function factsFold(knowledge, $capacity, fields, { $message, again }) {
  const $pair = el("div", { class: "entry__pair" }, $capacity, el("span", { class: "unit" }, "Ah"));
  return folded(
    "log-facts",
    "About the battery and the car (optional)",
    entry("log-capacity", "Ampere-hours on the battery\u2019s label", $pair),
    fields.map(({ $field }) => $field),
    el("p", { class: "small marked" }, "What is left out is taken as usual:", marksOf(knowledge, ["our-estimate"])),
    $message,
    button("Read the log with these", again, { class: "control control--quiet" }),
  );
}

/**
 * Draw the form.
 * @param {Known} knowledge
 * @param {Ways} ways
 * @returns {OpenForm}
 */
export function openForm(knowledge, { open, paste, again }) {
  const given = keptCase(knowledge).context;
  const fields = FACTS.flatMap((id) => {
    const field = contextField(knowledge, id, { place: "log", given: given[id] });
    return field ? [{ id, ...field }] : [];
  });
  const $capacity = numberBox("log-capacity", { maxlength: 12, placeholder: "Not known" });
  const $message = el("p", { class: "refused", id: "log-refused", role: "alert" });
  const $file = el("input", { type: "file", id: "log-file", accept: ".csv,.tsv,.txt,.log,text/plain,text/csv" });
  $file.addEventListener("change", () => {
    const file = $file.files?.[0];
    if (file) open(file);
    $file.value = ""; // the same file can be opened once more
  });
  const $text = el("textarea", { id: "log-text", rows: 6, spellcheck: false, autocomplete: "off" });
  $text.addEventListener("paste", (event) => {
    const text = event.clipboardData?.getData("text/plain") ?? "";
    if (text.length < LONG_TEXT) return;
    event.preventDefault();
    $text.value = `${text.slice(0, SHOWN_TEXT)}\n\u2026`;
    paste(text);
  });
  const $form = el(
    "div",
    { class: "open-log" },
    entry("log-file", "Open a log with time and volts", $file),
    folded(
      "log-paste",
      "Or paste the text",
      entry("log-text", "The text of the log, with its header", $text),
      button("Read what I pasted", () => paste($text.value), { class: "control control--quiet" }),
    ),
    factsFold(knowledge, $capacity, fields, { $message, again }),
  );
  const options = () => {
    $message.textContent = "";
    try {
      const facts = fields.flatMap(({ id, read }) => {
        const fact = read();
        return fact === null ? [] : [/** @type {const} */ ([id, fact])];
      });
      const capacity = $capacity.value.trim();
      return { ...Object.fromEntries(facts), ...(capacity === "" ? {} : { capacity }) };
    } catch (error) {
      if (!(error instanceof FieldRefused)) throw error;
      const $fold = error.$input.closest("details");
      if ($fold) $fold.open = true;
      showRefusal($message, error);
      return null;
    }
  };
  return { $form, options };
}
