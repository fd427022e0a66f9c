/**
 * Output room: what to do while a check waits, and a reminder for the end of the wait.
 *
 * @import { App } from "./app.js"
 */
import { calendarFile } from "../../kit/calendar.js";
import { button, el, folded } from "../../kit/element.js";
import { hoursWords, lowerFirst } from "../../kit/figures.js";
import { say } from "../../kit/sentences.js";

/** Hand a text to the reader as a file of their own. @type {(name: string, text: string) => void} */
function handOver(name, text) {
  const address = URL.createObjectURL(new Blob([text], { type: "text/calendar" }));
  el("a", { href: address, download: name }).click();
  URL.revokeObjectURL(address);
}

/**
 * Draw the card of a wait, folded; nothing for a check without one.
 * @type {(app: App, check: string) => HTMLDetailsElement | null}
 */
export function waitingFold(app, check) {
  const about = app.knowledge.checks[check];
  if (!about?.wait_hours) return null;
  const wait = about.wait_hours * 60;
  const charges = about.tools.includes("battery-charger");
  const $when = el("p", { role: "status" });
  const remind = () => {
    const now = new Date();
    const start = new Date(now.getTime() + wait * 60_000);
    const title = say("wait-over", { check: lowerFirst(about.title) });
    const address = location.href.split("#")[0] ?? "";
    handOver(
      "before-parts.ics",
      calendarFile({ title, text: say("wait-then"), address, start, minutes: about.minutes, now }),
    );
    const time = start.toLocaleString("en-US", { weekday: "short", hour: "numeric", minute: "2-digit" });
    $when.textContent = say("wait-saved", { time });
  };
  return folded(
    "waiting",
    say("wait-title", { wait: hoursWords(about.wait_hours) }),
    el("p", say("wait-lead", { kind: charges ? "charge" : "rest" })),
    button("Save a reminder for the end of the wait", remind, { class: "control control--quiet" }),
    $when,
  );
}
