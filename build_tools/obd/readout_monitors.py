"""Room reasoning: the four bytes in which a car tells its readiness monitors.

Knows which bit is which monitor for spark and compression ignition (SAE J1979 service 01,
PID 01 and PID 41; layout from memory, in agreement with a general-purpose OBD library).
It reads no text and judges no inspection. `readout-monitors.js` does the same.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

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
    """Hold what is known of one monitor.

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
    """Hold one control unit's four bytes, decoded."""

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
