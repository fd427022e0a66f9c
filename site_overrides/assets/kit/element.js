/**
 * Output room: make elements without markup strings.
 *
 * Data becomes text nodes and attributes only; there is no way from here to innerHTML or to
 * a style attribute, so the page's policy can forbid both.
 */

const SVG = "http://www.w3.org/2000/svg";

/** @typedef {Node | string | null | undefined | false} Child */
/** @typedef {Record<string, string | number | boolean | null | undefined | EventListener>} Attributes */

/**
 * What a name such as "p.small" makes: a paragraph of the class small.
 * @template {object} Map
 * @typedef {(keyof Map & string) | `${keyof Map & string}.${string}`} NameIn
 */
/**
 * @template {object} Map
 * @template {NameIn<Map>} Name
 * @typedef {Name extends keyof Map ? Map[Name] : Name extends `${infer Tag extends keyof Map & string}.${string}` ? Map[Tag] : never} Made
 */

/** @type {($node: Element, classes: string[], parts: Array<Attributes | Child | Child[]>) => void} */
function fill($node, classes, parts) {
  const [first] = parts;
  const isNamed = typeof first === "object" && first !== null && !Array.isArray(first) && !(first instanceof Node);
  if (classes.length > 0) $node.setAttribute("class", classes.join(" "));
  for (const [name, value] of Object.entries(isNamed ? first : {})) {
    if (typeof value === "function") $node.addEventListener(name.replace(/^on/, ""), value);
    else if (value === true) $node.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) $node.setAttribute(name, String(value));
  }
  for (const child of (isNamed ? parts.slice(1) : parts).flat()) {
    if (child || child === "") $node.append(/** @type {Node | string} */ (child));
  }
}

/**
 * Make an HTML element of a tag and its classes: its attributes, if it has more, then its children.
 * Functions become listeners for the event after "on".
 * @template {NameIn<HTMLElementTagNameMap>} Name
 * @param {Name} name
 * @param {Attributes | Child | Child[]} [first]
 * @param {...(Child | Child[])} children
 * @returns {Made<HTMLElementTagNameMap, Name>}
 */
export function el(name, first, ...children) {
  const [tag = "", ...classes] = name.split(".");
  const $node = document.createElement(tag);
  fill($node, classes, [first, ...children]);
  return /** @type {Made<HTMLElementTagNameMap, Name>} */ ($node);
}

/**
 * Make an SVG element in the same way.
 * @template {NameIn<SVGElementTagNameMap>} Name
 * @param {Name} name
 * @param {Attributes | Child | Child[]} [first]
 * @param {...(Child | Child[])} children
 * @returns {Made<SVGElementTagNameMap, Name>}
 */
export function svg(name, first, ...children) {
  const [tag = "", ...classes] = name.split(".");
  const $node = document.createElementNS(SVG, tag);
  fill($node, classes, [first, ...children]);
  return /** @type {Made<SVGElementTagNameMap, Name>} */ (/** @type {unknown} */ ($node));
}

/**
 * Make a button that does one thing.
 * @type {(label: string, act: () => void, attributes?: Attributes) => HTMLButtonElement}
 */
export function button(label, act, attributes = {}) {
  return el("button", { type: "button", onclick: () => act(), ...attributes }, label);
}

/**
 * Make a section, or the like, that is named by the heading it begins with.
 * @type {(name: "section" | `section.${string}` | `article.${string}`, $heading: HTMLElement,
 *   ...children: (Child | Child[])[]) => HTMLElement}
 */
export function titled(name, $heading, ...children) {
  return el(name, { "aria-labelledby": $heading.id }, $heading, ...children);
}

/** Make a list, an item for each. @type {(items: readonly (Child | Child[])[], attributes?: Attributes) => HTMLUListElement} */
export function bullets(items, attributes = {}) {
  return el(
    "ul",
    attributes,
    items.map((item) => el("li", item)),
  );
}

/**
 * Draw a question above its rows of boxes.
 * @type {(legend: string, rows: HTMLElement[], classes?: {set?: string, list?: string}) => HTMLElement}
 */
export function tickSet(legend, rows, { set = "plain-set", list = "ticks" } = {}) {
  return el("fieldset", { class: set }, el("legend", legend), el("ul", { class: list }, rows));
}

/**
 * Make a table, a column for each name.
 * @type {(names: string[], rows: HTMLElement[], attributes?: Attributes, $caption?: Child) => HTMLTableElement}
 */
export function tableOf(names, rows, attributes = {}, $caption = null) {
  const head = names.map((name) => el("th", { scope: "col" }, name));
  return el("table", attributes, $caption, el("thead", el("tr", head)), el("tbody", rows));
}

/**
 * Make a form that stays on the page: sending it does what is given.
 * @type {(attributes: Attributes, send: () => void, ...children: (Child | Child[])[]) => HTMLFormElement}
 */
export function formOf(attributes, send, ...children) {
  const onsubmit = (/** @type {Event} */ event) => {
    event.preventDefault();
    send();
  };
  return el("form", { ...attributes, onsubmit }, ...children);
}

/** Keep odds such as “1 in 12” on one line. @type {(words: string) => Child[]} */
export function unbroken(words) {
  return words.split(/(\d+ in \d+)/).map((part, place) => (place % 2 === 1 ? el("span.whole", part) : part));
}

/**
 * Make a folded part. It stays as the reader left it when the view is drawn anew.
 * @type {(key: string, summary: Child | Child[], ...children: (Child | Child[])[]) => HTMLDetailsElement}
 * @param key names the part among the views
 */
export function folded(key, summary, ...children) {
  return el("details.fold", { "data-keep": key }, el("summary", summary), el("div.fold__body", ...children));
}

/** Find an element or say which one is missing. @type {($root: ParentNode, selector: string) => HTMLElement} */
export function need($root, selector) {
  const $found = $root.querySelector(selector);
  if (!($found instanceof HTMLElement)) throw new Error(`The page lacks an element "${selector}".`);
  return $found;
}
