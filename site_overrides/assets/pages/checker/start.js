/**
 * Join the rooms: fetch, ask the reasoning, draw, keep.
 *
 * The state lives in one object here. Every change makes a new one, the former goes on the
 * list for undo, and the page is drawn from it.
 *
 * @import { Unknown } from "../../case/address.js"
 * @import { Case, Knowledge, State } from "../../knowledge/types.js"
 * @import { Advice } from "../../engine/triage.js"
 * @import { More } from "./later.js"
 * @import { ActOptions } from "./app.js"
 * @import { Arrived } from "./arrived.js"
 */
import { isSpoken, readAddress } from "../../case/address.js";
import {
  emptyState,
  fromCase,
  goOn,
  isBlank,
  madeChecks,
  pickCheck,
  setFact,
  setSymptom,
  toCase,
} from "../../case/case.js";
import { caseLine } from "../../case/case-line.js";
import {
  forgetCase,
  joinLog,
  learnFormerNames,
  MOST_UNDO,
  takeKeptCase,
  takeOverCase,
  turnToCase,
  writeAdvice,
  writeCase,
} from "../../case/kept-case.js";
import { caseStore } from "../../case/shelf.js";
import { bullets, el, need } from "../../kit/element.js";
import { sayFailed } from "../../kit/failed.js";
import { askWhichGoesOn } from "../../kit/keeping.js";
import { keepLine } from "../../kit/kept-line.js";
import { moveFocus, outlastReload, redraw } from "../../kit/place.js";
import { savesData } from "../../kit/saves-data.js";
import { loadKnowledge } from "../../knowledge/knowledge.js";
import { caseFoot } from "./case-foot.js";
import { Later } from "./later.js";
import { sayView } from "./say-view.js";
import { Steps } from "./steps.js";

/**
 * The page: one state, the list of former ones, and the drawing of both.
 *
 * It has the powers the views ask for (see `app.js`).
 */
class Page {
  /**
   * @param {HTMLElement} $root
   * @param {Knowledge} knowledge its first part, or all of it
   */
  constructor($root, knowledge) {
    this.$root = $root;
    this.knowledge = knowledge;
    this.later = new Later(knowledge);
    this.now = emptyState();
    /** @type {State[]} */
    this.past = [];
    /** @type {{now: State, past: State[]} | null} what was forgotten last, until something else is told */
    this.forgotten = null;
    this.bringBack = () => {};
    /** @type {import("../../kit/store.js").Outcome} */
    this.kept = "kept";
    this.typed = "";
    /** @type {Record<string, number>} */
    this.former = {};
    /** @type {Unknown[]} */
    this.unknown = [];
    /** @type {Advice | null} */
    this.advice = null;
    /** @type {Arrived | null} */
    this.arrived = null;
    /** @type {{update: () => void} | null} */
    this.live = null;
    this.steps = new Steps();
    this.$notice = el("div");
    this.$stage = el("div.stage");
    this.$foot = el("div");
    this.$code = el("div.case-code.print-only");
    this.$aloud = el("p.visually-hidden", { "aria-live": "polite", id: "said-aloud" });
  }

  /** Take up the case kept on this device; tell what of it could not be kept as it was. */
  takeKept() {
    const { state, past, changes } = takeKeptCase(this.knowledge);
    Object.assign(this, { now: state, past, forgotten: null, kept: "kept" });
    const words = changes.map((each) => this.more?.changeWords(this.knowledge, each) ?? each.id);
    if (words.length === 0) return;
    const $list = bullets(words);
    const $lead = el("p", el("b", "This case was kept with an older edition of this site."));
    this.$notice.replaceChildren(el("div.caution", { role: "status" }, $lead, $list));
  }

  /** @param {boolean} isGone */
  askWhich(isGone) {
    const show = () =>
      this.whenMore(() => {
        this.takeKept();
        this.draw({ focus: "[data-main-heading]", say: "This is the case as it is kept now." });
      });
    const keep = () => {
      takeOverCase();
      this.save();
      this.draw({ focus: "[data-main-heading]", say: "Your case goes on and is kept." });
    };
    askWhichGoesOn(this.$notice, { what: "The case kept on this device", isGone, show, keep });
    this.kept = "overtaken";
    this.drawFoot();
  }

  /** Take up what another page or a link handed over, and draw for the first time. */
  async begin() {
    if (caseStore.stored().record !== null || isSpoken(location.hash)) {
      await this.later.fetchMore();
      await learnFormerNames(this.knowledge);
    }
    this.takeKept();
    await this.takeAddress();
    this.$root.replaceChildren(this.$aloud, this.$notice, this.$stage, this.$foot, this.$code);
    this.draw();
    if (!this.more && !savesData()) this.fetchAhead();
    this.steps.begin(this.now);
    addEventListener("popstate", ({ state }) => this.stepBack(state));
    outlastReload("checker", this.$stage);
    caseStore.watch((isGone) => this.askWhich(isGone));
    window.addEventListener("hashchange", () => {
      if (!isSpoken(location.hash)) return;
      void this.whenMore(() => this.takeAddress().then(() => this.draw({ focus: "[data-main-heading]" })));
    });
  }

  /**
   * Take up what the address holds. It is taken out of the address again, so that a reload does
   * not add it twice; only a link that is still being read stays there.
   */
  async takeAddress() {
    if (!isSpoken(location.hash)) return;
    const { openLink } = await this.later.fetchMore();
    const asked = await readAddress(this.knowledge, location.hash);
    if (asked.link !== null) {
      this.arrived = await openLink(this.knowledge, asked.link);
      return;
    }
    this.clearAddress();
    this.arrived = null;
    this.unknown = asked.unknown;
    this.typed = asked.text;
    this.$stage.replaceChildren();
    let told = this.now;
    for (const id of asked.symptoms) told = setSymptom(told, id, true);
    for (const [id, fact] of Object.entries(asked.context)) told = setFact(told, id, fact);
    if (asked.check !== null) told = pickCheck(told, asked.check);
    const isNew = asked.check !== null || asked.symptoms.some((id) => !this.now.chosen.includes(id));
    if (isNew || Object.keys(asked.context).length > 0) {
      this.become(told.chosen.length > 0 ? goOn(this.knowledge, told) : { ...told, view: "say" });
    } else if (asked.text !== "" || asked.unknown.length > 0) {
      this.now = { ...this.now, view: /** @type {const} */ ("say") };
    }
  }

  get search() {
    return this.later.search;
  }

  get more() {
    return this.later.more;
  }

  fetchSearch() {
    return this.later.fetchSearch();
  }

  /**
   * Do something that needs what advises; say so when it cannot be fetched.
   * @param {(more: More) => void | Promise<void>} work
   */
  async whenMore(work) {
    /** @type {More} */
    let more;
    try {
      more = await this.later.fetchMore();
    } catch (error) {
      this.$stage.querySelector("[data-waiting]")?.remove();
      sayFailed(this.$root, "The next part could not be fetched.", error);
      return;
    }
    await work(more);
  }

  clearAddress() {
    history.replaceState(history.state, "", location.pathname + location.search);
  }

  /** @param {string} text */
  async openText(text) {
    await this.whenMore(async ({ openLink }) => {
      this.arrived = await openLink(this.knowledge, text);
      this.draw({ focus: "[data-main-heading]" });
    });
  }

  leaveLink() {
    this.arrived = null;
    this.clearAddress();
    this.draw({ focus: "[data-main-heading]" });
  }

  /**
   * Make the case of a link the current one. A case it answers is changed, and undo brings that
   * back; any other goes on the shelf.
   * @param {Case} car
   * @param {{isAnswer: boolean, isForced?: boolean}} how isAnswer: later changes are compared with
   *   it; isForced: it takes the place of the current case
   * @returns {boolean} false where there is no room to keep both
   */
  takeUp(car, { isAnswer, isForced }) {
    const about = this.arrived?.about ?? { id: null, log: [] };
    if (!isForced) {
      const differs = JSON.stringify(toCase(this.knowledge, this.now)) !== JSON.stringify(car);
      // What only this page holds cannot go on the shelf.
      if (differs && this.kept !== "kept" && !isBlank(this.now)) return false;
      if (differs && turnToCase(about.id) !== "kept") return false;
      if (differs) {
        this.takeKept();
        joinLog(about);
      }
    }
    this.advice = null;
    this.become(fromCase(car, isAnswer ? car : null));
    this.leaveLink();
    return true;
  }

  state() {
    return this.now;
  }

  canUndo() {
    return this.past.length > 0 || this.forgotten !== null;
  }

  howKept() {
    return this.kept;
  }

  /**
   * Choose or remove a symptom; the view stays, so the reader keeps their place.
   * @type {(id: string, isSo: boolean) => void}
   */
  tick(id, isSo) {
    this.become(setSymptom(this.now, id, isSo));
    this.steps.note(this.now);
    const title = this.knowledge.symptoms[id]?.title ?? id;
    this.$aloud.textContent = isSo ? `Added: ${title}.` : `Removed: ${title}.`;
    this.live?.update();
    this.drawFoot();
    if (!this.more) this.fetchAhead();
  }

  /** Fetch what the next view needs while the reader is still looking and ticking. */
  fetchAhead() {
    void this.later.fetchMore().then(
      () => this.drawFoot(),
      () => undefined,
    );
  }

  /** @type {(change: (state: State) => State, options?: ActOptions) => void} */
  act(change, options) {
    const former = this.now;
    this.become(change(this.now));
    if (this.now !== former) this.steps.add(this.now);
    if (this.now.view === "check") this.unknown = [];
    this.draw(options);
  }

  /**
   * Enter a change without drawing: the reader goes on typing, and what was typed is kept.
   * @param {(state: State) => State} change
   */
  note(change) {
    const look = () => `${this.kept} ${this.canUndo()} ${isBlank(this.now)}`;
    const before = look();
    this.become(change(this.now));
    this.steps.note(this.now);
    if (look() !== before) this.drawFoot(); // no more often: it may be under the finger that left the field
  }

  /** Show the case as it was at the step the browser went back or forward to. @param {unknown} entry */
  stepBack(entry) {
    const { state, isEarlier } = this.steps.turnTo(entry, this.now);
    if (state) this.become(state);
    else if (isEarlier && this.past.length > 0) this.now = this.past.pop() ?? this.now;
    else return;
    this.steps.note(this.now);
    this.save();
    this.arrived = null;
    this.draw({ focus: "[data-main-heading]" });
  }

  undo() {
    if (this.forgotten) {
      this.bringBack();
      Object.assign(this, this.forgotten);
    } else Object.assign(this, { now: this.past.at(-1) ?? this.now, past: this.past.slice(0, -1) });
    this.forgotten = null;
    this.steps.note(this.now);
    this.save();
    this.draw({ focus: "[data-main-heading]", say: "The last change is undone." });
  }

  /** Forget the case on this device; while this page stays open it can be brought back. */
  forget() {
    if (!isBlank(this.now)) this.forgotten = { now: this.now, past: this.past };
    this.bringBack = forgetCase();
    this.steps.forget();
    Object.assign(this, { now: emptyState(), past: [], typed: "", unknown: [], advice: null, kept: "kept" });
    this.$notice.replaceChildren();
    this.$stage.replaceChildren();
    this.draw({ focus: "[data-main-heading]", say: "The case is forgotten on this device." });
  }

  /** @param {State} next */
  become(next) {
    if (JSON.stringify(next) === JSON.stringify(this.now)) return;
    this.past = [...this.past, this.now].slice(-MOST_UNDO);
    this.now = next;
    this.forgotten = null;
    this.save();
  }

  save() {
    this.kept = writeCase(this.now, this.past);
    if (this.kept === "overtaken") this.askWhich(caseStore.stored().record === null);
  }

  drawFoot() {
    redraw(this.$foot, () => (this.arrived ? [] : [caseFoot(this)]));
  }

  /** A case that is being told has no code yet, and nor has a link that is only read. */
  drawCode() {
    this.$code.replaceChildren();
    if (this.arrived || this.now.view === "say") return;
    import("../../vendor/lean-qr.js")
      .then((writer) => this.more?.fillCode(this, this.$code, /** @type {any} */ (writer)))
      // Without the writer or the list of words for links paper goes without a code, and says the same in words.
      .catch(() => undefined);
  }

  /** @param {ActOptions} [options] */
  draw(options = {}) {
    const { focus, say } = options;
    if (!this.more && this.now.view !== "say") {
      this.$stage.replaceChildren(el("p", { role: "status", "data-waiting": true }, "Fetching the checks …"));
      void this.whenMore(() => this.draw(options));
      return;
    }
    const $field = this.$stage.querySelector("#said");
    if ($field instanceof HTMLInputElement) this.typed = $field.value;
    redraw(this.$stage, () => [this.drawView()]);
    this.drawFoot();
    this.drawCode();
    const isAdvised = this.$stage.querySelector(".check-view") !== null;
    const summary = isAdvised && this.advice ? this.more?.liveSummary(this, this.advice) : "";
    this.$aloud.textContent = say ?? summary ?? "";
    if (focus !== undefined) moveFocus(this.$root, focus);
  }

  drawView() {
    this.live = null;
    if (this.more && this.arrived) return this.more.linkView(this, this.arrived);
    if (this.more && this.now.view !== "say") {
      const asked = this.now.view === "ask" ? this.more.askView(this) : null;
      return asked ?? this.drawAdvice(this.more);
    }
    const view = sayView(this, this.typed);
    this.live = view;
    return view.$view;
  }

  /** Leave the home page one line about the case. @param {Advice} advice */
  keepLine(advice) {
    if (this.kept !== "kept") return;
    const advised = caseLine(this.knowledge, this.now.chosen, advice);
    const kept = writeAdvice({ state: this.now, past: this.past }, advised);
    // Which of two cases goes on is asked when the other page's writing is heard of.
    if (kept !== "overtaken") this.kept = kept;
    if (kept !== "kept") return;
    const { title, next } = advised.line;
    keepLine({ title, done: madeChecks(this.now).length, next });
  }

  /** @param {More} more */
  drawAdvice({ checkView, stuckTitle, stuckView, stuckWords, triage }) {
    const causes = this.advice?.causes ?? [];
    this.former = Object.fromEntries(causes.map((cause) => [cause.id, cause.probability]));
    try {
      this.advice = triage(this.knowledge, toCase(this.knowledge, this.now));
      this.keepLine(this.advice);
      return checkView(this, this.advice);
    } catch (error) {
      this.advice = null;
      const words = stuckWords(this.knowledge, error);
      if (words === null) throw error;
      return stuckView(this, { title: stuckTitle(error), words });
    }
  }
}

const $root = need(document, '[data-module="checker"]');
try {
  const knowledge = await loadKnowledge(new URL("../../data/checker.json", import.meta.url));
  await new Page($root, knowledge).begin();
} catch (error) {
  sayFailed($root, "The checker could not start.", error);
  throw error;
}
