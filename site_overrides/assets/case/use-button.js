/**
 * Output room: the way from a reading into the reader's own case.
 *
 * @import { CaseReading, Known } from "../measure/known.js"
 */

import { button, el } from "../kit/element.js";
import { ROOT } from "../kit/marks.js";
import { quantityText } from "../kit/value-form.js";
import { handOver, keptCase } from "./kept-case.js";

/**
 * Say which reading of the same check would be replaced, "" for none.
 * @type {(knowledge: Known, given: CaseReading) => string}
 */
function replacedWords(knowledge, given) {
  const former = keptCase(knowledge).readings[given.check];
  if (!former) return "";
  return `It takes the place of ${quantityText(knowledge, former)} that stands there now.`;
}

/**
 * Draw the control that adds a reading to the case and opens the checker.
 * @type {(knowledge: Known, given: CaseReading, label?: string) => HTMLElement}
 * @param label what it is called for those who hear it alone
 */
export function useButton(knowledge, given, label) {
  let said = replacedWords(knowledge, given);
  const $note = el("p.small", { role: "status", "data-given": true }, said);
  const use = () => {
    const replaced = replacedWords(knowledge, given);
    if (replaced !== said) {
      said = replaced;
      $note.textContent = `Your case was changed in another tab. ${replaced} Press once more to use this reading.`;
      return;
    }
    if (handOver(knowledge, given)) location.assign(`${ROOT}checker/`);
    else $note.textContent = "This browser keeps nothing on the device. Open the checker and enter it there.";
  };
  const $use = button("Use this in my check", use, { class: "control", "aria-label": label ?? null });
  return el("div.use", $use, $note);
}
