/**
 * Output room: the second view: stop now, the case, the latest result, the next check, and
 * what we know so far.
 *
 * @import { App } from "./app.js"
 * @import { Because } from "../../engine/findings.js"
 * @import { Advice, NextCheck } from "../../engine/triage.js"
 */
import { madeChecks, pickCheck, toCase } from "../../case/case.js";
import { stopBlock } from "../../case/stop-block.js";
import { checkRequires, missing } from "../../engine/abilities.js";
import { triage } from "../../engine/triage.js";
import { fitWords, reasonsWords, roundMoney, savingWords, watchWords } from "../../engine/words.js";
import { bullets, button, el, titled } from "../../kit/element.js";
import { lowerFirst } from "../../kit/figures.js";
import { say } from "../../kit/sentences.js";
import { laterQuestion } from "./ask-view.js";
import { caseStrip } from "./case-strip.js";
import { checkCard, forbiddenCard } from "./check-card.js";
import { otherChecks } from "./other-checks.js";
import { endedCard, repairCard, repairedCard } from "./repair-view.js";
import { resultPanel } from "./result-panel.js";
import { answerPart } from "./share-panel.js";
import { standingView } from "./standing-view.js";

/** Causes whose kind of help is named when nothing is left to check. */
const MOST_HELP = 3;

/**
 * Say that no check is worth making any more, and who could go on with what was found.
 * @type {(app: App, advice: Advice) => HTMLElement}
 */
function nothingLeft(app, advice) {
  const groups = advice.causes.slice(0, MOST_HELP).map(({ group }) => app.knowledge.groups[group]);
  const { workshop } = advice;
  const instead = advice.instead.flatMap((ability) => app.knowledge.abilities?.[ability]?.without ?? []);
  // Who must keep away from the car tests nothing at it, and has nothing tested on the way.
  const isKeptAway = advice.stop_now.length > 0 && instead.length > 0;
  const standing = isKeptAway ? "away" : "told";
  const help = isKeptAway ? [] : [...new Set(groups.flatMap((group) => group?.fallback ?? []))];
  return el(
    "section.card",
    { "aria-labelledby": "left-title" },
    el("p.do-now", say("do-now", { kind: "workshop" })),
    el("h2", { id: "left-title", tabindex: -1, "data-main-heading": true }, say("none-left", { case: standing })),
    isKeptAway ? null : withMore(app),
    instead.map((line) => el("p", el("b", line))),
    el("p", say("none-left-then", { case: standing })),
    workshop
      ? el("p", say("advice-workshop", { amount: roundMoney(workshop.price), currency: workshop.currency }))
      : null,
    help.length > 0 ? bullets(help) : null,
  );
}

/** Tools that open the most for their price, and the sentence that says so. */
const WORTH_BUYING = /** @type {const} */ ([
  ["multimeter", "with-a-meter"],
  ["battery-charger", "with-a-charger"],
]);

/** Say what a cheap tool would allow, or nothing where it would not help. @param {App} app */
function withMore(app) {
  const tools = app.state().tools;
  const [missing] = WORTH_BUYING.filter(([tool]) => tools !== null && !tools.includes(tool));
  if (!missing || tools === null) return null;
  const [tool, sentence] = missing;
  const car = toCase(app.knowledge, { ...app.state(), tools: [...tools, tool] });
  const check = triage(app.knowledge, car).next.find(({ check: one }) =>
    app.knowledge.checks[one]?.tools.includes(tool),
  );
  if (!check) return null;
  const title = lowerFirst(app.knowledge.checks[check.check]?.title ?? check.check);
  return el("p", el("b", say(sentence, { check: title })));
}

/** Say that the trouble is over. @type {(app: App, watch: Because) => HTMLElement} */
function watchCard(app, watch) {
  return titled(
    "section.card",
    el("h2", { id: "watch-title", tabindex: -1, "data-main-heading": true }, "Watch the car"),
    el("p", watchWords(app.knowledge, watch)),
  );
}

/** Say why a check comes next, and what it is expected to save. @type {(app: App, item: NextCheck) => string[]} */
function whyWords(app, item) {
  const currency = app.knowledge.checks[item.check]?.currency ?? "";
  const saving = savingWords(item.expected_saving, currency);
  return [...reasonsWords(app.knowledge, item.because), saving].filter((line) => line !== "");
}

/**
 * Name the check on the page: the one the reader asked for, else the advised one.
 * @type {(app: App, advice: Advice) => string | null}
 */
function shownCheck(app, { next }) {
  return app.state().picked ?? next[0]?.check ?? null;
}

/**
 * Say in one line what to do with one's money now; after a stop line, only when to go on.
 * @type {(app: App, advice: Advice, check: string) => HTMLParagraphElement}
 */
function doNow(app, advice, check) {
  if (advice.stop_now.length > 0) return el("p.do-now", say("do-now", { kind: "after-stop" }));
  const charges = app.knowledge.checks[check]?.tools.includes("battery-charger");
  return el("p.do-now", say("do-now", { kind: charges ? "charge" : "check" }));
}

/**
 * Say why a stop-now line forbids a check, null where none does.
 * @type {(app: App, advice: Advice, name: string) => string | null}
 */
function forbids({ knowledge }, { findings }, name) {
  const check = knowledge.checks[name];
  const lost = check ? missing(findings.abilities, checkRequires(check)) : null;
  return lost?.because.kind === "stop" ? (knowledge.abilities?.[lost.root]?.without ?? "") : null;
}

/**
 * Draw the main part: the check the reader asked for, else the repair, else the advice.
 * @type {(app: App, advice: Advice) => Array<HTMLElement | null>}
 */
function mainPart(app, advice) {
  const { picked, repaired } = app.state();
  if (repaired !== null) return [repairedCard(app, repaired)];
  if (advice.watch && picked === null) return [watchCard(app, advice.watch)];
  const workshop = advice.workshop === null ? null : nothingLeft(app, advice);
  const lead = picked === null ? (repairCard(app, advice) ?? workshop) : null;
  const shown = shownCheck(app, advice);
  if (shown === null) return [lead ?? nothingLeft(app, advice)];
  const goBack = () => app.act((state) => pickCheck(state, null), { focus: "[data-main-heading]" });
  const isOwnChoice = picked !== null && advice.next[0]?.check !== picked;
  const back = isOwnChoice ? button("Back to the advised check", goBack, { class: "control control--quiet" }) : null;
  const forbidden = forbids(app, advice, shown);
  if (forbidden !== null) return [forbiddenCard(app, shown, forbidden), back];
  const item = advice.next.find((each) => each.check === shown);
  const kicker = picked === null ? (lead ? "Or check further" : "") : "The check you chose";
  const why = item && picked === null ? whyWords(app, item) : [];
  const now = lead ? null : doNow(app, advice, shown);
  const card = checkCard(app, shown, { kicker, why, item, now });
  if (lead) card.querySelector("[data-main-heading]")?.removeAttribute("data-main-heading");
  return [lead, card, back];
}

/**
 * Say what to know about the advice as a whole: results that hardly fit, or a shorter look ahead.
 * @type {(app: App, advice: Advice) => HTMLDivElement | null}
 */
function notes(app, { fit, planned }) {
  const lines = [
    fit?.bad ? fitWords(app.knowledge, fit.least) : "",
    planned === "full" ? "" : say("planned", { how: planned }),
  ].filter((line) => line !== "");
  return lines.length === 0
    ? null
    : el(
        "div.caution",
        lines.map((line) => el("p", line)),
      );
}

/** Say why checks come again after a repair that did not end the trouble, until one was made again. @param {App} app */
function repairNote(app) {
  const { mended, helped, repaired, latest } = app.state();
  const isTried = mended.length > 0 || Object.values(helped).includes("better");
  return isTried && repaired === null && latest === null ? el("p.before", say("check-again")) : null;
}

/**
 * Draw the view for an advice. A case that ended stands alone: what was advised is past.
 * @type {(app: App, advice: Advice) => HTMLElement}
 */
export function checkView(app, advice) {
  const { ended } = app.state();
  if (ended !== null) return el("div.check-view", caseStrip(app), answerPart(app), endedCard(app, ended));
  // Once something was measured, what is left to ask stands with the rest of what was told.
  const isBegun = madeChecks(app.state()).length > 0;
  return el(
    "div.check-view",
    stopBlock(advice.stop_now),
    answerPart(app),
    resultPanel(app, advice),
    repairNote(app),
    notes(app, advice),
    mainPart(app, advice),
    standingView(app, advice),
    el(
      "div.check-view__more",
      isBegun ? null : laterQuestion(app),
      otherChecks(app, advice, shownCheck(app, advice)),
      caseStrip(app),
    ),
  );
}

/**
 * Draw the view when no advice can be given on the answers as they stand.
 * @type {(app: App, why: {title: string, words: string}) => HTMLElement}
 */
export function stuckView(app, { title, words }) {
  const $strip = caseStrip(app);
  if ($strip instanceof HTMLDetailsElement) $strip.open = true;
  return el(
    "div.check-view",
    el(
      "section.card",
      el("h2", { tabindex: -1, "data-main-heading": true }, title),
      el("p", words),
      button(
        "Change what you said",
        () => app.act((state) => ({ ...state, view: "say" }), { focus: "[data-main-heading]" }),
        {
          class: "control",
        },
      ),
    ),
    $strip,
    otherChecks(app, null, null),
  );
}
