/**
 * Output room: a check one step a screen, in large type, for hands that are busy. The screen
 * stays awake while it is open, where the browser lets it.
 *
 * @import { App } from "./app.js"
 */
import { caution } from "../../kit/cautions.js";
import { button, el } from "../../kit/element.js";

/** @returns {() => void} what lets the screen go dark again */
function keepAwake() {
  /** @type {WakeLockSentinel | null} */
  let held = null;
  let isOver = false;
  const hold = async () => {
    if (document.visibilityState !== "visible") return;
    try {
      held = (await navigator.wakeLock?.request("screen")) ?? null;
      if (isOver) await held?.release();
    } catch {
      // Refused, as when the battery of the phone is low: the screen goes dark as it always did.
    }
  };
  void hold();
  document.addEventListener("visibilitychange", hold);
  return () => {
    isOver = true;
    document.removeEventListener("visibilitychange", hold);
    void held?.release();
  };
}

/**
 * List the screens of a check: what to know before it, then each step with its own caution.
 * @type {(app: App, check: string) => Array<{title: string, parts: Array<HTMLElement | null>}>}
 */
function screensOf({ knowledge }, check) {
  const { cautions = [], steps = [] } = knowledge.checks[check] ?? {};
  const first = { title: "Before you start", parts: cautions.map((id) => caution(knowledge, id)) };
  const rest = steps.map((step, place) => ({
    title: `Step ${place + 1} of ${steps.length}`,
    parts: [caution(knowledge, step.caution), el("p.one-step__do", step.do)],
  }));
  return cautions.length > 0 ? [first, ...rest] : rest;
}

/**
 * Open the steps of a check, one a screen.
 * @param {App} app
 * @param {string} check
 * @param {() => void} toResult where the last step leads
 */
export function openOneStep(app, check, toResult) {
  const screens = screensOf(app, check);
  let at = 0;
  const $title = el("h2", { id: "one-step-title", tabindex: -1 });
  const $body = el("div.one-step__body");
  const turn = (/** @type {number} */ by) => () => {
    at += by;
    if (at >= screens.length) {
      $dialog.close();
      toResult();
    } else draw();
  };
  const $back = button("Back", turn(-1), { class: "control control--quiet" });
  const $next = button("Next", turn(1), { class: "control" });
  const $close = button("Close", () => $dialog.close(), { class: "link-button" });
  const draw = () => {
    $title.textContent = screens[at]?.title ?? "";
    $body.replaceChildren(...(screens[at]?.parts ?? []).flatMap(($one) => $one ?? []));
    $back.disabled = at === 0;
    $next.textContent = at === screens.length - 1 ? "Enter the result" : "Next";
    $title.focus();
  };
  const $head = el("div.one-step__head", $title, $close);
  const $foot = el("div.one-step__foot", $back, $next);
  const $dialog = el("dialog.one-step", { "aria-labelledby": "one-step-title" }, $head, $body, $foot);
  const letGo = keepAwake();
  $dialog.addEventListener("close", () => {
    letGo();
    $dialog.remove();
  });
  document.querySelector("#checker")?.append($dialog);
  $dialog.showModal();
  draw();
}
