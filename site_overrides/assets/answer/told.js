/**
 * Room answer: what a message tells beside readings and facts: tools, monitors, codes, and parts
 * already replaced with whether it helped.
 *
 * @import { Met } from "./phrases.js"
 * @import { Token } from "./tokens.js"
 */

import { isAsked, isDenied } from "./meant.js";
import { partsOfRepairs } from "./repairs.js";

/** A clause with its phrases, and how it stands. */
/** @typedef {{from: number, to: number, sentence: number, met: Met[], standing: string, opened: string}} Clause */
/** @typedef {{from: number, to: number}} Place from a token to before another */
/** @typedef {{what: string, helped: boolean | null} & Place} Replaced */

const CODE = /\b([pbcu])[\s-]?([0-3o])([0-9a-fo]{3})\b/g;
/** Helping, or not, is told in the clauses that follow, at most so many. */
const LATER = 4;
/** "It" and "one" are a part named at most so many clauses before. */
const NAMED_BEFORE = 6;
/** One part of a list stands in a clause of at most so many words. */
const LIST_WORDS = 4;
const MOST_LISTED = 8;
/** How many words may stand between the word of replacing and its part. */
const BEHIND = 3;
const FAR_BEHIND = 6;
const RIGHT_BEFORE = 5;
const OTHER_STATE = /** @type {Record<string, string>} */ ({ complete: "incomplete", incomplete: "complete" });

/**
 * Find trouble codes; a letter O typed for a zero is read as the zero.
 * @param {string} plain the message in small letters
 * @returns {Array<{code: string, start: number, end: number}>}
 */
export function codesIn(plain) {
  return Array.from(plain.matchAll(CODE), (found) => {
    const code = `${found[1]}${found[2]}${found[3]}`.toUpperCase();
    const digits = code.slice(1).replaceAll("O", "0");
    return { code: code.charAt(0) + digits, start: found.index, end: found.index + found[0].length };
  }).filter(({ code }) => /\d.*\d/.test(code));
}

/**
 * Tell of each code whether it is only a permanent one: the car keeps it after the repair, so that it
 * names no trouble of now. A clause that speaks of one without its number means the only code told.
 * @template {{code: string, start: number}} T
 * @param {T[]} codes
 * @param {Token[]} tokens
 * @param {Clause[]} clauses
 * @returns {Array<T & {permanent: boolean}>}
 */
export function withPermanence(codes, tokens, clauses) {
  const kept = new Set();
  const now = new Set();
  const isOnlyOne = new Set(codes.map(({ code }) => code)).size === 1;
  for (const { from, to, met } of clauses) {
    const is = (/** @type {string} */ value) => met.some((one) => one.kind === "codes" && one.value === value);
    if (!is("permanent") && !is("now")) continue;
    const [start, end] = [tokens[from]?.start ?? 0, tokens[to - 1]?.end ?? 0];
    const own = codes.filter((one) => one.start >= start && one.start < end);
    const meant = own.length === 0 && isOnlyOne && is("permanent") ? codes : own;
    for (const { code } of meant) (is("permanent") ? kept : now).add(code);
  }
  return codes.map((one) => ({ ...one, permanent: kept.has(one.code) && !now.has(one.code) }));
}

/**
 * Find what checks showed that the writer made or had made: "no codes", "the pump hums". Two different
 * results of one check tell none; what used to be heard "and now not" is told by `ended`. Words that mean
 * something on one kind of car alone name the fact that must be told of it: "diesel".
 * @type {(tokens: Token[], clauses: Clause[], facts: Map<string, {answer: string | number}>) =>
 *   Array<{id: string, answer: string} & Place>}
 */
export function resultsIn(tokens, clauses, facts) {
  /** @type {Map<string, {id: string, answer: string} & Place>} */
  const found = new Map();
  for (const [number, { met, standing, sentence }] of clauses.entries()) {
    const next = clauses[number + 1];
    const isOver = next?.sentence === sentence && next.met.some(({ kind }) => kind === "ceased");
    const kind = isOver ? "ended" : "result";
    if (["other", "advice", isOver ? "" : "past"].includes(standing) || isAsked(tokens, clauses, number)) continue;
    const told = met.filter((each) => each.kind === kind || isVerdict(clauses, number, each));
    for (const one of [...told, ...outcomesOf(clauses, number)]) {
      const [id = "", answer = "", fact] = one.value.split(" ");
      if (fact && ![...facts.values()].some((told) => told.answer === fact)) continue;
      const known = found.get(id);
      const isOther = known !== undefined && known.answer !== answer;
      if (id !== "none") found.set(id, isOther ? { ...known, answer: "" } : { id, answer, from: one.from, to: one.to });
    }
  }
  return [...found.values()].filter(({ answer }) => answer !== "");
}

/**
 * Tell whether words say what came of a check that their clause, or the one before, says was made.
 * @type {(clauses: Clause[], number: number, words: Met) => boolean}
 */
function isVerdict(clauses, number, { kind, value, from }) {
  if (kind !== "verdict") return false;
  const near = [clauses[number - 1], clauses[number]].filter((one) => one?.sentence === clauses[number]?.sentence);
  const isMade = (/** @type {Met} */ one) => one.kind === "made" && value.startsWith(`${one.value} `) && one.to <= from;
  return near.some((one) => one?.met.some(isMade));
}

/**
 * Say what came of what was tried in a clause or in the one before it, where words of it say that it
 * helped or did not: "swapped the relay. No change." What is tried names its check and both results.
 * @type {(clauses: Clause[], number: number) => Array<{value: string} & Place>}
 */
function outcomesOf(clauses, number) {
  const clause = /** @type {Clause} */ (clauses[number]);
  const came = clause.met.find(({ kind }) => kind === "came");
  if (!came) return [];
  const isNext = clauses[number - 1]?.sentence === clause.sentence || came.from === clause.from;
  const near = [...(isNext ? (clauses[number - 1]?.met ?? []) : []), ...clause.met];
  const tried = near.filter(({ kind, to }) => kind === "tried" && to <= came.from).at(-1);
  if (!tried) return [];
  const [id, no, yes, fact = ""] = tried.value.split(" ");
  return [{ value: `${id} ${came.value === "yes" ? yes : no} ${fact}`, from: came.from, to: came.to }];
}

/**
 * Find the tools the writer has. Who read the draw of the parked car has a meter, unless a shop did.
 * @type {(tokens: Token[], clauses: Clause[], readings: Array<{quantity: string} & Place>) =>
 *   Array<{id: string} & Place>}
 */
export function toolsIn(tokens, clauses, readings) {
  /** @type {Map<string, {id: string} & Place>} */
  const found = new Map();
  for (const { from: start, met, standing } of clauses) {
    if (["past", "other", "advice"].includes(standing)) continue;
    if (met.some(({ kind, value }) => kind === "tool" && value === "none")) continue;
    for (const { kind, value, from, to } of met) {
      if (kind === "tool" && !found.has(value) && !isDenied(tokens, start, from))
        found.set(value, { id: value, from, to });
    }
  }
  const draw = readings.find(({ quantity }) => quantity === "parked draw");
  const isShop = clauses.some(({ met }) => met.some(({ kind, value }) => kind === "tool" && value === "none"));
  if (draw && !isShop && !found.has("clamp-meter") && !found.has("multimeter")) {
    found.set("multimeter", { id: "multimeter", from: draw.from, to: draw.to });
  }
  return [...found.values()];
}

/**
 * Find monitors that are named with how they stand. A name that stands for other things too counts
 * only where it stands alone, as in a list, or right before its state; "except" turns a state round.
 * @type {(clauses: Clause[]) => Array<{id: string, state: string} & Place>}
 */
export function monitorsIn(clauses) {
  const isState = (/** @type {Met} */ { kind }) => kind === "stand";
  /** @type {Map<string, {id: string, state: string} & Place>} */
  const found = new Map();
  for (const [number, clause] of clauses.entries()) {
    const { met, sentence, opened } = clause;
    const before = clauses[number - 1]?.sentence === sentence ? clauses[number - 1] : undefined;
    const own = met.find(isState);
    const turned = opened === "except" && !own ? before?.met.find(isState) : undefined;
    const told = own ?? turned ?? beside(clauses, number, sentence, isState);
    for (const { kind, value, from, to } of met) {
      if ((kind !== "monitor" && kind !== "listed") || found.has(value)) continue;
      const next = met.find((one) => (isState(one) && one.from >= to) || (one.kind === "short" && one.from === to));
      const isAlone = from === clause.from && to === clause.to;
      if (kind === "listed" && !isAlone && next?.from !== to) continue;
      const state = next?.value ?? told?.value;
      if (state) found.set(value, { id: value, state: turned ? (OTHER_STATE[state] ?? state) : state, from, to });
    }
  }
  return [...found.values()];
}

/**
 * Say what the monitors that are told amount to as a result of reading them; nothing where none is open.
 * @type {(monitors: Array<{state: string} & Place>) => Array<{id: string, answer: string} & Place>}
 */
export function monitorResult(monitors) {
  const open = monitors.find(({ state }) => state === "incomplete");
  return open ? [{ id: "read-monitors", answer: "some-incomplete", from: open.from, to: open.to }] : [];
}

/**
 * Find a phrase in the clauses beside one, in its sentence: those after it first.
 * @type {(clauses: Clause[], number: number, sentence: number, isWanted: (met: Met) => boolean) => Met | undefined}
 */
function beside(clauses, number, sentence, isWanted) {
  for (const each of [number + 1, number + 2, number - 1]) {
    const clause = clauses[each];
    const found = clause?.sentence === sentence ? clause.met.find(isWanted) : undefined;
    if (found) return found;
  }
  return undefined;
}

/**
 * Find the parts that were replaced, and whether it helped: true, false, or null where it is
 * not told. "One" and "it" are the part named last.
 * @type {(clauses: Clause[]) => Replaced[]}
 */
export function replacedIn(clauses) {
  /** @type {Map<string, Replaced>} */
  const found = new Map();
  for (const [number, clause] of clauses.entries()) {
    if (clause.standing === "other" || clause.standing === "advice") continue;
    const parts = objectsIn(clauses, number);
    const verb = verbOf(clauses, number, parts.length);
    if (!verb) continue;
    for (const { value, from, to } of parts) {
      if (!isObject(clause, verb, from)) continue;
      const helped = helpedAfter(clauses, number);
      const known = found.get(value);
      if (!known || known.helped === null) {
        const inside = verb.from >= clause.from && verb.to <= clause.to;
        const place = inside ? { from: Math.min(verb.from, from), to: Math.max(verb.to, to) } : { from, to };
        found.set(value, { what: value, helped, ...place });
      }
    }
  }
  return [...found.values()];
}

/**
 * Find the parts somebody thinks of buying, or was told to buy, and has not put in.
 * @type {(clauses: Clause[], replaced: Replaced[]) => Array<{what: string, from: number, to: number}>}
 */
export function thoughtOfIn(clauses, replaced) {
  const isIn = new Set(replaced.map(({ what }) => what));
  /** @type {Map<string, {what: string, from: number, to: number}>} */
  const found = new Map();
  clauses.forEach(({ met, standing }, number) => {
    const isThought = standing === "advice" || met.some(({ kind }) => kind === "plan" || kind === "blames");
    for (const { value, from, to } of isThought ? objectsIn(clauses, number) : []) {
      if (value in partsOfRepairs() && !isIn.has(value)) found.set(value, { what: value, from, to });
    }
  });
  return [...found.values()];
}

/**
 * List the parts a clause names, each under its own name though it says "one" or "it".
 * @type {(clauses: Clause[], number: number) => Met[]}
 */
function objectsIn(clauses, number) {
  const met = clauses[number]?.met ?? [];
  const parts = met.filter(({ kind, value }) => kind === "part" && value !== "none");
  const named = parts.filter(({ value }) => value !== "one");
  if (named.length > 0) return named;
  const meant = parts[0] ?? met.find(({ kind, value }) => kind === "replaced" && value === "it");
  if (!meant) return [];
  for (let back = number - 1; back >= Math.max(0, number - NAMED_BEFORE); back -= 1) {
    const last = (clauses[back]?.met ?? [])
      .filter(({ kind, value }) => kind === "part" && value !== "one" && value !== "none")
      .at(-1);
    if (last) return [{ ...meant, kind: "part", value: last.value }];
  }
  return [];
}

/**
 * Find the word that says parts of a clause were replaced; a list of parts shares it.
 * @type {(clauses: Clause[], number: number, count: number, most?: number) => Met | undefined}
 * @param count of parts in the clause
 * @param most of parts listed before it
 */
function verbOf(clauses, number, count, most = MOST_LISTED) {
  const clause = clauses[number];
  if (!clause || count === 0 || clause.met.some(({ kind }) => kind === "plan")) return undefined;
  const own = clause.met.find(({ kind, value }) => kind === "replaced" && value !== "none");
  if (own) return isUndone(clauses, number) ? undefined : own;
  if (clause.met.some(({ kind }) => kind === "replaced")) return undefined;
  if (clause.to - clause.from > LIST_WORDS || most === 0) return undefined;
  const has = (/** @type {number} */ at, /** @type {string} */ kind) =>
    clauses[at]?.sentence === clause.sentence && clauses[at].met.some((one) => one.kind === kind);
  // "The cap and the valve are new": the word may stand behind the last of the list.
  const next = has(number + 1, "part") ? clauses[number + 1] : undefined;
  const shared = next?.met.find(({ kind }) => kind === "replaced");
  const ahead = shared && next?.met.filter(({ kind, from }) => kind === "part" && from <= shared.from);
  if (shared && ahead?.length === 1) return shared;
  // What came of the one before may stand between: "the starter (no change) and the relay".
  const before = has(number - 1, "helped") && !has(number - 1, "part") ? number - 2 : number - 1;
  // "I've put in: pump, filter" begins a list with the word alone.
  const open = clauses[before];
  const isOpen = has(before, "replaced") && open?.met.some((one) => one.kind === "replaced" && one.to === open.to);
  return isOpen || has(before, "part") ? verbOf(clauses, before, 1, most - 1) : undefined;
}

/**
 * Tell whether a part was got and is not in yet: told in its clause or in one of the next two.
 * @type {(clauses: Clause[], number: number) => boolean}
 */
function isUndone(clauses, number) {
  const start = clauses[number]?.sentence ?? 0;
  return clauses
    .slice(number, number + 3)
    .some(({ sentence, met }) => sentence === start && met.some(({ kind }) => kind === "undone"));
}

/**
 * Tell whether a part belongs to the word of replacing: near behind it, or right before it where
 * the word may stand behind its part.
 * @type {(clause: Clause, verb: Met, part: number) => boolean}
 */
function isObject(clause, verb, part) {
  if (verb.to <= clause.from || verb.from >= clause.to) return true;
  if (verb.value === "of") return part >= verb.from && part - verb.to <= BEHIND;
  return part >= verb.to ? part - verb.to <= FAR_BEHIND : verb.from - part <= RIGHT_BEFORE;
}

/** @type {(clauses: Clause[], number: number) => boolean | null} */
function helpedAfter(clauses, number) {
  const start = clauses[number]?.sentence ?? 0;
  for (const clause of clauses.slice(number, number + LATER + 1)) {
    if (clause.sentence > start + 1) break;
    const told = clause.met.find(({ kind }) => kind === "helped");
    if (told) return told.value === "some" ? null : told.value === "yes";
  }
  return null;
}
