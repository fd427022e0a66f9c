/**
 * Room answer: what was understood, as offers that are accepted, changed or dropped one by one, and
 * the case that the accepted ones make.
 *
 * @import { Case, Fact, Knowledge } from "../knowledge/types.js"
 * @import { Said, Understood } from "./understand.js"
 */

import { mendCase } from "../engine/mended.js";
import { isAmong, outcomesOfCodes } from "../obd/evidence.js";
import { causesMendedBy } from "./repairs.js";

/**
 * One thing understood. `value` is what would enter the case, "" where the reader has to choose
 * first; `choices` are what it may be changed to.
 * @typedef {object} Offer
 * @property {"symptom" | "absent" | "past" | "reading" | "result" | "fact" | "code" | "repair"} kind
 * @property {string} id a symptom, a check, a fact, a code or a part that was put in
 * @property {string} value
 * @property {Array<{value: string, label: string}>} choices
 * @property {string} title
 * @property {string} words
 * @property {number} start
 * @property {number} end
 * @property {{value: number, unit: string} | null} number
 * @property {"open" | "accepted" | "dropped"} state
 */

/** Further ones are seldom meant; behind the second only those that are sure. */
const MOST_SYMPTOMS = 4;
const UNSURE_SYMPTOMS = 2;
/** The check in which a reading of a quantity is entered, by the quantity. */
const CHECK_OF = /** @type {Record<string, string>} */ ({
  "resting voltage": "measure-resting-voltage",
  "cranking voltage": "measure-cranking-voltage",
  "charging voltage": "measure-charging-voltage",
  "charging voltage with loads": "measure-charging-voltage-loaded",
  "parked draw": "measure-parasitic-draw",
});
const VOLTS = Object.entries(CHECK_OF).filter(([quantity]) => quantity.includes("voltage"));
/** What became of the trouble after a repair. */
const AFTER_REPAIR = [
  { value: "same", label: "No change" },
  { value: "better", label: "Better, but not gone" },
  { value: "gone", label: "The trouble is gone" },
];
/** The check whose answer a code is. */
const READ_CODES = "read-and-write-down-codes";
/** Codes of lost contact between modules, and of low or high voltage (SAE J2012). */
const OF_SUPPLY = /^(U0[01]|P056[0-3])/;
const DRAWS = Object.entries(CHECK_OF).filter(([quantity]) => !quantity.includes("voltage"));

/**
 * Offer what was understood. What has no place in a case is not offered.
 * @type {(knowledge: Knowledge, understood: Understood) => Offer[]}
 */
export function offersOf(knowledge, understood) {
  const likely = understood.symptoms.filter(({ sure }, place) => sure || place < UNSURE_SYMPTOMS);
  const apt = stopsFirst(knowledge, likely.slice(0, MOST_SYMPTOMS));
  const offered = (
    /** @type {"symptom" | "absent" | "past"} */ kind,
    /** @type {Understood["circumstances"]} */ found,
  ) =>
    found.flatMap(({ id, ...said }) => {
      const entry = knowledge.symptoms[id];
      const made = { kind, id, value: id, choices: [], number: null };
      return entry ? [{ ...made, title: entry.title, ...open(said) }] : [];
    });
  const symptoms = offered("symptom", [...apt, ...understood.circumstances]);
  return [
    ...symptoms,
    ...offered("absent", understood.absent ?? []),
    ...offered("past", understood.past_symptoms),
    ...understood.readings.flatMap((one) => readingOffer(knowledge, one)),
    ...understood.results.flatMap((one) => resultOffer(knowledge, one)),
    ...factOffers(knowledge, understood),
    ...understood.replaced.filter(isRepair(understood)).flatMap((one) => repairOffer(knowledge, one)),
    ...understood.codes.filter(({ permanent }) => !permanent).flatMap((one) => codeOffer(knowledge, one)),
  ];
}

/**
 * Put what carries a stop line before the rest.
 * @param {Knowledge} knowledge
 * @param {Understood["symptoms"]} found
 */
function stopsFirst(knowledge, found) {
  const isStop = (/** @type {Understood["symptoms"][number]} */ one) => isStopping(knowledge, one);
  return [...found.filter(isStop), ...found.filter((one) => !isStop(one))];
}

/** @type {(knowledge: Knowledge, found: Understood["symptoms"][number]) => boolean} */
function isStopping({ symptoms }, { id, sure }) {
  return sure && (symptoms[id]?.stop_now ?? []).length > 0;
}

/**
 * Offer the result of a check that was told.
 * @type {(knowledge: Knowledge, told: Understood["results"][number]) => Offer[]}
 */
function resultOffer({ checks }, { id, answer, ...said }) {
  const check = checks[id];
  if (!check) return [];
  const choices = check.levels.map((level) => ({ value: level.id, label: level.label }));
  return [{ kind: "result", id, value: answer, choices, title: check.title, number: null, ...open(said) }];
}

/**
 * Return a test of whether a part was put in against the trouble. A battery since whose change the
 * trouble is there began it.
 * @type {(understood: Understood) => (replaced: {what: string}) => boolean}
 */
function isRepair({ circumstances }) {
  const hasBegun = circumstances.some(({ id }) => id === "after-battery-was-changed");
  return ({ what }) => what !== "battery" || !hasBegun;
}

/**
 * Offer a repair of which is told whether it helped. How much it did is for the reader to choose.
 * @type {(knowledge: Knowledge, replaced: Understood["replaced"][number]) => Offer[]}
 */
function repairOffer(knowledge, { what, helped, ...said }) {
  if (helped === null || causesMendedBy(knowledge, what).length === 0) return [];
  const value = helped ? "" : "same";
  return [
    { kind: "repair", id: what, value, choices: AFTER_REPAIR, title: `New ${what}`, number: null, ...open(said) },
  ];
}

/**
 * Offer a code that answers the question of a family of codes.
 * @type {(knowledge: Knowledge, told: Understood["codes"][number]) => Offer[]}
 */
function codeOffer(knowledge, { code, ...said }) {
  if (Object.keys(outcomesNamed(knowledge, [code])).length === 0) return [];
  return [{ kind: "code", id: code, value: code, choices: [], title: code, number: null, ...open(said) }];
}

/** @param {Said} said */
const open = ({ words, start, end }) => ({ words, start, end, state: /** @type {const} */ ("open") });

/**
 * List the answers that codes give. Of families without a code among them nothing is said: a
 * message need not name all that was read.
 * @type {(knowledge: Knowledge, codes: string[]) => Record<string, string>}
 */
function outcomesNamed(knowledge, codes) {
  const isNamed = (/** @type {[string, string]} */ [name, level]) => {
    const ranges = knowledge.checks[name]?.levels.find(({ id }) => id === level)?.codes ?? [];
    return codes.some((code) => isAmong(code, ranges));
  };
  const named = Object.entries(outcomesOfCodes(knowledge, codes)).filter(isNamed);
  if (named.length > 0) return { [READ_CODES]: "specific-code", ...Object.fromEntries(named) };
  return codes.length > 0 && codes.every((code) => OF_SUPPLY.test(code)) ? { [READ_CODES]: "supply-codes-only" } : {};
}

/** @type {(knowledge: Knowledge, reading: Understood["readings"][number]) => Offer[]} */
function readingOffer({ checks }, { quantity, value, unit, certain, check: own, words, start, end }) {
  if (quantity === "temperature") return [];
  const usual = (unit === "A" ? DRAWS : VOLTS).map(([label, check]) => ({ value: check, label }));
  const ofOwn = own ? checks[own] : undefined;
  const choices = own && ofOwn ? [{ value: own, label: ofOwn.title }, ...usual] : usual;
  const told = certain ? (own ?? CHECK_OF[quantity] ?? "") : "";
  if (certain && told === "") return [];
  const title = `${value} ${unit}`;
  const place = { id: "reading", value: told, choices, title, words, start, end };
  return [{ kind: "reading", ...place, number: { value, unit }, state: "open" }];
}

/** @type {(knowledge: Knowledge, understood: Understood) => Offer[]} */
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
 * Put the accepted offers into a case. A later one takes the place of an earlier one; what was
 * measured before a repair that is told now goes as the engine says.
 * @type {(knowledge: Knowledge, base: Case, offers: Offer[]) => Case}
 */
export function caseWith(knowledge, base, offers) {
  const taken = offers.filter(({ state, value }) => state === "accepted" && value !== "");
  const values = (/** @type {Offer["kind"]} */ kind) =>
    taken.filter((one) => one.kind === kind).map(({ value }) => value);
  const car = withRepairs(knowledge, base, taken);
  for (const { kind, id, value } of taken) {
    if (kind !== "result") continue;
    car.outcomes[id] = value;
    delete car.readings[id];
  }
  Object.assign(car.outcomes, outcomesNamed(knowledge, values("code")));
  const over = values("past");
  const isNow = (/** @type {string} */ id) => !over.includes(id);
  car.symptoms = [...new Set([...car.symptoms.filter(isNow), ...values("symptom")])];
  for (const { kind, id, value, number } of taken) {
    if (kind === "fact") car.context[id] = /** @type {Fact} */ (number ?? value);
    if (kind === "reading" && number) {
      car.readings[value] = number;
      delete car.outcomes[value];
    }
  }
  const besides = (/** @type {string[]} */ ids, /** @type {string[]} */ others) =>
    [...new Set(ids)].filter((id) => !others.includes(id));
  const past = besides([...(car.past ?? []), ...over], car.symptoms);
  const absent = besides([...(car.absent ?? []), ...values("absent")], [...car.symptoms, ...past]);
  return {
    ...car,
    ...(past.length > 0 || car.past ? { past } : {}),
    ...(absent.length > 0 || car.absent ? { absent } : {}),
  };
}

/**
 * Return a case of its own after the repairs that are told and that it does not know of yet.
 * @type {(knowledge: Knowledge, base: Case, taken: Offer[]) => Case}
 */
function withRepairs(knowledge, base, taken) {
  let car = { ...base, context: { ...base.context }, readings: { ...base.readings }, outcomes: { ...base.outcomes } };
  for (const { kind, id, value } of taken) {
    if (kind !== "repair") continue;
    const how = /** @type {"same" | "better" | "gone"} */ (value);
    for (const cause of causesMendedBy(knowledge, id)) {
      const known = car.mended?.includes(cause) ? "same" : car.helped?.[cause];
      if (known !== how) car = mendCase(knowledge, car, cause, how);
    }
  }
  return car;
}

/**
 * Make the case of whoever takes all that is sure: the first symptom, those beside it that say stop, what circumstances, facts and
 * codes are told, what is over, what was repaired in vain, and the readings whose condition is told.
 * @type {(knowledge: Knowledge, understood: Understood) => Case}
 */
export function surestCase(knowledge, understood) {
  const symptoms = understood.symptoms
    .slice(0, MOST_SYMPTOMS)
    .filter((one, place) => place === 0 || isStopping(knowledge, one));
  const offers = offersOf(knowledge, { ...understood, symptoms });
  return caseWith(
    knowledge,
    emptyCase(),
    offers.map((one) => ({ ...one, state: "accepted" })),
  );
}

/** @returns {Case} */
export function emptyCase() {
  return { symptoms: [], context: {}, readings: {}, outcomes: {}, not_possible: [] };
}
