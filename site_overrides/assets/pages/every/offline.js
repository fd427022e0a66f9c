/**
 * Join the page to the worker that keeps the site on the device.
 *
 * It registers the worker, says in one line of the colophon how things stand, and changes to
 * a newer edition only when the reader asks for it. Without a worker nothing changes.
 */

const WORKER = new URL("../../../sw.js", import.meta.url);
/** The first download waits until the page has been read for a moment. */
const WAIT_MS = 3000;
const WORDS = {
  kept: "This site is kept on this device and opens without a network.",
  "no-room": "This device has no room to keep the site. It needs the network.",
  gone: "This device has thrown its copy of the site away. This page comes from the network.",
  newer: "A newer edition is ready.",
};

/** @param {...(Node | string)} parts */
function say(...parts) {
  document.querySelector("[data-edition]")?.replaceChildren(...parts);
}

/**
 * Offer a waiting edition; the reader decides when.
 * @param {ServiceWorker} waiting
 */
function offer(waiting) {
  const $use = document.createElement("button");
  $use.type = "button";
  $use.className = "link-button";
  $use.textContent = "Use it now";
  $use.addEventListener("click", () => waiting.postMessage("take-over"));
  say(`${WORDS.newer} `, $use);
}

/**
 * Say how things stand with a worker that is being set up.
 * @param {ServiceWorkerRegistration} registration
 */
function watch(registration) {
  const { installing } = registration;
  const isFirst = registration.active === null;
  installing?.addEventListener("statechange", () => {
    if (installing.state === "installed" && !isFirst) offer(installing);
    // Where no open page uses the former edition, nothing has to wait.
    if (installing.state === "activated") void sayKept();
  });
}

/** A worker that retires itself is unregistered at once and keeps nothing. */
async function sayKept() {
  const registration = await navigator.serviceWorker.getRegistration(WORKER);
  if (registration?.active) say(WORDS.kept);
}

/** Once the page is controlled by another edition, only a new load is whole. */
function reloadOnChange() {
  let isControlled = navigator.serviceWorker.controller !== null;
  navigator.serviceWorker.addEventListener("controllerchange", () => {
    if (isControlled) location.reload();
    isControlled = true;
  });
}

function listen() {
  navigator.serviceWorker.addEventListener("message", ({ data }) => {
    const news = String(data?.edition);
    if (news === "kept" || news === "gone" || news === "no-room") say(WORDS[news]);
  });
}

async function join() {
  if (!("serviceWorker" in navigator)) return;
  reloadOnChange();
  listen();
  if (navigator.serviceWorker.controller) say(WORDS.kept);
  else await new Promise((done) => setTimeout(done, WAIT_MS));
  // Off the network there is no worker to fetch, and asking would only be noise.
  if (!navigator.serviceWorker.controller && !navigator.onLine) return;
  const registration = await navigator.serviceWorker.register(WORKER, { updateViaCache: "none" });
  if (registration.waiting && registration.active) offer(registration.waiting);
  if (registration.installing) watch(registration);
  registration.addEventListener("updatefound", () => watch(registration));
}

// A browser that refuses (private window, site data off) reads the site from the network.
join().catch(() => undefined);
