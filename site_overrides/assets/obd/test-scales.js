/**
 * Room reasoning: scales of test results, service 06 on CAN (SAE J1979, table of units and scaling).
 *
 * The table itself was not seen; the figures are those of the general-purpose library `obd`, which
 * follows it. An id that is not here is shown raw.
 * @type {Record<number, [number, string] | [number, string, number]>} by id: what one step is, its
 *   unit, and what is added; ids from 80 hex up are signed
 */
export const SCALES = {
  1: [1, ""],
  2: [0.1, ""],
  3: [0.01, ""],
  4: [0.001, ""],
  5: [3.05e-5, ""],
  6: [0.000305, ""],
  7: [0.25, "rpm"],
  8: [0.01, "km/h"],
  9: [1, "km/h"],
  10: [0.122, "mV"],
  11: [0.001, "V"],
  12: [0.01, "V"],
  13: [0.00390625, "mA"],
  14: [0.001, "A"],
  15: [0.01, "A"],
  16: [1, "ms"],
  17: [100, "ms"],
  18: [1, "s"],
  19: [1, "mΩ"],
  20: [1, "Ω"],
  21: [1, "kΩ"],
  22: [0.1, "°C", -40],
  23: [0.01, "kPa"],
  24: [0.0117, "kPa"],
  25: [0.079, "kPa"],
  26: [1, "kPa"],
  27: [10, "kPa"],
  28: [0.01, "°"],
  29: [0.5, "°"],
  30: [3.05e-5, ""],
  31: [0.05, ""],
  32: [0.00390625, ""],
  33: [1, "mHz"],
  34: [1, "Hz"],
  35: [1, "kHz"],
  36: [1, ""],
  37: [1, "km"],
  38: [0.1, "mV/ms"],
  39: [0.01, "g/s"],
  40: [1, "g/s"],
  41: [0.25, "Pa/s"],
  42: [0.001, "kg/h"],
  43: [1, ""],
  44: [0.01, "g"],
  45: [0.01, "mg"],
  47: [0.01, "%"],
  48: [0.001526, "%"],
  49: [0.001, "l"],
  50: [3.05e-5, "in"],
  51: [0.00024414, ""],
  52: [1, "min"],
  53: [10, "ms"],
  54: [0.01, "g"],
  55: [0.1, "g"],
  56: [1, "g"],
  57: [0.01, "%", -327.68],
  58: [0.001, "g"],
  59: [0.0001, "g"],
  60: [0.1, "µs"],
  61: [0.01, "mA"],
  62: [6.103516e-5, "mm²"],
  63: [0.01, "l"],
  64: [1, "ppm"],
  65: [0.01, "µA"],
  129: [1, ""],
  130: [0.1, ""],
  131: [0.01, ""],
  132: [0.001, ""],
  133: [3.05e-5, ""],
  134: [0.000305, ""],
  135: [1, "ppm"],
  138: [0.122, "mV"],
  139: [0.001, "V"],
  140: [0.01, "V"],
  141: [0.00390625, "mA"],
  142: [0.001, "A"],
  144: [1, "ms"],
  150: [0.1, "°C"],
  153: [0.1, "kPa"],
  156: [0.01, "°"],
  157: [0.5, "°"],
  168: [1, "g/s"],
  169: [0.25, "Pa/s"],
  173: [0.01, "mg"],
  174: [0.1, "mg"],
  175: [0.01, "%"],
  176: [0.003052, "%"],
  177: [2, "mV/s"],
  252: [0.01, "kPa"],
  253: [0.001, "kPa"],
  254: [0.25, "Pa"],
};

const SIGNED_FROM = 0x80;

/**
 * Put two bytes on the scale of an id.
 * @param {number} id
 * @param {number} raw 0 to 65,535
 * @returns {{value: number, unit: string} | null} null for a scale we do not know
 */
export function scaled(id, raw) {
  const scale = SCALES[id];
  if (scale === undefined) return null;
  const [step, unit, plus = 0] = scale;
  return { value: (id >= SIGNED_FROM && raw >= 0x8000 ? raw - 0x10000 : raw) * step + plus, unit };
}
