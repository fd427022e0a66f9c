/**
 * Join the rooms of the page for logs: open, read, draw, offer.
 *
 * The log stays in this browser; nothing of it is kept when the page is left.
 *
 * @import { Known } from "../../measure/known.js"
 * @import { LogResult } from "../../logs/log-work.js"
 */

import { learnFormerNames } from "../../case/kept-case.js";
import { bullets, button, el, need, titled } from "../../kit/element.js";
import { sayFailed } from "../../kit/failed.js";
import { markedText, sourceList } from "../../kit/marks.js";
import { loadKnowledge } from "../../knowledge/knowledge.js";
import { MOST_CHARACTERS } from "../../logs/csv-reader.js";
import { logReader } from "../../logs/log-work.js";
import { Runner, StoppedError } from "../../logs/runner.js";
import { SOURCES } from "../../logs/voltlog-words.js";
import { findingsTable } from "./findings-table.js";
import { openForm } from "./open-form.js";
import { PlotView } from "./plot-view.js";
import { badRows, columnChoice, refusedLog } from "./read-report.js";

const GAP_LEAST = 60; // seconds, and
const GAP_STEPS = 10; // steps: a longer pause breaks the line, as the analysis breaks there

const ENGINE_SPEED = /\brpm\b|engine speed/i;

/** Lead on from a log that holds a whole drive. @param {string[]} header */
function tripHint(header) {
  return header.some((name) => ENGINE_SPEED.test(name))
    ? el(
        "p",
        "This log holds more than volts. See also ",
        el("a", { href: "../trips/" }, "what the drive included"),
        ".",
      )
    : null;
}

/** @type {(why: string, mend: string) => HTMLElement} */
function refusal(why, mend) {
  return refusedLog("log-title", [el("b", why), " ", mend]);
}

/** The page: one log at a time. */
class Page {
  /**
   * @param {HTMLElement} $root
   * @param {Known} knowledge
   */
  constructor($root, knowledge) {
    this.knowledge = knowledge;
    /** @type {Record<string, string | null>} */
    this.columns = {};
    this.hasLog = false;
    this.turn = 0; // counts what was begun: only the last is drawn
    this.$progress = el("div.progress", { role: "status" });
    this.$result = el("div.log-result");
    this.runner = new Runner(
      () => new Worker(new URL("../../logs/log-worker.js", import.meta.url), { type: "module" }),
      logReader,
      (words) => this.tell(words),
    );
    const { $form, options } = openForm(knowledge, {
      open: (file) => void this.openFile(file),
      paste: (text) => void this.run((options) => this.runner.order({ given: text, options }), true),
      again: () => void this.again(),
    });
    this.options = options;
    const $lede = el(
      "p.lede",
      "Open a log of volts over time. It is read in this browser and never leaves the device.",
    );
    $root.replaceChildren($lede, $form, this.$progress, this.$result);
  }

  /** @param {string} words */
  tell(words) {
    this.$progress.replaceChildren(
      el("p", `${words}\u2026`),
      button("Stop", () => this.runner.stop(), { class: "control control--quiet" }),
    );
  }

  /** @param {File} file */
  async openFile(file) {
    // Too large a file is refused by its size, before it fills the memory.
    if (file.size > MOST_CHARACTERS) {
      this.turn += 1;
      this.hasLog = false;
      this.$progress.replaceChildren();
      this.$result.removeAttribute("aria-busy");
      this.$result.replaceChildren(
        refusal("The file is too large to read here.", "Cut it into parts, or log with longer steps."),
      );
      return;
    }
    this.tell("Opening the file");
    await this.run(async (options) => {
      const given = await file.arrayBuffer();
      return this.runner.order({ given, options }, [given]);
    }, true);
  }

  async again() {
    if (this.hasLog) await this.run((options) => this.runner.order({ given: null, options }), false);
  }

  /**
   * Have a log read and draw what came of it.
   * @param {(options: Record<string, any>) => Promise<LogResult>} read
   * @param {boolean} isNew a new log: columns are chosen afresh
   */
  async run(read, isNew) {
    const facts = this.options();
    if (facts === null) {
      this.$progress.replaceChildren();
      return;
    }
    if (isNew) this.columns = {};
    this.turn += 1;
    const { turn } = this;
    this.$result.setAttribute("aria-busy", "true");
    try {
      const result = await read({ ...facts, ...this.columns });
      if (turn !== this.turn) return; // another log was opened meanwhile
      this.hasLog = true;
      this.draw(result);
    } catch (error) {
      if (turn !== this.turn) return;
      if (error instanceof StoppedError)
        this.$result.replaceChildren(el("p", "Reading was stopped. Open the log again to go on."));
      else
        this.$result.replaceChildren(
          refusal("The log could not be read.", error instanceof Error ? error.message : String(error)),
        );
      this.hasLog = false;
    } finally {
      if (turn === this.turn) {
        this.$progress.replaceChildren();
        this.$result.removeAttribute("aria-busy");
      }
    }
  }

  /** @param {LogResult} result */
  draw(result) {
    const { document, series } = result;
    const $columns = columnChoice(result, (columns) => {
      this.columns = { ...columns };
      void this.again();
    });
    if (document.refused !== null || series === null) {
      const { why, mend } = document.refused ?? { why: "", mend: "" };
      this.$result.replaceChildren(...[refusal(why, mend), $columns, badRows(result)].filter((each) => each !== null));
    } else {
      const plot = this.plotOf(result);
      this.$result.replaceChildren(...this.parts(result, plot, $columns));
    }
    const $title = this.$result.querySelector("#log-title");
    if ($title instanceof HTMLElement) $title.focus();
  }

  /** @type {(result: LogResult) => PlotView} */
  plotOf({ document, series }) {
    const log = document.log ?? { stretches: [], step: 0, duration: 0 };
    const data = {
      series: { times: series?.times ?? [], levels: series?.volts ?? [] },
      stretches: log.stretches,
      gap: Math.max(GAP_LEAST, GAP_STEPS * log.step),
    };
    return new PlotView(data, log.duration);
  }

  /** @type {(result: LogResult, plot: PlotView, $columns: HTMLElement | null) => HTMLElement[]} */
  parts(result, plot, $columns) {
    const { document } = result;
    const look = plot.look.bind(plot);
    const $found =
      document.findings.length === 0
        ? null
        : findingsTable(this.knowledge, document.findings, { marks: SOURCES, look });
    return [
      titled(
        "section.part",
        el("h2", { id: "log-title", tabindex: -1 }, "What was read"),
        el("p", document.summary ?? ""),
        document.log?.began ? el("p", `0:00:00 here is ${document.log.began} in the log.`) : null,
        tripHint(document.header),
        badRows(result),
        $columns,
      ),
      plot.$view,
      $found ? titled("section.part", el("h2", { id: "found-title" }, "What it shows"), $found) : el("p"),
      titled(
        "section.part",
        el("h2", { id: "limits-title" }, "What it does not tell"),
        el("p", document.does_not_tell),
        el("h3", "What we assumed"),
        bullets(document.assumptions.map((words) => markedText(this.knowledge, words, ["our-estimate"]))),
        el("h3", "Sources"),
        sourceList(this.knowledge, SOURCES),
      ),
    ];
  }
}

const $root = need(document, '[data-module="logs"]');
try {
  const knowledge = await loadKnowledge(new URL("../../data/logs.json", import.meta.url));
  await learnFormerNames(knowledge);
  new Page($root, /** @type {Known} */ (knowledge));
} catch (error) {
  sayFailed($root, "Logs cannot be read here now.", error);
  throw error;
}
