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
import { logOpener } from "./opener.js";

/** What goes along with every reading taken from the log. */
const FACTS = ["battery-type", "charging-control", "temperature"];

/**
 * @typedef {object} OpenForm
 * @property {HTMLElement} $form
 * @property {() => Record<string, any> | null} options null when a field cannot be read; it says so
 */
/** @typedef {{open: (file: File) => void, paste: (text: string) => void, again: () => void}} Ways */

/**
 * @type {(knowledge: Known, $capacity: HTMLInputElement, fields: Array<{id: string} & Field>,
 *   rest: {$message: HTMLElement, again: () => void}) => HTMLElement}
 */
function factsFold(knowledge, $capacity, fields, { $message, again }) {
  const $pair = el("div.entry__pair", $capacity, el("span.unit", "Ah"));
  return folded(
    "log-facts",
    "About the battery and the car (optional)",
    entry("log-capacity", "Ampere-hours on the battery\u2019s label", $pair),
    fields.map(({ $field }) => $field),
    el("p.small.marked", "What is left out is taken as usual:", marksOf(knowledge, ["our-estimate"])),
    $message,
    button("Read the log with these", again, { class: "control control--quiet" }),
  );
}

/** Draw the form. @type {(knowledge: Known, ways: Ways) => OpenForm} */
export function openForm(knowledge, { open, paste, again }) {
  const given = keptCase(knowledge).context;
  const fields = FACTS.flatMap((id) => {
    const field = contextField(knowledge, id, { place: "log", given: given[id] });
    return field ? [{ id, ...field }] : [];
  });
  const $capacity = numberBox("log-capacity", { maxlength: 12, placeholder: "Not known" });
  const $message = el("p.refused", { id: "log-refused", role: "alert" });
  const $form = el(
    "div.open-log",
    logOpener("log", "Open a log with time and volts", { open, paste }),
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
