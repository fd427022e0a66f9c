/**
 * Room reasoning: the four bytes in which a car tells its readiness monitors.
 *
 * Same order of work as build_tools/obd/readout_monitors.py (layout of SAE J1979 service
 * 01, PID 01 and PID 41, from memory). It reads no text and judges no inspection.
 * @typedef {{id: string, continuous: boolean, apart: boolean, supported: boolean,
 *   complete: boolean|null, this_trip: string|null}} MonitorState
 * @typedef {{mil: boolean, count: number, ignition: string, monitors: MonitorState[],
 *   reserved_set: boolean}} StatusBytes
 */

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
