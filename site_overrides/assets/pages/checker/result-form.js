/**
 * Output room: enter what a check found, as a reading with the conditions that matter, or as an outcome.
 *
 * @import { App } from "./app.js"
 * @import { Check, Fact, Gauge } from "../../knowledge/types.js"
 */

import { setOutcome } from "../../case/case.js";
import { MOMENTARY, withReading } from "../../case/kept-case.js";
import { button, el, folded, formOf, tickSet } from "../../kit/element.js";
import { settleAll } from "../../kit/place.js";
import { gaugeFields, readGauge, valueForm } from "../../kit/value-form.js";

/**
 * Find what is already known about a condition: this reading, the car, another reading.
 * @type {(app: App, check: string, condition: string) => Fact | undefined}
 */
function knownAlready(app, check, condition) {
  const { context, readings } = app.state();
  const own = readings[check]?.[condition];
  if (own !== undefined || MOMENTARY.has(condition)) return own;
  const others = Object.values(readings).map((reading) => reading[condition]);
  return context[condition] ?? others.reverse().find((fact) => fact !== undefined);
}

/**
 * Draw the form for a number. A reading that holds enters the case with what it says about the
 * car, unknown again included.
 * @type {(app: App, check: string, about: Check, gauge: Gauge) => HTMLElement}
 */
function readingForm(app, check, about, gauge) {
  const { knowledge } = app;
  const asked = about.conditions ?? [];
  const fields = gaugeFields(knowledge, gauge, {
    name: "reading",
    place: "reading",
    known: app.state().readings[check],
    conditions: asked,
    given: (id) => knownAlready(app, check, id),
  });
  const { $form } = valueForm(knowledge, {
    name: "reading",
    draft: `reading ${check}`,
    fields,
    areConditions: true,
    submit: "Use this reading",
    work: (confirmed) =>
      readGauge(knowledge, about.gauge ?? "", { fields, confirmed }, (reading) => {
        settleAll($form);
        app.act((state) => withReading(state, check, reading, asked), { focus: "[data-result-heading]" });
        return null;
      }),
  });
  return $form;
}

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
