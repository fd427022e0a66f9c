/**
 * Output room: the steps and sums of an exercise in words.
 *
 * The sentences are data (symptoms/sentences/exercises.yml).
 *
 * @import { Sentences } from "../../answer/questions.js"
 * @import { Car } from "../../exercise/draw.js"
 * @import { Bill, Made, Play, Refusal } from "../../exercise/play.js"
 * @import { Cause, Knowledge } from "../../knowledge/types.js"
 */

import { sayOf } from "../../answer/questions.js";
import { costOf } from "../../exercise/play.js";
import { el } from "../../kit/element.js";
import { listed, lowerFirst, minutesWords, moneyWords, numberWords } from "../../kit/figures.js";

/** The knowledge and the sentences that every part of the page speaks with. */
/** @typedef {{knowledge: Knowledge, words: Sentences}} Tools */

/** @typedef {Array<{id: string, title: string}>} Options */

/** Sort options by what the reader sees. @param {Options} options */
export function byTitle(options) {
  return options.sort((one, other) => one.title.localeCompare(other.title, "en"));
}

/** @param {Knowledge} knowledge */
export function currencyOf({ causes }) {
  return Object.values(causes)[0]?.repair.price.currency ?? "";
}

/** @type {(knowledge: Knowledge, name: string) => Cause} */
export function causeOf({ causes }, name) {
  return /** @type {Cause} */ (causes[name]);
}

/** Draw what is told of a car beside its complaint. @type {(tools: Tools, car: Car) => HTMLElement[]} */
export function alsoTold({ knowledge, words }, { others, facts }) {
  const told = Object.entries(facts).map(([name, answer]) => {
    const { title = name, options = [] } = knowledge.contexts[name] ?? {};
    const label = lowerFirst(options.find(({ id }) => id === answer)?.label ?? "");
    return sayOf(words, "exercise-fact", { title, label });
  });
  const titles = listed(others.map((name) => lowerFirst(knowledge.symptoms[name]?.title ?? name)));
  const also = titles === "" ? [] : [sayOf(words, "exercise-also", { titles })];
  return [...also, ...told].map((text) => el("p.also-told", text));
}

/** Name the hidden causes of a car. @type {(tools: Tools, car: Car) => string} */
export function hiddenWords({ knowledge, words }, car) {
  const causes = causeNames(knowledge, car);
  return sayOf(words, "exercise-hidden", { causes });
}

/** @type {(knowledge: Knowledge, car: Car) => string} */
export function causeNames(knowledge, car) {
  return listed(car.causes.map((name) => lowerFirst(causeOf(knowledge, name).title)));
}

/** Say which check is misread; "" when none is. @type {(tools: Tools, car: Car) => string} */
export function misreadWords({ knowledge, words }, { misread }) {
  const check = listed(misread.map((name) => knowledge.checks[name].title));
  return check === "" ? "" : sayOf(words, "exercise-misread", { check });
}

/**
 * Return the label of a check's level.
 * @type {(knowledge: Knowledge, check: string, level: string | null) => string}
 */
export function levelLabel(knowledge, check, level) {
  return knowledge.checks[check].levels.find(({ id }) => id === level)?.label ?? "";
}

/**
 * Say what a step was and what came of it.
 * @param {Tools} tools
 * @param {Made} step
 * @param {boolean} isLast whether the trouble ended with it
 */
export function stepWords({ knowledge, words }, { move, level, answered, mark, because }, isLast) {
  const isCheck = move.kind === "check";
  if (mark === "unsafe") {
    const step = isCheck ? knowledge.checks[move.id].title : causeOf(knowledge, move.id).title;
    const line = knowledge.stop_lines[because?.line ?? ""]?.text ?? "";
    return sayOf(words, "exercise-unsafe", { step, line });
  }
  if (move.kind === "workshop") return sayOf(words, "exercise-did-stop");
  if (!isCheck) {
    const action = causeOf(knowledge, move.id).repair.action.replace(/\.?$/, ".");
    const outcome = isLast ? "over" : "same";
    return sayOf(words, "exercise-did-repair", { action, outcome });
  }
  const check = knowledge.checks[move.id].title;
  const label = lowerFirst(levelLabel(knowledge, move.id, level));
  if (isLast) return sayOf(words, "exercise-ended", { check, level: label });
  const did = sayOf(words, "exercise-did-check", { check, level: label });
  const named = Object.entries(answered)
    .map(([name, id]) => knowledge.checks[name].levels.find((one) => one.id === id && one.codes))
    .flatMap((found) => (found ? [found.label] : []));
  return named.length > 0 ? `${did} ${sayOf(words, "exercise-codes-named", { families: named.join("; ") })}` : did;
}

/**
 * Say what was wrong with a step; "" when nothing was, or it was said already.
 * @type {(tools: Tools, step: Made) => string}
 */
export function markWords({ words }, { mark }) {
  const known = ["pointless", "in-vain"];
  return known.includes(mark) ? sayOf(words, "exercise-mark", { mark }) : "";
}

/** Say why a step was not taken. @type {(tools: Tools, refused: Refusal) => string} */
export function refusedWords({ knowledge, words }, { kind, check }) {
  if (kind === "first") return sayOf(words, "exercise-first", { check: lowerFirst(knowledge.checks[check].title) });
  return check === "" ? sayOf(words, "exercise-cannot") : sayOf(words, "exercise-not-made");
}

/** Say what the exercise has cost so far. @type {(tools: Tools, play: Play) => string} */
export function soFarWords({ knowledge, words }, { bill }) {
  const money = moneyWords(bill.money, currencyOf(knowledge));
  const minutes = minutesWords(bill.minutes);
  const hours = numberWords(bill.waiting);
  return sayOf(words, "exercise-so-far", { money, minutes, hours });
}

/**
 * Return the sums of a bill in words, in the order of the table.
 * @type {(tools: Tools, bill: Bill) => Array<{name: string, text: string}>}
 */
export function billRows({ knowledge, words }, bill) {
  const currency = currencyOf(knowledge);
  const rows = [
    { row: "money", text: moneyWords(bill.money, currency) },
    { row: "minutes", text: minutesWords(bill.minutes) },
    { row: "waiting", text: sayOf(words, "exercise-hours", { hours: numberWords(bill.waiting) }) },
    { row: "checks", text: String(bill.checks) },
    { row: "parts", text: String(bill.parts) },
    { row: "in_vain", text: String(bill.in_vain) },
    { row: "pointless", text: String(bill.pointless) },
    { row: "unsafe", text: String(bill.unsafe) },
    { row: "cost", text: moneyWords(Math.round(costOf(knowledge, bill)), currency) },
  ];
  return rows.map(({ row, text }) => ({ name: sayOf(words, "exercise-row", { row }), text }));
}
