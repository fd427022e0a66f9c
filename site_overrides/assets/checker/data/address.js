/**
 * Data room: what another page, a message or a link hands over in the fragment of the address.
 *
 * `#s=` lists symptoms, `#x=` facts as `id:value`, `#q=` is text to search with, `#c=` a whole
 * case. What is not known here is named, so that a wrong link is noticed. Nothing is kept.
 *
 * @import { Fact, Knowledge } from "./types.js"
 */

const LONGEST_TEXT = 400;
const MOST_NAMED = 40;
const NUMBER = /^(-?\d+(?:\.\d+)?)([A-Za-z]*)$/;

/**
 * @typedef {object} Asked
 * @property {string[]} symptoms
 * @property {Record<string, Fact>} context
 * @property {string[]} unknown what was named and is not known here
 * @property {string} text
 * @property {string | null} link the fragment, when it holds a case link
 */

/**
 * Read a fact's value as the question takes it; null when it does not fit.
 * @param {Knowledge} knowledge
 * @param {string} id
 * @param {string} value
 * @returns {Fact | null}
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

/**
 * Cut a list as addresses write it.
 * @param {string | null} list
 * @returns {string[]}
 */
function listed(list) {
  const rows = (list ?? "").split(",").map((one) => one.trim()).filter((one) => one !== "");
  return rows.slice(0, MOST_NAMED);
}

/**
 * Read a fragment, with or without its "#".
 * @param {Knowledge} knowledge
 * @param {string} fragment
 * @returns {Asked}
 */
export function readFragment(knowledge, fragment) {
  const asked = new URLSearchParams(fragment.replace(/^#/, ""));
  /** @type {Asked} */
  const found = { symptoms: [], context: {}, unknown: [], text: "", link: null };
  if (asked.has("c")) found.link = fragment;
  found.text = (asked.get("q") ?? "").slice(0, LONGEST_TEXT);
  for (const id of listed(asked.get("s"))) {
    if (Object.hasOwn(knowledge.symptoms, id)) found.symptoms.push(id);
    else found.unknown.push(id.slice(0, 60));
  }
  for (const pair of listed(asked.get("x"))) {
    const [id = "", ...rest] = pair.split(":");
    const fact = factFrom(knowledge, id, rest.join(":"));
    if (fact === null) found.unknown.push(pair.slice(0, 60));
    else found.context[id] = fact;
  }
  return found;
}

/**
 * Tell whether a fragment speaks to the checker at all.
 * @param {string} fragment
 */
export function isSpoken(fragment) {
  const asked = new URLSearchParams(fragment.replace(/^#/, ""));
  return ["s", "x", "q", "c"].some((key) => asked.has(key));
}
