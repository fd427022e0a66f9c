/**
 * Output room: the ways to give a readout: tick names, paste text, try an invented one, or watch the lamp.
 *
 * The cars of the examples do not exist. Their texts use the plain form of service 01, 03, 07 and 0A replies.
 *
 * @import { Tables } from "../../obd/tables.js"
 * @import { Teller } from "../../kit/fields.js"
 * @import { Kept } from "../../obd/kept-readiness.js"
 */

import { button, el, folded, tickSet } from "../../kit/element.js";
import { choiceEntry, entry, tick } from "../../kit/fields.js";
import { settle } from "../../kit/place.js";
import { fuelBeside, tickForm } from "./tick-grid.js";

/** @typedef {{name: string, text: string}} Example */

/** @type {Example[]} */
export const EXAMPLES = [
  {
    name: "Battery changed yesterday",
    text: [
      "7E8 06 41 01 00 07 E5 E5",
      "7E8 03 41 30 02",
      "7E8 04 41 31 00 1C",
      "7E8 03 41 2F 80",
      "7E8 02 43 00",
      "7E8 02 47 00",
    ].join("\n"),
  },
  {
    name: "Always a full tank",
    text: [
      "7E8 06 41 01 00 07 65 04",
      "7E8 03 41 30 1E",
      "7E8 04 41 31 03 20",
      "7E8 03 41 2F F2",
      "7E8 02 43 00",
      "7E8 02 47 00",
    ].join("\n"),
  },
  {
    name: "Ready, with a permanent code",
    text: [
      "7E8 06 41 01 00 07 E5 00",
      "7E8 03 41 30 10",
      "7E8 04 41 31 01 4A",
      "7E8 02 43 00",
      "7E8 04 4A 01 04 20",
    ].join("\n"),
  },
];

const LAMP_FIELD = "lamp-seen";
const SEEN = /** @type {Array<[string, string]>} */ ([
  ["steady", "It stays lit, steady, until I start the engine"],
  ["goes-off", "It goes off after 15 to 20 seconds, without blinking"],
  ["blinks", "It is lit for 15 to 20 seconds, then blinks"],
  ["dark", "It never comes on"],
  ["stays-running", "It stays on after the engine has started"],
]);
const STEPS = [
  "Park, and set the parking brake.",
  "Turn the key to on, or press the start button without the brake, and do not start the engine.",
  "Watch the check engine light for 30 seconds, without touching anything.",
];

/** Draw the steps and the question. @type {(page: Teller) => HTMLElement} */
function lampForm(page) {
  return el(
    "div",
    el(
      "ol.steps",
      STEPS.map((step) => el("li", step)),
    ),
    choiceEntry(page, LAMP_FIELD, "What does the check engine light do?", SEEN, "Choose"),
  );
}

/**
 * Say what the lamp tells, or nothing when nothing was chosen.
 * @type {(tables: Tables, seen: string | undefined) => HTMLElement | null}
 */
export function lampView(tables, seen) {
  const words = tables.words.lamp_check[seen ?? ""];
  if (!words) return null;
  const isMakers = seen === "steady" || seen === "goes-off" || seen === "blinks";
  return el(
    "section.found",
    { "aria-labelledby": "found-title", "data-lamp": seen },
    el("h3.verdict", { id: "found-title", tabindex: -1 }, words),
    isMakers
      ? el(
          "p",
          "Telling it this way is the maker\u2019s option (13 CCR 1968.2(d)(2.1.3)); your owner\u2019s manual says whether your car does. An inspection reads the computer and not the light, so have the monitors read before you pay for a test.",
        )
      : null,
    seen === "stays-running"
      ? el("p", el("a", { href: "../symptoms/engine-lamp-steady/" }, "The light is on, and steady"))
      : null,
  );
}

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
