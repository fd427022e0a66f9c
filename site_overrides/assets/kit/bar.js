/** Output room: one bar of a chance, with what it was before. */
import { svg } from "./element.js";

/**
 * Draw one bar, with a thin outline of its length before the last answer.
 * @type {(share: number, former?: number) => SVGSVGElement}
 */
export function bar(share, former) {
  const width = (/** @type {number} */ part) => `${Math.round(part * 1000) / 10}%`;
  const isMoved = former !== undefined && Math.abs(former - share) >= 0.005;
  const formerClass = former !== undefined && former < share ? "bar__former bar__former--inside" : "bar__former";
  return svg(
    "svg",
    { "aria-hidden": "true", focusable: "false" },
    svg("rect.bar__track", { x: 0.5, y: 0.5, width: "99.8%", height: 9 }),
    svg("rect.bar__fill", { x: 0, y: 0, width: width(share), height: 10 }),
    isMoved ? svg("rect", { class: formerClass, x: 0.5, y: 0.5, width: width(former), height: 9 }) : null,
  );
}
