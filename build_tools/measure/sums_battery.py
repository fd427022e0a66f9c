"""Room reasoning: sums on a battery: charge at rest, frost, cells, load test, resistance, ratings.

Pure arithmetic; every constant and table comes from the file of the sum, with its source.
`assets/measure/sums-battery.js` is its twin.
"""

from build_tools.knowledge.quantities import between
from build_tools.measure.sums_parts import (
    Given,
    Interval,
    Outcome,
    SumRefusedError,
    around,
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


def _test_current(given: Given) -> float | None:
    rated, capacity = given.numbers.get("rated-cca"), given.numbers.get("capacity")
    if rated is not None:
        return rated * given.constants["share-of-cca"]
    return None if capacity is None else capacity * given.constants["times-capacity"]


def _failed(given: Given) -> str:
    """Say what a failed test is worth: only a charged battery can fail for good."""
    resting = given.numbers.get("resting-voltage")
    if resting is None:
        return "fails-charge-unknown"
    if resting < given.constants["charged-from-flooded"]:
        return "charge-and-retest"
    kind = given.choices.get("battery-type")
    if kind is None:
        highest = max(given.constants[f"charged-from-{one}"] for one in ("flooded", "agm", "gel"))
        return "fails" if resting >= highest else "fails-type-unknown"
    needed = given.constants[f"charged-from-{'flooded' if kind == 'efb' else kind}"]
    return "fails" if resting >= needed else "charge-and-retest"


def _load_verdict(given: Given, least: float) -> str:
    loaded = given.numbers.get("loaded-voltage")
    if loaded is None:
        return "set-up"
    above = rounded_to_millionth(loaded - least)
    near = given.constants["near"]
    if above >= near:
        return "holds"
    if above >= 0:
        return "near-holds"
    return "near-falls" if above >= -near else _failed(given)


def load_test(given: Given) -> Outcome:
    """Give current, least volts and meaning of a 15 s load test.

    Current = half the CCA, or three times the ampere-hours. The least volts follow the
    battery's temperature, straight lines between printed points, level above 70 F.
    A battery that fails below 75 % charge is charged and tested again, not condemned.
    """
    least = between(given.tables["least-volts"], to_fahrenheit(given.numbers["temperature"]))
    outputs = {"least": exactly(least)}
    current = _test_current(given)
    if current is not None:
        outputs["current"] = exactly(current)
    elif given.numbers.get("loaded-voltage") is None:
        raise SumRefusedError("rated-cca", "cca-or-capacity")
    return Outcome(_load_verdict(given, least), outputs)


def hand_tester(given: Given) -> Outcome:
    """Say what a pass on a fixed-load hand tester is worth at this battery's rating.

    The rating to compare with falls by 200 CCA for each 20 F below 40 F. A fixed 100 A
    is the proper half-CCA load of a 200 CCA battery only.
    """
    rated = given.numbers["rated-cca"]
    load = given.numbers.get("load", given.constants["load"])
    used = rated
    if "temperature" in given.numbers:
        fahrenheit = to_fahrenheit(given.numbers["temperature"])
        if fahrenheit < given.constants["derate-below"]:
            steps = (given.constants["derate-below"] - fahrenheit) / given.constants["derate-step"]
            used = rated - given.constants["derate-by"] * steps
    if used <= 0:
        raise SumRefusedError("temperature", "too-cold")
    share = load / (rated / 2)
    verdict = "weak-evidence" if share < given.constants["fair-share"] else "fair-evidence"
    return Outcome(verdict, {"used": exactly(used), "share": exactly(share * 100)})


def internal_resistance(given: Given) -> Outcome:
    """Divide the fall in volts by the current that caused it: Ohm's law, two points.

    The figure includes the clamps and depends on charge, temperature and time under
    load. `expected` is the upper bound a CCA label implies at -18 C.
    """
    fall = given.numbers["resting-voltage"] - given.numbers["loaded-voltage"]
    if fall <= 0:
        raise SumRefusedError("loaded-voltage", "no-fall")
    outputs = {"resistance": exactly(fall / given.numbers["current"] * 1000)}
    rated = given.numbers.get("rated-cca")
    if rated is not None:
        label = (given.constants["label-rest"] - given.constants["label-floor"]) / rated
        outputs["expected"] = exactly(label * 1000)
    return Outcome("compare-only", outputs)


def _to_sae(value: float, scale: str, given: Given) -> Interval:
    """Turn a rating into the SAE scale; `en` and the rest carry the stated doubt."""
    if scale == "sae":
        return exactly(value)
    if scale == "din":
        main = value * given.constants["din-times"] + given.constants["din-plus"]
    else:
        main = value * given.constants[f"{scale}-times"]
    return around(main, given.constants["doubt"])


def rating_converted(given: Given) -> Outcome:
    """Turn a cold-cranking rating into the SAE scale, with the doubt it carries.

    Approximate and dependent on construction: never for accepting or refusing a battery.
    """
    scale = given.choices["scale"]
    value = given.numbers["rating"]
    outputs = {"sae": _to_sae(value, scale, given)}
    if scale == "din":
        outputs["other-rule"] = exactly(value * given.constants["din-other-times"])
    return Outcome("same-scale" if scale == "sae" else "about", outputs)


def _ratio_word(ratio: float, given: Given) -> str:
    if ratio >= given.constants["good-from"]:
        return "good"
    return "marginal" if ratio >= given.constants["marginal-from"] else "low"


def rating_ratio(given: Given) -> Outcome:
    """Compare a conductance tester's figure with the label, scale against scale."""
    measured = _to_sae(given.numbers["measured"], given.choices["measured-scale"], given)
    rated = _to_sae(given.numbers["rated"], given.choices["rated-scale"], given)
    ratio = Interval(
        measured.value / rated.value * 100,
        measured.low / rated.high * 100,
        measured.high / rated.low * 100,
    )
    if given.choices["measured-scale"] == given.choices["rated-scale"]:
        # The same scale on both sides cancels its doubt.
        ratio = exactly(given.numbers["measured"] / given.numbers["rated"] * 100)
    words = {_ratio_word(edge, given) for edge in (ratio.low, ratio.high)}
    verdict = words.pop() if len(words) == 1 else "scales-differ"
    return Outcome(verdict, {"ratio": ratio})
