/**
 * Room reasoning: from pasted text to the messages of a car's control units.
 *
 * Same order of work as build_tools/reasoning/readout_lines.py. It never throws and does not
 * know what a message means.
 *
 * @import { Frame } from "./readout-frames.js"
 * @typedef {{kind: string, ecu: string, link: string, payload: number[], exact: boolean,
 *   short: boolean}} Message
 * @typedef {{messages: Message[], marks: string[], ignored: number}} Lines
 * @typedef {{link: string, total: number|null, payload: number[], next: number,
 *   broken: boolean}} Open
 * @typedef {Lines & {open: Map<string, Open>}} Reading
 */

import { bytesOf, readFrame } from "./readout-frames.js";

export const LONGEST_TEXT = 200_000;
const NOT_ASCII = /[^\x00-\x7f]/gu;
const LINE_ENDS = /[\r\n>]+/;
const BLANKS = /[ \t\f\v,;|=]+/;
const HEX = /^(?:0X)?([0-9A-F]+)$/;
const INDEXED = /^([0-9A-F]):([0-9A-F]*)$/;
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

/**
 * Read the messages out of a pasted text; longer text than LONGEST_TEXT is cut.
 *
 * @param {string} text
 * @returns {Lines}
 */
export function readLines(text) {
  /** @type {Reading} */
  const reading = { messages: [], marks: [], ignored: 0, open: new Map() };
  const plain = text.slice(0, LONGEST_TEXT).replace(NOT_ASCII, " ").toUpperCase();
  for (const line of plain.split(LINE_ENDS)) readLine(reading, line);
  for (const ecu of [...reading.open.keys()]) close(reading, ecu);
  const { messages, marks, ignored } = reading;
  return { messages, marks: [...new Set(marks)], ignored };
}

/**
 * @param {Reading} reading
 * @param {string} line
 */
function readLine(reading, line) {
  let [damaged, said] = [false, false];
  for (const [pattern, mark] of WORDS) {
    const without = line.replace(pattern, " ");
    if (line.search(pattern) >= 0) {
      said = true;
      damaged = damaged || mark === "damaged-line";
      if (mark) reading.marks.push(mark);
    }
    line = without;
  }
  const tokens = line.split(BLANKS).filter((token) => token);
  if (!tokens.length) return;
  // A line the adapter itself calls damaged is not read: half a byte can look like a whole one.
  if (damaged || !readTokens(reading, tokens)) reading.ignored += said ? 0 : 1;
}

/**
 * @param {Reading} reading
 * @param {string[]} tokens
 * @returns {boolean}
 */
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

/**
 * @param {string[]} tokens
 * @returns {string}
 */
function hexRun(tokens) {
  let digits = "";
  for (const token of tokens) {
    const match = token ? HEX.exec(token) : null;
    if (token && !match) break;
    digits += match ? match[1] : "";
  }
  return digits;
}

/**
 * @param {Reading} reading
 * @param {string[]} run
 * @returns {boolean}
 */
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

/**
 * @param {number|null} total
 * @param {number[]} payload
 * @returns {Open}
 */
function opened(total, payload) {
  return { link: "can", total, payload, next: 1, broken: false };
}

/**
 * @param {Reading} reading
 * @param {Frame} frame
 * @returns {boolean}
 */
function addNext(reading, frame) {
  const part = reading.open.get(frame.ecu);
  if (part === undefined) return false;
  if (frame.number !== (part.next & 0xf)) part.broken = true;
  extend(reading, frame.ecu, part, frame.payload);
  return true;
}

/**
 * @param {Reading} reading
 * @param {number} number
 * @param {string} digits
 * @returns {boolean}
 */
function addSegment(reading, number, digits) {
  if (!digits || digits.length % 2) return false;
  let part = reading.open.get("");
  if (part === undefined) {
    if (number !== 0) return false;
    part = opened(null, []);
    part.next = 0;
    reading.open.set("", part);
  } else if (!part.payload.length) {
    part.next = 0;
  }
  if (number !== (part.next & 0xf)) part.broken = true;
  extend(reading, "", part, bytesOf(digits));
  return true;
}

/**
 * @param {Reading} reading
 * @param {string} ecu
 * @param {Open} part
 * @param {number[]} payload
 */
function extend(reading, ecu, part, payload) {
  part.payload.push(...payload);
  part.next += 1;
  const whole = part.total !== null && part.payload.length >= part.total;
  if (whole || part.next > MOST_SEGMENTS) close(reading, ecu);
}

/**
 * @param {Reading} reading
 * @param {string} ecu
 */
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
