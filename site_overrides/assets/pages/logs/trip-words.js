/** Output room: how the channels of a log of a drive are drawn. @import { Quantity } from "./plot.js" */
import { ROLE_WORDS, STRETCH_NAMES } from "../../logs/trip-words.js";

const CANONICAL = /** @type {Record<string, string>} */ ({
  speed: "km/h",
  rpm: "rpm",
  coolant: "\u00b0C",
  ambient: "\u00b0C",
  voltage: "V",
  fuel: "%",
  pressure: "kPa",
  "run-time": "s",
});
const STEPS = [0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000];
const DENSITY = { idle: 0, cruise: 2, "coast-down": 3, "low-voltage": 4 };

/** Say how a channel is drawn. @type {(role: string) => Quantity} */
export function quantityOf(role) {
  const isVolts = role === "voltage";
  return {
    name: ROLE_WORDS[role]?.name ?? role,
    unit: CANONICAL[role] ?? "",
    decimals: isVolts ? 2 : 0,
    steps: STEPS,
    least: isVolts ? 0.4 : role === "rpm" ? 500 : 10,
    empty: [0, 100],
    names: STRETCH_NAMES,
    density: DENSITY,
  };
}
