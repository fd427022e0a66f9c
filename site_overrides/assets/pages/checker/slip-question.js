/**
 * Output room: ask about a likely slip of unit or decimal point.
 *
 * The gauge suspects, the reader decides; nothing is used until an answer is given.
 *
 * @import { App } from "./app.js"
 * @import { SlipQuestion } from "../../measure/gauges-slips.js"
 */

import { button, el } from "../../kit/element.js";
import { numberWords, unitSymbol } from "../../kit/figures.js";
import { say } from "../../kit/sentences.js";
import { convert } from "../../measure/gauges-numbers.js";

/**
 * @typedef {object} SlipWays
 * @property {(field: string, value: number, unit: string) => void} take use what was likely meant
 * @property {() => void} keep use what was typed
 * @property {() => void} again type it again
 */

/**
 * Round away the dust that moving a decimal point leaves (1.21 * 10).
 * @param {number} value
 * @returns {number}
 */
function tidy(value) {
  return Number(value.toPrecision(12));
}

/**
 * Tell whether what was typed lies within the limits, so that it may be kept.
 * @param {App} app
 * @param {SlipQuestion} question
 * @returns {boolean}
 */
function isWithinLimits(app, question) {
  const { typed_value: typed, typed_unit: unit, unit_of_limits: target } = question;
  const value = convert(typed, unit, target, app.knowledge.units);
  return question.low <= value && value <= question.high;
}

/**
 * Draw the question with its answers; the likely one comes first.
 * @param {App} app
 * @param {SlipQuestion} question
 * @param {SlipWays} ways
 * @returns {HTMLElement}
 */
export function slipQuestion(app, question, { take, keep, again }) {
  const shown = (/** @type {number} */ value, /** @type {string} */ unit) =>
    `${numberWords(value)} ${unitSymbol(app.knowledge.units, unit)}`.trim();
  const typed = shown(question.typed_value, question.typed_unit);
  const { likely_value: value, likely_unit: unit } = question;
  const meant = value === null || unit === null ? null : { value: tidy(value), unit };
  const words = meant ? shown(meant.value, meant.unit) : "";
  const quiet = { class: "control control--quiet" };
  return el(
    "div",
    { class: "slip", role: "group", "aria-labelledby": "slip-title" },
    el(
      "h4",
      { id: "slip-title", tabindex: -1 },
      meant ? say("slip-meant", { meant: words }) : say("slip-impossible", { typed }),
    ),
    el(
      "p",
      {},
      meant ? `${say("slip-unusual", { typed })} ` : "",
      say("slip-fits", { low: numberWords(question.low), high: shown(question.high, question.unit_of_limits) }),
    ),
    meant ? button(`Yes, ${words}`, () => take(question.field, meant.value, meant.unit), { class: "control" }) : null,
    isWithinLimits(app, question) ? button(`No, it is ${typed}`, keep, quiet) : null,
    button("Type it again", again, quiet),
  );
}
