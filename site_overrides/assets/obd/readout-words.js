/**
 * Room reasoning: a readout told in words, as readers show it on a screen.
 *
 * Same order of work as build_tools/obd/readout_words.py. Whatever has two readings is handed
 * back to be asked. It knows no bytes and never throws.
 * @typedef {{line: number, monitor: string, state: string|null}} Understood
 * @typedef {{monitors: Map<string, string|null>, lines: Understood[], codes: [string, string][],
 *   asked: string[], mil: boolean|null, count: number|null}} Words
 * @typedef {{names: [number, string][], states: string[], heading: string|null,
 *   alone: [number, string][]}} Run
 */

const LONGEST_LINE = 400;
const MOST_LINES = 2_000;
/** @type {[RegExp, string][]} */
const SIGNS = [
  [/[\u2713\u2714\u2705\u2611\u{1f5f8}]/gu, " complete "],
  [/[\u2717\u2718\u2716\u274c\u2612\u00d7]/gu, " incomplete "],
  [/[\u2010-\u2015\u2212]/gu, "-"],
  [/[^\x20-\x7e\t]/gu, " "],
];
const O2 = "(?:ho2s?|o2s?|oxygen|lambda)(?:[ _-]?sen(?:s|sor|sors)?\\b\\.?)?";
/** @type {[string, string][]} at one place the first that fits is meant: longer names stand first */
const NAMES = [
  ["heated-catalyst", "(?:heated|htd)[ _.-]{0,2}cat\\w*|hcat|cat\\w*[ _-]heat\\w*"],
  ["nmhc-catalyst", "nmhc(?:[ _-]cat\\w*)?"],
  ["unclear", "heated[ _-](?:o2|oxygen)(?:[ _-]sen\\w*)?"],
  ["oxygen-sensor-heater", `${O2}[ _-]?(?:heater|heat|htr|ht)s?|o2h|htr`],
  ["oxygen-sensor", O2],
  ["evaporative-system", "evap\\w*|evp"],
  ["secondary-air", "(?:sec(?:ondary|\\.)?|2nd)[ _-]?air(?:[ _-]inj\\w*)?|air[ _-]inj\\w*|sai|air"],
  ["egr-vvt", "egr|vvt"],
  ["misfire", "mis(?:-?fire)?|mf"],
  ["fuel-system", "fuel(?:[ _-]sys\\w*\\.?)?"],
  ["components", "comprehensive|components?|ccm|comp"],
  ["catalyst", "cat(?:alysts?|alytic)?"],
  ["gasoline-particulate-filter", "gpf|gasoline particul\\w*"],
  ["boost-pressure", "boost"],
  ["nox-aftertreatment", "nox|scr"],
  ["exhaust-gas-sensor", "exh\\w*[ _-]gas(?:[ _-]sen\\w*)?|egs"],
  ["pm-filter", "pm[ _-]filter|pm|dpf|particul\\w*"],
  ["air-conditioning", "a/c(?:[ _-](?:sys\\w*|refrig\\w*))?"],
];
/** @type {[string, string][]} */
const STATES = [
  ["none", "n/a|not[ -](?:(?:support|avail|applic|equip)\\w*|supp)|unsupported|n/s|na|-{2,}"],
  ["incomplete", "not[ -]?(?:ready|completed?|rdy|cmpl|done|run)|in-?complete|incmpl?|inc|nrdy|nr|n/r"],
  ["complete", "completed?|cmpl|compl|ready|rdy|done|finished|ok"],
  ["unclear", "yes|no|pass(?:ed)?|fail(?:ed)?|on|off|x|pending|disabled"],
];
const ROWS = { s: STATES, n: NAMES };
const groups = (/** @type {"s" | "n"} */ kind) =>
  ROWS[kind].map(([, pattern], place) => `(?<${kind}${place}>${pattern})`);
const FOUND = new RegExp(`(?<![a-z0-9])(?:${[...groups("s"), ...groups("n")].join("|")})(?![a-z0-9])`, "g");
const FILLING =
  /\b(?:monitors?|systems?|sensors?|tests?|status|converter|and|or|bank|the|is|are|these|eval|mon|sys|b[12]|s[12])\b/g;
const LAMP =
  /\b(?:mil|cel|check engine(?: (?:light|lamp))?|engine (?:light|lamp)|malfunction \w+ \w+)\b[^a-z0-9]*(?:(?:status|light|lamp|is|command\w*)[^a-z0-9]*){0,3}(on|off|lit)\b/;
const COUNT =
  /\b(?:(no|[0-9]{1,3}) (?:stored |confirmed )?(?:dtcs?|codes?|faults?)\b|(?:dtcs?|codes?|faults?)(?: (?:stored|count|found|number))?[ :=#]+([0-9]{1,3}|none)\b)/;
const KIND_OR_CODE =
  /\b(PENDING|PERMANENT|STORED|CONFIRMED|CURRENT|ACTIVE)\b|(?<![A-Z0-9])([PCBU][0-3][0-9A-F]{3})(?:-[0-9A-F]{2})?(?![A-Z0-9])/g;
// A word stands in a column of its own, so it is meant as a state.
const APART = /[:=|\t]| {2}/;
const SPARK_ONLY = [
  "catalyst",
  "heated-catalyst",
  "evaporative-system",
  "secondary-air",
  "oxygen-sensor",
  "oxygen-sensor-heater",
  "gasoline-particulate-filter",
];
const DIESEL_ONLY = ["nmhc-catalyst", "nox-aftertreatment", "boost-pressure", "exhaust-gas-sensor", "pm-filter"];

/**
 * Tell the kind of engine by the monitors that are there; null: both kinds or neither.
 * @type {(words: Words) => "compression"|"spark"|null}
 */
export function ignitionOf(words) {
  const there = [...words.monitors].filter(([, state]) => state !== "none").map(([name]) => name);
  const diesel = there.some((name) => DIESEL_ONLY.includes(name));
  const spark = there.some((name) => SPARK_ONLY.includes(name));
  return diesel === spark ? null : diesel ? "compression" : "spark";
}

/** Read a text as words. Lines beyond the limits are left out. @type {(text: string) => Words} */
export function readWords(text) {
  const words = noWords();
  /** @type {Run} */
  const run = { names: [], states: [], heading: null, alone: [] };
  let kind = "confirmed";
  plainLines(text).forEach((line, place) => {
    kind = readCodes(words, line, kind);
    readLine(words, run, place + 1, readLamp(words, line.toLowerCase()));
  });
  close(words, run);
  // Names without any state are to be asked, unless the whole text is no list of monitors.
  const isList = words.monitors.size > 0;
  for (const [number, name] of run.alone) if (isList && !words.monitors.has(name)) tell(words, number, name, null);
  return words;
}

/** @returns {Words} */
function noWords() {
  return { monitors: new Map(), lines: [], codes: [], asked: [], mil: null, count: null };
}

/** @type {(text: string) => [string, string][]} */
export function codesBeside(text) {
  const words = noWords();
  let kind = "confirmed";
  for (const line of plainLines(text)) kind = readCodes(words, line, kind);
  return words.codes.filter(([, code]) => "PU".includes(code[0]));
}

/** @param {string} text */
function plainLines(text) {
  const rows = text.replaceAll("\r", "\n").split("\n").slice(0, MOST_LINES);
  return rows.map((raw) => {
    let line = [...raw.slice(0, 2 * LONGEST_LINE)].slice(0, LONGEST_LINE).join("");
    for (const [pattern, plain] of SIGNS) line = line.replace(pattern, plain);
    return line;
  });
}

/**
 * @type {(words: Words, line: string, before: string) => string}
 * @returns what codes on the lines below are
 */
function readCodes(words, line, before) {
  let [kind, carried] = [before, before];
  const found = [...line.toUpperCase().matchAll(KIND_OR_CODE)];
  const isBehind = found.length > 1 && found[0][2] !== undefined && found[found.length - 1][1] !== undefined;
  /** @type {[string, string][]} */
  const codes = [];
  for (const [, word, code] of isBehind ? found.reverse() : found) {
    if (word !== undefined) {
      kind = ["PENDING", "PERMANENT"].includes(word) ? word.toLowerCase() : "confirmed";
      carried = isBehind ? carried : kind;
    } else codes.push([kind, code]);
  }
  for (const [of, code] of isBehind ? codes.reverse() : codes) {
    if (!words.codes.some(([one, known]) => one === of && known === code)) words.codes.push([of, code]);
    if (!words.asked.includes(of)) words.asked.push(of);
  }
  return carried;
}

/** Take the lamp and the number of codes out of a line. @type {(words: Words, line: string) => string} */
function readLamp(words, line) {
  const lamp = LAMP.exec(line);
  if (lamp) {
    words.mil = words.mil === true || lamp[1] !== "off";
    line = without(line, lamp);
  }
  const count = COUNT.exec(line);
  if (count) {
    const told = count[1] ?? count[2];
    words.count = told === "no" || told === "none" ? 0 : Math.min(Number(told), 127);
    line = without(line, count);
  }
  return line;
}

/** @type {(line: string, match: RegExpExecArray) => string} */
function without(line, match) {
  return `${line.slice(0, match.index)} ${line.slice(match.index + match[0].length)}`;
}

/** @type {(words: Words, run: Run, number: number, line: string) => void} */
function readLine(words, run, number, line) {
  /** @type {["state"|"name", string][]} */
  const found = [];
  for (const match of line.matchAll(FOUND)) {
    const [key] = Object.entries(match.groups ?? {}).find(([, text]) => text !== undefined) ?? ["n0"];
    const kind = key[0] === "s" ? "s" : "n";
    const item = ROWS[kind][Number(key.slice(1))][0];
    const last = found[found.length - 1];
    const role = kind === "s" ? "state" : "name";
    if (role === "state" || last === undefined || last[0] !== role || last[1] !== item) found.push([role, item]);
  }
  const rest = line.replace(FOUND, " ").replace(FILLING, " ");
  const spoken = /[a-z]/.test(rest);
  const names = found.filter(([role]) => role === "name").map(([, name]) => name);
  const states = found.filter(([role]) => role === "state").map(([, state]) => state);
  if (names.length && states.length) {
    close(words, run);
    pair(words, number, found, names, states);
  } else if (names.length && !spoken) {
    if (run.states.length) close(words, run);
    for (const name of names) {
      if (run.heading !== null) tell(words, number, name, run.heading);
      else run.names.push([number, name]);
    }
  } else if (names.length === 1 && APART.test(line) && !/[0-9]/.test(rest)) {
    tell(words, number, names[0], null);
  } else if (states.length && !spoken && !line.includes("=")) {
    if (run.names.length) run.states.push(...states);
    else run.heading = states.length === 1 ? states[0] : null;
  }
}

/**
 * @type {(words: Words, number: number, found: ["state"|"name", string][], names: string[], states: string[]) => void}
 */
function pair(words, number, found, names, states) {
  const turns = found.every(([role], place) => place === 0 || role !== found[place - 1][0]);
  const forAll = states.length === 1 && found[0][0] === "state" ? states[0] : null;
  const inTurn = names.length === states.length && turns;
  if (names.length === 1 && new Set(states).size === 1) return tell(words, number, names[0], states[0]);
  names.forEach((name, place) => {
    tell(words, number, name, inTurn ? states[place] : forAll);
  });
}

/** @type {(words: Words, number: number, name: string, state: string|null) => void} */
function tell(words, number, name, state) {
  if (name === "air-conditioning") return;
  let plain = state === "unclear" || name === "unclear" ? null : state;
  const monitor = name === "unclear" ? "oxygen-sensor-heater" : name;
  if (words.monitors.has(monitor) && words.monitors.get(monitor) !== plain) plain = null;
  words.monitors.set(monitor, plain);
  words.lines.push({ line: number, monitor, state: plain });
}

/** @type {(words: Words, run: Run) => void} */
function close(words, run) {
  const even = run.names.length === run.states.length;
  run.names.forEach(([number, name], place) => {
    if (run.states.length) tell(words, number, name, even ? run.states[place] : null);
    else run.alone.push([number, name]);
  });
  [run.names, run.states, run.heading] = [[], [], null];
}
