/**
 * Which checks can be made now, and what checks, repairs and a workshop cost.
 *
 * A check whose prerequisite has no result is offered through it, one whose prerequisite came
 * out worse through what the knowledge names instead. What follows from the prices is planned in
 * planning.js. Twin of pricing.py, same order of arithmetic.
 *
 * @import { Case, Cause, Check, Knowledge } from "../knowledge/types.js"
 * @import { Findings } from "./findings.js"
 */
import { checkRequires, missing } from "./abilities.js";
import { readsCodes } from "./one-look.js";

const WORKSHOP_MINUTE = 2;
export const WAITING_HOUR = 0.5;
const WAITED_AT_MOST = 24;
const LIKELY = 0.5;
const BATTERY = "battery";

/**
 * `before` lists the checks that come first, `first` is the one to make now: the check itself
 * when nothing comes before it. `instead` is true when `first` is there because a prerequisite
 * came out worse than the check allows.
 * @typedef {{check: string, first: string, before: string[], cost: number, instead: boolean}} Offer
 */

/** @typedef {{check: string, at_most?: string | null, otherwise?: string | null}} Need */
/** @typedef {{steps: string[], cost: number, instead: boolean}} Path */

/** @type {(knowledge: Knowledge, car: Case & {hour_value?: number | null}) => number} */
export function hourValue(knowledge, car) {
  return car.hour_value ?? knowledge.settings.hour_value ?? 0;
}

/**
 * Return the hours of one wait that cost something: a trial of some days is made with the car in use.
 * @param {number | null | undefined} hours
 */
export function waited(hours) {
  return Math.min(hours ?? 0, WAITED_AT_MOST);
}

/** @type {(check: Check, hour: number) => number} */
function checkCost({ money, minutes, wait_hours: wait, needs_helper: helped }, hour) {
  return money + ((helped ? minutes * 2 : minutes) * hour) / 60 + waited(wait) * WAITING_HOUR;
}

/** Return the middle of a part's price. @param {Cause} cause */
export function middlePrice({ repair }) {
  return (repair.price.low + repair.price.high) / 2;
}

/** @type {(cause: Cause, hour: number) => number} */
export function repairCost(cause, hour) {
  const { who, minutes, wait_hours: wait } = cause.repair;
  if (who === "workshop") return workshopBill(cause);
  return middlePrice(cause) + (minutes * hour) / 60 + waited(wait) * WAITING_HOUR;
}

/** Return what a workshop asks to put a cause right, once it is found. @param {Cause} cause */
export function workshopBill(cause) {
  return middlePrice(cause) + cause.repair.minutes * WORKSHOP_MINUTE;
}

/**
 * Tell whether the repair of one cause puts another right: the same part does, and a new battery
 * comes charged, so it mends every cause of the battery that nothing else is bought for.
 * @type {(one: Cause, other: Cause) => boolean}
 */
export function putsRight(one, other) {
  const { part } = one.repair;
  if (one === other || (part !== null && other.repair.part === part)) return true;
  return part === BATTERY && other.group === BATTERY && other.repair.part === null;
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
    this.answers = findings.answers;
    this.unnamed = findings.unnamed;
    this.worse = worse;
    this.hour = hourValue(knowledge, car);
    // What a line takes for good, no look gives back.
    const firm = findings.stop_now.filter((one) => !one.until_looked);
    this.taken = new Set(firm.flatMap(({ id }) => knowledge.stop_lines[id]?.takes_away ?? []));
    this.families = new Set(
      [...car.symptoms, ...(car.past ?? [])].flatMap((name) => {
        const symptom = knowledge.symptoms[name];
        return symptom?.role === "complaint" ? [symptom.family] : [];
      }),
    );
  }

  /** Return every check that can be made now or after its prerequisites, by id. @returns {Map<string, Offer>} */
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
    if (!check || this.results[name] || this.unnamed.includes(name)) return false;
    if (this.car.not_possible?.includes(name)) return false;
    if (missing(this.abilities, checkRequires(check))) return false;
    if (Object.entries(check.told_by ?? {}).some(([one, words]) => words.includes(this.answers[one]))) return false;
    if (!this.fits(check) || this.listsNothing(check)) return false;
    const givenBack = check.levels[0]?.allows ?? [];
    if (givenBack.length > 0 && givenBack.every((one) => this.taken.has(one))) return false;
    const { tools } = this.car;
    return !tools || check.tools.every((tool) => tools.includes(tool));
  }

  /**
   * Say whether the check makes sense for what was noticed. Where nothing was, what is meant for
   * certain complaints alone does not, unless it goes on from a result.
   * @param {Check} check
   */
  fits({ only_for: kinds = [], only_with: names = [], needs = [] }) {
    if (this.families.size === 0) {
      return names.length === 0 || kinds.length > 0 || needs.some((need) => this.results[need.check]);
    }
    if (kinds.length === 0 && names.length === 0) return true;
    return kinds.some((one) => this.families.has(one)) || names.some((one) => this.car.symptoms.includes(one));
  }

  /** Tell whether the check reads a list of codes that came out empty. @param {Check} check */
  listsNothing(check) {
    const results = (check.needs ?? []).map((need) => this.results[need.check]);
    return readsCodes(check) && results.some((one) => (one?.[0] ?? 0) >= LIKELY);
  }

  /**
   * Return the checks to make, ending with `name`, and their cost; null if it cannot be made.
   * @type {(name: string, above: string[]) => Path | null}
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
   * @type {(need: Need, above: string[]) => Path | null}
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

  /** @type {(need: Need, atMost: number | null, above: string[]) => Path | null} */
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

  /** @type {(need: Need) => number | null} */
  atMost(need) {
    const levels = this.knowledge.checks[need.check]?.levels ?? [];
    const place = levels.findIndex(({ id }) => id === need.at_most);
    return place < 0 ? null : place;
  }
}
