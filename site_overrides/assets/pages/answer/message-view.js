/**
 * Output room: a message as it was written, with marks where something was understood, and each
 * thing understood with one tap to accept, change or drop it.
 *
 * @import { Offer } from "../../answer/offers.js"
 */

import { button, el } from "../../kit/element.js";

/** @typedef {(number: number, change: Partial<Offer>) => void} Change */

const KINDS = {
  symptom: "Symptom",
  absent: "Does not fit",
  past: "Was there, is over",
  reading: "Reading",
  result: "Check made",
  fact: "The car",
  code: "Code",
  repair: "Repair made",
};
const STATES = { open: "not used yet", accepted: "used", dropped: "dropped" };

/**
 * Draw a button that breaks over lines like the words around it, which a button element cannot.
 * @type {(words: string, onclick: (() => void) | null, attributes: Record<string, string | number>) => HTMLElement}
 */
function mark(words, onclick, attributes) {
  const state = onclick ? { tabindex: 0 } : { "aria-disabled": "true" };
  const $mark = el("span", { role: "button", ...state, ...attributes }, words);
  if (!onclick) return $mark;
  $mark.addEventListener("click", onclick);
  $mark.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" && event.key !== " ") return;
    event.preventDefault();
    onclick();
  });
  return $mark;
}

/**
 * Draw the message. A mark is a button that accepts what stands behind it, or takes that back;
 * everything else stays plain text.
 * @type {(text: string, offers: Offer[], change: Change) => HTMLElement}
 */
export function messageView(text, offers, change) {
  const $text = el("p.message");
  let place = 0;
  const inOrder = offers.map((offer, number) => ({ offer, number })).sort((a, b) => a.offer.start - b.offer.start);
  for (const { offer, number } of inOrder) {
    // Where two overlap the first is marked; both stand in the list.
    if (offer.start < place || offer.end <= offer.start) continue;
    const isUsed = offer.state === "accepted";
    const toggle = () => change(number, { state: isUsed ? "open" : "accepted" });
    $text.append(
      text.slice(place, offer.start),
      mark(text.slice(offer.start, offer.end), offer.value === "" ? null : toggle, {
        class: `said said--${offer.state}`,
        "aria-pressed": String(isUsed),
        "data-mark": number,
        title: `${KINDS[offer.kind]}: ${offer.title}, ${STATES[offer.state]}`,
      }),
    );
    place = offer.end;
  }
  $text.append(text.slice(place));
  return $text;
}

/**
 * Draw what was understood as a list.
 * @type {(round: string, offers: Offer[], change: Change) => HTMLElement}
 * @param round names the message among others
 */
export function offerList(round, offers, change) {
  return el(
    "ul.offers.plain",
    offers.map((offer, number) => offerRow(`${round}-${number}`, offer, (made) => change(number, made))),
  );
}

/** @type {(key: string, offer: Offer, change: (change: Partial<Offer>) => void) => HTMLLIElement} */
function offerRow(key, offer, change) {
  const { kind, title, words, state, value, choices } = offer;
  const set = (/** @type {Offer["state"]} */ next) => () => change({ state: state === next ? "open" : next });
  const name = `${KINDS[kind]}: ${title}`;
  const tap = (/** @type {string} */ label, /** @type {Offer["state"]} */ next, /** @type {boolean} */ isOff) =>
    button(label, set(next), {
      class: state === next ? "control" : "control control--quiet",
      "aria-pressed": String(state === next),
      "aria-label": `${label}: ${title}`,
      "data-offer": `${key}-${next}`,
      disabled: isOff,
    });
  return el(
    "li",
    { class: `offer offer--${state}` },
    el(
      "div.offer__what",
      el("p.offer__name", el("b", name), value === "" ? ". Choose what it was:" : ""),
      el("p.small", `“${words.replace(/\s+/g, " ")}”`),
    ),
    el("p.offer__taps", tap("Use", "accepted", value === ""), tap("Drop", "dropped", false)),
    choices.length > 0 ? chooser(key, offer, change) : null,
  );
}

/** @type {(key: string, offer: Offer, change: (change: Partial<Offer>) => void) => HTMLSelectElement} */
function chooser(key, { title, value, choices }, change) {
  const $choice = el(
    "select.field",
    { id: `choice-${key}`, "aria-label": `What “${title}” is` },
    value === "" ? el("option", { value: "" }, "Not told: choose, or ask") : null,
    choices.map((one) => el("option", { value: one.value, selected: one.value === value }, one.label)),
  );
  $choice.addEventListener("change", () => change({ value: $choice.value, state: "accepted" }));
  return $choice;
}
