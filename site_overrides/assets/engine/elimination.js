/**
 * Exact sums over sets of present causes, without any subtraction. Twin of elimination.py, in the
 * same order of arithmetic, with the same choices.
 *
 * @import { Link, Prepared, Term } from "./terms.js"
 */

/** @typedef {Float64Array} Table one axis for each open finding, the first innermost */

/**
 * @typedef {{cause: number, opens: number[], closes: number[]}} Step
 * One cause: the terms to open before it and to close after it.
 */

/**
 * @typedef {object} Order the steps of one group and what they take
 * @property {Term[]} terms
 * @property {Step[]} steps
 * @property {number} width the largest table, in numbers
 * @property {number} work numbers met on the way, once for a step and once for each axis moved
 * @property {number} constant share of a term that no cause still possible touches
 */

/** @typedef {{ratio: number, opening: number, causes: number}} Growth */

/**
 * @typedef {object} Frontier
 * @property {Term[]} terms
 * @property {Map<number, number[]>} touched terms of each cause
 * @property {number[][]} remaining causes still to take, by term
 * @property {boolean[]} opened
 * @property {number[]} hits room to count in, so that none is made for each look ahead
 */

/** @type {(terms: Term[], causes: number[]) => Order} */
export function findOrder(terms, causes) {
  const frontier = startFrontier(terms, causes);
  const constant = untouchedShare(frontier);
  /** @type {Step[]} */
  const steps = [];
  let size = 1;
  let width = 1;
  let work = 0;
  for (;;) {
    const unfinished = terms.flatMap((_, f) => (frontier.remaining[f].length > 0 ? [f] : []));
    const best = leastGrowth(frontier, unfinished, (f) => frontier.remaining[f]);
    if (best === undefined) break;
    const batch = frontier.remaining[best].slice();
    while (batch.length > 0) {
      const cause = /** @type {number} */ (leastGrowth(frontier, batch, (one) => [one]));
      batch.splice(batch.indexOf(cause), 1);
      const step = take(frontier, cause);
      for (const f of step.opens) size *= statesOf(terms, f);
      width = Math.max(width, size);
      work += size * (1 + touchedBy(frontier, cause).length);
      for (const f of step.closes) size /= statesOf(terms, f);
      steps.push(step);
    }
  }
  return { terms, steps, width, work, constant };
}

/** @type {(terms: Term[], causes: number[]) => Frontier} */
function startFrontier(terms, causes) {
  return {
    terms,
    touched: new Map(causes.map((cause) => [cause, terms.flatMap((term, f) => (term.links.has(cause) ? [f] : []))])),
    remaining: terms.map((term) => causes.filter((cause) => term.links.has(cause))),
    opened: terms.map(() => false),
    hits: terms.map(() => 0),
  };
}

/** @type {(frontier: Frontier) => number} */
function untouchedShare({ terms, remaining }) {
  let share = 1;
  for (const [f, term] of terms.entries()) if (remaining[f].length === 0) share *= dot(term.leak, term.weights);
  return share;
}

/**
 * Give the candidate whose causes grow the table least, the first of equals; undefined if none.
 * @type {(frontier: Frontier, candidates: number[], causesOf: (candidate: number) => number[]) => number | undefined}
 */
function leastGrowth(frontier, candidates, causesOf) {
  /** @type {number | undefined} */
  let best;
  /** @type {Growth | undefined} */
  let least;
  for (const candidate of candidates) {
    const growth = growthOf(frontier, causesOf(candidate));
    if (!least || isLess(growth, least)) {
      least = growth;
      best = candidate;
    }
  }
  return best;
}

/** Say how taking some causes changes the table. @type {(frontier: Frontier, causes: number[]) => Growth} */
function growthOf(frontier, causes) {
  const { terms, hits, opened, remaining } = frontier;
  hits.fill(0);
  let opening = 1;
  let closing = 1;
  for (const cause of causes) {
    for (const f of touchedBy(frontier, cause)) {
      hits[f] += 1;
      if (hits[f] === 1 && !opened[f]) opening *= statesOf(terms, f);
      if (hits[f] === remaining[f].length) closing *= statesOf(terms, f);
    }
  }
  return { ratio: opening / closing, opening, causes: causes.length };
}

/** @type {(one: Growth, other: Growth) => boolean} */
function isLess(one, other) {
  if (one.opening !== other.opening) return one.opening < other.opening;
  if (one.ratio !== other.ratio) return one.ratio < other.ratio;
  return one.causes < other.causes;
}

/** @type {(frontier: Frontier, cause: number) => Step} */
function take(frontier, cause) {
  const touched = touchedBy(frontier, cause);
  const opens = touched.filter((f) => !frontier.opened[f]);
  for (const f of touched) {
    frontier.opened[f] = true;
    const remaining = frontier.remaining[f];
    remaining.splice(remaining.indexOf(cause), 1);
  }
  return { cause, opens, closes: touched.filter((f) => frontier.remaining[f].length === 0) };
}

/** @type {(frontier: Frontier, cause: number) => number[]} */
function touchedBy(frontier, cause) {
  return /** @type {number[]} */ (frontier.touched.get(cause));
}

/** Count the states of a term. @type {(terms: Term[], f: number) => number} */
function statesOf(terms, f) {
  return terms[f].weights.length;
}

/** @typedef {{layout: number[], table: Table}} TapeEntry open terms and table before a cause */

/**
 * @typedef {{logSum: number, posteriors: Map<number, number>}} GroupSum
 * Logarithm of a group's sum, and the posterior of each of its causes by place.
 */

/**
 * Give the logarithm of the group's sum and the posterior of each of its causes.
 * @param {Order} order
 * @param {Pick<Prepared, 'present' | 'absent'>} causes
 * @returns {GroupSum | null} null when the sum is zero
 */
export function sumGroup(order, causes) {
  /** @type {TapeEntry[]} */
  const tape = [];
  const found = forward(order, causes, tape);
  return found && { logSum: found.logSum, posteriors: backward(order, causes, tape) };
}

/** @type {(order: Order, causes: Pick<Prepared, 'present' | 'absent'>) => number | null} */
export function sumForward(order, causes) {
  return forward(order, causes, null)?.logSum ?? null;
}

/** @type {(order: Order, causes: Pick<Prepared, 'present' | 'absent'>) => number[] | null} */
export function sumStates(order, causes) {
  const kept = order.terms.length - 1;
  const found = forward(order, causes, null, kept);
  if (found === null) return null;
  const shares = order.steps.length > 0 ? [...found.table] : order.terms[kept].leak;
  let total = 0;
  for (const share of shares) total += share;
  return shares.map((share) => share / total);
}

/**
 * @param {Order} order
 * @param {Pick<Prepared, 'present' | 'absent'>} causes
 * @param {TapeEntry[] | null} tape
 * @param {number} [kept] the term that is left open
 */
function forward(order, causes, tape, kept = -1) {
  if (order.constant === 0) return null;
  let logSum = Math.log(order.constant);
  /** @type {Table} */
  let table = Float64Array.of(1);
  /** @type {number[]} */
  const layout = [];
  for (const step of order.steps) {
    for (const f of step.opens) {
      table = openAxis(table, order.terms[f].leak);
      layout.push(f);
    }
    tape?.push({ layout: layout.slice(), table });
    let raised = table;
    for (const { stride, link } of axesOf(order, layout, step.cause)) {
      raised = raiseAxis(raised, stride, link);
    }
    table = mix(table, causes.absent[step.cause], raised, causes.present[step.cause]);
    for (const f of step.closes) {
      if (f === kept) continue;
      table = closeAxis(table, strideOf(order, layout, f), order.terms[f].weights);
      layout.splice(layout.indexOf(f), 1);
    }
    const largest = scale(table);
    if (largest === 0) return null;
    logSum += Math.log(largest);
  }
  return { logSum, table };
}

/** @type {(order: Order, causes: Pick<Prepared, 'present' | 'absent'>, tape: TapeEntry[]) => Map<number, number>} */
function backward(order, causes, tape) {
  /** @type {Map<number, number>} */
  const posteriors = new Map();
  /** @type {Table} */
  let after = Float64Array.of(1);
  for (let place = order.steps.length - 1; place >= 0; place -= 1) {
    const step = order.steps[place];
    const { layout, table } = tape[place];
    after = reopen(order, step, layout, after);
    let lowered = after;
    for (const { stride, link } of axesOf(order, layout, step.cause)) {
      lowered = lowerAxis(lowered, stride, link);
    }
    const on = causes.present[step.cause];
    const off = causes.absent[step.cause];
    const withCause = on * dot(table, lowered);
    const without = off * dot(table, after);
    posteriors.set(step.cause, withCause / (withCause + without));
    after = mix(after, off, lowered, on);
    for (let f = step.opens.length - 1; f >= 0; f -= 1) {
      after = unopenAxis(after, order.terms[step.opens[f]].leak);
    }
    scale(after);
  }
  return posteriors;
}

/** @type {(order: Order, step: Step, layout: number[], after: Table) => Table} */
function reopen(order, step, layout, after) {
  const openTerms = layout.slice();
  const strides = step.closes.map((f) => {
    const stride = strideOf(order, openTerms, f);
    openTerms.splice(openTerms.indexOf(f), 1);
    return stride;
  });
  let wider = after;
  for (let place = step.closes.length - 1; place >= 0; place -= 1) {
    const { weights } = order.terms[step.closes[place]];
    wider = uncloseAxis(wider, strides[place], weights);
  }
  return wider;
}

/** @type {(order: Order, layout: number[], f: number) => number} */
function strideOf(order, layout, f) {
  let stride = 1;
  for (const other of layout) {
    if (other === f) break;
    stride *= statesOf(order.terms, other);
  }
  return stride;
}

/**
 * Give stride and link of each open term the cause touches, innermost first.
 * @param {Order} order
 * @param {number[]} layout
 * @param {number} cause
 */
function axesOf(order, layout, cause) {
  /** @type {{stride: number, link: Link}[]} */
  const axes = [];
  let stride = 1;
  for (const f of layout) {
    const link = order.terms[f].links.get(cause);
    if (link) axes.push({ stride, link });
    stride *= statesOf(order.terms, f);
  }
  return axes;
}

/** @type {(left: ArrayLike<number>, right: ArrayLike<number>) => number} */
function dot(left, right) {
  let total = 0;
  for (let i = 0; i < left.length; i += 1) {
    total += left[i] * right[i];
  }
  return total;
}

/**
 * Add two tables, each with its own weight.
 * @type {(table: Table, off: number, raised: Table, on: number) => Float64Array<ArrayBuffer>}
 */
function mix(table, off, raised, on) {
  const mixed = new Float64Array(table.length);
  for (let i = 0; i < table.length; i += 1) {
    mixed[i] = table[i] * off + raised[i] * on;
  }
  return mixed;
}

/** Divide a table by its largest number and give that number. @param {Table} table */
function scale(table) {
  let largest = 0;
  for (const value of table) if (value > largest) largest = value;
  if (largest === 0) return 0;
  for (let i = 0; i < table.length; i += 1) {
    table[i] /= largest;
  }
  return largest;
}

/**
 * Add an outermost axis, each state with its share.
 * @type {(table: Table, leak: number[]) => Float64Array<ArrayBuffer>}
 */
function openAxis(table, leak) {
  const opened = new Float64Array(table.length * leak.length);
  leak.forEach((share, state) => {
    const start = state * table.length;
    for (let i = 0; i < table.length; i += 1) {
      opened[start + i] = table[i] * share;
    }
  });
  return opened;
}

/** Apply the transpose of `openAxis`. @type {(after: Table, leak: number[]) => Float64Array<ArrayBuffer>} */
function unopenAxis(after, leak) {
  const size = after.length / leak.length;
  const total = new Float64Array(size);
  leak.forEach((share, state) => {
    const start = state * size;
    for (let i = 0; i < size; i += 1) {
      total[i] += after[start + i] * share;
    }
  });
  return total;
}

/** @type {(table: Table, stride: number, link: Link) => Float64Array<ArrayBuffer>} */
function raiseAxis(table, stride, link) {
  const { mass, reach } = link;
  const raised = new Float64Array(table.length);
  for (let base = 0; base < table.length; base += stride * mass.length) {
    for (let i = base; i < base + stride; i += 1) {
      let below = table[i];
      raised[i] = below * reach[0];
      for (let state = 1; state < mass.length; state += 1) {
        const here = i + state * stride;
        const value = table[here];
        const stays = value * reach[state];
        raised[here] = stays + below * mass[state];
        below += value;
      }
    }
  }
  return raised;
}

/** @type {(after: Table, stride: number, link: Link) => Float64Array<ArrayBuffer>} */
function lowerAxis(after, stride, link) {
  const { mass, reach } = link;
  const lowered = new Float64Array(after.length);
  for (let base = 0; base < after.length; base += stride * mass.length) {
    for (let i = base; i < base + stride; i += 1) {
      let above = 0;
      for (let state = mass.length - 1; state >= 0; state -= 1) {
        const here = i + state * stride;
        const value = after[here];
        lowered[here] = value * reach[state] + above;
        above += value * mass[state];
      }
    }
  }
  return lowered;
}

/**
 * Sum one axis out, each state with its weight.
 * @type {(table: Table, stride: number, weights: number[]) => Float64Array<ArrayBuffer>}
 */
function closeAxis(table, stride, weights) {
  const closed = new Float64Array(table.length / weights.length);
  for (let i = 0; i < closed.length; i += 1) {
    const inner = i % stride;
    const base = (i - inner) * weights.length + inner;
    let total = table[base] * weights[0];
    for (let state = 1; state < weights.length; state += 1) {
      total += table[base + state * stride] * weights[state];
    }
    closed[i] = total;
  }
  return closed;
}

/**
 * Apply the transpose of `closeAxis`.
 * @type {(after: Table, stride: number, weights: number[]) => Float64Array<ArrayBuffer>}
 */
function uncloseAxis(after, stride, weights) {
  const wider = new Float64Array(after.length * weights.length);
  for (let i = 0; i < after.length; i += 1) {
    const inner = i % stride;
    const base = (i - inner) * weights.length + inner;
    const value = after[i];
    for (let state = 0; state < weights.length; state += 1) {
      wider[base + state * stride] = value * weights[state];
    }
  }
  return wider;
}
