/**
 * Room reasoning: from messages to monitor bytes, values and codes per control unit.
 *
 * Same order of work as build_tools/obd/readout_replies.py. It judges nothing and never
 * throws.
 *
 * @import { Message } from "./readout-lines.js"
 * @import { PidValue } from "./pids.js"
 * @typedef {{ecu: string, kind: string, code: string}} StoredCode
 * @typedef {{status: Map<string, number[]>, trip: Map<string, number[]>,
 *   values: Map<string, PidValue>, codes: StoredCode[], asked: string[],
 *   warnings: [string, string][], refused: boolean, otherProtocol: boolean,
 *   ordinals: Map<number, number>}} Replies
 */

import { codeFromBytes } from "./codes.js";
import { decodePid, LENGTHS, MONITOR_STATUS, TRIP_STATUS } from "./pids.js";

const CODE_KINDS = new Map([
  [0x43, "confirmed"],
  [0x47, "pending"],
  [0x4a, "permanent"],
]);
const PADDING = [0x00, 0x55, 0xaa, 0xcc, 0xff];
const OLDER_CODE_BYTES = 6;
const PID_REPLY = 0x41;

/** @type {(messages: Message[]) => Replies} */
export function readReplies(messages) {
  /** @type {Replies} */
  const replies = {
    status: new Map(),
    trip: new Map(),
    values: new Map(),
    codes: [],
    asked: [],
    warnings: [],
    refused: false,
    otherProtocol: false,
    ordinals: new Map(),
  };
  for (const message of messages) {
    if (message.kind === "request") startAnew(replies, message.payload);
    else take(replies, message);
  }
  return replies;
}

/** @type {(replies: Replies, request: number[]) => void} */
function startAnew(replies, request) {
  for (const key of request[0] === 1 ? request.slice(1) : [-request[0]]) {
    replies.ordinals.delete(key);
  }
}

/**
 * Name a control unit; without a header they are numbered in the order they answered.
 * @type {(replies: Replies, ecu: string, key: number) => string}
 */
function unitName(replies, ecu, key) {
  if (ecu) return ecu;
  const number = (replies.ordinals.get(key) ?? 0) + 1;
  replies.ordinals.set(key, number);
  return `unit ${number}`;
}

/** @type {(replies: Replies, warning: string, ecu: string) => void} */
function warn(replies, warning, ecu) {
  if (!replies.warnings.some(([id, unit]) => id === warning && unit === ecu)) {
    replies.warnings.push([warning, ecu]);
  }
}

/** @type {(replies: Replies, message: Message) => void} */
function take(replies, message) {
  const service = message.payload[0];
  if (service === 0x7f) replies.refused = true;
  else if (service === 0x62 || service === 0x59) replies.otherProtocol = true;
  else if (service === PID_REPLY) takePids(replies, message);
  else if (CODE_KINDS.has(service)) takeCodes(replies, message);
}

/** @type {(replies: Replies, message: Message) => void} */
function takePids(replies, message) {
  const payload = message.payload;
  if (payload.length < 2) {
    warn(replies, "short-reply", message.ecu);
    return;
  }
  const pid = payload[1];
  const need = LENGTHS.get(pid);
  if (need === undefined) return;
  const rest = payload.slice(2 + need);
  const ecu = unitName(replies, message.ecu, pid);
  store(replies, ecu, pid, payload.slice(2, 2 + need));
  const padded = PADDING.includes(rest[0]) && rest.every((byte) => byte === rest[0]);
  if (!rest.length || (!message.exact && padded)) return;
  const more = splitRest(rest);
  if (more === null) {
    if (rest.length > 1) warn(replies, "extra-bytes", ecu);
    return;
  }
  let unit = ecu;
  for (const [newReply, number, start] of more) {
    unit = newReply ? unitName(replies, message.ecu, number) : unit;
    store(replies, unit, number, rest.slice(start, start + (LENGTHS.get(number) ?? 0)));
  }
}

/** @type {(rest: number[]) => [boolean, number, number][]|null} */
function splitRest(rest) {
  /** @type {([boolean, number, number, number]|null)[]} what stands at each place, and its end */
  const ends = new Array(rest.length).fill(null);
  for (let at = rest.length - 1; at >= 0; at -= 1) {
    for (const newReply of [false, true]) {
      if (ends[at] !== null || (newReply && rest[at] !== PID_REPLY)) continue;
      const nameAt = newReply ? at + 1 : at;
      const need = nameAt < rest.length ? LENGTHS.get(rest[nameAt]) : undefined;
      const end = need !== undefined ? nameAt + 1 + need : rest.length + 1;
      const fits = end === rest.length || (end < rest.length && ends[end] !== null);
      if (fits) ends[at] = [newReply, rest[nameAt], nameAt + 1, end];
    }
  }
  /** @type {[boolean, number, number][]} */
  const parts = [];
  for (let at = 0; at < rest.length; ) {
    const part = ends[at];
    if (part === null) return null;
    parts.push([part[0], part[1], part[2]]);
    at = part[3];
  }
  return parts;
}

/** @type {(replies: Replies, ecu: string, pid: number, data: number[]) => void} */
function store(replies, ecu, pid, data) {
  if (pid === MONITOR_STATUS || pid === TRIP_STATUS) {
    const told = pid === MONITOR_STATUS ? replies.status : replies.trip;
    const before = told.get(ecu);
    if (before !== undefined && before.join() !== data.join()) warn(replies, "told-twice", ecu);
    // A short answer never replaces a whole one.
    if (before === undefined || data.length >= before.length) told.set(ecu, data);
    return;
  }
  if (data.length < (LENGTHS.get(pid) ?? 0)) {
    warn(replies, "short-reply", ecu);
    return;
  }
  const value = decodePid(pid, data, ecu);
  if (value !== null) replies.values.set(`${ecu}\n${value.pid}`, value);
}

/** @type {(replies: Replies, message: Message) => void} */
function takeCodes(replies, message) {
  const service = message.payload[0];
  const data = message.payload.slice(1);
  const kind = /** @type {string} */ (CODE_KINDS.get(service));
  const ecu = unitName(replies, message.ecu, -(service - 0x40));
  if (!data.length) {
    warn(replies, "short-reply", ecu);
    return;
  }
  if (!replies.asked.includes(kind)) replies.asked.push(kind);
  const [pairs, warning] = codeBytes(message, data);
  if (warning) warn(replies, warning, ecu);
  for (let at = 0; at < pairs.length - 1; at += 2) {
    const code = codeFromBytes(pairs[at], pairs[at + 1]);
    const known = replies.codes.some((c) => c.ecu === ecu && c.kind === kind && c.code === code);
    if (code !== null && !known) replies.codes.push({ ecu, kind, code });
  }
}

/** @type {(message: Message, data: number[]) => [number[], string|null]} */
function codeBytes(message, data) {
  const counted = data.slice(1, 1 + 2 * data[0]);
  const missing = message.short || counted.length < 2 * data[0] ? "short-reply" : null;
  if (message.link === "can") return [counted, missing];
  if (message.link === "older") {
    return [data.slice(0, data.length - (data.length % 2)), message.short ? "short-reply" : null];
  }
  if (data.length === OLDER_CODE_BYTES + 1 && data[0] > 3) {
    return [data.slice(0, OLDER_CODE_BYTES), null];
  }
  if (data.length % 2) return [counted, missing];
  const padded = data[0] && !missing && !data.slice(1 + 2 * data[0]).some((byte) => byte !== 0);
  return [data, padded ? "count-or-code" : null];
}
