/**
 * Output room: what the latest result says, with its picture.
 *
 * @import { App } from "./app.js"
 * @import { Reading } from "../data/types.js"
 */
import { interpret } from "../reasoning/gauges.js";
import { ReadingRefused } from "../reasoning/gauges-numbers.js";
import { el } from "./element.js";
import { numberWords, unitSymbol } from "./figures.js";
import { scaleBands, scalesOf } from "./scale-bands.js";
import { readingScale } from "./reading-scale.js";
import { readingSentence } from "./sentences.js";

/** The bar shows plus and minus two sigma, about 19 readings in 20. */
const SIGMAS_SHOWN = 2;

/**
 * Write a reading with its unit as the reader gave it.
 * @param {App} app
 * @param {Reading} reading
 * @returns {string}
 */
export function readingWords(app, reading) {
  return `${numberWords(reading.value)} ${unitSymbol(app.knowledge.units, reading.unit)}`.trim();
}

/**
 * Draw a reading: scale, sentence, what it does not tell.
 * @param {App} app
 * @param {string} check
 * @param {Reading} reading
 * @returns {Array<HTMLElement | null>}
 */
function readingParts(app, check, reading) {
  const id = app.knowledge.checks[check]?.gauge ?? "";
  const gauge = app.knowledge.gauges[id];
  if (!gauge) return [];
  const found = interpret({ ...gauge, id }, reading, { ...app.state().context, ...reading }, scalesOf(app.knowledge));
  const sentence = readingSentence(app, gauge, found);
  const conditions = { ...app.state().context, ...reading };
  const bands = scaleBands(app.knowledge, gauge, conditions, app.knowledge.checks[check]);
  const unit = unitSymbol(app.knowledge.units, gauge.unit);
  const text = `${numberWords(found.value, gauge.decimals)} ${unit}`.trim();
  const mark = { value: found.value, spread: found.sigma * SIGMAS_SHOWN, text };
  const assumed = found.assumptions.some((each) => each.kind === "unknown-condition");
  return [
    el(
      "figure",
      { class: "scale" },
      readingScale(bands, mark, { unit, title: `${text} on a scale. ${sentence}` }),
      assumed ? el("figcaption", {}, "Some conditions were not given; the edges are those of the likeliest.") : null,
    ),
    el("p", { class: "verdict" }, sentence),
    gauge.does_not_tell ? el("p", { class: "small" }, el("b", {}, "It does not tell: "), gauge.does_not_tell) : null,
  ];
}

/**
 * Draw the latest result, or nothing when there is none.
 * @param {App} app
 * @returns {HTMLElement | null}
 */
export function resultPanel(app) {
  const { latest, readings, outcomes } = app.state();
  if (latest === null) return null;
  const check = app.knowledge.checks[latest];
  const reading = readings[latest];
  const level = check?.levels.find((each) => each.id === outcomes[latest]);
  if (!check || (!reading && !level)) return null;
  const found = reading ? readingWords(app, reading) : (level?.label ?? "");
  const frame = (/** @type {Array<HTMLElement | null>} */ parts) =>
    el(
      "section",
      { class: "latest", "aria-labelledby": "latest-title" },
      el("h2", { id: "latest-title", tabindex: -1, "data-result-heading": true }, `${check.title}: ${found}`),
      parts,
    );
  if (!reading) return frame([el("p", { class: "verdict" }, level?.means ?? "")]);
  try {
    return frame(readingParts(app, latest, reading));
  } catch (error) {
    if (!(error instanceof ReadingRefused)) throw error;
    const words = "This reading cannot be used as it stands. Change or remove it in your case.";
    return frame([el("p", { class: "verdict" }, words)]);
  }
}
