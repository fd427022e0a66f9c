/**
 * Room reasoning: what the car's computer says about its monitors, honestly.
 *
 * Same order of work as build_tools/obd/readout.py. A readout that cannot be used never
 * looks like a ready one. It judges no inspection (see inspection.js).
 *
 * @import { MonitorState, PidValue, StatusBytes } from "./pids.js"
 * @import { Replies, StoredCode } from "./readout-replies.js"
 * @import { Lines } from "./readout-lines.js"
 * @import { Understood, Words } from "./readout-words.js"
 * @typedef {{id: string, ecu: string|null}} Warned
 * @typedef {{ecu: string, bytes: string|null, mil: boolean, count: number, ignition: string,
 *   monitors: MonitorState[]}} UnitReadout
 * @typedef {{mil: boolean, count: number, ignition: string, monitors: MonitorState[],
 *   countable: string[], incomplete: string[], incomplete_continuous: string[]}} Merged
 * @typedef {{state: string, units: UnitReadout[], merged: Merged|null, values: PidValue[],
 *   codes: StoredCode[], code_services: string[], warnings: Warned[], origin: string,
 *   ignored_lines: number, understood: Understood[]}} Readout
 */

import {
  COMPRESSION,
  CONTINUOUS,
  countableIds,
  decodeStatus,
  hexByte,
  incompleteIds,
  mergeMonitors,
  SPARK,
  STATUS_BYTES,
  toldState,
  withThisTrip,
} from "./pids.js";
import { LONGEST_TEXT, REPLIES, readLines } from "./readout-lines.js";
import { readReplies } from "./readout-replies.js";
import { codesBeside, ignitionOf, readWords } from "./readout-words.js";

const MOST_COUNT = 127;
const LONGEST_BARE = 60;
const FEWEST_NAMED = 4; // our estimate: a whole list names at least these
const MAY_BE_WORDS = ["nothing-recognised", "only-questions", "damaged"];
const TOLD_MARKS = ["damaged-line", "frames-lost"];
const FOUR_BYTES = /^(?:01[ :=]{1,3})?([0-9A-F]{2}(?:[ ]?[0-9A-F]{2}){3})$/;
// What people put around what they copy.
const WRAPPING = /(?:[ \t\r\n,;"'`()[\]{}]|[^\x00-\x7f])+/gu;
const HEADER = /^(?:18D[AB]|486B|686A|416B|616A|07E|7E|0101|..F1|..33F1)/;

/** @type {(state: string, more?: Partial<Readout>) => Readout} */
function readout(state, more = {}) {
  return {
    state,
    units: [],
    merged: null,
    values: [],
    codes: [],
    code_services: [],
    warnings: [],
    origin: "text",
    ignored_lines: 0,
    understood: [],
    ...more,
  };
}

/** @type {(id: string, ecu?: string|null) => Warned} */
function warned(id, ecu = null) {
  return { id, ecu };
}

/** Read a pasted text. Never throws; what is not understood is said in `state`. @type {(text: string) => Readout} */
export function readText(text) {
  if (text.length > 2 * LONGEST_TEXT || [...text].length > LONGEST_TEXT) return readout("too-long");
  const bare = bareStatus(text);
  const lines = readLines(bare ? `41 01 ${bare}` : text);
  const replies = readReplies(lines.messages);
  if (bare) replies.warnings.push(["bare-bytes", "unit 1"]);
  const { whole, short } = statuses(replies);
  const units = [...whole].map(([ecu, status]) => unitReadout(ecu, status, replies));
  const merged = mergeUnits(units);
  const reserved = [...whole].filter(([, status]) => status.reserved_set);
  const warnings = [
    ...lines.marks.filter((mark) => TOLD_MARKS.includes(mark)).map((mark) => warned(mark)),
    ...replies.warnings.map(([warning, ecu]) => warned(warning, ecu)),
    ...short.map((ecu) => warned("short-status", ecu)),
    ...reserved.map(([ecu]) => warned("reserved-bits", ecu)),
    ...unitWarnings(units),
  ];
  const state = textState(text, lines, replies, monitorState(units, merged, short));
  const inWords = MAY_BE_WORDS.includes(state) ? readInWords(text) : null;
  if (inWords !== null) return inWords;
  addCodes(replies, codesBeside(text));
  const confirmed = replies.codes.filter((stored) => stored.kind === "confirmed").length;
  if (merged && replies.asked.includes("confirmed") && confirmed !== merged.count) {
    warnings.push(warned("count-differs"));
  }
  return readout(state, {
    units,
    merged,
    values: [...replies.values.values()],
    codes: replies.codes,
    code_services: replies.asked,
    warnings,
    ignored_lines: lines.ignored,
  });
}

/** @type {(replies: Replies, told: [string, string][]) => void} */
function addCodes(replies, told) {
  const there = [...replies.codes];
  for (const [kind, code] of told) {
    if (there.some((one) => one.code === code && (kind === "confirmed" || one.kind === kind))) continue;
    replies.codes.push({ ecu: "told", kind, code });
    if (!replies.asked.includes(kind)) replies.asked.push(kind);
  }
}

/**
 * Read a text as names and states on a screen; null if it names no monitor, lamp or code.
 * @type {(text: string) => Readout|null}
 */
function readInWords(text) {
  const words = readWords(text);
  const told = [...words.monitors.values()].some((state) => state !== "none");
  if (!told && !words.codes.length && words.mil === null) return null;
  const units = told && ignitionOf(words) !== null ? [wordsUnit(words)] : [];
  const merged = mergeUnits(units);
  const warnings = merged && words.mil === null ? [warned("lamp-not-told")] : [];
  return readout(wordsState(words, units, merged, told), {
    units,
    merged,
    codes: words.codes.map(([kind, code]) => ({ ecu: "told", kind, code })),
    code_services: words.asked,
    warnings: [...warnings, ...unitWarnings(units)],
    origin: "words",
    understood: words.lines,
  });
}

/** @type {(words: Words) => UnitReadout} */
function wordsUnit(words) {
  const ignition = ignitionOf(words) ?? "spark";
  const engine = ignition === "compression" ? COMPRESSION : SPARK;
  const names = /** @type {string[]} */ ([...CONTINUOUS, ...engine].filter((name) => name !== null));
  const monitors = names.map((name) => toldState(name, words.monitors.get(name)));
  const count = words.count ?? words.codes.filter(([kind]) => kind === "confirmed").length;
  return { ecu: "told", bytes: null, mil: words.mil === true, count, ignition, monitors };
}

/** @type {(words: Words, units: UnitReadout[], merged: Merged|null, told: boolean) => string} */
function wordsState(words, units, merged, told) {
  if (!told) return "no-status";
  if ([...words.monitors.values()].includes(null)) return "words-unclear";
  const named = [...words.monitors.keys()].filter((name) => !CONTINUOUS.includes(name));
  if (!units.length || named.length < FEWEST_NAMED) return "words-few";
  return monitorState(units, merged, []) ?? "words-few";
}

/** @type {(told: Record<string, unknown>) => Readout} */
export function readTicks(told) {
  const { ignition, count } = told;
  const monitors = told.monitors;
  const origin = "ticked";
  const known = ignition === "spark" || ignition === "compression";
  if (!known || typeof monitors !== "object" || monitors === null || Array.isArray(monitors)) {
    return readout("ticks-incomplete", { origin });
  }
  const absent = count === null || count === undefined;
  const inRange = Number.isInteger(count) && Number(count) >= 0 && Number(count) <= MOST_COUNT;
  if (!absent && !inRange) return readout("count-out-of-range", { origin });
  const words = new Map(Object.entries(monitors));
  const engine = ignition === "compression" ? COMPRESSION : SPARK;
  const names = /** @type {string[]} */ ([...CONTINUOUS, ...engine].filter((name) => name !== null));
  const states = names.map((name) => toldState(name, words.get(name)));
  const number = absent ? 0 : Number(count);
  const unit = {
    ecu: "told",
    bytes: null,
    mil: told.mil === true,
    count: number,
    ignition,
    monitors: states,
  };
  const strange = [...words.keys()].filter((name) => !names.includes(name)).sort();
  const merged = mergeUnits([unit]);
  return readout(monitorState([unit], merged, []) ?? "ticks-incomplete", {
    units: [unit],
    merged,
    warnings: [...strange.map((name) => warned("monitor-not-of-this-engine", name)), ...unitWarnings([unit])],
    origin,
  });
}

/**
 * Return the value of this name; of several units the lowest, null if nobody told it.
 * @type {(told: Readout, name: string) => number|null}
 */
export function valueGiven(told, name) {
  const numbers = told.values
    .filter((value) => value.name === name && value.value !== null)
    .map((value) => Number(value.value));
  return numbers.length ? Math.min(...numbers) : null;
}

/** @type {(told: Readout, kind: string) => string[]|null} */
export function codesOf(told, kind) {
  if (!told.code_services.includes(kind)) return null;
  const codes = told.codes.filter((stored) => stored.kind === kind).map((stored) => stored.code);
  return [...new Set(codes)].sort();
}

/** @type {(text: string) => string|null} */
function bareStatus(text) {
  if (text.length > LONGEST_BARE) return null;
  const found = FOUR_BYTES.exec(text.toUpperCase().replace(WRAPPING, " ").replace(/^ | $/g, ""));
  if (!found) return null;
  const digits = found[1].replace(/ /g, "");
  const starts = [digits.slice(0, 2), digits.slice(2, 4)].map((byte) => parseInt(byte, 16));
  return starts.some((byte) => REPLIES.includes(byte)) || HEADER.test(digits) ? null : digits;
}

/** @param {Replies} replies */
function statuses(replies) {
  /** @type {Map<string, StatusBytes>} */
  const whole = new Map();
  const short = [];
  for (const [ecu, data] of replies.status) {
    if (data.length >= STATUS_BYTES) whole.set(ecu, decodeStatus(data));
    else short.push(ecu);
  }
  return { whole, short };
}

/** @type {(ecu: string, status: StatusBytes, replies: Replies) => UnitReadout} */
function unitReadout(ecu, status, replies) {
  const trip = replies.trip.get(ecu) ?? [];
  const monitors = trip.length >= STATUS_BYTES ? withThisTrip(status.monitors, trip) : status.monitors;
  const data = (replies.status.get(ecu) ?? []).slice(0, STATUS_BYTES).map(hexByte).join(" ");
  const { mil, count, ignition } = status;
  return { ecu, bytes: data, mil, count, ignition, monitors };
}

/** @type {(units: UnitReadout[]) => Warned[]} */
function unitWarnings(units) {
  const warnings = [];
  for (const unit of units) {
    if (unit.mil && unit.count === 0) warnings.push(warned("lamp-without-code", unit.ecu));
    if (!unit.mil && unit.count > 0) warnings.push(warned("code-without-lamp", unit.ecu));
    if (!tells(unit) && units.length > 1) warnings.push(warned("unit-tells-nothing", unit.ecu));
    if (unit.monitors.some((m) => m.apart && m.supported)) {
      warnings.push(warned("bit-four", unit.ecu));
    }
  }
  if (units.length > 1 && units.some((unit) => unit.ecu.startsWith("unit "))) {
    warnings.push(warned("units-without-name"));
  }
  return warnings;
}

/** @param {UnitReadout} unit */
function tells(unit) {
  return unit.monitors.some((monitor) => monitor.supported);
}

/** @type {(units: UnitReadout[]) => Merged|null} */
function mergeUnits(units) {
  if (!units.length) return null;
  const monitors = mergeMonitors(units.map((unit) => unit.monitors));
  // A gearbox computer supports no engine monitor; its ignition bit means nothing.
  const counting = units.filter((unit) => countableIds(unit.monitors).length);
  const telling = counting.length ? counting : units;
  const kinds = [...new Set(telling.map((unit) => unit.ignition))];
  return {
    mil: units.some((unit) => unit.mil),
    count: units.reduce((sum, unit) => sum + unit.count, 0),
    ignition: kinds.length === 1 ? kinds[0] : "mixed",
    monitors,
    countable: countableIds(monitors),
    incomplete: incompleteIds(monitors),
    incomplete_continuous: incompleteIds(monitors, true),
  };
}

/** @type {(units: UnitReadout[], merged: Merged|null, short: string[]) => string|null} */
function monitorState(units, merged, short) {
  if (short.length) return "short";
  if (merged === null) return null;
  if (merged.ignition === "mixed") return "contradictory";
  if (!units.some(tells)) {
    return !merged.mil && merged.count === 0 ? "all-zero" : "nothing-supported";
  }
  return merged.countable.length ? "usable" : "continuous-only";
}

/** @type {(text: string, lines: Lines, replies: Replies, monitors: string|null) => string} */
function textState(text, lines, replies, monitors) {
  if (monitors) return monitors;
  if (replies.trip.size) return "this-trip-only";
  if (replies.values.size || replies.asked.length || replies.warnings.length) return "no-status";
  if (replies.otherProtocol) return "other-protocol";
  if (replies.refused) return "refused";
  if (lines.marks.includes("no-data") || lines.marks.includes("no-connection")) return "no-answer";
  if (lines.marks.includes("damaged-line")) return "damaged";
  if (lines.marks.includes("no-data-elsewhere")) return "no-status";
  if (lines.messages.some((message) => message.kind === "request")) return "only-questions";
  return /[^ \t\r\n\f\v>]/.test(text) ? "nothing-recognised" : "empty";
}
