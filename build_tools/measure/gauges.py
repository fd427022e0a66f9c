"""Room reasoning: turn one reading into how far each band of its gauge is supported.

Takes a gauge in its compiled form (plain keys), so that `assets/measure/gauges.js` is the same
function on the same shape. It picks the table, moves the edges with temperature, adds up the
uncertainty of meter and conditions and integrates a normal curve over every band. It does
not know what a band means for a car, and it guesses nothing without listing the assumption.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import inf, sqrt
from typing import Any, Final, NoReturn

from build_tools.engine.normal import normal_between
from build_tools.knowledge.quantities import between
from build_tools.measure.gauges_conditions import (
    Scales,
    assumed,
    band_of_number,
    condition_limit,
    known_conditions,
    mixture,
)
from build_tools.measure.gauges_numbers import (
    Plain,
    ReadingRefused,
    SlipQuestion,
    Typed,
    convert,
    gauge_slip,
    known_unit,
    read_number,
)

CLEAR_BAND: Final = 0.8
_EVEN: Final = 1e-9  # a reading right on an edge belongs to the band that starts there


@dataclass(frozen=True)
class Interpretation:
    """Hold what a reading says.

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
