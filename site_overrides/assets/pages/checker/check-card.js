/**
 * Output room: one check as the page: what it takes and why, cautions, steps, what to do while it waits,
 * result, and why it may not be made.
 *
 * @import { App } from "./app.js"
 * @import { NextCheck } from "../../engine/triage.js"
 */

import { madeChecks, setNotPossible, setTools } from "../../case/case.js";
import { calendarFile } from "../../kit/calendar.js";
import { cautionGroup, cautionsOnce } from "../../kit/cautions.js";
import { drawing } from "../../kit/drawing.js";
import { button, el, folded } from "../../kit/element.js";
import { fractionWords, hoursWords, lowerFirst, minutesWords, moneyWords, SKILL_WORDS } from "../../kit/figures.js";
import { say } from "../../kit/sentences.js";
import { openOneStep } from "./one-step.js";
import { resultForm } from "./result-form.js";

/**
 * Draw the reasons a check may not be made; each leads on in its own way.
 * @type {(app: App, check: string) => HTMLDetailsElement}
 */
function cannotFold(app, check) {
  const { checks, tools } = app.knowledge;
  const needed = checks[check]?.tools ?? [];
  const next = { focus: "[data-main-heading]" };
  const skip = () => app.act((state) => setNotPossible(state, check), next);
  const lacksTool = () =>
    app.act((state) => {
      const left = (state.tools ?? Object.keys(tools)).filter((id) => !needed.includes(id));
      return setTools({ ...state, picked: null }, left);
    }, next);
  const $how = el("p", { role: "status" });
  const unsure = () => {
    const $link = el("a", { href: `../checks/${check}/` }, "the full page of this check");
    $how.replaceChildren("Take the steps above one at a time, or read ", $link, ". You can change any result later.");
  };
  const reasons = [
    needed.length > 0 ? button("I don\u2019t have the tool", lacksTool) : null,
    button("I can\u2019t reach it", skip),
    button("Not now", skip),
    button("I\u2019m not sure how", unsure),
  ];
  return folded(
    `cannot-${check}`,
    "I can\u2019t do this",
    el(
      "ul.choices",
      reasons.map(($one) => ($one ? el("li", $one) : null)),
    ),
    $how,
  );
}

/** Hand a text to the reader as a file of their own. @type {(name: string, text: string) => void} */
function handOver(name, text) {
  const address = URL.createObjectURL(new Blob([text], { type: "text/calendar" }));
  el("a", { href: address, download: name }).click();
  URL.revokeObjectURL(address);
}

/**
 * Draw the card of a wait, folded; nothing for a check without one.
 * @type {(app: App, check: string) => HTMLDetailsElement | null}
 */
function waitingFold(app, check) {
  const about = app.knowledge.checks[check];
  if (!about?.wait_hours) return null;
  const wait = about.wait_hours * 60;
  const charges = about.tools.includes("battery-charger");
  const $when = el("p", { role: "status" });
  const remind = () => {
    const now = new Date();
    const start = new Date(now.getTime() + wait * 60_000);
    const title = say("wait-over", { check: lowerFirst(about.title) });
    const address = location.href.split("#")[0] ?? "";
    handOver(
      "before-parts.ics",
      calendarFile({ title, text: say("wait-then"), address, start, minutes: about.minutes, now }),
    );
    const time = start.toLocaleString("en-US", { weekday: "short", hour: "numeric", minute: "2-digit" });
    $when.textContent = say("wait-saved", { time });
  };
  return folded(
    "waiting",
    say("wait-title", { wait: hoursWords(about.wait_hours) }),
    el("p", say("wait-lead", { kind: charges ? "charge" : "rest" })),
    button("Save a reminder for the end of the wait", remind, { class: "control control--quiet" }),
    $when,
  );
}

/**
 * Draw what the check takes: the reader's time, waiting, money, tools, a second person.
 * @type {(app: App, check: string) => HTMLElement}
 */
function effortList(app, check) {
  const about = app.knowledge.checks[check];
  if (!about) return el("dl");
  const tools = about.tools.map((id) => lowerFirst(app.knowledge.tools[id]?.title ?? id));
  const skill = about.skill === "easy" ? "" : (SKILL_WORDS[about.skill] ?? about.skill);
  /** @type {Array<[string, string]>} */
  const rows = [
    ["Your time", minutesWords(about.minutes)],
    ["Waiting", about.wait_hours ? `about ${hoursWords(about.wait_hours)}` : ""],
    ["Cost", about.money === 0 ? "" : moneyWords(about.money, about.currency)],
    ["Tools", tools.length > 0 ? tools.join(", ") : "none"],
    ["Skill", skill],
    ["Helper", about.needs_helper ? "a second person" : ""],
  ];
  return el(
    "dl.effort",
    rows.map(([name, value]) => (value === "" ? null : el("div", el("dt", name), el("dd", value)))),
    el("div", el("dt.visually-hidden", "Source"), el("dd.mark", say("mark", { mark: about.source }))),
  );
}

/**
 * Draw what each result would mean, with how likely it is now.
 * @type {(app: App, check: string, item: NextCheck | undefined) => HTMLElement | null}
 * @param item the advice's word on this check, if it has one
 */
function levelPart(app, check, item) {
  const { checks, causes } = app.knowledge;
  const levels = checks[check]?.levels ?? [];
  if (levels.length < 2) return null;
  const rows = levels.map((level) => {
    const outcome = item?.outcomes?.find((each) => each.level === level.id);
    const top = outcome?.top_cause ? causes[outcome.top_cause]?.title : null;
    return el(
      "div",
      el("dt", el("span", level.label), outcome ? el("span.odds", fractionWords(outcome.probability)) : null),
      el("dd", level.means, top ? ` Most likely cause then: ${lowerFirst(top)}.` : ""),
    );
  });
  return el(
    "section",
    el("h3", "What each result would mean"),
    item?.outcomes.length ? el("p.small", "How likely each is now, by our estimates.") : null,
    el("dl.levels", rows),
  );
}

/**
 * Draw what can be known about a check beyond doing it, folded.
 * @type {(app: App, check: string, why: string[], item: NextCheck | undefined) => HTMLDetailsElement}
 * @param why more reasons for it than stand above
 */
function moreFold(app, check, why, item) {
  const about = app.knowledge.checks[check];
  return folded(
    `about-${check}`,
    "More about it",
    why.length > 0 ? el("p", why.join(" ")) : null,
    levelPart(app, check, item),
    el("h3", "What it cannot tell"),
    el("p", about?.cannot_tell ?? ""),
    el("p", el("a", { href: `../checks/${check}/` }, "The full page of this check")),
  );
}

/** Name the checks that must come before this one. @type {(app: App, check: string) => HTMLElement | null} */
function needsLine(app, check) {
  const { readings, outcomes } = app.state();
  const open = (app.knowledge.checks[check]?.needs ?? []).filter(
    (need) => readings[need.check] === undefined && outcomes[need.check] === undefined,
  );
  if (open.length === 0) return null;
  const titles = open.map((need) => lowerFirst(app.knowledge.checks[need.check]?.title ?? need.check));
  return el("p.before", el("b", "First: "), `${titles.join(", then ")}.`);
}

/**
 * List the hazards that stood in full on the way here: those of the checks already made.
 * @type {(app: App, check: string) => string[]}
 */
function readBefore(app, check) {
  return madeChecks(app.state())
    .filter((made) => made !== check)
    .flatMap((made) => hazardsOf(app, made));
}

/** @type {(app: App, check: string) => string[]} */
function hazardsOf(app, check) {
  const about = app.knowledge.checks[check];
  return [...(about?.cautions ?? []), ...(about?.steps ?? []).flatMap((step) => step.caution ?? [])];
}

/**
 * Draw the bar that leads to the steps one by one and to the result; it is gone while the result is in sight.
 * @type {(app: App, check: string, $result: HTMLElement) => HTMLDivElement}
 */
function resultBar(app, check, $result) {
  const toResult = () => {
    const $first = $result.querySelector("input, button");
    $result.scrollIntoView({ block: "start" });
    if ($first instanceof HTMLElement) $first.focus({ preventScroll: true });
  };
  const $bar = el(
    "div.bar.bar--result",
    button("Step by step", () => openOneStep(app, check, toResult), { class: "control control--quiet" }),
    button("Enter the result", toResult, { class: "control" }),
  );
  new IntersectionObserver(([seen]) => {
    const isBelow = seen !== undefined && !seen.isIntersecting && seen.boundingClientRect.top > 0;
    $bar.classList.toggle("bar--away", !isBelow);
  }).observe($result);
  return $bar;
}

/**
 * Name the drawing of a check: the one with a tool the reader ticked, else that of its steps.
 * @type {(app: App, check: string) => string | null | undefined}
 */
function drawingFor(app, check) {
  const about = app.knowledge.checks[check];
  const ticked = Object.entries(about?.drawing_with ?? {}).find(([tool]) => app.state().tools?.includes(tool));
  return ticked?.[1] ?? about?.drawing;
}

/** Draw the part in which a check's result is entered. @type {(app: App, check: string) => HTMLElement} */
function resultPart(app, check) {
  return el(
    "section.result-part",
    { id: "result" },
    el("h3.visually-hidden", "Enter the result"),
    resultForm(app, check),
  );
}

/**
 * Draw a check that a stop-now line forbids: why, and where to enter a result found before. Its
 * steps are not shown.
 * @type {(app: App, check: string, reason: string) => HTMLElement}
 */
export function forbiddenCard(app, check, reason) {
  const title = app.knowledge.checks[check]?.title ?? check;
  return el(
    "article.card",
    { "aria-labelledby": "check-title" },
    el("p.do-now", reason),
    el("h2", { id: "check-title", tabindex: -1, "data-main-heading": true }, `Not now: ${title}`),
    el("p", say("forbidden-check")),
    resultPart(app, check),
  );
}

/**
 * Draw a check with everything needed to make it and to enter its result.
 * @type {(app: App, check: string, words: {kicker: string, why: string[], item: NextCheck | undefined,
 *   now: HTMLElement | null}) => HTMLElement}
 */
export function checkCard(app, check, { kicker, why, item, now }) {
  const about = app.knowledge.checks[check];
  const once = cautionsOnce(app.knowledge, readBefore(app, check));
  const inSteps = new Set((about?.steps ?? []).map((step) => step.caution));
  const [worst, ...others] = hazardsOf(app, check);
  const $worst = once(worst);
  const before = others.filter((id) => !inSteps.has(id)).map((id) => once(id));
  const steps = (about?.steps ?? []).map((step, place) =>
    el("li", once(step.caution, place === 0), el("p.step", step.do)),
  );
  const $result = resultPart(app, check);
  return el(
    "article.card.check-card",
    { "aria-labelledby": "check-title" },
    el(
      "div.check-card__head",
      now,
      kicker === "" ? null : el("p.kicker", kicker),
      el("h2", { id: "check-title", tabindex: -1, "data-main-heading": true }, about?.title ?? check),
      why[0] ? el("p.why", why[0]) : null,
      needsLine(app, check),
      effortList(app, check),
      cautionGroup([$worst]),
    ),
    el("div.check-card__steps", cautionGroup(before), el("ol.steps", { "aria-label": "Steps" }, steps)),
    el("div.check-card__aside", drawing(drawingFor(app, check)), $result),
    el(
      "div.check-card__more",
      waitingFold(app, check),
      cannotFold(app, check),
      moreFold(app, check, why.slice(1), item),
    ),
    resultBar(app, check, $result),
  );
}
