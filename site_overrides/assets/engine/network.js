/**
 * Reasoning room: the network of causes and findings.
 *
 * Reads the two-layer model from its plain form and refuses what inference could not use.
 * The plain form is the compiled form: what is returned is the document itself, checked.
 * It infers nothing and touches no page.
 */

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

/**
 * Give the look-up tables of a network, made once for each network.
 *
 * @param {Network} network
 * @returns {NetworkIndex}
 */
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

/**
 * Check a network in its plain form and give it back.
 *
 * @param {Network} document other keys are left alone
 * @returns {Network}
 * @throws {RangeError} if an id repeats, a link names no cause or a number is out of range
 */
export function networkFromDocument(document) {
  for (const cause of document.causes) {
    if (!(cause.prior >= 0 && cause.prior < 1)) {
      throw new RangeError(`cause "${cause.id}": prior ${cause.prior} is not in 0 .. 1`);
    }
  }
  const index = indexNetwork(document);
  if (index.causePlace.size !== document.causes.length) {
    throw new RangeError("two causes share an id");
  }
  if (index.findingById.size !== document.findings.length) {
    throw new RangeError("two findings share an id");
  }
  for (const finding of document.findings) {
    checkFinding(finding, index);
  }
  return document;
}

/**
 * @param {NetworkFinding} finding
 * @param {NetworkIndex} index
 */
function checkFinding(finding, index) {
  if (finding.levels.length === 0) {
    throw new RangeError(`finding "${finding.id}": it has no levels`);
  }
  checkRow(`finding "${finding.id}", leak`, finding.leak, finding.levels.length);
  for (const [cause, row] of Object.entries(finding.links)) {
    checkRow(`finding "${finding.id}", link ${cause}`, row, finding.levels.length);
    if (!index.causePlace.has(cause)) {
      throw new RangeError(`finding "${finding.id}": link to "${cause}", which is no cause`);
    }
  }
}

/**
 * @param {string} where
 * @param {number[]} row
 * @param {number} levels
 */
function checkRow(where, row, levels) {
  if (row.length !== levels - 1) {
    throw new RangeError(`${where}: ${row.length} numbers for ${levels} levels, ${levels - 1} wanted`);
  }
  let before = 0;
  for (const number of row) {
    if (!(number >= 0 && number <= 1)) {
      throw new RangeError(`${where}: ${number} is not between 0 and 1`);
    }
    if (number < before) {
      throw new RangeError(`${where}: the row falls from ${before} to ${number}`);
    }
    before = number;
  }
}

/**
 * Give p / (1 - p) for every cause, before any context.
 *
 * @param {Network} network
 * @returns {Odds}
 */
export function priorOdds(network) {
  /** @type {Odds} */
  const odds = {};
  for (const cause of network.causes) {
    odds[cause.id] = cause.prior / (1 - cause.prior);
  }
  return odds;
}

/**
 * Multiply the prior odds of each cause by its context multiplier, if it has one.
 *
 * @param {Network} network
 * @param {Record<string, number>} context multipliers above 0 by cause id
 * @returns {Odds}
 */
export function oddsFromDocument(network, context) {
  const odds = priorOdds(network);
  for (const [cause, multiplier] of Object.entries(context)) {
    if (!Object.hasOwn(odds, cause)) {
      throw new RangeError(`context: "${cause}" is no cause of this network`);
    }
    if (!(multiplier > 0 && Number.isFinite(multiplier))) {
      throw new RangeError(`context.${cause}: the multiplier ${multiplier} is not above 0`);
    }
    odds[cause] = odds[cause] * multiplier;
  }
  return odds;
}

/**
 * Turn level names and named weights into one weight per level.
 *
 * @param {Network} network
 * @param {Record<string, string | Record<string, number>>} evidence
 * @returns {Record<string, number[]>}
 */
export function evidenceFromDocument(network, evidence) {
  const { findingById } = indexNetwork(network);
  /** @type {Record<string, number[]>} */
  const weights = {};
  for (const [name, value] of Object.entries(evidence)) {
    const finding = findingById.get(name);
    if (!finding) {
      throw new RangeError(`evidence: "${name}" is no finding of this network`);
    }
    /** @type {Record<string, number>} */
    const named = typeof value === "string" ? { [value]: 1 } : value;
    for (const level of Object.keys(named)) {
      if (!finding.levels.includes(level)) {
        throw new RangeError(`evidence.${name}: "${level}" is not one of its levels`);
      }
    }
    weights[name] = finding.levels.map((level) => named[level] ?? 0);
  }
  return weights;
}
