/**
 * What the car can and may do, as told by what is known of it. Twin of abilities.py.
 *
 * @import { Case, Cause, Check, Knowledge } from "../knowledge/types.js"
 * @import { Because } from "./findings.js"
 */

export const NEAR = "near";
const REACHED = 0.5;

/** @typedef {{root: string, because: Because}} Lost the ability it goes back to, and what took that away */
/** @typedef {{left: string[], lost: Record<string, Lost>}} Abilities in the order of the word list */

/** @type {(abilities: Abilities, requires: string[]) => Lost | null} */
export function missing({ lost }, requires) {
  const one = requires.find((name) => lost[name]);
  return one === undefined ? null : (lost[one] ?? null);
}

/** Return all that making a check requires. @type {(check: Check) => string[]} */
export function checkRequires({ away, requires = [] }) {
  return away ? requires : [NEAR, ...requires];
}

/** Return all that putting a cause right requires. @type {(cause: Cause) => string[]} */
export function repairRequires({ repair }) {
  return [NEAR, ...(repair.requires ?? [])];
}

/** @type {(knowledge: Knowledge, car: Case, results: Record<string, number[]>, stopLines: string[]) => Abilities} */
export function abilitiesLeft(knowledge, car, results, stopLines) {
  const closure = implied(knowledge);
  /** @type {Map<string, Because>} */
  const gone = new Map();
  /** @type {(names: string[] | undefined, because: Because) => void} */
  const take = (names = [], because) => {
    for (const one of names) gone.set(one, because);
  };
  /** @type {(names: string[] | undefined) => void} */
  const show = (names = []) => {
    for (const one of names) for (const other of closure[one] ?? []) gone.delete(other);
  };
  for (const symptom of car.symptoms) take(knowledge.symptoms[symptom]?.takes_away, { kind: "symptom", symptom });
  for (const symptom of car.symptoms) show(knowledge.symptoms[symptom]?.shows);
  const made = Object.entries(results);
  for (const [check, weights] of made) {
    show(reached(knowledge.checks[check], "shows", weights).map(({ name }) => name));
    for (const { name } of reached(knowledge.checks[check], "allows", weights)) gone.delete(name);
  }
  for (const [check, weights] of made) {
    for (const { name, level } of reached(knowledge.checks[check], "takes_away", weights)) {
      gone.set(name, { kind: "level", check, level });
    }
  }
  for (const line of stopLines) take(knowledge.stop_lines[line]?.takes_away, { kind: "stop", line });
  /** @type {Record<string, Lost>} */
  const lost = {};
  for (const [name, others] of Object.entries(closure)) {
    const root = others.find((other) => gone.has(other));
    if (root !== undefined) lost[name] = { root, because: /** @type {Because} */ (gone.get(root)) };
  }
  return { left: Object.keys(closure).filter((name) => !lost[name]), lost };
}

/** @type {(knowledge: Knowledge) => Record<string, string[]>} */
function implied({ abilities = {} }) {
  const names = Object.keys(abilities);
  return Object.fromEntries(
    names.map((name) => {
      const taken = new Set([name]);
      // A set is walked through to what was added on the way.
      for (const one of taken) for (const other of abilities[one]?.implies ?? []) taken.add(other);
      return [name, names.filter((one) => taken.has(one))];
    }),
  );
}

/**
 * @type {(check: Check | undefined, key: "allows" | "shows" | "takes_away" | "resets" | "mends" | "ends",
 *   weights: number[]) => Array<{name: string, level: string}>}
 */
export function reached(check, key, weights) {
  const levels = check?.levels ?? [];
  const names = new Set(levels.flatMap((level) => level[key] ?? []));
  return [...names].flatMap((name) => {
    const places = levels.flatMap((level, place) => (level[key]?.includes(name) ? [place] : []));
    let total = 0;
    for (const place of places) total += weights[place] ?? 0;
    const likeliest = places.reduce((best, place) => ((weights[place] ?? 0) > (weights[best] ?? 0) ? place : best));
    return total < REACHED ? [] : [{ name, level: levels[likeliest]?.id ?? "" }];
  });
}
