/**
 * Room case: the current case on this device, as every page reads and changes it.
 *
 * What is read back is fitted to the knowledge of today by the rules that links follow. Nothing
 * is sent anywhere.
 *
 * @import { Outcome } from "../kit/store.js"
 * @import { Former } from "../knowledge/link-words.js"
 * @import { Case, Fact, Knowledge, Reading, State } from "../knowledge/types.js"
 * @import { Change } from "./case-adopt.js"
 * @import { About } from "./case-link.js"
 * @import { Line, Sheet } from "./sheet.js"
 */
import { keepLine } from "../kit/kept-line.js";
import { linkBook } from "../knowledge/link-words.js";
import { setFact, setReading } from "./case.js";
import { adoptState } from "./case-adopt.js";
import { advisedNow, logged, newSheet, sheetOf, withLog } from "./sheet.js";
import { caseById, caseStore, putAway, shelve, takeDown } from "./shelf.js";

export const MOST_UNDO = 20;
/** Conditions that differ from one reading to the next and say nothing lasting about the car. */
export const MOMENTARY = new Set(["rest", "cranking-current"]);

/** @type {Sheet | null} of the case this page goes on from, also while the browser keeps nothing */
let sheet = null;

/** @type {Record<string, Former>} former names, once they were needed */
let redirects = {};

/**
 * Fit a record of the store to today's knowledge.
 * @type {(knowledge: Knowledge, record: Record<string, unknown> | null) =>
 *   {state: State, past: State[], changes: Change[]}}
 */
function fitted(knowledge, record) {
  const { state, changes } = adoptState(knowledge, redirects, record?.state);
  const past = Array.isArray(record?.past) ? record.past.slice(-MOST_UNDO) : [];
  return { state, changes, past: past.map((each) => adoptState(knowledge, redirects, each).state) };
}

/**
 * Fetch the former names when the kept case names what is not known today. Without a connection
 * those names stay unknown.
 * @param {Knowledge} knowledge all of it
 */
export async function learnFormerNames(knowledge) {
  const { record } = caseStore.stored();
  if (record === null || fitted(knowledge, record).changes.length === 0) return;
  try {
    ({ redirects } = await linkBook());
  } catch {
    // The names that are unknown are told to the reader by whoever shows the case.
  }
}

/**
 * Look at the kept case without going on from it; an empty one if there is none.
 * @type {(knowledge: Knowledge) => State}
 */
export function keptCase(knowledge) {
  return fitted(knowledge, caseStore.stored().record).state;
}

/** Take up the kept case: what this page writes from now on follows it. @param {Knowledge} knowledge */
export function takeKeptCase(knowledge) {
  const record = caseStore.read();
  sheet = sheetOf(record);
  return fitted(knowledge, record);
}

/**
 * Keep the case as it stands now, and log what is new in it.
 * @param {State} state
 * @param {State[]} past for undo
 * @returns {Outcome}
 */
export function writeCase(state, past) {
  const at = new Date().toISOString();
  const isNew = JSON.stringify(caseStore.stored().record?.state) !== JSON.stringify(state);
  const told = logged(sheet ?? newSheet(at), state, at);
  sheet = isNew || told !== sheet ? { ...told, changed: at } : told;
  return caseStore.write({ state, past, sheet });
}

/**
 * Keep what is advised on the case as it stands.
 * @type {(now: {state: State, past: State[]}, advised: {line: Line, step: string}) => Outcome}
 */
export function writeAdvice({ state, past }, advised) {
  const at = new Date().toISOString();
  sheet = advisedNow(sheet ?? newSheet(at), advised, at);
  return caseStore.write({ state, past, sheet });
}

/** Take the case off this device. @returns {() => void} what lets the next writing go on with its log */
export function forgetCase() {
  const former = sheet;
  sheet = null;
  caseStore.forget();
  keepLine(null);
  return () => {
    sheet = former;
  };
}

/** Let this page's case go on over what another page wrote; another case goes on the shelf. @returns {Outcome} */
export function takeOverCase() {
  const { record } = caseStore.stored();
  const other = sheetOf(record);
  if (other && other.id !== sheet?.id) {
    const kept = shelve(other, /** @type {object} */ (record?.state));
    if (kept !== "kept") return kept;
  }
  caseStore.takeOver();
  return "kept";
}

/**
 * Turn to the case a link belongs to: the one of its id, or none yet. The case of this page goes
 * on the shelf if it is another. What is kept then has to be taken up.
 * @param {string | null} id
 * @returns {Outcome} anything but "kept" where there is no room for two
 */
export function turnToCase(id) {
  if (id !== null && sheet?.id === id) return "kept";
  return id !== null && caseById(id) ? takeDown(id) : putAway();
}

/** Go on with the id and the log that came in a link. @param {About} about */
export function joinLog({ id, log }) {
  sheet = withLog(sheet ?? newSheet(new Date().toISOString(), id ?? undefined), log);
}

/** What goes with the case in a link: its id, and its log. @returns {About} */
export function aboutCase() {
  return { id: sheet?.id ?? null, log: sheet?.log ?? [] };
}

/**
 * Enter a reading with what it says about the car.
 * @type {(state: State, check: string, reading: Reading, asked: string[]) => State}
 * @param asked the conditions asked for; one that is not given is unknown again
 */
export function withReading(state, check, reading, asked) {
  const lasting = asked.filter((id) => !MOMENTARY.has(id) && id !== "meter");
  const noted = lasting.reduce((now, id) => setFact(now, id, /** @type {Fact} */ (reading[id] ?? null)), state);
  return setReading(noted, check, reading);
}

/**
 * Put a reading into the kept case; one with a symptom goes on to the checks. Undo in the
 * checker takes it back.
 * @param {Knowledge} knowledge
 * @param {{check: string, value: number, unit: string, conditions: Record<string, Fact>, confirmed?: boolean}} given
 * @returns {boolean} false when the browser keeps nothing
 */
export function handOver(knowledge, { check, value, unit, conditions, confirmed }) {
  const { state, past } = takeKeptCase(knowledge);
  const reading = { value, unit, ...conditions, ...(confirmed ? { confirmed } : {}) };
  const view = state.chosen.length > 0 ? /** @type {const} */ ("check") : state.view;
  const next = { ...withReading(state, check, reading, Object.keys(conditions)), view };
  return writeCase(next, [...past, state].slice(-MOST_UNDO)) === "kept";
}

/**
 * Go on in the checker with a case that another page made of the kept one. Undo takes it back.
 * @param {Knowledge} knowledge
 * @param {Case} car
 * @returns {boolean} false when the browser keeps nothing
 */
export function handOverCase(knowledge, { symptoms, context, readings, outcomes }) {
  const { state, past } = takeKeptCase(knowledge);
  const absent = state.absent.filter((id) => !symptoms.includes(id));
  /** @type {State} */
  const next = { ...state, chosen: symptoms, absent, context, readings, outcomes, view: "check" };
  return writeCase(next, [...past, state].slice(-MOST_UNDO)) === "kept";
}
