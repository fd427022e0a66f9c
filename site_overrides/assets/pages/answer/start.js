/**
 * Join the rooms: a message is pasted, read, checked by its reader, and answered.
 *
 * What was pasted and accepted lives in one object here and is not kept; only the writer's own
 * greeting and closing line are. Nothing enters the case that was not accepted.
 *
 * @import { Offer } from "../../answer/offers.js"
 * @import { Said, Understood } from "../../answer/understand.js"
 * @import { LinkBook } from "../../knowledge/link-words.js"
 * @import { Case, Knowledge, SearchIndex } from "../../knowledge/types.js"
 */

import { answeredIn, resultIn } from "../../answer/asked.js";
import { caseWith, emptyCase, offersOf } from "../../answer/offers.js";
import { phraseBook } from "../../answer/phrases.js";
import { questionsOf } from "../../answer/questions.js";
import { replyTo } from "../../answer/reply.js";
import { LONGEST_MESSAGE } from "../../answer/tokens.js";
import { understand, withAnswers, withResult } from "../../answer/understand.js";
import { adoptCase } from "../../case/case-adopt.js";
import { caseDifferences } from "../../case/case-diff.js";
import { decodeCase, encodeCase, LinkRefused, linkIn } from "../../case/case-link.js";
import { differenceWords } from "../../case/diff-words.js";
import { freshId } from "../../case/sheet.js";
import { copyText } from "../../kit/copy-text.js";
import { button, el, formOf, need } from "../../kit/element.js";
import { sayFailed } from "../../kit/failed.js";
import { fetchedJson } from "../../kit/fetched-json.js";
import { ROOT } from "../../kit/marks.js";
import { completeKnowledge, loadKnowledge } from "../../knowledge/knowledge.js";
import { linkBook } from "../../knowledge/link-words.js";
import { buildIndex } from "../../knowledge/search.js";
import { default as lunr } from "../../vendor/lunr.js";
import { keepPart } from "./keep-part.js";
import { messageView, offerList } from "./message-view.js";
import { keptTone, toneFields } from "./reply-view.js";

/** One message of theirs, read. A link stands as a case with no text. */
/** @typedef {{text: string, understood: Understood | null, offers: Offer[], base: Case}} Round */
/** @typedef {{knowledge: Knowledge, index: SearchIndex, words: any, book: LinkBook}} Tools */

/** @returns {Promise<Tools>} */
async function fetchTools() {
  const [knowledge, texts, words, book] = await Promise.all([
    loadKnowledge(new URL("../../data/checker.json", import.meta.url)),
    fetchedJson(new URL("../../data/search.json", import.meta.url)),
    fetchedJson(new URL("../../data/answer.json", import.meta.url)),
    linkBook(),
  ]);
  await completeKnowledge(knowledge, new URL("../../data/checker-later.json", import.meta.url));
  return { knowledge, index: buildIndex(lunr, texts.texts, texts.synonyms), words, book };
}

/** The page: what was pasted so far, and the drawing of it. */
class Page {
  /**
   * @param {HTMLElement} $root
   * @param {Tools} tools
   */
  constructor($root, tools) {
    this.$root = $root;
    this.tools = tools;
    this.phrases = phraseBook(tools.words.phrases);
    /** @type {Round[]} */
    this.rounds = [];
    /** @type {import("../../case/case-link.js").About & {id: string}} which case this is, on every device */
    this.about = { id: freshId(), log: [] };
    /** What the last reply asked. */
    this.asked = /** @type {import("../../answer/reply.js").Reply["questions"]} */ ([]);
    /** The check it named. */
    this.check = "";
    this.$stage = el("div.stage");
    this.$aloud = el("p.visually-hidden", { "aria-live": "polite" });
    $root.replaceChildren(this.$aloud, this.$stage);
    this.draw();
  }

  /** The case before the last message, and with what is accepted of it. */
  cases() {
    const last = this.rounds.at(-1);
    const before = last?.base ?? emptyCase();
    return { before, now: last ? caseWith(this.tools.knowledge, before, last.offers) : before };
  }

  /** Read a message, or open the case link in it. @param {string} text */
  take(text) {
    const { now } = this.cases();
    const { knowledge, index, book } = this.tools;
    if (/[#&]c=/.test(text)) {
      try {
        const { car: told, about } = decodeCase(linkIn(text), book);
        const { car } = adoptCase(knowledge, book.redirects, told);
        this.about = { id: about.id ?? this.about.id, log: about.log };
        this.rounds.push({ text: "", understood: null, offers: [], base: car });
        this.draw("The link holds a case.", now);
      } catch (error) {
        if (!(error instanceof LinkRefused)) throw error;
        this.draw(error.message);
      }
      return;
    }
    const answered = answeredIn(knowledge.contexts, this.asked, text.slice(0, LONGEST_MESSAGE));
    const check = knowledge.checks[this.check];
    const result = check ? resultIn(this.check, check, text.slice(0, LONGEST_MESSAGE)) : null;
    const understood = withResult(withAnswers(understand(index, this.phrases, text), answered), result);
    const offers = offersOf(knowledge, understood).filter((one) => !isKnown(knowledge, now, one));
    this.rounds.push({ text: text.slice(0, LONGEST_MESSAGE), understood, offers, base: now });
    this.draw(`${offers.length} things were understood. Use or drop each.`);
  }

  /** @type {(number: number, made: Partial<Offer>) => void} */
  change(number, made) {
    const round = this.rounds.at(-1);
    const offer = round?.offers[number];
    if (!round || !offer) return;
    round.offers[number] = { ...offer, ...made };
    const focus = document.activeElement;
    const again = ["data-offer", "data-mark", "id"].flatMap((name) => {
      const value = focus?.getAttribute(name);
      return value ? [`[${name}="${value}"]`] : [];
    })[0];
    this.draw();
    if (again) /** @type {HTMLElement | null} */ (this.$stage.querySelector(again))?.focus();
  }

  /**
   * @param {string} [say]
   * @param {Case} [compared] what the present case is held against, if not the one before
   */
  draw(say = "", compared) {
    const round = this.rounds.at(-1);
    const { before, now } = this.cases();
    const isFirst = this.rounds.length < 2;
    this.$stage.replaceChildren(
      ...(round ? [el("p", { "data-note": true })] : [pasteForm(this, true)]),
      ...(round ? this.roundParts(round) : []),
      ...(round && !isFirst ? [changedPart(this.tools.knowledge, compared ?? before, now)] : []),
      ...(hasContent(now) ? replyParts(this, now) : []),
      ...(round ? [pasteForm(this, false)] : []),
    );
    this.$aloud.textContent = say;
    const $note = this.$stage.querySelector("[data-note]");
    if ($note) $note.textContent = say;
    if (say === "" || !round) return;
    const $title = this.$stage.querySelector("h2");
    $title?.focus({ preventScroll: true });
    $note?.scrollIntoView({ block: "nearest" });
  }

  /** @param {Round} round */
  roundParts({ text, understood, offers }) {
    if (!understood) return [];
    const change = (/** @type {number} */ number, /** @type {Partial<Offer>} */ made) => this.change(number, made);
    const asked = questionsOf(this.tools.words.sentences, understood);
    // Symptoms are chosen one by one: each leads the advice its own way.
    const isSure = (/** @type {Offer} */ { state, value, kind }) =>
      state === "open" && value !== "" && kind !== "symptom" && kind !== "past";
    const isUsed = (/** @type {Offer} */ { kind, state }) => kind === "symptom" && state === "accepted";
    const acceptAll = () => {
      const round = this.rounds.at(-1);
      if (!round) return;
      const accepted = /** @type {const} */ ("accepted");
      round.offers = offers.map((one) => (isSure(one) ? { ...one, state: accepted } : one));
      const isSymptomLeft = !round.offers.some(isUsed) && round.offers.some(({ kind }) => kind === "symptom");
      this.draw(`Readings and facts are used.${isSymptomLeft ? " Now use the symptoms that fit." : ""}`);
    };
    return [
      el("h2", { tabindex: -1 }, "What was understood"),
      el("p.small", "Underlined words were understood; the rest was not. Tap them, or the buttons below."),
      understood.cut ? el("p.caution", "The message is very long. Only its first part was read.") : "",
      messageView(text, offers, change),
      offers.length > 0 ? "" : el("p", "Nothing was understood that the checker could use."),
      offerList(String(this.rounds.length), offers, change),
      offers.some(isSure)
        ? el("p.ways", button("Use all readings and facts", acceptAll, { class: "control", "data-all": true }))
        : "",
      alsoSaid(understood, offers),
      asked.length > 0 ? listPart("Ask them", asked) : "",
    ];
  }
}

/**
 * Tell whether a case holds what is offered already.
 * @type {(knowledge: Knowledge, car: Case, offer: Offer) => boolean}
 */
function isKnown(knowledge, car, offer) {
  const after = caseWith(knowledge, car, [{ ...offer, state: "accepted" }]);
  return offer.value !== "" && caseDifferences(car, after).length === 0;
}

/** @param {Case} car */
function hasContent(car) {
  return car.symptoms.length > 0 || Object.keys(car.readings).length > 0 || Object.keys(car.outcomes).length > 0;
}

/** @type {(page: Page, isFirst: boolean) => HTMLFormElement} */
function pasteForm(page, isFirst) {
  const $text = el("textarea.field", { id: "pasted", rows: isFirst ? 8 : 4, maxlength: LONGEST_MESSAGE });
  const send = () => {
    if ($text.value.trim() !== "") page.take($text.value);
  };
  return formOf(
    { class: "paste" },
    send,
    el("label", { for: "pasted" }, isFirst ? "Paste what they wrote" : "They answered? Paste the words or the link"),
    $text,
    isFirst ? el("p.small", { role: "status", "data-note": true }) : null,
    el("p.ways", el("button.control", { type: "submit" }, "Read it")),
  );
}

/**
 * List what was said and has no place in a case, or none that is sure.
 * @type {(understood: Understood, offers: Offer[]) => "" | HTMLElement}
 */
function alsoSaid({ codes, replaced, thought_of: thoughtOf, tools, monitors, past, negated }, offers) {
  const isLeft =
    (/** @type {Offer["kind"]} */ kind) =>
    (/** @type {Said} */ { start, end }) =>
      !offers.some((one) => one.kind === kind && start <= one.start && one.end <= end);
  const helped = (/** @type {boolean | null} */ one) => (one === null ? "" : one ? ", and it helped" : ", no help");
  const lines = [
    ...codes.filter(isLeft("code")).map(({ code }) => `Code ${code}`),
    ...replaced.filter(isLeft("repair")).map((one) => `Replaced: ${one.what}${helped(one.helped)}`),
    ...thoughtOf.map(({ what }) => `Thinks of buying: ${what}`),
    ...Object.entries(monitors).map(([id, state]) => `Monitor ${id.replaceAll("-", " ")}: ${state}`),
    ...tools.map(({ id }) => `Tool at hand: ${id.replaceAll("-", " ")}`),
    ...past.filter(isLeft("past")).map(({ words }) => `Over: “${words}”`),
    ...negated.map(({ words }) => `No trouble with: “${words}”`),
  ];
  return lines.length > 0 ? listPart("Also said", lines) : "";
}

/** Draw a titled list. @type {(title: string, lines: string[]) => HTMLElement} */
function listPart(title, lines) {
  const $lines = lines.map((line) => el("li", line));
  return el("section", el("h3", title), el("ul", $lines));
}

/** @type {(knowledge: Knowledge, before: Case, now: Case) => HTMLElement} */
function changedPart(knowledge, before, now) {
  const differences = caseDifferences(before, now).map((one) => differenceWords(knowledge, one));
  return el(
    "section",
    el("h2", "What changed"),
    differences.length === 0
      ? el("p", "Nothing yet.")
      : el(
          "ul.differences",
          differences.map(({ how, words }) => el("li", el("b", `${how}: `), words)),
        ),
  );
}

/** @type {(page: Page, car: Case) => HTMLElement[]} */
function replyParts(page, car) {
  const { knowledge, words, book } = page.tools;
  const site = new URL(ROOT, location.href).href;
  const link = `${site}checker/#c=${encodeCase(car, book, knowledge.version, page.about)}`;
  const open = el("p.ways", el("a.control", { href: link }, "Open in the checker"));
  const title = el("h2", "Your reply");
  try {
    const thought_of = page.rounds.flatMap(({ understood }) => understood?.thought_of.map(({ what }) => what) ?? []);
    const frame = { site, link, thought_of: [...new Set(thought_of)] };
    const written = () => replyTo(knowledge, words.sentences, car, { ...keptTone(), ...frame });
    const { short, long, questions, advice } = written();
    page.asked = questions;
    page.check = advice.next[0]?.check ?? "";
    const $short = copyText("reply-short", "Short", short);
    const $long = copyText("reply-long", "Long", long);
    const again = () => {
      const reply = written();
      $short.set(reply.short);
      $long.set(reply.long);
    };
    return [title, ...$short.$parts, ...$long.$parts, toneFields(again), open, keepPart(knowledge, car, page.about)];
  } catch (error) {
    const isRefusal = error instanceof Error && REFUSALS.has(error.name);
    if (!isRefusal) throw error;
    return [title, el("p.caution", "These answers do not go together. Drop the least sure one."), open];
  }
}

const REFUSALS = new Set(["ContradictoryEvidence", "FrontierTooWide", "ReadingRefused"]);

const $root = need(document, '[data-module="answer"]');
try {
  new Page($root, await fetchTools());
} catch (error) {
  sayFailed($root, "This page could not start.", error);
  throw error;
}
