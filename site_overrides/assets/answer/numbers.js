/**
 * Room answer: the numbers of a message, each with its unit, or told to be no reading.
 *
 * A slip is read as it was meant: "12,4", "12v4", "12.2ish", "twelve point two", "12 and a half
 * volts". What counts miles, money, years or parts is kept out by the phrases of the vocabulary.
 *
 * @import { Met } from "./phrases.js"
 * @import { Clause, Token } from "./tokens.js"
 */

/**
 * A number in a clause, from a token to before another. `unit` is V, A, degC, degF, deg (degrees
 * of no told scale) or "" for none.
 * @typedef {{value: number, unit: string, from: number, to: number, isWhole: boolean, isWord: boolean}} Mention
 */

const ONES = (
  "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen " +
  "seventeen eighteen nineteen"
).split(" ");
const TENS = "twenty thirty forty fifty sixty seventy eighty ninety hundred".split(" ");
const SPOKEN = new Map([
  ...ONES.map((word, number) => /** @type {[string, number]} */ ([word, number])),
  ...TENS.map((word, place) => /** @type {[string, number]} */ ([word, 10 * (place + 2)])),
  /** @type {[string, number]} */ (["oh", 0]),
]);
const MILLI = 0.001;
/** Units by the word behind a number: the unit, and what its number is multiplied with. */
const UNITS = new Map(
  /** @type {Array<[string, string, number]>} */ ([
    ["v volt volts vdc dcv vots vlts volta voltz vs", "V", 1],
    ["mv millivolt millivolts", "V", MILLI],
    ["amp amps ampere amperes adc", "A", 1],
    ["ma milliamp milliamps milliampere milliamperes mamp mamps milli millis mas", "A", MILLI],
    ["c celsius centigrade", "degC", 1],
    ["f fahrenheit farenheit fahrenheight", "degF", 1],
    ["degrees degree deg degs \u00b0", "deg", 1],
  ]).flatMap(([words, unit, factor]) =>
    words.split(" ").map((word) => /** @type {const} */ ([word, { unit, factor }])),
  ),
);
const SIGNED = new Set(["$", "\u00a3", "\u20ac", "#", "%"]);
const MINUS = new Set(["minus", "negative"]);
const BELOW = new Set(["below", "under"]);

/** Read the digits of a number token: "12,4" as 12.4; null for grouped thousands. @param {string} digits */
function digitsValue(digits) {
  if (/^\d+,\d{3}$/.test(digits)) return null;
  return Number(digits.replace(",", ".").replace(/^\./, "0."));
}

/**
 * Read the number that begins at a token, without its unit.
 * @type {(tokens: Token[], from: number, end: number) => {value: number, to: number, isWord: boolean} | null}
 */
function numberAt(tokens, from, end) {
  const token = /** @type {Token} */ (tokens[from]);
  const isWord = token.kind === "word";
  const value = isWord ? (SPOKEN.get(token.text) ?? null) : digitsValue(token.text);
  if (value === null || (token.kind !== "number" && !isWord)) return null;
  return { ...withPart(tokens, from, end, value), isWord };
}

/**
 * Add the part of a number that stands behind its whole: "v4", "point two", "and a half", "1/2".
 * @param {Token[]} tokens
 * @param {number} from
 * @param {number} end
 * @param {number} value
 */
function withPart(tokens, from, end, value) {
  const [one, two, three] = [1, 2, 3].map((step) => (from + step < end ? tokens[from + step] : undefined));
  const isWhole = Number.isInteger(value) && !/[.,]/.test(tokens[from]?.text ?? "");
  if (!isWhole || !one) return { value, to: from + 1 };
  const digits = spokenDigits(two);
  if (one.text === "point" && digits !== "") return { value: Number(`${value}.${digits}`), to: from + 3 };
  if (isSpokenPart(tokens, from, end)) return { value: Number(`${value}.${digits1(one)}`), to: from + 2 };
  if (one.text === "v" && one.glued && two?.glued && /^\d{1,2}$/.test(two.text) && !three?.glued)
    return { value: Number(`${value}.${two.text}`), to: from + 3 };
  if (one.text === "and" && two?.text === "a" && three?.text === "half") return { value: value + 0.5, to: from + 4 };
  if (one.text === "and" && two?.text === "a" && three?.text === "quarter")
    return { value: value + 0.25, to: from + 4 };
  if (one.text === "\u00bd") return { value: value + 0.5, to: from + 2 };
  if (one.text === "1" && two?.text === "/" && two.glued && three?.text === "2" && !one.glued)
    return { value: value + 0.5, to: from + 4 };
  return { value, to: from + 1 };
}

/** @param {Token} token */
const digits1 = (token) => String(SPOKEN.get(token.text) ?? "");

/**
 * Tell whether two spoken numbers are one: "twelve four".
 * @type {(tokens: Token[], from: number, end: number) => boolean}
 */
function isSpokenPart(tokens, from, end) {
  const [whole, part] = [SPOKEN.get(tokens[from]?.text ?? ""), SPOKEN.get(tokens[from + 1]?.text ?? "")];
  if (whole === undefined || part === undefined || whole < 10 || whole > 15 || part > 9) return false;
  const next = from + 2 < end ? tokens[from + 2] : undefined;
  return !next || next.kind === "sign" || BEHIND_PART.has(next.text);
}

const BEHIND_PART = new Set(
  "volts volt v right when while with after before at on off running in and but then".split(" "),
);

/** @param {Token | undefined} token */
function spokenDigits(token) {
  if (!token) return "";
  if (token.kind === "number") return /^\d+$/.test(token.text) ? token.text : "";
  const spoken = SPOKEN.get(token.text);
  return spoken === undefined ? "" : String(spoken);
}

/**
 * Find the unit behind a number, "ish" and "or so" stepped over.
 * @type {(tokens: Token[], from: number, end: number) => {unit: string, factor: number, to: number}}
 */
function unitAt(tokens, from, end) {
  let place = from;
  while (place < end && (tokens[place]?.text === "ish" || tokens[place]?.text === "~")) place += 1;
  const token = place < end ? tokens[place] : undefined;
  const none = { unit: "", factor: 1, to: place };
  if (!token) return none;
  if (token.text === "-" && token.glued && UNITS.has(tokens[place + 1]?.text ?? ""))
    return unitAt(tokens, place + 1, end);
  if (token.text === "a" || token.text === "as") {
    return token.glued || isAmpere(tokens, place, end) ? { unit: "A", factor: 1, to: place + 1 } : none;
  }
  const found = UNITS.get(token.text);
  if (!found) return none;
  // "5.7 v8" is an engine, "20 f 150" no temperature: a letter that goes on in digits is no unit.
  if (token.text.length === 1 && tokens[place + 1]?.glued && tokens[place + 1]?.kind === "number") return none;
  return found.unit === "deg" ? scaleAt(tokens, place + 1, end) : { ...found, to: place + 1 };
}

/**
 * Tell whether an "a" that stands by itself is a unit and no article: nothing it could belong to
 * follows, or what does is no thing.
 * @type {(tokens: Token[], place: number, end: number) => boolean}
 */
function isAmpere(tokens, place, end) {
  const next = place + 1 < end ? tokens[place + 1] : undefined;
  return tokens[place]?.text === "a" && (!next || next.kind === "sign" || BEHIND_UNIT.has(next.text));
}

const BEHIND_UNIT = new Set("for then and after with draw when at on in now while of still drain but or".split(" "));

/**
 * @param {Token[]} tokens
 * @param {number} place behind "degrees"
 * @param {number} end
 */
function scaleAt(tokens, place, end) {
  const found = place < end ? UNITS.get(tokens[place]?.text ?? "") : undefined;
  if (found?.unit === "degC" || found?.unit === "degF") return { ...found, to: place + 1 };
  return { unit: "deg", factor: 1, to: place };
}

/**
 * List the numbers of a clause that may be readings.
 * @type {(tokens: Token[], clause: Clause, met: Met[]) => Mention[]}
 * @param met the phrases of the clause
 */
export function mentionsIn(tokens, { from, to }, met) {
  const others = met.filter(({ kind, value }) => kind === "number" && value === "unlike");
  const nominal = met.filter(({ kind, value }) => kind === "number" && value === "nominal");
  /** @type {Mention[]} */
  const mentions = [];
  let place = from;
  while (place < to) {
    const number = numberAt(tokens, place, to);
    if (!number) {
      place += 1;
      continue;
    }
    const mention = mentionAt(tokens, place, to, number);
    const isOther = others.some((one) => one.from < mention.to && place < one.to && !beginsCondition(met, place, one));
    const isName = mention.isWhole && nominal.some((one) => one.from <= place && place < one.to);
    if (!isOther && !isName && !isPartOfMore(tokens, place, mention.to)) mentions.push(mention);
    place = mention.to;
  }
  return mentions;
}

/**
 * Tell whether what seems to be counted begins a condition: "12.4 engine off".
 * @type {(met: Met[], number: number, other: Met) => boolean}
 */
function beginsCondition(met, number, other) {
  return met.some(({ kind, from, to }) => kind === "condition" && from > number && from < other.to && to > other.to);
}

/**
 * @type {(tokens: Token[], from: number, end: number, number: {value: number, to: number, isWord: boolean}) => Mention}
 */
function mentionAt(tokens, from, end, { value, to, isWord }) {
  const { unit, factor, to: behind } = unitAt(tokens, to, end);
  const isWhole = to === from + 1 && !/[.,]/.test(tokens[from]?.text ?? "");
  const scaled = factor === 1 ? value : Number((value * factor).toPrecision(12));
  const mention = { value: scaled, unit, from, to: behind, isWhole, isWord };
  return signed(tokens, mention, end);
}

/**
 * Give a temperature its sign: "-10C", "minus 10", "20 below", "10 below zero".
 * @type {(tokens: Token[], mention: Mention, end: number) => Mention}
 */
function signed(tokens, mention, end) {
  const { from, to, unit, value } = mention;
  if (unit === "V" || unit === "A") return mention;
  const before = tokens[from - 1];
  const next = to < end ? tokens[to] : undefined;
  const isMinus = MINUS.has(before?.text ?? "") || (before?.text === "-" && tokens[from]?.glued && !before.glued);
  if (isMinus && mention.isWhole && !isOfTrims(tokens, from)) {
    return { ...mention, from: from - 1, value: -value, unit: unit || "deg" };
  }
  if (next && BELOW.has(next.text) && mention.isWhole && (to + 1 >= end || ZERO.has(tokens[to + 1]?.text ?? ""))) {
    const isFreezing = tokens[to + 1]?.text === "freezing";
    return isFreezing ? mention : { ...mention, value: -value, unit: unit || "deg", to: Math.min(to + 2, end) };
  }
  return mention;
}

/**
 * Tell whether a signed number stands among fuel trims: "trims are -1 and +3".
 * @type {(tokens: Token[], place: number) => boolean}
 */
function isOfTrims(tokens, place) {
  return tokens.slice(Math.max(0, place - NEAR_TRIMS), place).some(({ text }) => TRIMS.has(text));
}

const TRIMS = new Set("trim trims stft ltft".split(" "));
/** A sign and a word or two stand between. */
const NEAR_TRIMS = 8;

const ZERO = new Set(["zero", "0", "outside", "out", "here", "today", "and", "last", "this", "when", "right", "at"]);

/**
 * Tell whether a number belongs to a longer one: a telephone number, a date, a time, money.
 * @type {(tokens: Token[], from: number, to: number) => boolean}
 */
function isPartOfMore(tokens, from, to) {
  const before = tokens[from - 1];
  const [next, after] = [tokens[to], tokens[to + 1]];
  if (before && SIGNED.has(before.text)) return true;
  if (next && (next.text === "%" || next.text === "\u20ac" || next.text === "$")) return true;
  if (before?.kind === "word" && tokens[from]?.glued) return true; // "f150", "v8"
  return isLinked(tokens[from - 2], before, tokens[from]) || isLinked(tokens[to - 1], next, after);
}

/**
 * Tell whether two parts are joined as dates, times and telephone numbers are. Two decimals
 * joined are a range.
 * @type {(one: Token | undefined, sign: Token | undefined, other: Token | undefined) => boolean}
 */
function isLinked(one, sign, other) {
  if (one?.kind !== "number" || sign?.kind !== "sign" || other?.kind !== "number") return false;
  if (!sign.glued || !other.glued) return false;
  if (sign.text === ":" || sign.text === ".") return true;
  if (sign.text !== "-" && sign.text !== "/") return false;
  const isDecimal = (/** @type {string} */ digits) => /[.,]/.test(digits);
  const isShort = (/** @type {string} */ digits) => /^\d{1,2}$/.test(digits);
  return (
    !(isDecimal(one.text) || isDecimal(other.text)) && !(isShort(one.text) && isShort(other.text) && sign.text === "-")
  );
}
