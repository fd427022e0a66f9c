"""Room reasoning: the conditions a reading was taken under, known or mixed.

Reads the conditions a gauge asks for, and for those not given yields every listed value with
its weight. Twin of `assets/measure/gauges-conditions.js`; it judges no reading.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from build_tools.knowledge.nearest import nearest
from build_tools.measure.gauges_numbers import (
    Plain,
    ReadingRefused,
    SlipQuestion,
    Typed,
    convert,
    known_unit,
    plausible_slip,
    read_number,
)

_UNKNOWN: Final = ("", "unknown")
# A household thermometer is taken to be right within 2 degrees Celsius: common practice.
_THERMOMETER: Final[dict[str, Any]] = {"value": 2.0, "unit": "degC", "source": "common-practice"}


@dataclass(frozen=True)
class Scales:
    """Hold what any gauge needs beside itself: units and the contexts that condition it."""

    units: Plain
    contexts: Plain


def known_conditions(
    gauge: Plain, conditions: Plain, scales: Scales, *, confirmed: bool
) -> tuple[dict[str, str | float], SlipQuestion | None]:
    """Read the conditions that were given, numbers in their context's unit.

    The question asks about a condition that is not plausible, such as 75 degrees Fahrenheit
    typed as Celsius. A confirmed value that is still outside is refused.
    """
    known: dict[str, str | float] = {}
    question: SlipQuestion | None = None
    for condition in gauge["conditions"]:
        name = condition["id"]
        value, asked = read_condition(name, conditions.get(name), scales)
        if value is None:
            continue
        if asked is not None and confirmed:
            raise ReadingRefused(name, "outside-plausible", asked.typed_value)
        known[name] = value
        question = question or asked
    return known, question


def read_condition(
    name: str, given: object, scales: Scales
) -> tuple[str | float | None, SlipQuestion | None]:
    """Read one answer about the car or the place: an option or a number in its own unit.

    Nothing given, or "unknown", is None. The question is asked when a number is not
    plausible; then the number must not be used.

    Raises:
        ReadingRefused: for an unknown option or unit, or what is not a number.
    """
    if given is None or (isinstance(given, str) and given in _UNKNOWN):
        return None, None
    context = scales.contexts.get(name, {})
    if context.get("type") == "number":
        return _read_number(name, given, context, scales)
    options = [option["id"] for option in context.get("options") or []]
    if isinstance(given, str) and (given in options or not options):
        return given, None
    raise ReadingRefused(name, "unknown-option", given, nearest(str(given), options) or options)


def degrees_told(told: Mapping[str, object], scales: Scales) -> float | None:
    """Return the temperature among answers in degC, None where it is not told or not usable."""
    try:
        value, question = read_condition("temperature", told.get("temperature"), scales)
    except ReadingRefused:
        return None
    return value if isinstance(value, float) and question is None else None


def _read_number(
    name: str, given: object, context: Plain, scales: Scales
) -> tuple[float, SlipQuestion | None]:
    unit = context["unit"]
    accepts = tuple(context.get("accepts") or [unit])
    if isinstance(given, Mapping):
        number = read_number(given.get("value"), name)
        source = known_unit(given.get("unit") or unit, accepts, scales.units, name)
    else:
        number, source = read_number(given, name), unit
    value = convert(number, source, unit, scales.units)
    plausible = context.get("plausible")
    if plausible is None:
        return value, None
    low, high = float(plausible["low"]), float(plausible["high"])
    return value, plausible_slip(
        Typed(name, number, source, unit, accepts, low, high), scales.units
    )


def _edge_conditions(gauge: Plain) -> set[str]:
    return {
        edge["by"]
        for table in gauge["tables"]
        for band in table["bands"]
        for edge in (band.get("from"), band.get("below"))
        if isinstance(edge, Mapping)
    }


def used_conditions(gauge: Plain) -> set[str]:
    """Return the conditions that can change the verdict of this gauge."""
    used = _edge_conditions(gauge)
    for table in gauge["tables"]:
        used.update(table.get("for") or {})
    for spread in gauge.get("spread") or []:
        used.update(spread["when"])
    if gauge.get("meters"):
        used.add("meter")
    return used


def _if_unknown(condition: Plain) -> list[tuple[str | float, float]]:
    """Return the values of an unknown condition with weights that sum to 1, in a fixed order."""
    listed = condition.get("if_unknown") or {}
    points = listed.get("points")
    if points is not None:
        pairs: list[tuple[str | float, float]] = [(float(p[0]), float(p[1])) for p in points]
    else:
        pairs = [(name, float(listed[name])) for name in sorted(listed)]
    total = sum(weight for _, weight in pairs)
    return [(value, weight / total) for value, weight in pairs]


def mixture(
    gauge: Plain, known: Mapping[str, str | float]
) -> Iterator[tuple[dict[str, str | float], float]]:
    """Yield every combination of conditions with its weight; known ones are certain."""
    used = used_conditions(gauge)
    worlds: list[tuple[dict[str, str | float], float]] = [({}, 1.0)]
    for condition in gauge["conditions"]:
        name = condition["id"]
        if name not in used:
            continue
        choices = [(known[name], 1.0)] if name in known else _if_unknown(condition)
        if choices:
            worlds = [
                ({**chosen, name: value}, weight * share)
                for chosen, weight in worlds
                for value, share in choices
            ]
    yield from worlds


def condition_limit(condition: Plain, scales: Scales) -> dict[str, Any] | None:
    """Return how far off a measured condition may be: value, unit and mark, or None.

    A gauge may say so under `plus_minus`; for temperatures a household thermometer is taken.
    """
    limit = condition.get("plus_minus")
    if limit is not None:
        return dict(limit)
    unit = scales.contexts.get(condition["id"], {}).get("unit")
    if unit is None or scales.units.get(unit, {}).get("canonical") != "degC":
        return None
    return dict(_THERMOMETER)


def assumed(gauge: Plain, known: Mapping[str, str | float], scales: Scales) -> list[dict[str, Any]]:
    """List, as data, what was put in the place of each condition that was not measured.

    A measured temperature that moves an edge is listed with the limits of the thermometer.
    """
    used = used_conditions(gauge)
    listed: list[dict[str, Any]] = []
    for condition in gauge["conditions"]:
        name = condition["id"]
        limit = condition_limit(condition, scales)
        if name in _edge_conditions(gauge) and name in known and limit is not None:
            listed.append({"kind": "thermometer", "condition": name, **limit})
        if name not in used or name in known or not condition.get("if_unknown"):
            continue
        weights = [{"value": value, "weight": weight} for value, weight in _if_unknown(condition)]
        listed.append(
            {
                "kind": "unknown-condition",
                "condition": name,
                "weights": weights,
                "source": condition.get("source"),
            }
        )
    return listed


def band_of_number(value: float, context: Plain) -> str | None:
    """Return the named range of a number context that holds `value`, or None."""
    for band in context.get("bands") or []:
        low, high = band.get("from"), band.get("below")
        if (low is None or low <= value) and (high is None or value < high):
            return str(band["id"])
    return None
