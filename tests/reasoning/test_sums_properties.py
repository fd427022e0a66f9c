"""What must hold for any input: monotone where physics is, units, limits, honest doubt."""

import copy
import math

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from build_tools.measure.gauges import interpret
from build_tools.measure.gauges_numbers import edge_span
from build_tools.measure.sum_document import sum_document
from build_tools.measure.sums import FORMULAS, work_out
from tests.reasoning.readings import GAUGES, SCALES, SOURCES, SUMS, UNITS, ask, degf, figure, read

TYPES = ("agm", "efb", "flooded", "gel")
MANY = settings(max_examples=150, deadline=None)


def test_every_formula_has_its_sum_and_every_sum_its_formula():
    assert {one["formula"] for one in SUMS.values()} == set(FORMULAS)
    assert len(SUMS) == len(FORMULAS)


@pytest.mark.parametrize(
    "case",
    [
        ("charge-from-voltage", "voltage", "charge", 1, {}),
        ("charge-from-voltage", "voltage", "charge", 1, {"battery_type": "agm"}),
        ("gravity-corrected", "gravity", "charge", 1, {"temperature": degf(50)}),
        ("gravity-corrected", "temperature", "corrected", 1, {"gravity": (1.2, "sg")}),
        ("freezing-point", "charge", "freezes", -1, {}),
        ("freezing-point", "gravity", "freezes", -1, {}),
        ("load-test", "temperature", "least", 1, {"rated_cca": (500, "cca")}),
        ("hand-tester", "temperature", "used", 1, {"rated_cca": (2000, "cca")}),
        ("hand-tester", "rated-cca", "share", -1, {}),
        ("charge-time", "charge", "hours", -1, {"capacity": (60, "Ah"), "current": (6, "A")}),
        ("charge-time", "current", "hours", -1, {"capacity": (60, "Ah"), "charge": (40, "percent")}),
        ("charger-voltage", "temperature", "voltage", -1, {}),
        ("regulator-voltage", "temperature", "voltage", -1, {}),
        ("days-until-no-start", "draw", "days", -1, {"capacity": (60, "Ah")}),
        ("days-until-no-start", "charge", "days", 1, {"draw": (50, "mA")}),
        ("own-loss", "temperature", "lost", 1, {"days": (30, "day")}),
        ("own-loss", "days", "lost", 1, {"temperature": (20, "degC")}),
        ("run-time", "current", "minutes", -1, {"capacity": (60, "Ah")}),
        ("run-time", "current", "delivered", -1, {"capacity": (60, "Ah")}),
        ("cold-margin", "temperature", "margin", 1, {}),
        ("drop-limit", "current", "limit", 1, {"path": "cranking-circuit"}),
        ("fuse-drop-current", "drop", "current", 1, {"fuse": "mini-15"}),
        ("drive-recharge", "minutes", "after", 1, {"capacity": (60, "Ah"), "charge": (40, "percent")}),
    ],
)  # fmt: skip
@given(shares=st.tuples(st.floats(0, 1), st.floats(0, 1)))
@settings(max_examples=40, deadline=None)
def test_monotone_where_physics_is(case, shares):
    sum_id, moved, output, direction, fixed = case
    entry = next(one for one in SUMS[sum_id]["inputs"] if one["id"] == moved)
    low, high = (entry["low"] + one * (entry["high"] - entry["low"]) for one in sorted(shares))
    below, above = (
        ask(sum_id, **fixed, **{moved.replace("-", "_"): (one, entry["unit"])})
        for one in (low, high)
    )
    too_far = {"hand-tester": "too-cold", "charger-voltage": "too-hot"}.get(sum_id)
    if too_far and too_far in {one.refused and one.refused.reason for one in (below, above)}:
        return
    for part in ("value", "low", "high"):
        step = getattr(above.outputs[output], part) - getattr(below.outputs[output], part)
        assert step * direction >= -1e-9


TEMPERED = sorted(
    (name, entry["id"])
    for name, one in SUMS.items()
    for entry in one["inputs"]
    if entry.get("unit") == "degC"
)


@pytest.mark.parametrize(("sum_id", "field"), TEMPERED)
@given(share=st.floats(0.01, 0.99))
@settings(max_examples=20, deadline=None)
def test_a_temperature_in_either_unit_gives_the_same_answer(sum_id, field, share):
    entry = next(one for one in SUMS[sum_id]["inputs"] if one["id"] == field)
    celsius = entry["low"] + share * (entry["high"] - entry["low"])
    others = required(SUMS[sum_id], {field})
    answers = [
        work_out(SUMS[sum_id], {**others, field: {"value": value, "unit": unit}}, UNITS)
        for value, unit in ((celsius, "degC"), (celsius * 9 / 5 + 32, "degF"))
    ]
    assert answers[0].numbers[field] == pytest.approx(answers[1].numbers[field], abs=1e-9)
    for name, interval in answers[0].outputs.items():
        assert interval.value == pytest.approx(answers[1].outputs[name].value, abs=1e-6)


def required(definition, but):
    """Give every needed input its middle value or first option."""
    given_values = {}
    for entry in definition["inputs"]:
        if entry["id"] in but or entry["optional"]:
            continue
        if "options" in entry:
            given_values[entry["id"]] = entry["options"][0]["id"]
        else:
            middle = (entry["low"] + entry["high"]) / 2
            given_values[entry["id"]] = {"value": middle, "unit": entry["unit"]}
    return given_values


@pytest.mark.parametrize("sum_id", sorted(SUMS))
def test_every_limit_is_kept_and_told(sum_id):
    definition = SUMS[sum_id]
    for entry in definition["inputs"]:
        if "options" in entry:
            continue
        others = required(definition, {entry["id"]})
        room = (entry["high"] - entry["low"]) / 1000
        for value in (entry["low"] - room, entry["high"] + room):
            given_values = {**others, entry["id"]: {"value": value, "unit": entry["unit"]}}
            result = work_out(definition, given_values, UNITS)
            assert result.verdict is None
            assert (result.refused.field, result.refused.reason) == (entry["id"], "outside-limits")
            words = sum_document(definition, result, UNITS, SOURCES)["refused"]
            assert entry["label"] in words["why"]
            assert words["mend"]
        for value in (entry["low"], entry["high"]):
            given_values = {**others, entry["id"]: {"value": value, "unit": entry["unit"]}}
            refused = work_out(definition, given_values, UNITS).refused
            assert refused is None or refused.reason != "outside-limits"


@pytest.mark.parametrize(
    ("sum_id", "inputs", "field", "reason"),
    [
        ("charge-from-voltage", {}, "voltage", "missing"),
        ("charge-from-voltage", {"voltage": ("twelve", "V")}, "voltage", "not-a-number"),
        ("charge-from-voltage", {"voltage": ("12,500", "V")}, "voltage", "comma-or-thousands"),
        ("charge-from-voltage", {"voltage": (math.nan, "V")}, "voltage", "not-finite"),
        ("charge-from-voltage", {"voltage": (12.5, "A")}, "voltage", "unknown-unit"),
        ("charge-from-voltage", {"voltage": (12.5, "V"), "battery_type": "wet"}, "battery-type", "unknown-option"),
        ("charge-from-voltage", {"volts": (12.5, "V")}, "volts", "unknown-input"),
        ("load-test", {"temperature": degf(70)}, "rated-cca", "cca-or-capacity"),
        ("charge-time", {"charge": 50, "current": 6}, "capacity", "capacity-or-reserve"),
        ("drop-limit", {"path": "cranking-circuit"}, "current", "current-needed"),
        ("freezing-point", {}, "charge", "charge-or-gravity"),
        ("hand-tester", {"rated_cca": (300, "cca"), "temperature": degf(-10)}, "temperature", "too-cold"),
        ("internal-resistance", {"resting_voltage": 12.0, "loaded_voltage": 12.5, "current": 100}, "loaded-voltage", "no-fall"),
    ],
)  # fmt: skip
def test_refusals_name_the_input_and_the_reason(sum_id, inputs, field, reason):
    result = ask(sum_id, **inputs)
    assert result.verdict is None
    assert (result.refused.field, result.refused.reason) == (field, reason)
    words = sum_document(SUMS[sum_id], result, UNITS, SOURCES)["refused"]
    assert "{" not in words["why"]
    assert words["mend"]


@pytest.mark.parametrize(
    ("sum_id", "inputs", "likely"),
    [
        ("charge-from-voltage", {"voltage": (1.25, "V")}, (12.5, "V")),
        ("charge-from-voltage", {"voltage": (125, "V")}, (12.5, "V")),
        ("charge-from-voltage", {"voltage": (12500, "V")}, (12500, "mV")),
        ("cold-margin", {"temperature": (75, "degC")}, (75, "degF")),
        ("days-until-no-start", {"draw": (50, "A")}, (50, "mA")),
    ],
)
def test_a_number_that_cannot_be_right_is_asked_about(sum_id, inputs, likely):
    result = ask(sum_id, **inputs)
    assert result.verdict is None
    assert result.question.likely_unit == likely[1]
    assert result.question.likely_value == pytest.approx(likely[0])
    mend = sum_document(SUMS[sum_id], result, UNITS, SOURCES)["refused"]["mend"]
    assert mend.startswith("Did you mean ")


@given(volts=st.floats(11, 13.5))
@MANY
def test_an_unknown_type_lies_between_the_types(volts):
    unknown = ask("charge-from-voltage", voltage=(volts, "V")).outputs["charge"]
    known = [
        ask("charge-from-voltage", voltage=(volts, "V"), battery_type=kind).outputs["charge"]
        for kind in TYPES
    ]
    values = [one.value for one in known]
    assert min(values) - 1e-9 <= unknown.value <= max(values) + 1e-9
    assert unknown.low == min(one.low for one in known)
    assert unknown.high == max(one.high for one in known)


@given(volts=st.floats(11, 13.5), rest=st.sampled_from(["overnight", "some-hours"]))
@MANY
def test_an_unknown_type_is_a_mixture_of_the_types_on_the_gauge(volts, rest):
    known = {"rest": rest, "temperature": 20, "meter": "good"}
    mixed = read("resting-voltage", volts, "V", **known).band_weights
    each = [
        read("resting-voltage", volts, "V", battery_type=kind, **known).band_weights
        for kind in TYPES
    ]
    for band, weight in mixed.items():
        shares = [one[band] for one in each]
        assert min(shares) - 1e-9 <= weight <= max(shares) + 1e-9


METERED = sorted(name for name, one in GAUGES.items() if {"cheap", "good"} <= set(one["meters"]))


@pytest.mark.parametrize("gauge", METERED)
@given(share=st.floats(0, 1), wider=st.floats(1, 6))
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.filter_too_much])
def test_a_wider_meter_never_makes_a_shipped_gauge_more_certain(gauge, share, wider):
    plain = GAUGES[gauge]
    coarse = copy.deepcopy(plain)
    for name in ("cheap", "good"):
        for part in ("percent", "plus"):
            coarse["meters"][name][part] *= wider
    low, high = plain["plausible"]["low"], plain["plausible"]["high"]
    reading = {"value": low + share * (high - low), "unit": plain["unit"], "confirmed": True}
    for conditions in ({}, {"meter": "cheap"}, {"meter": "good"}):
        sharp = interpret(plain, reading, conditions, SCALES)
        blunt = interpret(coarse, reading, conditions, SCALES)
        assert blunt.certainty <= sharp.certainty + 1e-9
        assert blunt.near_edge or not sharp.near_edge


@pytest.mark.parametrize("gauge", METERED)
@given(share=st.floats(0, 1))
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.filter_too_much])
def test_far_inside_a_band_the_meter_class_changes_nothing(gauge, share):
    plain = GAUGES[gauge]
    low, high = plain["plausible"]["low"], plain["plausible"]["high"]
    value = low + share * (high - low)
    # Every spread of the gauge at once, the thermometer's part included, is surely enough.
    cheap = plain["meters"]["cheap"]
    sigma = math.hypot(
        (abs(value) * cheap["percent"] / 100 + cheap["plus"]) / 2,
        *(one["plus"] for one in plain["spread"]),
    )
    edges = [
        edge if isinstance(edge, (int, float)) else point
        for table in plain["tables"]
        for band in table["bands"]
        for edge in (band.get("from"), band.get("below"))
        if edge is not None
        for point in ([None] if isinstance(edge, (int, float)) else [p[1] for p in edge["points"]])
    ]
    assume(min(abs(value - edge) for edge in edges) > 7 * sigma)
    assume(not edge_span(plain)[0] < value < edge_span(plain)[1])
    reading = {"value": value, "unit": plain["unit"], "confirmed": True}
    one, other = (interpret(plain, reading, {"meter": name}, SCALES) for name in ("cheap", "good"))
    assert one.band == other.band
    for band, weight in one.band_weights.items():
        assert weight == pytest.approx(other.band_weights[band], abs=1e-9)


@given(temperature=st.floats(-18, 60))
@MANY
def test_sum_and_gauge_hold_the_same_load_limit(temperature):
    # One table stands in two files: the limit must be the same.
    least = figure("load-test", "least", rated_cca=(500, "cca"), temperature=(temperature, "degC"))
    known = {"temperature": {"value": temperature, "unit": "degC"}, "meter": "good"}
    assert read("load-test-voltage", least + 1e-6, "V", **known).band == "holds"
    assert read("load-test-voltage", least - 1e-6, "V", **known).band == "falls-short"
