/**
 * Room answer: find the phrases of the vocabulary in a message; the longest that fits wins.
 *
 * The phrases are data (symptoms/vocabulary/answer_phrases.yml); this module only reads their
 * form. Phrases of one kind take words away from each other, those of two kinds do not. What names a
 * complaint is told in many ways: its words are met in each of their forms ("quits" in "quitting"),
 * and words that only add weight ("kinda", "really") are stepped over.
 *
 * @import { Token } from "./tokens.js"
 */

/** @typedef {{means: string, phrases: string[]}} PhraseItem */
/**
 * `roots` are those of its words, where each form of them fits.
 * @typedef {{words: Set<string>, roots: Set<string>, begin: string[], isOptional: boolean, isAny: boolean,
 *   isNumber: boolean}} Slot
 */
/** @typedef {{kind: string, value: string, family: string, slots: Slot[]}} Phrase phrases of a family take words from each other */
/**
 * `needed` are the symptoms that are found only where words they need are told; `also`, where words of a
 * second kind are told too.
 * @typedef {{first: Map<string, Phrase[]>, roots: Map<string, Phrase[]>, numbers: Phrase[], any: Phrase[],
 *   begun: Map<string, Phrase[]>, needed: Set<string>, also: Set<string>}} PhraseBook
 */
/** @typedef {{kind: string, value: string, from: number, to: number}} Met what was met, from a token to before another */

/**
 * Read one word of a phrase.
 * @param {string} written
 * @param {boolean} isFree whether each form of a word fits
 * @returns {Slot}
 */
function slotOf(written, isFree) {
  const isOptional = written.endsWith("?");
  const words = written.replace(/\?$/, "").split("/");
  const begin = words.filter((word) => word.endsWith("*")).map((word) => word.slice(0, -1));
  return {
    words: new Set(words),
    roots: new Set(isFree ? words.map(rootOf).filter((root) => root.length >= SHORTEST_ROOT) : []),
    begin,
    isOptional,
    isAny: words.includes("_"),
    isNumber: words.includes("NN"),
  };
}

/** Make the book of phrases, found by the words they may begin with. @type {(items: PhraseItem[]) => PhraseBook} */
export function phraseBook(items) {
  /** @type {PhraseBook} */
  const book = {
    first: new Map(),
    roots: new Map(),
    numbers: [],
    any: [],
    begun: new Map(),
    needed: new Set(),
    also: new Set(),
  };
  for (const { means, phrases } of items) {
    const [kind = "", ...rest] = means.split(" ");
    if (kind === "needs") for (const id of rest) book.needed.add(id);
    if (kind === "also") for (const id of rest) book.also.add(id);
    const family = FAMILY[kind] ?? (BY_VALUE.has(kind) ? means : kind);
    for (const written of phrases) {
      const phrase = {
        kind,
        value: rest.join(" "),
        family,
        slots: written.split(" ").map((one) => slotOf(one, FREE.has(kind))),
      };
      for (const slot of phrase.slots) {
        enter(book, phrase, slot);
        if (!slot.isOptional) break;
      }
    }
  }
  return book;
}

/** @type {(book: PhraseBook, phrase: Phrase, slot: Slot) => void} */
function enter(book, phrase, slot) {
  if (slot.isNumber) book.numbers.push(phrase);
  if (slot.isAny) book.any.push(phrase);
  for (const [words, by] of /** @type {const} */ ([
    [slot.begin.map(beginningOf), book.begun],
    [slot.words, book.first],
    [slot.roots, book.roots],
  ])) {
    for (const word of words) {
      if (by === book.first && slot.roots.has(rootOf(word))) continue;
      const others = by.get(word) ?? [];
      if (others.length === 0) by.set(word, others);
      others.push(phrase);
    }
  }
}

/** What words that begin alike are found by. @param {string} word */
function beginningOf(word) {
  return word.slice(0, LEAST_BEGUN);
}

const LEAST_BEGUN = 2;
/** What names a complaint, or what one needs. */
const FREE = new Set(["cue", "needs", "also", "surely"]);
/** Shorter ones are of words too unlike: "on" and "one". */
const SHORTEST_ROOT = 3;
/** Kinds in which words that only add weight are stepped over. */
const WEIGHED = new Set([...FREE, "fine", "denied", "well", "unless"]);
/** Words that add weight and no meaning. */
export const FILLING = new Set(
  (
    "kinda kind sorta sort of really very so pretty super just like totally completely literally basically almost" +
    " sometimes always usually suddenly slightly somewhat quite randomly actually also even still now then right"
  ).split(" "),
);

/**
 * Take the ending off a word: "stalls", "stalled" and "stalling" are one, "quitting" is "quit".
 * @param {string} word
 */
function rootOf(word) {
  const known = roots.get(word);
  if (known !== undefined) return known;
  if (roots.size > MOST_ROOTS) roots.clear();
  const bare = word.length > SHORTEST_ROOT + 1 ? word.replace(/(?:ing|ed|es|s)$/, "") : word;
  const root = bare.replace(/([^aeiouls])\1$/, "$1").replace(/e$/, "");
  roots.set(word, root);
  return root;
}

/** Roots of words met before. */
const roots = /** @type {Map<string, string>} */ (new Map());
const MOST_ROOTS = 5000;

/** @type {(slot: Slot, token: Token) => boolean} */
function fits(slot, token) {
  if (token.kind === "number") return slot.isNumber || slot.isAny || slot.words.has(token.text);
  return (
    slot.words.has(token.text) ||
    (slot.roots.size > 0 && slot.roots.has(rootOf(token.text))) ||
    (slot.isAny && token.kind === "word") ||
    (slot.isNumber && NUMBER_WORDS.has(token.text)) ||
    slot.begin.some((begin) => token.text.startsWith(begin))
  );
}

const NUMBER_WORDS = new Set("one two three four five six seven eight nine ten twelve fifteen twenty".split(" "));

/**
 * Return where a phrase that begins at a token ends, -1 where it does not fit. Signs that join
 * words ("a/c", "re-start") are stepped over; a word that may be left out is, where only that fits.
 * @type {(phrase: Phrase, tokens: Token[], start: number, end: number) => number}
 */
function endOf({ kind, slots }, tokens, start, end) {
  /** @param {number} each which slot is next @param {number} at @returns {number} */
  const from = (each, at) => {
    const slot = slots[each];
    if (!slot) return at;
    let place = at;
    while (place > start && place < end && isJoint(tokens, place)) place += 1;
    if (WEIGHED.has(kind) && FILLING.has(tokens[place]?.text ?? "")) place = behindFilling(slot, tokens, place, end);
    const token = tokens[place];
    const taken = place < end && token && fits(slot, token) ? from(each + 1, place + 1) : -1;
    return taken < 0 && slot.isOptional ? from(each + 1, at) : taken;
  };
  const last = from(0, start);
  return last > start ? last : -1;
}

/**
 * Step over words that only add weight, where what a slot wants stands behind them.
 * @type {(slot: Slot, tokens: Token[], place: number, end: number) => number}
 */
function behindFilling(slot, tokens, place, end) {
  let next = place;
  while (next < end && next - place < MOST_FILLING && FILLING.has(tokens[next]?.text ?? "")) {
    if (fits(slot, /** @type {Token} */ (tokens[next]))) return next;
    next += 1;
  }
  const token = tokens[next];
  return next < end && token && fits(slot, token) ? next : place;
}

const MOST_FILLING = 3;

/** @type {(tokens: Token[], place: number) => boolean} */
function isJoint(tokens, place) {
  const token = tokens[place];
  if (token?.kind !== "sign") return false;
  return token.text === '"' || (token.glued && "-/.~".includes(token.text));
}

/**
 * Find every phrase in a clause: for each kind and place the longest.
 * @type {(book: PhraseBook, tokens: Token[], clause: {from: number, to: number}) => Met[]}
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
 * @type {(book: PhraseBook, token: Token) => Phrase[]}
 */
function candidates({ first, roots, numbers, any, begun }, { text, kind }) {
  const own = first.get(text) ?? NONE;
  const alike = kind === "word" ? (roots.get(rootOf(text)) ?? NONE) : NONE;
  const isNumber = kind === "number" || NUMBER_WORDS.has(text);
  const longer = kind === "word" ? (begun.get(beginningOf(text)) ?? NONE) : NONE;
  return [...own, ...alike, ...(isNumber ? numbers : NONE), ...longer, ...(kind === "word" ? any : NONE)];
}

const NONE = /** @type {Phrase[]} */ ([]);
/** Kinds of which each value stands for itself. */
const BY_VALUE = new Set(["cue", "span", "needs", "also", "surely", "unless", "well", "tried"]);
/** Kinds that take words away from each other. */
const FAMILY = /** @type {Record<string, string>} */ ({ nothing: "condition" });
