/**
 * Room case: make a case from a link, or one kept on this device, fit the knowledge of today.
 *
 * Renamed ids follow the redirects; what is retired, unknown or no longer a level is left out,
 * and every such change is listed, never made in silence. Anyone can write a link and edit their
 * storage: nothing given is trusted to have its shape.
 *
 * @import { Former } from "../knowledge/link-words.js"
 * @import { Case, Fact, Knowledge, Reading, State } from "../knowledge/types.js"
 */
import { LARGEST, record, texts } from "../kit/untrusted.js";
import { emptyState, NOT_SURE } from "./case.js";

/** What an hour can be worth, in both languages: see `cases.py`. */
const DEAREST_HOUR = 1000;
/** A chain of renamings longer than this is a ring. */
const MOST_STEPS = 8;

/** @typedef {"symptoms" | "causes" | "checks" | "contexts" | "tools"} Kind */
/**
 * @typedef {object} Change
 * @property {"renamed" | "retired" | "unknown" | "level-gone" | "option-gone" | "value-gone" | "reading-gone" | "hour-gone"} change
 * @property {Kind} kind
 * @property {string} id
 * @property {string} [to]
 * @property {string} [reason]
 * @property {string} [value]
 */

/**
 * Follow a name through the redirects to what it is called today.
 * @param {object} known the entries of today by id
 * @param {Record<string, Former>} redirects
 * @param {string} name
 * @returns {{id: string | null, reason: string | null}} no id: unknown, or retired for a reason
 */
export function idToday(known, redirects, name) {
  let found = name;
  /** @type {Former | undefined} */
  let former;
  for (let step = 0; step < MOST_STEPS; step += 1) {
    if (Object.hasOwn(known, found)) return { id: found, reason: null };
    former = Object.hasOwn(redirects, found) ? redirects[found] : undefined;
    if (typeof former !== "string") break;
    found = former;
  }
  return { id: null, reason: former === undefined || typeof former === "string" ? null : former.retired };
}

/** The knowledge while one case is adopted; changes gather in order. */
class Adopter {
  /**
   * @param {Knowledge} knowledge
   * @param {Record<string, Former>} redirects
   */
  constructor(knowledge, redirects) {
    this.knowledge = knowledge;
    this.redirects = redirects;
    /** @type {Change[]} */
    this.changes = [];
  }

  /**
   * Return what an id is called today, null when there is nothing of the kind any more.
   * @type {(kind: Kind, name: string) => string | null}
   */
  today(kind, name) {
    const { id, reason } = idToday(this.knowledge[kind], this.redirects, name);
    if (id !== null) {
      if (id !== name) this.changes.push({ change: "renamed", kind, id: name, to: id });
      return id;
    }
    if (reason !== null) this.changes.push({ change: "retired", kind, id: name, reason });
    else this.changes.push({ change: "unknown", kind, id: name });
    return null;
  }

  /** @type {(kind: Kind, names: unknown) => string[]} */
  ids(kind, names) {
    return [...new Set(texts(names).flatMap((name) => this.today(kind, name) ?? []))];
  }

  /** @type {(kind: Kind, name: unknown) => string | null} */
  id(kind, name) {
    return typeof name === "string" ? this.today(kind, name) : null;
  }

  /**
   * @param {string} name
   * @param {unknown} value
   * @returns {Array<[string, Fact]>} nothing, or the fact as it is told today
   */
  fact(name, value) {
    const id = this.today("contexts", name);
    const context = id === null ? undefined : this.knowledge.contexts[id];
    if (id === null || !context) return [];
    if (context.type === "choice") {
      if (typeof value === "string" && context.options?.some((one) => one.id === value)) return [[id, value]];
      this.changes.push({ change: "option-gone", kind: "contexts", id, value: String(value) });
      return [];
    }
    const unit = context.unit ?? "";
    const quantity = isNumber(value) ? { value, unit } : value;
    if (isQuantity(quantity, context.accepts ?? [unit])) return [[id, quantity]];
    this.changes.push({ change: "value-gone", kind: "contexts", id });
    return [];
  }

  /** The reader's price of an hour; one that cannot be is left out. @type {(value: unknown) => number | null} */
  hourValue(value) {
    if (value === undefined || value === null) return null;
    if (isNumber(value) && value >= 0 && value <= DEAREST_HOUR) return value;
    this.changes.push({ change: "hour-gone", kind: "contexts", id: "hour_value" });
    return null;
  }

  /** @type {(values: unknown) => Record<string, Fact>} */
  facts(values) {
    return Object.fromEntries(Object.entries(record(values)).flatMap(([name, value]) => this.fact(name, value)));
  }

  /** @type {(values: unknown) => Record<string, Reading>} */
  readings(values) {
    /** @type {Record<string, Reading>} */
    const kept = {};
    for (const [name, given] of Object.entries(record(values))) {
      const check = this.today("checks", name);
      if (check === null) continue;
      const gauge = this.knowledge.gauges[this.knowledge.checks[check]?.gauge ?? ""];
      if (!gauge || !isQuantity(given, gauge.accepts)) {
        this.changes.push({ change: "reading-gone", kind: "checks", id: check });
        continue;
      }
      const { value, unit, confirmed, ...rest } = /** @type {Reading} */ (given);
      kept[check] = { value, unit, ...this.facts(rest), ...(confirmed === true ? { confirmed } : {}) };
    }
    return kept;
  }

  /**
   * What repairs did, by cause; those of `mended` did nothing.
   * @type {(values: unknown, mended: string[]) => Record<string, "better" | "gone">}
   */
  helped(values, mended) {
    /** @type {Record<string, "better" | "gone">} */
    const kept = {};
    for (const [name, how] of Object.entries(record(values))) {
      const cause = this.today("causes", name);
      if (cause !== null && !mended.includes(cause) && (how === "better" || how === "gone")) kept[cause] = how;
    }
    return kept;
  }

  /**
   * Ids of things told in an order; one that is unknown says nothing and goes without a word.
   * @type {(names: unknown) => string[]}
   */
  order(names) {
    const { checks, contexts, causes } = this.knowledge;
    const today = texts(names).flatMap((name) => {
      for (const known of [checks, contexts, causes]) {
        const { id } = idToday(known, this.redirects, name);
        if (id !== null) return [id];
      }
      return [];
    });
    return [...new Set(today)];
  }

  /** @type {(values: unknown, readings: Record<string, Reading>) => Record<string, string>} */
  outcomes(values, readings) {
    /** @type {Record<string, string>} */
    const kept = {};
    for (const [name, level] of Object.entries(record(values))) {
      const check = this.today("checks", name);
      if (check === null || Object.hasOwn(readings, check)) continue;
      if (this.knowledge.checks[check]?.levels.some((one) => one.id === level)) kept[check] = String(level);
      else this.changes.push({ change: "level-gone", kind: "checks", id: check, value: String(level) });
    }
    return kept;
  }

  /**
   * Answers of splitting questions, by symptom and number of the question.
   * @type {(values: unknown) => Record<string, number>}
   */
  splits(values) {
    /** @type {Record<string, number>} */
    const kept = {};
    for (const [key, answer] of Object.entries(record(values))) {
      const [name = "", number = ""] = key.split(":");
      const { id } = idToday(this.knowledge.symptoms, this.redirects, name);
      const question = id === null ? undefined : this.knowledge.symptoms[id]?.ask_first?.[Number(number)];
      const isKnown = typeof answer === "number" && (answer === NOT_SURE || question?.answers[answer]);
      if (question && isKnown) kept[`${id}:${number}`] = answer;
    }
    return kept;
  }
}

/** Tell whether a value is a number that something could show. @type {(value: unknown) => value is number} */
function isNumber(value) {
  return typeof value === "number" && Math.abs(value) <= LARGEST;
}

/** @type {(value: unknown, accepts: string[]) => value is {value: number, unit: string}} */
function isQuantity(value, accepts) {
  const { value: number, unit } = record(value);
  return isNumber(number) && typeof unit === "string" && accepts.includes(unit);
}

/**
 * Return the case as it can be used today, and every change that this took.
 * @type {(knowledge: Knowledge, redirects: Record<string, Former>, given: Case) => {car: Case, changes: Change[]}}
 */
export function adoptCase(knowledge, redirects, given) {
  const adopter = new Adopter(knowledge, redirects);
  const symptoms = adopter.ids("symptoms", given.symptoms);
  const context = adopter.facts(given.context);
  const readings = adopter.readings(given.readings);
  const outcomes = adopter.outcomes(given.outcomes, readings);
  const notPossible = adopter.ids("checks", given.not_possible);
  /** @type {Case} */
  const car = { symptoms, context, readings, outcomes, not_possible: notPossible };
  const absent = adopter.ids("symptoms", given.absent).filter((id) => !symptoms.includes(id));
  if (absent.length > 0) car.absent = absent;
  if (given.tools !== undefined) car.tools = adopter.ids("tools", given.tools);
  const mended = adopter.ids("causes", given.mended);
  if (mended.length > 0) car.mended = mended;
  const helped = adopter.helped(given.helped, mended);
  if (Object.keys(helped).length > 0) car.helped = helped;
  const past = adopter.ids("symptoms", given.past).filter((id) => !symptoms.includes(id) && !absent.includes(id));
  if (past.length > 0) car.past = past;
  const again = adopter.order(given.again).filter((id) => !Object.hasOwn(knowledge.causes, id));
  if (again.length > 0) car.again = again;
  const hour = adopter.hourValue(given.hour_value);
  if (hour !== null) car.hour_value = hour;
  return { car, changes: adopter.changes };
}

/**
 * Make a whole state out of anything that was kept: one that every other function can rely on.
 * @type {(knowledge: Knowledge, redirects: Record<string, Former>, kept: unknown) => {state: State, changes: Change[]}}
 */
export function adoptState(knowledge, redirects, kept) {
  const adopter = new Adopter(knowledge, redirects);
  const raw = record(kept);
  const chosen = adopter.ids("symptoms", raw.chosen);
  const readings = adopter.readings(raw.readings);
  const mended = adopter.ids("causes", raw.mended);
  const ended = adopter.id("causes", raw.ended);
  // An older edition kept the end of the trouble apart from what repairs did.
  const helped = adopter.helped({ ...record(raw.helped), ...(ended === null ? {} : { [ended]: "gone" }) }, mended);
  const state = {
    ...emptyState(),
    view: viewOf(raw.view, chosen),
    chosen,
    splits: adopter.splits(raw.splits),
    context: adopter.facts(raw.context),
    readings,
    outcomes: adopter.outcomes(raw.outcomes, readings),
    tools: Array.isArray(raw.tools) ? adopter.ids("tools", raw.tools) : null,
    toolsAsked: raw.toolsAsked === true || Array.isArray(raw.tools),
    notPossible: adopter.ids("checks", raw.notPossible),
    picked: adopter.id("checks", raw.picked),
    latest: adopter.id("checks", raw.latest),
    absent: adopter.ids("symptoms", raw.absent),
    mended,
    helped,
    past: adopter.ids("symptoms", raw.past),
    order: adopter.order(raw.order),
    repaired: adopter.id("causes", raw.repaired),
    ended: ended !== null && Object.hasOwn(helped, ended) ? ended : null,
    hourValue: adopter.hourValue(raw.hourValue),
    base: raw.base === undefined || raw.base === null ? null : baseOf(knowledge, redirects, raw.base),
  };
  return { state, changes: adopter.changes };
}

/**
 * Without a symptom there is nothing to ask about and nothing to advise on.
 * @type {(view: unknown, chosen: string[]) => State["view"]}
 */
function viewOf(view, chosen) {
  return chosen.length > 0 && (view === "ask" || view === "check") ? view : "say";
}

/**
 * Fit the case that came in a link by the same rules as the case itself.
 * @type {(knowledge: Knowledge, redirects: Record<string, Former>, base: unknown) => Case}
 */
function baseOf(knowledge, redirects, base) {
  return adoptCase(knowledge, redirects, /** @type {any} */ (record(base))).car;
}
