/**
 * Join the rooms of the readiness page: read, judge, ask why, plan, keep.
 *
 * What was told lives in one record here. Forms stay as they are; answers are drawn anew after
 * each change. Nothing leaves the device.
 *
 * @import { Readout } from "../../obd/readout.js"
 * @import { Known, Tables } from "./tables.js"
 */
import { button, el, need } from "../../kit/element.js";
import { planDrives, planFactsFrom } from "../../logs/driveplan.js";
import { codesOf, valueGiven } from "../../obd/readout.js";
import { runFactsFrom } from "../../obd/why-not-run.js";
import { blockersOf } from "./blockers.js";
import { carOf } from "./car.js";
import { goForm, ruleQuestions } from "./go-form.js";
import { goView } from "./go-view.js";
import { emptyKept, forgetKept, keepKept, recallKept } from "./kept.js";
import { planView, progressWords } from "./plan-view.js";
import { readoutForm } from "./readout-form.js";
import { countSentence, readoutView } from "./readout-view.js";
import { loadBoth } from "./tables.js";
import { celsiusOf, forCase, readoutOf, truthOf } from "./told.js";
import { whyForm } from "./why-form.js";
import { whyView } from "./why-view.js";

const PARTS = /** @type {const} */ ([
  ["readout", "Read it"],
  ["go", "May it go?"],
  ["why", "Why has it not run?"],
  ["plan", "Drive plan"],
]);

/** The page: what was told, and the four answers. */
class Page {
  /**
   * @param {HTMLElement} $root
   * @param {Known} knowledge
   * @param {Tables} tables
   */
  constructor($root, knowledge, tables) {
    this.$root = $root;
    this.knowledge = knowledge;
    this.tables = tables;
    this.kept = recallKept(tables);
    this.place = "";
    this.asked = "";
    /** @type {Record<string, HTMLElement>} */
    this.$forms = {};
    /** @type {Record<string, HTMLElement>} */
    this.$answers = {};
    this.$aloud = el("p", { class: "visually-hidden", "aria-live": "polite", id: "said-aloud" });
    this.$note = el("p", { class: "small", role: "status" });
  }

  told() {
    return this.kept.told;
  }

  /**
   * @param {string} name
   * @param {string} value
   */
  tell(name, value) {
    if ((this.kept.told[name] ?? "") === value) return;
    this.kept.told = { ...this.kept.told, [name]: value };
    this.refresh();
    const $verdict =
      name === "place" || name === "year" || name === "fuel-kind" ? this.$answers.go?.querySelector(".verdict") : null;
    this.$aloud.textContent = $verdict?.textContent ?? "";
  }

  frame() {
    const $ways = el(
      "nav",
      { class: "ways", "aria-label": "On this page" },
      el(
        "ol",
        {},
        PARTS.map(([id, title]) => el("li", {}, el("a", { href: `#${id}` }, title))),
      ),
    );
    const parts = PARTS.map(([id, title]) => {
      this.$forms[id] = el("div", { class: "part-form" });
      this.$answers[id] = el("div", { class: "part-answer" });
      return el(
        "section",
        { class: "part", id, "aria-labelledby": `${id}-heading` },
        el("h2", { id: `${id}-heading`, tabindex: -1 }, title),
        this.$forms[id],
        this.$answers[id],
      );
    });
    const $forget = button("Forget all this on this device", () => this.forget(), { class: "link-button" });
    const $lede = el(
      "p",
      { class: "lede" },
      "What the car says about its monitors, whether it may go, what holds it, and what to drive. Nothing leaves this device.",
    );
    this.$root.replaceChildren(
      $lede,
      $ways,
      this.$aloud,
      ...parts,
      el("div", { class: "case-foot" }, $forget, this.$note),
    );
    this.drawForms();
  }

  drawForms() {
    this.$forms.readout?.replaceChildren(readoutForm(this.tables, this.kept, () => this.read()));
    this.$questions = el("div");
    this.$forms.go?.replaceChildren(goForm(this.tables, this), this.$questions);
    this.place = "\u0000";
    this.asked = "\u0000";
    this.refresh();
  }

  /** Take the readout as it is now, and remember what was incomplete before. */
  read() {
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
    const readout = readoutOf(kept.asked ? kept : { ...kept, way: "text", text: "" });
    const isUsable = readout.state === "usable";
    const incomplete = isUsable ? (readout.merged?.incomplete ?? []) : [];
    if (isUsable) this.incomplete = incomplete;
    this.$answers.readout?.replaceChildren(...(kept.asked ? [readoutView(tables, readout, kept.former)] : []));
    this.askRule();
    this.$answers.go?.replaceChildren(goView(tables, readout, kept.told));
    this.askWhy(readout);
    const car = carOf(knowledge, forCase(kept.told));
    this.drawWhy(readout, car);
    this.drawPlan(readout, incomplete, car);
    this.save();
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

  /**
   * @param {Readout} readout
   * @param {ReturnType<typeof carOf>} car
   */
  drawWhy(readout, car) {
    const { told } = this.kept;
    const facts = runFactsFrom({
      voltage: told["voltage-log"] ?? null,
      counters_fell: truthOf(told.fell),
      warmed_up: truthOf(told["warmed-up"]),
    });
    const answer = blockersOf(this.knowledge, this.tables, { readout, facts, car });
    const open = [...(this.$answers.why?.querySelectorAll("details[open]") ?? [])].map(($each) =>
      $each.getAttribute("data-keep"),
    );
    const $view = whyView(this.knowledge, this.tables, { answer, car, readout, told });
    for (const $each of $view.querySelectorAll("details"))
      if (open.includes($each.getAttribute("data-keep"))) $each.open = true;
    this.$answers.why?.replaceChildren($view);
  }

  /**
   * @param {Readout} readout
   * @param {string[]} incomplete
   * @param {ReturnType<typeof carOf>} car
   */
  drawPlan(readout, incomplete, car) {
    const { kept, tables } = this;
    if (readout.state !== "usable") {
      this.$answers.plan?.replaceChildren(el("p", {}, tables.words.plan_notes["readout-first"] ?? ""));
      return;
    }
    const key = incomplete.join();
    if (kept.plan !== key) Object.assign(kept, { plan: key, done: [] });
    const facts = planFactsFrom({
      supply: car.supply?.state,
      fuel_percent: valueGiven(readout, "fuel-level"),
      ambient: celsiusOf(kept.told, "ambient"),
      lamp_on: readout.merged?.mil,
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
      planView(this.knowledge, tables, { plan, incomplete, progress: { done: kept.done, tick } }),
    );
  }

  save() {
    const isKept = keepKept(this.kept);
    this.$note.textContent = isKept
      ? "Kept in this browser, on this device only."
      : "This browser keeps nothing; it is gone when you leave the page.";
  }

  forget() {
    forgetKept();
    this.kept = emptyKept();
    this.incomplete = null;
    this.drawForms();
    this.$aloud.textContent = "Forgotten on this device.";
    need(this.$root, "#readout-heading").focus();
    scrollTo(0, 0);
  }

  /** @type {string[] | null} */
  incomplete = null;
}

/**
 * Take up a place that another page handed over.
 * @param {Page} page
 */
function readAddress(page) {
  const place = new URLSearchParams(location.hash.slice(1)).get("p");
  if (place === null) return;
  history.replaceState(null, "", `${location.pathname}${location.search}#go`);
  if (Object.hasOwn(page.tables.inspections, place)) page.kept.told = { ...page.kept.told, place };
}

const $root = need(document, '[data-module="readiness"]');
try {
  const { knowledge, tables } = await loadBoth();
  const page = new Page($root, knowledge, tables);
  readAddress(page);
  page.frame();
  document.getElementById(location.hash.slice(1))?.scrollIntoView();
} catch (error) {
  const reason = error instanceof Error ? error.message : String(error);
  $root.prepend(
    el(
      "div",
      { class: "caution", role: "alert" },
      el("p", {}, el("b", {}, "Nothing can be entered here now. "), reason, " The pages below hold the same advice."),
    ),
  );
  throw error;
}
