/**
 * Data room: rank what may hold each monitor, with everything the case on this device knows.
 *
 * The reasoning turns the readout into outcomes; here the case's own findings join them, and
 * the same exact inference ranks again. A fresh readout wins over an older outcome.
 *
 * @import { Knowledge } from "../../knowledge/types.js"
 * @import { Car } from "./car.js"
 * @import { Bounds } from "../../logs/triplog-timeline.js"
 * @import { ConditionResult } from "../../logs/triplog.js"
 * @import { Readout } from "../../obd/readout.js"
 * @import { BlockedMonitor, RunFacts, WhyNotRun } from "../../obd/why-not-run.js"
 * @import { Tables } from "../../obd/tables.js"
 */
import { networkOf } from "../../engine/findings.js";
import { indexNetwork } from "../../engine/network.js";
import { ContradictoryEvidence, FrontierTooWide, infer } from "../../engine/noisy-max.js";
import { chanceOf } from "../../logs/triplog.js";
import { valueGiven } from "../../obd/readout.js";
import { celsiusOf, truthOf } from "../../obd/told.js";
import { whyNotRun } from "../../obd/why-not-run.js";

const MOST_WEIGHT = 0.5;

/**
 * @param {number[]} weights
 * @returns {boolean | null} whether it came out abnormal; null if that is not clear
 */
function isAbnormal([normal = 0, ...others]) {
  const rest = others.reduce((sum, weight) => sum + weight, 0);
  if (rest > MOST_WEIGHT) return true;
  return normal > MOST_WEIGHT ? false : null;
}

/**
 * @param {Knowledge} knowledge
 * @param {WhyNotRun} plain
 * @param {Car} car
 * @returns {Record<string, number[]>}
 */
function evidenceOf(knowledge, plain, car) {
  /** @type {Record<string, number[]>} */
  const evidence = {};
  for (const { id, levels } of networkOf(knowledge).findings) {
    const level = plain.evidence?.[id];
    if (level !== undefined) evidence[id] = levels.map((each) => Number(each === level));
    else if (car.findings.evidence[id]) evidence[id] = car.findings.evidence[id];
  }
  return evidence;
}

/**
 * @param {Knowledge} knowledge
 * @param {BlockedMonitor} monitor
 * @param {Record<string, number[]>} evidence
 * @param {Record<string, number>} posteriors
 * @returns {BlockedMonitor}
 */
function ranked(knowledge, { id, blockers }, evidence, posteriors) {
  const { findingById } = indexNetwork(networkOf(knowledge));
  const speaking = (/** @type {string} */ cause, /** @type {boolean} */ wanted) =>
    Object.keys(evidence).filter((name) => {
      const links = findingById.get(name)?.links ?? {};
      return Object.hasOwn(links, cause) && isAbnormal(evidence[name]) === wanted;
    });
  const rows = blockers.map((one) => ({
    ...one,
    probability: posteriors[one.cause] ?? one.probability,
    raised_by: speaking(one.cause, true),
    lowered_by: speaking(one.cause, false),
  }));
  rows.sort((a, b) => b.probability - a.probability || (a.cause < b.cause ? -1 : 1));
  return { id, blockers: rows };
}

/**
 * Rank the possible blockers of every incomplete monitor.
 * @param {Knowledge} knowledge
 * @param {Tables} tables
 * @param {{readout: Readout, facts: RunFacts, car: Car}} told
 * @returns {WhyNotRun & {weights: Record<string, number[]>}}
 */
export function blockersOf(knowledge, tables, { readout, facts, car }) {
  const network = networkOf(knowledge);
  const plain = whyNotRun(network, car.findings.odds, tables, readout, facts);
  if (plain.state !== "ok") return { ...plain, weights: {} };
  const weights = evidenceOf(knowledge, plain, car);
  try {
    const { posteriors } = infer(network, car.findings.odds, weights);
    const monitors = plain.monitors.map((one) => ranked(knowledge, one, weights, posteriors));
    return { ...plain, monitors, weights };
  } catch (error) {
    if (!(error instanceof ContradictoryEvidence || error instanceof FrontierTooWide)) throw error;
    return { ...plain, state: "contradictory", monitors: [], weights };
  }
}

/**
 * Say which usual needs of a monitor are not met, by what the reader told of the drives.
 * @param {Tables} tables
 * @param {string} id
 * @param {Readout} readout
 * @param {Record<string, string>} told
 * @returns {ConditionResult[]}
 */
export function unmetNeeds(tables, id, readout, told) {
  const exactly = (/** @type {number | null} */ value) => ({ low: value, high: value });
  /** @type {Record<string, Bounds>} */
  const metrics = {
    "ambient-low": exactly(celsiusOf(told, "ambient")),
    "ambient-high": exactly(celsiusOf(told, "ambient")),
    "fuel-level": exactly(valueGiven(readout, "fuel-level")),
    "peak-coolant": exactly(celsiusOf(told, "coolant")),
  };
  const monitor = tables.monitors[id];
  if (!monitor) return [];
  return chanceOf(monitor, metrics).missing.filter(({ verdict }) => verdict === "not-met");
}

/**
 * Tell whether a monitor waits for a cold start that the car has not had.
 * @param {Tables} tables
 * @param {string} id
 * @param {Record<string, string>} told
 * @returns {boolean}
 */
export function lacksSoak(tables, id, told) {
  return truthOf(told.soaked) === false && (tables.monitors[id]?.segments.includes("soak") ?? false);
}
