/**
 * Output room: an exercise on paper: a sheet to work on, and the sealed answers on one of their own.
 *
 * Only paper shows them. One person keeps the answers and reads out a result when it is asked for;
 * what is hidden stands at the foot, upside down behind a line to fold.
 *
 * @import { Car } from "../../exercise/draw.js"
 * @import { Child } from "../../kit/element.js"
 * @import { Tools } from "./words.js"
 */

import { sayOf } from "../../answer/questions.js";
import { stopBlock } from "../../case/stop-block.js";
import { causesTold } from "../../exercise/draw.js";
import { bearsOn, begin, bestPlay, resultOf, standing } from "../../exercise/play.js";
import { el } from "../../kit/element.js";
import { minutesWords, moneyWords, priceWords } from "../../kit/figures.js";
import { stepRows } from "./play-view.js";
import { table } from "./report-view.js";
import { alsoTold, byTitle, causeOf, currencyOf, hiddenWords, levelLabel, misreadWords } from "./words.js";

const BLANK_ROWS = 12;

/** Draw both sheets of a car. @type {(tools: Tools, car: Car) => HTMLElement[]} */
export function paperParts(tools, car) {
  return [
    el("section.print-only.paper", { "data-paper": "class" }, classSheet(tools, car)),
    el("section.print-only.paper", { "data-paper": "sealed" }, sealedSheet(tools, car)),
  ];
}

/** List what each check that bears on a car shows. @type {(tools: Tools, car: Car) => HTMLElement} */
export function resultsTable({ knowledge, words }, car) {
  const rows = checksOf(knowledge, car).map(({ id, title }) => [
    title,
    levelLabel(knowledge, id, resultOf(knowledge, car, car.causes, id)),
  ]);
  return table([sayOf(words, "exercise-check-column"), sayOf(words, "exercise-shows-column")], rows);
}

/**
 * @param {Tools["knowledge"]} knowledge
 * @param {Car} car
 */
function checksOf(knowledge, car) {
  const causes = causesTold(knowledge, car);
  const ids = Object.keys(knowledge.checks).filter((id) => bearsOn(knowledge, causes, id));
  return byTitle(ids.map((id) => ({ id, title: knowledge.checks[id].title })));
}

/** @type {(tools: Tools, car: Car) => Child[]} */
function classSheet(tools, car) {
  const { knowledge, words } = tools;
  const { title = "", summary = "" } = knowledge.symptoms[car.complaint] ?? {};
  const currency = currencyOf(knowledge);
  const lines = standing(knowledge, begin(car)).stop_now.map(({ id }) => {
    const { text = "", why = "" } = knowledge.stop_lines[id] ?? {};
    return { id, text, why };
  });
  const checks = checksOf(knowledge, car).map(({ id, title: name }) => {
    const { minutes, money } = knowledge.checks[id];
    return [name, minutesWords(minutes), moneyWords(money, currency)];
  });
  const repairs = byTitle(causesTold(knowledge, car).map((id) => ({ id, title: causeOf(knowledge, id).title }))).map(
    ({ id, title: name }) => {
      const { minutes, price } = causeOf(knowledge, id).repair;
      return [name, minutesWords(minutes), priceWords(price.low, price.high, price.currency)];
    },
  );
  const head = ["step", "shows", "minutes", "money"].map((column) => sayOf(words, "exercise-paper-column", { column }));
  const [, , minutes = "", money = ""] = head;
  return [
    el("h2", title),
    el("p", summary),
    ...alsoTold(tools, car),
    stopBlock(lines),
    el("p", sayOf(words, "exercise-paper-how")),
    table(head, Array(BLANK_ROWS).fill(["\u00a0", "", "", ""])),
    table([sayOf(words, "exercise-check"), minutes, money], checks),
    table([sayOf(words, "exercise-repair"), minutes, money], repairs),
  ];
}

/** @type {(tools: Tools, car: Car) => Child[]} */
function sealedSheet(tools, car) {
  const { knowledge, words } = tools;
  const { play } = bestPlay(knowledge, car);
  return [
    el("h2", sayOf(words, "exercise-sealed")),
    el("p", sayOf(words, "exercise-key-about")),
    resultsTable(tools, car),
    el("p.fold-line", sayOf(words, "exercise-fold")),
    el(
      "div.upside-down",
      el("p", el("b", hiddenWords(tools, car)), " ", misreadWords(tools, car)),
      el("p", sayOf(words, "exercise-steps", { who: "checker" })),
      el("ol.steps", stepRows(tools, play)),
    ),
  ];
}
