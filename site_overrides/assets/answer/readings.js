/**
 * Room answer: give each number of a message the condition it was read under, or none.
 *
 * A condition is looked for in the clause of the number, then in a clause beside it that holds
 * nothing but a condition. Where none is told the reading is not certain: its quantity is then
 * only what such a value most often is, and it is asked about before it is used.
 *
 * @import { Mention } from "./numbers.js"
 * @import { Met } from "./phrases.js"
 * @import { Token } from "./tokens.js"
 */

/** What is known of a clause; `standing` says why its numbers are no readings, "" if they are. */
/**
 * @typedef {{from: number, to: number, sentence: number, met: Met[], mentions: Mention[],
 *   standing: string}} Part
 */
/**
 * @typedef {{quantity: string, value: number, unit: string, certain: boolean, check?: string, from: number,
 *   to: number}} Reading words stand from a token to before another
 */
/** @typedef {{condition: string, value: number, sentence: number}} Former the reading before */

/** Numbers without a unit are volts only between these: a car's supply shows no others. */
const LEAST_BARE = 4;
const MOST_BARE = 18.5;
/** A whole number needs more to be taken for volts; a starter leaves no fewer. */
const LEAST_WHOLE = 5;
const MOST_WHOLE = 17;
const MOST_VOLTS = 60;
const MOST_DEGREES = 300;
/** Decimals between these are seldom anything but volts of a car. */
const LIKELY = /** @type {const} */ ([8, 16.9]);
/** A decimal that stands all alone is volts between these. */
const ALONE = /** @type {const} */ ([9.5, 15.5]);
/** A parked car takes no more; below the other a whole number of amperes names a fuse. */
const MOST_DRAW = 60;
const LEAST_FUSE = 3;
/** No starter pulls a battery up: above it "starting" means that the engine ran. */
const MOST_CRANKING = 12.9;
/** A starter that leaves less was not turning; it is a drop somewhere, or a dead battery. */
const LEAST_CRANKING = 3.5;
const LEAST_RUNNING = 12.9;
/** Not even fresh off the charger does a battery at rest show more. */
const SURELY_RUNNING = 13.3;
const LEAST_OFF = 11.8;
const LEAST_LOADED = 12.3;
/** Two values that far apart share a condition told for one of them. */
const ALIKE = 0.6;
/** A clause of so few words holds nothing that a decimal could count. */
const SHORT = 4;
/** Words right behind a number that tell its condition by themselves. */
const BESIDE = new Set("before during off on without".split(" "));
/** A clause of more words is no mere condition. */
const LONGEST_ASIDE = 16;
/** Along a cable, and of what swings about the direct volts, no more is read. */
const MOST_DROP = 4;
/** The check that a small voltage goes into by what it is taken across, and the condition it is read under. */
const DROPS = /** @type {Record<string, {check: string, under: string[]}>} */ ({
  ground: { check: "measure-drop-ground-cranking", under: ["cranking", "key"] },
  positive: { check: "measure-drop-positive-cranking", under: ["cranking", "key"] },
  clamp: { check: "measure-drop-post-to-clamp", under: ["cranking", "key"] },
  charging: { check: "measure-drop-charging-cable", under: ["running", "loads", "alternator"] },
  ripple: { check: "measure-ac-ripple", under: ["running", "loads", "alternator"] },
});
const FOLLOWERS = new Set(
  (
    "when while with at on off after before during or resting running idle idling cranking under once if as to now" +
    " again cold hot i ish then every right only even without"
  ).split(" "),
);
const DOWNWARD = new Set(
  "drops drop dropped dips dip dipped falls fell sags sag sagged down dipping dropping".split(" "),
);
const MOVING = new Set([...DOWNWARD, "goes", "went"]);

/** Find the readings of a message's clauses. @type {(tokens: Token[], all: Part[]) => Reading[]} */
export function readingsOf(tokens, all) {
  // Clauses without a word, such as times in a chat, stand between nothing.
  const parts = all.filter(
    ({ from, to, mentions }) => mentions.length > 0 || tokens.slice(from, to).some(({ kind }) => kind === "word"),
  );
  const isElectric = isOfSupply(parts);
  /** @type {Reading[]} */
  const readings = [];
  /** @type {Former | null} */
  let former = null;
  for (const [number, part] of parts.entries()) {
    if (part.standing !== "") continue;
    const inSentence = isIn(part, former);
    /** @type {Mention[]} */
    const taken = withoutUpperEnds(
      tokens,
      part.mentions.filter(
        (mention) =>
          isReading(tokens, parts, number, mention, isElectric) ||
          (inSentence && isSibling(tokens, part, mention)) ||
          dropOf(parts, number, mention) !== "",
      ),
    );
    const conditions = conditionsFor(tokens, parts, number, taken);
    for (const [place, mention] of taken.entries()) {
      const given = conditions[place] ?? [];
      const inherited = isIn(part, former) ? former : null;
      const names = namesOf(tokens, part, mention, given, inherited);
      const drop = dropOf(parts, number, mention);
      if (drop !== "") {
        const read = droppedAt(drop, [parts[number - 1], part, parts[number + 1]], former);
        readings.push({ ...read, value: mention.value, ...wordsOf(part, mention, given) });
        if (read.certain) former = { condition: drop, value: mention.value, sentence: part.sentence };
        continue;
      }
      const told = resolved(mention, names, inherited);
      const { quantity, unit, certain, condition } = told;
      readings.push({ quantity, value: mention.value, unit, certain, ...wordsOf(part, mention, given) });
      if (certain) former = { condition, value: mention.value, sentence: part.sentence };
    }
  }
  return readings;
}

/**
 * Say across what a small voltage was taken: the two ends of a cable, or AC. What is named in its clause
 * counts, the nearest before the number; else what the clause before it in the sentence names.
 * @type {(parts: Part[], number: number, mention: Mention) => string}
 * @returns "" where none is told
 */
function dropOf(parts, number, { value, unit, isWhole, from }) {
  if ((unit !== "V" && (unit !== "" || isWhole)) || Math.abs(value) > MOST_DROP) return "";
  const part = /** @type {Part} */ (parts[number]);
  const isDrop = (/** @type {Met} */ { kind }) => kind === "drop";
  const own = part.met.filter(isDrop);
  const before = parts[number - 1];
  const shared = before?.sentence === part.sentence ? before.met.filter(isDrop) : [];
  const named = own.filter(({ to }) => to <= from).at(-1) ?? own[0] ?? shared.at(-1);
  return named?.value ?? "";
}

/**
 * Say where a drop goes. Its condition may stand in a clause beside it, or be that of the drop before.
 * @param {string} drop
 * @param {Array<Part | undefined>} near its own clause in the middle
 * @param {Former | null} former
 */
function droppedAt(drop, near, former) {
  const { check, under } = /** @type {{check: string, under: string[]}} */ (DROPS[drop]);
  const sentence = near[1]?.sentence;
  const told = near.flatMap((part) => (part && part.sentence === sentence ? part.met : []));
  const isTold = told.some((one) => isCondition(one) && under.includes(one.value));
  return { quantity: "other", unit: "V", check, certain: isTold || isLike(former, under) };
}

/** @type {(former: Former | null, under: string[]) => boolean} */
function isLike(former, under) {
  return former !== null && (DROPS[former.condition]?.under[0] ?? former.condition) === under[0];
}

/**
 * Leave out the upper end of each range: "12.2-12.4" was read once, and the lower end is the safe one.
 * @type {(tokens: Token[], taken: Mention[]) => Mention[]}
 */
function withoutUpperEnds(tokens, taken) {
  return taken.filter((mention, place) => {
    const before = taken[place - 1];
    return !before || mention.value < before.value || !isSpan(tokens, before, mention);
  });
}

/** @type {(tokens: Token[], one: Mention, other: Mention) => boolean} */
function isSpan(tokens, one, other) {
  const sign = tokens[one.to]?.text;
  const isBetween = tokens[one.from - 1]?.text === "between";
  return isRange(tokens, one, other) && (sign === "-" || sign === "to" || isBetween);
}

/** @type {(part: Part, former: Former | null) => boolean} */
function isIn({ sentence }, former) {
  return former?.sentence === sentence;
}

/**
 * Tell whether a message speaks of volts at all: it names them or a part of the supply, or holds
 * numbers as only volts are written.
 * @param {Part[]} parts
 */
function isOfSupply(parts) {
  const likely = parts.map(({ mentions }) => mentions.filter(isLikely).length);
  const isTold = parts.some(({ met, mentions }, number) => {
    const isNamed = mentions.some(({ unit }) => unit === "V") || met.some(isOfVolts);
    return isNamed || (likely[number] !== 0 && met.some(isOfMeter));
  });
  return isTold || likely.reduce((sum, count) => sum + count, 0) > 1;
}

/** @param {Mention} mention a number as only volts are written */
function isLikely({ value, isWhole, unit }) {
  return unit === "" && !isWhole && value >= LIKELY[0] && value <= LIKELY[1];
}

/** @param {Met} met */
function isOfMeter({ kind }) {
  return kind === "condition" || kind === "measure";
}

/** @param {Met} met */
function isOfVolts({ kind, value }) {
  return (kind === "tool" && value === "multimeter") || (kind === "part" && value !== "none") || kind === "volts";
}

/** @param {Met} met */
const isCondition = ({ kind }) => kind === "condition";

/** @type {(met: Met[], name: string) => boolean} */
function hasCondition(met, name) {
  return met.some((one) => isCondition(one) && one.value === name);
}

/**
 * Tell whether a number was read off something.
 * @type {(tokens: Token[], parts: Part[], number: number, mention: Mention, isElectric: boolean) => boolean}
 */
function isReading(tokens, parts, number, mention, isElectric) {
  const { value, unit, isWhole } = mention;
  const part = /** @type {Part} */ (parts[number]);
  if (unit === "V") return Math.abs(value) <= MOST_VOLTS && !isNominal(tokens, part, mention);
  if (unit === "A") return value > 0 && !isFuse(tokens, part, mention);
  if (unit !== "") return Math.abs(value) <= MOST_DEGREES;
  if (isSmallDraw(part, mention)) return true;
  const next = mention.to < part.to ? (tokens[mention.to]?.text ?? "") : "";
  const isAlone = !isWhole && (part.to - part.from <= SHORT || BESIDE.has(next));
  if (isAlone && value >= ALONE[0] && value <= ALONE[1] && !isNamedOtherwise(tokens, mention, part)) return true;
  if (!isElectric || isNamedOtherwise(tokens, mention, part)) return false;
  const isTold = part.met.some(isCondition);
  const isMeasured = part.met.some(({ kind, to }) => (kind === "measure" || kind === "part") && to <= mention.from);
  if (!isWhole) {
    // What is lower is an engine's size unless its own clause says otherwise.
    const isSuited = isAlone || [number - 1, number + 1].some((each) => isAside(parts, number, each));
    const isMeant = isTold || isMeasured || (isSuited && value >= LIKELY[0]);
    return isMeant && value >= LEAST_BARE && value <= MOST_BARE;
  }
  if (value < LEAST_WHOLE || value > MOST_WHOLE || mention.isWord) return false;
  return isTold && part.met.some(({ kind, to }) => kind === "measure" && to <= mention.from && to >= mention.from - 2);
}

/**
 * Tell whether a decimal may follow a reading in its sentence: "13.2 at idle and then 14.6".
 * @type {(tokens: Token[], part: Part, mention: Mention) => boolean}
 */
function isSibling(tokens, part, mention) {
  const { value, unit, isWhole } = mention;
  const isLikely = unit === "" && !isWhole && value >= ALONE[0] && value <= ALONE[1];
  return isLikely && !isNamedOtherwise(tokens, mention, part);
}

/**
 * Tell whether volts only name a thing: "12 v battery".
 * @type {(tokens: Token[], part: Part, mention: Mention) => boolean}
 */
function isNominal(tokens, part, mention) {
  const next = mention.to < part.to ? tokens[mention.to] : undefined;
  if (!mention.isWhole || !NOMINAL.has(mention.value) || next?.kind !== "word") return false;
  return !FOLLOWERS.has(next.text) && !part.met.some((one) => isCondition(one) && one.from === mention.to);
}

const NOMINAL = new Set([6, 12, 24, 36, 48]);

/**
 * Tell whether amperes name a fuse, a charger or what an alternator can give.
 * @type {(tokens: Token[], part: Part, mention: Mention) => boolean}
 */
function isFuse(tokens, part, mention) {
  if (!mention.isWhole || mention.value < LEAST_FUSE) return false;
  const before = tokens.slice(Math.max(part.from, mention.from - 3), mention.from);
  return !before.some(({ text }) => TAKING.has(text)) && !hasCondition(part.met, "draw");
}

const TAKING = new Set(
  "draws drawing draw pulls pulling pulled reads reading shows showing measured at about".split(" "),
);

/**
 * A number without a unit that is told as a current: "the draw dropped to 0.02".
 * @type {(part: Part, mention: Mention) => boolean}
 */
function isSmallDraw({ met }, { value, isWhole, unit }) {
  return unit === "" && !isWhole && value > 0 && value < LEAST_BARE && hasCondition(met, "draw");
}

/**
 * Tell whether a word behind a number says what it counts.
 * @type {(tokens: Token[], mention: Mention, part: Part) => boolean}
 */
function isNamedOtherwise(tokens, mention, part) {
  const next = mention.to < part.to ? tokens[mention.to] : undefined;
  if (!next || next.kind === "sign") return false;
  if (next.kind === "number") return mention.isWhole;
  const isPhrase = part.met.some((one) => isCondition(one) && one.from === mention.to);
  return !isPhrase && (mention.isWhole || next.glued) && !FOLLOWERS.has(next.text);
}

/**
 * Tell whether a clause holds a condition and nothing else that a number could belong to.
 * @type {(parts: Part[], number: number, other: number) => boolean}
 */
function isAside(parts, number, other) {
  const [own, beside] = [parts[number], parts[other]];
  if (!own || !beside || beside.mentions.some(isNumber) || beside.standing === "past") return false;
  const conditions = beside.met.filter(isCondition);
  if (conditions.length === 0) return false;
  const length = beside.to - beside.from;
  if (own.sentence === beside.sentence) return length <= LONGEST_ASIDE && (other < number || isLast(parts, other));
  const words = conditions.reduce((sum, { from, to }) => sum + to - from, 0);
  const isNear = own.sentence > beside.sentence && own.sentence - beside.sentence <= 3;
  return isNear && length - words <= 3 && !conditions.some(({ value }) => value === "loads");
}

/** @param {Mention} mention a number that a condition could belong to */
function isNumber({ unit, isWhole }) {
  return unit !== "" || !isWhole;
}

/**
 * Tell whether nothing follows a clause in its sentence that it could belong to instead.
 * @type {(parts: Part[], number: number) => boolean}
 */
function isLast(parts, number) {
  const next = parts[number + 1];
  return next?.sentence !== parts[number]?.sentence || (next?.met.some(isCondition) ?? false);
}

/**
 * Share the conditions of a clause among its numbers, or borrow those beside it.
 * @type {(tokens: Token[], parts: Part[], number: number, mentions: Mention[]) => Met[][]}
 * @returns for each mention
 */
function conditionsFor(tokens, parts, number, mentions) {
  const part = /** @type {Part} */ (parts[number]);
  const given = shared(tokens, mentions, part);
  const last = mentions.length - 1;
  const before = isAside(parts, number, number - 1) ? number - 1 : number - 2;
  const sides = /** @type {const} */ ([
    [before, 0],
    [number + 1, last],
  ]);
  for (const [each, place] of sides) {
    const isFar = each === number - 2 && parts[number - 1]?.mentions.length !== 0;
    if (given[place]?.length !== 0 || isFar || !isAside(parts, number, each)) continue;
    if (each < number - 1 && parts[each]?.sentence !== part.sentence) continue;
    given[place] = parts[each]?.met.filter(isCondition) ?? [];
  }
  return given;
}

/**
 * Give each condition of a clause to the number that stands nearest to it; where two stand equally
 * near, all conditions go the way of the first one.
 * @type {(tokens: Token[], mentions: Mention[], part: Part) => Met[][]}
 */
function shared(tokens, mentions, { met }) {
  // A battery or an alternator named before its number leads it as a condition does.
  const leading = met.filter((one) => isCondition(one) || (one.kind === "part" && one.value !== "none"));
  const conditions = met.filter(isCondition);
  /** @type {Met[][]} */
  const given = mentions.map(() => []);
  if (mentions.length === 1) return [conditions];
  const isBefore = (leading[0]?.from ?? 0) < (mentions[0]?.from ?? 0);
  for (const condition of conditions) {
    const left = mentions.filter((mention) => mention.to <= condition.from).length - 1;
    const right = mentions.findIndex((mention) => mention.from >= condition.to);
    const toLeft = condition.from - (mentions[left]?.to ?? Number.NEGATIVE_INFINITY);
    const toRight = (mentions[right]?.from ?? Number.POSITIVE_INFINITY) - condition.to;
    const isRight = toRight === toLeft ? isBefore : toRight < toLeft;
    given[isRight ? right : left]?.push(condition);
  }
  for (let place = mentions.length - 2; place >= 0; place -= 1) {
    const [one, other] = [mentions[place], mentions[place + 1]];
    if (!one || !other || !isRange(tokens, one, other)) continue;
    if (given[place]?.length === 0) given[place] = given[place + 1] ?? [];
    else if (given[place + 1]?.length === 0) given[place + 1] = given[place] ?? [];
  }
  return given;
}

/**
 * Tell whether two numbers are the ends of one range: "13.8 to 14.2", "12.2-12.4".
 * @type {(tokens: Token[], one: Mention, other: Mention) => boolean}
 */
function isRange(tokens, one, other) {
  const between = tokens.slice(one.to, other.from).map(({ text }) => text);
  if (between.length !== 1 || Math.abs(one.value - other.value) > 1.5) return false;
  const before = tokens
    .slice(Math.max(one.from - 2, 0), one.from)
    .some(({ text }) => text === "from" || DOWNWARD.has(text));
  return ["to", "-", "and", "or"].includes(between[0] ?? "") && !(before && between[0] === "to");
}

/**
 * Name the conditions of a number, those included that single words beside it tell.
 * @type {(tokens: Token[], part: Part, mention: Mention, given: Met[], former: Former | null) => Set<string>}
 */
function namesOf(tokens, part, mention, given, former) {
  const names = new Set(given.map(({ value }) => value));
  const next = mention.to < part.to ? tokens[mention.to]?.text : "";
  const before = mention.from > part.from ? tokens[mention.from - 1]?.text : "";
  const isFirst = !part.mentions.some(({ to }) => to <= mention.from && mention.from - to <= 1);
  if (next === "off") return new Set(["off"]);
  if (names.size === 0 || (names.has("loads") && names.size === 1)) {
    if (before === "off" && isFirst) names.add("off");
    else if (next === "before") names.add("off");
    else if (next === "on" && former?.condition === "off") names.add("running");
    else if (next === "during" && former !== null) names.add("cranking");
    else if (next === "without" && former?.condition === "loads") names.add("running");
  }
  if (next === "without") names.delete("loads");
  // "Drops to 9 when I turn the key": nothing but the starter pulls it down so far.
  const isMoving = tokens.slice(part.from, mention.from).some(({ text }) => MOVING.has(text));
  if (names.delete("key") && mention.value < LEAST_OFF && isMoving) names.add("cranking");
  return names;
}

/**
 * Say what a number measures, by its unit and the conditions told for it.
 * @type {(mention: Mention, told: Set<string>, former: Former | null) =>
 *   {quantity: string, unit: string, certain: boolean, condition: string}}
 * @param former the reading before it in its sentence
 */
function resolved({ unit, value }, told, former) {
  if (["degC", "degF", "deg"].includes(unit)) return { quantity: "temperature", unit, certain: true, condition: "" };
  if (unit === "A" || (unit === "" && value < LEAST_BARE)) return drawOf(value, told, former);
  const condition = conditionOf(told, value, former);
  const quantity = QUANTITY[condition] ?? "other";
  if (condition !== "") return { quantity, unit: "V", certain: true, condition };
  return { quantity: likelyQuantity(told, value), unit: "V", certain: false, condition };
}

/**
 * @param {number} value
 * @param {Set<string>} told
 * @param {Former | null} former
 */
function drawOf(value, told, former) {
  const isAwake = told.has("cranking") || told.has("running") || value > MOST_DRAW;
  const isParked =
    !isAwake && (told.has("draw") || told.has("parked") || told.has("off") || former?.condition === "draw");
  const quantity = isParked || (!isAwake && value < LEAST_FUSE) ? "parked draw" : "other";
  return { quantity, unit: "A", certain: isParked, condition: isParked ? "draw" : "" };
}

const QUANTITY = /** @type {Record<string, string>} */ ({
  off: "resting voltage",
  cranking: "cranking voltage",
  running: "charging voltage",
  loads: "charging voltage with loads",
  "key-on": "key-on voltage",
});

/**
 * Say what a value most often is whose condition is not told.
 * @param {Set<string>} told
 * @param {number} value
 */
function likelyQuantity(told, value) {
  if (told.has("unsure") || told.has("cranking")) return "other";
  if (told.has("loads")) return value >= LEAST_LOADED ? "charging voltage with loads" : "other";
  return value > LEAST_RUNNING ? "charging voltage" : "resting voltage";
}

/**
 * @type {(told: Set<string>, value: number, former: Former | null) => string}
 * @returns "" where the condition is not told
 */
function conditionOf(told, value, former) {
  // A socket shows the alternator's volts like the posts do.
  if (told.has("aside")) return told.has("running") && value > LEAST_RUNNING ? "running" : "aside";
  if (told.has("unsure")) return "";
  if (told.has("cranking")) return value > MOST_CRANKING ? "running" : value < LEAST_CRANKING ? "" : "cranking";
  if (told.has("key-on")) return "key-on";
  if (told.has("parked") && !told.has("running")) return told.has("loads") ? "" : "off";
  // "13.0 at idle with the lights on, 14.1 with everything off": the engine still runs.
  const isStillRunning = value > SURELY_RUNNING && (former?.condition === "running" || former?.condition === "loads");
  if (told.has("off") && !told.has("loads") && isStillRunning) return "running";
  // No battery at rest shows so much; what else is meant has to be asked.
  if (told.has("off") && value > SURELY_RUNNING && !told.has("running")) return "";
  if (told.has("off")) return told.has("loads") ? "" : told.has("running") && value > LEAST_RUNNING ? "running" : "off";
  const isRunning = told.has("running") || (told.has("alternator") && value >= LEAST_RUNNING);
  if (isRunning) return told.has("loads") ? "loads" : "running";
  if (told.has("loads")) return former?.condition === "running" || former?.condition === "loads" ? "loads" : "";
  if (told.size === 0 && former && Math.abs(former.value - value) <= ALIKE) return former.condition;
  return "";
}

/**
 * Return the stretch of tokens that led to a reading: the number and its conditions in the clause.
 * @param {Part} part
 * @param {Mention} mention
 * @param {Met[]} conditions
 */
function wordsOf(part, mention, conditions) {
  const near = conditions.filter(({ from, to }) => from >= part.from && to <= part.to);
  return {
    from: Math.min(mention.from, ...near.map(({ from }) => from)),
    to: Math.max(mention.to, ...near.map(({ to }) => to)),
  };
}
