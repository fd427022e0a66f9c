/**
 * What each step is expected to save: checks, repairs and a workshop, planned on one case.
 *
 * The planner's situation is built from the posterior: the causes likeliest to be to blame for the
 * complaint, sets of them as worlds, checks and repairs with their costs, what a workshop asks in
 * each world, and the two gates on buying with the numbers that policy.js gives. Twin of
 * planning.py, same order of arithmetic.
 *
 * @import { Cause } from "../knowledge/types.js"
 * @import { Blamed, Worlds } from "./worlds.js"
 * @import { Diagnosis } from "./diagnosis.js"
 * @import { Question } from "./one-look.js"
 * @import { ActionValue, Plan } from "./planner.js"
 * @import { Offer } from "./pricing.js"
 * @import { Buying, PlanCheck, Situation } from "./situation.js"
 */
import { compareText } from "../measure/gauges-numbers.js";
import { missing, NEAR, repairRequires } from "./abilities.js";
import { amissIn, confirmation, relevantCauses, reportingSymptoms } from "./diagnosis.js";
import { networkOf } from "./findings.js";
import { indexNetwork } from "./network.js";
import { joined, joinedConfirms, questionsOf } from "./one-look.js";
import { choose } from "./planner.js";
import { hourValue, middlePrice, Offers, putsRight, repairCost, workshopBill } from "./pricing.js";
import { isSupplyCause } from "./supply.js";
import { blame, blamedTable, enumerateWorlds, inBlamed, levelTable, shareOf, shareOfAny } from "./worlds.js";

const LEAST_LIKELY = 0.01;
const MOST_CAUSES = 12;
const MOST_LOOKED_AT = 20;
const FEW_CAUSES = 8;
const CLOSE = 0.2;
const TRIED_FROM = 1 / 3;
const FOUND_GOOD = 0.5;
const TROUBLE = 1;
const QUARTER = 0.25;
const PAYS = 1e-9;

/** @typedef {{sure: number, excluded: number}} Gates the numbers of the two gates on buying */

/**
 * A check with what making it first is expected to save, with what is best after it; `settles` is
 * P(it confirms a cause that is to blame). `answers` are the checks one look answers with it.
 * @typedef {{offer: Offer, saving: number, settles: number, answers: string[]}} PricedCheck
 */

/**
 * What planning found; planning.py says what each means.
 * @typedef {{causes: string[], step: {kind: "check" | "repair" | "workshop", id: string}, priced: PricedCheck[],
 *   buyingNow: number, workshop: number, offers: Map<string, Offer>, gate: Offer | null, mayRepair: string[],
 *   held: string[]}} Planning
 */

/** Round for ordering, so that both languages order alike. @param {number} value */
export function rounded(value) {
  return Math.round(value * 1e9) / 1e9;
}

/**
 * Return up to `most` causes of at least 1 in 100, most probable first (ties by id).
 * @type {(posteriors: Record<string, number>, among: Iterable<string>, most: number) => string[]}
 */
function likeliest(posteriors, among, most) {
  const kept = [...among].filter((name) => posteriors[name] >= LEAST_LIKELY);
  return kept.sort((a, b) => posteriors[b] - posteriors[a] || compareText(a, b)).slice(0, most);
}

/**
 * Return the up to 12 causes likeliest to be to blame, each at least 1 in 100, with their sets;
 * chosen among the 20 likeliest to be there, likeliest first (ties by id).
 * @param {Diagnosis} diagnosis
 */
function blamedCauses(diagnosis) {
  const relevant = relevantCauses(diagnosis.knowledge, diagnosis.car, amissIn(diagnosis.findings));
  const first = blamedAmong(diagnosis, likeliest(diagnosis.posteriors, relevant, MOST_LOOKED_AT));
  const names = first.worlds.causes;
  const shares = Object.fromEntries(names.map((name, place) => [name, shareOf(first, place)]));
  return blamedAmong(diagnosis, likeliest(shares, names, MOST_CAUSES));
}

/** @type {(diagnosis: Diagnosis, candidates: string[]) => Blamed} */
function blamedAmong({ knowledge, car, findings }, candidates) {
  const network = networkOf(knowledge);
  const options = { candidates, mostPresent: candidates.length <= FEW_CAUSES ? 3 : 2 };
  const present = enumerateWorlds(network, findings.odds, findings.evidence, options);
  return blame(network, present, reportingSymptoms(knowledge, car));
}

/** What every pricing of one case shares. */
class CasePlan {
  /**
   * @param {Diagnosis} diagnosis
   * @param {Blamed} blamed
   */
  constructor(diagnosis, blamed) {
    const { worlds } = blamed;
    this.diagnosis = diagnosis;
    this.knowledge = diagnosis.knowledge;
    this.network = networkOf(diagnosis.knowledge);
    this.blamed = blamed;
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
      table = blamedTable(this.network, this.blamed, check);
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
   * @type {(check: string, options?: {supply?: boolean}) => boolean}
   */
  moves(check, { supply = false } = {}) {
    const finding = this.finding(check);
    if (!finding) return false;
    return this.worlds.causes.some((name, place) => name in finding.links && (!supply || this.onSupply[place]));
  }

  /** Return P(a check comes out above `level`) over the worlds. @type {(check: string, level: number) => number} */
  worse(check, level) {
    if (!this.finding(check)) return 0;
    let total = 0;
    this.table(check).forEach((row, world) => {
      for (const chance of row.slice(level + 1)) total += this.worlds.weights[world] * chance;
    });
    return total;
  }

  /** Return a step that asks as the planner knows it. @type {(question: Question) => PlanCheck} */
  check({ offer: { check: id, cost }, answers, reading }) {
    if (answers.length === 0) {
      const table = this.table(id);
      return { id, cost, levels: table[0].length, table, confirms: this.confirms(id) };
    }
    const { present } = this.blamed;
    const own = reading === null ? null : levelTable(this.network, present, reading);
    const tables = answers.map((name) => levelTable(this.network, present, name));
    const table = inBlamed(this.blamed, joined(own, tables, present.masks.length));
    const confirms = joinedConfirms(
      reading === null ? null : this.confirms(reading),
      answers.map((name) => this.confirms(name)),
    );
    return { id, cost, levels: table[0].length, table, confirms };
  }

  /** Return the planner's situation with these checks. @type {(checks: PlanCheck[], buying: Buying) => Situation} */
  situation(checks, buying) {
    const { masks, weights, causes } = this.worlds;
    const unresolved = this.knowledge.settings.unresolved_cost;
    const hour = hourValue(this.knowledge, this.diagnosis.car);
    const bills = this.entries.map(workshopBill);
    return {
      causeIds: causes,
      repairCosts: this.entries.map((cause) => repairCost(cause, hour)),
      masks,
      weights,
      checks,
      unresolvedCost: unresolved,
      workshop: masks.map((mask) =>
        bills.reduce((price, bill, place) => price + ((mask >> place) & 1 ? bill : 0), unresolved),
      ),
      putsRight: this.entries.map((one) => this.mends(one)),
      buying,
    };
  }

  /** Return, as a mask, the causes looked at that the repair of one puts right. @param {Cause} one */
  mends(one) {
    return this.entries.reduce((mask, other, place) => (putsRight(one, other) ? mask | (1 << place) : mask), 0);
  }

  /** Return, for each level of a check, the causes that it confirms. @param {string} check */
  confirms(check) {
    return this.knowledge.checks[check].levels.map(({ id }) =>
      this.entries.flatMap(({ confirmed_by: by }, place) =>
        by.some((one) => one.check === check && one.level === id) ? [place] : [],
      ),
    );
  }

  /** Return P(a check confirms a cause that is to blame), the likeliest at each level. @param {PlanCheck} check */
  settles({ table, confirms = [] }) {
    let settled = 0;
    confirms.forEach((confirmed, level) => {
      let most = 0;
      for (const place of confirmed) {
        let share = 0;
        this.worlds.masks.forEach((mask, world) => {
          share += (mask >> place) & 1 ? this.worlds.weights[world] * table[world][level] : 0;
        });
        most = Math.max(most, share);
      }
      settled += most;
    });
    return settled;
  }

  /**
   * Return the two gates on buying, for this case.
   * @type {(offers: Map<string, Offer>, useful: Offer[], gates: Gates) => Buying & {gate: number}}
   */
  buying(offers, useful, gates) {
    const gate = gates.excluded < 1 ? cheapestSupplyCheck(this, useful) : null;
    const bought = this.entries.map(({ repair }) => repair.part !== null);
    const confirming = this.entries.map(({ confirmed_by: by }) => by.flatMap(({ check }) => offers.get(check) ?? []));
    return {
      possible: this.entries.map((one, place) => this.isPossible(one, place, offers, gates.sure)),
      bought,
      confirmed: this.entries.map((cause) => confirmation(this.diagnosis, cause) !== null),
      confirmable: confirming.map((found) => found.length > 0),
      findingOut: confirming.map((found) => found.map((offer) => ({ check: useful.indexOf(offer), cost: offer.cost }))),
      unresolved: this.knowledge.settings.unresolved_cost,
      waits: this.entries.map((cause, place) => gate !== null && bought[place] && middlePrice(cause) > gate.cost),
      onSupply: this.onSupply,
      supplyShare: this.supplyShare(),
      ...gates,
      gate: gate ? useful.indexOf(gate) : -1,
    };
  }

  /**
   * Tell whether a repair can be made. One made already is not made again, unless a check has
   * confirmed its cause since; a check that ends the cause has made it. Only for a confirmed cause is
   * a tool borrowed that is not there, or a part bought without the checks that its entry names
   * before it. What its own check found good is put right only once its cause is more likely than
   * not all the same.
   * @type {(cause: Cause, place: number, offers: Map<string, Offer>, sure: number) => boolean}
   */
  isPossible(cause, place, offers, sure) {
    const { findings, car, knowledge, posteriors } = this.diagnosis;
    const name = this.worlds.causes[place];
    const { part, own_tools: tools = [], after_checks: needed = [] } = cause.repair;
    const isConfirmed = confirmation(this.diagnosis, cause) !== null;
    const madeAlready = findings.repairs[name];
    if (madeAlready && (madeAlready !== "same" || !isConfirmed)) return false;
    if (missing(findings.abilities, repairRequires(cause))) return false;
    const made = Object.keys(findings.results).flatMap((check) => knowledge.checks[check]?.levels ?? []);
    if (made.some(({ ends = [] }) => ends.includes(name))) return isConfirmed;
    const isAtHand = !car.tools || tools.every((tool) => car.tools?.includes(tool));
    const isChecked = part === null || needed.every((check) => offers.has(check) || findings.results[check]);
    const isFoundGood = cause.confirmed_by.some(({ check }) => (findings.results[check]?.[0] ?? 0) >= FOUND_GOOD);
    const isLikely = !isFoundGood || posteriors[name] >= sure;
    return isConfirmed || (isAtHand && isChecked && isLikely);
  }

  /** Return, by world, whether the supply alone makes the complaints: 1 or 0. */
  supplyShare() {
    const others = this.onSupply.reduce((mask, is, place) => (is ? mask : mask | (1 << place)), 0);
    return this.worlds.masks.map((mask) => (mask !== 0 && (mask & others) === 0 ? 1 : 0));
  }
}

/**
 * Price the steps of a case, each with a fixed order after it.
 * @type {(diagnosis: Diagnosis, gates: Gates) => Planning}
 */
export function plan(diagnosis, gates) {
  const { knowledge, car, findings } = diagnosis;
  const shared = new CasePlan(diagnosis, blamedCauses(diagnosis));
  const worse = (/** @type {string} */ check, /** @type {number} */ level) => shared.worse(check, level);
  const offers = new Offers(knowledge, car, findings, worse).all();
  const asked = questionsOf(
    knowledge,
    offers,
    [...offers.values()].filter(({ check }) => shared.moves(check)),
    (check) => rounded(shared.worse(check, 0)),
  );
  const useful = asked.map(({ offer }) => offer);
  const checks = asked.map((one) => shared.check(one));
  const buying = shared.buying(offers, useful, gates);
  // One step is looked ahead: the order after it knows what each look would settle.
  const found = choose(shared.situation(checks, buying), 0);
  const values = checkValues(found);
  const buyingNow = found.ecrRepairsOnly;
  const priced = asked.map(({ offer, answers }, place) => ({
    offer,
    saving: buyingNow - values[offer.check],
    settles: shared.settles(checks[place]),
    answers,
  }));
  const least = leastSaving(found, priced);
  inOrder(priced, least);
  const chosen = stepOf(
    shared,
    found,
    priced.filter(({ saving }) => saving >= least),
    buying,
  );
  const needed = neededBefore(diagnosis, chosen, priced);
  if (needed) {
    priced.sort((a, b) => Number(a.offer.check !== needed) - Number(b.offer.check !== needed));
    // What comes after it is out of the planner's sight, so it is never said to lose.
    priced[0].saving = Math.max(priced[0].saving, 2 * PAYS);
  }
  return {
    causes: shared.worlds.causes,
    step: needed ? { kind: "check", id: needed } : chosen,
    priced,
    buyingNow,
    workshop: found.values[found.values.length - 1].value,
    offers,
    gate: useful[buying.gate] ?? null,
    mayRepair: found.open,
    held: heldBack(shared.worlds, buying),
  };
}

/** @type {(settles: number, cost: number) => number} */
function perCost(settles, cost) {
  return rounded(settles / (cost + TROUBLE));
}

/**
 * Return what a check saves at least to be as good as the best one.
 * @type {(found: Plan, priced: PricedCheck[]) => number}
 */
function leastSaving({ ecrRepairsOnly, value }, priced) {
  const most = Math.max(0, ...priced.map(({ saving }) => saving));
  return Math.max(PAYS, ecrRepairsOnly - value * (1 + CLOSE), QUARTER * most);
}

/**
 * Sort checks that cost as good as least by what they settle for their cost, the others by saving;
 * `least` is the saving of the last that is as good as the best.
 * @type {(priced: PricedCheck[], least: number) => void}
 */
function inOrder(priced, least) {
  const ratio = (/** @type {PricedCheck} */ { saving, settles, offer }) =>
    saving < least ? 0 : perCost(settles, offer.cost);
  priced.sort(
    (a, b) =>
      Number(a.saving < least) - Number(b.saving < least) ||
      ratio(b) - ratio(a) ||
      rounded(b.saving) - rounded(a.saving) ||
      compareText(a.offer.check, b.offer.check),
  );
}

/**
 * Choose the step: a repair that a check confirmed, else, among those that cost as good as least,
 * what settles most for its cost; planning.py says why.
 * @type {(shared: CasePlan, found: Plan, checks: PricedCheck[], buying: Buying) => Planning["step"]}
 * @param checks those as good as the best, in order
 */
function stepOf(shared, { action, value, values }, [check], { sure, findingOut }) {
  const tries = values.filter(({ kind }) => kind === "repair").map((one) => tryOf(shared, one, findingOut));
  const most = value * (1 + CLOSE);
  const confirmed = tries.filter(
    (one) =>
      one.confirmed &&
      (one.value <= value ||
        (one.inVain <= CLOSE * value && one.posterior >= TRIED_FROM) ||
        (one.value * (1 - CLOSE) <= value && one.posterior >= sure)),
  );
  confirmed.sort(
    (a, b) =>
      Number(a.bought) - Number(b.bought) || rounded(b.posterior) - rounded(a.posterior) || compareText(a.id, b.id),
  );
  if (confirmed[0]) return { kind: "repair", id: confirmed[0].id };
  if (action === null || action.kind === "workshop") return { kind: "workshop", id: "" };
  const best = check ? perCost(check.settles, check.offer.cost) : 0;
  // Nothing is bought, it is likely in two of three, and nothing costs less or a look settles less than half as much.
  const needsNoLook = (/** @type {ReturnType<typeof tryOf>} */ one) =>
    !one.bought && one.share >= 1 - TRIED_FROM && (one.value <= value || one.share >= 2 * (check?.settles ?? 0));
  const better = tries.filter(
    (one) =>
      one.value <= most &&
      one.share >= (one.bought ? sure : one.triedFrom) &&
      (!one.bought || one.value <= value || one.inVain <= CLOSE * value) &&
      (one.ratio > best || needsNoLook(one)),
  );
  better.sort((a, b) => b.ratio - a.ratio || compareText(a.id, b.id));
  if (better[0]) return { kind: "repair", id: better[0].id };
  return check ? { kind: "check", id: check.offer.check } : action;
}

/**
 * Return the check that comes before the step chosen and can be made: one that opens the way, a
 * look that may end a stop line or let somebody near again, the first of those the repair chosen
 * names, or, where its tool must be borrowed, what helps the car with what is at hand.
 * @type {(diagnosis: Diagnosis, step: Planning["step"], priced: PricedCheck[]) => string | undefined}
 */
function neededBefore({ knowledge, car, findings }, { kind, id }, priced) {
  const { checks, causes, stop_lines: lines, abilities } = knowledge;
  const { lost } = findings.abilities;
  const stops = findings.stop_now.filter((one) => one.until_looked);
  const taken = stops.flatMap((one) => lines[one.id]?.takes_away?.slice(0, 1) ?? []);
  if (NEAR in lost) taken.push(NEAR);
  const opens = priced.find(
    ({ offer: { check } }) =>
      checks[check].levels.some(({ allows = [] }) => allows.some((ability) => taken.includes(ability))) ||
      checks[check].levels.every(({ shows = [] }) => shows.some((ability) => ability in lost)),
  );
  if (opens) return opens.offer.check;
  if (kind !== "repair") return undefined;
  const { after_checks: named = [], own_tools: wanted = [] } = causes[id].repair;
  const isBorrowed = car.tools && wanted.some((tool) => !car.tools?.includes(tool));
  const helping = Object.keys(lost).flatMap((ability) => abilities?.[ability]?.instead ?? []);
  const offered = priced.map(({ offer }) => offer.check);
  const needs = isBorrowed ? [...named, ...offered.filter((one) => helping.includes(one))] : named;
  return needs.find((name) => priced.some(({ offer }) => offer.check === name));
}

/**
 * Say of a repair that may be made now what speaks for it.
 * @param {CasePlan} shared
 * @param {ActionValue} priced
 * @param {Buying["findingOut"]} findingOut
 */
function tryOf(shared, { id, value }, findingOut) {
  const { diagnosis, blamed, worlds, entries } = shared;
  const place = worlds.causes.indexOf(id);
  const cost = repairCost(entries[place], hourValue(diagnosis.knowledge, diagnosis.car));
  // The same part puts others right too: a dead cell or a worn one, it is one battery.
  const share = shareOfAny(blamed, shared.mends(entries[place]));
  const posterior = Math.max(diagnosis.posteriors[id], share);
  const looks = findingOut[place].map((one) => one.cost);
  return {
    id,
    value,
    bought: entries[place].repair.part !== null,
    posterior,
    confirmed: confirmation(diagnosis, entries[place]) !== null,
    inVain: (1 - posterior) * cost,
    share,
    ratio: perCost(share, cost),
    triedFrom: looks.length > 0 && cost <= Math.min(...looks) ? 0 : TRIED_FROM,
  };
}

/**
 * Return the causes outside the supply whose part waits for it now.
 * @type {(worlds: Worlds, buying: Buying) => string[]}
 */
function heldBack({ weights, causes }, { supplyShare, excluded, waits, onSupply }) {
  let part = 0;
  supplyShare.forEach((share, world) => {
    part += weights[world] * share;
  });
  return part < excluded ? [] : causes.filter((_, place) => waits[place] && !onSupply[place]);
}

/** @type {(found: Plan) => Record<string, number>} */
function checkValues({ values }) {
  return Object.fromEntries(values.filter(({ kind }) => kind === "check").map(({ id, value }) => [id, value]));
}

/**
 * Return the open supply check that costs least (ties by id), or null: only one that can move a
 * supply cause of the complaint; once the supply is proven, none.
 * @type {(shared: CasePlan, offers: Offer[]) => Offer | null}
 */
function cheapestSupplyCheck(shared, offers) {
  if (shared.diagnosis.supply.state === "sound") return null;
  const found = offers.filter(
    ({ check }) => shared.knowledge.checks[check].aspects.length > 0 && shared.moves(check, { supply: true }),
  );
  found.sort((a, b) => a.cost - b.cost || compareText(a.check, b.check));
  return found[0] ?? null;
}
