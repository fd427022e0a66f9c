/**
 * Join the rooms of the readiness page: read, judge, ask why, plan, keep.
 *
 * What was told lives in one record here. Forms stay as they are; answers are drawn anew after
 * each change. Nothing leaves the device.
 *
 * @import { Readout } from "../../obd/readout.js"
 * @import { WhyNotRun } from "../../obd/why-not-run.js"
 * @import { Known, Tables } from "../../obd/tables.js"
 */
import { learnFormerNames } from "../../case/kept-case.js";
import { caseStore } from "../../case/shelf.js";
import { button, el, need } from "../../kit/element.js";
import { sayFailed } from "../../kit/failed.js";
import { askWhichGoesOn, forgetControl } from "../../kit/keeping.js";
import { draftsIn, layDrafts, outlastReload, redraw } from "../../kit/place.js";
import { planDrives, planFactsFrom } from "../../logs/driveplan.js";
import { runFactsFrom } from "../../obd/evidence.js";
import { cleanKept, emptyKept, readinessStore } from "../../obd/kept-readiness.js";
import { codesOf, valueGiven } from "../../obd/readout.js";
import { loadFirst } from "../../obd/tables.js";
import { celsiusOf, readoutOf, truthOf } from "../../obd/told.js";
import { whyNotRun } from "../../obd/why-not-run.js";
import { carOf } from "./car.js";
import { goForm, ruleQuestions } from "./go-form.js";
import { goView } from "./go-view.js";
import { planView, progressWords } from "./plan-view.js";
import { lampView, readoutForm } from "./readout-form.js";
import { countSentence, readoutView } from "./readout-view.js";
import { fuelBeside } from "./tick-grid.js";
import { whyForm } from "./why-form.js";
import { whyView } from "./why-view.js";

const PARTS = /** @type {const} */ ([
  ["readout", "Read the monitors"],
  ["go", "Ready for inspection?"],
  ["why", "Why has it not run?"],
  ["plan", "Drive plan"],
]);

const KEPT = {
  kept: "Kept in this browser, on this device only.",
  refused: "This browser keeps nothing; it is gone when you leave the page.",
  "too-large": "This is too long to be kept; it is gone when you leave the page.",
  overtaken: "What you see here is not kept yet: say above which of the two goes on.",
};

/** The page: what was told, and the four answers. */
class Page {
  /**
   * @param {HTMLElement} $root
   * @param {Known} knowledge complete once `rest` has come
   * @param {Tables} tables
   * @param {Promise<void> | null} rest null once it has come
   */
  constructor($root, knowledge, tables, rest) {
    this.$root = $root;
    this.knowledge = knowledge;
    this.tables = tables;
    this.rest = rest;
    this.kept = cleanKept(tables, readinessStore.read());
    /** @type {ReturnType<typeof emptyKept> | null} what was forgotten last, until something else is told */
    this.forgotten = null;
    this.place = "";
    this.asked = "";
    /** @type {Record<string, HTMLElement>} */
    this.$forms = {};
    /** @type {Record<string, HTMLElement>} */
    this.$answers = {};
    this.$aloud = el("p.visually-hidden", { "aria-live": "polite", id: "said-aloud" });
    this.$note = el("p.small", { role: "status" });
    this.$notice = el("div");
    this.$foot = el("div.case-foot");
  }

  told() {
    return this.kept.told;
  }

  /** @type {(name: string, value: string) => void} */
  tell(name, value) {
    if ((this.kept.told[name] ?? "") === value) return;
    this.begun();
    this.kept.told = { ...this.kept.told, [name]: value };
    this.refresh();
    const $verdict =
      name === "place" || name === "year" || name === "fuel-kind" ? this.$answers.go?.querySelector(".verdict") : null;
    this.$aloud.textContent = $verdict?.textContent ?? "";
  }

  frame() {
    const $ways = el(
      "nav.ways",
      { "aria-label": "On this page" },
      el(
        "ol",
        PARTS.map(([id, title]) => el("li", el("a", { href: `#${id}` }, title))),
      ),
    );
    const parts = PARTS.map(([id, title]) => {
      this.$forms[id] = el("div.part-form", { "data-draft": id === "readout" ? null : id });
      this.$answers[id] = el("div.part-answer");
      return el(
        "section.part",
        { id, "aria-labelledby": `${id}-heading` },
        el("h2", { id: `${id}-heading`, tabindex: -1 }, title),
        this.$forms[id],
        this.$answers[id],
      );
    });
    const $lede = el(
      "p.lede",
      "Read the monitors first. Then say where the car is inspected. Nothing leaves this device.",
    );
    this.$root.replaceChildren($lede, $ways, this.$aloud, this.$notice, ...parts, this.$foot);
    this.drawForms();
    // Boxes to tick change the record themselves; the text is taken when it is read.
    this.$forms.readout?.addEventListener("change", () => this.save());
    outlastReload("readiness", this.$root);
    readinessStore.watch((isGone) => this.askWhich(isGone));
    // The answers rest on the case of the checker too; the forms here do not.
    caseStore.watch(() => {
      caseStore.takeOver();
      this.refresh();
      this.$aloud.textContent = "Your case was changed elsewhere. The answers here follow it.";
    });
  }

  drawForms() {
    const drafts = draftsIn(this.$root);
    this.$forms.readout?.replaceChildren(readoutForm(this.tables, this.kept, this, () => this.read()));
    this.$questions = el("div");
    this.$forms.go?.replaceChildren(goForm(this.tables, this), this.$questions);
    this.place = "\u0000";
    this.asked = "\u0000";
    this.refresh();
    this.drawFoot();
    layDrafts(this.$root, drafts);
  }

  isBlank() {
    return !this.kept.asked && Object.values(this.kept.told).every((value) => value === "");
  }

  /** Something new is told: what was forgotten stays so. */
  begun() {
    if (this.forgotten === null) return;
    this.forgotten = null;
    this.drawFoot();
  }

  drawFoot() {
    const back = () => {
      this.kept = this.forgotten ?? this.kept;
      this.forgotten = null;
      this.drawForms();
      this.$aloud.textContent = "What was forgotten is back.";
      need(this.$root, "#readout-heading").focus();
    };
    this.$foot.replaceChildren(
      forgetControl("Forget all this on this device", {
        id: "forget",
        question: "Take the readout and all you told here off this device?",
        isBlank: () => this.isBlank(),
        forget: () => this.forget(),
      }),
      this.forgotten ? button("Bring back what was forgotten", back, { class: "link-button", id: "undo" }) : "",
      this.$note,
    );
  }

  /**
   * Another page wrote what is kept here: nothing is taken from it until the reader says so.
   * @param {boolean} isGone
   */
  askWhich(isGone) {
    const show = () => {
      this.kept = cleanKept(this.tables, readinessStore.read());
      this.incomplete = null;
      this.drawForms();
    };
    const keep = () => {
      readinessStore.takeOver();
      this.save();
    };
    askWhichGoesOn(this.$notice, { what: "What is kept for this page", isGone, show, keep });
    this.$note.textContent = KEPT.overtaken;
  }

  /** Take the readout as it is now, and remember what was incomplete before. */
  async read() {
    this.begun();
    await this.rest;
    const before = this.incomplete;
    this.kept.asked = true;
    const readout = readoutOf(this.kept);
    const now = readout.state === "usable" ? (readout.merged?.incomplete ?? []) : null;
    if (now !== null && before !== null && before.join() !== now.join()) this.kept.former = before;
    this.refresh();
    const $title = this.$answers.readout?.querySelector("#found-title");
    if ($title instanceof HTMLElement) {
      $title.focus({ preventScroll: true });
      $title.scrollIntoView({ block: "start" });
    }
    this.$aloud.textContent = countSentence(this.tables, readout);
  }

  /** Draw every answer from what is told now. */
  refresh() {
    const { kept, knowledge, tables } = this;
    const isLamp = kept.way === "lamp";
    const readout = readoutOf(kept.asked && !isLamp ? kept : { ...kept, way: "text", text: "" });
    const isUsable = readout.state === "usable";
    const incomplete = isUsable ? (readout.merged?.incomplete ?? []) : [];
    if (isUsable) this.incomplete = incomplete;
    const seen = isLamp
      ? lampView(tables, kept.told["lamp-seen"])
      : kept.asked
        ? readoutView({ knowledge, tables }, readout, kept.former, (mended) => this.correct(readout, mended))
        : null;
    this.$answers.readout?.replaceChildren(...(seen ? [seen] : []));
    this.showParts(isUsable, incomplete.length > 0);
    this.askRule();
    this.$answers.go?.replaceChildren(goView(tables, readout, kept.told));
    if (this.rest === null) {
      this.askWhy(readout);
      this.drawPlan(readout, incomplete, this.drawWhy(readout));
    }
    this.save();
  }

  /**
   * One question after another: what nothing can be said about, yet or any more, is not there.
   * @type {(isUsable: boolean, isOpen: boolean) => void}
   */
  showParts(isUsable, isOpen) {
    // Who comes with a log of a drive is told what is still missing.
    const isHandedOver = (this.kept.told["voltage-log"] ?? "") !== "";
    /** @type {Record<string, boolean>} */
    const shown = { readout: true, go: this.isGoAsked(), why: isOpen || (isHandedOver && !isUsable), plan: isOpen };
    for (const [id] of PARTS) {
      const $way = this.$root.querySelector(`.ways [href="#${id}"]`)?.parentElement;
      for (const $part of [this.$answers[id]?.closest("section"), $way])
        if ($part instanceof HTMLElement) $part.hidden = !shown[id];
    }
    const $ways = this.$root.querySelector(".ways");
    if ($ways instanceof HTMLElement) $ways.hidden = !isUsable;
  }

  /** The place is asked once boxes were read, or at once where something of it was told or another way was chosen. */
  isGoAsked() {
    const { asked, told, way } = this.kept;
    const $fuel = this.$forms.go?.querySelector("[data-fuel]");
    if ($fuel instanceof HTMLElement) $fuel.hidden = way === "ticks"; // told with the engine's kind
    return asked || way !== "ticks" || ["place", "year"].some((name) => (told[name] ?? "") !== "");
  }

  /**
   * Put what was understood of words into the boxes, with one line mended, for the reader to go on.
   * @type {(readout: Readout, mended: {monitor: string, state: string} | null) => void}
   */
  correct({ units, understood }, mended) {
    const { mil = false, count = 0, ignition = "spark" } = units[0] ?? {};
    /** @type {Record<string, "complete" | "incomplete">} */
    const monitors = {};
    for (const { monitor, state } of [...understood, ...(mended ? [mended] : [])]) {
      if (state === "complete" || state === "incomplete") monitors[monitor] = state;
      else delete monitors[monitor];
    }
    const engine = ignition === "compression" ? "compression" : "spark";
    this.kept.ticks = { ignition: engine, mil, count: String(count), monitors };
    this.kept.way = "ticks";
    this.kept.told = { ...this.kept.told, "fuel-kind": fuelBeside(this.kept.ticks, this.kept.told) };
    this.drawForms();
    need(this.$root, "#way-ticks").focus();
  }

  /** Ask what the chosen rule hangs on; drawn anew only with another place. */
  askRule() {
    const place = this.kept.told.place ?? "";
    if (place === this.place || !this.$questions) return;
    this.place = place;
    const rule = this.tables.inspections[place] ?? null;
    this.$questions.replaceChildren(...(rule ? [ruleQuestions(this.tables, this, rule)] : []));
  }

  /** @param {Readout} readout */
  askWhy(readout) {
    const own = readout.values.filter(({ ecu }) => ecu !== "told").map(({ name }) => name);
    const asked =
      readout.state === "usable"
        ? [
            ...own,
            ...readout.codes.filter(({ ecu }) => ecu !== "told").map(({ kind }) => kind),
            this.kept.way,
            this.kept.text,
          ].join()
        : "";
    if (asked === this.asked) return;
    this.asked = asked;
    this.$forms.why?.replaceChildren(...(asked === "" ? [] : [whyForm(this.knowledge, this, readout)]));
  }

  /** @type {(readout: ReturnType<typeof readoutOf>) => WhyNotRun} */
  drawWhy(readout) {
    const { told } = this.kept;
    const facts = runFactsFrom({
      voltage: told["voltage-log"] ?? null,
      counters_fell: truthOf(told.fell),
      warmed_up: truthOf(told["warmed-up"]),
    });
    const car = carOf(this.knowledge, told);
    const answer = whyNotRun(this.knowledge, this.tables, { readout, facts, car: car.car });
    const { why: $why } = this.$answers;
    if ($why) redraw($why, () => [whyView(this.knowledge, this.tables, { answer, car, readout, told })]);
    return answer;
  }

  /** @type {(readout: Readout, incomplete: string[], why: WhyNotRun) => void} */
  drawPlan(readout, incomplete, why) {
    const { kept, tables } = this;
    if (readout.state !== "usable") {
      this.$answers.plan?.replaceChildren();
      return;
    }
    const key = incomplete.join();
    if (kept.plan !== key) Object.assign(kept, { plan: key, done: [] });
    const facts = planFactsFrom({
      supply: why.advice?.supply.state,
      fuel_percent: valueGiven(readout, "fuel-level"),
      ambient: celsiusOf(kept.told, "ambient") ?? valueGiven(readout, "ambient-temperature"),
      lamp_on: readout.merged?.mil,
      own: kept.told["plan-own"],
      pending_code: (codesOf(readout, "pending") ?? []).length > 0,
    });
    const plan = planDrives(incomplete, tables.monitors, facts, tables.segments);
    const tick = (/** @type {string} */ line, /** @type {boolean} */ isDone) => {
      kept.done = [...kept.done.filter((each) => each !== line), ...(isDone ? [line] : [])];
      const $words = this.$answers.plan?.querySelector("[data-progress]");
      if ($words) $words.textContent = progressWords(plan, kept.done);
      this.save();
    };
    this.$answers.plan?.replaceChildren(
      planView(this.knowledge, tables, {
        plan,
        incomplete,
        step: why.step,
        teller: this,
        progress: { done: kept.done, tick },
      }),
    );
  }

  save() {
    const isNothing = this.isBlank() && readinessStore.stored().record === null;
    const outcome = isNothing ? "kept" : readinessStore.write(this.kept);
    this.$note.textContent = KEPT[outcome];
    if (outcome === "overtaken") this.askWhich(readinessStore.stored().record === null);
  }

  forget() {
    if (!this.isBlank()) this.forgotten = this.kept;
    this.kept = emptyKept();
    this.incomplete = null;
    this.$notice.replaceChildren();
    for (const $form of Object.values(this.$forms)) $form.replaceChildren();
    readinessStore.forget();
    this.drawForms();
    this.$aloud.textContent = "Forgotten on this device.";
    need(this.$root, "#readout-heading").focus();
    scrollTo(0, 0);
  }

  /** @type {string[] | null} */
  incomplete = null;
}

/** Take up a place that another page handed over. @param {Page} page */
function readAddress(page) {
  const place = new URLSearchParams(location.hash.slice(1)).get("p");
  if (place === null) return;
  history.replaceState(null, "", `${location.pathname}${location.search}#go`);
  if (Object.hasOwn(page.tables.inspections, place)) page.kept.told = { ...page.kept.told, place };
}

const $root = need(document, '[data-module="readiness"]');
try {
  const { knowledge, tables, complete } = await loadFirst();
  const rest = complete().then(() => learnFormerNames(knowledge));
  const page = new Page($root, knowledge, tables, rest);
  readAddress(page);
  // Who comes back to answers waits for all they rest on; the others can begin at once.
  if (page.kept.asked) await rest;
  page.frame();
  await rest;
  page.rest = null;
  page.refresh();
  document.getElementById(location.hash.slice(1))?.scrollIntoView();
} catch (error) {
  sayFailed($root, "Nothing can be entered here now.", error, "The pages below hold the same advice.");
  throw error;
}
