/**
 * Output room: send the case: as a link, by the device's own share sheet, or as plain text.
 *
 * @import { Case } from "../../knowledge/types.js"
 * @import { App } from "./app.js"
 * @import { Advice } from "../../engine/triage.js"
 */
import { toCase } from "../../case/case.js";
import { caseDifferences } from "../../case/case-diff.js";
import { encodeWhole } from "../../case/case-link.js";
import { caseText } from "../../case/case-text.js";
import { aboutCase } from "../../case/kept-case.js";
import { triage } from "../../engine/triage.js";
import { button, el, folded, titled } from "../../kit/element.js";
import { qrFigure } from "../../kit/qr.js";
import { linkBook } from "../../knowledge/link-words.js";
import { adviceText } from "./advice-text.js";
import { differenceList } from "./difference-list.js";

/** @typedef {{link: string, isShortened: boolean}} Link isShortened: its log was left out */

/**
 * Write the address that holds the case, and what goes with it.
 * @type {(app: App, car: Case, about: import("../../case/case-link.js").About) => Promise<Link>}
 */
async function linkOf(app, car, about) {
  const book = await linkBook();
  const { letters, isShortened } = encodeWhole(car, book, app.knowledge.version, about);
  return { link: `${location.origin}${location.pathname}#c=${letters}`, isShortened };
}

/**
 * Write the case and the advice on it as text for a message; without advice only the case.
 * @type {(app: App, car: Case, link: string) => string}
 */
function messageText(app, car, link) {
  /** @type {Advice | null} */
  let advice = null;
  try {
    advice = triage(app.knowledge, car);
  } catch {
    // What contradicts itself can still be told; the reader of the message may see why.
  }
  const parts = [
    caseText(app.knowledge, car, advice?.findings.readings ?? {}),
    advice ? adviceText(app.knowledge, advice) : "",
    `The whole case, to open and answer:\n${link}`,
  ];
  return parts.filter((one) => one !== "").join("\n\n");
}

/** Draw the controls once the link is known. @type {(app: App, car: Case, made: Link) => HTMLElement[]} */
function controls(app, car, { link, isShortened }) {
  const $said = el("p.small", { role: "status" });
  const $link = el("textarea.field", { id: "case-link", readonly: true, rows: 3 });
  const $text = el("textarea.field", { id: "case-text", readonly: true, rows: 8 });
  const text = messageText(app, car, link);
  $link.value = link;
  $text.value = text;
  const copy = async (
    /** @type {string} */ what,
    /** @type {HTMLTextAreaElement} */ $field,
    /** @type {string} */ name,
  ) => {
    try {
      await navigator.clipboard.writeText(what);
      $said.textContent = `${name} is copied.`;
    } catch {
      $field.focus();
      $field.select();
      $said.textContent =
        "This browser does not copy by itself. It is selected: copy it with your keyboard or a long press.";
    }
  };
  const share = () => {
    navigator.share({ title: "A case for you to look at", url: link }).catch(() => {
      $said.textContent = "Nothing was shared.";
    });
  };
  const quiet = { class: "control control--quiet" };
  const canShare = "share" in navigator;
  return [
    el(
      "p.small",
      isShortened
        ? "The link holds the case without its log, which is too long for a link. Browsers never send that part of an address to a server."
        : "The link holds the whole case. Browsers never send that part of an address to a server.",
    ),
    el("label", { for: "case-link" }, "Link to this case"),
    $link,
    el(
      "p.ways",
      button("Copy link", () => void copy(link, $link, "The link"), { class: "control" }),
      canShare ? button("Share", share, quiet) : "",
      button("Copy as plain text", () => void copy(text, $text, "The text"), quiet),
    ),
    $said,
    folded(
      "case-as-text",
      "See it as plain text",
      el("label", { for: "case-text" }, "Case and advice, for a message"),
      $text,
    ),
  ];
}

/**
 * Draw a folded part that sends a case; the link is made when it is opened.
 * @type {(app: App, title: string, carNow: () => Case, aboutNow: () => import("../../case/case-link.js").About) =>
 *   HTMLElement}
 */
function sendFold(app, title, carNow, aboutNow) {
  const $body = el("div.share", el("p", { role: "status" }, "Making the link."));
  const $fold = folded("send", title, $body);
  $fold.addEventListener("toggle", () => {
    if (!$fold.open) return;
    const car = carNow();
    linkOf(app, car, aboutNow()).then(
      (link) => $body.replaceChildren(...controls(app, car, link)),
      () =>
        $body.replaceChildren(el("p", { role: "alert" }, "The link could not be made. Try again with a connection.")),
    );
  });
  return $fold;
}

/** Draw the part that sends the case kept here. @type {(app: App) => HTMLElement} */
export function sharePanel(app) {
  const title = app.state().base ? "Send it back" : "Send this case to someone";
  return sendFold(app, title, () => toCase(app.knowledge, app.state()), aboutCase);
}

/**
 * Put the case into the code that goes with it on paper; a case too long for one goes without.
 * @type {(app: App, $code: HTMLElement, writer: import("../../kit/qr.js").Writer) => Promise<void>}
 */
export async function fillCode(app, $code, writer) {
  const { link } = await linkOf(app, toCase(app.knowledge, app.state()), aboutCase());
  const $figure = qrFigure(writer, link, "QR code of this case");
  const words = "This code opens the case with all that was told and measured.";
  $code.replaceChildren(...($figure ? [el("p", words), $figure] : []));
}

/**
 * Draw the part that passes on a case that is only being read.
 * @type {(app: App, car: Case, about: import("../../case/case-link.js").About) => HTMLElement}
 */
export function passOnPanel(app, car, about) {
  const title = "Copy it as text, or pass it on";
  return sendFold(
    app,
    title,
    () => car,
    () => about,
  );
}

/**
 * Draw what the reader changed since the link came, or nothing when no link is being answered.
 * @type {(app: App) => HTMLElement | null}
 */
export function answerPart(app) {
  const { base } = app.state();
  if (base === null) return null;
  const differences = caseDifferences(base, toCase(app.knowledge, app.state()));
  return titled(
    "section.card.answer",
    el("h2", { id: "answer-title" }, "What you changed since the link"),
    differences.length > 0
      ? differenceList(app, differences)
      : el("p", "Nothing yet. Change an answer or enter a result, then send it back below."),
    button("Stop comparing", () => app.act((state) => ({ ...state, base: null }), { focus: "[data-main-heading]" }), {
      class: "link-button",
    }),
  );
}
