/**
 * Join the rooms of the page for a log of a drive: open, map, analyse, draw.
 *
 * The log stays in this browser; nothing of it is kept when the page is left.
 *
 * @import { Column } from "../../logs/triplog-columns.js"
 * @import { Known, Tables } from "../../obd/tables.js"
 * @import { TripResult } from "../../logs/trip-work.js"
 */
import { button, el, folded, need, titled } from "../../kit/element.js";
import { sayFailed } from "../../kit/failed.js";
import { choiceEntry, DEGREES, numberEntry, tickEntry } from "../../kit/fields.js";
import { numberOf } from "../../kit/numbers.js";
import { textOf } from "../../logs/log-work.js";
import { Runner, StoppedError } from "../../logs/runner.js";
import { missingRoles, ROLE_WORDS, secondsWords, TOLD_ROLES } from "../../logs/trip-words.js";
import { drawable, seriesOf, tripReader } from "../../logs/trip-work.js";
import { cleanKept, readinessStore } from "../../obd/kept-readiness.js";
import { loadBoth } from "../../obd/tables.js";
import { celsiusOf, readoutOf } from "../../obd/told.js";
import { logOpener } from "./opener.js";
import { PlotView } from "./plot-view.js";
import { refusedLog } from "./read-report.js";
import { columnsForm, quantityOf } from "./trip-columns.js";
import { tripParts } from "./trip-view.js";

const MOST_BYTES = 30_000_000;
const USUAL_PRESSURE = 101.3; // kPa at sea level; only whether it lies above the limit counts
const GAP = 5; // seconds: the analysis holds a value no longer

/** The page: one log at a time. */
class Page {
  /**
   * @param {HTMLElement} $root
   * @param {Known} knowledge
   * @param {Tables} tables
   */
  constructor($root, knowledge, tables) {
    this.knowledge = knowledge;
    this.tables = tables;
    this.runner = new Runner(
      () => new Worker(new URL("../../logs/trip-worker.js", import.meta.url), { type: "module" }),
      tripReader,
    );
    /** @type {Record<string, string>} */
    this.facts = {};
    /** @type {Record<string, Column>} */
    this.mapping = {};
    this.hasLog = false;
    this.$progress = el("div.progress", { role: "status" });
    this.$result = el("div.log-result");
    const $lede = el("p.lede", "Open a log of a drive. It is read in this browser and never leaves the device.");
    $root.replaceChildren($lede, this.form(), this.$progress, this.$result);
  }

  told() {
    return this.facts;
  }

  /** @type {(name: string, value: string) => void} */
  tell(name, value) {
    this.facts = { ...this.facts, [name]: value };
    if (this.hasLog) void this.again();
  }

  form() {
    return el(
      "div.open-log",
      logOpener("trip", "Open a log with time, engine speed and more", {
        open: (file) => void this.openFile(file),
        paste: (text) => void this.open(text),
      }),
      folded(
        "trip-facts",
        "What the log may lack (optional)",
        numberEntry(this, "ambient", "Air temperature on the way", { range: [-60, 140], units: DEGREES }),
        numberEntry(this, "fuel", "Fuel in the tank", { range: [0, 100], unit: "%" }),
        el("ul.ticks", tickEntry(this, "low-country", "The drive stayed below 8,000 ft (2,400 m)")),
      ),
    );
  }

  /** @param {File} file */
  async openFile(file) {
    if (file.size > MOST_BYTES)
      return this.refuse("The file is too large to read here. Cut it into parts, or log with longer steps.", null);
    this.$progress.replaceChildren(el("p", "Opening the file\u2026"));
    return this.open(textOf(await file.arrayBuffer()));
  }

  /** @param {string} text */
  async open(text) {
    this.$progress.replaceChildren(el("p", "Reading the log\u2026"));
    this.mapping = {};
    this.hasLog = true;
    await this.show(this.runner.order(this.asked(text)));
    const $title = this.$result.querySelector("#trip-title");
    if ($title instanceof HTMLElement) $title.focus();
  }

  constants() {
    /** @type {Record<string, number>} */
    const found = {};
    const [ambient, fuel] = [celsiusOf(this.facts, "ambient"), numberOf(this.facts.fuel)];
    if (ambient !== null) found.ambient = ambient;
    if (fuel !== null) found.fuel = fuel;
    if (this.facts["low-country"] === "yes") found.pressure = USUAL_PRESSURE;
    return found;
  }

  /** List the monitors that matter: the incomplete ones of the readout kept here, else all. */
  wanted() {
    const kept = cleanKept(this.tables, readinessStore.stored().record);
    const readout = kept.asked ? readoutOf(kept) : null;
    const isOwn = readout?.state === "usable";
    return { isOwn, ids: isOwn ? (readout?.merged?.incomplete ?? []) : Object.keys(this.tables.monitors) };
  }

  /** @param {string | null} text null: the same log, with other columns or facts */
  asked(text) {
    const { monitors } = this.tables;
    return { text, monitors, mapping: this.mapping, constants: this.constants(), incomplete: this.wanted().ids };
  }

  async again() {
    await this.show(this.runner.order(this.asked(null)));
  }

  /** Wait for a result and draw it; one that a later order overtook is left out. @param {Promise<TripResult>} coming */
  async show(coming) {
    this.$result.setAttribute("aria-busy", "true");
    try {
      this.draw(await coming);
    } catch (error) {
      if (error instanceof StoppedError) return;
      this.refuse(`The log could not be read: ${error instanceof Error ? error.message : String(error)}.`, null);
    }
    this.$progress.replaceChildren();
    this.$result.removeAttribute("aria-busy");
  }

  /** @param {TripResult} result */
  draw(result) {
    const { isOwn } = this.wanted();
    const $columns = columnsForm(result, async (mapping) => {
      this.mapping = mapping;
      await this.again();
      this.$result.querySelector("summary")?.focus();
    });
    const { report } = result;
    if (report.state !== "ok") {
      this.refuse(this.tables.words.log_states[report.state] ?? "This log cannot be read.", $columns);
      return;
    }
    const view = this.plot(result);
    const { $view } = view;
    const { $stretches, $parts } = tripParts(this.knowledge, this.tables, {
      report,
      isOwn,
      look: view.look.bind(view),
    });
    if ($stretches) $view.append($stretches);
    this.$result.replaceChildren(this.readPart(result, $columns), $view, ...$parts, this.handPart(result));
  }

  /** @type {(words: string, $columns: HTMLElement | null) => void} */
  refuse(words, $columns) {
    this.$progress.replaceChildren();
    this.$result.replaceChildren(refusedLog("trip-title", words, $columns));
  }

  /** @type {(result: TripResult, $columns: HTMLElement | null) => HTMLElement} */
  readPart({ table, trip, report }, $columns) {
    const missing = missingRoles(trip);
    const names = (/** @type {string[]} */ roles) =>
      roles.map((role) => (ROLE_WORDS[role]?.name ?? role).toLowerCase()).join(", ");
    const told = missing.filter((role) => TOLD_ROLES.includes(role));
    const { trip: words } = this.tables.words;
    const dropped = Object.entries(trip.dropped).map(([why, count]) => `${count} with ${why.replaceAll("-", " ")}`);
    const bad = Object.values(table.bad).reduce((sum, count) => sum + count, 0);
    if (bad > 0) dropped.push(`${bad} rows that do not fit the columns`);
    return titled(
      "section.part",
      el("h2", { id: "trip-title", tabindex: -1 }, "What was read"),
      el(
        "p",
        `${trip.times.length} rows over ${secondsWords(report.duration)}.`,
        report.gap_seconds > 0 ? ` Pauses in the log: ${secondsWords(report.gap_seconds)}, not counted.` : "",
      ),
      missing.length > 0 ? el("p", `Not in the log: ${names(missing)}. ${words["columns-missing"] ?? ""}`) : null,
      told.length > 0 ? el("p", { "data-told": told.join() }, `${words["tell-yourself"] ?? ""} ${names(told)}.`) : null,
      dropped.length > 0 ? el("p", `Left out: ${dropped.join(", ")}.`) : null,
      $columns,
    );
  }

  /** Draw the plot with a choice of what it shows. @param {TripResult} result */
  plot({ trip, report }) {
    const roles = drawable(trip);
    const stretches = [...report.stretches, ...(report.voltage?.stretches ?? [])];
    const data = (/** @type {string} */ role) => ({
      series: seriesOf(trip, role),
      stretches,
      gap: GAP,
      quantity: quantityOf(role),
    });
    const first = roles.includes(this.facts.shown ?? "")
      ? (this.facts.shown ?? "")
      : roles.includes("speed")
        ? "speed"
        : (roles[0] ?? "speed");
    const view = new PlotView(data(first), report.duration);
    const options = roles.map((role) => /** @type {[string, string]} */ ([role, ROLE_WORDS[role]?.name ?? role]));
    const teller = {
      told: () => ({ shown: first }),
      tell: (/** @type {string} */ _name, /** @type {string} */ role) => {
        if (!roles.includes(role)) return;
        this.facts = { ...this.facts, shown: role };
        view.data = data(role);
        view.draw();
      },
    };
    const $choice = choiceEntry(teller, "shown", "Show", options, "Choose");
    $choice.querySelector('option[value=""]')?.remove();
    view.$stage.before($choice);
    return view;
  }

  /**
   * Offer what the drive says about voltage and warmth to the readiness page.
   * @type {(result: TripResult) => HTMLElement}
   */
  handPart({ report }) {
    const $note = el("p.small", { role: "status" });
    const hand = () => {
      const kept = cleanKept(this.tables, readinessStore.read());
      const warm = { met: "yes", "not-met": "no" }[report.warm_up.spark_strict ?? ""] ?? "";
      const volts = report.voltage?.verdict ?? "unknown";
      const told = { ...kept.told, "voltage-log": volts === "unknown" ? "" : volts, "warmed-up": warm };
      if (readinessStore.write({ ...kept, told }) === "kept") location.assign("../readiness/#why");
      else $note.textContent = "This browser keeps nothing on the device. Enter it there by hand.";
    };
    return titled(
      "section.part",
      el("h2", { id: "hand-title" }, "What next"),
      el("p", "What this drive shows about voltage and warm-up can help explain why a monitor has not run."),
      button("Use it for that", hand, { class: "control" }),
      $note,
    );
  }
}

const $root = need(document, '[data-module="trips"]');
try {
  const { knowledge, tables } = await loadBoth();
  new Page($root, knowledge, tables);
} catch (error) {
  sayFailed($root, "Logs cannot be read here now.", error);
  throw error;
}
