/**
 * Room answer: find the phrases of the vocabulary in a message; the longest that fits wins.
 *
 * The phrases are data (symptoms/vocabulary/answer_phrases.yml); this module only reads their
 * form. Phrases of one kind take words away from each other, those of two kinds do not.
 *
 * @import { Token } from "./tokens.js"
 */

/** @typedef {{means: string, phrases: string[]}} PhraseItem */
/** @typedef {{words: Set<string>, begin: string[], isOptional: boolean, isAny: boolean, isNumber: boolean}} Slot */
/** @typedef {{kind: string, value: string, family: string, slots: Slot[]}} Phrase phrases of a family take words from each other */
/** @typedef {{first: Map<string, Phrase[]>, numbers: Phrase[], any: Phrase[]}} PhraseBook */
/** @typedef {{kind: string, value: string, from: number, to: number}} Met what was met, from a token to before another */

/**
 * Read one word of a phrase.
 * @param {string} written
 * @returns {Slot}
 */
function slotOf(written) {
  const isOptional = written.endsWith("?");
  const words = written.replace(/\?$/, "").split("/");
  const begin = words.filter((word) => word.endsWith("*")).map((word) => word.slice(0, -1));
  return {
    words: new Set(words),
    begin,
    isOptional,
    isAny: words.includes("_"),
    isNumber: words.includes("NN"),
  };
}

/**
 * Make the book of phrases, found by the words they may begin with.
 * @param {PhraseItem[]} items
 * @returns {PhraseBook}
 */
export function phraseBook(items) {
  /** @type {PhraseBook} */
  const book = { first: new Map(), numbers: [], any: [] };
  for (const { means, phrases } of items) {
    const [kind = "", ...rest] = means.split(" ");
    const family = FAMILY[kind] ?? (BY_VALUE.has(kind) ? means : kind);
    for (const written of phrases) {
      const phrase = { kind, value: rest.join(" "), family, slots: written.split(" ").map(slotOf) };
      for (const slot of phrase.slots) {
        enter(book, phrase, slot);
        if (!slot.isOptional) break;
      }
    }
  }
  return book;
}

/**
 * @param {PhraseBook} book
 * @param {Phrase} phrase
 * @param {Slot} slot
 */
function enter(book, phrase, slot) {
  if (slot.isNumber) book.numbers.push(phrase);
  if (slot.isAny || slot.begin.length > 0) book.any.push(phrase);
  for (const word of slot.words) {
    const others = book.first.get(word) ?? [];
    if (others.length === 0) book.first.set(word, others);
    others.push(phrase);
  }
}

/**
 * @param {Slot} slot
 * @param {Token} token
 */
function fits(slot, token) {
  if (token.kind === "number") return slot.isNumber || slot.isAny || slot.words.has(token.text);
  return (
    slot.words.has(token.text) ||
    (slot.isAny && token.kind === "word") ||
    (slot.isNumber && NUMBER_WORDS.has(token.text)) ||
    slot.begin.some((begin) => token.text.startsWith(begin))
  );
}

const NUMBER_WORDS = new Set("one two three four five six seven eight nine ten twelve fifteen twenty".split(" "));

/**
 * Return where a phrase that begins at a token ends, -1 where it does not fit. Signs that join
 * words ("a/c", "re-start") are stepped over.
 * @param {Phrase} phrase
 * @param {Token[]} tokens
 * @param {number} start
 * @param {number} end
 */
function endOf({ slots }, tokens, start, end) {
  let place = start;
  let last = start;
  for (const slot of slots) {
    while (place > start && place < end && isJoint(tokens, place)) place += 1;
    const token = tokens[place];
    if (place < end && token && fits(slot, token)) {
      place += 1;
      last = place;
    } else if (!slot.isOptional) return -1;
  }
  return last > start ? last : -1;
}

/**
 * @param {Token[]} tokens
 * @param {number} place
 */
function isJoint(tokens, place) {
  const token = tokens[place];
  if (token?.kind !== "sign") return false;
  return token.text === '"' || (token.glued && "-/.~".includes(token.text));
}

/**
 * Find every phrase in a clause: for each kind and place the longest.
 * @param {PhraseBook} book
 * @param {Token[]} tokens
 * @param {{from: number, to: number}} clause
 * @returns {Met[]}
 */
export function phrasesIn(book, tokens, { from, to }) {
  /** @type {Met[]} */
  const met = [];
  /** @type {Map<string, number>} where the last phrase of a kind ends */
  const taken = new Map();
  for (let place = from; place < to; place += 1) {
    const token = /** @type {Token} */ (tokens[place]);
    /** @type {Map<string, Met>} */
    const best = new Map();
    for (const phrase of candidates(book, token)) {
      const { kind, value, family } = phrase;
      if ((taken.get(family) ?? 0) > place) continue;
      const end = endOf(phrase, tokens, place, to);
      if (end > (best.get(family)?.to ?? place)) best.set(family, { kind, value, from: place, to: end });
    }
    for (const [family, one] of best) {
      met.push(one);
      taken.set(family, one.to);
    }
  }
  return met;
}

/**
 * Return the phrases that may begin at a token, those by its own word first.
 * @param {PhraseBook} book
 * @param {Token} token
 */
function candidates({ first, numbers, any }, { text, kind }) {
  const own = first.get(text) ?? NONE;
  const isNumber = kind === "number" || NUMBER_WORDS.has(text);
  const isAny = kind === "word" && any.length > 0;
  return isNumber || isAny ? [...own, ...(isNumber ? numbers : NONE), ...(isAny ? any : NONE)] : own;
}

const NONE = /** @type {Phrase[]} */ ([]);
/** Kinds of which each value stands for itself. */
const BY_VALUE = new Set(["cue", "span"]);
/** Kinds that take words away from each other. */
const FAMILY = /** @type {Record<string, string>} */ ({ nothing: "condition" });
