"""Room reasoning: sums on a battery at rest: charge from volts or gravity, frost, cells.

Pure arithmetic; every constant and table comes from the sum's file with its source.
`assets/measure/sums-rest.js` is its twin.
"""

from build_tools.knowledge.quantities import between
from build_tools.measure.sums_parts import (
    Given,
    Interval,
    Outcome,
    SumRefusedError,
    clamp,
    exactly,
    rounded_to_millionth,
    to_celsius,
    to_fahrenheit,
)

_TYPES = ("agm", "efb", "flooded", "gel")
_CELLS = 6


def _charge_for_type(given: Given, kind: str) -> Interval:
    volts = given.numbers["voltage"]
    table = given.tables[f"charge-{kind}"]
    widen = 0.0
    temperature = given.numbers.get("temperature")
    if temperature is not None and not (
        given.constants["plain-from"] <= temperature <= given.constants["plain-to"]
    ):
        widen = given.constants["widen-volts"]
    slack = given.constants["charge-band"]
    return Interval(
        between(table, volts),
        clamp(between(table, volts - widen) - slack, 0, 100),
        clamp(between(table, volts + widen) + slack, 0, 100),
    )


def _charge_verdict(charge: Interval, rest: str | None, enough: float) -> str:
    if rest == "just-driven":
        return "not-rested"
    if charge.low >= enough:
        return "enough"
    if charge.high < enough:
        return "too-low"
    return "near"


def charge_from_voltage(given: Given) -> Outcome:
    """Estimate the state of charge in percent from volts at the posts, at rest.

    Reads the table of the battery's type with straight lines between its points. Without
    a type the answer is the weighted mean of all types, and its range spans them all.
    `linear` is the straight 11.8 to 12.8 V rule that some pages print, for comparison.
    """
    chosen = given.choices.get("battery-type")
    if chosen is None:
        each = {kind: _charge_for_type(given, kind) for kind in _TYPES}
        weights = {kind: given.constants[f"share-{kind}"] for kind in _TYPES}
        total = sum(weights[kind] for kind in _TYPES)
        charge = Interval(
            sum(weights[kind] * each[kind].value for kind in _TYPES) / total,
            min(each[kind].low for kind in _TYPES),
            max(each[kind].high for kind in _TYPES),
        )
    else:
        charge = _charge_for_type(given, chosen)
    low, high = given.constants["linear-empty"], given.constants["linear-full"]
    linear = clamp((given.numbers["voltage"] - low) / (high - low) * 100, 0, 100)
    verdict = _charge_verdict(charge, given.choices.get("rest"), given.constants["enough"])
    return Outcome(verdict, {"charge": charge, "linear": exactly(linear)})


def gravity_corrected(given: Given) -> Outcome:
    """Correct a hydrometer reading to 80 F and read charge and volts from it.

    Corrected = reading + 0.004 for every 10 F above 80 F (minus below). Open-circuit
    volts = 6 x (corrected + 0.84), a textbook rule.
    """
    step = given.constants["per-ten-fahrenheit"]
    temperature = to_fahrenheit(given.numbers["temperature"])
    corrected = given.numbers["gravity"] + step * (temperature - 80) / 10
    acid = given.choices.get("full-acid", "1265")
    charge = between(given.tables[f"charge-by-gravity-{acid}"], corrected)
    volts = _CELLS * (corrected + given.constants["volts-offset"])
    verdict = "enough" if charge >= given.constants["enough"] else "too-low"
    return Outcome(
        verdict,
        {"corrected": exactly(corrected), "charge": exactly(charge), "voltage": exactly(volts)},
    )


def cell_spread(given: Given) -> Outcome:
    """Compare the six cells of a battery: highest gravity less lowest."""
    cells = [given.numbers[f"cell-{number}"] for number in range(1, _CELLS + 1)]
    # Hydrometers are read to 0.001.
    spread = rounded_to_millionth(max(cells) - min(cells))
    if spread < given.constants["watch-from"]:
        verdict = "even"
    elif spread < given.constants["replace-from"]:
        verdict = "watch"
    elif given.choices.get("charged") == "fully-charged":
        verdict = "uneven"
    else:
        verdict = "charge-first"
    return Outcome(verdict, {"spread": exactly(spread)})


def _freezes_at(given: Given, gravity: float) -> float:
    """Return the freezing point in degrees F; for weak acid the warmer of two tables.

    The first table ends at 1.120. Held level it would call weaker acid safer than it is.
    """
    main = given.tables["freezes-by-gravity"]
    freezes = between(main, gravity)
    if gravity >= main[0][0]:
        return freezes
    return max(freezes, between(given.tables["freezes-when-weak"], gravity))


def freezing_point(given: Given) -> Outcome:
    """Say at what temperature the acid freezes, from gravity or from state of charge."""
    gravity = given.numbers.get("gravity")
    charge = given.numbers.get("charge")
    if gravity is None:
        if charge is None:
            raise SumRefusedError("charge", "charge-or-gravity")
        gravity = between(given.tables["gravity-by-charge"], charge)
    freezes = to_celsius(_freezes_at(given, gravity))
    outside = given.numbers.get("temperature")
    if outside is None:
        verdict = "point-only"
    elif outside <= freezes:
        verdict = "may-be-frozen"
    elif outside < 0 and gravity < between(
        given.tables["gravity-by-charge"], given.constants["keep-above"]
    ):
        verdict = "keep-charged"
    else:
        verdict = "clear"
    return Outcome(verdict, {"freezes": exactly(freezes)})


def volts_from_cell(given: Given) -> Outcome:
    """Turn volts a cell into volts of a six-cell battery."""
    return Outcome("volts", {"voltage": exactly(given.numbers["cell-voltage"] * _CELLS)})
