/**
 * Data room: take a state read from storage and keep only what still makes sense.
 *
 * The knowledge may have changed since, and anyone can edit their storage: unknown ids and
 * wrong types are dropped, never trusted. Nothing here touches the page.
 *
 * @import { Case, Fact, Knowledge, Reading, State } from "../knowledge/types.js"
 */
import { emptyState, toCase } from "./case.js";

/**
 * @param {unknown} value
 * @returns {Record<string, unknown>}
 */
function record(value) {
  return value !== null && typeof value === "object" && !Array.isArray(value)
    ? /** @type {Record<string, unknown>} */ (value)
    : {};
}

/**
 * Keep the texts of a list that are keys of a known collection, each once.
 * @param {unknown} value
 * @param {Record<string, unknown>} known
 * @returns {string[]}
 */
function idsIn(value, known) {
  if (!Array.isArray(value)) return [];
  const fitting = value.filter((each) => typeof each === "string" && Object.hasOwn(known, each));
  return [...new Set(fitting)];
}

/**
 * @param {unknown} value
 * @param {string[]} accepts
 * @returns {value is {value: number, unit: string}}
 */
function isQuantity(value, accepts) {
  const { value: number, unit } = record(value);
  return Number.isFinite(number) && typeof unit === "string" && accepts.includes(unit);
}

/**
 * Tell whether a fact fits the question it answers.
 * @param {Knowledge} knowledge
 * @param {string} id
 * @param {unknown} fact
 * @returns {fact is Fact}
 */
function isFact(knowledge, id, fact) {
  const context = Object.hasOwn(knowledge.contexts, id) ? knowledge.contexts[id] : undefined;
  if (!context) return false;
  if (context.type === "choice") return (context.options ?? []).some((each) => each.id === fact);
  return isQuantity(fact, context.accepts ?? [context.unit ?? ""]);
}

/**
 * Keep the value, unit and known conditions of a reading; null when it has no number.
 * @param {Knowledge} knowledge
 * @param {string} check
 * @param {unknown} value
 * @returns {Reading | null}
 */
function readingFrom(knowledge, check, value) {
  const gauge = knowledge.gauges[knowledge.checks[check]?.gauge ?? ""];
  if (!gauge || !isQuantity(value, gauge.accepts)) return null;
  const conditions = Object.entries(value).filter(([key, fact]) => isFact(knowledge, key, fact));
  const confirmed = record(value).confirmed === true ? { confirmed: true } : {};
  return { value: value.value, unit: value.unit, ...Object.fromEntries(conditions), ...confirmed };
}

/**
 * @param {Knowledge} knowledge
 * @param {Record<string, unknown>} raw
 * @returns {Pick<State, "splits" | "context" | "readings" | "outcomes">}
 */
function answersFrom(knowledge, raw) {
  /** @type {Pick<State, "splits" | "context" | "readings" | "outcomes">} */
  const kept = { splits: {}, context: {}, readings: {}, outcomes: {} };
  for (const [key, answer] of Object.entries(record(raw.splits))) {
    const [id = "", number = ""] = key.split(":");
    const question = knowledge.symptoms[id]?.ask_first?.[Number(number)];
    if (typeof answer === "number" && question?.answers[answer]) kept.splits[key] = answer;
  }
  for (const [id, fact] of Object.entries(record(raw.context))) {
    if (isFact(knowledge, id, fact)) kept.context[id] = fact;
  }
  for (const [check, value] of Object.entries(record(raw.readings))) {
    const reading = readingFrom(knowledge, check, value);
    if (reading) kept.readings[check] = reading;
  }
  for (const [check, level] of Object.entries(record(raw.outcomes))) {
    const levels = knowledge.checks[check]?.levels ?? [];
    const isKnown = levels.some((each) => each.id === level);
    if (isKnown && !kept.readings[check]) kept.outcomes[check] = String(level);
  }
  return kept;
}

/**
 * Make a whole state out of anything.
 *
 * Unknown symptoms, checks, tools, facts and levels are left out; what remains is a state
 * every other function can rely on.
 * @param {Knowledge} knowledge
 * @param {unknown} kept
 * @returns {State}
 */
export function cleanState(knowledge, kept) {
  const raw = record(kept);
  const chosen = idsIn(raw.chosen, knowledge.symptoms);
  const known = (/** @type {unknown} */ id) => idsIn([id], knowledge.checks)[0] ?? null;
  return {
    ...emptyState(),
    ...answersFrom(knowledge, raw),
    view: raw.view === "check" && chosen.length > 0 ? "check" : "say",
    chosen,
    tools: Array.isArray(raw.tools) ? idsIn(raw.tools, knowledge.tools) : null,
    notPossible: idsIn(raw.notPossible, knowledge.checks),
    picked: known(raw.picked),
    latest: known(raw.latest),
    absent: idsIn(raw.absent, knowledge.symptoms),
    mended: idsIn(raw.mended, knowledge.causes),
    repaired: idsIn([raw.repaired], knowledge.causes)[0] ?? null,
    ended: idsIn([raw.ended], knowledge.causes)[0] ?? null,
    hourValue: Number.isFinite(raw.hourValue) ? Number(raw.hourValue) : null,
    base: raw.base === undefined || raw.base === null ? null : baseFrom(knowledge, raw.base),
  };
}

/**
 * Clean the case that came in a link by the same rules as the case itself.
 * @param {Knowledge} knowledge
 * @param {unknown} base
 * @returns {Case}
 */
function baseFrom(knowledge, base) {
  const { symptoms, not_possible: notPossible, hour_value: hourValue, ...rest } = record(base);
  return toCase(knowledge, cleanState(knowledge, { ...rest, chosen: symptoms, notPossible, hourValue, base: null }));
}
