/**
 * Reasoning room: price every check by planning over worlds.
 *
 * Builds the planner's situation from the posterior: the likeliest causes of the complaint,
 * sets of them as worlds, repairs and checks with their costs. It knows no supply-first rule
 * beyond the gate it is handed. Twin of triage_plan.py, same order of arithmetic.
 *
 * @import { Case, Knowledge } from "../knowledge/types.js"
 * @import { Findings } from "./findings.js"
 * @import { Plan } from "./planner.js"
 * @import { Gate, Situation } from "./planner-situation.js"
 * @import { Offer } from "./triage-offers.js"
 * @import { Worlds } from "./worlds.js"
 */

import { compareText } from "../measure/gauges-numbers.js";
import { networkOf } from "./findings.js";
import { indexNetwork } from "./network.js";
import { choose } from "./planner.js";
import { hourValue, Offers, repairCost } from "./triage-offers.js";
import { enumerateWorlds, levelTable } from "./worlds.js";

const LEAST_LIKELY = 0.01;
const MOST_CAUSES = 12;
const MOST_CHECKS = 12;
const MOST_PRESENT = 2;
const QUICK_LOOK = 0.15;

/**
 * A check with what making it first is expected to save against buying parts in p/c order now:
 * `saving` with further checks planned after it, `alone` with this check only.
 * @typedef {{offer: Offer, saving: number, alone: number}} Priced
 */

/**
 * `priced` is sorted by saving, then id. `buyingNow` is the expected cost of repairing in p/c
 * order with no check at all, `alone` what each check would save by itself, `gate` the cheapest
 * check on the supply, if any.
 * @typedef {object} Planning
 * @property {string[]} causes
 * @property {Priced[]} priced
 * @property {number} buyingNow
 * @property {Record<string, number>} alone
 * @property {Map<string, Offer>} offers
 * @property {Offer | null} gate
 * @property {string | null} cheapestFirst the first in p/c order among the likely causes
 */

/** @typedef {{posteriors: Record<string, number>, gated: boolean, workLimit: number}} Asked */

/**
 * Round for ordering, so that both languages order alike.
 * @param {number} value
 */
export function rounded(value) {
  return Math.round(value * 1e9) / 1e9;
}

/**
 * Return the causes that can produce a complaint of this case; without a complaint, every cause
 * linked to something noticed; without that, all.
 * @param {Knowledge} knowledge
 * @param {Case} car
 * @returns {Set<string>}
 */
export function relevantCauses(knowledge, car) {
  const network = networkOf(knowledge);
  const { findingById } = indexNetwork(network);
  for (const wanted of ["complaint", "circumstance"]) {
    /** @type {Set<string>} */
    const linked = new Set();
    for (const name of car.symptoms ?? []) {
      if (knowledge.symptoms[name]?.role !== wanted) continue;
      for (const [cause, row] of Object.entries(findingById.get(name)?.links ?? {})) {
        if ((row[0] ?? 1) < 1) linked.add(cause);
      }
    }
    if (linked.size > 0) return linked;
  }
  return new Set(network.causes.map(({ id }) => id));
}

/**
 * Return up to 12 causes of at least 1 in 100, most probable first (ties by id).
 * @param {Record<string, number>} posteriors
 * @param {Set<string>} among
 */
export function likeliest(posteriors, among) {
  const kept = [...among].filter((name) => (posteriors[name] ?? 0) >= LEAST_LIKELY);
  kept.sort((a, b) => (posteriors[b] ?? 0) - (posteriors[a] ?? 0) || compareText(a, b));
  return kept.slice(0, MOST_CAUSES);
}

/** Holds what every pricing of one case shares. */
class Desk {
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
    return (this.knowledge.checks[check]?.aspects.length ?? 0) > 0 && Boolean(this.finding(check));
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
      for (const chance of row.slice(level + 1)) total += (this.worlds.weights[world] ?? 0) * chance;
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
    const unresolved = this.knowledge.settings.unresolved_cost ?? 0;
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
        return { id: check, cost, levels: table[0]?.length ?? 0, table };
      }),
      rule: gate,
      unresolvedCost: unresolved,
    };
  }
}

/**
 * Price the checks of a case. Up to 12 checks are looked at closely: those with the least
 * one-step value, and the gate.
 * @param {Knowledge} knowledge
 * @param {Case} car
 * @param {Findings} findings
 * @param {Asked} asked
 * @returns {Planning}
 */
export function plan(knowledge, car, findings, asked) {
  const causes = likeliest(asked.posteriors, relevantCauses(knowledge, car));
  const worlds = enumerateWorlds(networkOf(knowledge), findings.odds, findings.evidence, {
    candidates: causes,
    mostPresent: MOST_PRESENT,
  });
  const desk = new Desk(knowledge, worlds, hourValue(knowledge, car));
  const worse = (/** @type {string} */ check, /** @type {number} */ level) => desk.worse(check, level);
  const offers = new Offers(knowledge, car, findings, worse).all();
  const gate = cheapestSupplyCheck(desk, offers);
  const useful = [...offers.values()].filter(({ check }) => desk.moves(check));
  const everything = desk.situation(useful, null);
  const firstLook = choose(everything, { workLimit: 0 });
  const buyingNow = firstLook.ecrRepairsOnly;
  const oneStep = checkValues(firstLook);
  const short = shortlist(useful, oneStep, gate);
  const gated = asked.gated && gate && short.includes(gate);
  const rule = gated ? { check: gate.check, dearerThan: gate.cost } : null;
  const values = checkValues(choose(desk.situation(short, rule), { workLimit: asked.workLimit }));
  /** @type {Record<string, number>} */
  const alone = {};
  for (const [name, value] of oneStep) alone[name] = buyingNow - value;
  const priced = short
    .filter(({ check }) => values.has(check))
    .map((offer) => ({
      offer,
      saving: buyingNow - (values.get(offer.check) ?? 0),
      alone: alone[offer.check] ?? 0,
    }));
  priced.sort((a, b) => rounded(b.saving) - rounded(a.saving) || compareText(a.offer.check, b.offer.check));
  const first = cheapestFirst(everything, asked.posteriors);
  return { causes, priced, buyingNow, alone, offers, gate, cheapestFirst: first };
}

/**
 * Return the likely cause with the most probability for its repair's cost (ties by id).
 * @param {{causeIds: readonly string[], repairCosts: readonly number[]}} situation
 * @param {Record<string, number>} posteriors
 */
function cheapestFirst({ causeIds, repairCosts }, posteriors) {
  const ranked = causeIds.flatMap((name, i) => {
    const cost = repairCosts[i] ?? 0;
    const chance = posteriors[name] ?? 0;
    return cost > 0 && chance >= QUICK_LOOK ? [{ name, worth: rounded(chance / cost) }] : [];
  });
  ranked.sort((a, b) => b.worth - a.worth || compareText(a.name, b.name));
  return ranked[0]?.name ?? null;
}

/**
 * @param {Plan} found
 * @returns {Map<string, number>}
 */
function checkValues(found) {
  const checks = found.values.filter(({ kind }) => kind === "check");
  return new Map(checks.map(({ id, value }) => [id, value]));
}

/**
 * Return the open supply check that costs least (ties by id), or null.
 * @param {Desk} desk
 * @param {Map<string, Offer>} offers
 * @returns {Offer | null}
 */
function cheapestSupplyCheck(desk, offers) {
  const found = [...offers.values()].filter(({ check }) => desk.isSupplyCheck(check));
  found.sort((a, b) => a.cost - b.cost || compareText(a.check, b.check));
  return found[0] ?? null;
}

/**
 * Keep the checks with the least one-step value; the gate is always among them.
 * @param {Offer[]} useful
 * @param {Map<string, number>} oneStep
 * @param {Offer | null} gate
 * @returns {Offer[]}
 */
function shortlist(useful, oneStep, gate) {
  const ranked = useful.filter(({ check }) => oneStep.has(check));
  const value = (/** @type {Offer} */ { check }) => rounded(oneStep.get(check) ?? 0);
  ranked.sort((a, b) => value(a) - value(b) || compareText(a.check, b.check));
  const short = ranked.slice(0, MOST_CHECKS);
  if (gate && ranked.includes(gate) && !short.includes(gate)) short[short.length - 1] = gate;
  return short.sort((a, b) => compareText(a.check, b.check));
}
