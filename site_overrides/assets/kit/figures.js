/**
 * Output room: say numbers in plain words.
 *
 * The same words as the printed pages use (`build_tools/knowledge/markup.py`), so "about 1 in 3"
 * means one thing on the whole site. Nothing here reasons.
 */

/** Steps a reader can picture; between two of them the nearer one is said. */
const FRACTIONS = /** @type {const} */ ([
  [1, 2],
  [3, 5],
  [2, 3],
  [3, 4],
  [4, 5],
  [9, 10],
  [19, 20],
]);
const DENOMINATORS = [2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 30, 50, 100];

/** What kind of hands a check asks for. */
export const SKILL_WORDS = /** @type {Record<string, string>} */ ({
  easy: "easy",
  some: "some skill",
  workshop: "shop skill",
});

/** Who can make a repair. */
export const WHO_WORDS = /** @type {Record<string, string>} */ ({
  owner: "You can do it yourself",
  "owner-with-tools": "You can do it yourself with simple tools",
  workshop: "Work for a shop",
});

/** @type {(share: number) => string} */
export function fractionWords(share) {
  if (share < 0.01) return "less than 1 in 100";
  if (share > 19 / 20 + 0.015) return "more than 19 in 20";
  if (share < 0.5) {
    let nearest = 2;
    let best = Infinity;
    for (const n of DENOMINATORS) {
      const miss = Math.abs(n - 1 / share) / n;
      if (miss < best) [nearest, best] = [n, miss];
    }
    return `about 1 in ${nearest}`;
  }
  /** @type {readonly [number, number]} */
  let words = FRACTIONS[0];
  for (const step of FRACTIONS) {
    if (Math.abs(step[0] / step[1] - share) < Math.abs(words[0] / words[1] - share)) words = step;
  }
  return `about ${words[0]} in ${words[1]}`;
}

/**
 * Say a probability as "1 in 3", where a mark beside it says that it is an estimate.
 * @type {(share: number) => string}
 */
export function shortOdds(share) {
  return fractionWords(share).replace("about ", "");
}

/** Say an amount of money; "nothing" for none. @type {(amount: number, currency: string) => string} */
export function moneyWords(amount, currency) {
  return amount === 0 ? "nothing" : inCurrency(Math.round(amount * 100) / 100, currency);
}

/** @type {(amount: number, currency: string) => string} */
function inCurrency(amount, currency) {
  return currency === "USD" ? `$${amount}` : `${amount} ${currency}`;
}

/** Say a price range. @type {(low: number, high: number, currency: string) => string} */
export function priceWords(low, high, currency) {
  return low === high ? moneyWords(low, currency) : `${inCurrency(low, currency)} to ${inCurrency(high, currency)}`;
}

/** Say a time: minutes up to two hours, then hours. @type {(minutes: number) => string} */
export function minutesWords(minutes) {
  return minutes < 120 ? `${minutes} min` : `${(minutes / 60).toFixed(1).replace(/\.0$/, "")} h`;
}

/** Say a wait: hours, and days from two of them on. @type {(hours: number) => string} */
export function hoursWords(hours) {
  return hours >= 48 && hours % 24 === 0 ? `${hours / 24} days` : `${hours} h`;
}

/** @type {(check: {minutes: number, wait_hours?: number | null}) => string} */
export function timeWords({ minutes, wait_hours: hours }) {
  return hours
    ? `${minutesWords(minutes)} of yours, then about ${hoursWords(hours)} of waiting`
    : minutesWords(minutes);
}

/**
 * Write a number with a true minus sign, without dust or idle zeros (1.21 * 10 is 12.1).
 * @param {number} value
 * @param {number} [decimals] most decimals worth showing
 * @returns {string}
 */
export function numberWords(value, decimals = 6) {
  return String(Number(value.toFixed(decimals))).replace("-", "\u2212");
}

/**
 * Say how many symptoms a search found.
 * @param {string} text what was typed
 * @param {number} count
 * @param {string} otherwise where to look when nothing was found
 * @returns {string}
 */
export function foundWords(text, count, otherwise) {
  if (text.trim() === "") return "";
  if (count === 0) return `Nothing fits these words. Try other words, or ${otherwise}.`;
  return count === 1 ? "One symptom fits." : `${count} symptoms fit, the nearest first.`;
}

/** Say how a unit is written. @type {(units: Record<string, any>, unit: string) => string} */
export function unitSymbol(units, unit) {
  return unit === "ratio" ? "" : (units[unit]?.symbol ?? unit);
}

/**
 * Let a title go on inside a sentence: small first letter unless it is an abbreviation.
 * @type {(text: string) => string}
 */
export function lowerFirst(text) {
  return /^.[a-z ]/.test(text) ? text.charAt(0).toLowerCase() + text.slice(1) : text;
}

/** Join words the way one says them: a, b and c. @type {(words: string[], joint?: string) => string} */
export function listed(words, joint = "and") {
  if (words.length < 2) return words.join("");
  return `${words.slice(0, -1).join(", ")} ${joint} ${words.at(-1)}`;
}
