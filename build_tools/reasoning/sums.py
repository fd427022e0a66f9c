"""Room reasoning: work out a sum from what a reader typed.

Reads the inputs (units, limits, choices), calls the named formula, and returns figures
with their ranges and the verdict, or says which input cannot be used and why. Sentences
are made elsewhere. `reasoning/sums.js` is its twin.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from build_tools.reasoning import sums_charging, sums_load, sums_parked, sums_rest
from build_tools.reasoning.gauges_numbers import (
    ReadingRefused,
    closest,
    convert,
    known_unit,
    read_number,
)
from build_tools.reasoning.sums_parts import Interval, Outcome, Sum, SumRefusedError

Document = Mapping[str, Any]

FORMULAS: Final[Mapping[str, Callable[[Sum], Outcome]]] = {
    formula.__name__.replace("_", "-"): formula
    for formula in (
        sums_rest.charge_from_voltage,
        sums_rest.gravity_corrected,
        sums_rest.cell_spread,
        sums_rest.freezing_point,
        sums_rest.volts_from_cell,
        sums_load.load_test,
        sums_load.hand_tester,
        sums_load.internal_resistance,
        sums_load.rating_converted,
        sums_load.rating_ratio,
        sums_charging.drop_limit,
        sums_charging.alternator_output,
        sums_charging.charge_time,
        sums_charging.drive_recharge,
        sums_charging.charger_voltage,
        sums_charging.regulator_voltage,
        sums_charging.charge_moved,
        sums_charging.slow_charge_rate,
        sums_parked.fuse_drop_current,
        sums_parked.days_until_no_start,
        sums_parked.own_loss,
        sums_parked.reserve_capacity,
        sums_parked.run_time,
        sums_parked.cold_margin,
    )
}


@dataclass(frozen=True)
class Refusal:
    """Say which input cannot be used. `reason` is a code, or a refusal id of the sum."""

    field: str
    reason: str
    given: str = ""
    options: tuple[str, ...] = ()


@dataclass(frozen=True)
class SumResult:
    """Hold a sum's answer as data; exactly one of `verdict` and `refused` is set."""

    id: str
    numbers: Mapping[str, float]
    choices: Mapping[str, str]
    verdict: str | None
    outputs: Mapping[str, Interval]
    refused: Refusal | None


def _read_choice(entry: Document, given: object) -> str:
    options = [option["id"] for option in entry["options"]]
    if isinstance(given, str) and given in options:
        return given
    text = given if isinstance(given, str) else ""
    raise ReadingRefused(entry["id"], "unknown-option", text, closest(text, options) or options)


def _read_quantity(entry: Document, given: object, units: Document) -> float:
    """Return a number input in the sum's own unit, within its stated limits."""
    raw, unit = given, entry["unit"]
    if isinstance(given, Mapping):
        raw = given.get("value")
        if given.get("unit") is not None:
            unit = known_unit(given["unit"], entry["accepts"], units)
    value = convert(read_number(raw, entry["id"]), unit, entry["unit"], units)
    if not entry["low"] <= value <= entry["high"]:
        limits = (f"{entry['low']} {entry['unit']}", f"{entry['high']} {entry['unit']}")
        raise ReadingRefused(entry["id"], "outside-limits", raw, limits)
    return value


def _is_absent(value: object) -> bool:
    if isinstance(value, Mapping):
        value = value.get("value")
    return value is None or value == ""


def _read_inputs(
    definition: Document, given: Mapping[str, object], units: Document
) -> tuple[dict[str, float], dict[str, str]]:
    numbers: dict[str, float] = {}
    choices: dict[str, str] = {}
    known = [entry["id"] for entry in definition["inputs"]]
    for name in sorted(given):
        if name not in known:
            raise ReadingRefused(name, "unknown-input", name, closest(name, known) or known)
    for entry in definition["inputs"]:
        value = given.get(entry["id"])
        if _is_absent(value):
            if not entry["optional"]:
                raise ReadingRefused(entry["id"], "missing", "")
        elif "options" in entry:
            choices[entry["id"]] = _read_choice(entry, value)
        else:
            numbers[entry["id"]] = _read_quantity(entry, value, units)
    return numbers, choices


def work_out(definition: Document, given: Mapping[str, object], units: Document) -> SumResult:
    """Work out one sum.

    `definition` is the compiled sum; `given` maps input ids to a number, text, an option
    id or `{value, unit}`; `units` is the compiled unit list. An input that cannot be used
    is named in `refused`; nothing is used in its place.
    """
    numbers: dict[str, float] = {}
    choices: dict[str, str] = {}
    try:
        numbers, choices = _read_inputs(definition, given, units)
        constants = {name: entry["value"] for name, entry in definition["constants"].items()}
        tables = {name: entry["points"] for name, entry in definition["tables"].items()}
        outcome = FORMULAS[definition["formula"]](Sum(numbers, choices, constants, tables))
    except ReadingRefused as refused:
        refusal = Refusal(refused.field, refused.reason, refused.given, refused.options)
        return SumResult(definition["id"], numbers, choices, None, {}, refusal)
    except SumRefusedError as refused:
        refusal = Refusal(refused.field, refused.refusal)
        return SumResult(definition["id"], numbers, choices, None, {}, refusal)
    return SumResult(definition["id"], numbers, choices, outcome.verdict, outcome.outputs, None)
