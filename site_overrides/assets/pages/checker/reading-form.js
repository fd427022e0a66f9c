/**
 * Output room: enter a number a meter shows, with the conditions that matter.
 *
 * The number goes through its gauge before it enters the case. What cannot be read or used
 * is said beside the field, in words.
 *
 * @import { App } from "./app.js"
 * @import { Check, Fact, Gauge, Reading } from "../../knowledge/types.js"
 */
import { setFact, setReading } from "../../case/case.js";
import { el } from "../../kit/element.js";
import { contextField, FieldRefused, numberIn, showRefusal, unitField } from "../../kit/fields.js";
import { interpret } from "../../measure/gauges.js";
import { ReadingRefused } from "../../measure/gauges-numbers.js";
import { scalesOf } from "../../measure/scale-bands.js";
import { refusalWords } from "../../measure/words-reading.js";
import { slipQuestion } from "./slip-question.js";

/** Conditions that differ from one reading to the next and are never carried over. */
const MOMENTARY = new Set(["rest", "cranking-current"]);

/**
 * Find what is already known about a condition: this reading, the car, another reading.
 * @param {App} app
 * @param {string} check
 * @param {string} condition
 * @returns {Fact | undefined}
 */
function knownAlready(app, check, condition) {
  const { context, readings } = app.state();
  const own = readings[check]?.[condition];
  if (own !== undefined || MOMENTARY.has(condition)) return own;
  const others = Object.values(readings).map((reading) => reading[condition]);
  return context[condition] ?? others.reverse().find((fact) => fact !== undefined);
}

/**
 * Enter a reading and note what it says about the car as well, unknown again included.
 * @param {App} app
 * @param {string} check
 * @param {Reading} reading
 */
function enter(app, check, reading) {
  const asked = app.knowledge.checks[check]?.conditions ?? [];
  const lasting = asked.filter((id) => !MOMENTARY.has(id) && id !== "meter");
  app.act(
    (state) => {
      const noted = lasting.reduce((now, id) => setFact(now, id, reading[id] ?? null), state);
      return setReading(noted, check, reading);
    },
    { focus: "[data-result-heading]" },
  );
}

/**
 * Draw the fields of a reading.
 * @param {App} app
 * @param {string} check
 * @param {Check} about
 * @param {Gauge} gauge
 */
function readingFields(app, check, about, gauge) {
  const known = app.state().readings[check];
  const $input = el("input", {
    type: "text",
    inputmode: "decimal",
    id: "reading",
    autocomplete: "off",
    maxlength: 24,
    class: "field",
    value: known?.value ?? "",
  });
  const { $unit, unit } = unitField(app.knowledge, gauge.accepts, {
    name: "reading-unit",
    chosen: known?.unit ?? gauge.unit,
    label: "Unit of the reading",
  });
  const conditions = (about.conditions ?? []).flatMap((id) => {
    const given = knownAlready(app, check, id);
    const field = contextField(app.knowledge, id, { place: "reading", given });
    return field ? [{ id, ...field }] : [];
  });
  const read = () => {
    /** @type {Reading} */
    const reading = { value: numberIn($input, gauge.plausible.high > 20 ? "120" : "12.4"), unit: unit() };
    for (const { id, read: fact } of conditions) {
      const given = fact();
      if (given !== null) reading[id] = given;
    }
    return reading;
  };
  const $pair = el("div", { class: "entry__pair" }, $input, $unit);
  const $value = el("div", { class: "entry" }, el("label", { for: "reading" }, "What the meter shows"), $pair);
  return { $input, $fields: [$value, ...conditions.map(({ $field }) => $field)], read };
}

/**
 * Say beside the form why a reading was refused; rethrow what is not a refusal.
 * @param {unknown} error
 * @param {HTMLElement} $message
 * @param {HTMLInputElement} $input
 */
function sayRefused(error, $message, $input) {
  if (error instanceof FieldRefused) return showRefusal($message, error);
  if (!(error instanceof ReadingRefused)) throw error;
  return showRefusal($message, new FieldRefused($input, refusalWords(error)));
}

/**
 * Put a reading before its gauge: enter it, or ask about a slip.
 * @param {App} app
 * @param {string} check
 * @param {Reading} reading
 * @returns {import("../../measure/gauges-slips.js").SlipQuestion | null}
 */
function offer(app, check, reading) {
  const id = app.knowledge.checks[check]?.gauge ?? "";
  const gauge = /** @type {Gauge} */ (app.knowledge.gauges[id]);
  const { question } = interpret({ ...gauge, id }, reading, reading, scalesOf(app.knowledge));
  if (question === null) enter(app, check, reading);
  return question;
}

/**
 * Draw the form for a number.
 * @param {App} app
 * @param {string} check
 * @param {Check} about
 * @param {Gauge} gauge
 * @returns {HTMLElement}
 */
export function readingForm(app, check, about, gauge) {
  const { $input, $fields, read } = readingFields(app, check, about, gauge);
  const $message = el("p", { class: "refused", id: "reading-refused", role: "alert" });
  const $slip = el("div");
  const again = () => {
    $slip.replaceChildren();
    $input.focus();
    $input.select();
  };
  const attempt = (/** @type {() => Reading} */ make) => {
    $message.textContent = "";
    $slip.replaceChildren();
    try {
      const reading = make();
      const question = offer(app, check, reading);
      if (question === null) return;
      const put = (/** @type {string} */ field, /** @type {number} */ value, /** @type {string} */ unit) =>
        field === "value" ? { ...reading, value, unit } : { ...reading, [field]: { value, unit } };
      const take = (/** @type {[string, number, string]} */ ...meant) => attempt(() => put(...meant));
      const keep = () => attempt(() => ({ ...reading, confirmed: true }));
      $slip.replaceChildren(slipQuestion(app, question, { take, keep, again }));
      $slip.querySelector("h4")?.focus();
    } catch (error) {
      sayRefused(error, $message, $input);
    }
  };
  const onsubmit = (/** @type {Event} */ event) => {
    event.preventDefault();
    attempt(read);
  };
  const $submit = el("button", { type: "submit", class: "control" }, "Use this reading");
  return el("form", { class: "reading-form", novalidate: true, onsubmit }, $fields, $message, $slip, $submit);
}
