/**
 * Data room: find symptoms by the words an owner types.
 *
 * The typed text is never read as query syntax: it is cut into plain words. The score of an
 * entry is the share of what was typed that it speaks of: rare words weigh more; a word counts
 * fully in the title, less in one phrasing; words met in one phrasing count more than words
 * strewn over the entry; a denied word is another word than the word itself.
 * The command line runs this module too. The library only stems. Nothing here touches the page.
 *
 * @import { SearchIndex, SearchText, Synonym } from "./types.js"
 * @import { Meant } from "./search-words.js"
 */
import {
  allWords,
  DENIAL,
  DENIED,
  kinOf,
  knownShare,
  LEAST_KNOWN,
  MOST_WORDS,
  meantBy,
  SMALL_WORDS,
  termsOf,
} from "./search-words.js";

// All weights here are our own choice, tried on phrasings left out of their entries.
/** A hit far below the best one is noise. */
const WEAKEST_SHARE = 0.25;
/** A word that stands for what was typed counts a little less than the word itself. */
export const MEANT = 0.8;
/** A word met with the other sign ("lights" for "no lights") counts this much. */
export const OTHER_SIGN = 0.3;
/** How often the title and the description of an entry count, against one phrasing of owners. */
const TITLE = 3;
const ABOUT = 1;
/** A term counted this often in an entry has half of its weight there. */
const HALF_COUNT = 2;
/** How much of the score is of the entry as a whole; the rest is of its best single line. */
const WHOLE = 0.85;
const CIRCUMSTANCE = 0.8;
/**
 * An entry with a stop line comes first only if one line of it holds this share of what was
 * typed, or if what was typed holds this share of one of its lines.
 */
const SURE_OF_TYPED = 0.7;
const SURE_OF_LINE = 0.65;
/** The weight of a negation by itself, of a word nothing here knows, and of small words. */
const DENIAL_WEIGHT = 0.4;
const UNKNOWN_WEIGHT = 2.5;
const SMALL = 0.5;
/** An entry that may not come first stays just below the best that may. */
const BELOW = 0.99;

/** Words whose nearest terms are remembered. */
const MOST_NEAR = 5000;

/** @typedef {{isTyped: boolean, weight: number, kin: Array<[string, number]>}} Asked */

/**
 * Count the terms of titles, owners' phrasings and descriptions.
 *
 * "on", "off" and "not" carry meaning here and are kept. Entries enter in id order, so equal
 * input gives an equal index.
 * @type {(lunr: any, texts: Record<string, SearchText>, synonyms?: Synonym[]) => SearchIndex}
 * @param lunr the lunr library
 */
export function buildIndex(lunr, texts, synonyms = []) {
  const stem = rememberedStem(lunr);
  /** @type {SearchIndex} */
  const built = {
    texts,
    synonyms,
    stem,
    terms: new Map(),
    spoken: new Set(),
    entries: new Map(),
    lines: new Map(),
    owners: [],
    lineWeights: [],
    near: new Map(),
    size: Object.keys(texts).length,
  };
  /** @type {string[][]} */
  const spoken = [];
  for (const id of Object.keys(texts).sort()) {
    const { title, says, about = "" } = /** @type {SearchText} */ (texts[id]);
    /** @type {Map<string, number>} */
    const counts = new Map();
    const count = (/** @type {string} */ term, /** @type {number} */ times) =>
      counts.set(term, (counts.get(term) ?? 0) + times);
    for (const [number, line] of [title, ...says].entries()) {
      const found = termsOf(allWords(line), stem);
      for (const term of found) {
        inner(built.lines, term).set(spoken.length, 1);
        built.spoken.add(bare(term));
        count(term, number === 0 ? TITLE : 1);
      }
      built.owners.push(id);
      spoken.push(found);
    }
    for (const term of termsOf(allWords(about), stem)) count(term, ABOUT);
    for (const [term, times] of counts) inner(built.entries, term).set(id, times / (times + HALF_COUNT));
    for (const root of new Set([...counts.keys()].map(bare))) built.terms.set(root, (built.terms.get(root) ?? 0) + 1);
  }
  built.lineWeights = spoken.map((found) => found.reduce((sum, term) => sum + weightOf(term, built), 0));
  return built;
}

/**
 * @template K
 * @param {Map<string, Map<K, number>>} outer
 * @param {string} term
 * @returns {Map<K, number>}
 */
function inner(outer, term) {
  const found = outer.get(term) ?? new Map();
  outer.set(term, found);
  return found;
}

const bare = (/** @type {string} */ term) => (term.startsWith(DENIED) ? term.slice(DENIED.length) : term);

/**
 * Stem words as the index does; each word once, because every keystroke asks for all synonyms.
 * @type {(lunr: any) => (word: string) => string}
 */
function rememberedStem(lunr) {
  /** @type {Map<string, string>} */
  const known = new Map();
  return (word) => {
    const stem = known.get(word) ?? lunr.stemmer(new lunr.Token(word, {})).toString();
    known.set(word, stem);
    return stem;
  };
}

/**
 * Weigh a term: the fewer entries speak of it, the more it tells.
 * @type {(term: string, built: SearchIndex) => number}
 */
export function weightOf(term, { terms, size }) {
  if (term === DENIAL) return DENIAL_WEIGHT;
  const root = bare(term);
  const weight = Math.log(1 + size / ((terms.get(root) ?? 0) + 0.5));
  return weight * (SMALL_WORDS.has(root) ? SMALL : 1);
}

/**
 * Turn typed words, and what they mean, into what is looked up.
 * @type {(built: SearchIndex, words: string[], meant: Meant) => Asked[]}
 */
export function askedOf(built, words, meant) {
  const typed = termsOf(words, built.stem).slice(0, MOST_WORDS);
  return [...typed, ...meant.terms.slice(0, MOST_WORDS)].map((term) => {
    const isTyped = typed.includes(term);
    const root = bare(term);
    const [mark, other] = root === term ? ["", DENIED] : [DENIED, ""];
    const isLast = isTyped && root === built.stem(words.at(-1) ?? "");
    const near = term === DENIAL ? [/** @type {[string, number]} */ ([DENIAL, 1])] : nearTo(built, root, isLast);
    const weights = near.map(([one]) => weightOf(one, built));
    const weight = (weights.length > 0 ? Math.max(...weights) : UNKNOWN_WEIGHT) * (isTyped ? 1 : MEANT);
    const kin = near.flatMap(([one, sure]) => [
      /** @type {[string, number]} */ ([mark + one, sure]),
      /** @type {[string, number]} */ ([other + one, sure * OTHER_SIGN]),
    ]);
    return { isTyped, weight, kin };
  });
}

/**
 * Return what a root may stand for; each is looked up once, because slips are dear to find.
 * @type {(built: SearchIndex, root: string, isLast: boolean) => Array<[string, number]>}
 */
export function nearTo({ terms, near }, root, isLast) {
  const key = `${isLast ? "." : ""}${root}`;
  let found = near.get(key);
  if (!found) {
    if (near.size >= MOST_NEAR) near.clear();
    found = [...kinOf(root, isLast, terms)];
    near.set(key, found);
  }
  return found;
}

/**
 * Sum the weights of what was asked, as far as each entry, or each line, speaks of it.
 * @template K
 * @param {Asked[]} asked
 * @param {Map<string, Map<K, number>>} strengths
 * @returns {Map<K, number>}
 */
function metBy(asked, strengths) {
  /** @type {Map<K, number>} */
  const found = new Map();
  for (const { weight, kin } of asked) {
    /** @type {Map<K, number>} */
    const best = new Map();
    for (const [term, sure] of kin) {
      for (const [key, strength] of strengths.get(term) ?? []) {
        best.set(key, Math.max(best.get(key) ?? 0, sure * strength));
      }
    }
    for (const [key, share] of best) found.set(key, (found.get(key) ?? 0) + weight * share);
  }
  return found;
}

/**
 * Find the symptoms nearest to the words, best first.
 *
 * Equal scores keep id order. Text of which less than two fifths is known here finds nothing,
 * so that words about something else do not end in a wrong entry.
 * @type {(built: SearchIndex, text: string, limit: number) => Array<{id: string, title: string, score: number}>}
 */
export function find(built, text, limit) {
  const typed = allWords(text);
  const meant = meantBy(typed, built.synonyms, built.stem);
  if (knownShare(typed, meant.explained, built.spoken, built.stem) < LEAST_KNOWN) return [];
  const asked = askedOf(built, typed, meant);
  const total = asked.reduce((sum, one) => sum + one.weight, 0);
  // What the words mean may show that an entry is meant, never that it is not.
  const typedTotal = asked.reduce((sum, one) => sum + (one.isTyped ? one.weight : 0), 0);
  /** @type {Map<string, number>} */
  const line = new Map();
  /** @type {Set<string>} */
  const sure = new Set();
  for (const [number, met] of metBy(asked, built.lines)) {
    const id = built.owners[number] ?? "";
    line.set(id, Math.max(line.get(id) ?? 0, met));
    if (met >= Math.min(SURE_OF_TYPED * typedTotal, SURE_OF_LINE * (built.lineWeights[number] ?? 0))) sure.add(id);
  }
  /** @type {Map<string, number>} */
  const scores = new Map();
  for (const [id, met] of metBy(asked, built.entries)) {
    scores.set(id, (WHOLE * met + (1 - WHOLE) * (line.get(id) ?? 0)) / total);
  }
  const hits = heldBack(built.texts, scores, sure).map(([id, score]) => ({
    id,
    title: built.texts[id]?.title ?? id,
    score: Math.round(score * 1e6) / 1e6,
  }));
  hits.sort((a, b) => b.score - a.score || (a.id < b.id ? -1 : 1));
  const best = hits[0]?.score ?? 0;
  return hits.filter((hit) => hit.score >= best * WEAKEST_SHARE).slice(0, limit);
}

/**
 * Keep what may not come first below the best entry that may.
 * @type {(texts: Record<string, SearchText>, scores: Map<string, number>, sure: Set<string>) =>
 *   Array<[string, number]>}
 */
function heldBack(texts, scores, sure) {
  const first = (/** @type {string} */ id) => texts[id]?.first;
  const isFree = (/** @type {string} */ id) => !first(id) || (first(id) === "sure" && sure.has(id));
  const free = [...scores].filter(([id]) => isFree(id)).map(([, score]) => score);
  const most = BELOW * (free.length > 0 ? Math.max(...free) : 1);
  return [...scores].map(([id, score]) => [
    id,
    isFree(id) ? score : Math.min(most, score * (first(id) === "never" ? CIRCUMSTANCE : 1)),
  ]);
}

/**
 * List the circumstances that the words speak of, to be offered.
 * @param {SearchIndex} built
 * @param {string} text
 * @returns {string[]} symptom ids
 */
export function circumstancesIn(built, text) {
  const { offers } = meantBy(allWords(text), built.synonyms, built.stem);
  return offers.filter((id) => Object.hasOwn(built.texts, id));
}
