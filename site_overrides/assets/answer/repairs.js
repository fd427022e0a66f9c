/**
 * Room answer: which repairs a part that was put in stands for.
 *
 * Only parts that are the whole of a repair are listed. A new relay or oxygen sensor does not say
 * which one, new plugs are half of "plugs or coil", and one ground strap leaves the others.
 *
 * @import { Knowledge } from "../knowledge/types.js"
 */

/** The part a repair asks for, by the name that messages are read with. */
const PART_OF_REPAIR = /** @type {Record<string, string>} */ ({
  alternator: "alternator",
  battery: "battery",
  "battery sensor": "battery sensor",
  belt: "drive belt",
  catalyst: "catalytic converter",
  "coolant sensor": "coolant temperature sensor",
  "crankshaft sensor": "crankshaft sensor",
  "fob cell": "coin cell",
  "fuel cap": "gas cap",
  "fuel filter": "fuel filter",
  "fuel pump": "fuel pump",
  "ignition switch": "ignition switch",
  "purge valve": "purge valve",
  starter: "starter motor",
  thermostat: "thermostat",
  "water pump": "water pump",
});

/** @returns {Record<string, string>} */
export function partsOfRepairs() {
  return PART_OF_REPAIR;
}

/**
 * List the causes whose repair is a part that was put in; none where the part tells no repair.
 * @type {(knowledge: Knowledge, told: string) => string[]}
 */
export function causesMendedBy({ causes }, told) {
  const part = PART_OF_REPAIR[told];
  return part === undefined ? [] : Object.keys(causes).filter((id) => causes[id]?.repair.part === part);
}
