/**
 * Room answer: the symptoms a message speaks of, by the same index and synonyms as the search.
 *
 * The search is asked about one wish; a message holds many things, most of them none of ours. So
 * every clause, and clauses that stand together, are held against each phrasing of owners: what
 * counts is how much of a phrasing is said, and how telling its words are.
 *
 * @import { SearchIndex } from "../knowledge/types.js"
 */

import { MEANT, nearTo, OTHER_SIGN, weightOf } from "../knowledge/search.js";
import { DENIAL, DENIED, MOST_WORDS, meantBy, termsOf } from "../knowledge/search-words.js";

/** A stretch of a message to be looked at. */
/** @typedef {{from: number, to: number, sentence: number}} Window */
/** @typedef {{id: string, score: number, from: number, to: number}} Found */

// All weights are our own choice, tried on phrasings of owners set into talk.
/** How much the share of the phrasing counts, and the share of what was said. */
const OF_LINE = 0.7;
const OF_SAID = 0.45;
/** How much of the score is of the entry as a whole. */
const WHOLE = 0.75;
/** A second place in the message that speaks of the same adds this much of its score. */
const SECOND = 0.25;
/** Below this score nothing is meant; below this share of the best one it is noise. */
const LEAST = 1;
const LEAST_SHARE = 0.35;
/** What may come first only on a strong match needs this share of a phrasing. */
const SURE = 0.5;
/** What a word weighs that no entry knows: talk is full of them. */
const UNKNOWN = 1;
const MOST_FOUND = 6;
/** A phrasing of which less than this share is said is not looked at. */
const LEAST_MET = 0.2;
const MOST_MEANT = 24;

/**
 * Find the symptoms in stretches of a message, the most apt first.
 * @param {SearchIndex} index
 * @param {string[]} words the word of each token, "" for what tells no symptom
 * @param {Window[]} windows
 * @param {Found[]} cued symptoms that a phrase of the vocabulary names
 * @returns {Found[]}
 */
export function symptomsIn(index, words, windows, cued) {
  /** @type {Map<string, Map<number, Found>>} the best of each sentence by entry */
  const found = new Map();
  for (const window of windows) {
    for (const one of scored(index, words, window)) {
      const bySentence = found.get(one.id) ?? new Map();
      found.set(one.id, bySentence);
      if ((bySentence.get(window.sentence)?.score ?? 0) < one.score) bySentence.set(window.sentence, one);
    }
  }
  /** @type {Map<string, Found>} */
  const ranking = new Map();
  for (const [id, bySentence] of found) {
    const [best, second] = [...bySentence.values()].sort((a, b) => b.score - a.score);
    ranking.set(id, { .../** @type {Found} */ (best), score: (best?.score ?? 0) + SECOND * (second?.score ?? 0) });
  }
  for (const { id, score, from, to } of cued) {
    const known = ranking.get(id);
    if (known) ranking.set(id, { ...known, score: known.score + score });
    else if (index.texts[id]) ranking.set(id, { id, score: score + LEAST, from, to });
  }
  const ranked = [...ranking.values()];
  ranked.sort((a, b) => b.score - a.score || (a.id < b.id ? -1 : 1));
  const least = Math.max(LEAST, (ranked[0]?.score ?? 0) * LEAST_SHARE);
  return ranked.filter(({ score }) => score >= least).slice(0, MOST_FOUND);
}

/**
 * What a term gives to each phrasing and each entry that speaks of it, and what it weighs.
 * @typedef {{weight: number, said: number, lines: Array<[number, number]>, entries: Array<[string, number]>}} Share
 */

/** Shares of the terms met before, by index: a message says the same words many times. */
const shares = /** @type {WeakMap<SearchIndex, Map<string, Share>>} */ (new WeakMap());
const MOST_SHARES = 5000;

/**
 * @param {SearchIndex} index
 * @param {string} term
 * @param {boolean} isTyped
 * @returns {Share}
 */
function shareOf(index, term, isTyped) {
  let known = shares.get(index);
  if (!known || known.size > MOST_SHARES) shares.set(index, (known = new Map()));
  const key = `${isTyped ? "" : "="}${term}`;
  let share = known.get(key);
  if (!share) known.set(key, (share = newShare(index, term, isTyped)));
  return share;
}

/**
 * @param {SearchIndex} index
 * @param {string} term
 * @param {boolean} isTyped
 * @returns {Share}
 */
function newShare(index, term, isTyped) {
  const isDenied = term.startsWith(DENIED);
  const root = isDenied ? term.slice(DENIED.length) : term;
  const near = term === DENIAL ? [/** @type {[string, number]} */ ([DENIAL, 1])] : nearTo(index, root, false);
  const weight = Math.max(0, ...near.map(([one]) => weightOf(one, index))) * (isTyped ? 1 : MEANT);
  const [own, other] = isDenied ? [DENIED, ""] : ["", DENIED];
  /** @type {Map<number, number>} */
  const lines = new Map();
  /** @type {Map<string, number>} */
  const entries = new Map();
  for (const [one, sure] of near) {
    gather(lines, index.lines.get(own + one), sure * weight);
    gather(lines, index.lines.get(other + one), sure * OTHER_SIGN * weight);
    gather(entries, index.entries.get(own + one), sure * weight);
    gather(entries, index.entries.get(other + one), sure * OTHER_SIGN * weight);
  }
  const said = isTyped ? (near.length > 0 ? weight : UNKNOWN) : 0;
  return { weight, said, lines: [...lines], entries: [...entries] };
}

/**
 * @template K
 * @param {Map<K, number>} into
 * @param {Map<K, number> | undefined} strengths
 * @param {number} weight
 */
function gather(into, strengths, weight) {
  for (const [key, strength] of strengths ?? []) into.set(key, Math.max(into.get(key) ?? 0, strength * weight));
}

/**
 * Hold a stretch of the message against every phrasing.
 * @param {SearchIndex} index
 * @param {string[]} all
 * @param {Window} window
 * @returns {Found[]}
 */
function scored(index, all, window) {
  const words = all.slice(window.from, window.to).filter((word) => word !== "");
  if (words.length === 0) return [];
  const typed = termsOf(words, index.stem).slice(0, MOST_WORDS);
  const meant = meantBy(words, index.synonyms, index.stem).terms.slice(0, MOST_MEANT);
  const asked = [
    ...typed.map((term) => shareOf(index, term, true)),
    ...meant.map((term) => shareOf(index, term, false)),
  ];
  const said = asked.reduce((sum, one) => sum + one.said, 0);
  if (said === 0) return [];
  const best = bestLines(index, asked, said);
  const whole = summed(asked.map(({ entries }) => entries));
  return [...best].map(([id, score]) => {
    const met = whole.get(id) ?? 0;
    const ofEntry = met * Math.min(1, met / said) ** OF_SAID;
    return { id, score: (1 - WHOLE) * score + WHOLE * ofEntry, from: window.from, to: window.to };
  });
}

/**
 * Return the score of the best phrasing of each entry that may be meant.
 * @param {SearchIndex} index
 * @param {Share[]} asked
 * @param {number} said
 * @returns {Map<string, number>}
 */
function bestLines(index, asked, said) {
  /** @type {Map<string, number>} */
  const best = new Map();
  // Sums by number of a phrasing; those that are met at all are gathered on the way.
  const sums = new Float64Array(index.owners.length);
  /** @type {number[]} */
  const touched = [];
  for (const { lines } of asked) {
    for (const [line, share] of lines) {
      if (sums[line] === 0) touched.push(line);
      sums[line] = (sums[line] ?? 0) + share;
    }
  }
  for (const line of touched) {
    const met = sums[line] ?? 0;
    // One common word of a phrasing is no trace of it.
    if (met < LEAST_MET * (index.lineWeights[line] ?? 0)) continue;
    const id = index.owners[line] ?? "";
    const first = index.texts[id]?.first;
    const share = Math.min(1, met / (index.lineWeights[line] || 1));
    if (first === "never" || (first === "sure" && share < SURE && met < SURE * said)) continue;
    const score = met * share ** OF_LINE * Math.min(1, met / said) ** OF_SAID;
    if (score > (best.get(id) ?? 0)) best.set(id, score);
  }
  return best;
}

/**
 * Sum what was met of each entry.
 * @param {Array<Array<[string, number]>>} lists
 * @returns {Map<string, number>}
 */
function summed(lists) {
  /** @type {Map<string, number>} */
  const sums = new Map();
  for (const list of lists) for (const [key, share] of list) sums.set(key, (sums.get(key) ?? 0) + share);
  return sums;
}
