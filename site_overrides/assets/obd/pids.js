/**
 * Room reasoning: the values a car's computer gives, and the four bytes that tell its monitors.
 *
 * Twin of build_tools/obd/pids.py, in the same order of work (SAE J1979 service 01, from memory). It
 * reads no text, judges no inspection and gives no advice.
 *
 * @typedef {{name: string, length: number, unit: string, times: number, by: number,
 *   plus: number, counter: boolean}} Pid
 * @typedef {{ecu: string, pid: string, name: string, value: number|null, unit: string,
 *   text: string|null, at_limit: boolean}} PidValue
 * @typedef {{id: string, continuous: boolean, apart: boolean, supported: boolean,
 *   complete: boolean|null, this_trip: string|null}} MonitorState
 * @typedef {{mil: boolean, count: number, ignition: string, monitors: MonitorState[],
 *   reserved_set: boolean}} StatusBytes
 */

/**
 * @type {(name: string, length: number, unit: string, more?: {times?: number, by?: number, plus?: number,
 *   counter?: boolean}) => Pid}
 */
function pid(name, length, unit, more = {}) {
  return { name, length, unit, times: 1, by: 1, plus: 0, counter: false, ...more };
}

/** @type {Map<number, Pid>} value = raw * times / by + plus, raw read big-endian */
export const PIDS = new Map([
  [0x04, pid("calculated-load", 1, "percent", { times: 100, by: 255 })],
  [0x05, pid("coolant-temperature", 1, "degC", { plus: -40 })],
  [0x06, pid("short-fuel-trim-1", 1, "percent", { times: 100, by: 128, plus: -100 })],
  [0x07, pid("long-fuel-trim-1", 1, "percent", { times: 100, by: 128, plus: -100 })],
  [0x08, pid("short-fuel-trim-2", 1, "percent", { times: 100, by: 128, plus: -100 })],
  [0x09, pid("long-fuel-trim-2", 1, "percent", { times: 100, by: 128, plus: -100 })],
  [0x0a, pid("fuel-pressure", 1, "kPa", { times: 3 })],
  [0x0b, pid("intake-pressure", 1, "kPa")],
  [0x0c, pid("engine-speed", 2, "rpm", { by: 4 })],
  [0x0d, pid("vehicle-speed", 1, "km/h")],
  [0x0e, pid("timing-advance", 1, "degree", { by: 2, plus: -64 })],
  [0x0f, pid("intake-air-temperature", 1, "degC", { plus: -40 })],
  [0x10, pid("air-flow", 2, "g/s", { by: 100 })],
  [0x11, pid("throttle-position", 1, "percent", { times: 100, by: 255 })],
  [0x1f, pid("time-since-start", 2, "s", { counter: true })],
  [0x21, pid("distance-with-lamp-on", 2, "km", { counter: true })],
  [0x2f, pid("fuel-level", 1, "percent", { times: 100, by: 255 })],
  [0x30, pid("warm-ups-since-clear", 1, "count", { counter: true })],
  [0x31, pid("distance-since-clear", 2, "km", { counter: true })],
  [0x33, pid("barometric-pressure", 1, "kPa")],
  [0x42, pid("module-voltage", 2, "V", { by: 1000 })],
  [0x46, pid("ambient-temperature", 1, "degC", { plus: -40 })],
  [0x4d, pid("time-with-lamp-on", 2, "min", { counter: true })],
  [0x4e, pid("time-since-clear", 2, "min", { counter: true })],
  [0x5c, pid("oil-temperature", 1, "degC", { plus: -40 })],
]);
export const MONITOR_STATUS = 0x01;
export const TRIP_STATUS = 0x41;
const FUEL_STATUS = 0x03;
const STANDARD = 0x1c;

/** How many data bytes follow each PID we can step over in a reply that carries several. */
export const LENGTHS = new Map([
  ...[...PIDS].map(([number, known]) => /** @type {[number, number]} */ ([number, known.length])),
  .../** @type {[number, number][]} */ ([
    [0x00, 4],
    [0x20, 4],
    [0x40, 4],
    [0x60, 4],
    [MONITOR_STATUS, 4],
    [TRIP_STATUS, 4],
    [FUEL_STATUS, 2],
    [STANDARD, 1],
  ]),
]);
/** @type {Map<number, string>} */
const FUEL_WORDS = new Map([
  [0x00, "off"],
  [0x01, "open loop, engine cold"],
  [0x02, "closed loop"],
  [0x04, "open loop, load or deceleration"],
  [0x08, "open loop, something is wrong"],
  [0x10, "closed loop, something is wrong"],
]);
/** @type {Map<number, string>} */
const STANDARDS = new Map([
  [0x01, "OBD II (California)"],
  [0x02, "OBD (US federal)"],
  [0x03, "OBD and OBD II"],
  [0x04, "OBD I"],
  [0x05, "none"],
  [0x06, "EOBD"],
  [0x07, "EOBD and OBD II"],
  [0x09, "EOBD, OBD and OBD II"],
  [0x0a, "JOBD"],
]);

/**
 * @type {(number: number, data: number[], ecu?: string) => PidValue|null}
 * @param data longer data is cut to the PID's length
 */
export function decodePid(number, data, ecu = "") {
  const key = hexByte(number);
  if (data.length < (LENGTHS.get(number) ?? Infinity)) return null;
  const word = { ecu, pid: key, value: null, unit: "word", at_limit: false };
  if (number === FUEL_STATUS) {
    return { ...word, name: "fuel-system-status", text: fuelStatus(data) };
  }
  if (number === STANDARD) {
    return { ...word, name: "obd-standard", text: STANDARDS.get(data[0]) ?? "not one we know" };
  }
  const known = PIDS.get(number);
  if (known === undefined) return null;
  let raw = 0;
  for (const byte of data.slice(0, known.length)) raw = raw * 256 + byte;
  const value = (raw * known.times) / known.by + known.plus;
  const atLimit = known.counter && raw === 256 ** known.length - 1;
  return { ecu, pid: key, name: known.name, value, unit: known.unit, text: null, at_limit: atLimit };
}

/** @type {(data: number[]) => string} */
function fuelStatus(data) {
  const [first, second] = data.slice(0, 2).map((byte) => FUEL_WORDS.get(byte) ?? "not understood");
  return second === "off" ? first : `${first}; second system ${second}`;
}

/** Write a byte as two hex digits in capitals. @type {(byte: number) => string} */
export function hexByte(byte) {
  return byte.toString(16).toUpperCase().padStart(2, "0");
}

export const CONTINUOUS = ["misfire", "fuel-system", "components"];
export const SPARK = [
  "catalyst",
  "heated-catalyst",
  "evaporative-system",
  "secondary-air",
  "gasoline-particulate-filter",
  "oxygen-sensor",
  "oxygen-sensor-heater",
  "egr-vvt",
];
export const COMPRESSION = [
  "nmhc-catalyst",
  "nox-aftertreatment",
  null,
  "boost-pressure",
  null,
  "exhaust-gas-sensor",
  "pm-filter",
  "egr-vvt",
];
// Bit 4 of a spark engine once meant the air conditioner's refrigerant and now the particulate
// filter. Which one a car means cannot be seen, so it is shown and never counted.
export const APART = ["gasoline-particulate-filter"];
export const STATUS_BYTES = 4;

const TRIP_ORDER = [null, "disabled", "complete", "incomplete"];

/** @type {(data: number[]) => StatusBytes} */
export function decodeStatus(data) {
  const [a, b, c, d] = data;
  const compression = (b & 0x08) !== 0;
  const monitors = CONTINUOUS.map((name, bit) => state(name, (b >> bit) & 1, (b >> (bit + 4)) & 1, true));
  let reserved = (b & 0x80) !== 0;
  (compression ? COMPRESSION : SPARK).forEach((monitor, bit) => {
    if (monitor === null) {
      reserved = reserved || ((c >> bit) & 1) === 1;
    } else {
      monitors.push(state(monitor, (c >> bit) & 1, (d >> bit) & 1, false));
    }
  });
  return {
    mil: (a & 0x80) !== 0,
    count: a & 0x7f,
    ignition: compression ? "compression" : "spark",
    monitors,
    reserved_set: reserved,
  };
}

/** @type {(monitors: MonitorState[], data: number[]) => MonitorState[]} */
export function withThisTrip(monitors, data) {
  const trip = new Map(decodeStatus(data).monitors.map((monitor) => [monitor.id, monitor]));
  return monitors.map((monitor) => {
    const told = trip.get(monitor.id);
    if (told === undefined) return monitor;
    if (!told.supported) return { ...monitor, this_trip: "disabled" };
    return { ...monitor, this_trip: told.complete ? "complete" : "incomplete" };
  });
}

/** @type {(units: MonitorState[][]) => MonitorState[]} */
export function mergeMonitors(units) {
  /** @type {Map<string, MonitorState>} */
  const merged = new Map();
  for (const monitors of units) {
    for (const monitor of monitors) {
      const before = merged.get(monitor.id);
      merged.set(monitor.id, before === undefined ? monitor : joined(before, monitor));
    }
  }
  return [...merged.values()];
}

/** @type {(monitors: MonitorState[], continuous?: boolean) => string[]} */
export function incompleteIds(monitors, continuous = false) {
  return monitors.filter((m) => m.complete === false && m.continuous === continuous && !m.apart).map((m) => m.id);
}

/** List supported, non-continuous monitors that rules may count. @type {(monitors: MonitorState[]) => string[]} */
export function countableIds(monitors) {
  return monitors.filter((m) => m.supported && !m.continuous && !m.apart).map((m) => m.id);
}

/** @type {(name: string, told: unknown) => MonitorState} */
export function toldState(name, told) {
  const supported = told === "complete" || told === "incomplete";
  const missing = told === "incomplete";
  return state(name, Number(supported), Number(missing), CONTINUOUS.includes(name));
}

/** @type {(name: string, support: number, missing: number, continuous: boolean) => MonitorState} */
function state(name, support, missing, continuous) {
  return {
    id: name,
    continuous,
    apart: APART.includes(name),
    supported: support !== 0,
    complete: support !== 0 ? missing === 0 : null,
    this_trip: null,
  };
}

/** @type {(one: MonitorState, other: MonitorState) => MonitorState} */
function joined(one, other) {
  const supported = one.supported || other.supported;
  const incomplete = one.complete === false || other.complete === false;
  const place = Math.max(TRIP_ORDER.indexOf(one.this_trip), TRIP_ORDER.indexOf(other.this_trip));
  return { ...one, supported, complete: supported ? !incomplete : null, this_trip: TRIP_ORDER[place] };
}
