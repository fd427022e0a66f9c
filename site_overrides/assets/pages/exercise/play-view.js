/**
 * Output room: a student works on a car, step by step, and is told at the end what it took.
 *
 * @import { Move, Play } from "../../exercise/play.js"
 * @import { Tools } from "./words.js"
 */

import { sayOf } from "../../answer/questions.js";
import { stopBlock } from "../../case/stop-block.js";
import { Offers } from "../../engine/pricing.js";
import { causesTold, toldCase } from "../../exercise/draw.js";
import { begin, MOST_STEPS, standing, take } from "../../exercise/play.js";
import { button, el, formOf } from "../../kit/element.js";
import { priceWords } from "../../kit/figures.js";
import { chooser } from "./chooser.js";
import { keepMoves } from "./kept-work.js";
import { reportParts } from "./report-view.js";
import { alsoTold, byTitle, causeOf, markWords, refusedWords, soFarWords, stepWords } from "./words.js";

/** Draw the steps made so far. @type {(tools: Tools, play: Play) => HTMLElement[]} */
export function stepRows(tools, play) {
  return play.made.map((step, place) => {
    const isLast = play.bill.helped && place === play.made.length - 1;
    const mark = markWords(tools, step);
    return el("li", el("p.step", stepWords(tools, step, isLast), mark === "" ? "" : ` ${mark}`));
  });
}

/** One car being worked on. */
export class Work {
  /**
   * @param {HTMLElement} $stage
   * @param {Tools} tools
   * @param {Play} play as far as it was played before
   * @param {string} note said before the next step, "" for nothing
   */
  constructor($stage, tools, play, note) {
    this.$stage = $stage;
    this.tools = tools;
    this.play = play;
    this.told = note;
    this.draw();
  }

  /** @param {Move} move */
  step(move) {
    const isFull = this.play.made.length >= MOST_STEPS - 1;
    const { play, refused } = take(this.tools.knowledge, this.play, isFull ? { kind: "workshop", id: "" } : move);
    this.play = play;
    this.keep();
    const last = play.made.at(-1);
    if (refused) this.told = refusedWords(this.tools, refused);
    else if (last) this.told = `${stepWords(this.tools, last, play.bill.helped)} ${markWords(this.tools, last)}`.trim();
    this.draw();
    /** @type {HTMLElement | null} */ (this.$stage.querySelector("[data-told]"))?.focus();
  }

  keep() {
    const { car, made } = this.play;
    keepMoves(
      this.tools.knowledge,
      car,
      made.map(({ move }) => move),
    );
  }

  restart() {
    this.play = begin(this.play.car);
    this.keep();
    this.told = "";
    this.draw();
    /** @type {HTMLElement | null} */ (this.$stage.querySelector("h2"))?.focus();
  }

  draw() {
    const { knowledge, words } = this.tools;
    const { play } = this;
    const symptom = knowledge.symptoms[play.car.complaint];
    const lines = standing(knowledge, play).stop_now.map(({ id }) => {
      const { text = "", why = "" } = knowledge.stop_lines[id] ?? {};
      return { id, text, why };
    });
    const who = "student";
    this.$stage.replaceChildren(
      el("h2", { tabindex: -1 }, symptom?.title ?? ""),
      el("p", symptom?.summary ?? ""),
      ...alsoTold(this.tools, play.car),
      ...(play.over ? [] : [stopBlock(lines) ?? ""]),
      el("p.small", sayOf(words, "exercise-made-up")),
      el("p.told", { role: "status", tabindex: -1, "data-told": true }, this.told),
      ...(play.made.length > 0
        ? [el("h3", sayOf(words, "exercise-steps", { who })), el("ol.steps", stepRows(this.tools, play))]
        : []),
      ...(play.over ? reportParts(this.tools, play, () => this.restart()) : this.formParts()),
    );
  }

  /** @returns {HTMLElement[]} */
  formParts() {
    const { knowledge, words } = this.tools;
    const { car } = this.play;
    const offers = new Offers(knowledge, toldCase(car), standing(knowledge, this.play), () => 0);
    const checks = Object.keys(knowledge.checks).filter((id) => offers.fits(knowledge.checks[id]));
    const repairs = causesTold(knowledge, car).map((id) => {
      const { title: cause, repair } = causeOf(knowledge, id);
      const { low, high, currency } = repair.price;
      const price = priceWords(low, high, currency);
      return { id, title: sayOf(words, "exercise-repair-option", { cause, price }) };
    });
    return [
      el("p", soFarWords(this.tools, this.play)),
      this.form("check", {
        label: sayOf(words, "exercise-check"),
        act: sayOf(words, "exercise-check-button"),
        options: checks.map((id) => ({ id, title: knowledge.checks[id].title })),
      }),
      this.form("repair", {
        label: sayOf(words, "exercise-repair"),
        act: sayOf(words, "exercise-repair-button"),
        options: repairs,
      }),
      button(sayOf(words, "exercise-stop"), () => this.step({ kind: "workshop", id: "" }), {
        class: "control control--quiet",
      }),
    ];
  }

  /**
   * @param {"check" | "repair"} kind
   * @param {{label: string, act: string, options: Array<{id: string, title: string}>}} look
   */
  form(kind, { label, act, options }) {
    const { $choice, $parts } = chooser(`step-${kind}`, label, [{ id: "", title: "" }, ...byTitle(options)]);
    const send = () => {
      if ($choice.value !== "") this.step({ kind, id: $choice.value });
      else {
        const $told = this.$stage.querySelector("[data-told]");
        if ($told) $told.textContent = sayOf(this.tools.words, "exercise-choose-first");
        $choice.focus();
      }
    };
    return formOf({}, send, $parts, el("p", el("button.control", { type: "submit" }, act)));
  }
}
