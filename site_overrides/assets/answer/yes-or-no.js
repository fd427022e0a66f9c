/**
 * Room answer: bare words of yes and no behind questions that were asked: "nope, second one yes".
 *
 * A word answers only where it stands bare: "no lights" denies a thing and answers nothing. Where
 * one word follows several questions it is not guessed which it answers.
 *
 * @import { Clause, Token } from "./tokens.js"
 */

import { clausesOf, tokensOf } from "./tokens.js";

/** @typedef {{place: number, isYes: boolean, start: number, end: number}} Polar the question by its place in the list */
/** @typedef {{number: number | null, isAll: boolean, isYes: boolean | null, start: number, end: number}} Heard */

const YES = new Set("yes yep yeah yup ya yea yess aye correct indeed definitely affirmative".split(" "));
const NO = new Set("no nope nah naw negative neither nor".split(" "));
const ALL = new Set("both neither all".split(" "));
const NUMBERS = new Map(
  /** @type {Array<[string, number]>} */ ([
    ["1", 0],
    ["1st", 0],
    ["first", 0],
    ["2", 1],
    ["2nd", 1],
    ["second", 1],
    ["last", 1],
    ["other", 1],
  ]),
);
/** Words that may stand beside an answer and leave it bare. */
const FILLING = new Set(
  (
    "to the for on one ones question q a answer is was its it that does do doesnt dont did didnt isnt has hasnt have not" +
    " so of them i my and really sure think thats fits fit st nd number first second as far know can tell just sir thanks"
  ).split(" "),
);
/** A sentence goes on so behind a "no" that is an answer. */
const BEHIND_NO = new Set("it i its that they we she he there not never im ive didnt doesnt hasnt isnt".split(" "));

/**
 * Find what a message says to each of so many questions by a bare yes or no.
 * @param {string} message
 * @param {Set<number>} open the questions that take a yes or a no and have no answer yet, by place
 * @param {number} count of all questions asked
 * @returns {Polar[]}
 */
export function polarIn(message, open, count) {
  const tokens = tokensOf(message);
  const heard = clausesOf(tokens).flatMap((clause) => heardIn(tokens, clause));
  /** @type {Map<number, Polar>} */
  const told = new Map();
  /** @type {Array<Heard & {isYes: boolean}>} */
  const unplaced = [];
  /** @type {number | null} a number that stands alone before its answer: "2. yes" */
  let named = null;
  for (const one of heard) {
    const number = one.number ?? named;
    named = one.isYes === null ? one.number : null;
    if (one.isYes === null) continue;
    const answer = { isYes: one.isYes, start: one.start, end: one.end };
    if (one.isAll) for (const place of open) told.set(place, { place, ...answer });
    else if (number === null) unplaced.push({ ...one, isYes: one.isYes });
    else if (open.has(number)) told.set(number, { place: number, ...answer });
  }
  const left = [...open].filter((place) => !told.has(place)).sort((one, other) => one - other);
  // In the order asked, where there is a word for each; a single one goes to what alone is left.
  const isInOrder = unplaced.length === left.length && (left.length < 2 || open.size === count);
  if (isInOrder) {
    for (const [step, place] of left.entries()) {
      const { isYes, start, end } = /** @type {Heard & {isYes: boolean}} */ (unplaced[step]);
      told.set(place, { place, isYes, start, end });
    }
  }
  return [...told.values()].sort((one, other) => one.place - other.place);
}

/**
 * @param {Token[]} tokens
 * @param {Clause} clause
 * @returns {Heard[]} one or none
 */
function heardIn(tokens, { from, to }) {
  const own = tokens.slice(from, to).filter(({ kind }) => kind !== "sign");
  const texts = own.map(({ text }) => text);
  const [first, last] = [own[0], own.at(-1)];
  if (!first || !last) return [];
  const said = texts.filter((text) => YES.has(text) || NO.has(text));
  const known = (/** @type {string} */ text) => said.includes(text) || ALL.has(text) || NUMBERS.has(text);
  const number = texts.map((text) => NUMBERS.get(text)).find((one) => one !== undefined) ?? null;
  const isAll = texts.some((text) => ALL.has(text));
  const isBare = texts.every((text) => known(text) || FILLING.has(text));
  const place = { number, isAll, start: first.start, end: last.end };
  if (isBare && said.length > 0) return [{ ...place, isYes: YES.has(said[0] ?? "") }];
  if (isBare && texts.every((text) => NUMBERS.has(text))) return [{ ...place, isYes: null }];
  // "Yes it came back on monday": the word opens a sentence that goes on.
  const isOpening = YES.has(first.text) || (NO.has(first.text) && BEHIND_NO.has(texts[1] ?? ""));
  return isOpening && !ALL.has(first.text)
    ? [{ number: null, isAll: false, isYes: YES.has(first.text), start: first.start, end: first.end }]
    : [];
}
