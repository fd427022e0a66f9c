/**
 * Join the page to the worker that keeps the site on the device.
 *
 * It registers the worker, says in one line of the colophon how things stand, and changes to
 * a newer edition only when the reader asks for it. Without a worker nothing changes.
 */

import { savesData } from "../../kit/saves-data.js";

const WORKER = new URL("../../../sw.js", import.meta.url);
/** The first download waits until the page has been read for a moment. */
const WAIT_MS = 3000;
const WORDS = {
  kept: "This site is kept on this device and opens without a network.",
  whole: "All pages are kept on this device.",
  "no-room": "This device has no room to keep the site. It needs the network.",
  gone: "This device has thrown its copy of the site away. This page comes from the network.",
  newer: "A newer edition is ready.",
};

/** @param {...(Node | string)} parts */
function say(...parts) {
  document.querySelector("[data-edition]")?.replaceChildren(...parts);
}

/** Offer a waiting edition; the reader decides when. @param {ServiceWorker} waiting */
function offer(waiting) {
  const $use = document.createElement("button");
  $use.type = "button";
  $use.className = "link-button";
  $use.textContent = "Use it now";
  $use.addEventListener("click", () => waiting.postMessage("take-over"));
  say(`${WORDS.newer} `, $use);
}

/** Say how things stand with a worker that is being set up. @param {ServiceWorkerRegistration} registration */
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
    if (news === "sizes") sayAll(data.isWhole ? WORDS.whole : "", data);
    if (news === "progress") sayAll(`Keeping all pages: ${data.done} of ${data.count} …`);
    if (news === "whole") sayAll(WORDS.whole);
    if (news === "no-room" || news === "not-whole")
      sayAll("Not all pages could be kept. What was kept before still is.");
  });
}

/**
 * Say on the page about this how it stands with all other pages, or offer to keep them.
 * @param {string} words nothing to offer them
 * @param {{bytes: number, more: number, count: number}} [sizes]
 */
function sayAll(words, sizes) {
  const $all = document.querySelector("[data-keep-all]");
  if (!$all) return;
  $all.replaceChildren(words);
  if (words !== "" || !sizes) return;
  const $keep = document.createElement("button");
  $keep.type = "button";
  $keep.className = "control";
  $keep.textContent = `Keep all other pages: ${sizes.count} files, ${megabytes(sizes.more)} to fetch`;
  $keep.addEventListener("click", () => {
    sayAll("Keeping all pages …");
    void navigator.serviceWorker.ready.then(({ active }) => active?.postMessage("keep-all"));
  });
  $all.append(`What is needed beside a car is kept: ${megabytes(sizes.bytes)} were fetched. `, $keep);
}

/** @param {number} bytes */
function megabytes(bytes) {
  return `about ${(bytes / 1e6).toFixed(1)} MB`;
}

/** Wait until something may be kept: after a moment, or when the reader asks for it. @returns {Promise<unknown>} */
function untilWelcome() {
  if (!savesData()) return new Promise((done) => setTimeout(done, WAIT_MS));
  return new Promise((done) => {
    const $all = document.querySelector("[data-keep-all]");
    const $keep = document.createElement("button");
    $keep.type = "button";
    $keep.className = "control";
    $keep.textContent = "Keep what is needed beside a car, about 0.6 MB to fetch";
    $keep.addEventListener("click", () => {
      $keep.remove();
      done(undefined);
    });
    $all?.replaceChildren("Your browser asks to save data, so nothing is kept unasked. ", $keep);
  });
}

async function join() {
  if (!("serviceWorker" in navigator)) return;
  reloadOnChange();
  listen();
  if (navigator.serviceWorker.controller) say(WORDS.kept);
  else await untilWelcome();
  // Off the network there is no worker to fetch, and asking would only be noise.
  if (!navigator.serviceWorker.controller && !navigator.onLine) return;
  const registration = await navigator.serviceWorker.register(WORKER, { updateViaCache: "none" });
  if (registration.waiting && registration.active) offer(registration.waiting);
  if (registration.installing) watch(registration);
  registration.addEventListener("updatefound", () => watch(registration));
  if (document.querySelector("[data-keep-all]")) {
    const { active } = await navigator.serviceWorker.ready;
    active?.postMessage("how-much");
  }
}

// A browser that refuses (private window, site data off) reads the site from the network.
join().catch(() => undefined);
