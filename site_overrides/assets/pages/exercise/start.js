/**
 * Join the rooms: an address holds a car to work on, a result to show, or nothing yet.
 *
 * Nothing is sent; what travels is a link. Only how far a student is with a car stays on the device.
 *
 * @import { Tools } from "./words.js"
 */

import { sayOf } from "../../answer/questions.js";
import { carIn, resultsIn } from "../../exercise/links.js";
import { replay } from "../../exercise/play.js";
import { el, need } from "../../kit/element.js";
import { sayFailed } from "../../kit/failed.js";
import { fetchedJson } from "../../kit/fetched-json.js";
import { completeKnowledge, loadKnowledge } from "../../knowledge/knowledge.js";
import { chooseView } from "./choose-view.js";
import { classView } from "./class-view.js";
import { keptMoves } from "./kept-work.js";
import { Work } from "./play-view.js";

/** @returns {Promise<Tools>} */
async function fetchTools() {
  const [knowledge, words] = await Promise.all([
    loadKnowledge(new URL("../../data/checker.json", import.meta.url)),
    fetchedJson(new URL("../../data/exercise.json", import.meta.url)),
  ]);
  await completeKnowledge(knowledge, new URL("../../data/checker-later.json", import.meta.url));
  return { knowledge, words };
}

/** @type {($root: HTMLElement, tools: Tools) => void} */
function draw($root, tools) {
  const { knowledge, words } = tools;
  const { hash, href } = location;
  const found = carIn(knowledge, hash);
  if (found) {
    const $stage = el("div");
    $root.replaceChildren($stage);
    const isOther = found.edition !== knowledge.version;
    const moves = keptMoves(knowledge, found.car);
    new Work($stage, tools, replay(knowledge, found.car, moves), isOther ? sayOf(words, "exercise-other-edition") : "");
    return;
  }
  const isResult = resultsIn(knowledge, hash).length > 0;
  const isBroken = !isResult && /^#x=/.test(hash);
  $root.replaceChildren(
    ...(isBroken ? [el("p.caution", { role: "alert" }, sayOf(words, "exercise-bad-link"))] : []),
    ...(isResult ? [classView(tools, href)] : [chooseView(tools), classView(tools)]),
  );
}

const $root = need(document, '[data-module="exercise"]');
try {
  const tools = await fetchTools();
  draw($root, tools);
  window.addEventListener("hashchange", () => draw($root, tools));
} catch (error) {
  sayFailed($root, "This page could not start.", error);
  throw error;
}
