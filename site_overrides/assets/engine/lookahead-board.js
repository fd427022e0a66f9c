/**
 * Reasoning room: a situation laid out for fast repeated play.
 *
 * Knows where each repair moves each world and what each outcome does to the weights. It
 * prices nothing and looks no step ahead. Same order of arithmetic as lookahead_board.py.
 */

/** @import { PlanCheck, Situation } from './planner-situation.js' */
import { ALL_CAUSES } from "./planner-situation.js";

/** States get one whole number each; numbers are exact up to here. */
const CODE_LIMIT = 2 ** 53;

/**
 * @typedef {object} Board the parts of a situation by place
 * @property {Float64Array} costs of repairs
 * @property {number[]} causesById
 * @property {number[]} checksById
 * @property {number[]} checkCosts
 * @property {Float64Array[][]} columns P(outcome) by world, for each check and outcome
 * @property {Int32Array[]} moved world each world turns into by a repair, -1 for cured
 * @property {Int32Array} bits relevant causes of the worlds, one world after the other
 * @property {Int32Array} bitStart where each world's causes begin in `bits`; one entry more
 * @property {Float64Array} least price of repairing exactly those: a lower bound of every plan
 * @property {Float64Array} scratch one number for each cause, free to overwrite
 * @property {number} unresolved
 * @property {number} gate place of the rule's check, -1 without a rule
 * @property {number} dearerThan
 * @property {boolean} single no world has two relevant causes
 * @property {number[]} checkCodes number the states reached; empty if they do not fit
 * @property {number[]} causeCodes
 */

/**
 * Prepare a situation for play.
 *
 * @param {Situation} situation
 * @returns {Board}
 */
export function layOut(situation) {
  const relevant = situation.relevantMask ?? ALL_CAUSES;
  const bits = situation.masks.map((mask) => bitsOf(mask & relevant));
  const single = bits.every((places) => places.length <= 1);
  const ids = situation.checks.map((check) => check.id);
  const rule = situation.rule ?? null;
  const unresolved = situation.unresolvedCost ?? 0;
  return {
    costs: Float64Array.from(situation.repairCosts),
    causesById: byId(situation.causeIds),
    checksById: byId(ids),
    checkCosts: situation.checks.map((check) => check.cost),
    columns: situation.checks.map(columnsOf),
    moved: situation.causeIds.map((_, place) => movesOf(situation.masks, relevant, place)),
    bits: Int32Array.from(bits.flat()),
    bitStart: startsOf(bits),
    least: Float64Array.from(bits, (places) =>
      places.reduce((sum, place) => sum + situation.repairCosts[place], places.length === 0 ? unresolved : 0),
    ),
    scratch: new Float64Array(situation.causeIds.length),
    unresolved,
    gate: rule === null ? -1 : ids.indexOf(rule.check),
    dearerThan: rule === null ? 0 : rule.dearerThan,
    single,
    ...(single ? codesOf(situation) : noCodes()),
  };
}

/** @param {string[]} ids */
function byId(ids) {
  return ids
    .map((id, place) => ({ id, place }))
    .sort((one, other) => (one.id < other.id ? -1 : 1))
    .map(({ place }) => place);
}

/** @param {number} mask */
function bitsOf(mask) {
  const places = [];
  for (let place = 0; mask >> place > 0; place += 1) {
    if (((mask >> place) & 1) === 1) places.push(place);
  }
  return places;
}

/** @param {number[][]} bits */
function startsOf(bits) {
  let end = 0;
  return Int32Array.from([0, ...bits.map((places) => (end += places.length))]);
}

/** @param {PlanCheck} check */
function columnsOf(check) {
  const columns = [];
  for (let level = 0; level < check.levels; level += 1) {
    columns.push(Float64Array.from(check.table, (row) => row[level]));
  }
  return columns;
}

/**
 * Say where repairing one cause takes each world; causes that do not matter stay.
 *
 * @param {number[]} masks
 * @param {number} relevant
 * @param {number} cause
 */
function movesOf(masks, relevant, cause) {
  const placeOf = new Map(masks.map((mask, place) => [mask, place]));
  return Int32Array.from(masks, (mask, place) => {
    const left = mask & ~(1 << cause);
    if (left === mask || (mask & relevant) === 0) return place;
    if ((left & relevant) === 0) return -1;
    return /** @type {number} */ (placeOf.get(left));
  });
}

/** @returns {{checkCodes: number[], causeCodes: number[]}} */
function noCodes() {
  return { checkCodes: [], causeCodes: [] };
}

/**
 * Give each state a number: each check unmade or at a level, each cause open or repaired.
 *
 * Only with one relevant cause a world: then the order of the steps leaves no trace.
 *
 * @param {Situation} situation
 */
function codesOf(situation) {
  const codes = noCodes();
  let unit = 1;
  for (const check of situation.checks) {
    codes.checkCodes.push(unit);
    unit *= check.levels + 1;
    if (unit > CODE_LIMIT) return noCodes();
  }
  for (let place = 0; place < situation.causeIds.length; place += 1) {
    codes.causeCodes.push(unit);
    unit *= 2;
    if (unit > CODE_LIMIT) return noCodes();
  }
  return codes;
}

/**
 * Give the weights once a check has shown an outcome, not normalised.
 *
 * @param {Board} board
 * @param {Float64Array} weights
 * @param {number} check
 * @param {number} outcome
 * @param {Float64Array} [after] where to write them
 */
export function afterOutcome(board, weights, check, outcome, after = new Float64Array(weights.length)) {
  const column = /** @type {Float64Array} */ (board.columns[check]?.[outcome]);
  for (let world = 0; world < after.length; world += 1) {
    after[world] = weights[world] * column[world];
  }
  return after;
}

/**
 * Give the weights once a repair has been made and the symptom is still there.
 *
 * @param {Board} board
 * @param {Float64Array} weights
 * @param {number} cause
 * @param {Float64Array} [after] where to write them
 */
export function afterRepair(board, weights, cause, after = new Float64Array(weights.length)) {
  const moved = board.moved[cause];
  after.fill(0);
  for (let world = 0; world < after.length; world += 1) {
    const target = moved[world];
    if (target >= 0) after[target] = after[target] + weights[world];
  }
  return after;
}
