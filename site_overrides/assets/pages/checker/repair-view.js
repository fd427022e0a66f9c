/**
 * Output room: the repair that is advised, and what follows once it was made.
 *
 * @import { App } from "./app.js"
 * @import { Advice } from "../../engine/triage.js"
 */
import { setEnded, setMended, setRepaired } from "../../case/case-repair.js";
import { checksShiftedBy } from "../../engine/mended.js";
import { reasonsWords } from "../../engine/words.js";
import { cautionGroup, cautionsOnce } from "../../kit/cautions.js";
import { button, el } from "../../kit/element.js";
import { lowerFirst, priceWords, timeWords, WHO_WORDS } from "../../kit/figures.js";
import { say } from "../../kit/sentences.js";

const FOCUS = { focus: "[data-main-heading]" };

/**
 * Draw the repair: of a cause that a check has confirmed, or one that is worth trying unproven.
 * @type {(app: App, advice: Advice) => HTMLElement | null}
 */
export function repairCard(app, advice) {
  const { repair } = advice;
  if (!repair) return null;
  const about = app.knowledge.causes[repair.cause]?.repair;
  const range = priceWords(repair.price_low, repair.price_high, repair.currency);
  const price = repair.part === null ? "nothing to buy" : `${repair.part}, ${range} (our estimate)`;
  const isSure = repair.because[0]?.kind === "confirmed";
  // The result just above says itself what it calls for.
  const told = repair.because.filter(({ kind, check }) => kind !== "confirmed" || check !== app.state().latest);
  const { title, rest } = headed(repair.action);
  const once = cautionsOnce(app.knowledge);
  const kind = doNow(repair, isSure);
  const made = () => app.act((state) => setRepaired(state, repair.cause), FOCUS);
  return el(
    "section.card.repair",
    { "aria-labelledby": "repair-title" },
    el("p.do-now", say("do-now", { kind })),
    el("p.kicker", isSure ? "What to do" : "Worth trying"),
    el("h2", { id: "repair-title", tabindex: -1, "data-main-heading": true }, title),
    rest === "" ? null : el("p", rest),
    el("p.why", reasonsWords(app.knowledge, told).join(" ")),
    cautionGroup((about?.cautions ?? []).map((id) => once(id))),
    el("p", `Part: ${price}. `, about ? `${WHO_WORDS[repair.who] ?? ""}, about ${timeWords(about)}.` : ""),
    el("p.small", "Then see whether the symptom is gone, in the same conditions as before."),
    button("This is done", made, { class: "control" }),
  );
}

/**
 * Split what to do into a heading, its first sentence, and the rest.
 * @param {string} action sentences, the last without its full stop
 */
function headed(action) {
  const [first = action, ...others] = action.split(/(?<=\.) /);
  const isAll = others.length === 0;
  return { title: isAll ? action : first.slice(0, -1), rest: isAll ? "" : `${others.join(" ")}.` };
}

/** @type {(repair: NonNullable<Advice["repair"]>, isSure: boolean) => "repair" | "part" | "shop" | "try-part"} */
function doNow({ who, part }, isSure) {
  if (isSure && who === "workshop") return "shop";
  if (part === null) return "repair";
  return isSure ? "part" : "try-part";
}

/** Ask whether the repair ended the trouble. @type {(app: App, cause: string) => HTMLElement} */
export function repairedCard(app, cause) {
  const title = lowerFirst(app.knowledge.causes[cause]?.title ?? cause);
  const gone = () => app.act((state) => setEnded(state, cause), { ...FOCUS, say: "Noted: the symptom is gone." });
  const stays = (/** @type {"same" | "better"} */ how) => () =>
    app.act((state) => setMended(state, cause, checksShiftedBy(app.knowledge, cause), how), {
      ...FOCUS,
      say: "Noted. What was measured before the repair no longer counts where the repair changes it.",
    });
  const quiet = { class: "control control--quiet" };
  return el(
    "section.card.repair",
    { "aria-labelledby": "repaired-title" },
    el("p.kicker", `Repair made for: ${title}`),
    el("h2", { id: "repaired-title", tabindex: -1, "data-main-heading": true }, "Is the symptom gone?"),
    el(
      "p",
      "Try the car the way it was when it went wrong: cold or hot, parked or driving, with the same things switched on.",
    ),
    el(
      "p.ways",
      button("Yes, it is gone", gone, { class: "control" }),
      button("It is better, but not gone", stays("better"), quiet),
      button("No, it is still there", stays("same"), quiet),
      button("I have not done it yet", () => app.act((state) => setRepaired(state, null), FOCUS), quiet),
    ),
  );
}

/** Close a case kindly, and say what to write down. @type {(app: App, cause: string) => HTMLElement} */
export function endedCard(app, cause) {
  const about = app.knowledge.causes[cause];
  const part = about?.repair.part;
  const back = () => app.act((state) => setMended(state, cause, checksShiftedBy(app.knowledge, cause)), FOCUS);
  return el(
    "section.card.repair",
    { "aria-labelledby": "ended-title" },
    el("p.kicker", `Repair made for: ${lowerFirst(about?.title ?? cause)}`),
    el("h2", { id: "ended-title", tabindex: -1, "data-main-heading": true }, "Good. You found it and fixed it"),
    el("p", "Some symptoms come only now and then. Give it a week or two before you call it settled."),
    el("h3", "Write down, and keep it with the car"),
    el(
      "ul",
      el("li", "The date and the odometer."),
      el("li", "What the car did, and what you measured. “Send this case to someone” below gives it as text."),
      el(
        "li",
        part
          ? `The part if you put one in (${part}), its type and size, and the receipt.`
          : "What you cleaned, tightened or set, and where.",
      ),
      el("li", "Whether power was lost or codes were cleared: the monitors must then run again before an inspection."),
    ),
    button("It came back", back, { class: "control control--quiet" }),
  );
}
