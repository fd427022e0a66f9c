/**
 * Room reasoning: what a readout says to the engine, as part of a case.
 *
 * The checker and the readiness pages ask one engine; this turns what a code reader shows into
 * the symptoms, answers, readings and outcomes that an owner would have entered in the checker.
 * What was not read is no evidence.
 *
 * @import { Case, Knowledge } from "../knowledge/types.js"
 * @import { Monitor } from "../knowledge/readiness-types.js"
 * @import { CodeRow } from "./codes.js"
 * @import { Readout } from "./readout.js"
 * @import { Ratio } from "./readout-more.js"
 * @typedef {{voltage: string|null, warmed_up: boolean|null, counters_fell: boolean|null}} RunFacts
 * @typedef {Readout & {ratios?: Ratio[]}} WholeReadout
 * @typedef {{monitors: Record<string, Monitor>, codes: Record<string, CodeRow>}} Tables
 */

import { classifyCode, inRange } from "./codes.js";
import { codesOf, valueGiven } from "./readout.js";

const MANY_WARM_UPS = 15; // common practice: with the distance below, monitors had their chance
const MANY_KM = 322; // 200 miles
const NEARLY_ALL = 3; // our estimate
const LOW_FUEL = 15; // from memory
const HIGH_FUEL = 85; // 13 CCR 1968.2(e)(4.3.3)
const LOW_VOLTAGE = 11; // from memory: makers may hold self-tests below this; text not seen
const LOW_RUNNING = 12.8; // our estimate: below it a running car charges too little
const RUNNING_RPM = 400; // common practice: below it the starter turns the engine
const WARM_AFTER = 900; // s; a healthy engine is warm after a quarter of an hour, common practice
const RATIO_TRIPS = 10; // our estimate: with fewer drives that counted a ratio says little
const RATIO_SELDOM = 0.1; // our estimate; the law's own least ratios lie between 0.1 and 0.5 (from memory)
const COUNTER_LEVELS = /** @type {Record<string, string>} */ ({
  blocked: "long-ago",
  "recent-reset": "recent",
  "keeps-resetting": "keeps-restarting",
});

/**
 * Read facts from plain data; what is not understood counts as not told.
 * @type {(told: Record<string, unknown>) => RunFacts}
 */
export function runFactsFrom(told) {
  const { voltage, warmed_up: warm, counters_fell: fell } = told;
  return {
    voltage: voltage === "low-seen" || voltage === "none-seen" ? voltage : null,
    warmed_up: typeof warm === "boolean" ? warm : null,
    counters_fell: typeof fell === "boolean" ? fell : null,
  };
}

/**
 * Say which outcomes of the catalogue's checks a readout and facts amount to.
 *
 * A voltage read once and not low says nothing about dips, and codes count as none only if both
 * stored and pending ones were asked for.
 * @type {(knowledge: Knowledge, tables: Tables, readout: WholeReadout, facts: RunFacts) => Record<string, string>}
 */
export function outcomesOf(knowledge, tables, readout, facts) {
  /** @type {Record<string, string>} */
  const found = {};
  const { merged } = readout;
  if (merged?.countable.length) {
    const missing = merged.incomplete.length;
    const isEvery = missing > 1 && missing === merged.countable.length;
    found["read-monitors"] = isEvery ? "all-incomplete" : missing > 0 ? "some-incomplete" : "all-complete";
  }
  const counters = COUNTER_LEVELS[countersSay(readout, facts) ?? ""];
  if (counters !== undefined) found["read-counters-since-clear"] = counters;
  const fuel = valueGiven(readout, "fuel-level");
  if (fuel !== null) found["check-fuel-level"] = fuel >= LOW_FUEL && fuel <= HIGH_FUEL ? "in-range" : "out-of-range";
  if (facts.voltage !== null) found["watch-module-voltage"] = facts.voltage === "low-seen" ? "dips" : "steady";
  if (facts.warmed_up !== null) found["watch-warm-up"] = facts.warmed_up ? "warms-fully" : "stays-cool";
  const ratio = ratioLevel(readout);
  if (ratio !== null) found["read-in-use-ratios"] = ratio;
  return { ...found, ...codeOutcomes(knowledge, tables, readout) };
}

/**
 * Say what stored and pending codes amount to: the reading of them, and which family each names.
 * @type {(knowledge: Knowledge, tables: Tables, readout: Readout) => Record<string, string>}
 */
function codeOutcomes(knowledge, tables, readout) {
  const [stored, pending] = [codesOf(readout, "confirmed"), codesOf(readout, "pending")];
  const codes = [...new Set([...(stored ?? []), ...(pending ?? [])])];
  if (codes.length === 0) {
    /** @type {Record<string, string>} */
    const none = { "read-and-write-down-codes": "none-stored" };
    return stored === null || pending === null ? {} : none;
  }
  const isSupply = codes.every((code) => classifyCode(code, tables.codes).relation === "supply");
  return {
    "read-and-write-down-codes": isSupply ? "supply-codes-only" : "specific-code",
    ...outcomesOfCodes(knowledge, codes),
  };
}

/**
 * Say how every check that reads codes by their number comes out; a family without a code of
 * its own is not named.
 * @type {(knowledge: Knowledge, codes: string[]) => Record<string, string>}
 */
export function outcomesOfCodes(knowledge, codes) {
  /** @type {Record<string, string>} */
  const found = {};
  for (const [name, { levels }] of Object.entries(knowledge.checks)) {
    if (!levels.some((level) => level.codes)) continue;
    const named = levels.filter((level) => codes.some((code) => isAmong(code, level.codes ?? [])));
    found[name] = (named.at(-1) ?? levels[0]).id;
  }
  return found;
}

/**
 * Tell whether a code stands in a list of codes and ranges such as P0440-P0459.
 * @type {(code: string, ranges: readonly string[]) => boolean}
 */
export function isAmong(code, ranges) {
  return ranges.some((range) => inRange(code, range.slice(0, 5), range.slice(-5)));
}

/** Name the monitors a code belongs to. @type {(code: string, monitors: Record<string, Monitor>) => string[]} */
export function monitorsOfCode(code, monitors) {
  return Object.values(monitors)
    .filter(({ codes }) => codes.some(({ first, last }) => inRange(code, first, last)))
    .map(({ id }) => id);
}

/**
 * Name what the counters say; mixed ones are no evidence of a reset nor against it.
 * @type {(readout: Readout, facts: RunFacts) => string|null}
 */
function countersSay(readout, facts) {
  if (facts.counters_fell) return "keeps-resetting";
  const warmUps = valueGiven(readout, "warm-ups-since-clear");
  const distance = valueGiven(readout, "distance-since-clear");
  if (warmUps === null || distance === null) return null;
  const many = [warmUps >= MANY_WARM_UPS, distance >= MANY_KM];
  if (!many.includes(true)) return "recent-reset";
  return many.includes(false) ? "counters-mixed" : "blocked";
}

/**
 * Say what the counts of past runs tell of the monitors that are incomplete now.
 * @param {WholeReadout} readout
 * @returns {string|null} "never", "seldom" or "usual"; null where nothing can be said
 */
export function ratioLevel({ merged, ratios = [] }) {
  const open = merged?.incomplete ?? [];
  const told = ratios.filter(({ monitor, trips }) => open.includes(monitor) && trips >= RATIO_TRIPS);
  if (told.length === 0) return null;
  if (told.some(({ runs }) => runs === 0)) return "never";
  return told.some(({ runs, trips }) => runs / trips < RATIO_SELDOM) ? "seldom" : "usual";
}

/**
 * Read the counters' clue, or without counters that of nearly all being incomplete.
 * @type {(readout: Readout, facts: RunFacts) => string|null}
 */
export function hintOf(readout, facts) {
  const { merged } = readout;
  if (!merged?.incomplete.length) return null;
  return countersSay(readout, facts) ?? (isNearlyAll(readout) ? "nearly-all-open" : null);
}

/** @param {Readout} readout */
function isNearlyAll({ merged }) {
  const missing = merged?.incomplete.length ?? 0;
  return missing >= NEARLY_ALL && missing >= (merged?.countable.length ?? 0) - 1;
}

/**
 * Name the complaints a readout amounts to, as an owner would choose them.
 *
 * A monitor with a code of its own does not merely fail to run. Nearly all of them open at once
 * is one complaint, not one for each.
 * @type {(tables: Tables, readout: Readout) => string[]}
 */
function symptomsOf({ monitors }, readout) {
  const { merged } = readout;
  if (merged === null) return [];
  const codes = readout.codes.filter(({ kind }) => kind !== "permanent").map(({ code }) => code);
  const own = new Set(codes.flatMap((code) => monitorsOfCode(code, monitors)));
  const open = [...merged.incomplete, ...merged.incomplete_continuous].filter((id) => Object.hasOwn(monitors, id));
  const single = open.map((id) => (own.has(id) ? monitors[id].code_symptom : null) ?? monitors[id].symptom);
  const permanent = codesOf(readout, "permanent") ?? [];
  const found = [
    ...(isNearlyAll(readout) ? ["not-ready-at-inspection"] : single),
    // A lamp that the code of an open monitor explains is no complaint of its own.
    merged.mil && !open.some((id) => own.has(id)) ? "engine-lamp-steady" : null,
    permanent.length > 0 && !merged.mil ? "permanent-code-remains" : null,
  ];
  return [...new Set(found.filter((name) => name !== null))];
}

/** @type {(readout: Readout, facts: RunFacts) => Record<string, {value: number, unit: string}>} */
function readingsOf(readout, facts) {
  /** @type {Record<string, {value: number, unit: string}>} */
  const readings = {};
  const volts = valueGiven(readout, "module-voltage");
  const isRunning = (valueGiven(readout, "engine-speed") ?? 0) >= RUNNING_RPM;
  const isLow = volts !== null && volts < (isRunning ? LOW_RUNNING : LOW_VOLTAGE);
  if (isLow && facts.voltage === null) readings["watch-module-voltage"] = { value: volts, unit: "V" };
  const coolant = valueGiven(readout, "coolant-temperature");
  const isLong = (valueGiven(readout, "time-since-start") ?? 0) >= WARM_AFTER;
  if (coolant !== null && isLong && facts.warmed_up === null) {
    readings["watch-warm-up"] = { value: coolant, unit: "degC" };
  }
  return readings;
}

/**
 * Lay a readout over a case: a fresh readout wins over what was found before.
 * @type {(knowledge: Knowledge, tables: Tables, car: Case, readout: WholeReadout, facts: RunFacts) => Case}
 */
export function caseWith(knowledge, tables, car, readout, facts) {
  const known = symptomsOf(tables, readout).filter((id) => Object.hasOwn(knowledge.symptoms, id));
  const told = outcomesOf(knowledge, tables, readout, facts);
  const fits = (/** @type {[string, string]} */ [name, level]) =>
    knowledge.checks[name]?.levels.some(({ id }) => id === level);
  const outcomes = Object.fromEntries(Object.entries(told).filter(fits));
  const readings = readingsOf(readout, facts);
  const kept = Object.entries(car.readings).filter(([name]) => !Object.hasOwn(outcomes, name));
  const air = valueGiven(readout, "ambient-temperature");
  // Without a code there is nothing to look up in families of codes.
  const isWithout = told["read-and-write-down-codes"] === "none-stored";
  const lookUps = isWithout ? Object.keys(outcomesOfCodes(knowledge, [])) : [];
  const isAir = car.context.temperature === undefined && air !== null;
  const context = isAir ? { ...car.context, temperature: { value: air, unit: "degC" } } : car.context;
  return {
    ...car,
    symptoms: [...new Set([...car.symptoms, ...known])],
    absent: (car.absent ?? []).filter((id) => !known.includes(id)),
    context,
    readings: { ...readings, ...Object.fromEntries(kept) },
    outcomes: { ...car.outcomes, ...outcomes },
    not_possible: [...new Set([...car.not_possible, ...lookUps])],
  };
}
