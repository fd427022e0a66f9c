/**
 * Room answer: what was understood, as offers that are accepted, changed or dropped one by one, and
 * the case that the accepted ones make.
 *
 * @import { Case, Fact, Knowledge } from "../knowledge/types.js"
 * @import { Understood } from "./understand.js"
 */

/**
 * One thing understood. `value` is what would enter the case, "" where the reader has to choose
 * first; `choices` are what it may be changed to.
 * @typedef {object} Offer
 * @property {"symptom" | "absent" | "reading" | "fact"} kind
 * @property {string} id a symptom, a check or a fact
 * @property {string} value
 * @property {Array<{value: string, label: string}>} choices
 * @property {string} title
 * @property {string} words
 * @property {number} start
 * @property {number} end
 * @property {{value: number, unit: string} | null} number
 * @property {"open" | "accepted" | "dropped"} state
 */

/** Further ones are seldom meant. */
const MOST_SYMPTOMS = 4;
/** The check in which a reading of a quantity is entered, by the quantity. */
const CHECK_OF = /** @type {Record<string, string>} */ ({
  "resting voltage": "measure-resting-voltage",
  "cranking voltage": "measure-cranking-voltage",
  "charging voltage": "measure-charging-voltage",
  "charging voltage with loads": "measure-charging-voltage-loaded",
  "parked draw": "measure-parasitic-draw",
});
const VOLTS = Object.entries(CHECK_OF).filter(([quantity]) => quantity.includes("voltage"));
const DRAWS = Object.entries(CHECK_OF).filter(([quantity]) => !quantity.includes("voltage"));

/**
 * Offer what was understood. What has no place in a case is not offered.
 * @param {Knowledge} knowledge
 * @param {Understood} understood
 * @returns {Offer[]}
 */
export function offersOf(knowledge, understood) {
  const apt = understood.symptoms.slice(0, MOST_SYMPTOMS);
  const offered = (/** @type {"symptom" | "absent"} */ kind, /** @type {Understood["symptoms"]} */ found) =>
    found.flatMap((one) => {
      const entry = knowledge.symptoms[one.id];
      const made = { kind, value: one.id, choices: [], number: null };
      return entry ? [{ ...one, ...made, title: entry.title, state: /** @type {const} */ ("open") }] : [];
    });
  const symptoms = offered("symptom", [...apt, ...understood.circumstances]);
  return [
    ...symptoms,
    ...offered("absent", understood.absent ?? []),
    ...understood.readings.flatMap(readingOffer),
    ...factOffers(knowledge, understood),
  ];
}

/**
 * @param {Understood["readings"][number]} reading
 * @returns {Offer[]}
 */
function readingOffer({ quantity, value, unit, certain, words, start, end }) {
  if (quantity === "temperature") return [];
  const choices = (unit === "A" ? DRAWS : VOLTS).map(([label, check]) => ({ value: check, label }));
  const told = certain ? (CHECK_OF[quantity] ?? "") : "";
  if (certain && told === "") return [];
  const title = `${value} ${unit}`;
  const place = { id: "reading", value: told, choices, title, words, start, end };
  return [{ kind: "reading", ...place, number: { value, unit }, state: "open" }];
}

/**
 * @param {Knowledge} knowledge
 * @param {Understood} understood
 * @returns {Offer[]}
 */
function factOffers({ contexts }, { facts, fact_words: words, readings }) {
  return Object.entries(facts).flatMap(([id, answer]) => {
    const context = contexts[id];
    const said =
      words.find((one) => one.id === id) ?? readings.find(({ quantity }) => quantity.replaceAll(" ", "-") === id);
    if (!context || !said) return [];
    const place = { title: context.title, words: said.words, start: said.start, end: said.end };
    const number = typeof answer === "number" ? { value: answer, unit: context.unit ?? "" } : null;
    const choices = (context.options ?? []).map((option) => ({ value: option.id, label: option.label }));
    return [{ kind: "fact", id, value: String(answer), choices, number, state: "open", ...place }];
  });
}

/**
 * Put the accepted offers into a case. A later one takes the place of an earlier one.
 * @param {Case} base
 * @param {Offer[]} offers
 * @returns {Case}
 */
export function caseWith(base, offers) {
  /** @type {Case} */
  const car = {
    ...base,
    symptoms: [...base.symptoms],
    context: { ...base.context },
    readings: { ...base.readings },
    outcomes: { ...base.outcomes },
  };
  for (const { kind, id, value, number, state } of offers) {
    if (state !== "accepted" || value === "") continue;
    if (kind === "symptom" && !car.symptoms.includes(value)) car.symptoms.push(value);
    if (kind === "absent" && !car.absent?.includes(value)) car.absent = [...(car.absent ?? []), value];
    if (kind === "fact") car.context[id] = /** @type {Fact} */ (number ?? value);
    if (kind === "reading" && number) {
      car.readings[value] = number;
      delete car.outcomes[value];
    }
  }
  if (car.absent) car.absent = car.absent.filter((id) => !car.symptoms.includes(id));
  return car;
}

/**
 * Make the case of whoever takes all that is sure: the first symptom, what circumstances and facts
 * are told, and the readings whose condition is.
 * @param {Knowledge} knowledge
 * @param {Understood} understood
 * @returns {Case}
 */
export function surestCase(knowledge, understood) {
  const offers = offersOf(knowledge, { ...understood, symptoms: understood.symptoms.slice(0, 1) });
  return caseWith(
    emptyCase(),
    offers.map((one) => ({ ...one, state: "accepted" })),
  );
}

/** @returns {Case} */
export function emptyCase() {
  return { symptoms: [], context: {}, readings: {}, outcomes: {}, not_possible: [] };
}
