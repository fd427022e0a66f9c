/**
 * What each step is expected to save: checks, repairs and a workshop, planned on one case.
 *
 * The planner's situation is built from the posterior: the likeliest causes of the complaint, sets
 * of them as worlds, checks and repairs with their costs, what a workshop asks in each world, and
 * the two gates on buying with the numbers that policy.js gives. Twin of planning.py, same order
 * of arithmetic.
 *
 * @import { Cause } from "../knowledge/types.js"
 * @import { Diagnosis } from "./diagnosis.js"
 * @import { Plan } from "./planner.js"
 * @import { Offer } from "./pricing.js"
 * @import { Buying, Situation } from "./situation.js"
 * @import { Worlds } from "./worlds.js"
 */
import { compareText } from "../measure/gauges-numbers.js";
import { missing, repairRequires } from "./abilities.js";
import { confirmation, relevantCauses, reportingSymptoms } from "./diagnosis.js";
import { networkOf } from "./findings.js";
import { indexNetwork } from "./network.js";
import { choose } from "./planner.js";
import { hourValue, middlePrice, Offers, putsRight, repairCost, workshopBill } from "./pricing.js";
import { isSupplyCause } from "./supply.js";
import { enumerateWorlds, levelTable } from "./worlds.js";

const LEAST_LIKELY = 0.01;
const MOST_CAUSES = 12;
const MOST_CHECKS = 12;
const MOST_PRESENT = 2;
const CLOSE = 0.05;

/** @typedef {{sure: number, excluded: number}} Gates the numbers of the two gates on buying */

/**
 * A check with what making it first is expected to save, with what is best after it; `alone`
 * with no further check after it.
 * @typedef {{offer: Offer, saving: number, alone: number}} PricedCheck
 */

/**
 * What planning found; planning.py says what each means.
 * @typedef {object} Planning
 * @property {string[]} causes
 * @property {{kind: "check" | "repair" | "workshop", id: string}} step
 * @property {PricedCheck[]} priced
 * @property {number} buyingNow
 * @property {number} workshop
 * @property {Map<string, Offer>} offers
 * @property {Offer | null} gate
 * @property {string[]} mayRepair
 * @property {string[]} held
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
function likeliest(posteriors, among) {
  const kept = [...among].filter((name) => posteriors[name] >= LEAST_LIKELY);
  kept.sort((a, b) => posteriors[b] - posteriors[a] || compareText(a, b));
  return kept.slice(0, MOST_CAUSES);
}

/** What every pricing of one case shares. */
class CasePlan {
  /**
   * @param {Diagnosis} diagnosis
   * @param {Worlds} worlds
   */
  constructor(diagnosis, worlds) {
    this.diagnosis = diagnosis;
    this.knowledge = diagnosis.knowledge;
    this.network = networkOf(diagnosis.knowledge);
    this.worlds = worlds;
    this.entries = worlds.causes.map((name) => /** @type {Cause} */ (this.knowledge.causes[name]));
    this.onSupply = worlds.causes.map((name) => isSupplyCause(this.knowledge, name));
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
   * Tell whether a check can move a cause looked at; with `supply`, one of the supply.
   * @param {string} check
   * @param {{supply?: boolean}} [options]
   */
  moves(check, { supply = false } = {}) {
    const finding = this.finding(check);
    if (!finding) return false;
    return this.worlds.causes.some((name, place) => name in finding.links && (!supply || this.onSupply[place]));
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
   * @param {Offer[]} offers
   * @param {Buying} buying
   * @returns {Situation}
   */
  situation(offers, buying) {
    const { masks, weights, causes } = this.worlds;
    const unresolved = this.knowledge.settings.unresolved_cost;
    const hour = hourValue(this.knowledge, this.diagnosis.car);
    const bills = this.entries.map(workshopBill);
    return {
      causeIds: causes,
      repairCosts: this.entries.map((cause) => repairCost(cause, hour)),
      masks,
      weights,
      checks: offers.map(({ check, cost }) => {
        const table = this.table(check);
        return { id: check, cost, levels: table[0]?.length, table, confirms: this.confirms(check) };
      }),
      unresolvedCost: unresolved,
      workshop: masks.map((mask) =>
        bills.reduce((price, bill, place) => price + ((mask >> place) & 1 ? bill : 0), unresolved),
      ),
      putsRight: this.entries.map((one) =>
        this.entries.reduce((mask, other, place) => (putsRight(one, other) ? mask | (1 << place) : mask), 0),
      ),
      buying,
    };
  }

  /**
   * Return, for each level of a check, the causes that this level or a worse one confirms.
   * @param {string} check
   */
  confirms(check) {
    const levels = this.knowledge.checks[check].levels.map(({ id }) => id);
    const least = this.entries.map(({ confirmed_by: by }) => {
      const last = by.filter((one) => one.check === check && levels.includes(one.level)).pop();
      return last ? levels.indexOf(last.level) : Infinity;
    });
    return levels.map((_, level) => least.flatMap((worst, place) => (worst <= level ? [place] : [])));
  }

  /**
   * Return the two gates on buying, for this case.
   * @param {Map<string, Offer>} offers
   * @param {Offer | null} gate
   * @param {Gates} gates
   * @returns {Buying}
   */
  buying(offers, gate, gates) {
    const bought = this.entries.map(({ repair }) => repair.part !== null);
    const confirming = this.entries.map(({ confirmed_by: by }) => by.flatMap(({ check }) => offers.get(check) ?? []));
    return {
      possible: this.entries.map((cause, place) => this.isPossible(cause, this.worlds.causes[place], gates.sure)),
      bought,
      confirmed: this.entries.map((cause) => confirmation(this.diagnosis, cause) !== null),
      confirmable: confirming.map((found) => found.length > 0),
      findingOut: confirming.map((found) =>
        Math.min(this.knowledge.settings.unresolved_cost, ...found.map(({ cost }) => cost)),
      ),
      waits: this.entries.map((cause, place) => gate !== null && bought[place] && middlePrice(cause) > gate.cost),
      onSupply: this.onSupply,
      supplyShare: this.supplyShare(),
      ...gates,
    };
  }

  /**
   * Tell whether a repair can be made and its own check has not spoken against it. A part may
   * still be bought then once its cause is more likely than not. One made already is not made
   * again, unless a check has confirmed its cause since.
   * @param {Cause} cause
   * @param {string} name
   * @param {number} atLeast
   */
  isPossible(cause, name, atLeast) {
    const { findings, posteriors } = this.diagnosis;
    const sure = posteriors[name] >= atLeast;
    const madeAlready = findings.repairs[name];
    if (madeAlready && (madeAlready !== "same" || !confirmation(this.diagnosis, cause))) return false;
    if (missing(findings.abilities, repairRequires(cause))) return false;
    const made = cause.confirmed_by.some(({ check }) => findings.results[check]);
    return (cause.repair.part !== null && sure) || !made || confirmation(this.diagnosis, cause) !== null;
  }

  /** Return, by world, the part its supply causes have in the complaints. */
  supplyShare() {
    const findings = reportingSymptoms(this.knowledge, this.diagnosis.car).flatMap((name) => this.finding(name) ?? []);
    return this.worlds.masks.map((mask) => {
      let ratio = 1;
      for (const { leak, links } of findings) {
        let quiet = leak[0];
        let others = leak[0];
        this.worlds.causes.forEach((cause, place) => {
          if (!((mask >> place) & 1) || !(cause in links)) return;
          quiet *= links[cause][0];
          others *= this.onSupply[place] ? 1 : links[cause][0];
        });
        ratio *= quiet < 1 ? (1 - others) / (1 - quiet) : 1;
      }
      return 1 - ratio;
    });
  }
}

/**
 * Price the steps of a case. Up to 12 checks are looked at closely: those with the least one-step
 * value, and the gate.
 * @param {Diagnosis} diagnosis
 * @param {Gates} gates
 * @param {number} workLimit
 * @returns {Planning}
 */
export function plan(diagnosis, gates, workLimit) {
  const { knowledge, car, findings, posteriors } = diagnosis;
  const causes = likeliest(posteriors, relevantCauses(knowledge, car));
  const worlds = enumerateWorlds(networkOf(knowledge), findings.odds, findings.evidence, {
    candidates: causes,
    mostPresent: MOST_PRESENT,
  });
  const shared = new CasePlan(diagnosis, worlds);
  const worse = (/** @type {string} */ check, /** @type {number} */ level) => shared.worse(check, level);
  const offers = new Offers(knowledge, car, findings, worse).all();
  const gate = gates.excluded < 1 ? cheapestSupplyCheck(shared, offers) : null;
  const buying = shared.buying(offers, gate, gates);
  const useful = [...offers.values()].filter(({ check }) => shared.moves(check));
  const alone = checkValues(choose(shared.situation(useful, buying), 0));
  const short = shortlist(useful, alone, gate);
  const found = choose(shared.situation(short, buying), workLimit);
  const values = checkValues(found);
  const buyingNow = found.ecrRepairsOnly;
  return {
    causes,
    step: stepOf(diagnosis, found, gates),
    priced: bySaving(
      short.map((offer) => ({
        offer,
        saving: buyingNow - values[offer.check],
        alone: buyingNow - alone[offer.check],
      })),
    ),
    buyingNow,
    workshop: found.values[found.values.length - 1].value,
    offers,
    gate,
    mayRepair: found.open,
    held: heldBack(worlds, buying),
  };
}

/**
 * Return the step of least cost; a repair that a check confirmed wins a near tie.
 *
 * A result that confirms a cause has said what to do, and our numbers are no better than that.
 * @param {Diagnosis} diagnosis
 * @param {Plan} found
 * @param {Gates} gates
 * @returns {Planning["step"]}
 */
function stepOf(diagnosis, { action, value, values }, gates) {
  if (action === null) return { kind: "workshop", id: "" };
  if (action.kind !== "check") return action;
  const confirmed = values.filter(
    (one) =>
      one.kind === "repair" &&
      one.value <= value * (1 + CLOSE) &&
      diagnosis.posteriors[one.id] >= gates.sure &&
      confirmation(diagnosis, /** @type {Cause} */ (diagnosis.knowledge.causes[one.id])) !== null,
  );
  confirmed.sort((a, b) => rounded(a.value) - rounded(b.value) || compareText(a.id, b.id));
  return confirmed[0] ?? action;
}

/**
 * Sort by saving; in a near tie for the first place leads what saves most by itself.
 *
 * Two checks planned one after the other come to the same in either order.
 * @param {PricedCheck[]} priced
 */
function bySaving(priced) {
  const most = Math.max(...priced.map(({ saving }) => saving));
  const least = most - Math.max(1, CLOSE * most);
  const key = (/** @type {PricedCheck} */ { saving, alone }) => rounded(saving < least ? saving : alone);
  return priced.sort(
    (a, b) =>
      Number(a.saving < least) - Number(b.saving < least) ||
      key(b) - key(a) ||
      compareText(a.offer.check, b.offer.check),
  );
}

/**
 * Return the causes outside the supply whose part waits for it now.
 * @param {Worlds} worlds
 * @param {Buying} buying
 */
function heldBack({ weights, causes }, { supplyShare, excluded, waits, onSupply }) {
  let part = 0;
  supplyShare.forEach((share, world) => {
    part += weights[world] * share;
  });
  return part < excluded ? [] : causes.filter((_, place) => waits[place] && !onSupply[place]);
}

/**
 * @param {Plan} found
 * @returns {Record<string, number>}
 */
function checkValues({ values }) {
  return Object.fromEntries(values.filter(({ kind }) => kind === "check").map(({ id, value }) => [id, value]));
}

/**
 * Return the open supply check that costs least (ties by id), or null: only one that can move a
 * supply cause of the complaint; once the supply is proven, none.
 * @param {CasePlan} shared
 * @param {Map<string, Offer>} offers
 * @returns {Offer | null}
 */
function cheapestSupplyCheck(shared, offers) {
  if (shared.diagnosis.supply.state === "sound") return null;
  const found = [...offers.values()].filter(
    ({ check }) => shared.knowledge.checks[check].aspects.length > 0 && shared.moves(check, { supply: true }),
  );
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
  const value = (/** @type {Offer} */ { check }) => rounded(oneStep[check]);
  const ranked = [...useful].sort((a, b) => value(a) - value(b) || compareText(a.check, b.check));
  const short = ranked.slice(0, MOST_CHECKS);
  if (gate && ranked.includes(gate) && !short.includes(gate)) short[short.length - 1] = gate;
  return short.sort((a, b) => compareText(a.check, b.check));
}
