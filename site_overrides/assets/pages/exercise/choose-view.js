/**
 * Output room: an instructor chooses a car and gets the link for the class, and the key to it.
 *
 * @import { Car } from "../../exercise/draw.js"
 * @import { Child } from "../../kit/element.js"
 * @import { Tools } from "./words.js"
 */

import { sayOf } from "../../answer/questions.js";
import { causesOf, complaintsFor, drawCar, LEVELS, setsOf } from "../../exercise/draw.js";
import { carLink } from "../../exercise/links.js";
import { copyText } from "../../kit/copy-text.js";
import { button, el, folded, formOf } from "../../kit/element.js";
import { FieldRefused, showRefusal } from "../../kit/fields.js";
import { chooser } from "./chooser.js";
import { paperParts, resultsTable } from "./paper-view.js";
import { byTitle, causeOf, hiddenWords, misreadWords } from "./words.js";

const MOST_SEED = 999_999;

/** Draw the form that makes a car. @type {(tools: Tools) => HTMLElement} */
export function chooseView(tools) {
  const { knowledge, words } = tools;
  const titles = LEVELS.map((level) => ({ id: level, title: sayOf(words, "exercise-level", { level }) }));
  const level = chooser("level", sayOf(words, "exercise-ask-level"), titles);
  const complaint = chooser("complaint", sayOf(words, "exercise-ask-complaint"), []);
  const place = "first";
  const first = chooser("cause", sayOf(words, "exercise-ask-cause", { place }), []);
  const second = chooser("second-cause", sayOf(words, "exercise-ask-cause", { place: "second" }), []);
  const $second = el("div", { hidden: true }, second.$parts);
  const seed = String(1 + Math.floor(Math.random() * MOST_SEED));
  const $seed = el("input.field", { id: "seed", inputmode: "numeric", maxlength: 6, value: seed });
  const $note = el("p.told", { id: "choose-note", role: "status" });
  const $made = el("div");
  const fillCauses = () => {
    const options = byTitle(
      causesOf(knowledge, complaint.$choice.value || " ").map((id) => ({ id, title: causeOf(knowledge, id).title })),
    );
    const drawn = { id: "", title: sayOf(words, "exercise-drawn-cause") };
    // Without a complaint any cause would do, so there is none to choose from yet.
    const offered = complaint.$choice.value === "" ? [drawn] : [drawn, ...options];
    first.fill(offered);
    second.fill(offered);
    $second.hidden = level.$choice.value !== "two";
  };
  const fillComplaints = () => {
    const kept = complaint.$choice.value;
    const ids = complaintsFor(knowledge, level.$choice.value);
    const options = ids.map((id) => ({ id, title: knowledge.symptoms[id]?.title ?? id }));
    complaint.fill([{ id: "", title: sayOf(words, "exercise-any") }, ...byTitle(options)]);
    if (ids.includes(kept)) complaint.$choice.value = kept;
    fillCauses();
  };
  level.$choice.addEventListener("change", fillComplaints);
  complaint.$choice.addEventListener("change", fillCauses);
  fillComplaints();
  const make = () => {
    $made.replaceChildren();
    if (!/^[1-9][0-9]*$/.test($seed.value.trim())) {
      showRefusal($note, new FieldRefused($seed, sayOf(words, "exercise-seed-needed", { most: MOST_SEED })));
      return;
    }
    $seed.removeAttribute("aria-invalid");
    const isTwo = level.$choice.value === "two";
    const causes = [first.$choice.value, isTwo ? second.$choice.value : ""].filter((one) => one !== "");
    const wanted = {
      level: level.$choice.value,
      complaint: complaint.$choice.value,
      causes,
      seed: Number($seed.value),
    };
    const isRefused = isTwo && causes.length > 0 && !isPair(tools, wanted.complaint, causes);
    $note.textContent = isRefused ? sayOf(words, "exercise-two-needed") : "";
    $made.replaceChildren(...(isRefused ? [] : madeParts(tools, drawCar(knowledge, wanted))));
  };
  const $form = formOf(
    { class: "no-print" },
    make,
    level.$parts,
    complaint.$parts,
    first.$parts,
    $second,
    el("label", { for: "seed" }, sayOf(words, "exercise-ask-seed")),
    $seed,
    el("p.small", sayOf(words, "exercise-seed-note")),
    el("p", el("button.control", { type: "submit" }, sayOf(words, "exercise-make"))),
    $note,
  );
  return el("section", el("h2.no-print", sayOf(words, "exercise-choose")), $form, $made);
}

/**
 * Tell whether two causes were chosen that one repair does not put right together.
 * @type {(tools: Tools, complaint: string, causes: string[]) => boolean}
 */
function isPair({ knowledge }, complaint, causes) {
  return setsOf(knowledge, complaint, "two").some(({ thing }) => thing.every((one) => causes.includes(one)));
}

/** @type {(tools: Tools, car: Car) => HTMLElement[]} */
function madeParts(tools, car) {
  const { knowledge, words } = tools;
  const link = `${location.href.split("#")[0]}${carLink(car, knowledge.version)}`;
  const copy = copyText("class-link", sayOf(words, "exercise-class-link"), link, 4);
  const print = () => window.print();
  return [
    el(
      "div.no-print",
      copy.$parts,
      el("p", el("a", { href: link }, sayOf(words, "exercise-try"))),
      el("p", button(sayOf(words, "exercise-print"), print, { class: "control control--quiet" })),
      folded("key", sayOf(words, "exercise-key"), keyParts(tools, car)),
    ),
    ...paperParts(tools, car),
  ];
}

/**
 * Draw what is hidden in a car and what each check that bears on it shows.
 * @type {(tools: Tools, car: Car) => Child[]}
 */
function keyParts(tools, car) {
  const { knowledge, words } = tools;
  return [
    el("p", el("b", knowledge.symptoms[car.complaint]?.title ?? ""), ". ", hiddenWords(tools, car)),
    car.misread.length > 0 ? el("p", misreadWords(tools, car)) : null,
    el("p.small", sayOf(words, "exercise-key-about")),
    resultsTable(tools, car),
  ];
}
