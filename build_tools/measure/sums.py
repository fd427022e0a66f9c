"""Room reasoning: work out a sum from what a reader typed.

Reads the inputs (units, limits, choices), calls the named formula, and returns figures
with their ranges and the verdict, or says which input cannot be used and why. Sentences
are made elsewhere. `assets/measure/sums.js` is its twin.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from build_tools.knowledge.nearest import nearest
from build_tools.measure import sums_battery, sums_car
from build_tools.measure.gauges_numbers import (
    ReadingRefused,
    SlipQuestion,
    Typed,
    convert,
    known_unit,
    plausible_slip,
    read_number,
)
from build_tools.measure.sums_parts import Given, Interval, Outcome, SumRefusedError, plain_number

Plain = Mapping[str, Any]

FORMULAS: Final[Mapping[str, Callable[[Given], Outcome]]] = {
    formula.__name__.replace("_", "-"): formula
    for formula in (
        sums_battery.charge_from_voltage,
        sums_battery.gravity_corrected,
        sums_battery.cell_spread,
        sums_battery.freezing_point,
        sums_battery.volts_from_cell,
        sums_battery.load_test,
        sums_battery.hand_tester,
        sums_battery.internal_resistance,
        sums_battery.rating_converted,
        sums_battery.rating_ratio,
        sums_car.drop_limit,
        sums_car.alternator_output,
        sums_car.charge_time,
        sums_car.drive_recharge,
        sums_car.charger_voltage,
        sums_car.regulator_voltage,
        sums_car.charge_moved,
        sums_car.slow_charge_rate,
        sums_car.fuse_drop_current,
        sums_car.days_until_no_start,
        sums_car.own_loss,
        sums_car.reserve_capacity,
        sums_car.run_time,
        sums_car.cold_margin,
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
    """A sum's answer as data; exactly one of `verdict` and `refused` is set.

    `question` stands beside a refusal when a slip of unit or decimal point explains the
    number. `assumed_units` names the inputs that came without a unit.
    """

    id: str
    numbers: Mapping[str, float]
    choices: Mapping[str, str]
    verdict: str | None
    outputs: Mapping[str, Interval]
    refused: Refusal | None
    question: SlipQuestion | None = None
    assumed_units: tuple[str, ...] = ()


class _OutsideLimits(ReadingRefused):
    """Refuse a number outside an input's limits, with what was probably meant."""

    def __init__(self, entry: Plain, raw: object, question: SlipQuestion | None) -> None:
        limits = (plain_number(entry["low"]), plain_number(entry["high"]))
        shown = raw if isinstance(raw, str) else plain_number(float(str(raw)))
        super().__init__(entry["id"], "outside-limits", shown, limits)
        likely = question is not None and question.likely_value is not None
        self.question = question if likely else None


@dataclass
class _Inputs:
    numbers: dict[str, float] = field(default_factory=dict)
    choices: dict[str, str] = field(default_factory=dict)
    assumed_units: list[str] = field(default_factory=list)


def _read_choice(entry: Plain, given: object) -> str:
    options = [option["id"] for option in entry["options"]]
    if isinstance(given, str) and given in options:
        return given
    text = given if isinstance(given, str) else ""
    raise ReadingRefused(entry["id"], "unknown-option", text, nearest(text, options) or options)


def _read_quantity(entry: Plain, given: object, units: Plain, read: _Inputs) -> None:
    """Read a number input into the sum's own unit, within its stated limits."""
    raw, unit = given, None
    if isinstance(given, Mapping):
        raw, unit = given.get("value"), given.get("unit")
    if unit in (None, ""):
        unit = entry["unit"]
        read.assumed_units.append(entry["id"])
    else:
        unit = known_unit(unit, entry["accepts"], units, entry["id"])
    number = read_number(raw, entry["id"])
    value = convert(number, unit, entry["unit"], units)
    low, high = float(entry["low"]), float(entry["high"])
    if not low <= value <= high:
        accepts = tuple(entry["accepts"])
        typed = Typed(entry["id"], number, unit, entry["unit"], accepts, low, high)
        raise _OutsideLimits(entry, raw, plausible_slip(typed, units))
    read.numbers[entry["id"]] = value


def _is_absent(value: object) -> bool:
    if isinstance(value, Mapping):
        value = value.get("value")
    return value is None or value == ""


def _read_inputs(
    definition: Plain, given: Mapping[str, object], units: Plain, read: _Inputs
) -> None:
    known = [entry["id"] for entry in definition["inputs"]]
    for name in sorted(given):
        if name not in known:
            raise ReadingRefused(name, "unknown-input", name, nearest(name, known) or known)
    for entry in definition["inputs"]:
        value = given.get(entry["id"])
        if _is_absent(value):
            if not entry["optional"]:
                raise ReadingRefused(entry["id"], "missing", "")
        elif "options" in entry:
            read.choices[entry["id"]] = _read_choice(entry, value)
        else:
            _read_quantity(entry, value, units, read)


def work_out(definition: Plain, given: Mapping[str, object], units: Plain) -> SumResult:
    """Work out one sum.

    `definition` is the compiled sum; `given` maps input ids to a number, text, an option
    id or `{value, unit}`; `units` is the compiled unit list. An input that cannot be used
    is named in `refused`; nothing is used in its place.
    """
    read = _Inputs()
    verdict: str | None = None
    outputs: Mapping[str, Interval] = {}
    refusal: Refusal | None = None
    question: SlipQuestion | None = None
    try:
        _read_inputs(definition, given, units, read)
        constants = {
            name: entry["value"] for name, entry in (definition.get("constants") or {}).items()
        }
        tables = {name: entry["points"] for name, entry in (definition.get("tables") or {}).items()}
        given_sum = Given(read.numbers, read.choices, constants, tables)
        outcome = FORMULAS[definition["formula"]](given_sum)
        verdict, outputs = outcome.verdict, outcome.outputs
    except ReadingRefused as refused:
        refusal = Refusal(refused.field, refused.reason, refused.given, refused.options)
        question = refused.question if isinstance(refused, _OutsideLimits) else None
    except SumRefusedError as refused:
        refusal = Refusal(refused.field, refused.refusal)
    return SumResult(
        id=definition["id"],
        numbers=read.numbers,
        choices=read.choices,
        verdict=verdict,
        outputs=outputs,
        refused=refusal,
        question=question,
        assumed_units=tuple(read.assumed_units),
    )
