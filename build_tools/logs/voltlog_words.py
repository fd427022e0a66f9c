"""Room 5: say what a log of volts holds, one finding after another.

Each finding has a kind, its figures, a plain sentence and, where it is fair, the reading a
check can take. The same words as `assets/logs/voltlog-words.js`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from build_tools.logs.voltlog_limits import draw_size, rest_of
from build_tools.measure.sum_words import fixed

if TYPE_CHECKING:
    from collections.abc import Mapping

    from build_tools.logs.voltlog import Charging, Crank, VoltLog
    from build_tools.logs.voltlog_slope import RestSlope
    from build_tools.measure.sums_parts import Interval

    Conditions = Mapping[str, Any]

_SPACE: Final = "\u00a0"
_SAG: Final = 0.3  # volts below the set-point that are worth a word: our estimate
_ONE_DIGIT_FROM: Final = 1.0
NOTHING_FOUND: Final = (
    "No start, no charging and no rest of ten minutes or more stand out in this log."
)
DOES_NOT_TELL: Final = (
    "The log shows volts where its probe sits. A draw read from falling volts is a rough "
    "estimate; a clamp meter measures it. Driving without charging can look like rest."
)
SOURCES: Final = (
    "trade-state-of-charge-table",
    "tm-9-6115-agm-care",
    "parasitic-service-report",
    "common-practice",
    "from-memory",
    "our-estimate",
)


def clock(seconds: float) -> str:
    """Write a time of the log as hours, minutes and seconds since its first row."""
    whole = int(seconds + 0.5)
    return f"{whole // 3600}:{whole // 60 % 60:02d}:{whole % 60:02d}"


def length(seconds: float) -> str:
    """Write how long something took, in the unit a person would choose."""
    if seconds < 120:  # noqa: PLR2004 - two minutes
        return f"{fixed(seconds, 0)}{_SPACE}s"
    if seconds < 7200:  # noqa: PLR2004 - two hours
        return f"{fixed(seconds / 60, 0)}{_SPACE}minutes"
    return f"{fixed(seconds / 3600, 1)}{_SPACE}h"


def summary(log: VoltLog, left_out: int, *, found: bool) -> str:
    """Say how many rows were read and left out, and when nothing stands out."""
    said = f"{log.rows} rows over {length(log.duration)}"
    if left_out == 0:
        said += "."
    elif left_out == 1:
        said += "; 1 more row could not be used."
    else:
        said += f"; {left_out} more rows could not be used."
    if log.out_of_order > 0:
        said += " The rows were not in order of time and were sorted."
    if log.gaps > 0:
        said += f" Gaps in time: {log.gaps}. Nothing is read across a gap."
    return said if found else f"{said} {NOTHING_FOUND}"


def findings(log: VoltLog, conditions: Conditions) -> list[dict[str, Any]]:
    """Return what was found, in the order of the log.

    `conditions` may hold battery-type, temperature and charging-control, which go along with
    every reading offered.
    """
    start = log.start
    found = [_crank(one, log, conditions) for one in log.cranks]
    found += [_charging(one, start, conditions) for one in log.charging]
    for one in log.rests:
        found.append(_rest(one, start, conditions))
        found.append(_draw(one, start))
    return sorted(found, key=lambda one: one["start"])


def _volts(value: float) -> str:
    return f"{fixed(value, 2)}{_SPACE}V"


def _amperes(value: float) -> str:
    if value < _ONE_DIGIT_FROM:
        return f"{fixed(value * 1000, 0)}{_SPACE}mA"
    return f"{fixed(value, 1)}{_SPACE}A"


def _offered(
    check: str, value: float, unit: str, conditions: Conditions, names: tuple[str, ...]
) -> dict[str, Any]:
    kept = {name: conditions[name] for name in names if conditions.get(name) is not None}
    return {"check": check, "value": value, "unit": unit, "conditions": kept}


def _crank(crank: Crank, log: VoltLog, conditions: Conditions) -> dict[str, Any]:
    start = log.start
    after = "charging followed" if crank.started else "no charging followed within a minute"
    said = (
        f"At {clock(crank.at - start)} the volts fell from {_volts(crank.before)} to "
        f"{_volts(crank.lowest)} while cranking, and {after}."
    )
    if log.coarse:
        said += f" With a row every {length(log.step)} the lowest point was probably missed."
    names = ("temperature",)
    offered = _offered("measure-cranking-voltage", crank.lowest, "V", conditions, names)
    return {
        "kind": "crank",
        "start": crank.at - start,
        "end": crank.at - start,
        "figures": {"before": crank.before, "lowest": crank.lowest},
        "sentence": said,
        "to_case": None if log.coarse else offered,
    }


def _charging(charging: Charging, start: float, conditions: Conditions) -> dict[str, Any]:
    said = (
        f"Charging for {length(charging.end - charging.start)}, mostly at "
        f"{_volts(charging.set_point)}, between {_volts(charging.low)} and {_volts(charging.high)}."
    )
    if charging.set_point - charging.low >= _SAG:
        said += f" It sagged by {_volts(charging.set_point - charging.low)} at times."
    if charging.lowest_dip is not None:
        times = "once" if charging.dips == 1 else f"{charging.dips} times"
        said += f" It dipped below 12{_SPACE}V {times}, down to {_volts(charging.lowest_dip)}."
    names = ("charging-control", "temperature")
    offered = _offered("measure-charging-voltage", charging.set_point, "V", conditions, names)
    return {
        "kind": "charging",
        "start": charging.start - start,
        "end": charging.end - start,
        "figures": {
            "set_point": charging.set_point,
            "low": charging.low,
            "high": charging.high,
            "dips": charging.dips,
            "lowest_dip": charging.lowest_dip,
        },
        "sentence": said,
        "to_case": offered,
    }


def _rest(rest: RestSlope, start: float, conditions: Conditions) -> dict[str, Any]:
    counted = rest_of(rest.end - rest.start)
    said = f"After {length(rest.end - rest.start)} at rest it read {_volts(rest.volts)}."
    offered = None
    if counted is None:
        said += " That is too short for a resting voltage."
    else:
        given = {**conditions, "rest": counted}
        names = ("battery-type", "rest", "temperature")
        offered = _offered("measure-resting-voltage", rest.volts, "V", given, names)
    return {
        "kind": "rest",
        "start": rest.start - start,
        "end": rest.end - start,
        "figures": {"volts": rest.volts},
        "sentence": said,
        "to_case": offered,
    }


def _draw(rest: RestSlope, start: float) -> dict[str, Any]:
    found: dict[str, Any] = {
        "kind": "draw",
        "start": rest.start - start,
        "end": rest.end - start,
        "figures": None,
        "sentence": "This rest is too short to tell a draw from its volts.",
        "to_case": None,
    }
    if rest.draw is None or rest.slope is None:
        return found
    found["figures"] = {"slope": _edges(rest.slope), "draw": _edges(rest.draw)}
    found["sentence"] = _draw_words(rest.draw, settling=rest.settling)
    if draw_size(rest.draw) != "unclear":
        found["to_case"] = _offered("measure-parasitic-draw", rest.draw.value, "A", {}, ())
    return found


def _edges(interval: Interval) -> dict[str, float]:
    return {"value": interval.value, "low": interval.low, "high": interval.high}


def _draw_words(draw: Interval, *, settling: bool) -> str:
    size = draw_size(draw)
    if size == "small":
        said = f"The volts hardly fall: a draw below {_amperes(draw.high)}."
    elif draw.low <= 0:
        said = f"The volts allow any draw up to {_amperes(draw.high)}."
    else:
        said = (
            f"The falling volts mean a draw near {_amperes(draw.value)}, anywhere from "
            f"{_amperes(draw.low)} to {_amperes(draw.high)}."
        )
    if settling:
        said += " The rest was short, so part of this may be the last charge settling."
    if size == "unclear":
        said += " That cannot settle it. Log a longer rest, or measure with a clamp meter."
    return said
