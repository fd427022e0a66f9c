/**
 * Reasoning room: arithmetic on tables with one axis for each open finding.
 *
 * An axis has a stride and as many states as its finding. Everything is a product or a sum
 * of numbers that are not negative. It knows neither causes nor findings.
 */

/** @import { Link } from './elimination-terms.js' */

/** @typedef {Float64Array} Table */

/**
 * Add up the products of two tables.
 *
 * @param {Table} left
 * @param {Table} right
 */
export function dot(left, right) {
  let total = 0;
  for (let i = 0; i < left.length; i += 1) {
    total += left[i] * right[i];
  }
  return total;
}

/**
 * Add two tables, each with its own weight.
 *
 * @param {Table} table
 * @param {number} off
 * @param {Table} raised
 * @param {number} on
 */
export function mix(table, off, raised, on) {
  const mixed = new Float64Array(table.length);
  for (let i = 0; i < table.length; i += 1) {
    const value = table[i];
    mixed[i] = value * off + raised[i] * on;
  }
  return mixed;
}

/**
 * Divide a table by its largest number and give that number.
 *
 * @param {Table} table
 */
export function scale(table) {
  let largest = 0;
  for (const value of table) if (value > largest) largest = value;
  if (largest === 0) return 0;
  for (let i = 0; i < table.length; i += 1) {
    table[i] = table[i] / largest;
  }
  return largest;
}

/**
 * Add an outermost axis, each state with its share.
 *
 * @param {Table} table
 * @param {number[]} leak
 */
export function openAxis(table, leak) {
  const opened = new Float64Array(table.length * leak.length);
  leak.forEach((share, state) => {
    const start = state * table.length;
    for (let i = 0; i < table.length; i += 1) {
      opened[start + i] = table[i] * share;
    }
  });
  return opened;
}

/**
 * Apply the transpose of `openAxis`.
 *
 * @param {Table} after
 * @param {number[]} leak
 */
export function unopenAxis(after, leak) {
  const size = after.length / leak.length;
  const total = new Float64Array(size);
  leak.forEach((share, state) => {
    const start = state * size;
    for (let i = 0; i < size; i += 1) {
      const before = total[i];
      total[i] = before + after[start + i] * share;
    }
  });
  return total;
}

/**
 * Replace the level reached on one axis by its maximum with the cause's own level.
 *
 * @param {Table} table
 * @param {number} stride
 * @param {Link} link
 */
export function raiseAxis(table, stride, link) {
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

/**
 * Apply the transpose of `raiseAxis`.
 *
 * @param {Table} after
 * @param {number} stride
 * @param {Link} link
 */
export function lowerAxis(after, stride, link) {
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
 *
 * @param {Table} table
 * @param {number} stride
 * @param {number[]} weights
 */
export function closeAxis(table, stride, weights) {
  const closed = new Float64Array(table.length / weights.length);
  for (let i = 0; i < closed.length; i += 1) {
    const inner = i % stride;
    const base = (i - inner) * weights.length + inner;
    let total = table[base] * weights[0];
    for (let state = 1; state < weights.length; state += 1) {
      const value = table[base + state * stride];
      total += value * weights[state];
    }
    closed[i] = total;
  }
  return closed;
}

/**
 * Apply the transpose of `closeAxis`.
 *
 * @param {Table} after
 * @param {number} stride
 * @param {number[]} weights
 */
export function uncloseAxis(after, stride, weights) {
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
