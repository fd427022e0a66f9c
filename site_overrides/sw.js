/**
 * Offline: keep one whole edition of the site on the device, and serve only from it.
 *
 * An edition is a list of addresses with their SHA-256. It is kept when every file came and
 * its digest fits; a deploy that is only half there is refused and the former edition stays
 * whole. A newer edition waits until the reader accepts it. Nothing is sent anywhere.
 *
 * @typedef {{version: string, files: Record<string, string>}} Edition
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

/** @returns {string} the name of this edition's own cache */
function ownName() {
  return PREFIX + (EDITION?.version ?? "");
}

/** Say why an edition could not be kept. */
class EditionError extends Error {}

worker.addEventListener("install", (event) => {
  event.waitUntil(EDITION ? keepEdition(EDITION) : worker.skipWaiting());
});

worker.addEventListener("activate", (event) => {
  event.waitUntil(EDITION ? dropCaches((name) => name !== ownName()) : retire());
});

worker.addEventListener("message", (event) => {
  if (event.data === "take-over") void worker.skipWaiting();
});

worker.addEventListener("fetch", (event) => {
  const { request } = event;
  if (EDITION && request.method === "GET" && request.url.startsWith(SCOPE)) {
    event.respondWith(answer(EDITION, event));
  }
});

/**
 * Fetch and check every file; what is there already, here or in the former edition, is not
 * fetched again. An edition that fails keeps what it has for the next try, except when the
 * device has no room.
 * @param {Edition} edition
 */
async function keepEdition(edition) {
  const mine = await caches.open(ownName());
  const others = (await caches.keys()).filter((name) => name.startsWith(PREFIX) && name !== ownName());
  const held = await Promise.all([ownName(), ...others].map((name) => caches.open(name)));
  const queue = Object.entries(edition.files);
  const work = async () => {
    for (let next = queue.pop(); next; next = queue.pop()) await keepFile(mine, held, ...next);
  };
  try {
    await Promise.all(Array.from({ length: AT_ONCE }, work));
  } catch (error) {
    queue.length = 0;
    const hasNoRoom = error instanceof DOMException && error.name === "QuotaExceededError";
    if (hasNoRoom) await caches.delete(ownName());
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
  // Past every cache on the way: a file that was kept under the same date must not stand in.
  const fetched = await fetch(SCOPE + path, { cache: "reload" });
  if (!fetched.ok) throw new EditionError(`${path}: the server answered ${fetched.status}`);
  const bytes = await fetched.arrayBuffer();
  if ((await digestOf(bytes)) !== digest) throw new EditionError(`${path} is of another edition`);
  await mine.put(SCOPE + path, whole(bytes, fetched));
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
  if (isPage && !Object.hasOwn(edition.files, path)) fromNetwork.add(event.resultingClientId);
  // Asked anew: what the browser kept for itself may be of the former edition.
  if (!isPage && !(await isOurs(edition, event.clientId))) return fetch(request, { cache: "no-cache" });
  if (Object.hasOwn(edition.files, path)) return fromEdition(edition, path, event);
  if (isPage && Object.hasOwn(edition.files, `${path}/`)) {
    return Response.redirect(`${SCOPE}${path}/${address.search}`);
  }
  try {
    return await fetch(request);
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
 * @param {Edition} edition
 * @param {string} clientId
 * @returns {Promise<boolean>} whether the page that asks is of the edition
 */
async function isOurs(edition, clientId) {
  if (fromNetwork.has(clientId)) return false;
  const client = clientId === "" ? undefined : await worker.clients.get(clientId);
  return client === undefined || Object.hasOwn(edition.files, pathOf(new URL(client.url)));
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
  mending ??= keepEdition(edition);
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
 * @param {"no-room" | "not-whole" | "gone" | "kept"} news
 */
async function tell(news) {
  const pages = await worker.clients.matchAll({ includeUncontrolled: true, type: "window" });
  for (const page of pages) {
    if (page.url.startsWith(SCOPE)) page.postMessage({ edition: news });
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
