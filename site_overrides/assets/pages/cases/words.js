/**
 * Output room: the words of the list of cases that several of its views say.
 *
 * @import { KeptCase } from "../../case/shelf.js"
 * @import { Stage } from "../../case/sheet.js"
 */
import { stageOf } from "../../case/sheet.js";

/** @type {Record<Stage, string>} */
const STAGES = {
  new: "Just begun",
  waiting: "Waiting for a reading",
  step: "Next step",
  workshop: "Workshop",
  settled: "Settled",
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

/** @param {number} number */
function two(number) {
  return String(number).padStart(2, "0");
}

/** Write a day as the reader's own clock has it: 2026-11-30. @param {Date} day */
export function dayWords(day) {
  return `${day.getFullYear()}-${two(day.getMonth() + 1)}-${two(day.getDate())}`;
}

/** Write a date as the reader's own clock has it: 2026-11-30, 14:05. @param {string} at */
export function dateWords(at) {
  const day = new Date(at);
  return `${dayWords(day)}, ${two(day.getHours())}:${two(day.getMinutes())}`;
}

/** @type {(count: number, one: string, many?: string) => string} */
export function counted(count, one, many = `${one}s`) {
  return `${count} ${count === 1 ? one : many}`;
}
