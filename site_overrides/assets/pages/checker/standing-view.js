/**
 * Output room: "what we know so far": battery and charging, causes, parts not to buy yet.
 *
 * It draws an advice; it does not make one.
 *
 * @import { App } from "./app.js"
 * @import { Advice } from "../../engine/triage.js"
 * @import { Held } from "../../engine/policy.js"
 */

import { namedCauses, supplyName, untilWords } from "../../engine/words.js";
import { bar } from "../../kit/bar.js";
import { bullets, el, folded, titled, unbroken } from "../../kit/element.js";
import { fractionWords, priceWords, shortOdds } from "../../kit/figures.js";
import { causeReasons, supplyLines } from "./reasons.js";

/** Causes and parts in sight; the others are folded. */
const MOST_BARS = 3;
const MOST_PARTS = 2;
/** Causes rarer than this are not drawn unless something raised them. */
const WORTH_SHOWING = 0.01;

/**
 * Say how a chance moved, for those who do not see the outline.
 * @type {(share: number, former: number | undefined) => string}
 */
function movedWords(share, former) {
  if (former === undefined) return "";
  const [now, before] = [fractionWords(share), fractionWords(former)];
  return now === before ? "" : `, was ${before}`;
}

/** Draw one cause with its bar. @type {(app: App, cause: Advice["causes"][number]) => HTMLElement} */
function causeRow(app, cause) {
  const former = app.former[cause.id];
  return el(
    "li",
    el(
      "div.bars__line",
      el("a", { href: `../causes/${cause.id}/` }, cause.title),
      el("span.bars__odds", unbroken(fractionWords(cause.probability) + movedWords(cause.probability, former))),
    ),
    bar(cause.probability, former),
  );
}

/**
 * Say what moved a cause, or nothing when nothing did.
 * @type {(app: App, advice: Advice, cause: Advice["causes"][number]) => HTMLLIElement | null}
 */
function whyRow(app, advice, { id, title }) {
  const { raised, lowered } = causeReasons(app, advice, id);
  const list = (/** @type {string} */ name, /** @type {string[]} */ lines) =>
    lines.length === 0 ? null : el("p.bars__why", `${name}: `, lines.join("; "), ".");
  if (raised.length + lowered.length === 0) return null;
  return el("li", el("b", title), list("More likely because of", raised), list("Less likely because of", lowered));
}

/**
 * Draw the causes, the likeliest first; the rarer ones and the reasons are folded.
 * @type {(app: App, advice: Advice) => HTMLElement}
 */
function causeBars(app, advice) {
  const shown = namedCauses(advice, advice.causes.length).filter(
    ({ probability }, place) => place < MOST_BARS || probability >= WORTH_SHOWING,
  );
  const rest = shown.slice(MOST_BARS).map((cause) => causeRow(app, cause));
  const first = shown.slice(0, MOST_BARS);
  const reasons = first.map((cause) => whyRow(app, advice, cause));
  return titled(
    "section.stand-part",
    el("h3", { id: "causes-title" }, "Likely causes ", el("span.mark", "our estimate")),
    el(
      "ol.bars",
      first.map((cause) => causeRow(app, cause)),
    ),
    folded(
      "more-causes",
      rest.length > 0 ? `Why, and ${rest.length} less likely cause${rest.length === 1 ? "" : "s"}` : "Why these",
      el("ul.bars", reasons),
      el("p.small", "Two causes can be there at once, so the chances need not add up."),
      rest.length > 0 ? el("ol.bars", rest) : null,
    ),
  );
}

/**
 * Draw the state of battery and charging; what was found and what is open is folded.
 * @type {(app: App, advice: Advice) => HTMLElement}
 */
function supplyPart(app, { supply }) {
  const lines = supplyLines(app.knowledge, supply);
  return el(
    "section.stand-part",
    { "aria-labelledby": "supply-title" },
    folded(
      "supply",
      el(
        "b",
        { id: "supply-title" },
        "Battery and charging: ",
        el("span.supply-state", { "data-supply": supply.state }, supplyName(supply)),
      ),
      bullets(lines),
    ),
  );
}

/** @type {(app: App, held: Held) => HTMLElement} */
function heldRow(app, held) {
  const price = priceWords(held.price_low, held.price_high, held.currency);
  return el(
    "li",
    el("b", held.part.charAt(0).toUpperCase() + held.part.slice(1)),
    unbroken(`, ${price}. Chance it\u2019s the right part: ${shortOdds(held.probability_at_fault)}. `),
    el("span.small", untilWords(app.knowledge, held.until)),
  );
}

/**
 * Name the parts in one line, once the reader has seen what such a list says.
 * @type {(held: Held[], rows: HTMLElement[]) => HTMLElement}
 */
function heldFold(held, rows) {
  const named = held.slice(0, MOST_PARTS).map(({ part }) => part);
  const more = held.length > MOST_PARTS ? `, and ${held.length - MOST_PARTS} more` : "";
  const $title = el("b", { id: "hold-title" }, "Don\u2019t buy yet: ", el("span", named.join(", ") + more));
  const $fold = folded("held", $title, el("p.small", "The chances are our estimate."), el("ul.held", rows));
  $fold.classList.add("fold--printed");
  return el("section.stand-part", { "aria-labelledby": "hold-title" }, $fold);
}

/** Draw the parts not to buy yet, or nothing. @type {(app: App, advice: Advice) => HTMLElement | null} */
function holdOffPart(app, { hold_off: held }) {
  if (held.length === 0) return null;
  const rows = held.map((one) => heldRow(app, one));
  if (app.state().latest !== null) return heldFold(held, rows);
  const rest = rows.slice(MOST_PARTS);
  return titled(
    "section.stand-part",
    el("h3", { id: "hold-title" }, "Don\u2019t buy yet ", el("span.mark", "our estimate")),
    el("ul.held", rows.slice(0, MOST_PARTS)),
    rest.length > 0
      ? folded("more-parts", rest.length === 1 ? "1 more part" : `${rest.length} more parts`, el("ul.held", rest))
      : null,
  );
}

/** Draw what is known so far. @type {(app: App, advice: Advice) => HTMLElement} */
export function standingView(app, advice) {
  return titled(
    "section.standing",
    el("h2", { id: "standing-title" }, "What we know so far"),
    advice.watch?.kind === "nothing" ? null : causeBars(app, advice),
    holdOffPart(app, advice),
    advice.supply.matters ? supplyPart(app, advice) : null,
  );
}
