/**
 * Join the rooms: the cases kept on this device, as a list; one of them by its id in the address.
 *
 * The list loads no knowledge: what it says of a case was kept with it.
 *
 * @import { KeptCase } from "../../case/shelf.js"
 */
import { allCases, putAway, removeCase, takeDown, watchCases } from "../../case/shelf.js";
import { button, el, need } from "../../kit/element.js";
import { fileView, lastingView } from "./keeping-view.js";
import { listView } from "./list-view.js";
import { nameOf } from "./words.js";

const CHECKER = new URL("../../../checker/", import.meta.url);

/** The page: the list, and what was deleted last. */
class Page {
  /** @param {HTMLElement} $root */
  constructor($root) {
    this.$note = el("div", { role: "status" });
    this.$list = el("div");
    const begin = button("Begin a new case", () => this.leaveFor(putAway), { class: "control" });
    $root.replaceChildren(
      el("p", { class: "ways" }, begin),
      this.$note,
      this.$list,
      fileView(() => this.draw()),
      lastingView(),
    );
    this.draw();
    watchCases(() => this.draw());
  }

  draw() {
    const $search = this.$list.querySelector("input");
    const isSought = $search !== null && document.activeElement === $search;
    const ways = {
      open: (/** @type {KeptCase} */ one) => this.leaveFor(() => takeDown(one.sheet.id)),
      remove: (/** @type {KeptCase} */ one) => this.remove(one),
    };
    this.$list.replaceChildren(listView(allCases(), ways, $search?.value ?? ""));
    if (isSought) this.$list.querySelector("input")?.focus();
  }

  /**
   * Go to the checker once the right case is there.
   * @param {() => import("../../kit/store.js").Outcome} turn
   */
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
    this.$note.replaceChildren(el("p", { class: "caution" }, ...words));
  }
}

new Page(need(document, '[data-module="cases"]'));
