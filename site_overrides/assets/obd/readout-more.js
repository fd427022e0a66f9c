/**
 * Room reasoning: what a readout holds beside its monitors: the freeze frame (service 02), test
 * results with their limits (06) and counts of past runs (09).
 *
 * The order of the items is from memory of SAE J1979. What no source gives is handed back raw.
 * Never throws.
 *
 * @import { PidValue } from "./pids.js"
 * @import { Message } from "./readout-lines.js"
 * @import { Readout } from "./readout.js"
 * @typedef {{ecu: string, frame: number, code: string|null, values: PidValue[], raw: string[]}} Freeze
 * @typedef {{ecu: string, monitor: string|null, about: string, test: string, unit: string|null,
 *   value: number, least: number|null, most: number|null, passed: boolean|null}} TestResult
 *   `unit` null: the numbers are raw; `passed` null: no limit was told, or the test has not run
 * @typedef {{ecu: string, monitor: string, part: string, runs: number, trips: number}} Ratio `runs`
 *   is how often the test has finished, `trips` how many drives held what it needs
 * @typedef {{ecu: string, trips: number, starts: number}} RatioTotal
 * @typedef {{freeze: Freeze[], tests: TestResult[], ratios: Ratio[], totals: RatioTotal[]}} More
 */

import { codeFromBytes } from "./codes.js";
import { decodePid, hexByte, LENGTHS } from "./pids.js";
import { readText } from "./readout.js";
import { readLines } from "./readout-lines.js";
import { scaled } from "./test-scales.js";

const FREEZE_CODE = 0x02;
const ONE_TEST = 9;
const OLDER_TEST = 5;
const NEVER_RUN = 0;
const RATIO_PIDS = { 8: "spark", 11: "compression" };
/** Items after the two counts for all, each with its part; two bytes runs, two bytes trips. */
const SPARK_ITEMS = /** @type {Array<[string, string]>} */ ([
  ["catalyst", "bank 1"],
  ["catalyst", "bank 2"],
  ["oxygen-sensor", "bank 1"],
  ["oxygen-sensor", "bank 2"],
  ["egr-vvt", ""],
  ["secondary-air", ""],
  ["evaporative-system", ""],
  ["oxygen-sensor", "rear, bank 1"],
  ["oxygen-sensor", "rear, bank 2"],
]);
const DIESEL_ITEMS = /** @type {Array<[string, string]>} */ ([
  ["nmhc-catalyst", ""],
  ["nox-aftertreatment", "catalyst"],
  ["nox-aftertreatment", "store"],
  ["pm-filter", ""],
  ["exhaust-gas-sensor", ""],
  ["egr-vvt", ""],
  ["boost-pressure", ""],
  ["fuel-system", ""],
]);
/** Ids of tested parts, first and last, with their monitor and name. */
const TESTED = /** @type {Array<[number, number, string, string]>} */ ([
  [0x01, 0x10, "oxygen-sensor", "Oxygen sensor"],
  [0x21, 0x24, "catalyst", "Catalyst, bank"],
  [0x31, 0x34, "egr-vvt", "Exhaust recirculation, bank"],
  [0x35, 0x38, "egr-vvt", "Cam timing, bank"],
  [0x39, 0x39, "evaporative-system", "Vapor system, cap off (0.150 in)"],
  [0x3a, 0x3a, "evaporative-system", "Vapor system, 0.090 in leak"],
  [0x3b, 0x3b, "evaporative-system", "Vapor system, 0.040 in leak"],
  [0x3c, 0x3c, "evaporative-system", "Vapor system, 0.020 in leak"],
  [0x3d, 0x3d, "evaporative-system", "Purge flow"],
  [0x41, 0x50, "oxygen-sensor-heater", "Oxygen sensor heater"],
  [0x61, 0x64, "heated-catalyst", "Heated catalyst, bank"],
  [0x71, 0x74, "secondary-air", "Secondary air"],
  [0x81, 0x84, "fuel-system", "Fuel system, bank"],
  [0x85, 0x86, "boost-pressure", "Boost pressure, bank"],
  [0x90, 0x91, "nox-aftertreatment", "NOx store, bank"],
  [0x98, 0x99, "nox-aftertreatment", "NOx catalyst, bank"],
  [0xa1, 0xa1, "misfire", "Misfire, all cylinders"],
  [0xa2, 0xad, "misfire", "Misfire, cylinder"],
  [0xb0, 0xb1, "pm-filter", "Particulate filter, bank"],
]);

/** Read a pasted text whole: its monitors, and what else is in it. @type {(text: string) => Readout & More} */
export function readWhole(text) {
  return { ...readText(text), ...readMore(text) };
}

/** Read what a pasted text holds beside its monitors. @type {(text: string) => More} */
export function readMore(text) {
  /** @type {More} */
  const more = { freeze: [], tests: [], ratios: [], totals: [] };
  /** @type {Map<string, number[]>} */
  const counts = new Map();
  for (const message of readLines(text).messages) {
    if (message.kind !== "reply") continue;
    const [service] = message.payload;
    if (service === 0x42) takeFreeze(more, message);
    else if (service === 0x46) takeTests(more, message);
    else if (service === 0x49) gatherCounts(counts, message);
  }
  for (const [key, data] of counts) takeCounts(more, key, data);
  return more;
}

/** @type {(more: More, message: Message) => void} */
function takeFreeze(more, { ecu, payload }) {
  let at = 1;
  while (at + 2 < payload.length) {
    const [pid, frame] = [payload[at], payload[at + 1]];
    const isCode = pid === FREEZE_CODE;
    const length = isCode ? 2 : LENGTHS.get(pid);
    const data = payload.slice(at + 2, length === undefined ? undefined : at + 2 + length);
    if (data.length === 0 || (length !== undefined && data.length < length)) return;
    const found = frameOf(more, ecu, frame);
    const value = isCode ? null : decodePid(pid, data, ecu);
    if (isCode) found.code = codeFromBytes(data[0], data[1]);
    else if (value) found.values.push(value);
    else found.raw.push([pid, ...data].map(hexByte).join(" "));
    if (length === undefined) return;
    at += 2 + length;
  }
}

/** @type {(more: More, ecu: string, frame: number) => Freeze} */
function frameOf({ freeze }, ecu, frame) {
  const known = freeze.find((one) => one.ecu === ecu && one.frame === frame);
  if (known) return known;
  /** @type {Freeze} */
  const made = { ecu, frame, code: null, values: [], raw: [] };
  freeze.push(made);
  return made;
}

/** @type {(more: More, message: Message) => void} */
function takeTests(more, { ecu, link, payload }) {
  const data = payload.slice(1);
  if (link === "older" || (data.length < ONE_TEST && data.length >= OLDER_TEST)) {
    more.tests.push(olderTest(ecu, data));
    return;
  }
  for (let at = 0; at + ONE_TEST <= data.length; at += ONE_TEST) {
    const [part, test, scale, ...rest] = data.slice(at, at + ONE_TEST);
    const numbers = [0, 2, 4].map((place) => rest[place] * 256 + rest[place + 1]);
    const [value, least, most] = numbers.map((raw) => scaled(scale, raw)?.value ?? raw);
    const [monitor, about] = partOf(part);
    // Zeros everywhere stand for a test that has not run since codes were cleared (from memory).
    const isUnrun = numbers.every((raw) => raw === NEVER_RUN);
    const passed = isUnrun ? null : least <= value && value <= most;
    more.tests.push({
      ecu,
      monitor,
      about,
      test: hexByte(test),
      unit: scaled(scale, 0)?.unit ?? null,
      value,
      least,
      most,
      passed,
    });
  }
}

/**
 * Read a result of the links before CAN: one limit, the top bit of the third byte tells which.
 * @type {(ecu: string, data: number[]) => TestResult}
 */
function olderTest(ecu, [test, component, ...rest]) {
  const [value, limit] = [rest[0] * 256 + rest[1], rest.length > 3 ? rest[2] * 256 + rest[3] : null];
  const isLeast = component >= 0x80;
  const passed = limit === null ? null : isLeast ? value >= limit : value <= limit;
  const about = `Test ${hexByte(test)}, part ${hexByte(component & 0x7f)}`;
  const [least, most] = isLeast ? [limit, null] : [null, limit];
  return { ecu, monitor: null, about, test: hexByte(test), unit: null, value, least, most, passed };
}

/** Name the part an id stands for; an unknown one is named by its id. @type {(id: number) => [string|null, string]} */
function partOf(id) {
  for (const [first, last, monitor, name] of TESTED) {
    if (id < first || id > last) continue;
    const number = id - first;
    if (last - first === 15) return [monitor, `${name}, bank ${(number >> 2) + 1}, sensor ${(number & 3) + 1}`];
    return [monitor, first === last ? name : `${name} ${number + 1}`];
  }
  return [null, `Part ${hexByte(id)}`];
}

/**
 * Gather the counts of one unit; links before CAN send them in numbered messages of two.
 * @type {(counts: Map<string, number[]>, message: Message) => void}
 */
function gatherCounts(counts, { ecu, link, payload }) {
  const kind = /** @type {Record<number, string>} */ (RATIO_PIDS)[payload[1]];
  if (kind === undefined || payload.length < 7) return;
  const key = `${kind} ${ecu}`;
  const isNumbered = link === "older" || payload.length === 7;
  counts.set(
    key,
    isNumbered ? [...(counts.get(key) ?? []), ...payload.slice(3, 7)] : payload.slice(3, 3 + 2 * payload[2]),
  );
}

/** @type {(more: More, key: string, data: number[]) => void} */
function takeCounts(more, key, data) {
  const [kind, ecu = ""] = key.split(" ");
  const numbers = Array.from({ length: data.length >> 1 }, (_, place) => data[2 * place] * 256 + data[2 * place + 1]);
  if (numbers.length < 4) return;
  more.totals.push({ ecu, trips: numbers[0], starts: numbers[1] });
  const items = kind === "spark" ? SPARK_ITEMS : DIESEL_ITEMS;
  for (const [place, [monitor, part]] of items.entries()) {
    const [runs, trips] = [numbers[2 + 2 * place], numbers[3 + 2 * place]];
    // A part the car has not got counts nothing.
    if (trips !== undefined && (runs > 0 || trips > 0)) more.ratios.push({ ecu, monitor, part, runs, trips });
  }
}
