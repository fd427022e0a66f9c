/**
 * Room exercise: a car, or what a student did with it, as the letters of a link.
 *
 * The letters are scrambled, so that nobody reads the causes by chance. That is no lock: whoever
 * takes the trouble can undo it. The first four bytes are a checksum of what follows; they also
 * begin the scrambling.
 *
 * @import { Knowledge } from "../knowledge/types.js"
 * @import { Car } from "./draw.js"
 * @import { Move } from "./play.js"
 */

import { crc32, LinkRefused, lettersOf, rawBytes } from "../case/case-link.js";
import { bitsOf } from "./chance.js";
import { causesOf, LEVELS } from "./draw.js";
import { MOST_STEPS } from "./play.js";

const SUM_BYTES = 4;
const LONGEST_NAME = 40;
const KINDS = /** @type {const} */ ({ c: "check", r: "repair", w: "workshop" });
const CAR = /[#&]x=([A-Za-z0-9_-]+)/;
const RESULT = /[#&]r=([A-Za-z0-9_-]+)/;

/** What a student did, by the name they gave; `edition` is the knowledge it was done with. */
/** @typedef {{name: string, edition: string, car: Car, moves: Move[]}} Result */

/** @type {(sum: number, bytes: ArrayLike<number>) => number[]} */
function scrambled(sum, bytes) {
  return Array.from(bytes, (byte, place) => byte ^ (bitsOf(sum, String(place)) & 255));
}

/** @param {unknown} document */
function toLetters(document) {
  const bytes = new TextEncoder().encode(JSON.stringify(document));
  const sum = crc32(bytes);
  const head = [sum >>> 24, (sum >>> 16) & 255, (sum >>> 8) & 255, sum & 255];
  return lettersOf([...head, ...scrambled(sum, bytes)]);
}

/** Read letters back; null where they were cut short or changed. @type {(letters: string) => any} */
function fromLetters(letters) {
  try {
    const raw = rawBytes(letters);
    if (raw.length <= SUM_BYTES) return null;
    const sum = new DataView(raw.buffer, raw.byteOffset, SUM_BYTES).getUint32(0);
    const bytes = Uint8Array.from(scrambled(sum, raw.subarray(SUM_BYTES)));
    if (crc32(bytes) !== sum) return null;
    return JSON.parse(new TextDecoder("utf-8", { fatal: true, ignoreBOM: true }).decode(bytes));
  } catch (error) {
    if (error instanceof LinkRefused || error instanceof SyntaxError || error instanceof TypeError) return null;
    throw error;
  }
}

/** @param {Car} car */
function carRow({ level, complaint, others, facts, causes, misread, seed }) {
  return [LEVELS.indexOf(level), complaint, causes, misread, [seed, others, facts]];
}

/**
 * Write a car as what follows the page's address.
 * @param {Car} car
 * @param {string} edition of the knowledge
 */
export function carLink(car, edition) {
  return `#x=${toLetters([edition, ...carRow(car)])}`;
}

/** Write what a student did as what follows the page's address. @param {Result} result */
export function resultLink({ name, edition, car, moves }) {
  const steps = moves.map(({ kind, id }) => `${kind[0]}${id}`);
  return `#r=${toLetters([edition, ...carRow(car), steps, name.slice(0, LONGEST_NAME)])}`;
}

/**
 * Make a car of what a link says; null where this edition does not know something of it.
 * @type {(knowledge: Knowledge, row: any[]) => Car | null}
 */
function carOf(knowledge, [place, complaint, causes, misread, drawn]) {
  // Of a former edition's car nothing else was told, and the number stood alone.
  const [seed, others, facts] = Array.isArray(drawn) ? drawn : [drawn, [], {}];
  const level = LEVELS[place];
  const isList = Array.isArray(causes) && Array.isArray(misread) && causes.length > 0;
  if (level === undefined || !isList || !Number.isInteger(seed)) return null;
  if (knowledge.symptoms[complaint]?.role !== "complaint") return null;
  if (!Array.isArray(others) || !others.every((name) => knowledge.symptoms[name]?.role === "complaint")) return null;
  if (facts === null || typeof facts !== "object" || !Object.entries(facts).every(isKnown(knowledge))) return null;
  const linked = causesOf(knowledge, complaint);
  if (!causes.every((name) => linked.includes(name))) return null;
  if (!misread.every((name) => Object.hasOwn(knowledge.checks, name))) return null;
  return { level, complaint, others, facts, causes, misread, seed };
}

/** @type {(knowledge: Knowledge) => (fact: [string, unknown]) => boolean} */
function isKnown({ contexts }) {
  return ([name, answer]) => contexts[name]?.options?.some(({ id }) => id === answer) ?? false;
}

/**
 * Find the car in an address; null where there is none that can be read.
 * @type {(knowledge: Knowledge, text: string) => {car: Car, edition: string} | null}
 */
export function carIn(knowledge, text) {
  const row = fromLetters(CAR.exec(text)?.[1] ?? "");
  const car = Array.isArray(row) ? carOf(knowledge, row.slice(1)) : null;
  return car && { car, edition: String(row[0]) };
}

/**
 * Find every student's result in a text, in its order; null stands for one that cannot be read.
 * @type {(knowledge: Knowledge, text: string) => Array<Result | null>}
 */
export function resultsIn(knowledge, text) {
  return Array.from(text.matchAll(new RegExp(RESULT, "g")), ([, letters]) => {
    const row = fromLetters(letters ?? "");
    const car = Array.isArray(row) ? carOf(knowledge, row.slice(1)) : null;
    const moves = car ? movesOf(knowledge, row[6]) : null;
    if (!car || !moves || typeof row[7] !== "string") return null;
    return { name: row[7].slice(0, LONGEST_NAME), edition: String(row[0]), car, moves };
  });
}

/** @type {(knowledge: Knowledge, steps: unknown) => Move[] | null} */
function movesOf(knowledge, steps) {
  if (!Array.isArray(steps) || steps.length > MOST_STEPS) return null;
  const kinds = /** @type {Record<string, Move["kind"]>} */ (KINDS);
  const moves = steps.map((step) => ({ kind: kinds[String(step)[0] ?? ""], id: String(step).slice(1) }));
  const canBeMade = (/** @type {Partial<Move>} */ { kind, id = "" }) =>
    kind === "workshop" ||
    (kind === "check" && Object.hasOwn(knowledge.checks, id)) ||
    (kind === "repair" && Object.hasOwn(knowledge.causes, id));
  return moves.every(canBeMade) ? /** @type {Move[]} */ (moves) : null;
}
