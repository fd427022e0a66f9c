/**
 * Room answer: cut a message into words, numbers and signs, and these into sentences and clauses.
 *
 * Every part keeps its place in the message, so that what is understood can be marked there.
 * Time grows with the length of the text and no faster.
 */

/** @typedef {{text: string, start: number, end: number, kind: "word" | "number" | "sign", glued: boolean}} Token */
/**
 * A stretch of tokens, `from` to before `to`. `opened` is the sign or word it begins behind.
 * @typedef {{from: number, to: number, sentence: number, opened: string, quoted: boolean}} Clause
 */

/** Longest message looked at; what follows is told to be left out. */
export const LONGEST_MESSAGE = 20_000;

const SAME_WIDTH = /** @type {Record<string, string>} */ ({
  "\u2019": "'",
  "\u02bc": "'",
  "`": "'",
  "\u00b4": "'",
  "\u2212": "-",
  "\u2010": "-",
  "\u2011": "-",
  "\u2013": "-",
  "\u00a0": " ",
  "\u202f": " ",
  "\u2009": " ",
  "\u00ba": "\u00b0",
  "\u02da": "\u00b0",
});
// One alternative each: decimal numbers, words (and names such as "o2" and "p0420"), new lines, signs.
const PART =
  /(\d+[.,]\d+|[.]\d+|\d+)|((?<![\p{L}\d.,])[a-z]{1,2}\d{1,4}(?![\d.,]*\d|\p{L})|[\p{L}][\p{L}\p{M}']*)|(\n)|([^\s])/gu;
/** Nobody writes a longer clause; it keeps the time that words are held against each other within bounds. */
const LONGEST_CLAUSE = 80;
/** What a word becomes with the part written to it: its length in the message, it, and the part. */
const SHORT = /** @type {Record<string, string>} */ ({ "1w/": "with", "2witho": "without" });
/** How far back "now" answers what was. */
const TURN = 8;
/** Words that end a clause as a comma does. */
const JOINING = new Set("but and then though although however whereas yet plus except or".split(" "));
/** What "and" joins to one saying. */
const SAYINGS = new Set(
  (
    "comes-goes come-go came-went coming-going on-off off-on up-down now-then now-again here-there back-forth" +
    " in-out open-shut worse-worse more-more slower-slower longer-longer clean-tight tight-clean over-over" +
    " faster-smooth faster-smoother faster-easier cranks-cranks"
  ).split(" "),
);
const SOFT = new Set([",", ";", ":", "(", ")", "[", "]", "\u2014", "-", "/", "|", "=", ">"]);

/** Write a text in plain lower-case letters, each sign in its own place. @param {string} text */
export function plainText(text) {
  const known = text.replace(/[^\0-\x7f]/gu, (sign) => {
    const same = SAME_WIDTH[sign];
    if (same !== undefined || sign.length > 1) return same ?? sign;
    const parts = sign.normalize("NFKD");
    // An accent goes; a sign made of several, such as a fraction, stays what it is.
    const low = (/^.\p{M}*$/u.test(parts) ? parts.charAt(0) : sign).toLowerCase();
    return low.length === 1 ? low : sign;
  });
  return known.replace(/[A-Z]+/g, (letters) => letters.toLowerCase());
}

/**
 * Cut a message into words, numbers and signs; apostrophes inside words go ("won't" is "wont"), and
 * "w/" and "w/o" are "with" and "without".
 * @type {(text: string) => Token[]}
 */
export function tokensOf(text) {
  /** @type {Token[]} */
  const tokens = [];
  for (const found of plainText(text).matchAll(PART)) {
    const start = found.index;
    const end = start + found[0].length;
    const kind = found[1] !== undefined ? "number" : found[2] !== undefined ? "word" : "sign";
    const plain = kind === "word" ? found[0].replaceAll("'", "") : found[0];
    const last = tokens.at(-1);
    const glued = last?.end === start;
    const long = last && glued ? SHORT[`${last.end - last.start}${last.text}${plain}`] : undefined;
    if (last && long) Object.assign(last, { text: long, end });
    else tokens.push({ text: plain, start, end, kind, glued });
  }
  return tokens;
}

/**
 * Cut tokens into clauses; a sentence ends at a full stop, a question mark or a new line.
 * @type {(tokens: Token[]) => Clause[]}
 */
export function clausesOf(tokens) {
  /** @type {Clause[]} */
  const clauses = [];
  let sentence = 0;
  let quoted = tokens[0]?.text === ">";
  let opened = "";
  let from = 0;
  /** @param {number} to @param {string} next */
  const close = (to, next) => {
    if (to > from) clauses.push({ from, to, sentence, opened, quoted });
    opened = next;
  };
  for (const [place, token] of tokens.entries()) {
    if (endsSentence(tokens, place)) {
      close(place, token.text);
      from = place + 1;
      sentence += 1;
      if (token.text === "\n") quoted = tokens[place + 1]?.text === ">";
    } else if (isSoft(tokens, place)) {
      close(place, token.text);
      from = place + 1;
    } else if (place - from === LONGEST_CLAUSE) {
      close(place, "");
      from = place;
    }
  }
  close(tokens.length, "");
  return clauses;
}

/** @type {(tokens: Token[], place: number) => boolean} */
function endsSentence(tokens, place) {
  const token = /** @type {Token} */ (tokens[place]);
  if (token.kind !== "sign") return false;
  if (token.text === "\n" || token.text === "!" || token.text === "?") return true;
  // "12.4." ends a sentence, "a.c." and ".." inside words do not begin one.
  return token.text === "." && !tokens[place + 1]?.glued;
}

/** @type {(tokens: Token[], place: number) => boolean} */
function isSoft(tokens, place) {
  const token = /** @type {Token} */ (tokens[place]);
  if (token.text === "now") return isTurn(tokens, place);
  // What something comes without is no denial of it: "it quits with no warning".
  if (token.text === "with" || token.text === "without")
    return tokens[place + 1]?.text === (token.text === "with" ? "no" : "any");
  if (token.kind === "word") return JOINING.has(token.text) && !isOfNumber(tokens, place) && !isOfSaying(tokens, place);
  if (!SOFT.has(token.text)) return false;
  const next = tokens[place + 1];
  // A sign inside a word or before its number belongs to it: "a/c", "-10", "red-hot", "12-13".
  if (token.text === "-" || token.text === "/") return !next?.glued && !token.glued;
  return true;
}

/**
 * Tell whether "now" turns from what was: "it used to read 12.6 now reads 11.9".
 * @type {(tokens: Token[], place: number) => boolean}
 */
function isTurn(tokens, place) {
  return tokens.slice(Math.max(place - TURN, 0), place).some(({ text }) => text === "used" || text === "was");
}

/**
 * Tell whether a joining word is of a number: "twelve and a half", "between 12 and 13", "4 or 5".
 * @type {(tokens: Token[], place: number) => boolean}
 */
function isOfNumber(tokens, place) {
  const [one, other] = [tokens[place + 1], tokens[place + 2]];
  if (one?.text === "a" && (other?.text === "half" || other?.text === "quarter")) return true;
  if (one?.kind !== "number") return false;
  if (tokens[place]?.text === "or") return tokens[place - 1]?.kind === "number";
  return tokens.slice(Math.max(place - 4, 0), place).some((token) => token.text === "between");
}

/** Tell whether "and" joins a saying: "it comes and goes". @type {(tokens: Token[], place: number) => boolean} */
function isOfSaying(tokens, place) {
  const before = tokens[place - 1]?.text;
  return tokens[place]?.text === "and" && (before === "nice" || SAYINGS.has(`${before}-${tokens[place + 1]?.text}`));
}

/**
 * Give the words of a message between two tokens, as they were written.
 * @type {(text: string, tokens: Token[], from: number, to: number) => string}
 * @param to the first token no longer wanted
 */
export function wordsBetween(text, tokens, from, to) {
  return text.slice(tokens[from]?.start ?? 0, tokens[to - 1]?.end ?? 0);
}
