/**
 * Room reasoning: what may keep a monitor from finishing, most probable first.
 *
 * Same order of work as build_tools/obd/why_not_run.py. It blames nothing: every
 * probability is the model's, and what was not read is no evidence.
 *
 * @import { Network, Odds } from "../engine/network.js"
 * @import { CodeRow } from "./codes.js"
 * @import { Readout } from "./readout.js"
 * @import { Monitor } from "../knowledge/readiness-types.js"
 * @typedef {{voltage: string|null, warmed_up: boolean|null, counters_fell: boolean|null}} RunFacts
 * @typedef {{cause: string, probability: number, prior: number, why: string,
 *   raised_by: string[], lowered_by: string[]}} BlockerChance
 * @typedef {{id: string, blockers: BlockerChance[]}} BlockedMonitor
 * @typedef {{state: string, hint: string|null, evidence: Record<string, string>|null,
 *   monitors: BlockedMonitor[]}} WhyNotRun
 * @typedef {{monitors: Record<string, Monitor>, codes: Record<string, CodeRow>}} Tables
 */

import { indexNetwork } from "../engine/network.js";
import { ContradictoryEvidence, FrontierTooWide, infer } from "../engine/noisy-max.js";
import { classifyCode } from "./codes.js";
import { codesOf, valueGiven } from "./readout.js";

const MANY_WARM_UPS = 15; // common practice: with the distance below, monitors had their chance
const MANY_KM = 322; // 200 miles
const NEARLY_ALL = 3; // our estimate
const COUNTER_LEVELS = ["blocked", "recent-reset", "keeps-resetting"];
const LOW_FUEL = 15; // from memory
const HIGH_FUEL = 85; // 13 CCR 1968.2(e)(4.3.3)
const LOW_VOLTAGE = 11; // from memory: makers may hold self-tests below this; text not seen

/**
 * Read facts from plain data; what is not understood counts as not told.
 *
 * @param {Record<string, unknown>} told
 * @returns {RunFacts}
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
 * Rank the possible blockers of every incomplete monitor.
 *
 * Blockers that the network does not know are left out.
 *
 * @param {Network} network
 * @param {Odds} odds prior odds with context multiplied in, as for the checker
 * @param {Tables} tables the compiled readiness data
 * @param {Readout} readout
 * @param {RunFacts} facts
 * @returns {WhyNotRun}
 */
export function whyNotRun(network, odds, tables, readout, facts) {
  if (readout.state !== "usable" || readout.merged === null) return answer("no-readout", null);
  const levels = outcomes(readout, facts, tables.codes);
  const { findingById } = indexNetwork(network);
  /** @type {Map<string, number>} */
  const known = new Map();
  /** @type {Record<string, number[]>} */
  const evidence = {};
  /** @type {Record<string, string>} */
  const told = {};
  for (const [name, level] of levels) {
    const finding = findingById.get(name);
    if (finding === undefined || level >= finding.levels.length) continue;
    known.set(name, level);
    evidence[name] = finding.levels.map((_, place) => Number(place === level));
    told[name] = finding.levels[level];
  }
  const posteriors = posteriorsOf(network, odds, evidence);
  if (posteriors === null) return answer("contradictory", hintOf(readout, facts));
  const monitors = readout.merged.incomplete
    .filter((name) => Object.hasOwn(tables.monitors, name))
    .map((id) => ({ id, blockers: rank(network, tables.monitors[id], known, posteriors) }));
  return { ...answer("ok", hintOf(readout, facts)), evidence: told, monitors };
}

/**
 * @param {string} state
 * @param {string|null} hint
 * @returns {WhyNotRun}
 */
function answer(state, hint) {
  return { state, hint, evidence: null, monitors: [] };
}

/**
 * @param {Network} network
 * @param {Odds} odds
 * @param {Record<string, number[]>} evidence
 * @returns {Record<string, number>|null}
 */
function posteriorsOf(network, odds, evidence) {
  try {
    return infer(network, odds, evidence).posteriors;
  } catch (error) {
    if (error instanceof ContradictoryEvidence || error instanceof FrontierTooWide) return null;
    throw error;
  }
}

/**
 * Say which level of the catalogue's checks the readout and facts amount to.
 *
 * Only what was read counts: a voltage read once and not low says nothing about dips, and codes
 * count as none only if both stored and pending ones were asked for.
 *
 * @param {Readout} readout
 * @param {RunFacts} facts
 * @param {Record<string, CodeRow>} codes
 * @returns {Map<string, number>}
 */
export function outcomes(readout, facts, codes) {
  /** @type {Map<string, number>} */
  const found = new Map();
  const { merged } = readout;
  if (merged?.countable.length) {
    const missing = merged.incomplete.length;
    const every = missing > 1 && missing === merged.countable.length;
    found.set("read-monitors", every ? 2 : Math.min(missing, 1));
  }
  const level = COUNTER_LEVELS.indexOf(countersSay(readout, facts) ?? "");
  if (level >= 0) found.set("read-counters-since-clear", level);
  const fuel = valueGiven(readout, "fuel-level");
  if (fuel !== null) found.set("check-fuel-level", fuel >= LOW_FUEL && fuel <= HIGH_FUEL ? 0 : 1);
  const volts = valueGiven(readout, "module-voltage");
  if (facts.voltage !== null) {
    found.set("watch-module-voltage", facts.voltage === "low-seen" ? 1 : 0);
  } else if (volts !== null && volts < LOW_VOLTAGE) {
    found.set("watch-module-voltage", 1);
  }
  if (facts.warmed_up !== null) found.set("watch-warm-up", facts.warmed_up ? 0 : 1);
  const told = codeLevel(readout, codes);
  if (told !== null) found.set("read-and-write-down-codes", told);
  return found;
}

/**
 * Name what the counters say; mixed ones are no evidence of a reset nor against it.
 *
 * @param {Readout} readout
 * @param {RunFacts} facts
 * @returns {string|null}
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
 * @param {Readout} readout
 * @param {Record<string, CodeRow>} table
 * @returns {number|null}
 */
function codeLevel(readout, table) {
  const [stored, pending] = [codesOf(readout, "confirmed"), codesOf(readout, "pending")];
  const listed = [...(stored ?? []), ...(pending ?? [])];
  if (listed.some((code) => classifyCode(code, table).relation !== "supply")) return 2;
  if (listed.length) return 1;
  return stored === null || pending === null ? null : 0;
}

/**
 * Read the counters' clue, or without counters that of nearly all being incomplete.
 *
 * @param {Readout} readout
 * @param {RunFacts} facts
 * @returns {string|null}
 */
function hintOf(readout, facts) {
  const { merged } = readout;
  if (!merged?.incomplete.length) return null;
  const missing = merged.incomplete.length;
  const nearlyAll = missing >= NEARLY_ALL && missing >= merged.countable.length - 1;
  return countersSay(readout, facts) ?? (nearlyAll ? "nearly-all-open" : null);
}

/**
 * @param {Network} network
 * @param {Monitor} monitor
 * @param {Map<string, number>} known
 * @param {Record<string, number>} posteriors
 * @returns {BlockerChance[]}
 */
function rank(network, monitor, known, posteriors) {
  const { causePlace, findingById } = indexNetwork(network);
  const found = [];
  for (const { cause, why } of monitor.blockers) {
    const place = causePlace.get(cause);
    if (place === undefined) continue;
    const linked = [...known].filter(([name]) => {
      const finding = findingById.get(name);
      return finding !== undefined && Object.hasOwn(finding.links, cause);
    });
    found.push({
      cause,
      probability: posteriors[cause],
      prior: network.causes[place].prior,
      why,
      raised_by: linked.filter(([, level]) => level > 0).map(([name]) => name),
      lowered_by: linked.filter(([, level]) => level === 0).map(([name]) => name),
    });
  }
  return found.sort((a, b) => b.probability - a.probability || (a.cause < b.cause ? -1 : 1));
}
