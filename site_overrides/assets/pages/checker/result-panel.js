/**
 * Output room: what the latest result says, with its picture.
 *
 * It draws the interpretation the advice itself rests on, so picture and advice agree.
 *
 * @import { App } from "./app.js"
 * @import { Check, Gauge, Reading } from "../../knowledge/types.js"
 * @import { Interpretation } from "../../measure/gauges.js"
 * @import { Advice } from "../../engine/triage.js"
 */
import { clearResult, toCase } from "../../case/case.js";
import { aboutCase } from "../../case/kept-case.js";
import { diagnose } from "../../engine/diagnosis.js";
import { setAsideWords } from "../../engine/words.js";
import { bar } from "../../kit/bar.js";
import { bullets, el, folded, titled, unbroken } from "../../kit/element.js";
import { fractionWords, shortOdds } from "../../kit/figures.js";
import { scaleFigure } from "../../kit/scale.js";
import { say } from "../../kit/sentences.js";
import { quantityText } from "../../kit/value-form.js";
import { assumptionsWords, questionWords, readingWords, refusalWords } from "../../measure/words.js";

/** Causes of which a result's effect is shown. */
const MOST_MOVED = 2;
/** A cause that was never likely is no news when it becomes less so. */
const WORTH_TELLING = 0.1;

/**
 * Find the reading this check gave before the present one; null where it is the first.
 * @param {string} id
 * @param {Reading} reading
 */
function readingBefore(id, { value, unit }) {
  const made = aboutCase().log.flatMap((entry) =>
    entry.kind === "found" && entry.id === id && entry.value !== undefined
      ? [{ value: entry.value, unit: entry.unit ?? unit }]
      : [],
  );
  return made.filter((one) => one.value !== value || one.unit !== unit).at(-1) ?? null;
}

/**
 * Draw a reading: scale, sentence, what was assumed, what it does not tell.
 * @type {(app: App, check: Check, what: {id: string, gauge: Gauge, reading: Reading, found: Interpretation}) =>
 *   HTMLElement[]}
 */
function readingParts(app, check, what) {
  const { gauge, reading, found } = what;
  const before = readingBefore(what.id, what.reading);
  const assumed = assumptionsWords(app.knowledge, found.assumptions).map((words) => el("p", words));
  const $source = el("a", { href: `../gauges/${found.gauge}/` }, "Every edge of this gauge, and where it comes from");
  const $more = folded(
    "reading-more",
    before ? "Before and now on the scale" : "See it on the scale",
    scaleFigure(app.knowledge, gauge, { ...what, check, before, conditions: app.state().context }, (isAssumed) =>
      isAssumed ? ["The edges are those of the most likely conditions."] : [],
    ),
    ...assumed,
    gauge.does_not_tell ? el("p", el("b", "What it can\u2019t tell: "), gauge.does_not_tell) : null,
    el("p", $source),
  );
  $more.open = before !== null;
  // In the unit it was typed in, as the heading above has it.
  const typed = reading.unit === gauge.unit ? undefined : quantityText(app.knowledge, reading);
  return [el("p.verdict", readingWords(app.knowledge, found, typed)), $more];
}

/**
 * Say why a reading carries no weight, or nothing when it does.
 * @type {(app: App, advice: Advice, check: string) => string}
 */
function noWeightWords(app, { findings }, check) {
  const overtaken = findings.set_aside.find((each) => each.check === check);
  if (overtaken) return setAsideWords(app.knowledge, overtaken);
  const refused = findings.refused.find((each) => each.check === check);
  const question = findings.questions.find((each) => each.check === check);
  if (!refused && !question) return "";
  const words = refused
    ? refusalWords(/** @type {any} */ (refused))
    : questionWords(app.knowledge, /** @type {any} */ (question));
  return `${words} Until it is changed, this reading carries no weight.`;
}

/**
 * Say which cause a result moved most, with small bars of before and now.
 * @type {(app: App, advice: Advice, check: string) => HTMLParagraphElement | HTMLUListElement}
 */
function changedPart(app, { causes }, check) {
  const former = diagnose(app.knowledge, toCase(app.knowledge, clearResult(app.state(), check))).posteriors;
  const moved = causes
    .map(({ title, id, probability: now }) => ({ title, now, before: former[id] ?? 0 }))
    .sort((a, b) => Math.abs(b.now - b.before) - Math.abs(a.now - a.before))
    .filter(({ now, before }) => Math.max(now, before) >= WORTH_TELLING && fractionWords(now) !== fractionWords(before))
    .slice(0, MOST_MOVED);
  if (moved.length === 0) return el("p.small", say("changed-little"));
  return bullets(
    moved.map(({ title, now, before }) => [
      el("span", unbroken(say("changed", { cause: title, before: shortOdds(before), now: shortOdds(now) }))),
      bar(now, before),
    ]),
    { class: "bars changed" },
  );
}

/** Draw the latest result, or nothing when there is none. @type {(app: App, advice: Advice) => HTMLElement | null} */
export function resultPanel(app, advice) {
  const { latest, readings, outcomes } = app.state();
  const check = app.knowledge.checks[latest ?? ""];
  if (latest === null || !check) return null;
  const reading = readings[latest];
  const level = check.levels.find((each) => each.id === outcomes[latest]);
  const shown = reading ? quantityText(app.knowledge, reading) : level?.label;
  if (shown === undefined) return null;
  const gauge = app.knowledge.gauges[check.gauge ?? ""];
  const found = advice.findings.readings[latest];
  const parts =
    reading && gauge && found
      ? readingParts(app, check, { id: latest, gauge, reading, found })
      : el("p.verdict", noWeightWords(app, advice, latest) || level?.means || "");
  return titled(
    "section.latest",
    el("h2", { id: "latest-title", tabindex: -1, "data-result-heading": true }, `${check.title}: ${shown}`),
    Array.isArray(parts)
      ? [parts[0], changedPart(app, advice, latest), ...parts.slice(1)]
      : [parts, changedPart(app, advice, latest)],
  );
}
