/**
 * Join the rooms: the cases kept on this device, as a list; one of them by its id in the address.
 *
 * The list loads no knowledge: what it says of a case was kept with it.
 *
 * @import { KeptCase } from "../../case/shelf.js"
 */

import { isCaseId } from "../../case/sheet.js";
import { allCases, caseById, caseStore, putAway, removeCase, takeDown, watchCases } from "../../case/shelf.js";
import { button, el, need } from "../../kit/element.js";
import { sayFailed } from "../../kit/failed.js";
import { redraw } from "../../kit/place.js";
import { completeKnowledge, loadKnowledge } from "../../knowledge/knowledge.js";
import { linkBook } from "../../knowledge/link-words.js";
import { caseView } from "./case-view.js";
import { fileView, lastingView } from "./keeping-view.js";
import { listView } from "./list-view.js";
import { nameOf } from "./words.js";

const CHECKER = new URL("../../../checker/", import.meta.url);

/** Fetch what the log and the closing of a case name. */
async function fetchTools() {
  const knowledge = await loadKnowledge(new URL("../../data/checker.json", import.meta.url));
  const [book] = await Promise.all([
    linkBook(),
    completeKnowledge(knowledge, new URL("../../data/checker-later.json", import.meta.url)),
  ]);
  return { knowledge, redirects: book.redirects };
}

/** The page: the list, and what was deleted last. */
class Page {
  /** @param {HTMLElement} $root */
  constructor($root) {
    this.$note = el("div", { role: "status" });
    this.$list = el("div");
    this.$root = $root;
    /** @type {Awaited<ReturnType<typeof fetchTools>> | null} */
    this.tools = null;
    const begin = button("Begin a new case", () => this.leaveFor(putAway), { class: "control" });
    this.$file = fileView(() => this.draw());
    this.$lasting = lastingView();
    this.$all = el("div", el("p.ways", begin), this.$list, this.$file, this.$lasting);
    this.$one = el("div");
    $root.replaceChildren(this.$note, this.$all, this.$one);
    this.turn();
    watchCases(() => this.draw());
    addEventListener("hashchange", () => this.turn());
  }

  /** The case the address names; null for the list. */
  wanted() {
    const id = new URLSearchParams(location.hash.slice(1)).get("case");
    return isCaseId(id) ? caseById(id) : null;
  }

  /** Turn to the case the address names, or to the list. */
  turn() {
    const isFirst = !this.$list.hasChildNodes() && !this.$one.hasChildNodes();
    this.$note.replaceChildren();
    this.draw();
    if (!isFirst) this.$root.querySelector("h2")?.focus();
  }

  draw() {
    const one = this.wanted();
    this.$all.hidden = one !== null;
    this.$one.hidden = one === null;
    if (one === null) {
      this.$one.replaceChildren();
      this.drawList();
    } else void this.drawCase(one);
  }

  /** @param {KeptCase} one */
  async drawCase(one) {
    try {
      this.tools ??= await fetchTools();
    } catch (error) {
      sayFailed(this.$root, "The case could not be shown.", error);
      return;
    }
    if (this.wanted()?.sheet.id !== one.sheet.id) return;
    const isFirst = !this.$one.hasChildNodes();
    const draw = (/** @type {string} */ words) => {
      this.say(words);
      this.draw();
      // The button that was pressed may be gone, and the focus with it.
      if (document.activeElement === document.body) need(this.$one, "#close-title").focus();
    };
    const open = () => this.leaveFor(() => takeDown(one.sheet.id));
    const tools = { ...this.tools, draw };
    redraw(this.$one, () => caseView(one, tools, open));
    if (isFirst) this.$one.querySelector("h2")?.focus();
  }

  drawList() {
    const $search = this.$list.querySelector("input");
    const isSought = $search !== null && document.activeElement === $search;
    const ways = {
      open: (/** @type {KeptCase} */ one) => this.leaveFor(() => takeDown(one.sheet.id)),
      remove: (/** @type {KeptCase} */ one) => this.remove(one),
    };
    const cases = allCases();
    this.$list.replaceChildren(listView(cases, ways, $search?.value ?? ""));
    // Of nothing there is no copy, and it does not last; a file of another device can be read all the same.
    this.$lasting.hidden = cases.length === 0 && caseStore.stored().stamp !== "unreadable";
    for (const $part of this.$file.querySelectorAll("[data-of-cases]"))
      $part.toggleAttribute("hidden", cases.length === 0);
    if (isSought) this.$list.querySelector("input")?.focus();
  }

  /** Go to the checker once the right case is there. @param {() => import("../../kit/store.js").Outcome} turn */
  leaveFor(turn) {
    if (turn() === "kept") location.href = CHECKER.href;
    else this.say("This browser has no room left. Save a file, delete a case, and try again.");
  }

  /** @param {KeptCase} one */
  remove(one) {
    const back = removeCase(one.sheet.id);
    const undo = () => {
      const isBack = back() === "kept";
      this.say(isBack ? `“${nameOf(one)}” is back.` : "This browser has no room for it any more.");
      this.draw();
      this.$list.querySelector("h2")?.focus();
    };
    const $undo = button("Undo", undo, { class: "link-button", id: "undo-delete" });
    this.say(`“${nameOf(one)}” is deleted from this device. `, $undo);
    this.draw();
    $undo.focus();
  }

  /** @param {Array<string | HTMLElement>} words */
  say(...words) {
    this.$note.replaceChildren(el("p.do-now", ...words));
  }
}

new Page(need(document, '[data-module="cases"]'));
