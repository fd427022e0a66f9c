/**
 * Output room: the words of the list of cases that several of its views say.
 *
 * @import { KeptCase } from "../../case/shelf.js"
 * @import { Stage } from "../../case/sheet.js"
 */
import { stageOf } from "../../case/sheet.js";

/** @type {Record<Stage, string>} */
const STAGES = {
  new: "just begun",
  waiting: "waiting for a reading",
  step: "next step",
  workshop: "workshop",
  settled: "settled",
};

/** @param {KeptCase} one */
export function stageWords({ sheet }) {
  return STAGES[stageOf(sheet)];
}

/** @param {KeptCase} one */
export function titleOf({ sheet, state }) {
  if (sheet.line.title !== "") return sheet.line.title;
  const [first] = Array.isArray(state.chosen) ? state.chosen : [];
  return typeof first === "string" ? first.replaceAll("-", " ").slice(0, 80) : "Nothing noticed yet";
}

/** @param {KeptCase} one */
export function nameOf(one) {
  return one.sheet.name === "" ? titleOf(one) : one.sheet.name;
}

/**
 * Write a date as the reader's own clock has it: 2026-11-30, 14:05.
 * @param {string} at
 */
export function dateWords(at) {
  const two = (/** @type {number} */ number) => String(number).padStart(2, "0");
  const day = new Date(at);
  const date = `${day.getFullYear()}-${two(day.getMonth() + 1)}-${two(day.getDate())}`;
  return `${date}, ${two(day.getHours())}:${two(day.getMinutes())}`;
}

/**
 * @param {number} count
 * @param {string} one
 * @param {string} [many]
 */
export function counted(count, one, many = `${one}s`) {
  return `${count} ${count === 1 ? one : many}`;
}
