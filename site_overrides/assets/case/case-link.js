/**
 * Room case: a whole case in the fragment of an address, and back.
 *
 * The fragment stays on the devices of those who have the link: browsers never send it. Its
 * bytes are a version, the length of the rest, the case and a CRC-32, written as base64url.
 * What an older case means today is decided in case-adopt.js, not here.
 *
 * @import { Case } from "../knowledge/types.js"
 * @import { Entry, EntryKind } from "./sheet.js"
 */
import { Reader, Unreadable, Writer } from "./link-bytes.js";
import { isCaseId, logIn } from "./sheet.js";

const FORMAT = 1;
const LONGEST_LINK = 6000;
const CHECKSUM_BYTES = 4;
const VERSION_BYTES = 3;
const IN_TEXT = /[#&]c=([A-Za-z0-9_-]*)/;
const BARE = /^(?:c=)?([A-Za-z0-9_-]{12,})$/;

/** @type {Record<string, string>} */
const REASONS = {
  "no-link": "There is no case in this text. A case link has “#c=” in it, with letters after it.",
  "too-long": "This is longer than any case link. Look whether more was copied than the link.",
  "not-a-link": "These letters are no case link. Copy the whole link once more.",
  newer: "This link was made by a newer edition of this site. Load the page again first.",
  "cut-short": "This link is cut short. Ask for it once more, or copy all of it.",
  changed: "This link was changed on its way, so nothing in it is trusted. Ask for it again.",
  unreadable: "This link cannot be read. Ask for it once more.",
};

/** Words by number and numbers by word, as `link-words.js` fetches them. */
/** @typedef {{words: string[], numbers: Map<string, number>}} LinkWords */

/** What goes with a case: which one it is on every device, and its log. */
/** @typedef {{id: string | null, log: Entry[]}} About */
/** @typedef {keyof Case | "case_id" | "log"} Key */

/** Say why a link cannot be opened; `reason` is one of REASONS. */
export class LinkRefused extends Error {
  /** @param {string} reason */
  constructor(reason) {
    super(REASONS[reason]);
    this.name = "LinkRefused";
    this.reason = reason;
  }
}

/**
 * @typedef {object} Part
 * @property {Key} key
 * @property {(given: any) => boolean} isEmpty
 * @property {(body: Writer, given: any) => void} write
 * @property {(body: Reader) => any} read undefined where nothing was set
 */

/** @param {any} given */
const isBare = (given) => given === undefined || given === null || Object.keys(given).length === 0;
/** @param {any} given */
const isUnset = (given) => given === undefined || given === null;

/**
 * A list of ids.
 * @param {keyof Case} key
 * @param {boolean} [always] whether an empty list is still set
 * @returns {Part}
 */
function ids(key, always = false) {
  return {
    key,
    isEmpty: isBare,
    write: (body, given) => body.words(given ?? []),
    read: (body) => {
      const words = body.words();
      return words.length > 0 || always ? words : undefined;
    },
  };
}

/**
 * Read pairs of an id and what belongs to it.
 * @param {Reader} body
 * @param {() => any} value
 */
function pairs(body, value) {
  return Object.fromEntries(Array.from({ length: body.size() }, () => [body.word(), value()]));
}

/**
 * Write pairs of an id and what belongs to it.
 * @type {(body: Writer, given: Array<[string, any]>, write: (value: any) => void) => void}
 */
function writePairs(body, given, write) {
  body.count(given.length);
  for (const [key, value] of given) {
    body.word(key);
    write(value);
  }
}

/** Values by id. @type {(key: keyof Case) => Part} */
function values(key) {
  return {
    key,
    isEmpty: isBare,
    write: (body, given) => writePairs(body, Object.entries(given ?? {}), (value) => body.value(value)),
    read: (body) => pairs(body, () => body.value()),
  };
}

/** @param {Reader} body */
function readReading(body) {
  const value = body.value();
  const unit = body.word();
  return { value, ...(unit === "" ? {} : { unit }), ...pairs(body, () => body.value()) };
}

const MINUTE = 60_000;
/** The kinds of a log's lines by their number in links: for ever, like the parts. */
const LOG_KINDS = /** @type {EntryKind[]} */ (["noticed", "over", "found", "advised", "repaired", "bought"]);
const NO_RESULT = 0;
const A_NUMBER = 1;
const A_LEVEL = 2;

/**
 * Write the log: minutes since the line before, and no words of the reader's own.
 * @type {(body: Writer, log: Entry[]) => void}
 */
function writeLog(body, log) {
  body.count(log.length);
  let former = 0;
  for (const { at, kind, id, value, unit = "", level } of log) {
    const minute = Math.floor(Date.parse(at) / MINUTE);
    body.count(minute - former);
    former = minute;
    body.count(LOG_KINDS.indexOf(kind));
    body.word(id);
    body.count(value !== undefined ? A_NUMBER : level !== undefined ? A_LEVEL : NO_RESULT);
    if (value !== undefined) {
      body.number(value);
      body.word(unit);
    } else if (level !== undefined) body.word(level);
  }
}

/** @type {(body: Reader) => Entry[]} */
function readLog(body) {
  let minute = 0;
  const lines = Array.from({ length: body.size() }, () => {
    minute += body.count();
    const kind = LOG_KINDS[body.count()];
    const id = body.word();
    const result = body.count();
    const what =
      result === A_NUMBER
        ? { value: body.number(), unit: body.word() }
        : result === A_LEVEL
          ? { level: body.word() }
          : result === NO_RESULT
            ? {}
            : null;
    if (!kind || what === null || minute > 4e12 / MINUTE) throw new Unreadable("a line of the log is none");
    return { at: new Date(minute * MINUTE).toISOString(), kind, id, ...what };
  });
  return logIn(lines);
}

/** With a log a link may be this long; some programs cut longer ones. */
const LONGEST_WITH_LOG = 1500;

/**
 * The lines of a log that a link can hold: what an id says; the reader's own words stay at home.
 * @param {Entry[]} log
 */
function logForLink(log) {
  return log.filter(({ kind, id }) => id !== "" && LOG_KINDS.includes(kind));
}

/** The parts in the order of the format: parts are added at the end and never moved. @type {Part[]} */
const PARTS = [
  ids("symptoms", true),
  values("context"),
  {
    key: "readings",
    isEmpty: isBare,
    write: (body, given) =>
      writePairs(body, Object.entries(given ?? {}), ({ value, unit, ...rest }) => {
        body.value(value);
        body.word(unit ?? "");
        writePairs(body, Object.entries(rest), (each) => body.value(each));
      }),
    read: (body) => pairs(body, () => readReading(body)),
  },
  values("outcomes"),
  ids("not_possible", true),
  ids("absent"),
  {
    key: "tools",
    isEmpty: isUnset,
    write: (body, given) => {
      body.count(isUnset(given) ? 0 : 1);
      if (!isUnset(given)) body.words(given);
    },
    read: (body) => (body.count() > 0 ? body.words() : undefined),
  },
  ids("mended"),
  {
    key: "hour_value",
    isEmpty: isUnset,
    write: (body, given) => {
      body.count(isUnset(given) ? 0 : 1);
      if (!isUnset(given)) body.number(given);
    },
    read: (body) => (body.count() > 0 ? body.number() : undefined),
  },
  { ...values("helped"), read: (body) => ifAny(pairs(body, () => body.value())) },
  ids("past"),
  ids("again"),
  { key: "case_id", isEmpty: isUnset, write: (body, given) => body.letters(given ?? ""), read: readCaseId },
  { key: "log", isEmpty: isBare, write: (body, given) => writeLog(body, given ?? []), read: readLog },
];

/** @param {Reader} body */
function readCaseId(body) {
  const id = body.letters(24);
  if (id !== "" && !isCaseId(id)) throw new Unreadable("the id of the case is none");
  return id === "" ? undefined : id;
}

/** Return a set of named values, undefined when it is empty. @param {Record<string, any>} found */
function ifAny(found) {
  return Object.keys(found).length > 0 ? found : undefined;
}

/**
 * Write a case as the text that follows `#c=`.
 * @type {(car: Case, words: LinkWords, version: string, about?: About) => string}
 * @param version of the knowledge; its first six signs are kept
 */
export function encodeCase(car, words, version, about = { id: null, log: [] }) {
  const whole = { ...car, case_id: about.id, log: logForLink(about.log) };
  const body = new Writer(words.numbers);
  for (let place = 0; place < VERSION_BYTES * 2; place += 2) {
    body.bytes.push(Number.parseInt(version.slice(place, place + 2), 16));
  }
  let kept = VERSION_BYTES;
  for (const part of PARTS) {
    part.write(body, whole[part.key]);
    if (!part.isEmpty(whole[part.key])) kept = body.bytes.length;
  }
  const head = new Writer(new Map());
  head.count(FORMAT);
  head.count(kept);
  const raw = [...head.bytes, ...body.bytes.slice(0, kept)];
  const sum = crc32(raw);
  raw.push(sum >>> 24, (sum >>> 16) & 255, (sum >>> 8) & 255, sum & 255);
  return lettersOf(raw);
}

/**
 * Write a case with its log as the text that follows `#c=`; without the log where that is too long.
 * @type {(car: Case, words: LinkWords, version: string, about: About) => {letters: string, isShortened: boolean}}
 */
export function encodeWhole(car, words, version, about) {
  const letters = encodeCase(car, words, version, about);
  if (letters.length <= LONGEST_WITH_LOG || about.log.length === 0) return { letters, isShortened: false };
  return { letters: encodeCase(car, words, version, { ...about, log: [] }), isShortened: true };
}

/** Write bytes as base64url. @type {(raw: Iterable<number>) => string} */
export function lettersOf(raw) {
  return btoa(String.fromCharCode(...raw))
    .replaceAll("+", "-")
    .replaceAll("/", "_")
    .replace(/=+$/, "");
}

/**
 * Find the letters of a case link in an address, a message or on their own.
 *
 * Throws LinkRefused where there are none.
 * @type {(text: string) => string}
 */
export function linkIn(text) {
  const found = IN_TEXT.exec(text) ?? BARE.exec(text.trim());
  if (!found) throw new LinkRefused("no-link");
  return found[1] ?? "";
}

/**
 * Read the letters of a case link: the case, the version of its knowledge, and what goes with it.
 * Its ids may no longer exist.
 *
 * Throws LinkRefused with the reason; nothing is half read.
 * @type {(letters: string, words: LinkWords) => {car: Case, version: string, about: About}}
 */
export function decodeCase(letters, words) {
  const body = new Reader(checkedBytes(letters), words.words);
  /** @type {Case & {case_id?: string, log?: Entry[]}} */
  const whole = { symptoms: [], context: {}, readings: {}, outcomes: {}, not_possible: [] };
  try {
    const version = [...body.take(VERSION_BYTES)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
    for (const part of PARTS) {
      if (body.isDone()) break;
      const value = part.read(body);
      if (value !== undefined) Object.assign(whole, { [part.key]: value });
    }
    if (!body.isDone()) throw new Unreadable("more follows than a case has");
    const { case_id: id = null, log = [], ...car } = whole;
    return { car, version, about: { id, log } };
  } catch (error) {
    if (error instanceof Unreadable) throw new LinkRefused("unreadable");
    throw error;
  }
}

/**
 * Undo base64url, then look at version, length and checksum before anything else.
 * @type {(letters: string) => Uint8Array}
 */
function checkedBytes(letters) {
  const raw = rawBytes(letters);
  const head = new Reader(raw, []);
  let version;
  let size;
  try {
    version = head.count();
    size = head.count();
  } catch {
    throw new LinkRefused("cut-short");
  }
  if (version === 0 || version > FORMAT) throw new LinkRefused(version === 0 ? "not-a-link" : "newer");
  const start = size < 128 ? 2 : 3;
  const end = start + size;
  if (size > LONGEST_LINK || raw.length > end + CHECKSUM_BYTES) throw new LinkRefused("changed");
  if (raw.length < end + CHECKSUM_BYTES) throw new LinkRefused("cut-short");
  const sum = new DataView(raw.buffer, raw.byteOffset + end, CHECKSUM_BYTES).getUint32(0);
  if (crc32(raw.subarray(0, end)) !== sum) throw new LinkRefused("changed");
  return raw.subarray(start, end);
}

/** Undo base64url. Throws LinkRefused where that is not what it is. @type {(letters: string) => Uint8Array} */
export function rawBytes(letters) {
  if (letters === "") throw new LinkRefused("cut-short");
  if (letters.length > LONGEST_LINK) throw new LinkRefused("too-long");
  // One letter alone at the end holds no byte: the rest is missing.
  const whole = letters.length % 4 === 1 ? letters.slice(0, -1) : letters;
  try {
    return Uint8Array.from(atob(whole.replaceAll("-", "+").replaceAll("_", "/")), (sign) => sign.charCodeAt(0));
  } catch {
    throw new LinkRefused("not-a-link");
  }
}

/**
 * Return the CRC-32 of bytes, as used by zip and Ethernet (polynomial 0xEDB88320, reflected).
 * @type {(bytes: ArrayLike<number>) => number}
 */
export function crc32(bytes) {
  let rest = 0xffffffff;
  for (const byte of Array.from(bytes)) {
    rest ^= byte;
    for (let bit = 0; bit < 8; bit += 1) rest = rest & 1 ? (rest >>> 1) ^ 0xedb88320 : rest >>> 1;
  }
  return (rest ^ 0xffffffff) >>> 0;
}
