/**
 * Room case: a closed case as a worked case without names, in YAML.
 *
 * Nickname, notes and every other free text stay behind. What was known before the repair that
 * ended it is the case; what it turned out to be stands under `closed`.
 *
 * @import { Case } from "../knowledge/types.js"
 * @import { Closed, Entry, Sheet } from "./sheet.js"
 */
import { without } from "./case.js";

/** The keys of a case in the order that worked cases have them. */
const KEYS = /** @type {Array<keyof Case>} */ ([
  "symptoms",
  "absent",
  "past",
  "context",
  "readings",
  "outcomes",
  "tools",
  "not_possible",
  "mended",
  "helped",
  "again",
]);
const DAY_MS = 86_400_000;

/**
 * The steps that were advised, made and bought, in order, each with the days since the case began.
 * @param {Sheet} sheet
 */
function stepsOf({ started, log }) {
  const kinds = ["advised", "found", "bought", "repaired"];
  return log
    .filter(({ kind, id }) => id !== "" && kinds.includes(kind))
    .map(({ at, kind, id, value, unit, level }) => ({
      day: Math.max(0, Math.floor((Date.parse(at) - Date.parse(started)) / DAY_MS)),
      [kind]: id,
      ...(value === undefined ? {} : { value, unit }),
      ...(level === undefined ? {} : { level }),
    }));
}

/**
 * Write a closed case.
 * @type {(car: Case, sheet: Sheet & {closed: Closed}, title: string) => string}
 * @param title of what was noticed first
 */
export function closedCaseText(car, sheet, title) {
  const { cause, gone, at } = sheet.closed;
  const told = cause === null ? car : { ...car, helped: without(car.helped ?? {}, cause) };
  const isSaid = (/** @type {keyof Case} */ key) => key === "symptoms" || Object.keys(told[key] ?? {}).length > 0;
  const line = (/** @type {string} */ key, /** @type {unknown} */ value) => `${key}: ${JSON.stringify(value)}`;
  return [
    "# A closed case without names. `new case ID --from FILE` makes a worked case of it; `learn DIR` reads it.",
    line("kind", "case"),
    line("title", title),
    line("reviewed", at.slice(0, 10)),
    ...KEYS.filter(isSaid).map((key) => line(key, told[key])),
    "closed:",
    `  ${line("cause", cause)}`,
    `  ${line("gone", gone)}`,
    "  steps:",
    ...stepsOf(sheet).map((step) => `    - ${JSON.stringify(step)}`),
    "",
  ].join("\n");
}

/**
 * The readings of each check that was measured more than once in one unit, the oldest first.
 * @type {(log: Entry[]) => Array<{check: string, unit: string, points: Array<{at: string, value: number}>}>}
 */
export function readingsOverTime(log) {
  /** @type {Map<string, {check: string, unit: string, points: Array<{at: string, value: number}>}>} */
  const found = new Map();
  for (const { kind, id, at, value, unit = "" } of log) {
    if (kind !== "found" || value === undefined) continue;
    const key = `${id} ${unit}`;
    const one = found.get(key) ?? { check: id, unit, points: [] };
    one.points.push({ at, value });
    found.set(key, one);
  }
  return [...found.values()].filter(({ points }) => points.length > 1);
}
