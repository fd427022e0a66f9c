/**
 * Output room: one case: its nickname, its dated log, its readings over the days, and how it ended.
 *
 * @import { KeptCase } from "../../case/shelf.js"
 * @import { Entry, Sheet } from "../../case/sheet.js"
 * @import { Knowledge, State } from "../../knowledge/types.js"
 */

import { toCase } from "../../case/case.js";
import { adoptState } from "../../case/case-adopt.js";
import { setEnded } from "../../case/case-repair.js";
import { levelWords, quantityWords } from "../../case/case-text.js";
import { closedCaseText, readingsOverTime } from "../../case/closed-case.js";
import { LONGEST_NAME, withEntry } from "../../case/sheet.js";
import { changeCase } from "../../case/shelf.js";
import { copyText } from "../../kit/copy-text.js";
import { button, el, folded, formOf, svg, titled } from "../../kit/element.js";
import { lowerFirst } from "../../kit/figures.js";
import { plainNumber } from "../../measure/sums-parts.js";
import { saveFile } from "./keeping-view.js";
import { dateWords, dayWords, nameOf, stageWords, titleOf } from "./words.js";

const WIDTH = 320;
const HEIGHT = 120;
const EDGE = 26;

/** @type {(values: number[], from: number, to: number) => (value: number) => number} */
function across(values, from, to) {
  const [low, high] = [Math.min(...values), Math.max(...values)];
  return (value) => (high === low ? (from + to) / 2 : from + ((value - low) / (high - low)) * (to - from));
}

/** @type {(title: string, unit: string, points: Array<{at: string, value: number}>) => HTMLElement} */
function overTime(title, unit, points) {
  const times = points.map(({ at }) => Date.parse(at));
  const values = points.map(({ value }) => value);
  const x = across(times, EDGE, WIDTH - EDGE);
  const y = across(values, HEIGHT - EDGE, EDGE);
  const places = points.map(({ value }, number) => [Math.round(x(times[number] ?? 0)), Math.round(y(value))]);
  const shown = points.map(({ value }) => `${plainNumber(value)} ${unit}`);
  const words = `${title}: ${points.map(({ at }, number) => `${shown[number]} on ${dateWords(at)}`).join("; ")}`;
  const isNamed = (/** @type {number} */ number) =>
    number === 0 ||
    number === points.length - 1 ||
    values[number] === Math.min(...values) ||
    values[number] === Math.max(...values);
  return el(
    "figure.over-time",
    svg(
      "svg",
      { viewBox: `0 0 ${WIDTH} ${HEIGHT}`, role: "img", "aria-label": words },
      svg("path", { d: `M${places.map(([left, top]) => `${left} ${top}`).join("L")}` }),
      ...places.map(([left = 0, top = 0]) => svg("circle", { cx: left, cy: top, r: 4 })),
      ...places.map(([left = 0, top = 0], number) =>
        isNamed(number) ? svg("text", { x: left, y: top - 9, "text-anchor": "middle" }, shown[number]) : null,
      ),
    ),
    el("figcaption", title),
  );
}

/** @typedef {{knowledge: Knowledge, redirects: Record<string, import("../../knowledge/link-words.js").Former>, draw: (say: string) => void}} Tools */

const WHAT = {
  noticed: "Noticed",
  over: "Over",
  found: "Found",
  advised: "Advised",
  repaired: "Repaired",
  bought: "Bought",
  note: "Note",
};
/** @type {Record<string, string>} */
const AFTER = { same: "no change", better: "better", gone: "the trouble is gone" };

/** Write one line of the log. @type {(knowledge: Knowledge, entry: Entry) => string} */
function entryWords(knowledge, { kind, id, value, unit = "", level, text = "" }) {
  const { symptoms, checks, causes } = knowledge;
  if (kind === "bought") return [causes[id]?.repair.part ?? "", text].filter((one) => one !== "").join(": ");
  const title = (symptoms[id] ?? checks[id] ?? causes[id])?.title ?? id;
  if (kind === "repaired") return `${title}: ${AFTER[level ?? ""] ?? ""}`;
  if (value !== undefined) return `${title}: ${quantityWords(knowledge, value, unit)}`;
  if (level !== undefined) return `${title}: ${levelWords(knowledge, id, level)}`;
  return [title, text].filter((one) => one !== "").join(": ");
}

/** @type {(one: KeptCase, tools: Tools, change: (sheet: Sheet) => Sheet, say: string) => void} */
function keep({ sheet }, { draw }, change, say) {
  const changed = new Date().toISOString();
  const kept = changeCase(sheet.id, (now) => ({ sheet: { ...change(now.sheet), changed } }));
  draw(kept === "kept" ? say : "This browser has no room for it.");
}

/** @type {(one: KeptCase, tools: Tools) => HTMLFormElement} */
function nameForm(one, tools) {
  const $name = el("input.field", {
    id: "case-name",
    value: one.sheet.name,
    maxlength: LONGEST_NAME,
    autocomplete: "off",
  });
  const save = () => {
    const name = $name.value.trim().slice(0, LONGEST_NAME);
    keep(one, tools, (sheet) => ({ ...sheet, name }), "The nickname is saved.");
  };
  return formOf(
    {},
    save,
    el("label", { for: "case-name" }, "Nickname, kept on this device only"),
    $name,
    el("p.ways", el("button.control.control--quiet", { type: "submit" }, "Save the nickname")),
  );
}

/** @type {(one: KeptCase, tools: Tools) => HTMLElement} */
function logPart(one, tools) {
  const { knowledge } = tools;
  const removeAt = (/** @type {Entry} */ entry) => () => {
    const isIt = (/** @type {Entry} */ each) =>
      each.at === entry.at && each.kind === entry.kind && each.text === entry.text;
    keep(one, tools, (sheet) => ({ ...sheet, log: sheet.log.filter((each) => !isIt(each)) }), "The line is removed.");
  };
  const rows = one.sheet.log.map((entry) => {
    const words = entryWords(knowledge, entry);
    const isOwn = entry.kind === "bought" || entry.kind === "note";
    const way = { class: "link-button", "aria-label": `Remove: ${words}` };
    return el(
      "li.log-line",
      el("span.small", dateWords(entry.at)),
      el("span", el("b", `${WHAT[entry.kind]}: `), words),
      isOwn ? button("Remove", removeAt(entry), way) : "",
    );
  });
  const plots = readingsOverTime(one.sheet.log).map(({ check, unit, points }) => {
    const sign = quantityWords(knowledge, 0, unit).slice(1).trim();
    return overTime(knowledge.checks[check]?.title ?? check, sign, points);
  });
  return titled(
    "section.part",
    el("h2", { id: "log-title" }, "Log"),
    rows.length > 0 ? el("ol.log-lines", rows) : el("p", "Nothing is in it yet."),
    plots,
    addForm(one, tools),
  );
}

/** @type {(knowledge: Knowledge, label: (id: string) => string | null) => HTMLOptionElement[]} */
function causeOptions(knowledge, label) {
  return Object.keys(knowledge.causes)
    .map((id) => /** @type {[string, string | null]} */ ([id, label(id)]))
    .filter(([, words]) => words !== null)
    .sort(([, a], [, b]) => ((a ?? "") < (b ?? "") ? -1 : 1))
    .map(([id, words]) => el("option", { value: id }, words ?? ""));
}

/** @param {string} date as a date field has it: noon, so that it is that day everywhere near */
function noon(date) {
  return date === "" ? new Date().toISOString() : new Date(`${date}T12:00`).toISOString();
}

/** @type {(one: KeptCase, tools: Tools) => HTMLDetailsElement} */
function addForm(one, tools) {
  const parts = causeOptions(tools.knowledge, (id) => tools.knowledge.causes[id]?.repair.part ?? null);
  const $part = el("select.field", { id: "log-part" }, el("option", { value: "" }, "Nothing"), parts);
  const $text = el("input.field", { id: "log-text", maxlength: 200, autocomplete: "off" });
  const $day = el("input.field", { id: "log-day", type: "date", max: dayWords(new Date()) });
  const add = () => {
    const [id, text] = [$part.value, $text.value];
    if (id === "" && text.trim() === "") return;
    /** @type {"note" | "bought"} */
    const kind = id === "" ? "note" : "bought";
    keep(one, tools, (sheet) => withEntry(sheet, { at: noon($day.value), kind, id, text }), "Added to the log.");
  };
  const $form = formOf(
    { "data-draft": "log" },
    add,
    el("label", { for: "log-part" }, "Part bought"),
    $part,
    el("label", { for: "log-text" }, "In your own words (not sent in links)"),
    $text,
    el("label", { for: "log-day" }, "Day, if not today"),
    $day,
    el("p.ways", el("button.control.control--quiet", { type: "submit" }, "Add to the log")),
  );
  return folded("add", "Add what was bought, or a note", $form);
}

/** @type {(one: KeptCase, tools: Tools) => HTMLFormElement} */
function closeForm(one, tools) {
  const causes = causeOptions(tools.knowledge, (id) => tools.knowledge.causes[id]?.title ?? null);
  const $cause = el("select.field", { id: "found-cause" }, el("option", { value: "" }, "It was not found"), causes);
  const state = stateOf(one, tools);
  $cause.value = state.ended ?? state.repaired ?? Object.keys(state.helped)[0] ?? "";
  const $gone = el("input", { id: "is-gone", type: "checkbox", checked: true });
  const $day = el("input.field", { id: "gone-day", type: "date", max: dayWords(new Date()) });
  const close = () => {
    const [cause, at] = [$cause.value === "" ? null : $cause.value, noon($day.value)];
    const gone = $gone.checked;
    const kept = changeCase(one.sheet.id, (now) => {
      const sheet = { ...now.sheet, closed: { at, cause, gone }, changed: new Date().toISOString() };
      if (cause === null || !gone) return { sheet };
      const repaired = /** @type {Entry} */ ({ at, kind: "repaired", id: cause, level: "gone" });
      const isLogged = sheet.log.some((each) => each.kind === "repaired" && each.id === cause && each.level === "gone");
      const log = isLogged ? sheet.log : [...sheet.log, repaired].sort((a, b) => (a.at < b.at ? -1 : 1));
      return { sheet: { ...sheet, log }, state: setEnded(stateOf(now, tools), cause) };
    });
    tools.draw(kept === "kept" ? "The case is closed." : "This browser has no room for it.");
  };
  return formOf(
    { "data-draft": "close" },
    close,
    el("label", { for: "found-cause" }, "What it was"),
    $cause,
    el("p.tick", $gone, el("label", { for: "is-gone" }, "The trouble is gone")),
    el("label", { for: "gone-day" }, "Since, if not today"),
    $day,
    el("p.ways", el("button.control", { type: "submit" }, "Close this case")),
  );
}

/** @type {(one: KeptCase, tools: Tools) => State} */
function stateOf({ state }, { knowledge, redirects }) {
  return adoptState(knowledge, redirects, state).state;
}

/**
 * @param {KeptCase} one
 * @param {Tools} tools
 */
function closedPart(one, tools) {
  const { closed } = one.sheet;
  const { knowledge } = tools;
  if (!closed) return [closeForm(one, tools)];
  const cause = closed.cause === null ? "" : (knowledge.causes[closed.cause]?.title ?? closed.cause);
  const car = toCase(knowledge, stateOf(one, tools));
  const text = closedCaseText(car, { ...one.sheet, closed }, titleOf(one));
  const copy = copyText("closed-text", "The case without names", text, 8);
  const name = `closed-case-${one.sheet.id}.yml`;
  return [
    el(
      "p",
      cause === "" ? "The cause was not found. " : `It was: ${lowerFirst(cause)}. `,
      closed.gone ? `Gone since ${dayWords(new Date(closed.at))}.` : "The trouble is still there.",
    ),
    el(
      "p.small",
      "A closed case helps us improve our odds. Nickname, notes and exact times are left out. Read it before you send it anywhere.",
    ),
    folded("closed-copy", "See the text, or copy it", ...copy.$parts),
    el(
      "p.ways",
      button("Save as a file", () => saveFile(name, text, "application/yaml"), { class: "control control--quiet" }),
      button(
        "Open it again",
        () => keep(one, tools, (sheet) => ({ ...sheet, closed: null }), "The case is open again."),
        {
          class: "control control--quiet",
        },
      ),
    ),
  ];
}

/**
 * Draw one case.
 * @type {(one: KeptCase, tools: Tools, open: () => void) => HTMLElement[]}
 * @param open in the checker
 */
export function caseView(one, tools, open) {
  const next = one.sheet.closed ? "" : one.sheet.line.next;
  return [
    el("p.folio", el("a", { href: "#" }, "All your cases")),
    el("h2", { id: "case-title", tabindex: -1 }, nameOf(one)),
    el(
      "p",
      nameOf(one) === titleOf(one) ? "" : `${titleOf(one)}. `,
      el("b", stageWords(one)),
      next === "" ? "." : `: ${next}.`,
    ),
    el("p.ways", button("Open in the checker", open, { class: "control" })),
    logPart(one, tools),
    titled("section.part", el("h2", { id: "close-title", tabindex: -1 }, "How it ended"), closedPart(one, tools)),
    el("section.part", { "aria-label": "Nickname" }, nameForm(one, tools)),
  ];
}
