/**
 * Output room: enter what a check found, as a reading or as an outcome.
 *
 * @import { App } from "./app.js"
 * @import { Check } from "../../knowledge/types.js"
 */
import { setOutcome } from "../../case/case.js";
import { button, el, folded, formOf, tickSet } from "../../kit/element.js";
import { readingForm } from "./reading-form.js";

/**
 * Draw the form for an outcome; a check with one level needs one button only.
 * @type {(app: App, check: string, about: Check) => HTMLElement}
 */
function outcomeForm(app, check, about) {
  const save = (/** @type {string} */ level) =>
    app.act((state) => setOutcome(state, check, level), { focus: "[data-result-heading]" });
  const [only, ...more] = about.levels;
  if (only && more.length === 0) {
    return button(`Done: ${only.label}`, () => save(only.id), { class: "control" });
  }
  const $message = el("p.refused", { id: "outcome-refused", role: "alert" });
  const rows = about.levels.map((level) => {
    const name = `outcome-${level.id}`;
    const isGiven = app.state().outcomes[check] === level.id;
    const $radio = el("input", { type: "radio", name: "outcome", id: name, value: level.id, checked: isGiven });
    return { level, $radio, $row: el("li.tick", $radio, el("label", { for: name }, level.label)) };
  });
  const send = () => {
    const found = rows.find(({ $radio }) => $radio.checked);
    if (found) return save(found.level.id);
    $message.textContent = "Choose what you found first.";
    rows[0]?.$radio.focus();
  };
  return formOf(
    { class: "outcome-form", novalidate: true, "data-draft": `outcome ${check}` },
    send,
    tickSet(
      "What did you find?",
      rows.map(({ $row }) => $row),
    ),
    $message,
    el("button.control", { type: "submit" }, "Use this result"),
  );
}

/** Draw the entry of a result in place. @type {(app: App, check: string) => HTMLElement} */
export function resultForm(app, check) {
  const about = /** @type {Check} */ (app.knowledge.checks[check]);
  const gauge = about.gauge ? app.knowledge.gauges[about.gauge] : undefined;
  const byHand = outcomeForm(app, check, about);
  if (!gauge) return el("div.result", byHand);
  const $fold = folded(`outcome-${check}`, "No number? Say what you found", byHand);
  if (app.state().outcomes[check] !== undefined) $fold.open = true;
  return el("div.result", readingForm(app, check, about, gauge), $fold);
}
