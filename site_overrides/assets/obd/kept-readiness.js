/**
 * Data room: what the reader told the readiness pages, kept on this device.
 *
 * One record, apart from the checker's case. Anyone can edit their storage and the data may
 * change, so nothing read back is trusted; but a readout is taken whole, never cut: what is left
 * of a cut one could say something else. Nothing is sent anywhere.
 *
 * @import { Tables } from "./tables.js"
 */
import { Store } from "../kit/store.js";
import { record, texts } from "../kit/untrusted.js";

export const readinessStore = new Store("before-parts-readiness");
/** More than any form or plan here holds; longer texts and lists are not ours. */
const LONGEST_FACT = 2_000;
const MOST_DONE = 400;

/**
 * @typedef {object} Ticks
 * @property {"spark" | "compression"} ignition
 * @property {boolean} mil
 * @property {string} count as typed
 * @property {Record<string, "complete" | "incomplete">} monitors
 */
/**
 * `told` holds what was typed into the forms, field by field. `done` are ticked lines of the
 * plan named by `plan`, the monitors it was made for. `former` is what was incomplete at the
 * readout before the present one.
 * @typedef {object} Kept
 * @property {"text" | "ticks" | "lamp"} way
 * @property {string} text
 * @property {Ticks} ticks
 * @property {boolean} asked a readout was asked for at least once
 * @property {Record<string, string>} told
 * @property {string} plan
 * @property {string[]} done
 * @property {string[] | null} former
 */

/** @returns {Kept} */
export function emptyKept() {
  return {
    way: "ticks",
    text: "",
    ticks: { ignition: "spark", mil: false, count: "", monitors: {} },
    asked: false,
    told: {},
    plan: "",
    done: [],
    former: null,
  };
}

/**
 * Take a text whole; one that is longer than ours ever are is none.
 * @type {(value: unknown, most?: number) => string}
 */
function text(value, most = Infinity) {
  return typeof value === "string" && value.length <= most ? value : "";
}

/** @type {(tables: Tables, value: unknown) => Ticks} */
function cleanTicks(tables, value) {
  const raw = record(value);
  /** @type {Ticks["monitors"]} */
  const monitors = {};
  for (const [id, state] of Object.entries(record(raw.monitors))) {
    const isState = state === "complete" || state === "incomplete";
    if (Object.hasOwn(tables.monitors, id) && isState) monitors[id] = state;
  }
  const ignition = raw.ignition === "compression" ? "compression" : "spark";
  return { ignition, mil: raw.mil === true, count: text(raw.count, 4), monitors };
}

/** Make a whole record out of anything. @type {(tables: Tables, value: unknown) => Kept} */
export function cleanKept(tables, value) {
  const raw = record(value);
  /** @type {Record<string, string>} */
  const told = {};
  for (const [name, given] of Object.entries(record(raw.told)).slice(0, 60)) {
    if (/^[a-z-]{1,40}$/.test(name) && text(given, LONGEST_FACT) !== "") told[name] = text(given);
  }
  const former = texts(raw.former)
    .slice(0, 30)
    .filter((id) => Object.hasOwn(tables.monitors, id));
  return {
    way: raw.way === "text" || raw.way === "lamp" ? raw.way : "ticks",
    text: text(raw.text),
    ticks: cleanTicks(tables, raw.ticks),
    asked: raw.asked === true,
    told,
    plan: text(raw.plan, LONGEST_FACT),
    done: texts(raw.done).slice(0, MOST_DONE),
    former: Array.isArray(raw.former) ? former : null,
  };
}
