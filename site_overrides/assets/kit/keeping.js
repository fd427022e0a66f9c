/** Room kit: what a page that keeps something asks its reader: which of two goes on, and whether to forget. */
import { button, el } from "./element.js";

const QUIET = { class: "control control--quiet" };

/**
 * Say that another page changed or forgot what is kept, and let the reader choose. Until then
 * the page stays as it is, and nothing typed is lost.
 * @param {HTMLElement} $place
 * @param {{what: string, isGone: boolean, show: () => void, keep: () => void}} how what: begins the sentence
 */
export function askWhichGoesOn($place, { what, isGone, show, keep }) {
  const did = isGone ? "forgotten" : "changed";
  // Drawn anew under a finger, the question would lose the tap that answers it.
  if ($place.querySelector(`[data-overtaken="${did}"]`)) return;
  const chosen = (/** @type {() => void} */ act) => () => {
    $place.replaceChildren();
    act();
  };
  $place.replaceChildren(
    el(
      "div.caution",
      { role: "alert", "data-overtaken": did },
      el("p", el("b", `${what} was ${did} in another tab or on another page. `), "Which one goes on?"),
      el(
        "div.control-row",
        button(isGone ? "Start over here too" : "Show it", chosen(show), QUIET),
        button("Keep mine", chosen(keep), QUIET),
      ),
    ),
  );
}

/**
 * Draw a control that forgets after it was asked once more.
 * @type {(label: string, how: {id: string, question: string, isBlank: () => boolean, forget: () => void}) =>
 *   HTMLElement}
 */
export function forgetControl(label, { id, question, isBlank, forget }) {
  const $place = el("div.forget");
  const rest = () => {
    const $ask = button(label, () => (isBlank() ? forget() : ask()), { class: "link-button", id });
    $place.replaceChildren($ask);
    return $ask;
  };
  const ask = () => {
    const $yes = button("Yes, forget it", forget, { class: "control control--quiet", id: `${id}-yes` });
    $place.replaceChildren(
      el("p", { id: `${id}-question` }, question),
      el(
        "div.control-row",
        { role: "group", "aria-labelledby": `${id}-question` },
        $yes,
        button("No, keep it", () => rest().focus(), { class: "control control--quiet" }),
      ),
    );
    $yes.focus();
  };
  rest();
  return $place;
}
