/**
 * Join the rooms of the readings page: fetch, read the list in the page, draw what the
 * address names.
 *
 * The address alone decides what is shown, so the browser's own way back works.
 *
 * @import { Known } from "../../measure/known.js"
 * @import { Place } from "./shelf.js"
 */

import { learnFormerNames } from "../../case/kept-case.js";
import { el, need } from "../../kit/element.js";
import { sayFailed } from "../../kit/failed.js";
import { draftsIn, layDrafts, outlastReload } from "../../kit/place.js";
import { loadKnowledge } from "../../knowledge/knowledge.js";
import { gaugeView } from "./gauge-view.js";
import { placesIn, shelfFilter } from "./shelf.js";
import { sumView } from "./sum-view.js";

/** The page: the list, and the one thing chosen from it. */
class Page {
  /**
   * @param {HTMLElement} $root
   * @param {Known} knowledge
   * @param {import("../../knowledge/reading-search.js").ReadingText[]} readings
   */
  constructor($root, knowledge, readings) {
    this.knowledge = knowledge;
    this.places = placesIn($root);
    this.$list = el("div.shelf-list");
    this.$list.append(...$root.childNodes);
    const $filter = shelfFilter(this.places, readings);
    const $lede = this.$list.querySelector(".lede");
    if ($lede) $lede.after($filter);
    else this.$list.prepend($filter);
    this.$desk = el("div.desk");
    this.typed = { value: "", unit: "" };
    this.scrolled = 0;
    /** @type {import("../../kit/place.js").Drafts} what is half typed in the forms left behind */
    this.drafts = {};
    /** @type {string | null} */
    this.former = null;
    $root.replaceChildren(this.$list, this.$desk);
  }

  /** Draw what the address names, the list if it names nothing we know. */
  show() {
    // An id needs no decoding; after it may stand what was typed elsewhere.
    const [id = "", ...rest] = location.hash.slice(1).split("&");
    const typed = new URLSearchParams(rest.join("&"));
    this.typed = { value: typed.get("value") ?? "", unit: typed.get("unit") ?? "" };
    const place = this.places.find((each) => each.id === id);
    if (place && this.isKnown(place)) this.open(place);
    else this.close();
    this.former = place?.id ?? null;
  }

  /** @param {Place} place */
  isKnown({ kind, id }) {
    return Object.hasOwn(kind === "sum" ? this.knowledge.sums : this.knowledge.gauges, id);
  }

  /** @param {Place} place */
  open(place) {
    if (!this.$list.hidden) this.scrolled = scrollY;
    const parts =
      place.kind === "sum"
        ? sumView(this.knowledge, place.id)
        : gaugeView(this.knowledge, place.id, place.ask, this.typed);
    const $back = el("p.folio", el("a", { href: "#" }, "All readings"));
    // The list keeps its ids; hidden, it is no target for the address.
    this.$list.hidden = true;
    Object.assign(this.drafts, draftsIn(this.$desk));
    this.$desk.replaceChildren($back, ...parts.filter((part) => part !== null));
    layDrafts(this.$desk, this.drafts);
    this.$desk.querySelector("h2")?.focus({ preventScroll: true });
    scrollTo(0, 0);
  }

  close() {
    Object.assign(this.drafts, draftsIn(this.$desk));
    this.$desk.replaceChildren();
    this.$list.hidden = false;
    if (this.former === null) return;
    const $link = document.getElementById(this.former)?.querySelector("a");
    scrollTo(0, this.scrolled);
    $link?.focus({ preventScroll: true });
  }
}

const $root = need(document, '[data-module="readings"]');
try {
  const knowledge = await loadKnowledge(new URL("../../data/readings.json", import.meta.url));
  await learnFormerNames(knowledge);
  const texts = await fetch(new URL("../../data/reading-texts.json", import.meta.url));
  const page = new Page($root, /** @type {Known} */ (knowledge), texts.ok ? await texts.json() : []);
  addEventListener("hashchange", () => page.show());
  page.show();
  outlastReload("readings", $root);
} catch (error) {
  sayFailed($root, "Readings cannot be entered here now.", error, "The pages below hold the same scales.");
  throw error;
}
