/**
 * Room answer: what a message tells beside readings: facts, tools, monitors, codes, and parts
 * already replaced with whether it helped.
 *
 * @import { Met } from "./phrases.js"
 * @import { Token } from "./tokens.js"
 */

/** A clause with its phrases, and how it stands. */
/** @typedef {{from: number, to: number, sentence: number, met: Met[], standing: string}} Clause */
/** @typedef {{from: number, to: number}} Place from a token to before another */
/** @typedef {{what: string, helped: boolean | null} & Place} Replaced */

const CODE = /\b([pbcu])[\s-]?([0-3o])([0-9a-fo]{3})\b/g;
const YEARS = new Map([
  ["year", 1],
  ["years", 1],
  ["yr", 1],
  ["yrs", 1],
  ["yo", 1],
  ["month", 1 / 12],
  ["months", 1 / 12],
  ["mo", 1 / 12],
  ["mos", 1 / 12],
  ["week", 1 / 52],
  ["weeks", 1 / 52],
  ["wk", 1 / 52],
  ["wks", 1 / 52],
  ["day", 1 / 365],
  ["days", 1 / 365],
]);
const SPOKEN = new Map(
  "zero one two three four five six seven eight nine ten eleven twelve"
    .split(" ")
    .map((word, number) => [word, number]),
);
const A_FEW = new Map([
  ["a", 1],
  ["couple", 2],
  ["few", 3],
]);
const YOUNG = 2;
const OLD = 5;
/** An age stands at most so many words from the battery it tells. */
const NEAR = 7;
/** Helping, or not, is told in the clauses that follow, at most so many. */
const LATER = 3;

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
 * Find facts about the car and the age of its battery; what stands later in a message wins
 * nothing over what was told first.
 * @param {Token[]} tokens
 * @param {Clause[]} clauses
 * @returns {Map<string, {answer: string} & Place>}
 */
export function factsIn(tokens, clauses) {
  /** @type {Map<string, {answer: string} & Place>} */
  const facts = new Map();
  /** @param {string} id @param {string} answer @param {Place} place */
  const tell = (id, answer, { from, to }) => {
    if (!facts.has(id)) facts.set(id, { answer, from, to });
  };
  for (const clause of clauses) {
    if (clause.standing !== "" && clause.standing !== "denied") continue;
    const age = batteryAge(tokens, clause);
    if (age) tell("battery-age", age.answer, age);
    for (const one of clause.met) {
      if (one.kind !== "fact") continue;
      const [id = "", answer = ""] = one.value.split(" ");
      if (clause.standing !== "denied" || id === "battery-age") tell(id, answer, one);
    }
  }
  return facts;
}

/**
 * Find the age of the battery told in a clause: "battery is 2 yrs old", "6 month old battery".
 * @param {Token[]} tokens
 * @param {Clause} clause
 * @returns {({answer: string} & Place) | null}
 */
function batteryAge(tokens, { from, to, met }) {
  const batteries = met.filter(({ kind, value }) => kind === "part" && value === "battery");
  for (let place = from + 1; place < to; place += 1) {
    const unit = YEARS.get(tokens[place]?.text ?? "");
    const count = countBefore(tokens, place);
    if (unit === undefined || count === null) continue;
    const battery = batteries.find((one) => Math.abs(one.from - place) <= NEAR);
    if (!battery || !isAge(tokens, place, to, met, battery)) continue;
    const years = count * unit;
    const isOver = ["over", "than", "plus"].includes(tokens[place - 2]?.text ?? "");
    const answer =
      years < YOUNG ? "under-2-years" : years > OLD || (isOver && years >= OLD) ? "over-5-years" : "2-to-5-years";
    return { answer, from: Math.min(battery.from, place - 1), to: Math.max(battery.to, place + 1) };
  }
  return null;
}

/**
 * @param {Token[]} tokens
 * @param {number} place of the word for the unit
 * @returns {number | null}
 */
function countBefore(tokens, place) {
  let before = tokens[place - 1];
  if (before?.text === "-") before = tokens[place - 2];
  if (!before) return null;
  if (before.kind === "number") return Number(before.text.replace(",", "."));
  if (before.text === "of") return countBefore(tokens, place - 1);
  return SPOKEN.get(before.text) ?? A_FEW.get(before.text) ?? null;
}

/**
 * Tell whether a time is an age: "old" stands with it, the battery was replaced so long ago, or
 * the battery simply "is" so many years.
 * @param {Token[]} tokens
 * @param {number} place
 * @param {number} end
 * @param {Met[]} met
 * @param {Place} battery
 */
function isAge(tokens, place, end, met, battery) {
  const next = tokens.slice(place + 1, Math.min(place + 4, end)).map(({ text }) => text);
  if (next[0] === "old" || next[1] === "old") return true;
  if (next[0] === "ago") return met.some(({ kind }) => kind === "replaced");
  if (tokens[place]?.text === "yo") return true;
  const between = tokens.slice(battery.to, place).map(({ text }) => text);
  return (
    battery.to <= place &&
    ["is", "was", "about", "only", "maybe", "just"].includes(between[0] ?? "") &&
    !between.includes("for")
  );
}

/**
 * Find the tools the writer has.
 * @param {Clause[]} clauses
 * @returns {Array<{id: string} & Place>}
 */
export function toolsIn(clauses) {
  /** @type {Array<{id: string} & Place>} */
  const found = [];
  for (const { met, standing } of clauses) {
    if (standing === "past" || standing === "other" || standing === "advice") continue;
    if (met.some(({ kind, value }) => kind === "tool" && value === "none")) continue;
    for (const { kind, value, from, to } of met) {
      if (kind === "tool" && !found.some(({ id }) => id === value)) found.push({ id: value, from, to });
    }
  }
  return found;
}

/**
 * Find monitors that are named with how they stand.
 * @param {Clause[]} clauses
 * @returns {Array<{id: string, state: string} & Place>}
 */
export function monitorsIn(clauses) {
  const isState = (/** @type {Met} */ { kind }) => kind === "stand";
  /** @type {Array<{id: string, state: string} & Place>} */
  const found = [];
  for (const [number, { met, sentence }] of clauses.entries()) {
    const named = met.filter(({ kind }) => kind === "monitor");
    const told = met.find(isState) ?? beside(clauses, number, sentence, isState);
    for (const { value, from, to } of named) {
      const near = met.filter(isState).find((one) => one.from >= to) ?? told;
      if (near && !found.some(({ id }) => id === value)) found.push({ id: value, state: near.value, from, to });
    }
  }
  return found;
}

/**
 * Find a phrase in the clauses beside one, in its sentence: those after it first.
 * @param {Clause[]} clauses
 * @param {number} number
 * @param {number} sentence
 * @param {(met: Met) => boolean} isWanted
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
 * not told.
 * @param {Clause[]} clauses
 * @returns {Replaced[]}
 */
export function replacedIn(clauses) {
  /** @type {Map<string, Replaced>} */
  const found = new Map();
  for (const [number, clause] of clauses.entries()) {
    if (clause.standing === "other" || clause.standing === "advice") continue;
    const parts = clause.met.filter(({ kind, value }) => kind === "part" && value !== "none");
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
 * Find the word that says parts of a clause were replaced; a list of parts goes on with it.
 * @param {Clause[]} clauses
 * @param {number} number
 * @param {number} count of parts in the clause
 * @returns {Met | undefined}
 */
function verbOf(clauses, number, count) {
  const clause = clauses[number];
  if (!clause || count === 0 || clause.met.some(({ kind }) => kind === "plan")) return undefined;
  const own = clause.met.find(({ kind }) => kind === "replaced");
  if (own) return own;
  const before = clauses[number - 1];
  const isList = clause.to - clause.from <= 4 && before?.sentence === clause.sentence;
  if (!isList || !before.met.some(({ kind }) => kind === "part")) return undefined;
  return verbOf(clauses, number - 1, 1);
}

/**
 * Tell whether a part belongs to the word of replacing: near behind it, or right before it.
 * @param {Clause} clause
 * @param {Met} verb
 * @param {number} part
 */
function isObject(clause, verb, part) {
  if (verb.to <= clause.from || verb.from >= clause.to) return true;
  return part >= verb.to ? part - verb.to <= 6 : verb.from - part <= 5;
}

/**
 * @param {Clause[]} clauses
 * @param {number} number
 * @returns {boolean | null}
 */
function helpedAfter(clauses, number) {
  const start = clauses[number]?.sentence ?? 0;
  for (const clause of clauses.slice(number, number + LATER + 1)) {
    if (clause.sentence > start + 1) break;
    const told = clause.met.find(({ kind }) => kind === "helped");
    if (told) return told.value === "yes";
  }
  return null;
}
