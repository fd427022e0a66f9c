/**
 * Output room: the look at the check engine light with the key on, for readers without a code reader.
 *
 * @import { Tables } from "../../obd/tables.js"
 * @import { Teller } from "../../kit/fields.js"
 */
import { el } from "../../kit/element.js";
import { choiceEntry } from "../../kit/fields.js";

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
export function lampForm(page) {
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
