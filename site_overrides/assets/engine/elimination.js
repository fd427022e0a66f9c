/**
 * Reasoning room: exact sums over sets of present causes, without any subtraction.
 *
 * Works on one group of connected findings. A table is kept over the highest level reached
 * so far by each open finding; causes are taken one at a time; a finding is closed when its
 * last cause is done. Same order of arithmetic as elimination.py. It decides nothing.
 */

/** @import { Link, Prepared, Term } from './elimination-terms.js' */
/** @import { Order, Step } from './elimination-order.js' */
/** @import { Table } from './elimination-tables.js' */
import { statesOf } from "./elimination-order.js";
import {
  closeAxis,
  dot,
  lowerAxis,
  mix,
  openAxis,
  raiseAxis,
  scale,
  uncloseAxis,
  unopenAxis,
} from "./elimination-tables.js";

/** @typedef {{layout: number[], table: Table}} TapeEntry open terms and table before a cause */

/**
 * @typedef {{logSum: number, posteriors: Map<number, number>}} Summed
 * Logarithm of a group's sum, and the posterior of each of its causes by place.
 */

/**
 * Give the logarithm of the group's sum, or null when it is zero.
 *
 * @param {Order} order
 * @param {Pick<Prepared, 'present' | 'absent'>} causes
 * @returns {number | null}
 */
export function sumForward(order, causes) {
  return forward(order, causes, null);
}

/**
 * Give the logarithm of the group's sum and the posterior of each of its causes.
 *
 * @param {Order} order
 * @param {Pick<Prepared, 'present' | 'absent'>} causes
 * @returns {Summed | null} null when the sum is zero
 */
export function sumBothWays(order, causes) {
  /** @type {TapeEntry[]} */
  const tape = [];
  const logSum = forward(order, causes, tape);
  if (logSum === null) return null;
  return { logSum, posteriors: backward(order, causes, tape) };
}

/**
 * @param {Order} order
 * @param {Pick<Prepared, 'present' | 'absent'>} causes
 * @param {TapeEntry[] | null} tape
 * @returns {number | null}
 */
function forward(order, causes, tape) {
  if (order.constant === 0) return null;
  let logSum = Math.log(order.constant);
  /** @type {Table} */
  let table = Float64Array.of(1);
  /** @type {number[]} */
  const layout = [];
  for (const step of order.steps) {
    for (const f of step.opens) {
      table = openAxis(table, termAt(order, f).leak);
      layout.push(f);
    }
    if (tape) tape.push({ layout: layout.slice(), table });
    let raised = table;
    for (const { stride, link } of axesOf(order, layout, step.cause)) {
      raised = raiseAxis(raised, stride, link);
    }
    table = mix(table, causes.absent[step.cause], raised, causes.present[step.cause]);
    for (const f of step.closes) {
      table = closeAxis(table, strideOf(order, layout, f), termAt(order, f).weights);
      layout.splice(layout.indexOf(f), 1);
    }
    const largest = scale(table);
    if (largest === 0) return null;
    logSum += Math.log(largest);
  }
  return logSum;
}

/**
 * Run the steps back: what follows each state, and with it each cause's posterior.
 *
 * @param {Order} order
 * @param {Pick<Prepared, 'present' | 'absent'>} causes
 * @param {TapeEntry[]} tape
 */
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
      after = unopenAxis(after, termAt(order, step.opens[f]).leak);
    }
    scale(after);
  }
  return posteriors;
}

/**
 * Undo the closings of a step, last first, so that the table has its layout again.
 *
 * @param {Order} order
 * @param {Step} step
 * @param {number[]} layout
 * @param {Table} after
 */
function reopen(order, step, layout, after) {
  const openTerms = layout.slice();
  const strides = step.closes.map((f) => {
    const stride = strideOf(order, openTerms, f);
    openTerms.splice(openTerms.indexOf(f), 1);
    return stride;
  });
  let wider = after;
  for (let place = step.closes.length - 1; place >= 0; place -= 1) {
    const { weights } = termAt(order, step.closes[place]);
    wider = uncloseAxis(wider, strides[place], weights);
  }
  return wider;
}

/**
 * @param {Order} order
 * @param {number} f
 * @returns {Term}
 */
function termAt(order, f) {
  return order.terms[f];
}

/**
 * @param {Order} order
 * @param {number[]} layout
 * @param {number} f
 */
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
 *
 * @param {Order} order
 * @param {number[]} layout
 * @param {number} cause
 */
function axesOf(order, layout, cause) {
  /** @type {{stride: number, link: Link}[]} */
  const axes = [];
  let stride = 1;
  for (const f of layout) {
    const link = termAt(order, f).links.get(cause);
    if (link) axes.push({ stride, link });
    stride *= statesOf(order.terms, f);
  }
  return axes;
}
