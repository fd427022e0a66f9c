/**
 * Room case: the cases on this device: the current one, and the others on a shelf beside it.
 *
 * Each case on the shelf has a key of its own, so that one that finds no room costs no other.
 * A case is put away before another takes its place; nothing leaves the device.
 *
 * @import { Sheet } from "./sheet.js"
 * @import { Outcome } from "../kit/store.js"
 */
import { keepLine } from "../kit/kept-line.js";
import { Store } from "../kit/store.js";
import { advisedNow, logged, newSheet, sheetOf, withLog } from "./sheet.js";

export const CASE_KEY = "before-parts-case";
const PREFIX = `${CASE_KEY}-`;

export const caseStore = new Store(CASE_KEY);

/** A case as it is kept; its state is fitted to the knowledge by who shows it. */
/** @typedef {{sheet: Sheet, state: Record<string, unknown>, isCurrent: boolean}} KeptCase */

/** @type {(given: Record<string, unknown> | null, isCurrent: boolean) => KeptCase | null} */
function caseIn(given, isCurrent) {
  const sheet = sheetOf(given);
  const state = given?.state;
  if (!sheet || state === null || typeof state !== "object") return null;
  return { sheet, state: /** @type {Record<string, unknown>} */ (state), isCurrent };
}

/** @param {string} id */
function shelfStore(id) {
  const store = new Store(PREFIX + id);
  store.read();
  return store;
}

/** @param {string} id */
function shelved(id) {
  return new Store(PREFIX + id).stored().record;
}

/** @returns {string[]} */
function shelvedIds() {
  try {
    const keys = Array.from({ length: localStorage.length }, (_, place) => localStorage.key(place) ?? "");
    return keys.filter((key) => key.startsWith(PREFIX)).map((key) => key.slice(PREFIX.length));
  } catch {
    return [];
  }
}

/** List the cases on this device, the one changed last first. @returns {KeptCase[]} */
export function allCases() {
  const current = caseIn(caseStore.stored().record, true);
  const others = shelvedIds()
    .map((id) => caseIn(shelved(id), false))
    .filter((one) => one !== null && one.sheet.id !== current?.sheet.id);
  const all = /** @type {KeptCase[]} */ ([current, ...others].filter((one) => one !== null));
  return all.sort((a, b) => (a.sheet.changed < b.sheet.changed ? 1 : -1));
}

/** Find a case by its id, the current one first. @type {(id: string) => KeptCase | null} */
export function caseById(id) {
  const current = caseIn(caseStore.stored().record, true);
  return current?.sheet.id === id ? current : caseIn(shelved(id), false);
}

/** Keep a case on the shelf. @type {(sheet: Sheet, state: object) => Outcome} */
export function shelve(sheet, state) {
  const former = shelved(sheet.id);
  const kept = shelfStore(sheet.id).write({ state, sheet });
  // The store drops what it could not keep whole; an older copy of this case is better than none.
  if (kept !== "kept" && former !== null) shelfStore(sheet.id).write({ state: former.state, sheet: former.sheet });
  return kept;
}

/** @param {string} id */
function unshelve(id) {
  shelfStore(id).forget();
}

/** @param {KeptCase} one */
function saysNothing({ sheet, state }) {
  const isBare = (/** @type {unknown} */ part) => Object.keys(part ?? {}).length === 0;
  return sheet.name === "" && ["chosen", "context", "readings", "outcomes", "past"].every((key) => isBare(state[key]));
}

/**
 * Put the current case on the shelf; whoever comes next begins with none.
 * @returns {Outcome} "kept" also where there was no case to put away
 */
export function putAway() {
  const current = caseIn(caseStore.read(), true);
  if (current && !saysNothing(current)) {
    const kept = shelve(current.sheet, current.state);
    if (kept !== "kept") return kept;
  }
  caseStore.forget();
  keepLine(null);
  return "kept";
}

/** Make a case of the shelf the current one. @type {(id: string) => Outcome} */
export function takeDown(id) {
  const wanted = caseById(id);
  if (!wanted || wanted.isCurrent) return "kept";
  const away = putAway();
  if (away !== "kept") return away;
  const kept = caseStore.write({ state: wanted.state, past: [], sheet: wanted.sheet });
  if (kept === "kept") unshelve(id);
  return kept;
}

/**
 * Change a case wherever it is kept.
 * @type {(id: string, change: (one: KeptCase) => {sheet: Sheet, state?: object}) => Outcome}
 */
export function changeCase(id, change) {
  const one = caseById(id);
  if (!one) return "overtaken";
  const { sheet, state = one.state } = change(one);
  if (!one.isCurrent) return shelve(sheet, state);
  const past = caseStore.read()?.past ?? [];
  return caseStore.write({ state, past, sheet });
}

/**
 * Keep a case that was made outside the checker, or what became of one that is kept already.
 * @type {(about: import("./case-link.js").About & {id: string}, state: import("../knowledge/types.js").State,
 *   advised: {line: import("./sheet.js").Line, step: string}) => Outcome}
 */
export function keepCase({ id, log }, state, advised) {
  const at = new Date().toISOString();
  const one = caseById(id);
  const told = logged(withLog(one?.sheet ?? newSheet(at, id), log), state, at);
  const sheet = { ...advisedNow(told, advised, at), changed: at };
  return one ? changeCase(id, () => ({ sheet, state })) : shelve(sheet, state);
}

/**
 * Take a case off this device.
 * @param {string} id
 * @returns {() => Outcome} what brings it back
 */
export function removeCase(id) {
  const one = caseById(id);
  unshelve(id);
  if (!one) return () => "kept";
  if (!one.isCurrent) return () => shelve(one.sheet, one.state);
  caseStore.forget();
  keepLine(null);
  return () => shelve(one.sheet, one.state);
}

/** Hear when another page changes any case. @param {() => void} heard */
export function watchCases(heard) {
  addEventListener("storage", ({ key }) => {
    if (key === null || key.startsWith(CASE_KEY)) heard();
  });
  addEventListener("pageshow", ({ persisted }) => {
    if (persisted) heard();
  });
}
