/** The network of causes and findings, as compiled: the build has checked it. */

/**
 * @typedef {{id: string, prior: number}} NetworkCause
 * A cause; `prior` is a probability, at least 0 and below 1.
 */

/**
 * @typedef {object} NetworkFinding
 * @property {string} id
 * @property {string[]} levels ordered, level 0 normal
 * @property {number[]} leak P(F <= k) for k = 0 .. levels.length - 2, no modelled cause present
 * @property {Record<string, number[]>} links the same with only that cause present and no leak
 */

/** @typedef {{causes: NetworkCause[], findings: NetworkFinding[]}} Network */

/** @typedef {Record<string, number>} Odds prior odds by cause id, context multiplied in */

/** @typedef {Record<string, ArrayLike<number>>} Evidence a weight per level by finding id */

/**
 * @typedef {object} NetworkIndex
 * @property {Map<string, number>} causePlace place of each cause id
 * @property {Map<string, NetworkFinding>} findingById
 */

/** @type {WeakMap<Network, NetworkIndex>} */
const indexes = new WeakMap();

/** Give the look-up tables of a network, made once for each network. @type {(network: Network) => NetworkIndex} */
export function indexNetwork(network) {
  let index = indexes.get(network);
  if (!index) {
    index = {
      causePlace: new Map(network.causes.map((cause, place) => [cause.id, place])),
      findingById: new Map(network.findings.map((finding) => [finding.id, finding])),
    };
    indexes.set(network, index);
  }
  return index;
}
