/**
 * Room answer: which words of a message may stand for a complaint.
 *
 * Not those that mean something else ("gas engine"), name what is only feared or guessed, or are one
 * lamp of a list; and what a stop line hangs on is found only where its own words stand undenied.
 *
 * @import { Met, PhraseBook } from "./phrases.js"
 * @import { Clause, Token } from "./tokens.js"
 */

import { FILLING } from "./phrases.js";

/** @typedef {Clause & {met: Met[], standing: string}} Told */

/** So many different lamps in a sentence are a list, which tells of none of them by itself. */
const LEAST_LAMPS = 3;
const MANY_LAMPS = "many-lamps-at-once";
/** What such a list adds to the score of many lamps. */
const LIST = 4;
/** A part so near behind a guess is what is guessed. */
const NEAR_GUESS = 3;
const DENYING = new Set(
  "no not never without nor neither isnt arent wasnt werent aint doesnt dont didnt hasnt havent".split(" "),
);
/** Words that may stand between a denial and what is denied: "no sign of any smoke", "never gets hot". */
const BETWEEN = new Set(
  (
    "any other the a an of sign signs get gets getting got feel feels see seen smell hear notice be been ever at all" +
    " bit hint is it it's have had red yellow amber orange warning going run runs running look looks being become"
  ).split(" "),
);

/**
 * Mark the words that tell no complaint.
 * @param {Token[]} tokens
 * @param {Told[]} parts
 * @returns {Uint8Array} 1 at the place of each token that is set aside
 */
export function setAside(tokens, parts) {
  const aside = new Uint8Array(tokens.length);
  const lists = new Set(lampLists(parts).map(({ sentence }) => sentence));
  for (const { from, to, met, sentence } of parts) {
    const has = (/** @type {string} */ kind) => met.some((one) => one.kind === kind);
    if (has("tool") && has("having")) aside.fill(1, from, to);
    for (const one of met) {
      if (one.kind === "aside") aside.fill(1, one.from, one.value === "rest" ? to : one.to);
      if (one.kind === "part" && isGuessed(met, one)) aside.fill(1, one.from, one.to);
      if (one.kind === "lamp" && lists.has(sentence) && isOneOfMany(tokens, one)) aside.fill(1, one.from, one.to);
    }
  }
  return aside;
}

/** @type {(met: Met[], part: Met) => boolean} */
function isGuessed(met, part) {
  return met.some(({ kind, from, to }) => kind === "guess" && part.from >= from && part.from - to <= NEAR_GUESS);
}

/**
 * Tell whether a lamp of a list is only one of it; what is called red or a lamp by itself is more.
 * @type {(tokens: Token[], lamp: Met) => boolean}
 */
function isOneOfMany(tokens, { from, to }) {
  const next = tokens[to]?.text ?? "";
  return tokens[from - 1]?.text !== "red" && next !== "light" && next !== "lamp";
}

/**
 * Find the sentences that list lamps, each as many lamps at once, with the stretch of its list.
 * @type {(parts: Told[]) => Array<{id: string, score: number, sentence: number, from: number, to: number}>}
 */
export function lampLists(parts) {
  /** @type {Map<number, Met[]>} */
  const bySentence = new Map();
  for (const { sentence, standing, met } of parts) {
    if (standing !== "") continue;
    bySentence.set(sentence, [...(bySentence.get(sentence) ?? []), ...met.filter(({ kind }) => kind === "lamp")]);
  }
  return [...bySentence].flatMap(([sentence, lamps]) => {
    const [first, last] = [lamps[0], lamps.at(-1)];
    const isList = new Set(lamps.map(({ value }) => value)).size >= LEAST_LAMPS;
    return first && last && isList ? [{ id: MANY_LAMPS, score: LIST, sentence, from: first.from, to: last.to }] : [];
  });
}

/**
 * Tell whether a denial stands before words: "no other warning light", "never really gets hot".
 * @param {Token[]} tokens
 * @param {number} from where their clause begins
 * @param {number} place where they begin
 */
export function isDenied(tokens, from, place) {
  for (let before = place - 1; before >= from; before -= 1) {
    const word = tokens[before]?.text ?? "";
    if (DENYING.has(word)) return true;
    if (!BETWEEN.has(word) && !FILLING.has(word)) return false;
  }
  return false;
}

/**
 * Tell whether a clause asks whether to do something: "should I let it cool", "or let it cool" behind it.
 * @type {(tokens: Token[], parts: Array<{from: number, sentence: number, opened: string}>, number: number) => boolean}
 */
export function isAsked(tokens, parts, number) {
  const part = parts[number];
  if (!part) return false;
  const [first, second] = [tokens[part.from]?.text ?? "", tokens[part.from + 1]?.text ?? ""];
  if (ASKING.has(first) && ASKED.has(second)) return true;
  const isJoined = part.opened === "or" || part.opened === "and";
  return isJoined && parts[number - 1]?.sentence === part.sentence && isAsked(tokens, parts, number - 1);
}

const ASKING = new Set("should can could do must may would".split(" "));
const ASKED = new Set("i we".split(" "));

/**
 * Return a test of whether a symptom may be found: where the vocabulary says what words it needs,
 * only if some of them are told of this car, undenied and not set aside; `also` are those it needs besides.
 * `unless` names words that speak against it; `surely` those that outweigh them.
 * @type {(book: PhraseBook, tokens: Token[], parts: Told[], aside: Uint8Array) => (id: string) => boolean}
 */
export function mayBeMeant(book, tokens, parts, aside) {
  const told = { needs: new Set(), also: new Set(), surely: new Set(), unless: new Set() };
  let wasDenied = false;
  for (const { from, to, met, standing, opened } of parts) {
    // "It is not swollen or cracked" denies both.
    wasDenied = (wasDenied && opened === "or") || tokens.slice(from, to).some(({ text }) => DENYING.has(text));
    for (const { kind, value, ...at } of met) {
      if (kind === "unless") for (const id of value.split(" ")) told.unless.add(id);
      if (kind !== "needs" && kind !== "also" && kind !== "surely") continue;
      const isOut = !isTold(standing, met, at.to) || aside[at.from] === 1 || (wasDenied && opened === "or");
      if (!isOut && !isDenied(tokens, from, at.from)) for (const id of value.split(" ")) told[kind].add(id);
    }
  }
  const isMissing = (/** @type {"needs" | "also"} */ kind, /** @type {string} */ id) =>
    (kind === "needs" ? book.needed : book.also).has(id) && !told[kind].has(id);
  return (id) => told.surely.has(id) || !(isMissing("needs", id) || isMissing("also", id) || told.unless.has(id));
}

/**
 * Tell whether words are told of this car as it is now. What is fine elsewhere in their clause takes
 * nothing from them: "the oil light flickers once it is good and hot".
 * @param {string} standing
 * @param {Met[]} met
 * @param {number} to where the words end
 */
function isTold(standing, met, to) {
  if (standing !== "denied") return standing === "";
  return met.every(({ kind, from }) => kind !== "denied" && (kind !== "fine" || from < to || from - to > NEAR_GUESS));
}

/**
 * Tell whether a message says that all is well, and no more: "nothing wrong, starts fine, is it ready
 * for winter?"
 * @param {Told[]} parts
 * @param {boolean} isCued whether a phrase of the vocabulary names a complaint
 */
export function isAllWell(parts, isCued) {
  const met = parts.flatMap((one) => one.met);
  const well = met.filter(({ kind }) => kind === "well");
  const has = (/** @type {string} */ value) => well.some((one) => one.value === value);
  const isFailing = met.some(
    ({ kind, from, to }) => kind === "malfunction" && !well.some((one) => one.from <= from && to <= one.to),
  );
  return !isCued && !isFailing && (has("") || (has("running") && has("wish")));
}
