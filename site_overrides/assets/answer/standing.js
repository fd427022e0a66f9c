/**
 * Room answer: how a clause stands: told of this car as it is now, or past, denied, somebody
 * else's car, or advice that was heard.
 *
 * @import { Met } from "./phrases.js"
 * @import { Clause } from "./tokens.js"
 */

/** @typedef {"" | "past" | "denied" | "other" | "advice"} Standing */

/** "But that was fixed": what ends a thing says little else. */
const MOST_WORDS_OF_END = 6;

/**
 * Say how each clause stands.
 * @param {Clause[]} clauses
 * @param {Met[][]} met the phrases of each clause
 * @returns {Standing[]}
 */
export function standings(clauses, met) {
  let isOther = false;
  let isPast = false;
  let isHeard = false;
  let sentence = -1;
  // Who writes for another names that car first; beside a car of their own it is the other one.
  const hasOwn = met.some((found) => found.some(({ kind }) => kind === "own"));
  const told = clauses.map((clause, place) => {
    const found = met[place] ?? [];
    const has = (/** @type {string} */ kind, /** @type {string} */ value) =>
      found.some((one) => one.kind === kind && one.value === value);
    if (clause.sentence !== sentence) [isPast, isOther, isHeard] = [false, false, false];
    sentence = clause.sentence;
    const isOwn = has("own", "car");
    if (has("other", "car")) isOther = hasOwn || clause.sentence > 0;
    else if (isOwn) isOther = false;
    const isNow = has("past", "not") || clause.opened === "but" || clause.opened === "now";
    if (has("past", "gone")) isPast = true;
    else if (isNow) isPast = false;
    else if (has("past", "")) isPast = true;
    if (isOther) return "other";
    if (isPast) return "past";
    if (isOwn || clause.opened === "but") isHeard = false;
    else if (has("advice", "all")) isHeard = true;
    if (clause.quoted || isHeard) return "advice";
    const denied = found.filter(({ kind }) => kind === "denied" || kind === "fine");
    // "Nothing left on" is no failure, though "nothing" alone is one.
    const isFailing = found.some(
      (one) => one.kind === "malfunction" && !denied.some(({ from, to }) => from <= one.from && one.to <= to),
    );
    return denied.length > 0 && !isFailing ? "denied" : "";
  });
  for (const place of clauses.keys()) if (isCure(clauses, met, place)) endBefore(clauses, met, told, place);
  for (const place of clauses.keys()) {
    if (told[place] === "past" && isEnd(clauses, met, place) && told[place - 1] === "") told[place - 1] = "past";
  }
  return told;
}

/**
 * Tell whether a clause says that all is well since something was done, and nothing soon after says that
 * the trouble is there again.
 * @type {(clauses: Clause[], met: Met[][], place: number) => boolean}
 */
function isCure(clauses, met, place) {
  if (!met[place]?.some(({ kind }) => kind === "cured")) return false;
  const start = clauses[place]?.sentence ?? 0;
  return !met.some(
    (found, each) =>
      each >= place && (clauses[each]?.sentence ?? 0) <= start + 1 && found.some(({ kind }) => kind === "back"),
  );
}

/**
 * Let what a cure is told of be past: the clauses before it, in its sentence and the two before, that
 * tell of what was and not of now.
 * @type {(clauses: Clause[], met: Met[][], told: Standing[], cure: number) => void}
 * @param told is changed
 */
function endBefore(clauses, met, told, cure) {
  const start = clauses[cure]?.sentence ?? 0;
  for (let place = cure; place >= 0 && start - (clauses[place]?.sentence ?? 0) <= SENTENCES_BEFORE; place -= 1) {
    const has = (/** @type {string} */ kind) => met[place]?.some((one) => one.kind === kind) ?? false;
    const isFree = told[place] === "" || told[place] === "denied";
    if (isFree && has("was") && !has("today")) told[place] = "past";
  }
}

const SENTENCES_BEFORE = 2;

/**
 * Tell whether a clause says of the one before it that it is over ("but it went away"), and nothing
 * soon after says that it is there again.
 * @type {(clauses: Clause[], met: Met[][], place: number) => boolean}
 */
function isEnd(clauses, met, place) {
  const clause = clauses[place];
  const before = clauses[place - 1];
  if (!clause || before?.sentence !== clause.sentence || clause.to - clause.from > MOST_WORDS_OF_END) return false;
  const isGone = met[place]?.some(({ kind, value }) => kind === "past" && value === "gone");
  const isBack = (/** @type {Met} */ { kind, value }) => kind === "helped" && value === "no";
  return (
    isGone &&
    !met
      .slice(place, place + 3)
      .flat()
      .some(isBack)
  );
}

/**
 * Tell whether a number is one that somebody says is right, and not one that was read.
 * @param {Met[]} met the phrases of its clause
 * @param {{from: number, to: number}} mention
 */
export function isAdvice(met, { from, to }) {
  return met.some(
    ({ kind, value, ...place }) =>
      kind === "advice" && (value === "before" ? place.from <= from : place.from >= to && place.from - to <= 1),
  );
}
