/**
 * Output room: what was chosen, and the questions that split one complaint into several.
 *
 * @import { App } from "./app.js"
 * @import { SplitQuestion } from "../../knowledge/types.js"
 */
import { answerSplit, NOT_SURE, setAbsent, settledSymptoms } from "../../case/case.js";
import { button, el, tickSet, titled } from "../../kit/element.js";

/**
 * Draw one answered splitting question, so that the answer can be changed.
 * @type {(app: App, id: string, question: SplitQuestion, number: number) => HTMLElement | null}
 */
function splitQuestion(app, id, question, number) {
  const given = app.state().splits[`${id}:${number}`];
  if (given === undefined) return null;
  /** @type {Array<[string, number]>} */
  const choices = question.answers.map((answer, place) => [answer.says, place]);
  if (!choices.some(([says]) => says.startsWith("Not sure"))) choices.push(["Not sure", NOT_SURE]);
  const rows = choices.map(([says, answer], place) => {
    const name = `split-${id}-${number}-${place}`;
    return el(
      "li.tick",
      el("input", {
        type: "radio",
        id: name,
        name: `split-${id}-${number}`,
        checked: answer === given,
        onchange: () => app.act((state) => answerSplit(state, id, number, answer), { focus: `#${name}` }),
      }),
      el("label", { for: name }, says),
    );
  });
  return tickSet(question.question, rows, { set: "plain-set split" });
}

/**
 * Say which symptom the answers turned this one into, or nothing.
 * @type {(app: App, id: string) => HTMLElement | null}
 */
function takenAs(app, id) {
  const settled = settledSymptoms(app.knowledge, { ...app.state(), chosen: [id] });
  if (settled.includes(id)) return null;
  const titles = settled.map((each) => app.knowledge.symptoms[each]?.title ?? each);
  return el("p.taken-as", "By your answer taken as: ", el("b", titles.join(", ")), ".");
}

/**
 * Draw a box to say "not so" for each thing a question offered and the answer did not mean.
 *
 * Nothing is taken as absent by itself: two of them may be there at once.
 * @type {(app: App, id: string) => HTMLElement | null}
 */
function notSo(app, id) {
  const { symptoms } = app.knowledge;
  const answered = (symptoms[id]?.ask_first ?? []).filter(
    (_, number) => (app.state().splits[`${id}:${number}`] ?? NOT_SURE) !== NOT_SURE,
  );
  const settled = settledSymptoms(app.knowledge, app.state());
  const offered = [...new Set(answered.flatMap(({ answers }) => answers.map(({ symptom }) => symptom)))];
  const others = offered.filter((each) => each !== id && !settled.includes(each));
  if (others.length === 0) return null;
  const rows = others.map((each) => {
    const name = `not-${id}-${each}`;
    const $box = el("input", {
      type: "checkbox",
      id: name,
      checked: app.state().absent.includes(each),
      onchange: () => app.act((state) => setAbsent(state, each, $box.checked), { focus: `#${name}` }),
    });
    return el("li.tick", $box, el("label", { for: name }, `Not so: ${symptoms[each]?.title ?? each}`));
  });
  return tickSet("Tick only what you are sure is not so:", rows, { set: "plain-set split" });
}

/**
 * Draw what was chosen, each with its questions and a way to remove it; nothing where nothing was.
 * @type {(app: App) => HTMLElement | null}
 */
export function chosenList(app) {
  const { symptoms } = app.knowledge;
  const chosen = app.state().chosen;
  if (chosen.length === 0) return null;
  const rows = chosen.map((id) => {
    const symptom = symptoms[id];
    const title = symptom?.title ?? id;
    return el(
      "li.said",
      el(
        "div.said__line",
        el("span", title),
        button("Remove", () => app.tick(id, false), {
          class: "link-button",
          "aria-label": `Remove: ${title}`,
        }),
      ),
      takenAs(app, id),
      (symptom?.ask_first ?? []).map((question, number) => splitQuestion(app, id, question, number)),
      notSo(app, id),
    );
  });
  return titled("section.chosen", el("h3", { id: "chosen-title", tabindex: -1 }, "You said"), el("ul.said-list", rows));
}
