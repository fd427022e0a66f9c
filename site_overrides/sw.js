/**
 * Offline: keep one whole edition of the app on the device, and serve only from it.
 *
 * An edition is a list of addresses with their SHA-256: what is needed beside a car is kept
 * unasked, all other pages when the reader asks for them. It is kept when every file came and
 * its digest fits; a deploy that is only half there is refused and the former edition stays
 * whole. A newer edition waits until the reader accepts it. Nothing is sent anywhere.
 * @typedef {Record<string, string>} Files address below the scope to base64 SHA-256
 * @typedef {{version: string, files: Files, bytes: number, rest: {digest: string, count: number, bytes: number}}} Edition
 */

/**
 * The build writes the edition here. Unfilled (in the preview) the worker retires itself.
 * @type {Edition | null}
 */
const EDITION = null;

const worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));
const SCOPE = worker.registration.scope;
const PREFIX = `before-parts ${SCOPE} `;
const AT_ONCE = 8;
const OFFLINE_PAGE = "offline/";
/** The list of all other pages; in a cache it says that every one of them is kept there. */
const REST = "all-pages.json";

/** @returns {string} the name of this edition's own cache */
function ownName() {
  return PREFIX + (EDITION?.version ?? "");
}

/** Say why an edition could not be kept. */
class EditionError extends Error {}

worker.addEventListener("install", (event) => {
  event.waitUntil(EDITION ? keepAsBefore(EDITION) : worker.skipWaiting());
});

worker.addEventListener("activate", (event) => {
  event.waitUntil(EDITION ? dropCaches((name) => name !== ownName()) : retire());
});

worker.addEventListener("message", (event) => {
  if (event.data === "take-over") void worker.skipWaiting();
  if (EDITION && event.data === "how-much") event.waitUntil(tellSizes(EDITION));
  if (EDITION && event.data === "keep-all") event.waitUntil(keepRest(EDITION).catch(() => undefined));
});

worker.addEventListener("fetch", (event) => {
  const { request } = event;
  if (EDITION && request.method === "GET" && request.url.startsWith(SCOPE)) {
    event.respondWith(answer(EDITION, event));
  }
});

/**
 * Keep a newer edition, with all pages if the reader once asked for all.
 * @param {Edition} edition
 */
async function keepAsBefore(edition) {
  await keepFiles(edition.files);
  const names = (await caches.keys()).filter((name) => name.startsWith(PREFIX));
  const marks = await Promise.all(names.map((name) => caches.match(SCOPE + REST, { cacheName: name })));
  if (marks.some(Boolean)) await keepRest(edition);
}

/**
 * Keep all other pages, and say how far it is.
 * @param {Edition} edition
 */
async function keepRest(edition) {
  const { digest, count } = edition.rest;
  const list = await fetchWhole(REST, digest);
  let done = 0;
  await keepFiles(await list.clone().json(), async () => {
    done += 1;
    if (done % 10 === 0 || done === count) await tell("progress", { done, count });
  });
  await (await caches.open(ownName())).put(SCOPE + REST, list);
  listing = null;
  await tell("whole");
}

/** @param {Edition} edition */
async function tellSizes({ bytes, rest }) {
  const isWhole = Boolean(await caches.match(SCOPE + REST, { cacheName: ownName() }));
  await tell("sizes", { bytes, more: rest.bytes, count: rest.count, isWhole });
}

/** @type {Promise<Files> | null} */
let listing = null;

/**
 * List what is kept on this device.
 * @param {Edition} edition
 * @returns {Promise<Files>}
 */
function keptFiles(edition) {
  listing ??= caches
    .match(SCOPE + REST, { cacheName: ownName() })
    .then((list) => list?.json())
    .then((rest) => ({ ...edition.files, ...rest }))
    .catch(() => edition.files);
  return listing;
}

/**
 * Fetch and check every file; what is there already, here or in the former edition, is not
 * fetched again. An edition that fails keeps what it has for the next try, except when the
 * device has no room.
 * @param {Files} files
 * @param {() => Promise<void>} [each] called after each file
 */
async function keepFiles(files, each = async () => undefined) {
  const mine = await caches.open(ownName());
  const others = (await caches.keys()).filter((name) => name.startsWith(PREFIX) && name !== ownName());
  const held = await Promise.all([ownName(), ...others].map((name) => caches.open(name)));
  const queue = Object.entries(files);
  const work = async () => {
    for (let next = queue.pop(); next; next = queue.pop()) {
      await keepFile(mine, held, ...next);
      await each();
    }
  };
  const workers = Array.from({ length: AT_ONCE }, work);
  try {
    await Promise.all(workers);
  } catch (error) {
    queue.length = 0;
    // A file still on its way would be kept after all was taken back.
    await Promise.allSettled(workers);
    const hasNoRoom = error instanceof DOMException && error.name === "QuotaExceededError";
    // What was there before stays; what came now in vain gives its room back.
    if (hasNoRoom) await Promise.all(Object.keys(files).map((path) => mine.delete(SCOPE + path)));
    if (hasNoRoom && (await mine.keys()).length === 0) await caches.delete(ownName());
    await tell(hasNoRoom ? "no-room" : "not-whole");
    throw error;
  }
}

/**
 * @param {Cache} mine
 * @param {Cache[]} held caches to look in before the network is asked
 * @param {string} path
 * @param {string} digest
 */
async function keepFile(mine, held, path, digest) {
  for (const cache of held) {
    const found = await cache.match(SCOPE + path, { ignoreVary: true });
    if (!found) continue;
    const bytes = await found.clone().arrayBuffer();
    if ((await digestOf(bytes)) !== digest) continue;
    if (cache !== mine) await mine.put(SCOPE + path, found);
    return;
  }
  await mine.put(SCOPE + path, await fetchWhole(path, digest));
}

/**
 * Fetch a file and refuse one of another edition.
 * @param {string} path
 * @param {string} digest
 * @returns {Promise<Response>}
 */
async function fetchWhole(path, digest) {
  // Past every cache on the way: a file that was kept under the same date must not stand in.
  const fetched = await fetch(SCOPE + path, { cache: "reload" });
  if (!fetched.ok) throw new EditionError(`${path}: the server answered ${fetched.status}`);
  const bytes = await fetched.arrayBuffer();
  if ((await digestOf(bytes)) !== digest) throw new EditionError(`${path} is of another edition`);
  return whole(bytes, fetched);
}

/**
 * Make a plain answer of fetched bytes: not redirected, not packed, the headers kept.
 * @param {ArrayBuffer} bytes
 * @param {Response} fetched
 * @returns {Response}
 */
function whole(bytes, fetched) {
  const headers = new Headers(fetched.headers);
  headers.delete("content-encoding");
  headers.delete("content-length");
  return new Response(bytes, { status: fetched.status, headers });
}

/**
 * @param {ArrayBuffer} bytes
 * @returns {Promise<string>} base64
 */
async function digestOf(bytes) {
  const digest = await crypto.subtle.digest("SHA-256", bytes);
  return btoa(String.fromCharCode(...new Uint8Array(digest)));
}

/**
 * Answer a request from the edition. What is not of the edition comes from the network, and
 * so does everything that a page from the network asks for: pages are never mixed.
 * @param {Edition} edition
 * @param {FetchEvent} event
 * @returns {Promise<Response>}
 */
async function answer(edition, event) {
  const { request } = event;
  const isPage = request.mode === "navigate";
  const address = new URL(request.url);
  const path = pathOf(address);
  const files = await keptFiles(edition);
  // The one address of a page comes first: before that nothing is served and nothing noted.
  if (isPage && !Object.hasOwn(files, path) && Object.hasOwn(files, `${path}/`)) {
    return Response.redirect(`${SCOPE}${path}/${address.search}`);
  }
  if (isPage) noteOrigin(event.resultingClientId, Object.hasOwn(files, path));
  // Asked anew: what the browser kept for itself may be of the former edition.
  const anew = /** @type {const} */ ({ cache: "no-cache" });
  if (!isPage && !(await isOurs(files, event.clientId))) return fetch(request, anew);
  if (Object.hasOwn(files, path)) return fromEdition(edition, path, event);
  try {
    // A picture that a kept page shows may come from what the browser kept.
    return await fetch(request, isPage ? anew : undefined);
  } catch (error) {
    if (!isPage || path === OFFLINE_PAGE) throw error;
    return Response.redirect(SCOPE + OFFLINE_PAGE);
  }
}

/**
 * @param {URL} address
 * @returns {string} the address below the scope, as the edition lists it
 */
function pathOf(address) {
  const path = (address.origin + address.pathname).slice(SCOPE.length);
  return path.replace(/(^|\/)index\.html$/, "$1");
}

/**
 * Pages that came from the network, while this worker runs: a page's first requests come
 * before the browser can say what its address is.
 * @type {Set<string>}
 */
const fromNetwork = new Set();

/**
 * Note where a page comes from. One that was led on, from the network to a kept page, is ours.
 * @param {string} clientId
 * @param {boolean} isKept
 */
function noteOrigin(clientId, isKept) {
  if (isKept) fromNetwork.delete(clientId);
  else fromNetwork.add(clientId);
}

/**
 * @param {Files} files
 * @param {string} clientId
 * @returns {Promise<boolean>} whether the page that asks is of the edition
 */
async function isOurs(files, clientId) {
  if (fromNetwork.has(clientId)) return false;
  const client = clientId === "" ? undefined : await worker.clients.get(clientId);
  return client === undefined || Object.hasOwn(files, pathOf(new URL(client.url)));
}

/**
 * Serve a kept file. If the device has thrown it away, fetch it, say so and keep it anew.
 * @param {Edition} edition
 * @param {string} path
 * @param {FetchEvent} event
 * @returns {Promise<Response>}
 */
async function fromEdition(edition, path, event) {
  const found = await caches
    .open(ownName())
    .then((cache) => cache.match(SCOPE + path, { ignoreVary: true }))
    .catch(() => undefined);
  if (found) return found;
  event.waitUntil(mendEdition(edition));
  try {
    const fetched = await fetch(SCOPE + path, { cache: "no-cache" });
    return whole(await fetched.arrayBuffer(), fetched);
  } catch {
    const text = "This device no longer holds its copy of the site, and there is no network now.";
    return new Response(text, { status: 503, headers: { "Content-Type": "text/plain" } });
  }
}

/** @type {Promise<void> | null} */
let mending = null;

/**
 * Keep the edition anew after the device has thrown it away; once at a time.
 * @param {Edition} edition
 */
async function mendEdition(edition) {
  await tell("gone");
  listing = null;
  mending ??= keepFiles(edition.files);
  try {
    await mending;
    await tell("kept");
  } catch {
    // The server has a newer edition by now, or there is no network: the network serves.
    await worker.registration.update().catch(() => undefined);
  } finally {
    mending = null;
  }
}

/**
 * Tell every open page of this site.
 * @param {"no-room" | "not-whole" | "gone" | "kept" | "progress" | "sizes" | "whole"} news
 * @param {Record<string, number | boolean>} [more] figures that belong to it
 */
async function tell(news, more = {}) {
  const pages = await worker.clients.matchAll({ includeUncontrolled: true, type: "window" });
  for (const page of pages) {
    if (page.url.startsWith(SCOPE)) page.postMessage({ ...more, edition: news });
  }
}

/** @param {(name: string) => boolean} isOld */
async function dropCaches(isOld) {
  const names = (await caches.keys()).filter((name) => name.startsWith(PREFIX) && isOld(name));
  await Promise.all(names.map((name) => caches.delete(name)));
}

/** Take back everything: caches first, then the worker itself. */
async function retire() {
  await dropCaches(() => true);
  await worker.registration.unregister();
}
