/**
 * How surprising the results are together, and which fits least. Twin of fit.py, where the reasons
 * stand: each result is foretold from the complaints and the results before it, and the share of
 * cases that surprise as much follows from the same foretold chances.
 *
 * @import { Diagnosis } from "./diagnosis.js"
 * @import { Evidence, NetworkFinding } from "./network.js"
 */
import { compareText } from "../measure/gauges-numbers.js";
import { networkOf } from "./findings.js";
import { indexNetwork } from "./network.js";
import { FrontierTooWide, foretell } from "./noisy-max.js";
import { rounded } from "./planning.js";
import { sumOf } from "./worlds.js";

/** Share of cases below which results are said to hardly fit: our choice. */
const BAD_FIT = 0.005;
/** Numbers these sums may go through; past it nothing is said. */
const WORK_LIMIT = 1_500_000;

/** The same for naming the result that fits least, which is asked only where they fit badly. */
const LEAST_LIMIT = 3_000_000;
const STEP = 0.05;
const LEAST = 1e-12;

/**
 * `chance` is the share of cases like this, were the model right, whose results surprise as much;
 * when `bad`, `least` is the check whose result the others foretell least.
 * @typedef {{chance: number, bad: boolean, least: string | null}} Fit
 */

/** Foretells one finding from others, counting the work. */
class Foretold {
  /**
   * @param {Diagnosis} diagnosis
   * @param {number} limit
   */
  constructor({ knowledge, findings }, limit) {
    this.limit = limit;
    this.network = networkOf(knowledge);
    this.odds = findings.odds;
    this.work = 0;
  }

  /**
   * Return P(level | others) for each level; null past the bound of work.
   * @type {(name: string, others: Evidence) => number[] | null}
   */
  chances(name, others) {
    try {
      const finding = /** @type {NetworkFinding} */ (indexNetwork(this.network).findingById.get(name));
      const { shares, work } = foretell(this.network, this.odds, others, finding);
      this.work += work;
      return this.work > this.limit ? null : shares.map((one) => Math.max(LEAST, one));
    } catch (error) {
      if (error instanceof FrontierTooWide) return null;
      throw error;
    }
  }
}

/** @type {(diagnosis: Diagnosis) => Fit | null} */
export function judgeFit(diagnosis) {
  const { evidence, results } = diagnosis.findings;
  if (diagnosis.work > WORK_LIMIT) return null;
  const made = Object.keys(evidence).filter((name) => Object.hasOwn(results, name));
  /** @type {Record<string, number[]>} */
  const known = Object.fromEntries(Object.entries(evidence).filter(([name]) => !Object.hasOwn(results, name)));
  const foretold = new Foretold(diagnosis, WORK_LIMIT);
  let surprise = 0;
  let spread = [1];
  for (const name of made) {
    const chances = foretold.chances(name, known);
    if (chances === null) return null;
    const steps = chances.map((chance) => Math.floor(-Math.log(chance) / STEP + 0.5));
    const weights = evidence[name] ?? [];
    steps.forEach((step, level) => {
      surprise += step * (weights[level] ?? 0);
    });
    spread = withOneMore(spread, steps, chances);
    known[name] = weights;
  }
  // Whole steps that reach what was seen, less a little for a reading between two levels.
  const chance = Math.min(1, sumOf(spread.slice(Math.ceil(surprise - 1e-6))));
  if (chance >= BAD_FIT) return { chance, bad: false, least: null };
  return { chance, bad: true, least: leastOf(diagnosis, made) };
}

/**
 * Return the check whose result the others foretell least; null past the bound of work.
 * @type {(diagnosis: Diagnosis, made: string[]) => string | null}
 */
function leastOf(diagnosis, made) {
  const { evidence } = diagnosis.findings;
  /** @type {Array<[number, string]>} */
  const found = [];
  const foretold = new Foretold(diagnosis, LEAST_LIMIT);
  for (const name of made) {
    const { [name]: weights = [], ...others } = evidence;
    const chances = foretold.chances(name, others);
    if (chances === null) return null;
    let seen = 0;
    chances.forEach((chance, level) => {
      seen += chance * (weights[level] ?? 0);
    });
    // Against the likeliest level: a result that is one of many is not odd for that.
    found.push([rounded(Math.log(seen / Math.max(...chances))), name]);
  }
  found.sort(([one, a], [other, b]) => one - other || compareText(a, b));
  return found[0]?.[1] ?? null;
}

/**
 * Add one more result to the spread of surprises, in whole steps.
 * @type {(spread: number[], steps: number[], chances: number[]) => number[]}
 */
function withOneMore(spread, steps, chances) {
  /** @type {number[]} */
  const after = new Array(spread.length + Math.max(...steps)).fill(0);
  steps.forEach((step, level) => {
    spread.forEach((share, place) => {
      after[place + step] += share * chances[level];
    });
  });
  return after;
}
