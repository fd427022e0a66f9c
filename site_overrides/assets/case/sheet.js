/**
 * Room case: the sheet that goes with a case: its nickname, its dated log, and how it ended.
 *
 * It is kept beside the state and says nothing the reasoning uses. Nothing here stores or draws.
 *
 * @import { State } from "../knowledge/types.js"
 */

import { record } from "../kit/untrusted.js";

/** Found again within this time, a result was corrected, not measured once more. */
const CORRECTION_MS = 10 * 60_000;
const MOST_ENTRIES = 300;
export const LONGEST_NAME = 60;
const LONGEST_TEXT = 200;
const ID = /^[A-Za-z0-9]{6,24}$/;

/**
 * `waiting` a check whose result is to come; `step` a repair; `new` no advice was drawn yet.
 * @typedef {"new" | "waiting" | "step" | "workshop" | "settled"} Stage
 */
const STAGES = /** @type {Stage[]} */ (["new", "waiting", "step", "workshop", "settled"]);
/** @typedef {"noticed" | "over" | "found" | "advised" | "repaired" | "bought" | "note"} EntryKind */
const KINDS = /** @type {EntryKind[]} */ (["noticed", "over", "found", "advised", "repaired", "bought", "note"]);

/**
 * One line of the log. `level` is the level found, or what a repair did; `text` the reader's words.
 * @typedef {object} Entry
 * @property {string} at an ISO date with its time
 * @property {EntryKind} kind
 * @property {string} id of a symptom, check or cause; "" for words alone
 * @property {number} [value]
 * @property {string} [unit]
 * @property {string} [level]
 * @property {string} [text]
 */
/** What the list says of a case without loading the knowledge: titles as they were last drawn. */
/** @typedef {{title: string, next: string, stage: Stage}} Line */
/** @typedef {{at: string, cause: string | null, gone: boolean}} Closed cause: null where it was not found */
/**
 * @typedef {object} Sheet
 * @property {string} id the same on every device the case was sent to
 * @property {string} name
 * @property {string} started
 * @property {string} changed
 * @property {Line} line
 * @property {Entry[]} log the oldest first
 * @property {Closed | null} closed
 */

/** Begin a sheet. @type {(at: string, id?: string) => Sheet} */
export function newSheet(at, id = freshId()) {
  return { id, name: "", started: at, changed: at, line: { title: "", next: "", stage: "new" }, log: [], closed: null };
}

/** Draw the id of a case. */
export function freshId() {
  const letters = "abcdefghijkmnpqrstuvwxyz23456789";
  return [...crypto.getRandomValues(new Uint8Array(12))].map((byte) => letters[byte % letters.length]).join("");
}

/** Tell whether a text can be the id of a case. @type {(id: unknown) => id is string} */
export function isCaseId(id) {
  return typeof id === "string" && ID.test(id);
}

/** @type {(value: unknown, longest?: number) => string} */
function text(value, longest = LONGEST_TEXT) {
  return typeof value === "string" ? value.slice(0, longest) : "";
}

/** Read a date; null for what is none, or one no case can have. @type {(value: unknown) => string | null} */
function dateIn(value) {
  const time = typeof value === "string" ? Date.parse(value) : Number.NaN;
  return time > 0 && time < 4e12 ? new Date(time).toISOString() : null;
}

/**
 * @param {unknown} given
 * @returns {Entry[]} nothing, or the line as it can be used
 */
function entryIn(given) {
  const { at, kind, id, value, unit, level, text: words } = record(given);
  const date = dateIn(at);
  const known = KINDS.find((each) => each === kind);
  if (date === null || !known) return [];
  /** @type {Entry} */
  const entry = { at: date, kind: known, id: text(id) };
  if (typeof value === "number" && Number.isFinite(value)) Object.assign(entry, { value, unit: text(unit, 20) });
  if (text(level) !== "") entry.level = text(level);
  if (text(words) !== "") entry.text = text(words);
  return [entry];
}

/** @type {(given: unknown) => Closed | null} */
function closedIn(given) {
  const { at, cause, gone } = record(given);
  const date = dateIn(at);
  if (date === null) return null;
  return { at: date, cause: typeof cause === "string" ? text(cause) : null, gone: gone === true };
}

/**
 * Read a log whose shape is not trusted: what cannot be used is left out, the rest put in order.
 * @type {(given: unknown) => Entry[]}
 */
export function logIn(given) {
  const entries = Array.isArray(given) ? given.slice(-MOST_ENTRIES).flatMap(entryIn) : [];
  return entries.sort((a, b) => (a.at < b.at ? -1 : a.at > b.at ? 1 : 0));
}

/**
 * Read a sheet that was kept or came in a file; null where it has no id of its own.
 * @type {(given: unknown) => Sheet | null}
 */
export function adoptSheet(given) {
  const { id, name, started, changed, line, log, closed } = record(given);
  if (!isCaseId(id)) return null;
  const { title, next, stage } = record(line);
  const last = dateIn(changed) ?? new Date(0).toISOString();
  return {
    id,
    name: text(name, LONGEST_NAME),
    started: dateIn(started) ?? last,
    changed: last,
    line: { title: text(title), next: text(next), stage: STAGES.find((each) => each === stage) ?? "new" },
    log: logIn(log),
    closed: closedIn(closed),
  };
}

/**
 * The sheet of a kept record. One of an older edition has none: its id is made of what it says,
 * so that it is the same each time it is asked for.
 * @param {Record<string, unknown> | null} kept
 * @returns {Sheet | null} null where no case is kept
 */
export function sheetOf(kept) {
  const sheet = adoptSheet(kept?.sheet);
  if (sheet || kept === null || Object.keys(record(kept.state)).length === 0) return sheet;
  let sum = 7;
  for (const sign of JSON.stringify(kept.state)) sum = (sum * 31 + sign.charCodeAt(0)) % 0xffff_ffff_ffff;
  return newSheet(new Date().toISOString(), `old${sum.toString(36)}old`);
}

/**
 * @param {Entry} entry
 * @returns {string} what it says, but for when
 */
function said({ kind, id, value, unit, level, text: words }) {
  return JSON.stringify([kind, id, value, unit, level, words]);
}

/** Kinds that speak of what was noticed or found: one holds until another of the same id. */
const FOUND = new Set(["noticed", "over", "found", "repaired"]);

/** What the state says now, as lines of the log. @type {(state: State, at: string) => Entry[]} */
function linesOf(state, at) {
  const found = (/** @type {string} */ id, /** @type {Partial<Entry>} */ what) =>
    /** @type {Entry} */ ({ at, kind: "found", id, ...what });
  return [
    ...state.chosen.map((id) => /** @type {Entry} */ ({ at, kind: "noticed", id })),
    ...state.past.map((id) => /** @type {Entry} */ ({ at, kind: "over", id })),
    ...Object.entries(state.readings).map(([id, { value, unit }]) => found(id, { value, unit })),
    ...Object.entries(state.outcomes).map(([id, level]) => found(id, { level })),
    ...state.mended.map((id) => /** @type {Entry} */ ({ at, kind: "repaired", id, level: "same" })),
    ...Object.entries(state.helped).map(([id, level]) => /** @type {Entry} */ ({ at, kind: "repaired", id, level })),
  ];
}

/**
 * Bring the log up to what the state says. A line of the last minutes that no longer holds was a
 * slip and goes; one that is older, or that stood before a repair, stays: it was so then.
 * @type {(sheet: Sheet, state: State, at: string) => Sheet}
 */
export function logged(sheet, state, at) {
  const lines = linesOf(state, at);
  const now = new Set(lines.map(said));
  const known = new Set(sheet.log.map(said));
  const isRepair = lines.some((one) => one.kind === "repaired" && !known.has(said(one)));
  const holds = sheet.log.map((one) => one.kind === "repaired" && now.has(said(one)));
  const repair = isRepair ? sheet.log.length : holds.lastIndexOf(true);
  const isSlip = (/** @type {Entry} */ one, /** @type {number} */ place) =>
    place > repair && FOUND.has(one.kind) && !now.has(said(one)) && Date.parse(at) - Date.parse(one.at) < CORRECTION_MS;
  const kept = sheet.log.filter((one, place) => !isSlip(one, place));
  const last = new Map(kept.filter(({ kind }) => FOUND.has(kind)).map((one) => [one.id, said(one)]));
  const fresh = lines.filter((one) => last.get(one.id) !== said(one));
  if (fresh.length === 0 && kept.length === sheet.log.length) return sheet;
  return { ...sheet, log: [...kept, ...fresh].slice(-MOST_ENTRIES) };
}

/**
 * Note what is advised now; the same advice as before is no news.
 * @type {(sheet: Sheet, advised: {line: Line, step: string}, at: string) => Sheet}
 * @param advised step: the id of a check or cause, "" for none
 */
export function advisedNow(sheet, { line, step }, at) {
  const former = sheet.log.filter(({ kind }) => kind === "advised").at(-1);
  const told = { ...sheet, line };
  if (step === "" || former?.id === step) return told;
  const isPassing = former && Date.parse(at) - Date.parse(former.at) < CORRECTION_MS && sheet.log.at(-1) === former;
  const before = isPassing ? sheet.log.slice(0, -1) : sheet.log;
  return {
    ...told,
    log: [.../** @type {Entry[]} */ (before), { at, kind: /** @type {const} */ ("advised"), id: step }].slice(
      -MOST_ENTRIES,
    ),
  };
}

/**
 * Add a line in the reader's own words.
 * @type {(sheet: Sheet, line: {at: string, kind: "bought" | "note", id: string, text: string}) => Sheet}
 */
export function withEntry(sheet, { at, kind, id, text: words }) {
  return { ...sheet, log: logIn([...sheet.log, { at, kind, id, text: words.trim() }]) };
}

/**
 * Lay the log of another copy of the same case into this one: each line once.
 * @type {(sheet: Sheet, theirs: Entry[]) => Sheet}
 */
export function withLog(sheet, theirs) {
  const key = (/** @type {Entry} */ one) => `${one.at.slice(0, 16)} ${said(one)}`;
  const mine = new Set(sheet.log.map(key));
  return { ...sheet, log: logIn([...sheet.log, ...theirs.filter((one) => !mine.has(key(one)))]) };
}

/** The stage of a case as the list shows it. @type {(sheet: Sheet) => Stage} */
export function stageOf({ line, closed }) {
  return closed ? "settled" : line.stage;
}
