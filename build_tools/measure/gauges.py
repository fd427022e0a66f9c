"""Room reasoning: turn one reading into how far each band of its gauge is supported.

Takes a gauge in its compiled form (plain keys), so that `assets/measure/gauges.js` is the same
function on the same shape. It reads the conditions the gauge asks for, and for those not given
yields every listed value with its weight; picks the table, moves the edges with temperature, adds
up the uncertainty of meter and conditions and integrates a normal curve over every band. It does
not know what a band means for a car, and it guesses nothing without listing the assumption.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from math import inf, sqrt
from typing import Any, Final, NoReturn

from build_tools.engine.normal import normal_between
from build_tools.knowledge.nearest import nearest
from build_tools.knowledge.quantities import between
from build_tools.measure.gauges_numbers import (
    Plain,
    ReadingRefused,
    SlipQuestion,
    Typed,
    convert,
    gauge_slip,
    known_unit,
    plausible_slip,
    read_number,
)

_UNKNOWN: Final = ("", "unknown")
# A household thermometer is taken to be right within 2 degrees Celsius: common practice.
_THERMOMETER: Final[dict[str, Any]] = {"value": 2.0, "unit": "degC", "source": "common-practice"}


@dataclass(frozen=True)
class Scales:
    """What any gauge needs beside itself: units and the contexts that condition it."""

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


CLEAR_BAND: Final = 0.8
_EVEN: Final = 1e-9  # a reading right on an edge belongs to the band that starts there


@dataclass(frozen=True)
class Interpretation:
    """What a reading says.

    `value` and `sigma` are in the gauge's unit; `sigma` is the mean over unknown conditions.
    `band_weights` sum to 1 and are empty while `question` is open. `certainty` is the weight
    of the band the reading itself lies in; `near_edge` is true when it is below 0.8. Only
    conditions under which the reading lies in that band count, so a coarser meter can never
    raise it. `assumptions` and `sources` are data for sentences and footnotes.
    """

    gauge: str
    value: float
    unit: str
    sigma: float
    band_weights: dict[str, float]
    band: str | None
    certainty: float
    near_edge: bool
    assumptions: tuple[dict[str, Any], ...]
    question: SlipQuestion | None
    sources: tuple[str, ...]


@dataclass
class _Sum:
    """Collect weighted bands over the conditions that are not known."""

    weights: dict[str, float]
    inside: dict[str, float]
    sigma: float = 0.0
    total: float = 0.0
    sources: list[str] = field(default_factory=list)

    def cite(self, mark: str | None) -> None:
        if mark and mark not in self.sources:
            self.sources.append(mark)


def interpret(gauge: Plain, reading: Plain, conditions: Plain, scales: Scales) -> Interpretation:
    """Weigh the bands of a gauge by one reading.

    `reading` has `value` and `unit` (left out: the gauge's own unit, listed as an assumption)
    and may have `confirmed: true` once a slip question was answered. `conditions` maps
    condition ids to an option or a number in the context's unit or `{value, unit}`. A
    condition that is missing is not guessed: its `if_unknown` values are mixed by weight.

    Raises:
        ReadingRefused: for what is not a number, an unknown unit or option, or a confirmed
            value that is still outside what is plausible.
    """
    typed, assumptions = _read_value(gauge, reading, scales)
    value = convert(typed.value, typed.unit, typed.canonical_unit, scales.units)
    confirmed = reading.get("confirmed") is True
    known, question = known_conditions(gauge, conditions, scales, confirmed=confirmed)
    if not confirmed:
        question = gauge_slip(gauge, typed, scales.units) or question
    elif not typed.low <= value <= typed.high:
        raise ReadingRefused("value", "outside-plausible", typed.value)
    if question is not None:
        return _asked(gauge, value, assumptions, question)
    bands = [band["id"] for band in gauge["bands"]]
    found = _Sum(dict.fromkeys(bands, 0.0), dict.fromkeys(bands, 0.0))
    for chosen, weight in mixture(gauge, known):
        _add_one(gauge, value, _World(chosen, weight, known, scales), found)
    if found.total <= 0:
        _refuse_without_table(gauge, known, scales)
    assumptions += assumed(gauge, known, scales)
    return _weighed(gauge, value, found, tuple(assumptions))


def _refuse_without_table(
    gauge: Plain, known: Mapping[str, str | float], scales: Scales
) -> NoReturn:
    """Name the condition that rules out every table by itself, if one does."""
    world = _World(known, 1.0, known, scales)
    for name, option in known.items():
        wanted = [
            {key: one for key, one in table["for"].items() if key == name}
            for table in gauge["tables"]
        ]
        if not any(_fits(one, world) for one in wanted):
            raise ReadingRefused(name, "not-judged", option)
    raise ReadingRefused("conditions", "no-table", "")


def _asked(
    gauge: Plain, value: float, assumptions: list[dict[str, Any]], question: SlipQuestion
) -> Interpretation:
    return Interpretation(
        gauge=gauge["id"],
        value=value,
        unit=gauge["unit"],
        sigma=0.0,
        band_weights={},
        band=None,
        certainty=0.0,
        near_edge=False,
        assumptions=tuple(assumptions),
        question=question,
        sources=(),
    )


def _weighed(
    gauge: Plain, value: float, found: _Sum, assumptions: tuple[dict[str, Any], ...]
) -> Interpretation:
    total = sum(found.weights.values())
    weights = {band: share / total for band, share in found.weights.items()}
    most = max(weights.values())
    band = max(
        (one for one, weight in weights.items() if weight >= most - _EVEN),
        key=lambda one: found.inside[one],
    )
    certainty = max(found.inside.values()) / found.total
    return Interpretation(
        gauge=gauge["id"],
        value=value,
        unit=gauge["unit"],
        sigma=found.sigma / found.total,
        band_weights=weights,
        band=band,
        certainty=certainty,
        near_edge=certainty < CLEAR_BAND,
        assumptions=assumptions,
        question=None,
        sources=tuple(found.sources),
    )


def _read_value(gauge: Plain, reading: Plain, scales: Scales) -> tuple[Typed, list[dict[str, Any]]]:
    number = read_number(reading.get("value"), "value")
    given = reading.get("unit")
    assumptions: list[dict[str, Any]] = []
    if given in (None, ""):
        unit = gauge["unit"]
        assumptions.append({"kind": "unit", "unit": unit})
    else:
        unit = known_unit(given, gauge["accepts"], scales.units)
    typed = Typed(
        field="value",
        value=number,
        unit=unit,
        canonical_unit=gauge["unit"],
        accepts=tuple(gauge["accepts"]),
        low=float(gauge["plausible"]["low"]),
        high=float(gauge["plausible"]["high"]),
    )
    return typed, assumptions


@dataclass(frozen=True)
class _World:
    chosen: Mapping[str, str | float]
    weight: float
    known: Mapping[str, str | float]
    scales: Scales


def _fits(when: Plain | None, world: _World) -> bool:
    for name, wanted in (when or {}).items():
        options = wanted if isinstance(wanted, (list, tuple)) else [wanted]
        value = world.chosen.get(name)
        if isinstance(value, float):
            value = band_of_number(value, world.scales.contexts.get(name, {}))
        if value not in options:
            return False
    return True


def _add_one(gauge: Plain, value: float, world: _World, found: _Sum) -> None:
    table = next((one for one in gauge["tables"] if _fits(one.get("for"), world)), None)
    if table is None:
        return
    variance = _variance(gauge, value, world, found)
    found.total += world.weight
    found.sigma += world.weight * sqrt(variance)
    found.cite(table.get("source"))
    for band in table["bands"]:
        low, low_extra = _edge(band.get("from"), -inf, gauge, world)
        high, high_extra = _edge(band.get("below"), inf, gauge, world)
        share = normal_between(
            _z(low, value, sqrt(variance + low_extra)), _z(high, value, sqrt(variance + high_extra))
        )
        found.weights[band["band"]] += world.weight * share
        if low <= value < high:
            found.inside[band["band"]] += world.weight * share
            found.cite(band.get("source"))


def _z(edge: float, value: float, sigma: float) -> float:
    if sigma > 0:
        return (edge - value) / sigma
    return -inf if edge <= value else inf


def _variance(gauge: Plain, value: float, world: _World, found: _Sum) -> float:
    """Add up the square of half the meter's limit and of every spread that applies."""
    variance = 0.0
    meters = gauge.get("meters") or {}
    classes = sorted(name for name in meters if name != "source")
    if classes:
        name = world.chosen.get("meter", classes[0])
        if name not in classes:
            raise ReadingRefused("meter", "unknown-option", name, classes)
        meter = meters[name]
        limit = abs(value) * float(meter["percent"]) / 100 + float(meter["plus"])
        variance += (limit / 2) * (limit / 2)
        found.cite(meters.get("source"))
    for spread in gauge.get("spread") or []:
        if _fits(spread["when"], world):
            variance += float(spread["plus"]) * float(spread["plus"])
            found.cite(spread.get("source"))
    return variance


def _edge(edge: Any, open_end: float, gauge: Plain, world: _World) -> tuple[float, float]:  # noqa: ANN401 - a number or an edge mapping
    """Return an edge under these conditions and the variance the thermometer adds to it."""
    if edge is None:
        return open_end, 0.0
    if not isinstance(edge, Mapping):
        return float(edge), 0.0
    name = edge["by"]
    scales = world.scales
    if name not in world.chosen:
        raise ReadingRefused(name, "condition-needed", "")
    at = float(world.chosen[name])
    unit = scales.contexts.get(name, {}).get("unit", edge["unit"])
    here = _edge_at(edge, at, unit, scales)
    condition = next(one for one in gauge["conditions"] if one["id"] == name)
    limit = condition_limit(condition, scales) if name in world.known else None
    if limit is None:
        return here, 0.0
    zero = convert(0.0, limit["unit"], unit, scales.units)
    off = abs(convert(float(limit["value"]), limit["unit"], unit, scales.units) - zero) / 2
    low = _edge_at(edge, at - off, unit, scales)
    high = _edge_at(edge, at + off, unit, scales)
    sigma = abs(high - low) / 2
    return here, sigma * sigma


def _edge_at(edge: Plain, at: float, unit: str, scales: Scales) -> float:
    return between(edge["points"], convert(at, unit, edge["unit"], scales.units))
