/**
 * Output room: what was found in a log, each with the way into the reader's case.
 *
 * @import { Finding } from "../../logs/voltlog-words.js"
 * @import { Known } from "../../measure/known.js"
 */

import { useButton } from "../../case/use-button.js";
import { button, el, tableOf } from "../../kit/element.js";
import { marksOf } from "../../kit/marks.js";
import { clock } from "../../logs/voltlog-words.js";

const KINDS = { crank: "Start", charging: "Charging", rest: "Rest", draw: "Parked draw" };

/** @type {(finding: Finding) => string} */
function whenWords({ start, end }) {
  return start === end ? clock(start) : `${clock(start)} to ${clock(end)}`;
}

/**
 * Draw the findings, in the order of the log.
 * @type {(knowledge: Known, findings: Finding[], options: {marks: string[], look: (start: number,
 *   end: number) => void}) => HTMLElement}
 */
export function findingsTable(knowledge, findings, { marks, look }) {
  const rows = findings.map((finding) => {
    const kind = KINDS[finding.kind];
    const when = whenWords(finding);
    const $look = button("Show it in the plot", () => look(finding.start, finding.end), {
      class: "link-button",
      "aria-label": `Show in the plot: ${kind}, ${when}`,
    });
    const $use = finding.to_case
      ? useButton(knowledge, finding.to_case, `Use this in my check: ${kind}, ${when}`)
      : null;
    return el(
      "tr",
      el("th", { scope: "row" }, kind, el("span.when", when)),
      el("td.said-words", finding.sentence),
      el("td.ways", $use, $look),
    );
  });
  const names = ["When", "What it shows", "What to do with it"];
  const $caption = el("caption", "Limits and slopes behind this:", marksOf(knowledge, marks));
  return tableOf(names, rows, { class: "stack findings marked" }, $caption);
}
