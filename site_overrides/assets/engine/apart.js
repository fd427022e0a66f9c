/**
 * Causes weighed apart in each finding, where all together are too much to sum. What is left of
 * the sum is still exact. Twin of apart.py, in the same order of arithmetic.
 *
 * @import { Prepared, Term } from "./terms.js"
 */

const ROUNDS = 20;
const STRONGEST = 1e12;
const MOST_ODDS = 1e200;

/**
 * @typedef {{chances: Map<string, Map<number, number>>, posteriors: Map<number, number>}} Apart
 * Causes weighed apart, by place: `chances` has, by finding, how likely each is by all that is
 * known but that finding, `posteriors` how likely by everything.
 */

/** @type {(state: Prepared, fits: (state: Prepared) => boolean) => Apart} */
export function takeApart(state, fits) {
  const told = new Told(state);
  for (let round = 0; round < ROUNDS; round += 1) told.tell();
  const order = told
    .shared()
    .map((cause) => ({ cause, tie: told.tie(cause) }))
    .sort((one, other) => one.tie - other.tie || one.cause - other.cause)
    .map(({ cause }) => cause);
  let low = 0;
  let high = order.length;
  // All of them apart leave every finding alone, and that always fits.
  while (low < high) {
    const middle = Math.floor((low + high) / 2);
    if (fits(loosened(state, told.apart(order.slice(0, middle))))) high = middle;
    else low = middle + 1;
  }
  return told.apart(order.slice(0, low));
}

/** Fold what is weighed apart into each finding's own leak. @type {(state: Prepared, apart: Apart) => Prepared} */
export function loosened(state, { chances, posteriors }) {
  return {
    ...state,
    present: state.present.map((weight, place) => (posteriors.has(place) ? 0 : weight)),
    absent: state.absent.map((weight, place) => (posteriors.has(place) ? 1 : weight)),
    terms: state.terms.map((term) => withLeak(term, chances.get(term.finding) ?? new Map())),
  };
}

/** @type {(term: Term, chances: Map<number, number>) => Term} */
function withLeak(term, chances) {
  let reach = sums(term.leak);
  for (const [cause, chance] of chances) reach = withCause(reach, reachOf(term, cause), chance);
  const leak = reach.map((one, state) => one - (state > 0 ? reach[state - 1] : 0));
  return { ...term, leak, links: new Map([...term.links].filter(([cause]) => !chances.has(cause))) };
}

/** What each finding tells of each of its causes: how much likelier it is with it. */
class Told {
  /** @param {Prepared} state */
  constructor(state) {
    this.terms = state.terms;
    this.leaks = state.terms.map(({ leak }) => sums(leak));
    /** @type {Map<number, number>[]} */
    this.ratios = state.terms.map(
      ({ links }) => new Map([...links.keys()].filter((cause) => state.present[cause] > 0).map((cause) => [cause, 1])),
    );
    /** @type {Map<number, {odds: number, places: number[]}>} */
    this.causes = new Map();
    this.ratios.forEach((ratios, place) => {
      for (const cause of ratios.keys()) {
        const known = this.causes.get(cause) ?? { odds: state.present[cause] / state.absent[cause], places: [] };
        known.places.push(place);
        this.causes.set(cause, known);
      }
    });
  }

  /** Let every finding tell anew, halfway (in ratio) from what it told before. */
  tell() {
    const fresh = this.terms.map((_, place) => this.toldBy(place));
    this.ratios.forEach((ratios, place) => {
      for (const [cause, ratio] of fresh[place]) ratios.set(cause, Math.sqrt((ratios.get(cause) ?? 1) * ratio));
    });
  }

  /** Return the causes of more than one finding. */
  shared() {
    return [...this.causes].filter(([, { places }]) => places.length > 1).map(([cause]) => cause);
  }

  /** Say how much a cause ties its findings, for each of them: 0 where it is sure. @param {number} cause */
  tie(cause) {
    const { places } = this.known(cause);
    const told = places.map((place) => this.strength(place, cause)).sort((one, other) => one - other);
    const chance = this.chance(cause, -1);
    return (chance * (1 - chance) * told[told.length - 2]) / places.length;
  }

  /** Return these causes as they are to be weighed apart. @type {(causes: number[]) => Apart} */
  apart(causes) {
    /** @type {Apart} */
    const found = { chances: new Map(), posteriors: new Map() };
    for (const cause of causes) {
      found.posteriors.set(cause, this.chance(cause, -1));
      for (const place of this.known(cause).places) {
        const { finding } = this.terms[place];
        const chances = found.chances.get(finding) ?? new Map();
        found.chances.set(finding, chances.set(cause, this.chance(cause, place)));
      }
    }
    return found;
  }

  /** @param {number} cause */
  known(cause) {
    return /** @type {{odds: number, places: number[]}} */ (this.causes.get(cause));
  }

  /** @type {(place: number, cause: number) => number} */
  strength(place, cause) {
    const ratio = this.ratios[place].get(cause) ?? 1;
    return Math.abs(ratio - 1) / (ratio + 1);
  }

  /** Return P(cause) by all findings, or by all `but` one. @type {(cause: number, but: number) => number} */
  chance(cause, but) {
    const known = this.known(cause);
    let { odds } = known;
    for (const place of known.places) {
      if (place !== but) odds = between(odds * (this.ratios[place].get(cause) ?? 1), MOST_ODDS);
    }
    return odds / (1 + odds);
  }

  /**
   * Return what one finding tells of each of its causes, by what the others tell it.
   * @type {(place: number) => Map<number, number>}
   */
  toldBy(place) {
    const term = this.terms[place];
    const causes = [...this.ratios[place].keys()];
    const chances = causes.map((cause) => this.chance(cause, place));
    const before = [this.leaks[place]];
    causes.forEach((cause, number) => {
      before.push(withCause(before[number], reachOf(term, cause), chances[number]));
    });
    let behind = term.weights.map(() => 1);
    const told = new Map();
    for (let number = causes.length - 1; number >= 0; number -= 1) {
      const reach = reachOf(term, causes[number]);
      const without = before[number].map((share, state) => share * behind[state]);
      const having = without.map((share, state) => share * reach[state]);
      told.set(causes[number], ratioOf(weighed(having, term.weights), weighed(without, term.weights)));
      behind = withCause(behind, reach, chances[number]);
    }
    return told;
  }
}

/** @type {(term: Term, cause: number) => number[]} */
function reachOf({ links }, cause) {
  return links.get(cause)?.reach ?? [];
}

/** @param {number[]} masses */
function sums(masses) {
  let total = 0;
  return masses.map((mass) => {
    total += mass;
    return total;
  });
}

/** @type {(reach: number[], own: number[], chance: number) => number[]} */
function withCause(reach, own, chance) {
  return reach.map((one, state) => one * (1 - chance + chance * own[state]));
}

/** @type {(reach: number[], weights: number[]) => number} */
function weighed(reach, weights) {
  let total = 0;
  let below = 0;
  reach.forEach((one, state) => {
    total += Math.max(0, one - below) * weights[state];
    below = one;
  });
  return total;
}

/** @type {(having: number, without: number) => number} */
function ratioOf(having, without) {
  if (without > 0) return between(having / without, STRONGEST);
  return having > 0 ? STRONGEST : 1;
}

/** @type {(ratio: number, most: number) => number} */
function between(ratio, most) {
  return Math.min(most, Math.max(1 / most, ratio));
}
