/**
 * What a repair, or a result that changed the car, does to a case. Twin of mended.py.
 *
 * @import { Case, Knowledge } from "../knowledge/types.js"
 * @import { Network } from "./network.js"
 */
import { compareText } from "../measure/gauges-numbers.js";
import { reached } from "./abilities.js";
import { indexNetwork } from "./network.js";

/** @typedef {"same" | "better" | "gone" | "ended"} How what became of the trouble after a repair */
/** @typedef {{check: string, by: string, level: string}} SetAside a result, and what changed the car after it */

/** What a repair multiplies the odds of its cause by: our estimates, reasons in the twin. */
const REPAIR_TIMES = { same: 0.02, better: 3, gone: 20, ended: 1 };
const HALF = 0.5;

/** @type {(knowledge: Knowledge, car: Case, results: Record<string, number[]>) => SetAside[]} */
export function setAside(knowledge, car, results) {
  /** @type {Map<string, SetAside>} */
  const found = new Map();
  for (const [by, weights] of Object.entries(results)) {
    for (const { name, level } of reached(knowledge.checks[by], "resets", weights)) {
      let abnormal = 0;
      for (const weight of (results[name] ?? []).slice(1)) abnormal += weight;
      if (abnormal < HALF || car.again?.includes(name) || found.has(name)) continue;
      found.set(name, { check: name, by, level });
    }
  }
  return Object.keys(results).flatMap((name) => found.get(name) ?? []);
}

/** @type {(knowledge: Knowledge, car: Case, results: Record<string, number[]>) => Record<string, How>} */
export function repairsTold(knowledge, car, results) {
  /** @type {Map<string, How>} */
  const told = new Map((car.mended ?? []).map((name) => [name, "same"]));
  for (const [name, how] of Object.entries(car.helped ?? {})) told.set(name, how);
  for (const [check, weights] of Object.entries(results)) {
    for (const { name } of reached(knowledge.checks[check], "mends", weights)) {
      if (!told.has(name)) told.set(name, "same");
    }
    for (const { name } of reached(knowledge.checks[check], "ends", weights)) {
      if (!told.has(name)) told.set(name, "ended");
    }
  }
  const names = [...told.keys()].filter((name) => Object.hasOwn(knowledge.causes, name)).sort(compareText);
  return Object.fromEntries(names.map((name) => [name, /** @type {How} */ (told.get(name))]));
}

/**
 * @param {Knowledge} knowledge
 * @param {Record<string, number>} odds
 * @param {Record<string, How>} repairs
 */
export function repairedOdds(knowledge, odds, repairs) {
  const inVain = new Set(
    Object.entries(repairs).flatMap(([name, how]) =>
      how === "same" ? (knowledge.causes[name]?.repair.part ?? []) : [],
    ),
  );
  return Object.fromEntries(
    Object.entries(odds).map(([cause, one]) => {
      const how = repairs[cause] ?? (inVain.has(knowledge.causes[cause]?.repair.part ?? "") ? "same" : null);
      return [cause, one * (how === null ? 1 : REPAIR_TIMES[how])];
    }),
  );
}

/**
 * @param {Knowledge} knowledge
 * @param {Case} car
 * @param {Record<string, How>} repairs
 * @param {Record<string, string>} answers
 */
export function answersAfter(knowledge, car, repairs, answers) {
  const after = { ...answers };
  for (const name of Object.keys(repairs)) {
    for (const [context, word] of Object.entries(knowledge.causes[name]?.repair.sets ?? {})) {
      if (!car.again?.includes(context)) after[context] = word;
    }
  }
  return Object.fromEntries(Object.entries(after).sort(([one], [other]) => compareText(one, other)));
}

/** @type {(knowledge: Knowledge, cause: string) => string[]} */
export function checksShiftedBy(knowledge, cause) {
  const network = /** @type {Network} */ (/** @type {unknown} */ (knowledge.network));
  const { findingById } = indexNetwork(network);
  const confirming = (knowledge.causes[cause]?.confirmed_by ?? []).map(({ check }) => check);
  const isRepair = (/** @type {string} */ name) =>
    knowledge.checks[name]?.levels.some(({ mends = [], ends = [] }) => [...mends, ...ends].includes(cause));
  return Object.keys(knowledge.checks)
    .filter((name) => confirming.includes(name) || Object.hasOwn(findingById.get(name)?.links ?? {}, cause))
    .filter((name) => !isRepair(name))
    .sort(compareText);
}

/**
 * Return the case after a repair, and what became of the trouble. Results of checks the cause
 * shifts are taken away, unless the trouble is gone: then they tell what it was.
 * @type {(knowledge: Knowledge, car: Case, cause: string, how?: "same" | "better" | "gone") => Case}
 */
export function mendCase(knowledge, car, cause, how = "same") {
  const gone = how === "gone" ? [] : checksShiftedBy(knowledge, cause);
  /** @type {<T>(record: Record<string, T>) => Record<string, T>} */
  const kept = (record) => Object.fromEntries(Object.entries(record).filter(([name]) => !gone.includes(name)));
  const { [cause]: _, ...helped } = car.helped ?? {};
  const mended = (car.mended ?? []).filter((one) => one !== cause);
  return {
    ...car,
    readings: kept(car.readings),
    outcomes: kept(car.outcomes),
    mended: how === "same" ? [...mended, cause] : mended,
    helped: how === "same" ? helped : { ...helped, [cause]: how },
  };
}
