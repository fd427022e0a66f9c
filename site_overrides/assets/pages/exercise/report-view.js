/**
 * Output room: what a student's way took, beside what the checker does on the same car.
 *
 * @import { Play } from "../../exercise/play.js"
 * @import { Child } from "../../kit/element.js"
 * @import { Tools } from "./words.js"
 */

import { sayOf } from "../../answer/questions.js";
import { reasonsWords } from "../../engine/words.js";
import { resultLink } from "../../exercise/links.js";
import { bestPlay } from "../../exercise/play.js";
import { copyText } from "../../kit/copy-text.js";
import { button, el } from "../../kit/element.js";
import { moneyWords } from "../../kit/figures.js";
import { billRows, currencyOf, hiddenWords, misreadWords, stepWords } from "./words.js";

/** Draw the end of an exercise. @type {(tools: Tools, play: Play, again: () => void) => HTMLElement[]} */
export function reportParts(tools, play, again) {
  const { knowledge, words } = tools;
  const best = bestPlay(knowledge, play.car);
  const hour = moneyWords(knowledge.settings.hour_value, currencyOf(knowledge));
  const who = "checker";
  return [
    el("h3", sayOf(words, "exercise-over")),
    el("p", hiddenWords(tools, play.car)),
    ...(play.car.misread.length > 0 ? [el("p", misreadWords(tools, play.car))] : []),
    compared(tools, play, best.play),
    el("p.small", sayOf(words, "exercise-cost-note", { hour }), " ", sayOf(words, "exercise-luck")),
    ...sendParts(tools, play),
    el("h3", sayOf(words, "exercise-steps", { who })),
    el("ol.steps", bestRows(tools, best)),
    el("p", button(sayOf(words, "exercise-again"), again, { class: "control control--quiet" })),
  ];
}

/** @type {(tools: Tools, play: Play, best: Play) => HTMLDivElement} */
function compared(tools, play, best) {
  const { words } = tools;
  const theirs = billRows(tools, best.bill);
  const head = ["", sayOf(words, "exercise-student"), sayOf(words, "exercise-checker")];
  const rows = billRows(tools, play.bill).map(({ name, text }, place) => [name, text, theirs[place]?.text ?? ""]);
  return table(head, rows);
}

/**
 * Draw a table whose first column names the rows.
 * @type {(head: string[], rows: string[][], caption?: string) => HTMLDivElement}
 */
export function table(head, rows, caption = "") {
  const cells = (/** @type {string[]} */ row) =>
    row.map((text, place) => (place === 0 ? el("th", { scope: "row" }, text) : el("td.num", text)));
  const column = (/** @type {string} */ text) => (text === "" ? el("td") : el("th", { scope: "col" }, text));
  return el(
    "div.table-wrap",
    { tabindex: 0, role: "group", "aria-label": caption || head.filter((one) => one).join(", ") },
    el(
      "table",
      caption === "" ? null : el("caption", caption),
      el("thead", el("tr", head.map(column))),
      el(
        "tbody",
        rows.map((row) => el("tr", cells(row))),
      ),
    ),
  );
}

/** @type {(tools: Tools, best: {play: Play, why: object[][]}) => Child[]} */
function bestRows(tools, { play, why }) {
  return play.made.map((step, place) => {
    const isLast = play.bill.helped && place === play.made.length - 1;
    const reasons = reasonsWords(tools.knowledge, why[place] ?? []);
    return el(
      "li",
      el("p.step", stepWords(tools, step, isLast)),
      reasons.length > 0 ? el("p.small", reasons.join(" ")) : null,
    );
  });
}

/**
 * Draw the name and the link that carries the result to the instructor.
 * @type {(tools: Tools, play: Play) => HTMLElement[]}
 */
function sendParts({ knowledge, words }, { car, made }) {
  const $name = el("input.field", { id: "name", maxlength: 40, autocomplete: "off" });
  const moves = made.map(({ move }) => move);
  const link = () => {
    const result = { name: $name.value.trim(), edition: knowledge.version, car, moves };
    return `${location.href.split("#")[0]}${resultLink(result)}`;
  };
  const { $parts, set } = copyText("result-link", sayOf(words, "exercise-result-link"), link(), 4);
  $name.addEventListener("input", () => set(link()));
  return [el("label", { for: "name" }, sayOf(words, "exercise-name")), $name, ...$parts];
}
