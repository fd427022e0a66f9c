"""Room reasoning: the values a car's computer gives, and the four bytes that tell its monitors.

Turns data bytes of service 01 into values with units (formulas of SAE J1979, from memory;
sample values agree with a general-purpose OBD library). Knows which bit of PID 01 and PID 41 is
which monitor for spark and compression ignition (layout from memory, in agreement with the same
library). It reads no text, judges no inspection and gives no advice. `pids.js` does the same.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final


@dataclass(frozen=True)
class Pid:
    """Describe one linear PID: value = raw * times / by + plus, raw read big-endian."""

    name: str
    length: int
    unit: str
    times: int = 1
    by: int = 1
    plus: int = 0
    counter: bool = False  # stops at its highest value


PIDS: Final = {
    0x04: Pid("calculated-load", 1, "percent", times=100, by=255),
    0x05: Pid("coolant-temperature", 1, "degC", plus=-40),
    0x06: Pid("short-fuel-trim-1", 1, "percent", times=100, by=128, plus=-100),
    0x07: Pid("long-fuel-trim-1", 1, "percent", times=100, by=128, plus=-100),
    0x08: Pid("short-fuel-trim-2", 1, "percent", times=100, by=128, plus=-100),
    0x09: Pid("long-fuel-trim-2", 1, "percent", times=100, by=128, plus=-100),
    0x0A: Pid("fuel-pressure", 1, "kPa", times=3),
    0x0B: Pid("intake-pressure", 1, "kPa"),
    0x0C: Pid("engine-speed", 2, "rpm", by=4),
    0x0D: Pid("vehicle-speed", 1, "km/h"),
    0x0E: Pid("timing-advance", 1, "degree", by=2, plus=-64),
    0x0F: Pid("intake-air-temperature", 1, "degC", plus=-40),
    0x10: Pid("air-flow", 2, "g/s", by=100),
    0x11: Pid("throttle-position", 1, "percent", times=100, by=255),
    0x1F: Pid("time-since-start", 2, "s", counter=True),
    0x21: Pid("distance-with-lamp-on", 2, "km", counter=True),
    0x2F: Pid("fuel-level", 1, "percent", times=100, by=255),
    0x30: Pid("warm-ups-since-clear", 1, "count", counter=True),
    0x31: Pid("distance-since-clear", 2, "km", counter=True),
    0x33: Pid("barometric-pressure", 1, "kPa"),
    0x42: Pid("module-voltage", 2, "V", by=1000),
    0x46: Pid("ambient-temperature", 1, "degC", plus=-40),
    0x4D: Pid("time-with-lamp-on", 2, "min", counter=True),
    0x4E: Pid("time-since-clear", 2, "min", counter=True),
    0x5C: Pid("oil-temperature", 1, "degC", plus=-40),
}
MONITOR_STATUS: Final = 0x01
TRIP_STATUS: Final = 0x41
FUEL_STATUS: Final = 0x03
STANDARD: Final = 0x1C
# How many data bytes follow each PID we can step over in a reply that carries several.
LENGTHS: Final = {
    **{number: pid.length for number, pid in PIDS.items()},
    **dict.fromkeys((0x00, 0x20, 0x40, 0x60, MONITOR_STATUS, TRIP_STATUS), 4),
    FUEL_STATUS: 2,
    STANDARD: 1,
}
_FUEL_STATUS: Final = {
    0x01: "open loop, engine cold",
    0x02: "closed loop",
    0x04: "open loop, load or deceleration",
    0x08: "open loop, something is wrong",
    0x10: "closed loop, something is wrong",
}
_STANDARDS: Final = {
    0x01: "OBD II (California)",
    0x02: "OBD (US federal)",
    0x03: "OBD and OBD II",
    0x04: "OBD I",
    0x05: "none",
    0x06: "EOBD",
    0x07: "EOBD and OBD II",
    0x09: "EOBD, OBD and OBD II",
    0x0A: "JOBD",
}


@dataclass(frozen=True)
class PidValue:
    """One decoded value.

    `value` is None where the PID tells a word, which then stands in `text`. `at_limit` says
    that a counter stands at its highest value, so the truth may be more.
    """

    ecu: str
    pid: str
    name: str
    value: float | None
    unit: str
    text: str | None = None
    at_limit: bool = False


def decode_pid(pid: int, data: Sequence[int], ecu: str = "") -> PidValue | None:
    """Decode one PID's data, or return None if we do not read this PID or it is short.

    Longer data is cut to the PID's length. Monitor status (PID 01, 41) is read elsewhere.
    """
    key = f"{pid:02X}"
    if pid not in LENGTHS or len(data) < LENGTHS[pid]:
        return None
    if pid == FUEL_STATUS:
        return PidValue(ecu, key, "fuel-system-status", None, "word", fuel_status(data))
    if pid == STANDARD:
        text = _STANDARDS.get(data[0], "not one we know")
        return PidValue(ecu, key, "obd-standard", None, "word", text)
    known = PIDS.get(pid)
    if known is None:
        return None
    raw = 0
    for byte in data[: known.length]:
        raw = raw * 256 + byte
    value = raw * known.times / known.by + known.plus
    at_limit = known.counter and raw == 256**known.length - 1
    return PidValue(ecu, key, known.name, value, known.unit, at_limit=at_limit)


def fuel_status(data: Sequence[int]) -> str:
    """Put the two bytes of PID 03 into words; a second fuel system is named if it is there."""
    first, second = (_fuel_word(byte) for byte in data[:2])
    return first if second == "off" else f"{first}; second system {second}"


def _fuel_word(byte: int) -> str:
    if byte == 0:
        return "off"
    return _FUEL_STATUS.get(byte, "not understood")


CONTINUOUS: Final = ("misfire", "fuel-system", "components")
SPARK: Final = (
    "catalyst",
    "heated-catalyst",
    "evaporative-system",
    "secondary-air",
    "gasoline-particulate-filter",
    "oxygen-sensor",
    "oxygen-sensor-heater",
    "egr-vvt",
)
COMPRESSION: Final = (
    "nmhc-catalyst",
    "nox-aftertreatment",
    None,
    "boost-pressure",
    None,
    "exhaust-gas-sensor",
    "pm-filter",
    "egr-vvt",
)
# Bit 4 of a spark engine once meant the air conditioner's refrigerant and now the particulate
# filter. Which one a car means cannot be seen, so it is shown and never counted.
APART: Final = ("gasoline-particulate-filter",)
STATUS_BYTES: Final = 4
MONITOR_IDS: Final = tuple(
    dict.fromkeys((*CONTINUOUS, *SPARK, *(name for name in COMPRESSION if name)))
)


@dataclass(frozen=True)
class MonitorState:
    """What is known of one monitor.

    `complete` is None when the monitor is not supported: its bit then means nothing.
    `this_trip` comes from PID 41: "complete", "incomplete", "disabled", or None if not read.
    `apart` marks the bit whose meaning changed over the years; rules never count it.
    """

    id: str
    continuous: bool
    apart: bool
    supported: bool
    complete: bool | None
    this_trip: str | None = None


@dataclass(frozen=True)
class StatusBytes:
    """One control unit's four bytes, decoded."""

    mil: bool
    count: int
    ignition: str
    monitors: tuple[MonitorState, ...]
    reserved_set: bool


def decode_status(data: Sequence[int]) -> StatusBytes:
    """Decode the four data bytes of PID 01.

    Needs at least four bytes of 0-255; longer data is cut. Incomplete means: the support bit
    and the not-complete bit are both set. Reserved bits are left out, and only noted.
    """
    a, b, c, d = data[:STATUS_BYTES]
    compression = bool(b & 0x08)
    monitors = [
        _state(name, b >> bit & 1, b >> (bit + 4) & 1, continuous=True)
        for bit, name in enumerate(CONTINUOUS)
    ]
    reserved = bool(b & 0x80)
    for bit, monitor in enumerate(COMPRESSION if compression else SPARK):
        if monitor is None:
            reserved = reserved or bool(c >> bit & 1)
        else:
            monitors.append(_state(monitor, c >> bit & 1, d >> bit & 1))
    return StatusBytes(
        mil=bool(a & 0x80),
        count=a & 0x7F,
        ignition="compression" if compression else "spark",
        monitors=tuple(monitors),
        reserved_set=reserved,
    )


def with_this_trip(
    monitors: Sequence[MonitorState], data: Sequence[int]
) -> tuple[MonitorState, ...]:
    """Add what PID 41 says of the present trip.

    "disabled" covers both a monitor the car has not got and one that cannot run for the rest
    of this trip; PID 41 cannot tell these apart (from memory) and decides no inspection.
    """
    trip = {state.id: state for state in decode_status(data).monitors}
    return tuple(_with_trip(monitor, trip.get(monitor.id)) for monitor in monitors)


def merge_monitors(units: Sequence[Sequence[MonitorState]]) -> tuple[MonitorState, ...]:
    """Join the monitors of several control units.

    Supported if any unit supports it; incomplete if any supporting unit says incomplete
    (common practice, no source). The order of first appearance is kept.
    """
    joined: dict[str, MonitorState] = {}
    for monitors in units:
        for monitor in monitors:
            before = joined.get(monitor.id)
            joined[monitor.id] = monitor if before is None else _joined(before, monitor)
    return tuple(joined.values())


def incomplete_ids(monitors: Sequence[MonitorState], *, continuous: bool = False) -> list[str]:
    """List supported, incomplete monitors that rules may count.

    Continuous monitors and the bit shown apart are left out, unless continuous ones are asked
    for, which then are the only ones listed.
    """
    return [
        monitor.id
        for monitor in monitors
        if monitor.complete is False and monitor.continuous == continuous and not monitor.apart
    ]


def countable_ids(monitors: Sequence[MonitorState]) -> list[str]:
    """List supported, non-continuous monitors that rules may count."""
    return [
        monitor.id
        for monitor in monitors
        if monitor.supported and not monitor.continuous and not monitor.apart
    ]


def told_state(name: str, told: str | None) -> MonitorState:
    """Build a monitor from a ticked word: "complete", "incomplete", or anything else for none."""
    supported = told in {"complete", "incomplete"}
    missing = told == "incomplete"
    return _state(name, int(supported), int(missing), continuous=name in CONTINUOUS)


def _state(name: str, support: int, missing: int, *, continuous: bool = False) -> MonitorState:
    complete = missing == 0 if support else None
    return MonitorState(name, continuous, name in APART, support != 0, complete)


def _with_trip(monitor: MonitorState, trip: MonitorState | None) -> MonitorState:
    if trip is None:
        return monitor
    if not trip.supported:
        return replace(monitor, this_trip="disabled")
    return replace(monitor, this_trip="complete" if trip.complete else "incomplete")


_TRIP_ORDER: Final = (None, "disabled", "complete", "incomplete")


def _joined(one: MonitorState, other: MonitorState) -> MonitorState:
    supported = one.supported or other.supported
    incomplete = one.complete is False or other.complete is False
    trips = (one.this_trip, other.this_trip)
    return replace(
        one,
        supported=supported,
        complete=(not incomplete) if supported else None,
        this_trip=max(trips, key=_TRIP_ORDER.index),
    )
