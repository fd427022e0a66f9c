/**
 * Output room: what may hold the incomplete monitors, likeliest first, each with a cheap check.
 *
 * @import { BlockerChance, BlockedMonitor } from "../../obd/why-not-run.js"
 * @import { Car } from "./car.js"
 * @import { Readout } from "../../obd/readout.js"
 * @import { Known, Tables } from "../../obd/tables.js"
 * @import { blockersOf } from "./blockers.js"
 */

import { supplyName, supplyWords } from "../../engine/words.js";
import { el, folded, svg } from "../../kit/element.js";
import { fractionWords, lowerFirst, minutesWords, moneyWords } from "../../kit/figures.js";
import { inside, monitorList, monitorTitle } from "../../obd/tables.js";
import { lacksSoak, unmetNeeds } from "./blockers.js";

const SHOWN = 3;
const WORTH_SHOWING = 0.02;

/** @param {number} share */
function bar(share) {
  return svg(
    "svg",
    { "aria-hidden": "true", focusable: "false" },
    svg("rect", { class: "bar__track", x: 0.5, y: 0.5, width: "99.8%", height: 9 }),
    svg("rect", { class: "bar__fill", x: 0, y: 0, width: `${Math.round(share * 1000) / 10}%`, height: 10 }),
  );
}

/**
 * Name the cheapest check that confirms a cause, or the cheapest that speaks of it.
 * @param {Known} knowledge
 * @param {string} cause
 * @returns {HTMLElement | null}
 */
function cheapCheck(knowledge, cause) {
  const ids = (knowledge.causes[cause]?.confirmed_by ?? []).map(({ check }) => check);
  const known = ids.filter((id) => knowledge.checks[id]);
  known.sort((a, b) => (knowledge.checks[a]?.minutes ?? 0) - (knowledge.checks[b]?.minutes ?? 0));
  const check = knowledge.checks[known[0] ?? ""];
  if (!check) return null;
  return el(
    "span",
    { class: "bars__why" },
    el("b", {}, "Check: "),
    el("a", { href: `../checks/${known[0]}/` }, lowerFirst(check.title)),
    ` (${minutesWords(check.minutes)}, costs ${moneyWords(check.money, check.currency)}). `,
  );
}

/**
 * @param {Known} knowledge
 * @param {Record<string, number[]>} weights
 * @param {string[]} names
 * @returns {string}
 */
function spokenBy(knowledge, weights, names) {
  const words = names.map((name) => {
    const check = knowledge.checks[name];
    if (!check) return lowerFirst(knowledge.symptoms[name]?.title ?? name);
    const row = weights[name] ?? [];
    const place = row.indexOf(Math.max(...row));
    return `${lowerFirst(check.title)}: ${lowerFirst(check.levels[place]?.label ?? "")}`;
  });
  return words.join("; ");
}

/**
 * @param {Known} knowledge
 * @param {BlockerChance} one
 * @param {Record<string, number[]>} weights
 * @returns {HTMLElement}
 */
function blockerRow(knowledge, one, weights) {
  const cause = knowledge.causes[one.cause];
  const because = (/** @type {string} */ name, /** @type {string[]} */ ids) =>
    ids.length === 0
      ? null
      : el("span", { class: "bars__why" }, el("b", {}, `${name}: `), spokenBy(knowledge, weights, ids), ".");
  return el(
    "li",
    { "data-cause": one.cause },
    el(
      "div",
      { class: "bars__line" },
      el("a", { href: `../causes/${one.cause}/` }, cause?.title ?? one.cause),
      el("span", { class: "bars__odds" }, fractionWords(one.probability)),
    ),
    bar(one.probability),
    el("span", { class: "bars__why" }, one.why),
    because("More likely because of", one.raised_by),
    because("Less likely because of", one.lowered_by),
    cheapCheck(knowledge, one.cause),
  );
}

/**
 * Draw one monitor with its likeliest blockers.
 * @param {Known} knowledge
 * @param {Tables} tables
 * @param {BlockedMonitor} monitor
 * @param {{readout: Readout, told: Record<string, string>, weights: Record<string, number[]>}} given
 * @returns {HTMLElement}
 */
function monitorPart(knowledge, tables, { id, blockers }, { readout, told, weights }) {
  const unmet = unmetNeeds(tables, id, readout, told).map(({ metric }) =>
    lowerFirst(tables.metrics[metric]?.title ?? metric),
  );
  if (lacksSoak(tables, id, told)) unmet.unshift("a cold start after standing overnight");
  const shown = blockers.filter(({ probability }, place) => place < SHOWN || probability >= 0.2);
  const rest = blockers.filter((one) => !shown.includes(one) && one.probability >= WORTH_SHOWING);
  return el(
    "div",
    { class: "held-monitor", "data-monitor": id },
    unmet.length > 0
      ? el("p", {}, el("b", {}, "Not met, as you tell it: "), `${[...new Set(unmet)].join("; ")}.`)
      : null,
    el(
      "ol",
      { class: "bars" },
      shown.map((one) => blockerRow(knowledge, one, weights)),
    ),
    rest.length > 0
      ? el(
          "p",
          { class: "small" },
          `Less likely: ${rest.map(({ cause }) => lowerFirst(knowledge.causes[cause]?.title ?? cause)).join(", ")}.`,
        )
      : null,
  );
}

/**
 * Say once what is likeliest for which monitors, and what to do about it.
 * @param {Known} knowledge
 * @param {Tables} tables
 * @param {BlockedMonitor[]} monitors
 * @returns {HTMLElement}
 */
function togetherPart(knowledge, tables, monitors) {
  /** @type {Map<string, {ids: string[], probability: number}>} */
  const byCause = new Map();
  for (const { id, blockers } of monitors) {
    const [first] = blockers;
    if (!first) continue;
    const row = byCause.get(first.cause) ?? { ids: [], probability: first.probability };
    row.ids.push(id);
    byCause.set(first.cause, row);
  }
  const rows = [...byCause]
    .sort((a, b) => b[1].probability - a[1].probability)
    .map(([id, { ids, probability }]) => {
      const cause = knowledge.causes[id];
      const action = cause?.repair.action ?? "";
      return el(
        "li",
        { "data-first": id },
        el("b", {}, cause?.title ?? id),
        `, ${fractionWords(probability)}, for ${monitorList(tables, ids)}. `,
        cheapCheck(knowledge, id),
        action === ""
          ? null
          : el(
              "span",
              { class: "bars__why" },
              el("b", {}, cause?.repair.part ? "Once confirmed: " : "What to do: "),
              `${action}.`,
            ),
      );
    });
  return el("ul", { class: "together" }, rows);
}

/**
 * Say what the case on this device says of the supply.
 * @param {Car} car
 * @returns {HTMLElement}
 */
function supplyPart({ supply, isEmpty }) {
  const state = supply?.state ?? "unproven";
  const from = !isEmpty
    ? "From the case kept on this device, with what you tell here. "
    : state === "unproven"
      ? "No case is kept on this device, so nothing is checked yet. "
      : "From what you tell here; no case is kept on this device. ";
  return el(
    "div",
    { class: "answer-part", "data-supply": state },
    el("h4", {}, "Battery and charging: ", el("span", { class: "supply-state" }, supplyName(state))),
    el(
      "p",
      {},
      from,
      supply ? (isEmpty && state === "unproven" ? "" : supplyWords(state)) : "What was told does not fit together.",
      " ",
      el("a", { href: "../checker/" }, "Open the checker"),
    ),
    el(
      "p",
      { class: "small" },
      "Authorities speak of disconnected or interrupted power. We have seen no authority\u2019s text that names a weak battery. That a weak supply holds monitors back is our reasoning and common practice, not law.",
    ),
  );
}

/**
 * Draw the answer.
 * @param {Known} knowledge
 * @param {Tables} tables
 * @param {{answer: ReturnType<typeof blockersOf>, car: Car, readout: Readout, told: Record<string, string>}} given
 * @returns {HTMLElement}
 */
export function whyView(knowledge, tables, { answer, car, readout, told }) {
  const { words } = tables;
  if (answer.state === "ok" && answer.monitors.length === 0)
    return el("p", {}, "Nothing is incomplete, so nothing holds a monitor.");
  if (answer.state !== "ok") return el("div", {}, el("p", {}, words.run_states[answer.state] ?? ""), supplyPart(car));
  const given = { readout, told, weights: answer.weights };
  // A supply in doubt comes before every other reason: nothing else is to be bought until then.
  const isFirst = car.supply?.state === "failing" || car.supply?.state === "doubtful";
  return el(
    "section",
    { class: "found", "aria-labelledby": "why-title", "data-hint": answer.hint ?? "" },
    el(
      "h3",
      { id: "why-title", class: "verdict" },
      answer.hint ? (words.hints[answer.hint] ?? "") : (words.run_states.ok ?? ""),
    ),
    ...(isFirst ? [supplyPart(car)] : []),
    togetherPart(knowledge, tables, answer.monitors),
    el("p", { class: "small" }, "Chances, minutes and prices are our estimates. Two reasons can be there at once."),
    ...(isFirst ? [] : [supplyPart(car)]),
    el("h4", {}, "Monitor by monitor"),
    answer.monitors.map((one) =>
      folded(
        `why-${one.id}`,
        monitorTitle(tables, one.id),
        monitorPart(knowledge, tables, one, given),
        el(
          "p",
          {},
          el("a", { href: `../monitors/${one.id}/` }, `What the ${inside(monitorTitle(tables, one.id))} monitor needs`),
        ),
      ),
    ),
  );
}
