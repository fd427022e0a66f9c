/**
 * Room reasoning: one run of hex digits as one frame on the car's data link.
 *
 * Same order of work as build_tools/obd/readout_frames.py. It joins no frames and decodes
 * no meaning. Never throws.
 * @typedef {{kind: string, ecu: string, link: string, payload: number[], request: number[],
 *   number: number, exact: boolean, short: boolean}} Frame
 */

import { LENGTHS } from "./pids.js";

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
export function bytesOf(digits) {
  const bytes = [];
  for (let at = 0; at < digits.length; at += 2) bytes.push(parseInt(digits.slice(at, at + 2), 16));
  return bytes;
}

/** Read a run of hex tokens as one frame; null if it has no shape we know. @type {(run: string[]) => Frame|null} */
export function readFrame(run) {
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
    return frame("whole", { ecu: hex(data[2]), link: "older", payload: inner });
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
    return frame("whole", { ecu: hex(data[2]), link: "older", payload, exact: !short, short });
  }
  return null;
}

/** @param {number} byte */
function hex(byte) {
  return byte.toString(16).toUpperCase().padStart(2, "0");
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
