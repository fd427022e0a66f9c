/**
 * Output room: what a drive held, and which monitors it could have served.
 *
 * Nothing here says that a monitor ran.
 *
 * @import { Criterion } from "../../logs/triplog-metrics.js"
 * @import { Stretch } from "../../logs/triplog-timeline.js"
 * @import { MonitorChance, TripReport } from "../../logs/triplog.js"
 * @import { Known, Tables } from "../../obd/tables.js"
 */
import { button, el, folded, tableOf, titled } from "../../kit/element.js";
import { lowerFirst } from "../../kit/figures.js";
import { marksOf } from "../../kit/marks.js";
import {
  CRITERIA,
  conditionWords,
  criterionWords,
  STRETCH_NAMES,
  secondsWords,
  sharedConditions,
  stretchOf,
} from "../../logs/trip-words.js";
import { clock } from "../../logs/voltlog-words.js";
import { monitorList, monitorTitle } from "../../obd/tables.js";

const CHANCES = /** @type {Record<string, string>} */ ({
  could: "could have run",
  "could-not": "could not",
  unknown: "cannot be told",
});
const VERDICTS = /** @type {Record<string, string>} */ ({
  "not-met": "Not met",
  unknown: "Could not be seen",
  met: "Met",
});
const MOST_STRETCHES = 12;

/** @type {(tables: Tables, criterion: Criterion) => HTMLElement} */
function criterionRow(tables, criterion) {
  const { name, needs } = CRITERIA[criterion.id] ?? { name: criterion.id, needs: "" };
  return el(
    "tr",
    { "data-criterion": criterion.id, "data-verdict": criterion.verdict },
    el("th", { scope: "row" }, name),
    el("td", { "data-label": "Had" }, criterionWords(criterion)),
    el("td", { "data-label": "Needs" }, needs),
    el("td", { "data-label": "Result" }, tables.words.trip[criterion.verdict] ?? criterion.verdict),
  );
}

/** @type {(knowledge: Known, tables: Tables, caption: string, criteria: Criterion[]) => HTMLElement} */
function criteriaTable(knowledge, tables, caption, criteria) {
  return tableOf(
    ["What counts", "Had", "Needs", "Result"],
    criteria.map((one) => criterionRow(tables, one)),
    { class: "stack marked criteria" },
    el("caption", caption, marksOf(knowledge, ["from-memory"])),
  );
}

/** @type {(knowledge: Known, tables: Tables, report: TripReport) => HTMLElement} */
function heldPart(knowledge, tables, report) {
  const words = tables.words.trip;
  const general = Object.values(report.general);
  const warm = report.warm_up.spark_strict ?? "unknown";
  const diesel = report.warm_up.diesel ?? "unknown";
  return titled(
    "section.part",
    el("h2", { id: "held-title" }, "Was it a drive that counts?"),
    el(
      "p",
      { "data-general": report.general_strict },
      `A drive that counts: ${words[report.general_strict] ?? ""}. ${words.proxy ?? ""}`,
    ),
    folded(
      "criteria",
      "What a drive that counts must have, with figures",
      criteriaTable(knowledge, tables, "A drive that counts:", general),
      criteriaTable(knowledge, tables, "For the vapor test also:", report.evap),
    ),
    el(
      "p.marked",
      { "data-warm": warm },
      `A full warm-up (gasoline): ${words[warm] ?? ""}. Coolant must rise by 40 \u00b0F (22 \u00b0C) and reach 160 \u00b0F (71 \u00b0C).`,
      ` For a diesel, 140 \u00b0F (60 \u00b0C): ${words[diesel] ?? ""}.`,
      marksOf(
        knowledge,
        knowledge.sources["warm-up-cycle-texts"] ? ["warm-up-cycle-texts", "from-memory"] : ["from-memory"],
      ),
    ),
    report.start && !report.start.seen ? el("p", words["start-not-seen"] ?? "") : null,
  );
}

/** @type {(knowledge: Known, tables: Tables, report: TripReport) => HTMLElement} */
function voltagePart(knowledge, tables, { voltage }) {
  const verdict = voltage?.verdict ?? "unknown";
  const words = tables.words.trip[verdict === "unknown" ? "voltage-unknown" : verdict] ?? "";
  const lowest = voltage?.lowest ?? null;
  return el(
    "section.part",
    { "aria-labelledby": "volts-title", "data-voltage": verdict },
    el("h2", { id: "volts-title" }, "Voltage"),
    el("p.marked", words, marksOf(knowledge, ["from-memory"])),
    lowest === null
      ? null
      : el(
          "p",
          `Lowest with the engine running: ${lowest.toFixed(2)} V. Below 11 V for ${secondsWords(voltage?.seconds_low ?? 0)}. Starts are left out.`,
        ),
    verdict === "low-seen" ? el("p", el("a", { href: "../checker/" }, "Check battery and charging first"), ".") : null,
  );
}

/**
 * Draw a monitor with the names of what it needs: met, not met, not seen; the figures stand below, once.
 * @type {(tables: Tables, chance: MonitorChance) => HTMLElement}
 */
function chanceRow(tables, { id, chance, results }) {
  const named = (/** @type {string} */ verdict) => {
    const titles = results
      .filter((one) => one.verdict === verdict)
      .map(({ metric }) => lowerFirst(tables.metrics[metric]?.title ?? metric));
    return [...new Set(titles)].join(", ");
  };
  const rows = Object.entries(VERDICTS).filter(([verdict]) => named(verdict) !== "");
  return el(
    "li.monitor",
    { "data-monitor": id, "data-chance": chance },
    el(
      "div.monitor__line",
      el("a", { href: `../monitors/${id}/` }, monitorTitle(tables, id)),
      el("span.monitor__state", CHANCES[chance] ?? chance),
    ),
    rows.map(([verdict, name]) => el("p.monitor__about", `${name}: ${named(verdict)}.`)),
  );
}

/**
 * Draw each condition once: what is wanted, what the drive had, for which monitors, and where it lies in the plot.
 * @type {(knowledge: Known, tables: Tables, report: TripReport, look: (start: number, end: number) => void) =>
 *   HTMLElement | null}
 */
function conditionsPart(knowledge, tables, report, look) {
  const rows = sharedConditions(report.monitors).map((one) => {
    const words = conditionWords(tables, one);
    const stretch = stretchOf(report, one.metric);
    return el(
      "li.marked",
      { "data-condition": one.metric, "data-verdict": one.verdict },
      el("b", `${VERDICTS[one.verdict] ?? one.verdict}. `),
      `${words}. For: ${monitorList(tables, one.monitors)}.`,
      marksOf(knowledge, [one.source]),
      " ",
      stretch
        ? button("Show it", () => look(stretch.start, stretch.end), {
            class: "link-button",
            "aria-label": `Show in the plot: ${words}`,
          })
        : null,
    );
  });
  if (rows.length === 0) return null;
  return folded("conditions", "What they ask of a drive, with figures", el("ul", rows));
}

/**
 * @type {(knowledge: Known, tables: Tables, given: {report: TripReport, isOwn: boolean, look: (start: number,
 *   end: number) => void}) => HTMLElement}
 */
function monitorsPart(knowledge, tables, { report, isOwn, look }) {
  const { monitors, voltage } = report;
  const words = tables.words.trip;
  const which = isOwn
    ? "Those incomplete at your last readout."
    : "Every monitor we know, because no readout is kept on this device.";
  return titled(
    "section.part",
    el("h2", { id: "served-title" }, "Which monitors it could have served"),
    el("p", `${which} ${words.could ?? ""}`),
    voltage?.verdict === "low-seen" ? el("p", el("a", { href: "#volts-title" }, "The voltage was low")) : null,
    monitors.length > 0
      ? el(
          "ul.monitors",
          monitors.map((one) => chanceRow(tables, one)),
        )
      : el("p", "None is incomplete."),
    conditionsPart(knowledge, tables, report, look),
    el("p", el("a", { href: "../readiness/#plan" }, "Plan the next drives")),
  );
}

/** @type {(stretches: Stretch[], look: (start: number, end: number) => void) => HTMLElement | null} */
function stretchesPart(stretches, look) {
  if (stretches.length === 0) return null;
  const longest = [...stretches].sort((a, b) => b.end - b.start - (a.end - a.start)).slice(0, MOST_STRETCHES);
  const rows = stretches
    .filter((one) => longest.includes(one))
    .map(({ kind, start, end }) => {
      const name = STRETCH_NAMES[kind] ?? kind;
      const words = `${name}, ${clock(start)} to ${clock(end)} (${secondsWords(end - start)})`;
      return el(
        "li",
        words,
        " ",
        button("Show it", () => look(start, end), { class: "link-button", "aria-label": `Show in the plot: ${words}` }),
      );
    });
  const left = stretches.length - longest.length;
  return folded(
    "stretches",
    `${stretches.length} stretches found`,
    el("ul.plain-lines", rows),
    left > 0 ? el("p", `The ${left} shortest are left out here; the plot shows them.`) : null,
  );
}

/**
 * Draw everything but the plot.
 * @type {(knowledge: Known, tables: Tables, given: {report: TripReport, isOwn: boolean, look: (start: number,
 *   end: number) => void}) => {$stretches: HTMLElement | null, $parts: HTMLElement[]}}
 */
export function tripParts(knowledge, tables, given) {
  const { report, look } = given;
  return {
    $stretches: stretchesPart([...report.stretches, ...(report.voltage?.stretches ?? [])], look),
    $parts: [
      monitorsPart(knowledge, tables, given),
      heldPart(knowledge, tables, report),
      voltagePart(knowledge, tables, report),
    ],
  };
}
