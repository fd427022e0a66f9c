/** The home page: the field that finds, and the way back into the case kept on this device. */

import { el } from "../../kit/element.js";
import { keptLine } from "../../kit/kept-line.js";
import "./find.js";

/** Draw the case to come back to. @param {import("../../kit/kept-line.js").Line} line */
function keptCase({ title, done, next }) {
  const checks = done === 0 ? "nothing checked yet" : done === 1 ? "1 check done" : `${done} checks done`;
  return el(
    "section.kept-case",
    { "aria-label": "Your case" },
    el("p", el("b", title), `: ${checks}${next === "" ? "" : `, next: ${next}`}.`),
    el("a.control", { href: "checker/" }, "Go on with your case"),
    " ",
    el("a.control.control--quiet", { href: "cases/" }, "All your cases"),
  );
}

const line = keptLine();
const $place = document.querySelector("[data-kept]");
if (line && $place) $place.replaceWith(keptCase(line));
