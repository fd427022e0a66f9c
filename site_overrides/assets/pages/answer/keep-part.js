/**
 * Output room: keep the case of a message in the list of cases, so that the answer finds it again.
 *
 * @import { About } from "../../case/case-link.js"
 * @import { Advice } from "../../engine/triage.js"
 * @import { Case, Knowledge } from "../../knowledge/types.js"
 */
import { fromCase } from "../../case/case.js";
import { caseLine } from "../../case/case-line.js";
import { LONGEST_NAME } from "../../case/sheet.js";
import { caseById, changeCase, keepCase } from "../../case/shelf.js";
import { triage } from "../../engine/triage.js";
import { el, formOf } from "../../kit/element.js";
import { ROOT } from "../../kit/marks.js";

/**
 * Draw the nickname and the control that keeps the case.
 * @type {(knowledge: Knowledge, car: Case, about: About & {id: string}) => HTMLElement}
 */
export function keepPart(knowledge, car, about) {
  const known = caseById(about.id)?.sheet.name ?? "";
  const $name = el("input.field", { id: "keep-name", value: known, maxlength: LONGEST_NAME, autocomplete: "off" });
  const $said = el("p.small", { role: "status" });
  const keep = () => {
    const advised = caseLine(knowledge, car.symptoms, /** @type {Advice} */ (triage(knowledge, car)));
    const name = $name.value.trim().slice(0, LONGEST_NAME);
    const kept =
      keepCase(about, fromCase(car, null), advised) === "kept" &&
      changeCase(about.id, ({ sheet }) => ({ sheet: { ...sheet, name } })) === "kept";
    const $list = el("a", { href: `${ROOT}cases/` }, "All your cases");
    $said.replaceChildren(...(kept ? ["Kept. ", $list] : ["This browser has no room for it."]));
  };
  return formOf(
    {},
    keep,
    el("label", { for: "keep-name" }, "Nickname, kept on this device only"),
    $name,
    el("p.ways", el("button.control.control--quiet", { type: "submit" }, "Keep in your cases")),
    $said,
  );
}
