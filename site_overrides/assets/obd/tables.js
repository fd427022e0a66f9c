/**
 * Data room: the compiled data of the readiness pages, and plain words made from it.
 *
 * Sentences come with the data; here they are only filled in. It decides nothing.
 *
 * @import { Knowledge } from "../knowledge/types.js"
 * @import { SumEntry } from "../measure/words.js"
 * @import { CodeRow } from "./codes.js"
 * @import { Reason } from "./inspection.js"
 * @import { Inspection, Monitor, Segment } from "../knowledge/readiness-types.js"
 */

import { listed } from "../kit/figures.js";
import { fill } from "../kit/sentences.js";
import { completeKnowledge, loadKnowledge } from "../knowledge/knowledge.js";

/**
 * @typedef {object} Tables
 * @property {Record<string, Monitor>} monitors
 * @property {Record<string, Inspection>} inspections
 * @property {Record<string, CodeRow>} codes
 * @property {Segment[]} segments
 * @property {Known["sources"]} sources
 * @property {Record<string, {title: string, unit: string}>} metrics
 * @property {Record<"states" | "warnings" | "this_trip" | "results" | "reasons" | "flags" | "marks" | "gaps" | "place_parts"
 *   | "cautions" | "plan_notes" | "plan_states" | "plan_loads" | "plan_stops" | "log_states" | "trip" | "hints" | "run_states" | "standings" | "steps"
 *   | "ratios" | "families" | "relations" | "values" | "lamp_check",
 *   Record<string, string>> & {ask_anywhere: string[]}} words
 */
/** @typedef {Knowledge & {sums: Record<string, SumEntry>}} Known */

/**
 * Fetch the readiness data and what the forms need of the knowledge; `complete` fetches the rest
 * of it, in place.
 * @returns {Promise<{knowledge: Known, tables: Tables, complete: () => Promise<void>}>}
 */
export async function loadFirst() {
  const [knowledge, tables] = await Promise.all([
    loadKnowledge(new URL("../data/checker.json", import.meta.url)),
    loadKnowledge(new URL("../data/readiness.json", import.meta.url)),
  ]);
  const read = /** @type {Tables} */ (/** @type {unknown} */ (tables));
  // The checker's parts hold no sources; what these pages cite comes with their own data.
  const known = /** @type {Known} */ ({ ...knowledge, sources: read.sources });
  // The same two parts as the checker, so that a device keeps them once.
  const complete = () => completeKnowledge(known, new URL("../data/checker-later.json", import.meta.url));
  return { knowledge: known, tables: read, complete };
}

/** Fetch the knowledge and the readiness data together. @returns {Promise<{knowledge: Known, tables: Tables}>} */
export async function loadBoth() {
  const { complete, ...both } = await loadFirst();
  await complete();
  return both;
}

/** Say the title of a monitor; an unknown id stays readable. @type {(tables: Tables, id: string) => string} */
export function monitorTitle(tables, id) {
  return tables.monitors[id]?.title ?? id.replaceAll("-", " ");
}

/** Say a title as it stands inside a sentence; names like EGR keep their capitals. @type {(title: string) => string} */
export function inside(title) {
  const second = title.charAt(1);
  return second !== second.toLowerCase() ? title : title.charAt(0).toLowerCase() + title.slice(1);
}

/**
 * Join the titles of monitors into one phrase.
 * @type {(tables: Tables, ids: readonly string[], joint?: string) => string}
 */
export function monitorList(tables, ids, joint = "and") {
  return listed(
    ids.map((id) => inside(monitorTitle(tables, id))),
    joint,
  );
}

/** Raise the first letter. @type {(text: string) => string} */
export function upperFirst(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/**
 * Put a reason into its sentence; a readout's state has its own.
 * @type {(tables: Tables, rule: Inspection, reason: Reason) => string}
 */
export function reasonSentence(tables, rule, { id, number, limit, monitors }) {
  const { reasons, states } = tables.words;
  const sentence = reasons[id] ?? states[id.replace(/^readout-/, "")] ?? "";
  const names = monitorList(tables, monitors);
  const outcome = rule.not_ready?.says.replace(/\.$/, "") ?? "";
  return fill(sentence, { number: number ?? "", limit: limit ?? "", monitors: names, outcome });
}

/** Say a range of model years. @type {(first: number | null, last: number | null) => string} */
export function yearsWords(first, last) {
  if (first === null) return last === null ? "all model years" : `model years to ${last}`;
  if (last === null) return `model years from ${first}`;
  return first === last ? `model year ${first}` : `model years ${first} to ${last}`;
}
