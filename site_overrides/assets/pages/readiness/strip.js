/**
 * Output room: the counted monitors as one strip of cells, told apart by hatching.
 *
 * The same facts stand beside it in words; it decides nothing.
 *
 * @import { Merged } from "../../obd/readout.js"
 */
import { svg } from "../../kit/element.js";
import { hatchPath } from "../../kit/scale.js";

const CELL = 40;
const HEIGHT = 22;
const DENSITY = 3;

/**
 * Draw the strip: complete monitors as solid cells, incomplete ones hatched.
 * @type {(merged: Merged) => SVGSVGElement}
 */
export function monitorStrip({ countable, incomplete }) {
  const done = countable.length - incomplete.length;
  const width = countable.length * CELL;
  const cells = countable.flatMap((_, place) => {
    const left = place * CELL + 1;
    const box = { x: left, y: 1, width: CELL - 4, height: HEIGHT - 2 };
    const shape = { left, top: 1, width: CELL - 4, height: HEIGHT - 2 };
    if (place < done) return [svg("rect.strip-cell.strip-cell--done", { ...box })];
    return [svg("path.strip-cell__hatch", { d: hatchPath(shape, DENSITY) }), svg("rect.strip-cell", { ...box })];
  });
  const label = `${done} of ${countable.length} counted monitors complete`;
  return svg("svg.monitor-strip", { viewBox: `0 0 ${width} ${HEIGHT}`, role: "img", "aria-label": label }, cells);
}
