/**
 * Join the rooms: fetch, ask the reasoning, draw, keep.
 *
 * The state lives in one object here. Every change makes a new one, the former goes on the
 * list for undo, and the page is drawn from it.
 *
 * @import { Knowledge, State } from "./data/types.js"
 * @import { Advice } from "./reasoning/triage.js"
 * @import { ActOptions } from "./output/app.js"
 */
import { emptyState, setSymptom, toCase } from "./data/case.js";
import { cleanState } from "./data/kept-state.js";
import { loadKnowledge } from "./data/knowledge.js";
import { buildIndex } from "./data/search.js";
import { forget, keep, recall } from "./data/storage.js";
import { caseFoot, checkView, stuckView } from "./output/check-view.js";
import { button, el, need } from "./output/element.js";
import { liveSummary } from "./output/reasons.js";
import { sayView } from "./output/say-view.js";
import { stuckWords } from "./output/stuck.js";
import { triage } from "./reasoning/triage.js";

const MOST_UNDO = 20;

/**
 * The page: one state, the list of former ones, and the drawing of both.
 *
 * It has the powers the views ask for (see `output/app.js`).
 */
class Page {
  /**
   * @param {HTMLElement} $root
   * @param {Knowledge} knowledge
   * @param {any} lunr
   */
  constructor($root, knowledge, lunr) {
    const kept = recall();
    const past = Array.isArray(kept?.past) ? kept.past : [];
    this.$root = $root;
    this.knowledge = knowledge;
    this.index = buildIndex(lunr, knowledge.symptoms, knowledge.synonyms);
    this.now = cleanState(knowledge, kept?.state);
    this.past = past.slice(-MOST_UNDO).map((each) => cleanState(knowledge, each));
    this.kept = true;
    this.typed = "";
    /** @type {Record<string, number>} */
    this.former = {};
    /** @type {Advice | null} */
    this.advice = null;
    /** @type {{update: () => void} | null} */
    this.live = null;
    this.$stage = el("div", { class: "stage" });
    this.$foot = el("div");
    this.$aloud = el("p", { class: "visually-hidden", "aria-live": "polite", id: "said-aloud" });
  }

  /** Take up what another page handed over, and draw for the first time. */
  begin() {
    const asked = readAddress(this.knowledge);
    if (asked.symptom !== null && !this.now.chosen.includes(asked.symptom)) {
      this.become({ ...setSymptom(this.now, asked.symptom, true), view: "say" });
    }
    this.typed = asked.text;
    this.$root.replaceChildren(this.$aloud, this.$stage, this.$foot);
    this.draw();
  }

  state() {
    return this.now;
  }

  canUndo() {
    return this.past.length > 0;
  }

  isKept() {
    return this.kept;
  }

  /**
   * Choose or take back a symptom; the view stays, so the reader keeps their place.
   * @param {string} id
   * @param {boolean} isSo
   */
  tick(id, isSo) {
    this.become(setSymptom(this.now, id, isSo));
    const title = this.knowledge.symptoms[id]?.title ?? id;
    this.$aloud.textContent = isSo ? `Added: ${title}.` : `Taken back: ${title}.`;
    this.live?.update();
    this.drawFoot();
  }

  /**
   * @param {(state: State) => State} change
   * @param {ActOptions} [options]
   */
  act(change, options) {
    this.become(change(this.now));
    this.draw(options);
  }

  undo() {
    const former = this.past.at(-1);
    if (!former) return;
    this.past = this.past.slice(0, -1);
    this.now = former;
    this.save();
    this.draw({ focus: "[data-main-heading]", say: "The last change is undone." });
  }

  forget() {
    forget();
    this.now = emptyState();
    this.past = [];
    this.typed = "";
    this.advice = null;
    this.$stage.replaceChildren();
    this.draw({ focus: "[data-main-heading]", say: "The case is forgotten on this device." });
  }

  /** @param {State} next */
  become(next) {
    this.past = [...this.past, this.now].slice(-MOST_UNDO);
    this.now = next;
    this.save();
  }

  save() {
    this.kept = keep({ state: this.now, past: this.past });
  }

  drawFoot() {
    this.$foot.replaceChildren(caseFoot(this));
  }

  /** @param {ActOptions} [options] */
  draw({ focus, say } = {}) {
    const $field = this.$stage.querySelector("#said");
    if ($field instanceof HTMLInputElement) this.typed = $field.value;
    const open = [...this.$stage.querySelectorAll("details[open]")].map(keyOf);
    this.$stage.replaceChildren(this.drawView());
    for (const $each of this.$stage.querySelectorAll("details")) {
      if (open.includes(keyOf($each))) $each.open = true;
    }
    this.drawFoot();
    const summary = this.now.view === "check" && this.advice ? liveSummary(this, this.advice) : "";
    this.$aloud.textContent = say ?? summary;
    if (focus !== undefined) moveFocus(this.$root, focus);
  }

  drawView() {
    this.live = null;
    if (this.now.view === "check") return this.drawAdvice();
    const view = sayView(this, this.typed);
    this.live = view;
    return view.$view;
  }

  drawAdvice() {
    const causes = this.advice?.causes ?? [];
    this.former = Object.fromEntries(causes.map((cause) => [cause.id, cause.probability]));
    try {
      this.advice = triage(this.knowledge, toCase(this.knowledge, this.now));
      return checkView(this, this.advice);
    } catch (error) {
      this.advice = null;
      const words = stuckWords(this.knowledge, error);
      if (words === null) throw error;
      return stuckView(this, words);
    }
  }
}

/**
 * @param {Element} $details
 * @returns {string | null}
 */
function keyOf($details) {
  return $details.getAttribute("data-keep");
}

/**
 * Read what another page handed over in the address: a symptom, or words typed there.
 *
 * The fragment is taken out of the address again, so a reload does not add it twice.
 * @param {Knowledge} knowledge
 * @returns {{symptom: string | null, text: string}}
 */
function readAddress(knowledge) {
  const asked = new URLSearchParams(location.hash.slice(1));
  const symptom = asked.get("s");
  const text = asked.get("q") ?? "";
  if (asked.has("s") || asked.has("q")) history.replaceState(null, "", location.pathname + location.search);
  const isKnown = symptom !== null && Object.hasOwn(knowledge.symptoms, symptom);
  return { symptom: isKnown ? symptom : null, text: text.slice(0, 400) };
}

/**
 * @param {HTMLElement} $root
 * @param {string} selector
 */
function moveFocus($root, selector) {
  const $target = $root.querySelector(selector) ?? $root.querySelector("[data-main-heading]");
  if (!($target instanceof HTMLElement)) return;
  $target.focus({ preventScroll: true });
  $target.scrollIntoView({ block: "start" });
}

/**
 * Say plainly that the checker could not start; the list of symptoms stays in reach.
 * @param {HTMLElement} $root
 * @param {unknown} error
 */
function sayFailed($root, error) {
  const reason = error instanceof Error ? error.message : String(error);
  $root.prepend(
    el(
      "div",
      { class: "caution", role: "alert" },
      el("p", {}, el("b", {}, "The checker could not start. "), reason),
      button("Try again", () => location.reload(), { class: "control control--quiet" }),
    ),
  );
}

const $root = need(document, '[data-module="checker"]');
try {
  const [knowledge, { default: lunr }] = await Promise.all([
    loadKnowledge(new URL("../data/knowledge.json", import.meta.url)),
    import("../vendor/lunr.js"),
  ]);
  new Page($root, knowledge, lunr).begin();
} catch (error) {
  sayFailed($root, error);
  throw error;
}
