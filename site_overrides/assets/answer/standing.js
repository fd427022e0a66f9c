/**
 * Room answer: how a clause stands: told of this car as it is now, or past, denied, somebody
 * else's car, or advice that was heard.
 *
 * @import { Met } from "./phrases.js"
 * @import { Clause } from "./tokens.js"
 */

/** @typedef {"" | "past" | "denied" | "other" | "advice"} Standing */

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
  return clauses.map((clause, place) => {
    const found = met[place] ?? [];
    const has = (/** @type {string} */ kind, /** @type {string} */ value) =>
      found.some((one) => one.kind === kind && one.value === value);
    if (clause.sentence !== sentence) [isPast, isOther, isHeard] = [false, false, false];
    sentence = clause.sentence;
    const isOwn = has("own", "car");
    if (has("other", "car")) isOther = hasOwn || clause.sentence > 0;
    else if (isOwn) isOther = false;
    const isNow = has("past", "not") || clause.opened === "but" || clause.opened === "now";
    if (isNow) isPast = false;
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
