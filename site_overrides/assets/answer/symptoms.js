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
 * @type {(index: SearchIndex, words: string[], windows: Window[], cued: Found[], may: (id: string) => boolean) =>
 *   Found[]}
 * @param words the word of each token, "" for what tells no symptom
 * @param cued symptoms that a phrase of the vocabulary names
 * @param may whether a symptom may be found at all
 */
export function symptomsIn(index, words, windows, cued, may) {
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
  const ranked = [...ranking.values()].filter(({ id }) => may(id));
  ranked.sort((a, b) => b.score - a.score || (a.id < b.id ? -1 : 1));
  const least = Math.max(LEAST, (ranked[0]?.score ?? 0) * LEAST_SHARE);
  return ranked.filter(({ score }) => score >= least).slice(0, MOST_FOUND);
}

/** @typedef {{numbers: Int32Array, values: Float64Array}} Given what a term gives, by number of a phrasing or entry */
/** @typedef {{weight: number, said: number, lines: Given, entries: Given}} Share what a term gives, and weighs */

/**
 * What is kept between messages for an index: entries by number, the shares of the terms met
 * before (a message says the same words many times), and sums that stand at 0 when not in use.
 * @typedef {{ids: string[], numbers: Map<string, number>, owners: number[], shares: Map<string, Share>,
 *   ofLines: Float64Array, ofEntries: Float64Array}} Desk
 */
const desks = /** @type {WeakMap<SearchIndex, Desk>} */ (new WeakMap());
const MOST_SHARES = 5000;

/** @type {(index: SearchIndex) => Desk} */
function deskOf(index) {
  const known = desks.get(index);
  if (known) return known;
  const ids = Object.keys(index.texts);
  const numbers = new Map(ids.map((id, number) => [id, number]));
  const desk = {
    ids,
    numbers,
    owners: index.owners.map((id) => numbers.get(id) ?? 0),
    shares: new Map(),
    ofLines: new Float64Array(index.owners.length),
    ofEntries: new Float64Array(ids.length),
  };
  desks.set(index, desk);
  return desk;
}

/** @type {(index: SearchIndex, term: string, isTyped: boolean) => Share} */
function shareOf(index, term, isTyped) {
  const { shares } = deskOf(index);
  if (shares.size > MOST_SHARES) shares.clear();
  const key = `${isTyped ? "" : "="}${term}`;
  let share = shares.get(key);
  if (!share) shares.set(key, (share = newShare(index, term, isTyped)));
  return share;
}

/** @type {(index: SearchIndex, term: string, isTyped: boolean) => Share} */
function newShare(index, term, isTyped) {
  const isDenied = term.startsWith(DENIED);
  const root = isDenied ? term.slice(DENIED.length) : term;
  const near = term === DENIAL ? [/** @type {[string, number]} */ ([DENIAL, 1])] : nearTo(index, root, false);
  const weight = Math.max(0, ...near.map(([one]) => weightOf(one, index))) * (isTyped ? 1 : MEANT);
  const [own, other] = isDenied ? [DENIED, ""] : ["", DENIED];
  /** @type {Map<number, number>} */
  const lines = new Map();
  /** @type {Map<number, number>} */
  const entries = new Map();
  const { numbers } = deskOf(index);
  for (const [one, sure] of near) {
    for (const [sign, part] of /** @type {const} */ ([
      [own, 1],
      [other, OTHER_SIGN],
    ])) {
      for (const [line, strength] of index.lines.get(sign + one) ?? [])
        raise(lines, line, strength * sure * part * weight);
      for (const [id, strength] of index.entries.get(sign + one) ?? []) {
        raise(entries, numbers.get(id) ?? 0, strength * sure * part * weight);
      }
    }
  }
  const said = isTyped ? (near.length > 0 ? weight : UNKNOWN) : 0;
  return { weight, said, lines: givenOf(lines), entries: givenOf(entries) };
}

/** @type {(most: Map<number, number>, key: number, value: number) => void} */
function raise(most, key, value) {
  if (value > (most.get(key) ?? 0)) most.set(key, value);
}

/** @type {(values: Map<number, number>) => Given} */
function givenOf(values) {
  return { numbers: Int32Array.from(values.keys()), values: Float64Array.from(values.values()) };
}

/**
 * Compare a stretch of the message with every phrasing.
 * @type {(index: SearchIndex, all: string[], window: Window) => Found[]}
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
  const desk = deskOf(index);
  const best = bestLines(index, desk, asked, said);
  /** @type {Found[]} */
  const found = [];
  summed(
    asked.map(({ entries }) => entries),
    desk.ofEntries,
    (number, met) => {
      const line = best.get(number);
      if (line === undefined) return;
      const score = (1 - WHOLE) * line + WHOLE * met * Math.min(1, met / said) ** OF_SAID;
      // A second place in the message cannot lift what is weaker over the least.
      if (score * (1 + SECOND) >= LEAST)
        found.push({ id: desk.ids[number] ?? "", score, from: window.from, to: window.to });
    },
  );
  return found;
}

/**
 * Return the score of the best phrasing of each entry that may be meant, by the entry's number.
 * @type {(index: SearchIndex, desk: Desk, asked: Share[], said: number) => Map<number, number>}
 */
function bestLines(index, desk, asked, said) {
  /** @type {Map<number, number>} */
  const best = new Map();
  summed(
    asked.map(({ lines }) => lines),
    desk.ofLines,
    (line, met) => {
      const whole = index.lineWeights[line] ?? 0;
      // One common word of a phrasing is no trace of it.
      if (met < LEAST_MET * whole) return;
      const owner = desk.owners[line] ?? 0;
      const first = index.texts[desk.ids[owner] ?? ""]?.first;
      const share = Math.min(1, met / (whole || 1));
      if (first === "never" || (first === "sure" && share < SURE && met < SURE * said)) return;
      // A score is never above what was met.
      if (met <= (best.get(owner) ?? 0)) return;
      const score = met * share ** OF_LINE * Math.min(1, met / said) ** OF_SAID;
      if (score > (best.get(owner) ?? 0)) best.set(owner, score);
    },
  );
  return best;
}

/**
 * Sum what terms give by numbers, and hand each sum over once.
 * @param {Given[]} lists
 * @param {Float64Array} sums all 0, and again when this is done
 * @param {(number: number, sum: number) => void} take
 */
function summed(lists, sums, take) {
  /** @type {number[]} */
  const touched = [];
  for (const { numbers, values } of lists) {
    for (let place = 0; place < numbers.length; place += 1) {
      const number = /** @type {number} */ (numbers[place]);
      const sum = /** @type {number} */ (sums[number]);
      if (sum === 0) touched.push(number);
      sums[number] = sum + /** @type {number} */ (values[place]);
    }
  }
  for (const number of touched) {
    take(number, sums[number] ?? 0);
    sums[number] = 0;
  }
}
