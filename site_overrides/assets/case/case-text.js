/**
 * Room case: write a case as plain text: what was noticed, told, measured and found.
 *
 * It judges nothing.
 *
 * @import { Case, Fact, Knowledge, Reading } from "../knowledge/types.js"
 * @import { Interpretation } from "../measure/gauges.js"
 */

import { lowerFirst } from "../kit/figures.js";
import { plainNumber } from "../measure/sums-parts.js";
import { readingWords, unitWords } from "../measure/words.js";

/**
 * Write a number and its unit as they were given.
 * @type {(knowledge: Knowledge, value: number, unit: string) => string}
 */
export function quantityWords(knowledge, value, unit) {
  return plainNumber(value).replace("-", "\u2212") + unitWords(unit, knowledge.units);
}

/** Write one fact: its title and the answer. @type {(knowledge: Knowledge, name: string, value: Fact) => string} */
export function factWords(knowledge, name, value) {
  const context = knowledge.contexts[name];
  const title = context?.title ?? name;
  if (typeof value === "object") return `${title}: ${quantityWords(knowledge, value.value, value.unit)}`;
  const option = context?.options?.find(({ id }) => id === value);
  if (option) return `${title}: ${lowerFirst(option.label)}`;
  return `${title}: ${quantityWords(knowledge, Number(value), context?.unit ?? "")}`;
}

/**
 * Write the value of a reading and, in brackets, its conditions.
 * @type {(knowledge: Knowledge, reading: Reading) => string}
 */
export function measuredWords(knowledge, reading) {
  const facts = Object.entries(reading)
    .filter(([name]) => Object.hasOwn(knowledge.contexts, name))
    .map(([name, fact]) => lowerFirst(factWords(knowledge, name, fact)));
  const under = facts.length > 0 ? ` (${facts.join("; ")})` : "";
  return quantityWords(knowledge, reading.value, reading.unit) + under;
}

/**
 * Write the label of a level, to go on inside a sentence.
 * @type {(knowledge: Knowledge, check: string, level: string) => string}
 */
export function levelWords(knowledge, check, level) {
  const found = knowledge.checks[check]?.levels.find(({ id }) => id === level);
  return found ? lowerFirst(found.label) : level;
}

/** @type {(name: string, entries: Record<string, {title: string}>, ids: string[] | undefined) => string} */
function listed(name, entries, ids) {
  if (ids === undefined) return "";
  const titles = ids.map((id) => entries[id]?.title ?? id).join("; ");
  return titles !== "" || name === "Tools at hand" ? `${name}: ${titles || "none"}` : "";
}

/** What became of the trouble after a repair, to go on inside a sentence. */
export const HELPED = { better: "it got better", gone: "the trouble is gone" };

/** Write what each repair did, where it did something. @type {(knowledge: Knowledge, car: Case) => string[]} */
export function helpedWords({ causes }, { helped = {} }) {
  return Object.entries(helped).map(([id, how]) => `${causes[id]?.title ?? id}, and ${HELPED[how]}`);
}

/**
 * Write the case as lines; `readings` are the interpretations the advice rests on.
 * @type {(knowledge: Knowledge, car: Case, readings: Record<string, Interpretation>) => string}
 */
export function caseText(knowledge, car, readings) {
  const { symptoms, checks, tools, causes } = knowledge;
  const told = Object.entries(car.context).map(([name, fact]) => factWords(knowledge, name, fact));
  const measured = Object.entries(car.readings).flatMap(([check, reading]) => {
    const found = readings[check];
    const line = `  ${checks[check]?.title ?? check}: ${measuredWords(knowledge, reading)}`;
    return found ? [line, `    ${readingWords(knowledge, found)}`] : [line];
  });
  const found = Object.entries(car.outcomes).map(
    ([check, level]) => `  ${checks[check]?.title ?? check}: ${levelWords(knowledge, check, level)}`,
  );
  const lines = [
    listed("Noticed", symptoms, car.symptoms),
    listed("Was there, is over", symptoms, car.past),
    listed("Not so", symptoms, car.absent),
    told.length > 0 ? `The car: ${told.join("; ")}` : "",
    ...(measured.length > 0 ? ["Measured:", ...measured] : []),
    ...(found.length > 0 ? ["Found:", ...found] : []),
    listed("Cannot be done here", checks, car.not_possible),
    listed("Tools at hand", tools, car.tools),
    listed("Repaired already, and the trouble stayed", causes, car.mended),
    ...helpedWords(knowledge, car).map((line) => `Repaired: ${line}`),
  ];
  return lines.filter((line) => line !== "").join("\n");
}
