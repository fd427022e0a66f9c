/**
 * Output room: the ways to give a readout: tick names, paste text, or watch the lamp.
 *
 * @import { Kept } from "../../obd/kept-readiness.js"
 * @import { Tables } from "../../obd/tables.js"
 * @import { Teller } from "../../kit/fields.js"
 */
import { button, el, folded, tickSet } from "../../kit/element.js";
import { entry, tick } from "../../kit/fields.js";
import { settle } from "../../kit/place.js";
import { EXAMPLES } from "./examples.js";
import { lampForm } from "./lamp-form.js";
import { fuelBeside, tickForm } from "./tick-grid.js";

/**
 * Draw the choice of the way and both ways.
 * @type {(tables: Tables, kept: Kept, page: Teller & {refresh: () => void}, read: () => void) => HTMLElement}
 * @param kept its `way`, `text` and `ticks` are changed in place
 */
export function readoutForm(tables, kept, page, read) {
  const $text = el("textarea", {
    id: "readout-text",
    rows: 6,
    spellcheck: "false",
    autocomplete: "off",
    autocapitalize: "off",
    placeholder: "7E8 06 41 01 00 07 65 04",
    "aria-describedby": "readout-hint",
  });
  $text.defaultValue = kept.text;
  const readIt = () => {
    kept.text = $text.value;
    settle($text);
    read();
  };
  const examples = EXAMPLES.map(({ name, text }) =>
    el(
      "li",
      button(
        name,
        () => {
          $text.value = text;
          readIt();
        },
        { class: "link-button" },
      ),
    ),
  );
  const $paste = el(
    "div",
    { hidden: kept.way !== "text", "data-draft": "readout" },
    entry("readout-text", "What the reader shows", $text),
    el(
      "p.entry__hint",
      { id: "readout-hint" },
      "A list of monitors, replies to service 01 PID 01, codes, and anything else it gave. Spaces and noise do not matter.",
    ),
    button("Read the monitors", readIt, { class: "control", "data-read": "text" }),
    folded("examples", "Or try an invented example", el("ul.inline-links", examples)),
  );
  const $ticks = el("div", { hidden: kept.way !== "ticks" }, tickForm(tables, kept.ticks, page, read));
  const $lamp = el("div", { hidden: kept.way !== "lamp" }, lampForm(page));
  const way = (/** @type {"text" | "ticks" | "lamp"} */ name, /** @type {string} */ words) => {
    const onchange = () => {
      kept.way = name;
      $paste.hidden = name !== "text";
      $ticks.hidden = name !== "ticks";
      $lamp.hidden = name !== "lamp";
      if (name === "ticks") page.tell("fuel-kind", fuelBeside(kept.ticks, kept.told)); // asked above, in its own words
      page.refresh();
    };
    return tick(`way-${name}`, words, { type: "radio", name: "way", checked: kept.way === name, onchange });
  };
  return el(
    "div.give",
    tickSet("What does your code reader give you?", [
      way("ticks", "Names of monitors on a screen"),
      way("text", "Text that I can paste, words or numbers"),
      way("lamp", "I have none: watch the light"),
    ]),
    $ticks,
    $paste,
    $lamp,
  );
}
