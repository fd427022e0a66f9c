/**
 * Output room: the results of a class, from the links its students sent, as a table and bars.
 *
 * @import { Result } from "../../exercise/links.js"
 * @import { Bill } from "../../exercise/play.js"
 * @import { Tools } from "./words.js"
 */

import { sayOf } from "../../answer/questions.js";
import { resultsIn } from "../../exercise/links.js";
import { bestPlay, costOf, replay } from "../../exercise/play.js";
import { el, formOf, svg } from "../../kit/element.js";
import { moneyWords } from "../../kit/figures.js";
import { table } from "./report-view.js";
import { billRows, causeNames, currencyOf, misreadWords } from "./words.js";

/** @typedef {{who: string, bill: Bill}} Row */

/**
 * Draw the field for the links, and what comes of them.
 * @param {Tools} tools
 * @param {string} [text] links to begin with
 * @returns {HTMLElement}
 */
export function classView(tools, text = "") {
  const { words } = tools;
  const $text = el("textarea.field", { id: "links", rows: 4 });
  $text.value = text;
  const $note = el("p.told", { role: "status" });
  const $made = el("div");
  const show = () => {
    const { notes, parts } = classParts(tools, $text.value);
    $note.textContent = notes.join(" ");
    $made.replaceChildren(...parts);
  };
  const $form = formOf(
    {},
    show,
    el("label", { for: "links" }, sayOf(words, "exercise-paste")),
    $text,
    el("p", el("button.control", { type: "submit" }, sayOf(words, "exercise-table-button"))),
    $note,
  );
  if (text !== "") show();
  return el("section.no-print", el("h2", sayOf(words, "exercise-class")), $form, $made);
}

/** @type {(tools: Tools, text: string) => {notes: string[], parts: HTMLElement[]}} */
function classParts(tools, text) {
  const { knowledge, words } = tools;
  const all = resultsIn(knowledge, text);
  const read = all.filter((one) => one !== null);
  const [first] = read;
  const notes = all.length === 0 ? [sayOf(words, "exercise-no-results")] : [];
  const broken = all.length - read.length;
  if (broken > 0) notes.push(sayOf(words, "exercise-unreadable", { count: broken }));
  if (!first) return { notes, parts: [] };
  const isSame = (/** @type {Result} */ { car }) => JSON.stringify(car) === JSON.stringify(first.car);
  const results = read.filter(isSame);
  if (results.length < read.length)
    notes.push(sayOf(words, "exercise-other-car", { count: read.length - results.length }));
  if (results.some(({ edition }) => edition !== knowledge.version)) notes.push(sayOf(words, "exercise-other-edition"));
  const rows = [
    { who: sayOf(words, "exercise-checker"), bill: bestPlay(knowledge, first.car).play.bill },
    ...results.map((one, place) => studentRow(tools, one, place + 1)),
  ];
  const misread = first.car.misread.length > 0 ? [el("p", misreadWords(tools, first.car))] : [];
  return { notes, parts: [classTable(tools, first, rows), ...misread, ...bars(tools, rows)] };
}

/** @type {(tools: Tools, result: Result, number: number) => Row} */
function studentRow({ knowledge, words }, { name, car, moves }, number) {
  const play = replay(knowledge, car, moves);
  const who = name || sayOf(words, "exercise-unnamed", { number });
  return { who: play.over ? who : sayOf(words, "exercise-unfinished", { name: who }), bill: play.bill };
}

/** @type {(tools: Tools, first: Result, rows: Row[]) => HTMLDivElement} */
function classTable(tools, { car }, rows) {
  const { knowledge, words } = tools;
  const names = rows[0] ? billRows(tools, rows[0].bill).map(({ name }) => name) : [];
  const head = [sayOf(words, "exercise-who-column"), ...names, sayOf(words, "exercise-found-column")];
  const body = rows.map(({ who, bill }) => [
    who,
    ...billRows(tools, bill).map(({ text }) => text),
    foundWords(tools, bill.helped ? "found" : "left"),
  ]);
  const complaint = knowledge.symptoms[car.complaint]?.title ?? "";
  const causes = causeNames(knowledge, car);
  return table(head, body, sayOf(words, "exercise-caption", { complaint, causes }));
}

/** @type {(tools: Tools, found: "found" | "left") => string} */
function foundWords({ words }, found) {
  return sayOf(words, "exercise-found", { found });
}

/**
 * Draw what each took together, one bar a row, the checker's first.
 * @type {(tools: Tools, rows: Row[]) => HTMLElement[]}
 */
function bars({ knowledge, words }, rows) {
  const costs = rows.map(({ bill }) => costOf(knowledge, bill));
  const most = Math.max(1, ...costs);
  const list = rows.map(({ who }, place) => {
    const cost = costs[place] ?? 0;
    return el(
      "li",
      el("div.bars__line", el("span", who), el("span.bars__odds", moneyWords(Math.round(cost), currencyOf(knowledge)))),
      svg(
        "svg",
        { "aria-hidden": "true", focusable: "false" },
        svg("rect.bar__track", { x: 0.5, y: 0.5, width: "99.8%", height: 9 }),
        svg("rect.bar__fill", { x: 0, y: 0, width: `${Math.round((1000 * cost) / most) / 10}%`, height: 10 }),
      ),
    );
  });
  return [el("h3", sayOf(words, "exercise-plot")), el("ul.bars", list)];
}
