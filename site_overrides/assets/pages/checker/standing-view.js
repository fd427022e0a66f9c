/**
 * Output room: "what we know so far": battery and charging, causes, parts not to buy yet.
 *
 * It draws an advice; it does not make one.
 *
 * @import { App } from "./app.js"
 * @import { Advice } from "../../engine/triage.js"
 * @import { Held } from "../../engine/policy.js"
 */

import { reasonsWords, supplyName, supplyWords, untilWords } from "../../engine/words.js";
import { el, folded, svg } from "../../kit/element.js";
import { fractionWords, lowerFirst, minutesWords, moneyWords, priceWords } from "../../kit/figures.js";
import { causeReasons } from "./reasons.js";

/** Bars in sight; the others are folded. */
const MOST_BARS = 5;
/** Causes rarer than this are not drawn unless something raised them. */
const WORTH_SHOWING = 0.01;

/**
 * Draw one bar, with a thin outline of its length before the last answer.
 * @param {number} share
 * @param {number | undefined} former
 * @returns {SVGSVGElement}
 */
function bar(share, former) {
  const width = (/** @type {number} */ part) => `${Math.round(part * 1000) / 10}%`;
  const isMoved = former !== undefined && Math.abs(former - share) >= 0.005;
  const formerClass = former !== undefined && former < share ? "bar__former bar__former--inside" : "bar__former";
  return svg(
    "svg",
    { "aria-hidden": "true", focusable: "false" },
    svg("rect", { class: "bar__track", x: 0.5, y: 0.5, width: "99.8%", height: 9 }),
    svg("rect", { class: "bar__fill", x: 0, y: 0, width: width(share), height: 10 }),
    isMoved ? svg("rect", { class: formerClass, x: 0.5, y: 0.5, width: width(former), height: 9 }) : null,
  );
}

/**
 * Say how a chance moved, for those who do not see the outline.
 * @param {number} share
 * @param {number | undefined} former
 * @returns {string}
 */
function movedWords(share, former) {
  if (former === undefined) return "";
  const [now, before] = [fractionWords(share), fractionWords(former)];
  return now === before ? "" : `, was ${before}`;
}

/**
 * Draw one cause with its bar and the reasons that moved it.
 * @param {App} app
 * @param {Advice} advice
 * @param {Advice["causes"][number]} cause
 * @returns {HTMLElement}
 */
function causeRow(app, advice, cause) {
  const former = app.former[cause.id];
  const { raised, lowered } = causeReasons(app, advice, cause.id);
  const list = (/** @type {string} */ name, /** @type {string[]} */ lines) =>
    lines.length === 0 ? null : el("p", { class: "bars__why" }, el("b", {}, `${name}: `), lines.join("; "), ".");
  return el(
    "li",
    {},
    el(
      "div",
      { class: "bars__line" },
      el("a", { href: `../causes/${cause.id}/` }, cause.title),
      el("span", { class: "bars__odds" }, fractionWords(cause.probability) + movedWords(cause.probability, former)),
    ),
    bar(cause.probability, former),
    list("More likely because of", raised),
    list("Less likely because of", lowered),
  );
}

/**
 * Draw the causes, the likeliest first.
 * @param {App} app
 * @param {Advice} advice
 * @returns {HTMLElement}
 */
function causeBars(app, advice) {
  const shown = advice.causes.filter((cause, place) => place < 3 || cause.probability >= WORTH_SHOWING);
  const rows = shown.map((cause) => causeRow(app, advice, cause));
  const rest = rows.slice(MOST_BARS);
  return el(
    "section",
    { class: "stand-part", "aria-labelledby": "causes-title" },
    el("h3", { id: "causes-title" }, "Likely causes"),
    el("p", { class: "small" }, "By our estimates. Two can be there at once, so they need not add up."),
    el("ol", { class: "bars" }, rows.slice(0, MOST_BARS)),
    rest.length > 0 ? folded("more-causes", `${rest.length} less likely`, el("ol", { class: "bars" }, rest)) : null,
  );
}

/**
 * Draw the state of the supply with its reasons.
 * @param {App} app
 * @param {Advice} advice
 * @returns {HTMLElement}
 */
function supplyPart(app, advice) {
  const reasons = reasonsWords(app.knowledge, advice.supply.because);
  return el(
    "section",
    { class: "stand-part", "aria-labelledby": "supply-title" },
    el(
      "h3",
      { id: "supply-title" },
      "Battery and charging: ",
      el("span", { class: "supply-state" }, supplyName(advice.supply.state)),
    ),
    el("p", {}, supplyWords(advice.supply.state)),
    reasons.length > 0
      ? el(
          "ul",
          {},
          reasons.map((line) => el("li", {}, line)),
        )
      : null,
  );
}

/**
 * @param {App} app
 * @param {Held} held
 * @returns {HTMLElement}
 */
function heldRow(app, held) {
  const price = priceWords(held.price_low, held.price_high, held.currency);
  return el(
    "li",
    {},
    el("b", {}, held.part.charAt(0).toUpperCase() + held.part.slice(1)),
    `, ${price}. `,
    `Chance it\u2019s the right part: ${fractionWords(held.probability_at_fault)}. `,
    untilWords(app.knowledge, held.until),
  );
}

/**
 * Put what the next check costs beside what the likeliest part costs.
 * @param {App} app
 * @param {Advice} advice
 * @returns {HTMLElement | null}
 */
function moneyLine(app, advice) {
  const [item] = advice.next;
  const [held] = advice.hold_off;
  if (!item || !held) return null;
  const check = app.knowledge.checks[item.check];
  const cost = moneyWords(item.money, check?.currency ?? held.currency);
  const price = priceWords(held.price_low, held.price_high, held.currency);
  const miss = fractionWords(Math.max(0, 1 - held.probability_at_fault));
  return el(
    "p",
    { class: "money" },
    `The next check costs ${cost} and ${minutesWords(item.minutes)}. `,
    `Buying now, the likeliest part (${lowerFirst(held.part)}, ${price}) would be in vain in ${miss} cars like yours.`,
  );
}

/**
 * Draw the parts not to buy yet, or nothing.
 * @param {App} app
 * @param {Advice} advice
 * @returns {HTMLElement | null}
 */
function holdOffPart(app, advice) {
  if (advice.hold_off.length === 0) return null;
  return el(
    "section",
    { class: "stand-part", "aria-labelledby": "hold-title" },
    el("h3", { id: "hold-title" }, "Don\u2019t buy yet"),
    moneyLine(app, advice),
    el(
      "ul",
      { class: "held" },
      advice.hold_off.map((held) => heldRow(app, held)),
    ),
    el("p", { class: "small" }, "Prices and chances are our estimates."),
  );
}

/**
 * Draw what is known so far.
 * @param {App} app
 * @param {Advice} advice
 * @returns {HTMLElement}
 */
export function standingView(app, advice) {
  return el(
    "section",
    { class: "standing", "aria-labelledby": "standing-title" },
    el("h2", { id: "standing-title" }, "What we know so far"),
    supplyPart(app, advice),
    causeBars(app, advice),
    holdOffPart(app, advice),
  );
}
