/**
 * Output room: the list of everything that can be measured, made easier to search.
 *
 * The list stands in the page without a script; this adds a field that narrows it and turns
 * its links into places on this page.
 */
import { button, el, formOf } from "../../kit/element.js";
import { findReadings } from "../../knowledge/reading-search.js";

/** @typedef {{id: string, kind: string, ask: string, words: string, $item: HTMLElement}} Place */

/** Bring words to the form they are compared in. @type {(text: string) => string} */
function plain(text) {
  return text
    .toLowerCase()
    .normalize("NFKD")
    .replace(/[\u0300-\u036f]/g, "");
}

/** Read the list that stands in the page. @type {($root: HTMLElement) => Place[]} */
export function placesIn($root) {
  return [...$root.querySelectorAll("li[data-kind]")].flatMap(($item) => {
    if (!($item instanceof HTMLElement)) return [];
    const ask = $item.querySelector(".index__name")?.textContent ?? $item.id;
    const group = $item.closest("section")?.querySelector("h2")?.textContent ?? "";
    const words = plain(`${group} ${$item.textContent ?? ""}`);
    return [{ id: $item.id, kind: $item.dataset.kind ?? "", ask, words, $item }];
  });
}

/** Show only the places that hold every word; return how many do. @type {(places: Place[], typed: string) => number} */
function narrow(places, typed) {
  const wanted = plain(typed)
    .split(/[^a-z0-9]+/)
    .filter((word) => word !== "");
  let count = 0;
  for (const { words, $item } of places) {
    const fits = wanted.every((word) => words.includes(word));
    $item.hidden = !fits;
    if (fits) count += 1;
  }
  for (const $group of new Set(places.map(({ $item }) => $item.closest("section")))) {
    if (!$group) continue;
    $group.hidden = $group.querySelector("li:not([hidden])") === null;
    const $fold = $group.querySelector("details");
    if ($fold) $fold.open = wanted.length > 0;
  }
  return count;
}

/** Say how many places fit. @type {(count: number, typed: string) => string} */
function countWords(count, typed) {
  if (typed.trim() === "") return "";
  if (count === 0) return "Nothing fits these words. Try fewer, or one like volts, cable or label.";
  return count === 1 ? "One fits." : `${count} fit.`;
}

/** Fold each group under its heading, so that the whole shelf is in sight at once. @param {Place[]} places */
function foldGroups(places) {
  for (const $list of new Set(places.map(({ $item }) => $item.parentElement))) {
    const $title = $list?.parentElement?.querySelector("h2");
    if (!$list || !$title) continue;
    const $fold = el("details.fold", el("summary", $title.textContent));
    $title.classList.add("visually-hidden");
    $list.parentElement?.classList.add("part--fold");
    $list.replaceWith($fold);
    $fold.append($list);
  }
}

/**
 * Draw the way from a number in the words to its gauge.
 * @type {(readings: import("../../knowledge/reading-search.js").ReadingText[], text: string) => HTMLAnchorElement[]}
 */
function numberLinks(readings, text) {
  return findReadings(readings, text).map(({ id, ask, value, unit }) =>
    el(
      "a",
      { href: value === "" ? `#${id}` : `#${id}&value=${value}&unit=${unit}` },
      `${value} ${unit}: ${ask}`.replace(/^ : /, ""),
    ),
  );
}

/** What a meter shows; a number alone may be any of them. */
const BARE = /^\s*(-?\d+(?:[.,]\d+)?)\s*$/;
const METER_UNITS = ["V", "mV", "A", "mA"];

/** Ask for the unit of a bare number, by buttons that type it. @param {HTMLInputElement} $field */
function unitButtons($field) {
  const number = BARE.exec($field.value)?.[1];
  if (number === undefined) return [];
  return METER_UNITS.map((unit) =>
    button(
      `${number} ${unit}`,
      () => {
        $field.value = `${number} ${unit}`;
        $field.dispatchEvent(new Event("input"));
        $field.focus();
      },
      { class: "control control--quiet" },
    ),
  );
}

/**
 * Draw the field that narrows the list, and lead the links to this page.
 * @type {(places: Place[], readings: import("../../knowledge/reading-search.js").ReadingText[]) => HTMLElement}
 */
export function shelfFilter(places, readings) {
  for (const { id, $item } of places) $item.querySelector("a")?.setAttribute("href", `#${id}`);
  foldGroups(places);
  const $numbers = el("p.choices");
  const $count = el("p.ask__hint", { role: "status", "data-count": true });
  const $field = el("input.field", { type: "search", id: "shelf-words", autocomplete: "off", enterkeyhint: "search" });
  $field.addEventListener("input", () => {
    const units = unitButtons($field);
    const links = units.length > 0 ? units : numberLinks(readings, $field.value);
    const isNumber = /\d/.test($field.value) && links.length > 0;
    const count = narrow(places, isNumber ? "" : $field.value);
    const isOffered = links.length > 0 && (isNumber || count === 0);
    $numbers.replaceChildren(...(isOffered ? links : []));
    const ask = units.length > 0 ? "Which unit does the meter show?" : "";
    $count.textContent = isOffered ? ask : countWords(count, $field.value);
  });
  // It narrows as one types; there is nothing to send.
  return formOf(
    { class: "shelf-filter", role: "search" },
    () => undefined,
    el("label", { for: "shelf-words" }, "Type the reading, or a word"),
    $field,
    el("p.ask__hint", "For example: resting volts, or your number with its unit."),
    $count,
    $numbers,
  );
}
