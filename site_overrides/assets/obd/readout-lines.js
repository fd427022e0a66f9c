/**
 * Room reasoning: from pasted text to the messages of a car's control units.
 *
 * Twin of build_tools/obd/readout_lines.py, in the same order of work. It never throws and does not
 * know what a message means.
 *
 * @typedef {{kind: string, ecu: string, link: string, payload: number[], request: number[],
 *   number: number, exact: boolean, short: boolean}} Frame
 * @typedef {{kind: string, ecu: string, link: string, payload: number[], exact: boolean,
 *   short: boolean}} Message
 * @typedef {{messages: Message[], marks: string[], ignored: number}} Lines
 * @typedef {{link: string, total: number|null, payload: number[], next: number,
 *   broken: boolean}} Open
 * @typedef {Lines & {open: Map<string, Open>,
 *   asked: number|null}} Reading
 */

import { hexByte, LENGTHS } from "./pids.js";

export const MOST_DIGITS = 1024;
/** Service replies we know; 62 and 59 belong to the newer protocol (UDS). */
export const REPLIES = [0x41, 0x43, 0x47, 0x4a, 0x44, 0x7f, 0x49, 0x42, 0x46, 0x62, 0x59];
const CODE_REQUESTS = [0x03, 0x07, 0x0a];
const OTHER_REQUESTS = [0x02, 0x04, 0x06, 0x09, 0x22];
const WIDE_ID = /^(?:0000)?0(7[0-9A-F]{2})$/;
const ECHO_WITH_COUNT = /^01[0-9A-F]{2}[1-9]$/;
const FIRST_FRAME = 8;
const LONGEST_REQUEST = 7;

/** @type {(kind: string, more?: Partial<Frame>) => Frame} */
function frame(kind, more = {}) {
  return {
    kind,
    ecu: "",
    link: "unknown",
    payload: [],
    request: [],
    number: 0,
    exact: false,
    short: false,
    ...more,
  };
}

/** Turn an even number of hex digits into bytes. @type {(digits: string) => number[]} */
function bytesOf(digits) {
  const bytes = [];
  for (let at = 0; at < digits.length; at += 2) bytes.push(parseInt(digits.slice(at, at + 2), 16));
  return bytes;
}

/** Read a run of hex tokens as one frame; null if it has no shape we know. @type {(run: string[]) => Frame|null} */
function readFrame(run) {
  if (run.length > 2 && run[1].length === 1 && run.slice(2).join("").length <= 2 * parseInt(run[1], 16)) {
    return readFrame([run[0], ...run.slice(2)]); // without the adapter's own count of the bytes
  }
  const joined = run.join("");
  if (joined.length > MOST_DIGITS) return null;
  const wide = run.length > 1 ? WIDE_ID.exec(run[0]) : null;
  if (wide) return can(wide[1], joined.slice(run[0].length));
  if (joined.length % 2) return odd(run, joined);
  for (const digits of [8, 4]) {
    const id = WIDE_ID.exec(joined.slice(0, digits));
    if (id) {
      if (id[1] >= "7E8" && id[1] <= "7EF") return can(id[1], joined.slice(id[0].length));
      break;
    }
  }
  const data = bytesOf(joined);
  return wideHeader(joined) ?? olderHeader(data) ?? bareFrame(data);
}

/** @type {(run: string[], joined: string) => Frame|null} */
function odd(run, joined) {
  if (joined.length === 3 && joined[0] !== "7") {
    return frame("length", { number: parseInt(joined, 16) });
  }
  if (ECHO_WITH_COUNT.test(joined)) return frame("whole", { request: bytesOf(joined.slice(0, 4)) });
  if (joined[0] === "7" && (run.length === 1 || run[0].length % 2 || joined[1] === "E")) {
    return can(joined.slice(0, 3), joined.slice(3));
  }
  const cut = joined.length > 3 && REPLIES.includes(parseInt(joined.slice(0, 2), 16));
  return cut ? frame("damaged") : null;
}

/** @type {(header: string, digits: string) => Frame|null} */
function can(header, digits) {
  if (digits.length % 2 || !digits) return null;
  const data = bytesOf(digits);
  if (header < "7E8" && ["7D", "7E"].includes(header.slice(0, 2))) {
    return frame("whole", { link: "can", request: innerRequest(data) });
  }
  return withLength(header, data);
}

/** @type {(joined: string) => Frame|null} */
function wideHeader(joined) {
  if (joined.length <= 8) return null;
  const data = bytesOf(joined.slice(8));
  if (joined.startsWith("18DAF1")) return withLength(joined.slice(6, 8), data);
  const ours = joined.startsWith("18DB33F1") || (joined.startsWith("18DA") && joined.slice(6, 8) === "F1");
  return ours ? frame("whole", { link: "can", request: innerRequest(data) }) : null;
}

/** @type {(data: number[]) => Frame|null} */
function olderHeader(data) {
  if (data.length < 5) return null;
  const inner = data.slice(3, -1);
  if ((data[0] === 0x48 || data[0] === 0x41) && data[1] === 0x6b && REPLIES.includes(inner[0])) {
    return frame("whole", { ecu: hexByte(data[2]), link: "older", payload: inner });
  }
  if (data[0] === 0x48 && data[1] === 0x6b) return null;
  const byInitialised = (data[0] & 0xc0) === 0xc0 && data[1] === 0x33 && data[2] === 0xf1;
  if (((data[0] === 0x68 || data[0] === 0x61) && data[1] === 0x6a) || byInitialised) {
    return frame("whole", { link: "older", request: inner });
  }
  if ((data[0] & 0xc0) !== 0x80) return null;
  const [at, length] = data[0] & 0x3f ? [3, data[0] & 0x3f] : [4, data[3]];
  if (data[2] === 0xf1 && data[1] !== 0xf1) {
    return frame("whole", { link: "older", request: data.slice(at, at + length) });
  }
  if (data[1] === 0xf1 && length && REPLIES.includes(data[at])) {
    const payload = data.slice(at, at + length);
    const short = payload.length < length;
    return frame("whole", { ecu: hexByte(data[2]), link: "older", payload, exact: !short, short });
  }
  return null;
}

/** @type {(ecu: string, data: number[]) => Frame|null} */
function withLength(ecu, data) {
  if (!data.length) return null;
  const [kind, low] = [data[0] >> 4, data[0] & 0xf];
  const link = "can";
  if (kind === 0 && low) {
    const payload = data.slice(1, 1 + low);
    if (!payload.length) return null;
    return frame("whole", { ecu, link, payload, exact: true, short: payload.length < low });
  }
  if (kind === 1 && data.length >= 2) {
    return frame("first", { ecu, link, payload: data.slice(2), number: (low << 8) | data[1] });
  }
  if (kind === 2) return frame("next", { ecu, link, payload: data.slice(1), number: low });
  if (kind === 3) return frame("control", { ecu, link });
  return REPLIES.includes(data[0]) ? frame("whole", { ecu, link, payload: data }) : null;
}

/**
 * Read a frame without header: a reply, an echo, both, or a length byte and a reply.
 * @type {(data: number[]) => Frame|null}
 */
function bareFrame(data) {
  if (!data.length) return null;
  const first = data[0];
  if (REPLIES.includes(first)) return frame("whole", { payload: data });
  const echoed = echo(data);
  if (echoed !== null) return echoed;
  if (data.length > 1 && first <= LONGEST_REQUEST && REPLIES.includes(data[1])) {
    return withLength("", data);
  }
  if (data.length === FIRST_FRAME && first >> 4 === 1 && REPLIES.includes(data[2])) {
    return withLength("", data);
  }
  return data.length === FIRST_FRAME && first >> 4 === 2 ? withLength("", data) : null;
}

/** @type {(data: number[]) => Frame|null} */
function echo(data) {
  const first = data[0];
  if (CODE_REQUESTS.includes(first)) {
    if (data.length === 1) return frame("whole", { request: data });
    if (data[1] === first + 0x40) {
      return frame("whole", { payload: data.slice(1), request: data.slice(0, 1) });
    }
  }
  if (first === 0x01 && data.length > 1) {
    if (data.length > 3 && data[2] === 0x41 && data[3] === data[1]) {
      return frame("whole", { payload: data.slice(2), request: data.slice(0, 2) });
    }
    const known = data.slice(1).every((pid) => LENGTHS.has(pid));
    if (data.length > 2 && !known) return cutEcho(data);
    const asks = !REPLIES.slice(1).includes(data[1]) && data.length <= LONGEST_REQUEST && known;
    return asks || data.length === 2 ? frame("whole", { request: data }) : null;
  }
  if (OTHER_REQUESTS.includes(first) && data.length <= 3 && !data.some((byte) => REPLIES.includes(byte))) {
    return frame("whole", { request: data });
  }
  return null;
}

/** @type {(data: number[]) => Frame|null} */
function cutEcho(data) {
  if (data[1] === 0x41 && LENGTHS.get(data[2]) === data.length - 3) {
    return frame("whole", { payload: data.slice(1), request: data.slice(0, 1) });
  }
  if (LENGTHS.get(data[1]) !== data.length - 2) return null;
  return frame("whole", { payload: [0x41, ...data.slice(1)], request: data.slice(0, 2) });
}

/** @type {(data: number[]) => number[]} */
function innerRequest(data) {
  return data[0] <= LONGEST_REQUEST ? data.slice(1, 1 + data[0]) : [];
}

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
