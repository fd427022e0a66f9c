/**
 * Room case: the case as one object, and every way it can change.
 *
 * Each change returns a new state, so undo is a list of former ones. Nothing here reasons,
 * stores or touches the page. What was read from outside goes through `adoptState`.
 *
 * @import { Case, Fact, Knowledge, Reading, State } from "../knowledge/types.js"
 */

/** Begin an empty case. @returns {State} */
export function emptyState() {
  return {
    format: 1,
    view: "say",
    chosen: [],
    splits: {},
    context: {},
    readings: {},
    outcomes: {},
    tools: null,
    toolsAsked: false,
    notPossible: [],
    picked: null,
    latest: null,
    absent: [],
    mended: [],
    helped: {},
    past: [],
    order: [],
    repaired: null,
    ended: null,
    hourValue: null,
    base: null,
  };
}

/**
 * Leave one key out of a record.
 * @template T
 * @param {Record<string, T>} record
 * @param {string} key
 * @returns {Record<string, T>}
 */
export function without(record, key) {
  return Object.fromEntries(Object.entries(record).filter(([name]) => name !== key));
}

/**
 * Add a symptom, or take it away with the answers that hung on it.
 * @type {(state: State, id: string, isSo: boolean) => State}
 */
export function setSymptom(state, id, isSo) {
  const others = state.chosen.filter((each) => each !== id);
  const absent = state.absent.filter((each) => each !== id);
  const past = state.past.filter((each) => each !== id);
  if (isSo)
    return { ...returned(state), absent, past, chosen: state.chosen.includes(id) ? state.chosen : [...others, id] };
  const splits = Object.entries(state.splits).filter(([key]) => !key.startsWith(`${id}:`));
  return { ...state, chosen: others, splits: Object.fromEntries(splits) };
}

/** Take the trouble as there: a repair that had ended it no longer did. @type {(state: State) => State} */
function returned(state) {
  if (state.ended === null) return state;
  return { ...state, ended: null, helped: without(state.helped, state.ended) };
}

/** Note that something was told after all that is known. @type {(state: State, id: string) => State} */
export function toldLast(state, id) {
  return { ...state, order: [...state.order.filter((each) => each !== id), id] };
}

/**
 * Say that a symptom which holds was there and is over.
 * @type {(knowledge: Knowledge, state: State, id: string) => State}
 */
export function setPast(knowledge, state, id) {
  const meant = state.chosen.filter((each) => settledSymptoms(knowledge, { ...state, chosen: [each] }).includes(id));
  const left = meant.reduce((now, each) => setSymptom(now, each, false), state);
  return { ...left, past: [...left.past.filter((each) => each !== id), id] };
}

/**
 * Answer a splitting question of a symptom; null takes the answer back.
 * @type {(state: State, id: string, question: number, answer: number | null) => State}
 */
export function answerSplit(state, id, question, answer) {
  const key = `${id}:${question}`;
  const rest = without(state.splits, key);
  return { ...state, splits: answer === null ? rest : { ...rest, [key]: answer } };
}

/** Say that a symptom is not so, or take that back. @type {(state: State, id: string, isAbsent: boolean) => State} */
export function setAbsent(state, id, isAbsent) {
  const others = state.absent.filter((each) => each !== id);
  const past = state.past.filter((each) => each !== id);
  return { ...state, past, absent: isAbsent ? [...others, id] : others };
}

/** Set a fact about the car; null means not known. @type {(state: State, id: string, fact: Fact | null) => State} */
export function setFact(state, id, fact) {
  const rest = without(state.context, id);
  const isNew = JSON.stringify(state.context[id]) !== JSON.stringify(fact ?? undefined);
  return { ...(isNew ? toldLast(state, id) : state), context: fact === null ? rest : { ...rest, [id]: fact } };
}

/** Say which tools are at hand; null means any of them. @type {(state: State, tools: string[] | null) => State} */
export function setTools(state, tools) {
  return { ...state, tools, toolsAsked: true };
}

/**
 * Enter a reading for a check. It takes the place of anything found there before.
 * @type {(state: State, check: string, reading: Reading) => State}
 */
export function setReading(state, check, reading) {
  const cleared = toldLast(clearResult(state, check), check);
  return { ...cleared, readings: { ...cleared.readings, [check]: reading }, latest: check };
}

/**
 * Enter a level for a check. It takes the place of anything found there before.
 * @type {(state: State, check: string, level: string) => State}
 */
export function setOutcome(state, check, level) {
  const cleared = toldLast(clearResult(state, check), check);
  return { ...cleared, outcomes: { ...cleared.outcomes, [check]: level }, latest: check };
}

/**
 * Take back the result of a check, and any word that it cannot be made.
 * @type {(state: State, check: string) => State}
 */
export function clearResult(state, check) {
  return {
    ...returned(state),
    order: state.order.filter((each) => each !== check),
    readings: without(state.readings, check),
    outcomes: without(state.outcomes, check),
    notPossible: state.notPossible.filter((each) => each !== check),
    picked: state.picked === check ? null : state.picked,
    repaired: null,
    latest: state.latest === check ? null : state.latest,
  };
}

/** Say that a check cannot be made here. @type {(state: State, check: string) => State} */
export function setNotPossible(state, check) {
  const cleared = clearResult(state, check);
  return { ...cleared, notPossible: [...cleared.notPossible, check], latest: null };
}

/**
 * Ask for a check other than the advised one; null returns to the advice.
 * @type {(state: State, check: string | null) => State}
 */
export function pickCheck(state, check) {
  return { ...state, picked: check };
}

/**
 * List the symptoms that hold once the splitting questions are answered.
 *
 * An answer that names another symptom puts it in the place of the one first picked: the
 * words meant the other thing. Order is kept, each symptom stands once.
 * @type {(knowledge: Knowledge, state: State) => string[]}
 */
export function settledSymptoms(knowledge, state) {
  const settled = state.chosen.flatMap((id) => {
    const questions = knowledge.symptoms[id]?.ask_first ?? [];
    const meant = questions.flatMap((question, number) => {
      const answer = question.answers[state.splits[`${id}:${number}`] ?? -1];
      return answer ? [answer.symptom] : [];
    });
    const others = meant.filter((each) => each !== id);
    return others.length > 0 ? others : [id];
  });
  return [...new Set(settled)];
}

/** The answer "not sure" to a splitting question: asked, and nothing follows. */
export const NOT_SURE = -1;

/** Questions of a symptom asked before the first step; another would cost more taps than it saves. */
export const MOST_FIRST = 2;

/**
 * Find the next splitting question nobody has answered. Once an answer turned a symptom into
 * another, the rest of its questions are about something else.
 * @type {(knowledge: Knowledge, state: State, most?: number) => {id: string, number: number} | null}
 * @param most of each symptom: how many of its questions may be asked
 */
export function nextQuestion(knowledge, state, most) {
  for (const id of state.chosen) {
    const questions = (knowledge.symptoms[id]?.ask_first ?? []).slice(0, most);
    const number = questions.findIndex((_, place) => state.splits[`${id}:${place}`] === undefined);
    const isStill = settledSymptoms(knowledge, { ...state, chosen: [id] }).includes(id);
    if (number >= 0 && isStill) return { id, number };
  }
  return null;
}

/**
 * Turn to what comes next on the way from the symptom to the advice.
 * @type {(knowledge: Knowledge, state: State) => State}
 */
export function goOn(knowledge, state) {
  const isAsked = state.toolsAsked && nextQuestion(knowledge, state, MOST_FIRST) === null;
  return { ...state, view: isAsked ? "check" : "ask" };
}

/**
 * List what was told after everything that changes it: such as a reading after a charge.
 * @type {(knowledge: Knowledge, state: State) => string[]}
 */
function toldAgain({ checks, causes }, { order }) {
  const changes = (/** @type {string} */ id) => [
    ...(checks[id]?.levels ?? []).flatMap(({ resets = [] }) => resets),
    ...Object.keys(causes[id]?.repair.sets ?? {}),
  ];
  return order.filter((id, place) => {
    const by = order.map((other, at) => (changes(other).includes(id) ? at : -1)).filter((at) => at >= 0);
    return by.length > 0 && by.every((at) => at < place);
  });
}

/** Write the case the reasoning is asked. @type {(knowledge: Knowledge, state: State) => Case} */
export function toCase(knowledge, state) {
  /** @type {Case} */
  const asked = {
    symptoms: settledSymptoms(knowledge, state),
    context: state.context,
    readings: state.readings,
    outcomes: state.outcomes,
    not_possible: state.notPossible,
  };
  const absent = state.absent.filter((id) => !asked.symptoms.includes(id));
  if (absent.length > 0) asked.absent = absent;
  if (state.tools !== null) asked.tools = state.tools;
  if (state.mended.length > 0) asked.mended = state.mended;
  if (Object.keys(state.helped).length > 0) asked.helped = state.helped;
  const past = state.past.filter((id) => !asked.symptoms.includes(id) && !absent.includes(id));
  if (past.length > 0) asked.past = past;
  const again = toldAgain(knowledge, state);
  if (again.length > 0) asked.again = again;
  if (state.hourValue !== null) asked.hour_value = state.hourValue;
  return asked;
}

/**
 * Begin a state from a case that came in a link. Its symptoms are settled already.
 * @param {Case} car
 * @param {Case | null} base what later changes are compared with
 * @returns {State}
 */
export function fromCase(car, base) {
  const helped = car.helped ?? {};
  // Only what was told again is known to come last.
  const order = [...Object.keys(car.outcomes), ...(car.mended ?? []), ...Object.keys(helped), ...(car.again ?? [])];
  return {
    ...emptyState(),
    view: car.symptoms.length > 0 ? "check" : "say",
    chosen: car.symptoms,
    context: car.context,
    readings: car.readings,
    outcomes: car.outcomes,
    tools: car.tools ?? null,
    toolsAsked: true,
    notPossible: car.not_possible,
    absent: car.absent ?? [],
    mended: car.mended ?? [],
    helped,
    past: car.past ?? [],
    order: order.filter((id, place) => order.lastIndexOf(id) === place),
    ended: Object.keys(helped).find((id) => helped[id] === "gone") ?? null,
    hourValue: car.hour_value ?? null,
    base,
  };
}

/** Tell whether anything was said or found yet. @param {State} state */
export function isBlank(state) {
  return (
    state.chosen.length === 0 &&
    state.absent.length === 0 &&
    madeChecks(state).length === 0 &&
    Object.keys(state.context).length === 0 &&
    state.notPossible.length === 0 &&
    state.mended.length === 0 &&
    state.past.length === 0 &&
    Object.keys(state.helped).length === 0
  );
}

/** List the checks that have a result, in the order they were entered. @type {(state: State) => string[]} */
export function madeChecks(state) {
  return [...Object.keys(state.readings), ...Object.keys(state.outcomes)];
}
