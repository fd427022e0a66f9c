/**
 * Data room: the words of a search: how they are cut, what else they mean, which are known.
 *
 * It ranks nothing and touches no page.
 *
 * @import { Synonym } from "./types.js"
 */

/** Longest text looked at, and most words used: pasted essays must not stall a phone. */
const LONGEST_TEXT = 400;
export const MOST_WORDS = 24;
/** Below this share of known words the text speaks of something else; our own choice. */
export const LEAST_KNOWN = 0.4;
/** How much a word counts that is met only in part; our own choice. */
const SLIP = 0.7;
const HALF = 0.5;
/** Words that say nothing of a car by themselves. "on", "off" and "not" are no such words. */
const FUNCTION_WORDS = new Set(
  (
    "a about all also am an and any are as at be been but by can did do does doing each for from" +
    " get gets got had has have having he her his how i if in into is it its ive just let like" +
    " made make may me much my of or our she so some such than that the their them then there" +
    " these they this those to too very was we were what when where which while who why with" +
    " would you your actually basically idk im ill ive kinda literally pretty really thats theres" +
    " theyre today yesterday"
  ).split(" "),
);
/** Words that carry meaning beside others, yet do not show that a text is about a car. */
export const SMALL_WORDS = new Set("again back down no not now off on one out still up will wont".split(" "));
/** Words that deny the telling word after them. */
const DENYING_WORDS = new Set(
  "no not never without cannot cant wont dont doesnt didnt isnt arent wasnt werent wouldnt couldnt".split(" "),
);
/** The term of a negation by itself, and the mark before a term that is denied ("no lights"). */
export const DENIAL = "not";
export const DENIED = "!";
const CODE = /^[pbcu][0-9a-f]{4}$/;

/** @typedef {(word: string) => string} Stem */
/** @typedef {{terms: string[], offers: string[], explained: Set<string>}} Meant */

/**
 * Cut text into plain lower-case words of letters and digits, with every repetition kept: "no lights no crank".
 *
 * Accents and apostrophes go ("won't" is one word), every other sign separates.
 * @type {(text: string) => string[]}
 */
export function allWords(text) {
  const plain = Array.from(text)
    .slice(0, LONGEST_TEXT)
    .join("")
    .normalize("NFKD")
    .toLowerCase()
    .replace(/['\u2019\u02bc`]|[\u0300-\u036f]/g, "");
  return plain.match(/[a-z0-9]+/g) ?? [];
}

/**
 * Turn words into the terms that are looked up: stems, a denied one with its mark.
 *
 * A denying word gives its own term and marks the telling word after it, so that "no lights"
 * and "lights stay on" are apart. Each term is kept once, in order.
 * @type {(words: string[], stem: Stem) => string[]}
 */
export function termsOf(words, stem) {
  /** @type {Set<string>} */
  const terms = new Set();
  let mark = "";
  for (const word of words) {
    if (DENYING_WORDS.has(word)) {
      terms.add(DENIAL);
      mark = DENIED;
    } else if (!FUNCTION_WORDS.has(word)) {
      terms.add(mark + stem(word));
      mark = "";
    }
  }
  return [...terms];
}

/**
 * Find what the words mean beside themselves, in the order of the list.
 *
 * What a denied word means is denied too: "no headlamp" means "no lights".
 * @type {(words: string[], synonyms: Synonym[], stem: Stem) => Meant}
 */
export function meantBy(words, synonyms, stem) {
  const stems = words.map(stem);
  const byFirst = rootsOf(synonyms, stem);
  const begun = [...new Set(stems)].flatMap((root) => byFirst.get(root) ?? []).sort((a, b) => a.number - b.number);
  /** @type {string[]} */
  const further = [];
  /** @type {Set<string>} */
  const offers = new Set();
  /** @type {Set<string>} */
  const explained = new Set();
  for (const { number, wanted } of begun) {
    const { means = "", offers: offered = "" } = synonyms[number] ?? {};
    const place = placeOf(wanted, stems);
    if (place === null) continue;
    for (const each of words.slice(place, place + wanted.length)) explained.add(each);
    const before = words.slice(Math.max(place - 1, 0), place).filter((each) => DENYING_WORDS.has(each));
    if (means) further.push(...termsOf([...before, ...means.split(" ")], stem));
    if (offered) offers.add(offered);
  }
  const typed = termsOf(words, stem);
  const fresh = [...new Set(further)].filter((term) => !typed.includes(term));
  return { terms: fresh, offers: [...offers], explained };
}

/** The stems of each list of synonyms, by the first: they are asked for at every keystroke. */
const roots = new WeakMap();

/** @type {(synonyms: Synonym[], stem: Stem) => Map<string, Array<{number: number, wanted: string[]}>>} */
function rootsOf(synonyms, stem) {
  let byFirst = roots.get(synonyms);
  if (!byFirst) {
    byFirst = new Map();
    for (const [number, { word }] of synonyms.entries()) {
      const wanted = word.split(" ").map(stem);
      const others = byFirst.get(wanted[0]) ?? [];
      byFirst.set(wanted[0], [...others, { number, wanted }]);
    }
    roots.set(synonyms, byFirst);
  }
  return byFirst;
}

/** @type {(wanted: string[], stems: string[]) => number | null} */
function placeOf(wanted, stems) {
  for (let place = 0; place + wanted.length <= stems.length; place += 1) {
    if (wanted.every((word, step) => word === stems[place + step])) return place;
  }
  return null;
}

/**
 * Return which share of the telling words the index knows, slips of the finger allowed for.
 *
 * Numbers and small words do not count beside others. Text of function words only gives 0.
 * @type {(words: string[], explained: Set<string>, terms: Set<string>, stem: Stem) => number}
 */
export function knownShare(words, explained, terms, stem) {
  const telling = [...new Set(words)].filter((word) => !FUNCTION_WORDS.has(word));
  const isLittle = (/** @type {string} */ word) => SMALL_WORDS.has(word) || DENYING_WORDS.has(word);
  let counted = telling.filter((word) => !isLittle(word) && !/^[0-9]+$/.test(word));
  if (counted.length === 0) counted = telling;
  if (counted.length === 0) return 0;
  let total = 0;
  for (const word of counted) {
    if (explained.has(word) || DENYING_WORDS.has(word) || CODE.test(word)) total += 1;
    else total += Math.max(0, ...kinOf(stem(word), word === words.at(-1), terms).values());
  }
  return total / counted.length;
}

/**
 * Return the terms a typed root may stand for, each with how surely, from 0 to 1.
 *
 * The term itself leaves out all others. The last word may be half typed, so two letters begin
 * one; the index keeps stems, so a long word is also met two letters short.
 * @type {(root: string, isLast: boolean, terms: Set<string> | Map<string, number>) => Map<string, number>}
 */
export function kinOf(root, isLast, terms) {
  if (terms.has(root)) return new Map([[root, 1]]);
  /** @type {Map<string, number>} */
  const kin = new Map();
  for (const term of terms.keys()) {
    if (root.length >= (isLast ? 2 : 4) && term.startsWith(root)) kin.set(term, isLast ? 1 : SLIP);
    else if (root.length >= 5 && isOneSlip(root, term)) kin.set(term, SLIP);
    else if (root.length >= 6 && term.startsWith(root.slice(0, -2))) kin.set(term, HALF);
  }
  return kin;
}

/**
 * Return whether two words differ by one letter added, left out, changed or swapped.
 *
 * The first letter is seldom mistyped, so it has to agree: "train" is not a slip of "drain".
 * @type {(word: string, other: string) => boolean}
 */
export function isOneSlip(word, other) {
  if (word === "" || word[0] !== other[0] || Math.abs(word.length - other.length) > 1) return false;
  if (word === other) return false;
  let place = 0;
  while (place < word.length && place < other.length && word[place] === other[place]) place += 1;
  const rest = word.slice(place);
  const left = other.slice(place);
  const isSwapped =
    left.length > 1 && rest.length > 1 && rest[0] === left[1] && rest[1] === left[0] && rest.slice(2) === left.slice(2);
  return isSwapped || rest.slice(1) === left.slice(1) || rest.slice(1) === left || rest === left.slice(1);
}
