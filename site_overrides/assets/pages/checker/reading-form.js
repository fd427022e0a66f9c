/**
 * Room pages: enter a number a meter shows, with the conditions that matter, into the case.
 *
 * @import { App } from "./app.js"
 * @import { Check, Fact, Gauge } from "../../knowledge/types.js"
 */
import { MOMENTARY, withReading } from "../../case/kept-case.js";
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
export function readingForm(app, check, about, gauge) {
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
