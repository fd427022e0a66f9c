/**
 * Data room: fetch the compiled knowledge and refuse what this page cannot read.
 *
 * It fetches and checks the version; it does not reason and does not touch the page.
 */

import { fetchedJson } from "../kit/fetched-json.js";

/** The format this page was written for; a minor step only adds keys. */
const READABLE_FORMAT = 1;

/** @param {unknown} reason */
function notFetched(reason) {
  return new Error(`The knowledge file could not be fetched: ${reason}`);
}

/**
 * Fetch the compiled knowledge.
 *
 * Throws in words when it cannot be had or its major format is not 1.
 * @type {(address: URL | string) => Promise<import("./types.js").Knowledge>}
 */
export async function loadKnowledge(address) {
  const knowledge = await fetchedJson(address).catch((error) => {
    throw notFetched(error.message);
  });
  const major = Number.parseInt(String(knowledge?.format), 10);
  if (major !== READABLE_FORMAT) {
    throw new Error(`The knowledge file has format "${String(knowledge?.format)}"; this page reads format 1.`);
  }
  return knowledge;
}

/**
 * Fetch the later part of the knowledge and join it to the first one, in place.
 *
 * Throws in words when it cannot be had, and when it is of another version than the first part:
 * the two must never be mixed.
 * @type {(knowledge: import("./types.js").Knowledge, address: URL | string) => Promise<void>}
 */
export async function completeKnowledge(knowledge, address) {
  const later = await loadKnowledge(address);
  if (later.version !== knowledge.version) throw notFetched("it changed while this page was open; load the page again");
  const { symptoms, ...kinds } = later;
  Object.assign(knowledge, kinds);
  for (const [id, more] of Object.entries(symptoms)) Object.assign(knowledge.symptoms[id] ?? {}, more);
}
