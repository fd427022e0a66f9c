/**
 * Reasoning room: the order in which causes are summed out.
 *
 * Chooses the order that closes findings early and says how large a table it needs. It
 * does no sums. Same choices as elimination.py.
 */

/** @import { Term } from './elimination-terms.js' */

/**
 * @typedef {{cause: number, opens: number[], closes: number[]}} Step
 * One cause: the terms to open before it and to close after it.
 */

/**
 * @typedef {{terms: Term[], steps: Step[], width: number, constant: number}} Order
 * The steps of one group, the largest table they need in numbers, and the share of a term
 * that no cause still possible touches.
 */

/** @typedef {{ratio: number, opening: number, causes: number}} Growth */

/**
 * @typedef {object} Frontier
 * @property {Term[]} terms
 * @property {Map<number, number[]>} touched terms of each cause
 * @property {number[][]} remaining causes still to take, by term
 * @property {boolean[]} opened
 */

/**
 * Choose the order of causes that closes findings early.
 *
 * Greedy: the next finding to finish is the one that leaves the smallest table when all
 * its remaining causes are done. Ties: smaller table on the way, fewer causes, first.
 *
 * @param {Term[]} terms
 * @param {number[]} causes
 * @returns {Order}
 */
export function findOrder(terms, causes) {
  const frontier = startFrontier(terms, causes);
  /** @type {Step[]} */
  const steps = [];
  let size = 1;
  let width = 1;
  for (;;) {
    const best = nextFinding(frontier);
    if (best < 0) break;
    const batch = remainingOf(frontier, best).slice();
    while (batch.length > 0) {
      const cause = nextCause(frontier, batch);
      batch.splice(batch.indexOf(cause), 1);
      const step = take(frontier, cause);
      for (const f of step.opens) size *= statesOf(terms, f);
      width = Math.max(width, size);
      for (const f of step.closes) size /= statesOf(terms, f);
      steps.push(step);
    }
  }
  return { terms, steps, width, constant: untouchedShare(frontier) };
}

/**
 * @param {Term[]} terms
 * @param {number[]} causes
 * @returns {Frontier}
 */
function startFrontier(terms, causes) {
  return {
    terms,
    touched: new Map(causes.map((cause) => [cause, terms.flatMap((term, f) => (term.links.has(cause) ? [f] : []))])),
    remaining: terms.map((term) => causes.filter((cause) => term.links.has(cause))),
    opened: terms.map(() => false),
  };
}

/**
 * @param {Frontier} frontier
 * @returns {number}
 */
function untouchedShare(frontier) {
  const touched = new Set([...frontier.touched.values()].flat());
  let share = 1;
  frontier.terms.forEach((term, f) => {
    if (touched.has(f)) return;
    let sum = 0;
    for (let state = 0; state < term.leak.length; state += 1) {
      sum += term.leak[state] * term.weights[state];
    }
    share *= sum;
  });
  return share;
}

/**
 * @param {Frontier} frontier
 * @returns {number} -1 when every finding is finished
 */
function nextFinding(frontier) {
  let best = -1;
  /** @type {Growth | undefined} */
  let least;
  for (let f = 0; f < frontier.terms.length; f += 1) {
    const causes = remainingOf(frontier, f);
    if (causes.length === 0) continue;
    const growth = growthOf(frontier, causes);
    if (!least || isLess(growth, least)) {
      least = growth;
      best = f;
    }
  }
  return best;
}

/**
 * @param {Frontier} frontier
 * @param {number[]} batch
 * @returns {number}
 */
function nextCause(frontier, batch) {
  let best = -1;
  /** @type {Growth | undefined} */
  let least;
  for (const cause of batch) {
    const growth = growthOf(frontier, [cause]);
    if (!least || isLess(growth, least)) {
      least = growth;
      best = cause;
    }
  }
  return best;
}

/**
 * Say how taking some causes changes the table.
 *
 * @param {Frontier} frontier
 * @param {number[]} causes
 * @returns {Growth}
 */
function growthOf(frontier, causes) {
  const hits = new Array(frontier.terms.length).fill(0);
  for (const cause of causes) {
    for (const f of touchedBy(frontier, cause)) hits[f] += 1;
  }
  let opening = 1;
  let closing = 1;
  hits.forEach((hit, f) => {
    if (hit > 0 && !frontier.opened[f]) opening *= statesOf(frontier.terms, f);
    if (hit > 0 && hit === remainingOf(frontier, f).length) closing *= statesOf(frontier.terms, f);
  });
  return { ratio: opening / closing, opening, causes: causes.length };
}

/**
 * @param {Growth} one
 * @param {Growth} other
 * @returns {boolean}
 */
function isLess(one, other) {
  if (one.ratio !== other.ratio) return one.ratio < other.ratio;
  if (one.opening !== other.opening) return one.opening < other.opening;
  return one.causes < other.causes;
}

/**
 * @param {Frontier} frontier
 * @param {number} cause
 * @returns {Step}
 */
function take(frontier, cause) {
  const touched = touchedBy(frontier, cause);
  const opens = touched.filter((f) => !frontier.opened[f]);
  for (const f of touched) {
    frontier.opened[f] = true;
    const remaining = remainingOf(frontier, f);
    remaining.splice(remaining.indexOf(cause), 1);
  }
  return { cause, opens, closes: touched.filter((f) => remainingOf(frontier, f).length === 0) };
}

/**
 * @param {Frontier} frontier
 * @param {number} f
 */
function remainingOf(frontier, f) {
  return frontier.remaining[f];
}

/**
 * @param {Frontier} frontier
 * @param {number} cause
 */
function touchedBy(frontier, cause) {
  return /** @type {number[]} */ (frontier.touched.get(cause));
}

/**
 * Count the states of a term.
 *
 * @param {Term[]} terms
 * @param {number} f
 * @returns {number}
 */
export function statesOf(terms, f) {
  return terms[f].weights.length;
}
