/**
 * Room case: the bytes a case link is made of: numbers, words and their order.
 *
 * Small numbers take one byte. A word is the number the vocabulary gave it, for ever, or its
 * letters when it has none yet. It knows nothing of cases.
 *
 * @import { Fact } from "../knowledge/types.js"
 */

/** The kinds of a value; from FIRST_WORD on it is a word's number. */
const NUMBER = 0;
const QUANTITY = 1;
const TRUE = 2;
const FALSE = 3;
const TEXT = 4;
const FIRST_WORD = 5;
/** Where a number has no short decimal form its eight bytes stand instead. */
const RAW = 15;
const MOST_DIGITS = 15;
const DECIMAL = /^(-?)([0-9]+)(?:\.([0-9]+))?$/;
const WORD = /^[A-Za-z0-9][A-Za-z0-9-]*$/;
const LONGEST_WORD = 60;
const LONGEST_TEXT = 80;

/** Say that bytes do not hold what they should. */
export class Unreadable extends Error {}

/** Gather bytes; `numbers` maps words to their numbers. */
export class Writer {
  /** @param {Map<string, number>} numbers */
  constructor(numbers) {
    this.numbers = numbers;
    /** @type {number[]} */
    this.bytes = [];
  }

  /** Write a whole number from 0, seven bits a byte, low ones first. @param {number} number */
  count(number) {
    let rest = number;
    while (rest > 127) {
      this.bytes.push((rest % 128) + 128);
      rest = Math.floor(rest / 128);
    }
    this.bytes.push(rest);
  }

  /** Write a word: its number plus one, or 0 and its letters. @param {string} word */
  word(word) {
    const number = this.numbers.get(word);
    this.count(number === undefined ? 0 : number + 1);
    if (number === undefined) this.letters(word);
  }

  /** @param {string[]} words */
  words(words) {
    this.count(words.length);
    for (const word of words) this.word(word);
  }

  /** Write a number exactly: its decimals and digits, or its eight bytes. @param {number} value */
  number(value) {
    const [, sign = "", whole = "", part = ""] = DECIMAL.exec(String(value)) ?? [];
    const digits = whole + part;
    const isShort = digits !== "" && digits.replace(/^0+/, "").length <= MOST_DIGITS && part.length < RAW;
    if (isShort && !Object.is(value, -0)) {
      this.count(part.length);
      this.count(Number(digits) * 2 + (sign === "" ? 0 : 1));
      return;
    }
    this.count(RAW);
    const view = new DataView(new ArrayBuffer(8));
    view.setFloat64(0, value);
    this.bytes.push(...new Uint8Array(view.buffer));
  }

  /** Write a number, a number with its unit, a yes or no, an option or a short text. @param {Fact | boolean} value */
  value(value) {
    const known = typeof value === "string" ? this.numbers.get(value) : undefined;
    if (typeof value === "boolean") this.count(value ? TRUE : FALSE);
    else if (typeof value === "number") {
      this.count(NUMBER);
      this.number(value);
    } else if (known !== undefined) this.count(FIRST_WORD + known);
    else if (typeof value === "string") {
      this.count(TEXT);
      this.letters(value.slice(0, LONGEST_TEXT));
    } else {
      this.count(QUANTITY);
      this.number(value.value);
      this.word(value.unit);
    }
  }

  /** @param {string} text */
  letters(text) {
    const raw = new TextEncoder().encode(text);
    this.count(raw.length);
    this.bytes.push(...raw);
  }
}

/** Read bytes in the order they were written; `words` lists the words by number. */
export class Reader {
  /**
   * @param {Uint8Array} raw
   * @param {string[]} words
   */
  constructor(raw, words) {
    this.raw = raw;
    this.place = 0;
    this.wordList = words;
  }

  isDone() {
    return this.place >= this.raw.length;
  }

  /** Read so many bytes; throws Unreadable if there are fewer. @type {(count: number) => Uint8Array} */
  take(count) {
    if (count > this.raw.length - this.place) throw new Unreadable("the bytes end too early");
    this.place += count;
    return this.raw.subarray(this.place - count, this.place);
  }

  /** Read a whole number from 0. */
  count() {
    let number = 0;
    let scale = 1;
    for (let place = 0; place < 9; place += 1) {
      const byte = this.take(1)[0] ?? 0;
      number += (byte % 128) * scale;
      scale *= 128;
      if (byte < 128) {
        if (number > Number.MAX_SAFE_INTEGER) throw new Unreadable("a number is too large");
        return number;
      }
    }
    throw new Unreadable("a number is too large");
  }

  /** Read how many things follow; more than the bytes that are left cannot follow. */
  size() {
    const number = this.count();
    if (number > this.raw.length - this.place) throw new Unreadable("more is announced than follows");
    return number;
  }

  /** @returns {string} */
  word() {
    const number = this.count();
    if (number > 0) return this.known(number - 1);
    const word = this.letters(LONGEST_WORD);
    if (word !== "" && !WORD.test(word)) throw new Unreadable("a word has signs no id has");
    return word;
  }

  /** @returns {string[]} */
  words() {
    return Array.from({ length: this.size() }, () => this.word());
  }

  /** @returns {number} */
  number() {
    const decimals = this.count();
    if (decimals === RAW) {
      const eight = this.take(8);
      const value = new DataView(eight.buffer, eight.byteOffset, 8).getFloat64(0);
      if (!Number.isFinite(value)) throw new Unreadable("a number is not finite");
      return value;
    }
    if (decimals > RAW) throw new Unreadable("a number has too many decimals");
    const digits = this.count();
    const sign = digits % 2 === 1 ? "-" : "";
    return Number(`${sign}${Math.floor(digits / 2)}e-${decimals}`);
  }

  /** @returns {any} */
  value() {
    const kind = this.count();
    if (kind >= FIRST_WORD) return this.known(kind - FIRST_WORD);
    if (kind === NUMBER) return this.number();
    if (kind === QUANTITY) return { value: this.number(), unit: this.word() };
    if (kind === TEXT) return this.letters(LONGEST_TEXT * 4);
    return kind === TRUE;
  }

  /** @param {number} number */
  known(number) {
    const word = this.wordList[number];
    if (!word) throw new Unreadable("a word has a number this page does not know");
    return word;
  }

  /** @param {number} longest */
  letters(longest) {
    const size = this.count();
    if (size > longest) throw new Unreadable("a word is too long");
    try {
      return new TextDecoder("utf-8", { fatal: true, ignoreBOM: true }).decode(this.take(size));
    } catch (error) {
      if (error instanceof Unreadable) throw error;
      throw new Unreadable("a word has broken letters");
    }
  }
}
