/**
 * Room reasoning: from pasted text to the messages of a car's control units.
 *
 * Same order of work as build_tools/obd/readout_lines.py. It never throws and does not
 * know what a message means.
 *
 * @import { Frame } from "./readout-frames.js"
 * @typedef {{kind: string, ecu: string, link: string, payload: number[], exact: boolean,
 *   short: boolean}} Message
 * @typedef {{messages: Message[], marks: string[], ignored: number}} Lines
 * @typedef {{link: string, total: number|null, payload: number[], next: number,
 *   broken: boolean}} Open
 * @typedef {Lines & {open: Map<string, Open>,
 *   asked: number|null}} Reading
 */

import { LENGTHS } from "./pids.js";
import { bytesOf, MOST_DIGITS, readFrame } from "./readout-frames.js";

export const LONGEST_TEXT = 200_000;
const NOT_ASCII = /[^\x00-\x7f]/gu;
const ARROW = /[-=]>/g; // an arrow is no prompt
const LINE_ENDS = /[\r\n>]+/;
const BLANKS = /[ \t\f\v,;|=#"'`()[\]{}<]+/;
const HEX = /^(?:0X)?([0-9A-F]+)$/;
const INDEXED = /^([0-9A-F]):([0-9A-F]*)$/;
// "Mode 01 PID 01 = ...", with the value behind it.
const LABEL =
  /(?:(?:MODE|SERVICE|SID) ?[$#]?(?:0X)?0?1[ ,/:-]{0,4})?\bPID ?[$#:]?(?:0X)?(?:01)?([0-9A-F]{2})\b[ \t:=-]{0,9}/;
/** @type {[RegExp, string][]} what common adapters say in words instead of hex */
const WORDS = [
  [/NO ?DATA/g, "no-data"],
  [/UNABLE TO CONNECT/g, "no-connection"],
  [/BUS INIT:? ?\.* ?ERROR/g, "no-connection"],
  [/(?:CAN|BUS|FB) ERROR|BUS BUSY/g, "no-connection"],
  [/<? ?(?:DATA|RX) ERROR|BUFFER FULL|STOPPED/g, "damaged-line"],
  [/SEARCHING ?\.*|BUS INIT:? ?\.* ?(?:OK)?/g, ""],
];
const MOST_SEGMENTS = 64;
const LONGEST_MESSAGE = 4095; // ISO 15765-2: the length has twelve bits

/** Read the messages out of a pasted text; longer text than LONGEST_TEXT is cut. @type {(text: string) => Lines} */
export function readLines(text) {
  /** @type {Reading} */
  const reading = { messages: [], marks: [], ignored: 0, open: new Map(), asked: null };
  const plain = text.slice(0, LONGEST_TEXT).replace(NOT_ASCII, " ").toUpperCase().replace(ARROW, " ");
  for (const line of plain.split(LINE_ENDS)) readLine(reading, line);
  for (const ecu of [...reading.open.keys()]) close(reading, ecu);
  const { messages, marks, ignored } = reading;
  return { messages, marks: [...new Set(marks)], ignored };
}

/** @type {(reading: Reading, line: string) => void} */
function readLine(reading, line) {
  /** @type {string[]} */
  const said = [];
  for (const [pattern, mark] of WORDS) {
    if (line.search(pattern) >= 0) said.push(mark);
    line = line.replace(pattern, " ");
  }
  const tokens = tokensOf(labelled(line));
  // A line the adapter itself calls damaged is not read: half a byte can look like a whole one.
  if (tokens.length && (said.includes("damaged-line") || !readTokens(reading, tokens))) {
    reading.ignored += said.length ? 0 : 1;
  }
  for (const mark of said) {
    // No codes of a kind, or a service the car has not got, is not a silent car.
    const elsewhere = mark === "no-data" && reading.asked !== null && reading.asked !== 1;
    if (mark) reading.marks.push(elsewhere ? "no-data-elsewhere" : mark);
  }
}

/** @param {string} line */
function tokensOf(line) {
  return line.split(BLANKS).filter((token) => token);
}

/** Turn a value with its PID in words into the reply it stands for. @type {(line: string) => string} */
function labelled(line) {
  const label = LABEL.exec(line);
  if (label === null) return line;
  const [pid, rest] = [label[1], line.slice(label.index + label[0].length)];
  const digits = hexRun(tokensOf(rest));
  const whole = digits.length === 2 * (LENGTHS.get(parseInt(pid, 16)) ?? 0);
  return whole && !digits.startsWith(`41${pid}`) ? `41 ${pid} ${rest}` : rest;
}

/** @type {(reading: Reading, tokens: string[]) => boolean} */
function readTokens(reading, tokens) {
  const indexed = INDEXED.exec(tokens[0]);
  if (indexed) {
    const rest = hexRun([indexed[2], ...tokens.slice(1)]);
    return addSegment(reading, parseInt(indexed[1], 16), rest);
  }
  /** @type {string[]} */
  let run = [];
  for (const token of [...tokens, "-"]) {
    const match = HEX.exec(token);
    if (match) run.push(match[1]);
    else if (run.length && readRun(reading, run)) return true;
    else run = [];
  }
  return false;
}

/** @type {(tokens: string[]) => string} */
function hexRun(tokens) {
  let digits = "";
  for (const token of tokens) {
    const match = token ? HEX.exec(token) : null;
    if (token && !match) break;
    digits += match ? match[1] : "";
  }
  return digits;
}

/** @type {(reading: Reading, run: string[]) => boolean} */
function readRun(reading, run) {
  const frame = readFrame(run);
  if (frame === null) return false;
  if (frame.kind === "length") {
    close(reading, "");
    reading.open.set("", opened(frame.number, []));
    return true;
  }
  if (frame.kind === "first") {
    close(reading, frame.ecu);
    reading.open.set(frame.ecu, opened(frame.number, [...frame.payload]));
    return true;
  }
  if (frame.kind === "next") return addNext(reading, frame);
  if (frame.kind === "damaged") reading.marks.push("damaged-line");
  if (frame.kind === "control" || frame.kind === "damaged") return true;
  close(reading, frame.ecu);
  const { ecu, link, payload, request, exact, short } = frame;
  if (request.length) {
    reading.asked = request[0];
    reading.messages.push({
      kind: "request",
      ecu: "",
      link,
      payload: request,
      exact: false,
      short: false,
    });
  }
  if (payload.length) reading.messages.push({ kind: "reply", ecu, link, payload, exact, short });
  return true;
}

/** @type {(total: number|null, payload: number[]) => Open} */
function opened(total, payload) {
  return { link: "can", total, payload, next: 1, broken: false };
}

/** @type {(reading: Reading, frame: Frame) => boolean} */
function addNext(reading, frame) {
  const part = reading.open.get(frame.ecu);
  if (part === undefined) return false;
  extend(reading, frame.ecu, part, frame.number, frame.payload);
  return true;
}

/** @type {(reading: Reading, number: number, digits: string) => boolean} */
function addSegment(reading, number, digits) {
  if (!digits || digits.length % 2 || digits.length > MOST_DIGITS) return false;
  let part = reading.open.get("");
  if (part === undefined) {
    if (number !== 0) return false;
    part = opened(null, []);
    part.next = 0;
    reading.open.set("", part);
  } else if (!part.payload.length) {
    part.next = 0;
  }
  extend(reading, "", part, number, bytesOf(digits));
  return true;
}

/** @type {(reading: Reading, ecu: string, part: Open, number: number, payload: number[]) => void} */
function extend(reading, ecu, part, number, payload) {
  if (part.broken || number !== (part.next & 0xf)) {
    part.broken = true;
    reading.marks.push("frames-lost");
    return;
  }
  part.payload.push(...payload);
  part.next += 1;
  const whole = part.payload.length >= (part.total ?? LONGEST_MESSAGE);
  if (whole || part.next > MOST_SEGMENTS) close(reading, ecu);
}

/** @type {(reading: Reading, ecu: string) => void} */
function close(reading, ecu) {
  const part = reading.open.get(ecu);
  reading.open.delete(ecu);
  if (part === undefined || !part.payload.length) return;
  const total = part.total === null ? part.payload.length : part.total;
  const payload = part.payload.slice(0, total);
  if (!payload.length) return;
  reading.messages.push({
    kind: "reply",
    ecu,
    link: part.link,
    payload,
    exact: part.total !== null,
    short: part.broken || part.payload.length < total,
  });
}
