"""What the tests of readings share: the shipped sums and gauges, and short ways to ask them."""

from build_tools.measure.gauges import interpret
from build_tools.measure.gauges_documents import gauge_document, scales_of
from build_tools.measure.sums import work_out
from tests.shipped import CATALOGUE

SCALES = scales_of(CATALOGUE)
UNITS = SCALES.units
SUMS = {name: one.document for name, one in CATALOGUE.sums.items()}
GAUGES = {name: gauge_document(one) for name, one in CATALOGUE.gauges.items()}
SOURCES = {name: {"title": one.title, "mark": one.mark} for name, one in CATALOGUE.sources.items()}


def given_as(inputs):
    """Turn `rated_cca=(500, "cca")` into what a sum is given."""
    return {
        name.replace("_", "-"): {"value": one[0], "unit": one[1]} if isinstance(one, tuple) else one
        for name, one in inputs.items()
    }


def ask(sum_id, **inputs):
    """Work out a shipped sum; pairs are value and unit, words are options."""
    return work_out(SUMS[sum_id], given_as(inputs), UNITS)


def figure(sum_id, output, **inputs):
    """Return one figure of a sum that must not be refused."""
    result = ask(sum_id, **inputs)
    assert result.refused is None, result.refused
    return result.outputs[output].value


def read(gauge, value, unit, **conditions):
    """Interpret a reading on a shipped gauge."""
    known = {name.replace("_", "-"): one for name, one in conditions.items()}
    return interpret(GAUGES[gauge], {"value": value, "unit": unit}, known, SCALES)


def degf(value):
    """Return a temperature as value and unit."""
    return (value, "degF")


def _near_printed(rng, definition, entry):
    """Pick a figure of the sum's own file, or one a hair away, where verdicts turn."""
    printed = [one["value"] for one in (definition.get("constants") or {}).values()]
    for table in (definition.get("tables") or {}).values():
        printed += [number for point in table["points"] for number in point]
    return rng.choice(printed or [entry["low"]]) + rng.choice([0, 0, -0.05, 0.05, 0.01])


def random_value(rng, definition, entry):
    """Draw one input as people give it: in any accepted unit, sometimes wrong."""
    if "options" in entry:
        wrong = rng.random() < 0.02
        return "other" if wrong else rng.choice(entry["options"])["id"]
    low, high = entry["low"], entry["high"]
    kind = rng.random()
    if kind < 0.5:
        value = rng.uniform(low, high)
    elif kind < 0.75 and low > 0:
        value = low * (high / low) ** rng.random()
    elif kind < 0.95:
        value = _near_printed(rng, definition, entry)
    else:
        value = rng.choice([low, high, high * 10, -high, low / 100])
    unit = rng.choice(entry["accepts"])
    scale, canonical = UNITS[unit], UNITS[entry["unit"]]
    base = value * canonical["factor"] + canonical["offset"]
    shown = round((base - scale["offset"]) / scale["factor"], rng.choice([1, 2, 3, 9]))
    if rng.random() < 0.1:
        return {"value": str(shown), "unit": unit}
    return {"value": shown, "unit": unit} if rng.random() < 0.95 else {"value": shown}


def random_inputs(rng, definition):
    """Draw the inputs of a sum; optional ones come and go, like inputs are often alike."""
    given_values = {
        entry["id"]: random_value(rng, definition, entry)
        for entry in definition["inputs"]
        if rng.random() < (0.6 if entry["optional"] else 0.98)
    }
    if definition["id"] == "cell-spread" and rng.random() < 0.7:
        base, reach = rng.uniform(1.1, 1.27), rng.choice([0.01, 0.04, 0.08])
        for number in range(1, 7):
            value = {"value": round(base + rng.uniform(0, reach), 3), "unit": "sg"}
            given_values[f"cell-{number}"] = value
    return given_values
