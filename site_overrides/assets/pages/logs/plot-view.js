/**
 * Output room: the plot with its controls: buttons, keys, wheel, one finger, two fingers.
 *
 * Every way changes the same range. What is shown is said in words, and stands as a table.
 *
 * @import { Bucket, Range } from "./plot-range.js"
 * @import { PlotData, Quantity } from "./plot.js"
 */
import { button, el, folded, tableOf, titled } from "../../kit/element.js";
import { clock } from "../../logs/voltlog-words.js";
import { drawPlot, VOLTS } from "./plot.js";
import { buckets, fitted, moved, zoomed } from "./plot-range.js";

const STEP = 2;
const MOVE = 0.4;
const TABLE_ROWS = 12;
const ROOM = 0.15; // shown on either side of a stretch the reader asks for
const WIDTH_AT_FIRST = 328;

/**
 * Draw what the picture shows as a table of equal spans.
 * @type {(spans: Bucket[], quantity: Quantity) => HTMLElement}
 */
function spanTable(spans, { decimals, unit }) {
  const rows = spans.map(({ from, to, low, high, rows: count }) =>
    el(
      "tr",
      el("th.num", { scope: "row" }, clock(from)),
      el("td.num", clock(to)),
      el("td.num", `${low.toFixed(decimals)}\u00a0${unit}`),
      el("td.num", `${high.toFixed(decimals)}\u00a0${unit}`),
      el("td.num", String(count)),
    ),
  );
  return el(
    "div.table-wrap",
    { tabindex: 0, role: "region", "aria-label": "The plot as a table" },
    tableOf(["From", "To", "Lowest", "Highest", "Rows"], rows, { class: "spans" }),
  );
}

/** The plot on the page and the range it shows. */
export class PlotView {
  /**
   * @param {PlotData} data
   * @param {number} duration seconds
   */
  constructor(data, duration) {
    this.data = data;
    this.duration = duration;
    /** @type {Range} */
    this.range = { from: 0, to: duration };
    this.width = WIDTH_AT_FIRST;
    /** @type {Map<number, number>} */
    this.fingers = new Map();
    this.$words = el("p.small", { role: "status" });
    this.$stage = el("div.plot__stage", {
      tabindex: 0,
      role: "group",
      "aria-labelledby": "plot-title",
      "aria-describedby": "plot-keys",
    });
    this.$table = el("div");
    this.$fold = folded("plot-table", "The plot as a table", this.$table);
    this.$fold.addEventListener("toggle", () => this.drawTable());
    this.$view = this.frame();
    this.listen();
    new ResizeObserver(() => this.resize()).observe(this.$stage);
    this.draw();
  }

  frame() {
    const quiet = { class: "control control--quiet" };
    const way = (/** @type {string} */ sign, /** @type {string} */ name, /** @type {() => void} */ act) =>
      button(sign, act, { ...quiet, "aria-label": name });
    return titled(
      "section.plot.part",
      el("h2", { id: "plot-title" }, "The log"),
      this.$stage,
      el(
        "div.plot__ways",
        { role: "group", "aria-label": "Move in the plot" },
        way("+", "Zoom in", () => this.zoom(STEP)),
        way("\u2212", "Zoom out", () => this.zoom(1 / STEP)),
        way("\u2190", "Earlier", () => this.move(-MOVE)),
        way("\u2192", "Later", () => this.move(MOVE)),
        way("All", "Whole log", () => this.show({ from: 0, to: this.duration })),
      ),
      this.$words,
      el(
        "p.small",
        { id: "plot-keys" },
        "Two fingers zoom, one finger moves. With the plot in focus: plus and minus, arrow keys, the wheel, and Home for the whole log.",
      ),
      this.$fold,
    );
  }

  resize() {
    const width = Math.round(this.$stage.clientWidth);
    if (width === 0 || width === this.width) return;
    this.width = width;
    this.draw();
  }

  draw() {
    const { $picture, unnamed } = drawPlot(this.data, this.range, this.width);
    this.$stage.replaceChildren($picture);
    const { from, to } = this.range;
    const names = unnamed === 0 ? "" : " Some names do not fit; zoom in, or see the list below.";
    this.$words.textContent = `Shown: ${clock(from)} to ${clock(to)}.${names}`;
    this.drawTable();
  }

  drawTable() {
    if (!this.$fold.open) return;
    const { series, quantity = VOLTS } = this.data;
    this.$table.replaceChildren(spanTable(buckets(series, this.range, { columns: TABLE_ROWS }), quantity));
  }

  /** @param {Range} range */
  show(range) {
    this.range = fitted(range, this.duration);
    this.draw();
  }

  /** Lead the reader to a stretch, with a little room around it. @type {(start: number, end: number) => void} */
  look(start, end) {
    const room = Math.max((end - start) * ROOM, 15);
    this.show({ from: start - room, to: end + room });
    this.$stage.focus({ preventScroll: true });
    this.$view.scrollIntoView({ block: "start" });
  }

  /**
   * @param {number} factor
   * @param {number} [at] the point that stays, from 0 to 1
   */
  zoom(factor, at = 0.5) {
    this.show(zoomed(this.range, factor, { at, duration: this.duration }));
  }

  /** @param {number} share */
  move(share) {
    this.show(moved(this.range, share, this.duration));
  }

  /**
   * @param {number} clientX
   * @returns {number} from 0 to 1 across the picture
   */
  placeOf(clientX) {
    const { left, width } = this.$stage.getBoundingClientRect();
    return Math.min(Math.max((clientX - left) / (width || 1), 0), 1);
  }

  listen() {
    const { $stage } = this;
    $stage.addEventListener("keydown", (event) => this.onKey(event));
    $stage.addEventListener("wheel", (event) => this.onWheel(event), { passive: false });
    $stage.addEventListener("pointerdown", (event) => {
      this.fingers.set(event.pointerId, event.clientX);
      $stage.setPointerCapture(event.pointerId);
    });
    $stage.addEventListener("pointermove", (event) => this.onFinger(event));
    for (const name of /** @type {const} */ (["pointerup", "pointercancel"])) {
      $stage.addEventListener(name, (event) => this.fingers.delete(event.pointerId));
    }
  }

  /** @param {KeyboardEvent} event */
  onKey(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const ways = /** @type {Record<string, () => void>} */ ({
      "+": () => this.zoom(STEP),
      "=": () => this.zoom(STEP),
      "-": () => this.zoom(1 / STEP),
      ArrowLeft: () => this.move(-MOVE / 2),
      ArrowRight: () => this.move(MOVE / 2),
      Home: () => this.show({ from: 0, to: this.duration }),
    });
    const act = ways[event.key];
    if (!act) return;
    event.preventDefault();
    act();
  }

  /** @param {WheelEvent} event */
  onWheel(event) {
    // Out of focus the wheel moves the page, as a reader scrolling past expects.
    if (!event.ctrlKey && document.activeElement !== this.$stage) return;
    event.preventDefault();
    this.zoom(event.deltaY < 0 ? 1.25 : 0.8, this.placeOf(event.clientX));
  }

  /** @param {PointerEvent} event */
  onFinger(event) {
    const former = this.fingers.get(event.pointerId);
    if (former === undefined) return;
    const others = [...this.fingers.entries()].filter(([id]) => id !== event.pointerId);
    this.fingers.set(event.pointerId, event.clientX);
    const other = others[0]?.[1];
    if (other === undefined) {
      this.move(this.placeOf(former) - this.placeOf(event.clientX));
      return;
    }
    const apart = Math.max(Math.abs(former - other), 8);
    const now = Math.max(Math.abs(event.clientX - other), 8);
    this.zoom(now / apart, this.placeOf((event.clientX + other) / 2));
  }
}
