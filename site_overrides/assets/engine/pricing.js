/**
 * Which checks can be made now, and what making each first is expected to save.
 *
 * A check whose prerequisite has no result is offered through it, one whose prerequisite came
 * out worse through what the knowledge names instead. The planner's situation is built from the
 * posterior: the likeliest causes of the complaint, sets of them as worlds, repairs and checks
 * with their costs. It knows no supply-first rule beyond the gate it is asked for. Twin of
 * pricing.py, same order of arithmetic.
 *
 * @import { Case, Cause, Check, Knowledge } from "../knowledge/types.js"
 * @import { Diagnosis } from "./diagnosis.js"
 * @import { Findings } from "./findings.js"
 * @import { Plan } from "./planner.js"
 * @import { Gate, Situation } from "./situation.js"
 * @import { Worlds } from "./worlds.js"
 */
import { compareText } from "../measure/gauges-numbers.js";
import { checkRequires, missing } from "./abilities.js";
import { relevantCauses } from "./diagnosis.js";
import { networkOf } from "./findings.js";
import { indexNetwork } from "./network.js";
import { choose } from "./planner.js";
import { enumerateWorlds, levelTable } from "./worlds.js";

const WORKSHOP_MINUTE = 2;
const LIKELY = 0.5;
const LEAST_LIKELY = 0.01;
const MOST_CAUSES = 12;
const MOST_CHECKS = 12;
const MOST_PRESENT = 2;
const QUICK_LOOK = 0.15;

/**
 * `before` lists the checks that come first, `first` is the one to make now: the check itself
 * when nothing comes before it. `instead` is true when `first` is there because a prerequisite
 * came out worse than the check allows.
 * @typedef {{check: string, first: string, before: string[], cost: number, instead: boolean}} Offer
 */

/** @typedef {{check: string, at_most?: string | null, otherwise?: string | null}} Need */
/** @typedef {{steps: string[], cost: number, instead: boolean}} Path */

/**
 * Return the reader's price of an hour.
 * @param {Knowledge} knowledge
 * @param {Case & {hour_value?: number | null}} car
 * @returns {number}
 */
export function hourValue(knowledge, car) {
  return car.hour_value ?? knowledge.settings.hour_value ?? 0;
}

/**
 * Return what a check costs: its money and its minutes at the reader's price of an hour.
 * @param {Check} check
 * @param {number} hour
 */
export function checkCost(check, hour) {
  return check.money + (check.minutes * hour) / 60;
}

/**
 * Return the middle of a part's price.
 * @param {Cause} cause
 */
export function middlePrice({ repair }) {
  return (repair.price.low + repair.price.high) / 2;
}

/**
 * Return what a repair costs: the middle of the part's price and the work.
 *
 * In a workshop a minute costs 2 units of money (our estimate), at home the reader's own.
 * @param {Cause} cause
 * @param {number} hour
 */
export function repairCost(cause, hour) {
  const { repair } = cause;
  if (repair.who === "workshop") return middlePrice(cause) + repair.minutes * WORKSHOP_MINUTE;
  return middlePrice(cause) + (repair.minutes * hour) / 60;
}

/** Works out offers for one case. */
export class Offers {
  /**
   * @param {Knowledge} knowledge
   * @param {Case} car
   * @param {Findings} findings
   * @param {(check: string, level: number) => number} worse P(a check comes out above a level)
   */
  constructor(knowledge, car, findings, worse) {
    this.knowledge = knowledge;
    this.car = car;
    this.results = findings.results;
    this.abilities = findings.abilities;
    this.worse = worse;
    this.hour = hourValue(knowledge, car);
    this.families = new Set(
      car.symptoms.flatMap((name) => {
        const symptom = knowledge.symptoms[name];
        return symptom?.role === "complaint" ? [symptom.family] : [];
      }),
    );
  }

  /**
   * Return every check that can be made now or after its prerequisites, by id.
   * @returns {Map<string, Offer>}
   */
  all() {
    /** @type {Map<string, Offer>} */
    const offers = new Map();
    for (const name of Object.keys(this.knowledge.checks)) {
      const path = this.path(name, []);
      if (!path) continue;
      const { steps, cost, instead } = path;
      const [first = name] = steps;
      offers.set(name, { check: name, first, before: steps.slice(0, -1), cost, instead });
    }
    return offers;
  }

  /** @param {string} name */
  isOpen(name) {
    const check = this.knowledge.checks[name];
    if (!check || this.results[name] || this.car.not_possible?.includes(name)) return false;
    if (missing(this.abilities, checkRequires(check))) return false;
    const only = check.only_for ?? [];
    const { families } = this;
    if (only.length > 0 && families.size > 0 && !only.some((one) => families.has(one))) return false;
    const { tools } = this.car;
    return !tools || check.tools.every((tool) => tools.includes(tool));
  }

  /**
   * Return the checks to make, ending with `name`, and their cost; null if it cannot be made.
   * @param {string} name
   * @param {string[]} above
   * @returns {Path | null}
   */
  path(name, above) {
    const check = this.knowledge.checks[name];
    if (above.includes(name) || !check || !this.isOpen(name)) return null;
    /** @type {string[]} */
    let steps = [];
    let cost = checkCost(check, this.hour);
    let instead = false;
    for (const need of check.needs ?? []) {
      const found = this.meet(need, [...above, name]);
      if (!found) return null;
      instead = instead || (found.instead && steps.length === 0);
      const known = steps;
      steps = [...known, ...found.steps.filter((step) => !known.includes(step))];
      cost += found.cost;
    }
    return { steps: [...steps, name], cost, instead };
  }

  /**
   * Return what meets a prerequisite: nothing, the check itself, or the one instead.
   * @param {Need} need
   * @param {string[]} above
   * @returns {Path | null}
   */
  meet(need, above) {
    const nothing = { steps: [], cost: 0, instead: false };
    if (!this.knowledge.checks[need.check]) return nothing;
    const atMost = this.atMost(need);
    const weights = this.results[need.check];
    if (!weights) return this.meetUnmade(need, atMost, above);
    if (atMost === null) return nothing;
    let good = 0;
    for (const weight of weights.slice(0, atMost + 1)) good += weight;
    if (good >= LIKELY) return nothing;
    if (!need.otherwise) return null;
    const done = this.results[need.otherwise];
    // Its best level mends what was amiss; any other leaves the check unfit to make.
    if (done) return (done[0] ?? 0) >= LIKELY ? nothing : null;
    const path = this.path(need.otherwise, above);
    return path && { steps: path.steps, cost: path.cost, instead: true };
  }

  /**
   * @param {Need} need
   * @param {number | null} atMost
   * @param {string[]} above
   * @returns {Path | null}
   */
  meetUnmade(need, atMost, above) {
    const path = this.path(need.check, above);
    if (!path) return null;
    let { cost } = path;
    if (atMost !== null && need.otherwise) {
      const other = this.path(need.otherwise, [...above, need.check]);
      if (other) cost += this.worse(need.check, atMost) * other.cost;
    }
    return { steps: path.steps, cost, instead: path.instead };
  }

  /**
   * @param {Need} need
   * @returns {number | null}
   */
  atMost(need) {
    const levels = this.knowledge.checks[need.check]?.levels ?? [];
    const place = levels.findIndex(({ id }) => id === need.at_most);
    return place < 0 ? null : place;
  }
}

/**
 * A check with what making it first is expected to save against buying parts in p/c order now:
 * `saving` with further checks planned after it, `alone` with this check only.
 * @typedef {{offer: Offer, saving: number, alone: number}} PricedCheck
 */

/**
 * `priced` is sorted by saving, then id. `buyingNow` is the expected cost of repairing in p/c
 * order with no check at all, `alone` what each check would save by itself, `gate` the cheapest
 * check on the supply, if any.
 * @typedef {object} Planning
 * @property {string[]} causes
 * @property {PricedCheck[]} priced
 * @property {number} buyingNow
 * @property {Record<string, number>} alone
 * @property {Map<string, Offer>} offers
 * @property {Offer | null} gate
 * @property {string | null} cheapestFirst the first in p/c order among the likely causes
 */

/**
 * Round for ordering, so that both languages order alike.
 * @param {number} value
 */
export function rounded(value) {
  return Math.round(value * 1e9) / 1e9;
}

/**
 * Return up to 12 causes of at least 1 in 100, most probable first (ties by id).
 * @param {Record<string, number>} posteriors
 * @param {Set<string>} among
 */
export function likeliest(posteriors, among) {
  const kept = [...among].filter((name) => posteriors[name] >= LEAST_LIKELY);
  kept.sort((a, b) => posteriors[b] - posteriors[a] || compareText(a, b));
  return kept.slice(0, MOST_CAUSES);
}

/** What every pricing of one case shares. */
class CasePlan {
  /**
   * @param {Knowledge} knowledge
   * @param {Worlds} worlds
   * @param {number} hour
   */
  constructor(knowledge, worlds, hour) {
    this.knowledge = knowledge;
    this.network = networkOf(knowledge);
    this.worlds = worlds;
    this.hour = hour;
    /** @type {Map<string, number[][]>} */
    this.tables = new Map();
  }

  /** @param {string} check */
  table(check) {
    let table = this.tables.get(check);
    if (!table) {
      table = levelTable(this.network, this.worlds, check);
      this.tables.set(check, table);
    }
    return table;
  }

  /** @param {string} check */
  finding(check) {
    return indexNetwork(this.network).findingById.get(check);
  }

  /**
   * Tell whether a check judges the supply and has levels to tell.
   * @param {string} check
   */
  isSupplyCheck(check) {
    return this.knowledge.checks[check]?.aspects.length > 0 && Boolean(this.finding(check));
  }

  /**
   * Tell whether a check can move a cause looked at, or judges the supply.
   * @param {string} check
   */
  moves(check) {
    const finding = this.finding(check);
    if (!finding) return false;
    return this.worlds.causes.some((name) => name in finding.links) || this.isSupplyCheck(check);
  }

  /**
   * Return P(a check comes out above `level`) over the worlds.
   * @param {string} check
   * @param {number} level
   */
  worse(check, level) {
    if (!this.finding(check)) return 0;
    let total = 0;
    this.table(check).forEach((row, world) => {
      for (const chance of row.slice(level + 1)) total += this.worlds.weights[world] * chance;
    });
    return total;
  }

  /**
   * Return the planner's situation with these checks.
   *
   * No repair counts for more than what a workshop asks to find out: rather than guess with a
   * dearer part one would ask, so a dear and unlikely cause must not rule the plan.
   * @param {Offer[]} offers
   * @param {Gate | null} gate
   * @returns {Situation}
   */
  situation(offers, gate) {
    const { masks, weights, causes } = this.worlds;
    const unresolved = this.knowledge.settings.unresolved_cost;
    return {
      causeIds: causes,
      repairCosts: causes.map((name) => {
        const cause = this.knowledge.causes[name];
        return cause ? Math.min(unresolved, repairCost(cause, this.hour)) : unresolved;
      }),
      masks,
      weights,
      checks: offers.map(({ check, cost }) => {
        const table = this.table(check);
        return { id: check, cost, levels: table[0]?.length, table };
      }),
      rule: gate,
      unresolvedCost: unresolved,
    };
  }
}

/**
 * Price the checks of a case. Up to 12 checks are looked at closely: those with the least
 * one-step value, and the gate.
 * `gated` keeps parts dearer than the gate back until it has a result.
 * @param {Diagnosis} diagnosis
 * @param {boolean} gated
 * @param {number} workLimit
 * @returns {Planning}
 */
export function plan({ knowledge, car, findings, posteriors }, gated, workLimit) {
  const causes = likeliest(posteriors, relevantCauses(knowledge, car));
  const worlds = enumerateWorlds(networkOf(knowledge), findings.odds, findings.evidence, {
    candidates: causes,
    mostPresent: MOST_PRESENT,
  });
  const shared = new CasePlan(knowledge, worlds, hourValue(knowledge, car));
  const worse = (/** @type {string} */ check, /** @type {number} */ level) => shared.worse(check, level);
  const offers = new Offers(knowledge, car, findings, worse).all();
  const gate = cheapestSupplyCheck(shared, offers);
  const useful = [...offers.values()].filter(({ check }) => shared.moves(check));
  const everything = shared.situation(useful, null);
  const firstLook = choose(everything, 0);
  const buyingNow = firstLook.ecrRepairsOnly;
  const oneStep = checkValues(firstLook);
  const short = shortlist(useful, oneStep, gate);
  const rule = gated && gate && short.includes(gate) ? { check: gate.check, dearerThan: gate.cost } : null;
  const values = checkValues(choose(shared.situation(short, rule), workLimit));
  const alone = Object.fromEntries(Object.entries(oneStep).map(([name, value]) => [name, buyingNow - value]));
  const priced = short
    .filter(({ check }) => check in values)
    .map((offer) => ({
      offer,
      saving: buyingNow - values[offer.check],
      alone: alone[offer.check],
    }));
  priced.sort((a, b) => rounded(b.saving) - rounded(a.saving) || compareText(a.offer.check, b.offer.check));
  const first = cheapestFirst(everything, posteriors);
  return { causes, priced, buyingNow, alone, offers, gate, cheapestFirst: first };
}

/**
 * Return the likely cause with the most probability for its repair's cost (ties by id).
 * @param {{causeIds: readonly string[], repairCosts: readonly number[]}} situation
 * @param {Record<string, number>} posteriors
 */
function cheapestFirst({ causeIds, repairCosts }, posteriors) {
  const ranked = causeIds.flatMap((name, i) => {
    const cost = repairCosts[i];
    const chance = posteriors[name];
    return cost > 0 && chance >= QUICK_LOOK ? [{ name, worth: rounded(chance / cost) }] : [];
  });
  ranked.sort((a, b) => b.worth - a.worth || compareText(a.name, b.name));
  return ranked[0]?.name ?? null;
}

/**
 * @param {Plan} found
 * @returns {Record<string, number>}
 */
function checkValues({ values }) {
  return Object.fromEntries(values.filter(({ kind }) => kind === "check").map(({ id, value }) => [id, value]));
}

/**
 * Return the open supply check that costs least (ties by id), or null.
 * @param {CasePlan} shared
 * @param {Map<string, Offer>} offers
 * @returns {Offer | null}
 */
function cheapestSupplyCheck(shared, offers) {
  const found = [...offers.values()].filter(({ check }) => shared.isSupplyCheck(check));
  found.sort((a, b) => a.cost - b.cost || compareText(a.check, b.check));
  return found[0] ?? null;
}

/**
 * Keep the checks with the least one-step value; the gate is always among them.
 * @param {Offer[]} useful
 * @param {Record<string, number>} oneStep
 * @param {Offer | null} gate
 * @returns {Offer[]}
 */
function shortlist(useful, oneStep, gate) {
  const ranked = useful.filter(({ check }) => check in oneStep);
  const value = (/** @type {Offer} */ { check }) => rounded(oneStep[check]);
  ranked.sort((a, b) => value(a) - value(b) || compareText(a.check, b.check));
  const short = ranked.slice(0, MOST_CHECKS);
  if (gate && ranked.includes(gate) && !short.includes(gate)) short[short.length - 1] = gate;
  return short.sort((a, b) => compareText(a.check, b.check));
}
