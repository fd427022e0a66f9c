/**
 * Data room: fetch the compiled knowledge and refuse what this page cannot read.
 *
 * It fetches and checks the version; it does not reason and does not touch the page.
 */

/** The format this page was written for; a minor step only adds keys. */
const READABLE_FORMAT = 1;

/** Say that the knowledge is in a format this page was not written for. */
class CatalogueVersionError extends Error {
  /** @param {unknown} format what the file says */
  constructor(format) {
    super(`The knowledge file has format "${String(format)}"; this page reads format 1.`);
    this.name = "CatalogueVersionError";
  }
}

/** Say that the knowledge could not be fetched. */
class CatalogueFetchError extends Error {
  /** @param {string} reason */
  constructor(reason) {
    super(`The knowledge file could not be fetched: ${reason}`);
    this.name = "CatalogueFetchError";
  }
}

/**
 * Fetch the compiled knowledge.
 *
 * Throws CatalogueFetchError when it cannot be had and CatalogueVersionError when its major
 * format is not 1.
 * @type {(address: URL | string) => Promise<import("./types.js").Knowledge>}
 */
export async function loadKnowledge(address) {
  let answer;
  try {
    answer = await fetch(address);
  } catch (error) {
    throw new CatalogueFetchError(String(error));
  }
  if (!answer.ok) throw new CatalogueFetchError(`the server answered ${answer.status}`);
  const knowledge = await answer.json();
  const major = Number.parseInt(String(knowledge?.format), 10);
  if (major !== READABLE_FORMAT) throw new CatalogueVersionError(knowledge?.format);
  return knowledge;
}

/**
 * Fetch the later part of the knowledge and join it to the first one, in place.
 *
 * Throws CatalogueFetchError when it cannot be had, and when it is of another version than the
 * first part: the two must never be mixed.
 * @type {(knowledge: import("./types.js").Knowledge, address: URL | string) => Promise<void>}
 */
export async function completeKnowledge(knowledge, address) {
  const later = await loadKnowledge(address);
  if (later.version !== knowledge.version) {
    throw new CatalogueFetchError("it changed while this page was open; load the page again");
  }
  const { symptoms, ...kinds } = later;
  Object.assign(knowledge, kinds);
  for (const [id, more] of Object.entries(symptoms)) Object.assign(knowledge.symptoms[id] ?? {}, more);
}
