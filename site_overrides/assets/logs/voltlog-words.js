/**
 * Room logs: say what a log of volts holds, one finding after another.
 *
 * @import { Interval } from "../measure/sums-parts.js"
 * @import { Charging, Crank, VoltLog } from "./voltlog.js"
 * @import { RestSlope } from "./voltlog-slope.js"
 */

import { fixed } from "../measure/words.js";
import { drawSize, restOf } from "./voltlog-limits.js";

/** @typedef {{check: string, value: number, unit: string, conditions: Record<string, any>}} CaseReading */

/**
 * @typedef {object} Finding
 * @property {"crank" | "charging" | "rest" | "draw"} kind
 * @property {number} start seconds since the first row
 * @property {number} end
 * @property {Record<string, any> | null} figures
 * @property {string} sentence
 * @property {CaseReading | null} to_case
 */

const SPACE = "\u00a0";
const SAG = 0.3; // volts below the set-point that are worth a word: our estimate
const ONE_DIGIT_FROM = 1;
export const NOTHING_FOUND = "No start, no charging and no rest of ten minutes or more stand out in this log.";
export const DOES_NOT_TELL =
  "The log shows volts where its probe sits. A draw read from falling volts is a rough " +
  "estimate; a clamp meter measures it. Driving without charging can look like rest.";
export const SOURCES = [
  "trade-state-of-charge-table",
  "tm-9-6115-agm-care",
  "parasitic-service-report",
  "common-practice",
  "from-memory",
  "our-estimate",
];

/** A time of the log as hours, minutes and seconds since its first row. @param {number} seconds */
export function clock(seconds) {
  const whole = Math.floor(seconds + 0.5);
  const two = (/** @type {number} */ part) => String(part).padStart(2, "0");
  return `${Math.floor(whole / 3600)}:${two(Math.floor(whole / 60) % 60)}:${two(whole % 60)}`;
}

/** How long something took, in the unit a person would choose. @param {number} seconds */
export function length(seconds) {
  if (seconds < 120) return `${fixed(seconds, 0)}${SPACE}s`;
  if (seconds < 7200) return `${fixed(seconds / 60, 0)}${SPACE}minutes`;
  return `${fixed(seconds / 3600, 1)}${SPACE}h`;
}

/** @param {number} value */
function volts(value) {
  return `${fixed(value, 2)}${SPACE}V`;
}

/** @param {number} value */
function amperes(value) {
  if (value < ONE_DIGIT_FROM) return `${fixed(value * 1000, 0)}${SPACE}mA`;
  return `${fixed(value, 1)}${SPACE}A`;
}

/**
 * @type {(reading: Omit<CaseReading, "conditions">, conditions: Record<string, any>, names: string[]) => CaseReading}
 */
function offered(reading, conditions, names) {
  /** @type {Record<string, any>} */
  const kept = {};
  for (const name of names) {
    if (conditions[name] !== undefined && conditions[name] !== null) kept[name] = conditions[name];
  }
  return { ...reading, conditions: kept };
}

/** @type {(crank: Crank, log: VoltLog, conditions: Record<string, any>) => Finding} */
function crankFinding(crank, log, conditions) {
  const { start } = log;
  const after = crank.started ? "charging followed" : "no charging followed within a minute";
  let said =
    `At ${clock(crank.at - start)} the volts fell from ${volts(crank.before)} to ` +
    `${volts(crank.lowest)} while cranking, and ${after}.`;
  if (log.coarse) said += ` With a row every ${length(log.step)} the lowest point was probably missed.`;
  const reading = { check: "measure-cranking-voltage", value: crank.lowest, unit: "V" };
  return {
    kind: "crank",
    start: crank.at - start,
    end: crank.at - start,
    figures: { before: crank.before, lowest: crank.lowest },
    sentence: said,
    to_case: log.coarse ? null : offered(reading, conditions, ["temperature"]),
  };
}

/** @type {(charging: Charging, start: number, conditions: Record<string, any>) => Finding} */
function chargingFinding(charging, start, conditions) {
  const { setPoint, low, high, dips, lowestDip } = charging;
  let said =
    `Charging for ${length(charging.end - charging.start)}, mostly at ` +
    `${volts(setPoint)}, between ${volts(low)} and ${volts(high)}.`;
  if (setPoint - low >= SAG) said += ` It sagged by ${volts(setPoint - low)} at times.`;
  if (lowestDip !== null) {
    const times = dips === 1 ? "once" : `${dips} times`;
    said += ` It dipped below 12${SPACE}V ${times}, down to ${volts(lowestDip)}.`;
  }
  const reading = { check: "measure-charging-voltage", value: setPoint, unit: "V" };
  return {
    kind: "charging",
    start: charging.start - start,
    end: charging.end - start,
    figures: { set_point: setPoint, low, high, dips, lowest_dip: lowestDip },
    sentence: said,
    to_case: offered(reading, conditions, ["charging-control", "temperature"]),
  };
}

/** @type {(rest: RestSlope, start: number, conditions: Record<string, any>) => Finding} */
function restFinding(rest, start, conditions) {
  const counted = restOf(rest.end - rest.start);
  let said = `After ${length(rest.end - rest.start)} at rest it read ${volts(rest.volts)}.`;
  if (counted === null) said += " That is too short for a resting voltage.";
  const given = { ...conditions, rest: counted };
  const reading = { check: "measure-resting-voltage", value: rest.volts, unit: "V" };
  return {
    kind: "rest",
    start: rest.start - start,
    end: rest.end - start,
    figures: { volts: rest.volts },
    sentence: said,
    to_case: counted === null ? null : offered(reading, given, ["battery-type", "rest", "temperature"]),
  };
}

/** @type {(draw: Interval, settling: boolean) => string} */
function drawWords(draw, settling) {
  const size = drawSize(draw);
  let said =
    `The falling volts mean a draw near ${amperes(draw.value)}, anywhere from ` +
    `${amperes(draw.low)} to ${amperes(draw.high)}.`;
  if (size === "small") said = `The volts hardly fall: a draw below ${amperes(draw.high)}.`;
  else if (draw.low <= 0) said = `The volts allow any draw up to ${amperes(draw.high)}.`;
  if (settling) said += " The rest was short, so part of this may be the last charge settling.";
  if (size === "unclear") {
    said += " That cannot settle it. Log a longer rest, or measure with a clamp meter.";
  }
  return said;
}

/** @type {(rest: RestSlope, start: number) => Finding} */
function drawFinding(rest, start) {
  /** @type {Finding} */
  const found = {
    kind: "draw",
    start: rest.start - start,
    end: rest.end - start,
    figures: null,
    sentence: "This rest is too short to tell a draw from its volts.",
    to_case: null,
  };
  if (rest.draw === null || rest.slope === null) return found;
  found.figures = { slope: { ...rest.slope }, draw: { ...rest.draw } };
  found.sentence = drawWords(rest.draw, rest.settling);
  if (drawSize(rest.draw) !== "unclear") {
    found.to_case = {
      check: "measure-parasitic-draw",
      value: rest.draw.value,
      unit: "A",
      conditions: {},
    };
  }
  return found;
}

/**
 * How many rows were read and left out, and when nothing stands out.
 * @type {(log: VoltLog, leftOut: number, isFound: boolean) => string}
 */
export function voltLogSummary(log, leftOut, isFound) {
  let said = `${log.rows} rows over ${length(log.duration)}`;
  if (leftOut === 0) said += ".";
  else if (leftOut === 1) said += "; 1 more row could not be used.";
  else said += `; ${leftOut} more rows could not be used.`;
  if (log.outOfOrder > 0) said += " The rows were not in order of time and were sorted.";
  if (log.gaps > 0) said += ` Gaps in time: ${log.gaps}. Nothing is read across a gap.`;
  return isFound ? said : `${said} ${NOTHING_FOUND}`;
}

/**
 * What was found, in the order of the log; see the Python twin.
 * @type {(log: VoltLog, conditions: Record<string, any>) => Finding[]}
 */
export function voltLogFindings(log, conditions) {
  const { start } = log;
  const found = [
    ...log.cranks.map((one) => crankFinding(one, log, conditions)),
    ...log.charging.map((one) => chargingFinding(one, start, conditions)),
  ];
  for (const one of log.rests) found.push(restFinding(one, start, conditions), drawFinding(one, start));
  return found.sort((a, b) => a.start - b.start);
}
