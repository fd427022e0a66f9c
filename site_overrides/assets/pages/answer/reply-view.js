/** Output room: how the writer begins and ends it. */

import { el, folded } from "../../kit/element.js";
import { Store } from "../../kit/store.js";

/** How the writer begins and ends, kept on this device and nowhere else. */
const tone = new Store("before-parts-answer");

/** @returns {{greeting: string, closing: string}} */
export function keptTone() {
  const record = tone.read() ?? {};
  const text = (/** @type {unknown} */ one) => (typeof one === "string" ? one.slice(0, 200) : "");
  return { greeting: text(record.greeting), closing: text(record.closing) };
}

/** Draw the two fields of the writer's tone. @type {(changed: () => void) => HTMLElement} */
export function toneFields(changed) {
  const now = keptTone();
  const field = (/** @type {"greeting" | "closing"} */ name, /** @type {string} */ label) => {
    const $field = el("input.field", { id: `tone-${name}`, maxlength: 200, value: now[name] });
    $field.addEventListener("change", () => {
      tone.takeOver();
      tone.write({ ...keptTone(), [name]: $field.value });
      changed();
    });
    return [el("label", { for: `tone-${name}` }, label), $field];
  };
  return folded(
    "tone",
    "Your greeting and closing line",
    field("greeting", "Greeting, for example “Hello Sam,”"),
    field("closing", "Closing line, for example “Good luck! Robin”"),
    el("p.small", "Kept on this device only."),
  );
}
