/**
 * Room answer: facts about the car that a message tells: by a phrase of the vocabulary, or by a
 * number with what it counts: years, miles, amperes on a label, minutes of a trip, days parked.
 *
 * @import { Token } from "./tokens.js"
 * @import { Clause, Place, Replaced } from "./told.js"
 */

import { isAsked } from "./meant.js";

/** @typedef {{answer: string | number} & Place} Told */
/** @typedef {{days: number} & Place} Span a time told in days */
/** @typedef {{tokens: Token[], clauses: Clause[], facts: Map<string, Told>}} Sheet what is being filled in */

const DAYS = new Map(
  /** @type {Array<[string, number]>} */ ([
    ["year", 365],
    ["month", 30],
    ["week", 7],
    ["day", 1],
    ["night", 1],
    ["hour", 1 / 24],
    ["minute", 1 / 1440],
  ]).flatMap(([name, days]) => [
    [name, days],
    [`${name}s`, days],
  ]),
);
const SHORT_UNITS = /** @type {Record<string, string>} */ ({
  ...{ yr: "year", yrs: "year", yo: "year", y: "year", mo: "month", mos: "month", wk: "week", wks: "week" },
  ...{ hr: "hour", hrs: "hour", h: "hour", min: "minute", mins: "minute" },
});
for (const [short, unit] of Object.entries(SHORT_UNITS)) DAYS.set(short, DAYS.get(unit) ?? 0);
const SPOKEN = new Map(
  "zero one two three four five six seven eight nine ten eleven twelve"
    .split(" ")
    .map((word, number) => [word, number]),
);
const A_FEW = new Map([
  ["a", 1],
  ["couple", 2],
  ["few", 3],
]);
const YEAR = 365;
const YOUNG = 2;
const OLD = 5;
/** Who reads this lives later than this: a car made by then is over five years old for good. */
const OLD_BY = 2020;
const FIRST_YEAR = 1980;
/** An age stands at most so many words from the battery it tells. */
const NEAR = 7;
/** A time is of the battery named at most so many clauses before. */
const BEFORE = 2;
/** What stands between a battery and its age. */
const BEING = new Set([
  "is",
  "was",
  "about",
  "only",
  "maybe",
  "just",
  "of",
  "have",
  "has",
  "had",
  "like",
  "now",
  "came",
]);
const CARS = new Set("car truck van suv vehicle wagon sedan hatch hatchback crossover pickup coupe minivan".split(" "));
/** What tells the day a battery was made. */
const LABEL = new Set(["sticker", "label", "tag", "stamp", "stamped", "date", "dated", "says", "reads"]);
/** What may stand beside a time that a clause holds alone: "so eight years". */
const FILLING = new Set(["so", "about", "maybe", "roughly", "like", "i", "think", "now", "its", "it", "is"]);
const DATED = new Set(["from", "in", "is", "of", "since", "dated", "original", "says", "was"]);
const MILES_OF_KM = 1 / 1.609344;
/** A stretch driven is seldom so long, and a car seldom driven so far. */
const LEAST_MILES = 5000;
const MOST_MILES = 999_999;
const USUAL_K = 10;
const MIDDLE_MILES = 60_000;
const HIGH_MILES = 120_000;
const NOT_OF_CAR = new Set(["ago", "later", "since", "apart", "oil", "service", "interval", "warranty", "ohm", "ohms"]);
const LEAST_CCA = 100;
const MOST_CCA = 1500;
const SHORT_TRIP = 15;
const LONG_TRIP = 30;
const SHORT_MILES = 6;
const LONG_MILES = 25;
const WEEK = 7;
const TWO_MONTHS = 60;
const SINGLE = new Set(["warning-light-color", "rest"]);
const NIGHT_HOURS = 8;

/**
 * Find the facts; what was told first stays, but the highest mileage counts.
 * @type {(tokens: Token[], clauses: Clause[], replaced: Replaced[], readings: Array<{quantity: string} & Place>) =>
 *   Map<string, Told>}
 */
export function factsIn(tokens, clauses, replaced, readings) {
  /** @type {Sheet} */
  const sheet = { tokens, clauses, facts: new Map() };
  const { facts } = sheet;
  for (const [number, clause] of clauses.entries()) {
    if (clause.standing !== "" && clause.standing !== "denied") continue;
    for (const [id, told] of countedIn(sheet, number)) tell(facts, id, told);
    const isAsking = isAsked(tokens, clauses, number);
    for (const one of clause.met) {
      if (one.kind !== "fact" || isDeniedIn(clause, one)) continue;
      const [id = "", answer = ""] = one.value.split(" ");
      if (OF_DEEDS.has(id) ? isAsking : id === "trip-length" && isComing(clause)) continue;
      if (id !== "none") tell(facts, id, { answer, from: one.from, to: one.to });
    }
  }
  for (const one of replaced) if (one.what === "battery") ofNewBattery(sheet, one);
  const first = firstBattery(sheet);
  if (first) tell(facts, "battery-age", first);
  dropWhatNobodyMeasured(facts, readings, clauses);
  for (const [id, { answer }] of facts) if (answer === "both") facts.delete(id);
  return facts;
}

/** @type {(facts: Map<string, Told>, id: string, told: Told) => void} */
function tell(facts, id, told) {
  const known = facts.get(id);
  if (!known) facts.set(id, told);
  else if (id === "fuel-kind" && known.answer !== told.answer) facts.set(id, nameOfCar(known, told));
  // Two lamps of two colors answer no question about one, nor do two rests.
  else if (SINGLE.has(id) && known.answer !== told.answer) facts.set(id, { ...known, answer: "both" });
}

/**
 * Choose between two kinds of fuel: more words name the car ("my diesel"), fewer what went into it.
 * @type {(one: Told, other: Told) => Told}
 */
function nameOfCar(one, other) {
  const [length, others] = [one.to - one.from, other.to - other.from];
  return length === others ? { ...one, answer: "both" } : length > others ? one : other;
}

/** Facts of what was done, which a question about doing it does not tell. */
const OF_DEEDS = new Set(["power-lost-lately", "last-work", "flat-or-jumped-lately"]);

/** Tell whether a clause speaks of a trip to come, which says nothing of the usual one. @param {Clause} clause */
function isComing({ met }) {
  return met.some(({ kind, value }) => kind === "span" && value === "coming");
}

/**
 * Tell whether a phrase stands in the reach of a denial: in it or right behind it.
 * @type {(clause: Clause, phrase: Place) => boolean}
 */
function isDeniedIn({ met }, { from, to }) {
  return met.some((one) => one.kind === "denied" && from < one.to + 1 && one.from < to);
}

/**
 * Leave out how long the battery rested where nobody read its resting voltage.
 * @type {(facts: Map<string, Told>, readings: Array<{quantity: string} & Place>, clauses: Clause[]) => void}
 */
function dropWhatNobodyMeasured(facts, readings, clauses) {
  const rest = facts.get("rest");
  if (!rest) return;
  const of = clauses.find(({ from, to }) => from <= rest.from && rest.from < to);
  const beside = clauses.filter(({ sentence }) => Math.abs(sentence - (of?.sentence ?? 0)) <= 1);
  const isRead = readings.some(
    ({ quantity, from }) => quantity === "resting voltage" && beside.some((one) => one.from <= from && from < one.to),
  );
  if (!isRead) facts.delete("rest");
}

/** List the facts that numbers of a clause tell. @type {(sheet: Sheet, number: number) => Array<[string, Told]>} */
function countedIn(sheet, number) {
  const { tokens, clauses, facts } = sheet;
  const clause = /** @type {Clause} */ (clauses[number]);
  /** @type {Array<[string, Told]>} */
  const found = [];
  const spans = spansIn(tokens, clause);
  for (const span of spans) {
    const [id, answer] = ofSpan(sheet, number, span) ?? ["", ""];
    if (id !== "") found.push([id, { answer, from: span.from, to: span.to }]);
  }
  const newish = clause.met.find(({ kind, value }) => kind === "span" && value === "newish");
  if (newish && isOfBattery(clauses, number)) found.push(["battery-age", { ...newish, answer: "under-2-years" }]);
  const year = yearOfBattery(sheet, number);
  if (year) found.push(["battery-age", year]);
  const cca = ratedIn(tokens, clause);
  if (cca) found.push(["rated-cca", cca]);
  const trip = tripIn(tokens, clause, spans);
  if (trip) found.push(["trip-length", trip]);
  const miles = milesIn(tokens, clause);
  if (miles) {
    const known = facts.get("mileage");
    if (known && isFarther(miles, known)) facts.delete("mileage");
    found.push(["mileage", miles]);
  }
  return found;
}

const BY_MILES = ["under-60000", "60000-to-120000", "over-120000"];

/** @param {Told} one @param {Told} other */
function isFarther(one, other) {
  return BY_MILES.indexOf(String(one.answer)) > BY_MILES.indexOf(String(other.answer));
}

/**
 * List the times told in a clause: "2 yrs", "five and a half years", "a couple of months".
 * @type {(tokens: Token[], clause: Place) => Span[]}
 */
function spansIn(tokens, { from, to }) {
  /** @type {Span[]} */
  const spans = [];
  for (let place = from + 1; place < to; place += 1) {
    const unit = DAYS.get(tokens[place]?.text ?? "");
    const count = unit === undefined ? null : countBefore(tokens, place);
    if (unit !== undefined && count !== null) {
      spans.push({ days: count.value * unit, from: Math.max(count.from, from), to: place + 1 });
    }
  }
  return spans;
}

/**
 * @param {Token[]} tokens
 * @param {number} place of the word for the unit
 * @returns {{value: number, from: number} | null}
 */
function countBefore(tokens, place) {
  let at = place - 1;
  if (tokens[at]?.text === "-" || tokens[at]?.text === "of") at -= 1;
  const token = tokens[at];
  if (!token) return null;
  if (token.kind === "number") return { value: Number(token.text.replace(",", ".")), from: at };
  if (token.text === "half" && tokens[at - 1]?.text === "a" && tokens[at - 2]?.text === "and") {
    const whole = countBefore(tokens, at - 2);
    return whole && { value: whole.value + 0.5, from: whole.from };
  }
  const spoken = SPOKEN.get(token.text) ?? A_FEW.get(token.text);
  return spoken === undefined ? null : { value: spoken, from: at };
}

/**
 * Say what a time tells: how old the battery is, how long the former one lasted, how long the car
 * sits, or how long it rested.
 * @type {(sheet: Sheet, number: number, span: Span) => [string, string] | null}
 */
function ofSpan({ tokens, clauses }, number, span) {
  const clause = /** @type {Clause} */ (clauses[number]);
  const has = (/** @type {string} */ value) => clause.met.some((one) => one.kind === "span" && one.value === value);
  const years = span.days / YEAR;
  if (has("lasted") && isOfBattery(clauses, number)) return ["battery-before", ageOf(years, false)];
  const unit = tokens[span.to - 1]?.text ?? "";
  const next = tokens[span.to]?.text ?? "";
  if (span.days >= 1 && isAge(tokens, clauses, number, span)) {
    const before = tokens[span.from - 1]?.text ?? "";
    return ["battery-age", ageOf(years, ["over", "than", "plus"].includes(before))];
  }
  const isOfCar =
    tokens.slice(clause.from, clause.to).some(({ text }) => CARS.has(text)) && !isOfBattery(clauses, number);
  if (isOfCar && years >= YOUNG && (next === "old" || unit === "yo")) return ["car-age", carAgeOf(years)];
  if (span.days >= 2 && years < 1 && has("parked") && unit !== "year" && unit !== "years") {
    return ["days-parked", span.days >= TWO_MONTHS ? "months" : span.days >= WEEK ? "weeks" : "days"];
  }
  if (span.days < 1 && has("rested")) {
    const hours = span.days * 24;
    return ["rest", hours >= NIGHT_HOURS ? "overnight" : hours >= 1 ? "some-hours" : "just-driven"];
  }
  return null;
}

/** @param {number} years @param {boolean} isOver */
function ageOf(years, isOver) {
  if (years < YOUNG) return "under-2-years";
  return years > OLD || (isOver && years >= OLD) ? "over-5-years" : "2-to-5-years";
}

/** @param {number} years */
function carAgeOf(years) {
  return years < OLD ? "under-5-years" : years <= 2 * OLD ? "5-to-10-years" : "over-10-years";
}

/** @param {Clause | undefined} clause */
function batteriesIn(clause) {
  return (clause?.met ?? []).filter(({ kind, value }) => kind === "part" && value === "battery");
}

/**
 * Tell whether a clause speaks of the battery: names it, or goes on after one that did.
 * @type {(clauses: Clause[], number: number) => boolean}
 */
function isOfBattery(clauses, number) {
  if (batteriesIn(clauses[number]).length > 0) return true;
  const isOther = (clauses[number]?.met ?? []).some(
    ({ kind, value }) => (kind === "part" && value !== "one") || (kind === "span" && value === "other"),
  );
  if (isOther) return false;
  for (let back = number - 1; back >= Math.max(0, number - BEFORE); back -= 1) {
    const parts = (clauses[back]?.met ?? []).filter(({ kind, value }) => kind === "part" && value !== "one");
    if (parts.length > 0) return parts.at(-1)?.value === "battery";
  }
  return false;
}

/**
 * Tell whether a time is the age of the battery: "old" stands with it and nothing else is meant,
 * the battery simply "is" so many years, or a clause that goes on after it holds nothing but years.
 * @type {(tokens: Token[], clauses: Clause[], number: number, span: Span) => boolean}
 */
function isAge(tokens, clauses, number, { from, to }) {
  const clause = /** @type {Clause} */ (clauses[number]);
  const next = tokens.slice(to, Math.min(to + 3, clause.to)).map(({ text }) => text);
  // "The 7 year old one" is the one that is gone.
  const isOld = (next[0] === "old" && next[1] !== "one") || next[1] === "old" || tokens[to - 1]?.text === "yo";
  const battery = batteriesIn(clause).find(
    (one) => Math.min(Math.abs(one.from - from), Math.abs(from - one.to)) <= NEAR,
  );
  if (battery) {
    if (isOld) return true;
    const between = tokens.slice(battery.to, from).map(({ text }) => text);
    const isDated = next[0] !== "ago" || between.some((text) => LABEL.has(text));
    return isDated && battery.to <= from && between.every((text) => BEING.has(text) || LABEL.has(text));
  }
  if (isOld && isOriginal(clauses, number)) return true;
  if (!isOfBattery(clauses, number) && !isOfLabel(tokens, clause)) return false;
  if (isOld) return true;
  const isYears = (tokens[to - 1]?.text ?? "").startsWith("y");
  const rest = [...tokens.slice(clause.from, from), ...tokens.slice(to, clause.to)];
  return isYears && rest.every(({ text }) => FILLING.has(text));
}

/**
 * Tell whether the battery is as old as the car: it is the one that came with it.
 * @type {(clauses: Clause[], number: number) => boolean}
 */
function isOriginal(clauses, number) {
  const near = clauses.slice(Math.max(0, number - BEFORE), number + 1);
  return near.some(({ met }) => met.some(({ kind, value }) => kind === "span" && value === "original"));
}

/**
 * Tell whether a clause speaks of what stands on a battery's label.
 * @type {(tokens: Token[], clause: Clause) => boolean}
 */
function isOfLabel(tokens, { from, to, met }) {
  const isType = met.some(({ kind, value }) => kind === "fact" && value.startsWith("battery-type"));
  return isType || tokens.slice(from, to).some(({ text }) => text === "cca" || text === "ah");
}

/**
 * Find a year of which the battery is, where it makes it old for good: "battery is from 2016".
 * @type {(sheet: Sheet, number: number) => Told | null}
 */
function yearOfBattery({ tokens, clauses }, number) {
  const clause = /** @type {Clause} */ (clauses[number]);
  const [battery] = batteriesIn(clause);
  if (!battery) return null;
  for (let place = Math.max(battery.from - NEAR, clause.from + 1); place < clause.to; place += 1) {
    const year = Number(tokens[place]?.text);
    const before = tokens[place - 1]?.text ?? "";
    if (place - battery.to > NEAR) break;
    if (year < FIRST_YEAR || year > OLD_BY || !Number.isInteger(year) || !DATED.has(before)) continue;
    return { answer: "over-5-years", from: Math.min(battery.from, place), to: Math.max(battery.to, place + 1) };
  }
  return null;
}

/**
 * Tell the age of a battery that came with a car of a year long gone: "2015 car, battery is original".
 * @type {(sheet: Sheet) => Told | null}
 */
function firstBattery({ tokens, clauses }) {
  const original = clauses.flatMap(({ met, standing }) =>
    standing === "past" || standing === "other"
      ? []
      : met.filter(({ kind, value }) => kind === "span" && value === "original"),
  )[0];
  const isOld = clauses.some(
    ({ from, to, standing, met }) => standing !== "other" && isOfOldCar(tokens, from, to, met),
  );
  return original && isOld ? { answer: "over-5-years", from: original.from, to: original.to } : null;
}

/**
 * Tell whether a clause names a year in which the car was made, long enough ago.
 * @type {(tokens: Token[], from: number, to: number, met: Clause["met"]) => boolean}
 */
function isOfOldCar(tokens, from, to, met) {
  return tokens.slice(from, to).some(({ kind, text, glued }, step) => {
    const year = kind === "number" && text.length === 4 && !glued ? Number(text) : 0;
    const isCounted = met.some((one) => one.kind === "number" && one.from <= from + step && from + step < one.to);
    return year >= FIRST_YEAR && year <= OLD_BY && !isCounted;
  });
}

/**
 * Find the cold cranking current that a label tells: "760 CCA", "70 Ah 640 A".
 * @type {(tokens: Token[], clause: Clause) => Told | null}
 */
function ratedIn(tokens, { from, to }) {
  const own = tokens.slice(from, to);
  const texts = own.map(({ text }) => text);
  const hasCca = texts.includes("cca");
  for (const [step, { kind, text }] of own.entries()) {
    const value = Number(text);
    if (kind !== "number" || !(value >= LEAST_CCA && value <= MOST_CCA)) continue;
    const [before, next] = [texts[step - 1], texts[step + 1]];
    const isLabel = next === "cca" || (hasCca && before === "rated");
    const isPair = (next === "a" || next === "amps") && before === "ah";
    // What a tester found stands before what the label says; a choice of two says neither.
    const isFound = isMeasured(texts, step);
    const isChoice = before === "or" || next === "or";
    if ((isLabel || isPair || isWhole(texts, step, hasCca)) && !isFound && !isChoice)
      return { answer: value, from: from + step, to: from + step + 2 };
  }
  return null;
}

/**
 * Tell whether a current is what a tester found: "tested 410", "512 CCA rated 650", "690 out of 700".
 * @type {(texts: string[], step: number) => boolean}
 */
function isMeasured(texts, step) {
  const behind = texts.slice(step + 1, step + 4);
  if (behind[0] === "of" || behind[0] === "out" || behind[1] === "rated" || behind[1] === "out") return true;
  if (behind[1] === "of" || behind.indexOf("rated") === 0) return texts[step + 2] === "of";
  return !isOfRating(texts[step - 1]) && texts.slice(Math.max(0, step - 4), step).some((text) => OF_TESTER.has(text));
}

/**
 * Tell whether a current stands for the whole of which a tester found a part: "out of 700", "of 600 rated".
 * @type {(texts: string[], step: number, hasCca: boolean) => boolean}
 */
function isWhole(texts, step, hasCca) {
  return hasCca && (texts[step - 1] === "of" || texts[step + 1] === "rated");
}

/** @param {string | undefined} text */
const isOfRating = (text) => text === "of" || text === "rated";
const OF_TESTER = new Set("tested test tester measured found showed shows reads read got".split(" "));

/**
 * Find how far the car has been driven: "142,000 miles", "88k", "210 thousand km". What was driven
 * since something, or is due, is none.
 * @type {(tokens: Token[], clause: Clause) => Told | null}
 */
function milesIn(tokens, clause) {
  const driven = clause.met.filter(({ kind, value }) => kind === "span" && (value === "driven" || value === "service"));
  for (let place = clause.from; place < clause.to; place += 1) {
    if (tokens[place]?.kind !== "number" || tokens[place - 1]?.text === "$") continue;
    const text = tokens[place]?.text ?? "";
    const grouped = /^\d{1,3}[.,]\d{3}$/.test(text);
    let value = Number(grouped ? text.replace(/[.,]/, "") : text);
    let next = place + 1;
    const word = tokens[next]?.text ?? "";
    const isThousand = word === "k" || word === "thousand";
    if (isThousand) [value, next] = [value * 1000, next + 1];
    const unit = tokens[next]?.text ?? "";
    const isMiles = ["miles", "mile", "mi"].includes(unit);
    const isKm = ["km", "kms", "kilometers", "kilometres"].includes(unit);
    const isClock =
      unit === "on" && [1, 2].some((step) => ["clock", "odometer", "it"].includes(tokens[next + step]?.text ?? ""));
    const isBare = isThousand && word === "k" && tokens[place + 1]?.glued && value >= USUAL_K * 1000;
    if (!isMiles && !isKm && !isClock && !isBare) continue;
    const after = tokens[isMiles || isKm ? next + 1 : next]?.text ?? "";
    const miles = isKm ? value * MILES_OF_KM : value;
    if (miles < LEAST_MILES || miles > MOST_MILES || driven.length > 0 || NOT_OF_CAR.has(after)) continue;
    const answer = BY_MILES[miles < MIDDLE_MILES ? 0 : miles <= HIGH_MILES ? 1 : 2] ?? "";
    return { answer, from: place, to: isMiles || isKm ? next + 1 : next };
  }
  return null;
}

/**
 * Find how long the usual trip is: "commute is 45 min each way", "10 min drive home".
 * @type {(tokens: Token[], clause: Clause, spans: Span[]) => Told | null}
 */
function tripIn(tokens, clause, spans) {
  const trip = clause.met.find(({ kind, value }) => kind === "span" && value === "trip");
  if (!trip || isComing(clause)) return null;
  const time = spans.find(({ days }) => days < 1);
  if (time) {
    const minutes = time.days * 1440;
    if (minutes >= SHORT_TRIP && minutes <= LONG_TRIP) return null;
    return { answer: minutes < SHORT_TRIP ? "short-trips" : "long-trips", from: time.from, to: time.to };
  }
  for (let place = clause.from; place + 1 < clause.to; place += 1) {
    const [one, unit] = [tokens[place], tokens[place + 1]?.text ?? ""];
    const miles = (SPOKEN.get(one?.text ?? "") ?? Number(one?.text)) * (unit === "km" ? MILES_OF_KM : 1);
    if (!["miles", "mile", "mi", "km"].includes(unit) || !(miles > 0)) continue;
    if (miles > SHORT_MILES && miles < LONG_MILES) return null;
    return { answer: miles <= SHORT_MILES ? "short-trips" : "long-trips", from: place, to: place + 2 };
  }
  return null;
}

/**
 * Tell of a battery that was replaced how old it is now, and whether that was the last work.
 * @type {(sheet: Sheet, battery: Replaced) => void}
 */
function ofNewBattery({ tokens, clauses, facts }, { from, to }) {
  const number = clauses.findIndex((one) => one.from <= from && from < one.to);
  const clause = clauses[number];
  if (!clause) return;
  const near = clauses.slice(number, number + 2).filter(({ sentence, met }) => {
    const isSince = met.some(({ kind, value }) => kind === "span" && value === "since");
    return sentence === clause.sentence || (isSince && sentence === clause.sentence + 1);
  });
  const span = spansIn(tokens, clause).find(({ to: end }) => tokens[end]?.text === "ago");
  // "In 2016" dates it; "in my 2018 wagon" does not.
  const isDated = tokens.slice(clause.from, clause.to).some(({ text }, step, own) => {
    const [year, before] = [Number(text), own[step - 1]?.text ?? ""];
    return Number.isInteger(year) && year >= FIRST_YEAR && year < 2100 && DATED.has(before);
  });
  if (span) tell(facts, "battery-age", { answer: ageOf(span.days / YEAR, false), from, to });
  else if (!isDated) tell(facts, "battery-age", { answer: "under-2-years", from, to });
  const isRecent = near.some(({ met }) => met.some(({ kind, value }) => kind === "span" && value === "recent"));
  if (!isRecent || isDated) return;
  tell(facts, "last-work", { answer: "battery-fitted", from, to });
  // Whoever changes a battery takes the power away.
  tell(facts, "power-lost-lately", { answer: "disconnected", from, to });
}
