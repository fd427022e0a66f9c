/**
 * Room case: what another page, a message or a link hands over in the fragment of the address.
 *
 * `#s=` lists symptoms, `#k=` names a check to open, `#x=` facts as `id:value`, `#q=` is text to
 * search with, `#c=` a whole case. Former names lead to those of today; what is not known here is named, so that a wrong
 * link is noticed. Nothing is kept.
 *
 * @import { Former } from "../knowledge/link-words.js"
 * @import { Fact, Knowledge } from "../knowledge/types.js"
 */

import { linkBook } from "../knowledge/link-words.js";
import { idToday } from "./case-adopt.js";

const LONGEST_TEXT = 400;
const MOST_NAMED = 40;
const LONGEST_NAME = 60;
const NUMBER = /^(-?\d+(?:\.\d+)?)([A-Za-z]*)$/;

/** @typedef {{name: string, reason: string}} Unknown with the reason why it went, "" for none */
/**
 * @typedef {object} Asked
 * @property {string[]} symptoms
 * @property {Record<string, Fact>} context
 * @property {Unknown[]} unknown what was named and is not known here
 * @property {string} text
 * @property {string | null} check
 * @property {string | null} link the fragment, when it holds a case link
 */

/**
 * Read a fact's value as the question takes it; null when it does not fit.
 * @type {(knowledge: Knowledge, id: string, value: string) => Fact | null}
 */
function factFrom(knowledge, id, value) {
  const context = Object.hasOwn(knowledge.contexts, id) ? knowledge.contexts[id] : undefined;
  if (!context) return null;
  if (context.type === "choice") return context.options?.some((one) => one.id === value) ? value : null;
  const [, digits, unit = ""] = NUMBER.exec(value) ?? [];
  const meant = unit === "" ? (context.unit ?? "") : unit;
  const accepted = context.accepts ?? [context.unit ?? ""];
  return digits !== undefined && accepted.includes(meant) ? { value: Number(digits), unit: meant } : null;
}

/** Cut a list as addresses write it. @type {(list: string | null) => string[]} */
function listed(list) {
  const rows = (list ?? "")
    .split(",")
    .map((one) => one.trim())
    .filter((one) => one !== "");
  return rows.slice(0, MOST_NAMED);
}

/** @type {(name: string, reason: string | null) => Unknown} */
function unknown(name, reason) {
  return { name: name.slice(0, LONGEST_NAME), reason: (reason ?? "").replace(/\.+$/, "") };
}

/**
 * Read a fragment, with or without its "#".
 * @type {(knowledge: Knowledge, fragment: string, redirects?: Record<string, Former>) => Asked}
 */
function readFragment(knowledge, fragment, redirects = {}) {
  const asked = new URLSearchParams(fragment.replace(/^#/, ""));
  /** @type {Asked} */
  const found = { symptoms: [], context: {}, unknown: [], text: "", check: null, link: null };
  if (asked.has("c")) found.link = fragment;
  found.text = (asked.get("q") ?? "").slice(0, LONGEST_TEXT);
  const check = asked.get("k") ?? "";
  if (Object.hasOwn(knowledge.checks, check)) found.check = check;
  else if (check !== "") found.unknown.push(unknown(check, null));
  for (const id of listed(asked.get("s"))) {
    const { id: today, reason } = idToday(knowledge.symptoms, redirects, id);
    if (today === null) found.unknown.push(unknown(id, reason));
    else if (!found.symptoms.includes(today)) found.symptoms.push(today);
  }
  for (const pair of listed(asked.get("x"))) {
    const [id = "", ...rest] = pair.split(":");
    const { id: today, reason } = idToday(knowledge.contexts, redirects, id);
    const fact = today === null ? null : factFrom(knowledge, today, rest.join(":"));
    if (today === null || fact === null) found.unknown.push(unknown(pair, reason));
    else found.context[today] = fact;
  }
  return found;
}

/**
 * Read a fragment; when it names something unknown, the former names are fetched and asked.
 * @type {(knowledge: Knowledge, fragment: string) => Promise<Asked>}
 */
export async function readAddress(knowledge, fragment) {
  const asked = readFragment(knowledge, fragment);
  if (asked.unknown.length === 0) return asked;
  try {
    return readFragment(knowledge, fragment, (await linkBook()).redirects);
  } catch {
    return asked; // Without a connection the names stay unknown, and the reader is told which.
  }
}

/** Tell whether a fragment speaks to the checker at all. @param {string} fragment */
export function isSpoken(fragment) {
  const asked = new URLSearchParams(fragment.replace(/^#/, ""));
  return ["s", "x", "q", "k", "c"].some((key) => asked.has(key));
}
