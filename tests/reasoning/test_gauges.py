"""Readings against published limits, and what must hold for any reading."""

import math
from statistics import NormalDist

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from build_tools.knowledge.nearest import nearest
from build_tools.measure.gauges import CLEAR_BAND, interpret
from build_tools.measure.gauges_documents import gauge_document, scales_of
from build_tools.measure.gauges_numbers import (
    ReadingRefused,
    convert,
    known_unit,
    read_number,
)
from tests.shipped import CATALOGUE

SCALES = scales_of(CATALOGUE)
GAUGES = {name: gauge_document(gauge) for name, gauge in CATALOGUE.gauges.items()}
LOADED = "charging-voltage-loaded"
RESTED = {"battery-type": "flooded", "rest": "overnight", "temperature": 20, "meter": "good"}
UNITS = {
    "V": {"canonical": "V", "factor": 1, "offset": 0},
    "mV": {"canonical": "V", "factor": 0.001, "offset": 0},
    "degC": {"canonical": "degC", "factor": 1, "offset": 0},
    "degF": {"canonical": "degC", "factor": 5 / 9, "offset": -160 / 9},
}


def read(gauge, value, unit="V", **conditions):
    given = {name.replace("_", "-"): one for name, one in conditions.items()}
    return interpret(GAUGES[gauge], {"value": value, "unit": unit}, given, SCALES)


def plain_gauge(*, bands, meters, conditions=(), tables=None, spread=()):
    names = [band["band"] for band in bands]
    return {
        "id": "made-for-the-test",
        "unit": "V",
        "accepts": ["V", "mV"],
        "plausible": {"low": 0, "high": 16.5},
        "conditions": [*conditions, {"id": "meter", "if_unknown": {"cheap": 1}}],
        "bands": [{"id": name} for name in names],
        "tables": tables or [{"for": {}, "source": "from-memory", "bands": bands}],
        "spread": list(spread),
        "meters": meters,
    }


# TM 5-4210-230-14&P-1, Table 5: 12 V battery, half the CCA for 15 s, minimum by temperature.
@pytest.mark.parametrize(
    ("degf", "minimum"),
    [
        (70, 9.6),
        (60, 9.5),
        (50, 9.4),
        (40, 9.3),
        (30, 9.1),
        (20, 8.9),
        (10, 8.7),
        (0, 8.5),
        (95, 9.6),
    ],
)
def test_load_table_as_printed(degf, minimum):
    # The limit itself passes, a hundredth below falls short.
    at = read(
        "load-test-voltage", minimum, temperature={"value": degf, "unit": "degF"}, meter="good"
    )
    below = read(
        "load-test-voltage",
        minimum - 0.01,
        temperature={"value": degf, "unit": "degF"},
        meter="good",
    )
    assert at.band == "holds"
    assert below.band == "falls-short"
    assert at.near_edge
    assert below.near_edge


def test_vector_22_pass_at_70_degf():
    # 9.6 V at 70 degF passes (same table); a little above it is clear.
    assert read("load-test-voltage", 9.6, temperature={"value": 70, "unit": "degF"}).band == "holds"


def test_vector_23_fails_at_20_degf():
    # 8.8 V at 20 degF: the printed minimum is 8.9.
    found = read("load-test-voltage", 8.8, temperature={"value": 20, "unit": "degF"}, meter="good")
    assert found.band == "falls-short"


def test_vector_24_between_two_rows():
    # 35 degF lies half way between 9.1 at 30 and 9.3 at 40: 9.2 (linear, +/- 0.005).
    for volts, band in ((9.205, "holds"), (9.195, "falls-short")):
        found = read("load-test-voltage", volts, temperature={"value": 35, "unit": "degF"})
        assert found.band == band
        assert found.band_weights[band] < 0.6


def test_vector_25_rest_voltage_between_half_and_three_quarters():
    # Trade state-of-charge table: 12.35 V flooded is 63.1 %, so between 50 and 75 %.
    assert read("resting-voltage", 12.35, **RESTED).band == "half"


def test_volt_drop_grows_with_the_current():
    # TM 10-3930-671-24: 0.20 V for each 100 A, so 0.36 V at 180 A.
    for volts, band in ((0.35, "within"), (0.37, "high")):
        amps = {"cranking-current": {"value": 180, "unit": "A"}}
        assert read("cable-drop-positive", volts, meter="good", **amps).band == band


def test_a_meter_that_starts_at_200_v_ac_cannot_judge_ripple():
    # Limit at the posts: 0.1 V (Tomorrow's Technician); one step of such a meter is as large.
    for volts in (0, 0.1, 0.5):
        with pytest.raises(ReadingRefused) as refused:
            read("ac-ripple", volts, ac_range="coarse", meter="cheap")
        assert (refused.value.field, refused.value.reason) == ("ac-range", "not-judged")
    assert read("ac-ripple", 0.05, ac_range="fine", meter="good").band == "smooth"
    assert read("ac-ripple", 0.3, ac_range="fine", meter="good").band == "doubtful"
    assumed = read("ac-ripple", 0.05, meter="good").assumptions
    assert "ac-range" in [one.get("condition") for one in assumed]


def test_enhanced_flooded_is_full_higher():
    # Battery maker's charging guide: 2.12 to 2.13 V a cell after charging, so 12.72 to 12.78 V.
    efb = {**RESTED, "battery-type": "efb"}
    assert read("resting-voltage", 12.6, **RESTED).band == "full"
    assert read("resting-voltage", 12.6, **efb).band == "three-quarters"
    for volts in (6 * 2.12, 6 * 2.13):
        assert read("resting-voltage", volts, **efb).band == "full"


# TM 10-3930-671-24, F-285: output test band 13.0 to 15.0 V; marine manual 33A: 0.1 V for 10 degC.
@pytest.mark.parametrize("gauge", ["charging-voltage", "charging-voltage-loaded"])
@pytest.mark.parametrize(
    ("volts", "degc", "control", "band"),
    [
        (16.0, 20, "conventional", "too-high"),
        (15.4, 20, "conventional", "too-high"),
        (14.9, 20, "conventional", "upper"),
        (15.1, -20, "conventional", "normal"),
        (15.5, -20, "conventional", "too-high"),
        (15.6, 20, "managed", "too-high"),
        (19.5, 20, "conventional", "too-high"),
    ],
)
def test_overcharge_is_told_with_loads_on_as_without(gauge, volts, degc, control, band):
    found = read(gauge, volts, temperature=degc, charging_control=control, meter="good")
    assert found.question is None
    assert found.band == ("holds" if (gauge, band) == (LOADED, "normal") else band)


def test_one_reading_means_two_things_on_two_batteries():
    # 12.6 V: full on flooded (TM 5-3805-262-20), about 75 % on AGM (trade table for AGM).
    agm = {**RESTED, "battery-type": "agm"}
    assert read("resting-voltage", 12.7, **RESTED).band == "full"
    assert read("resting-voltage", 12.7, **agm).band == "three-quarters"


def test_sigma_is_half_the_meters_limit():
    # 12 V on a cheap meter: 1 % + 0.02 V = 0.14 V limit, so 0.07 V.
    found = read("resting-voltage", 12.0, **{**RESTED, "meter": "cheap"})
    assert found.sigma == pytest.approx(0.07, abs=1e-12)


def test_spread_adds_in_quadrature():
    found = read("resting-voltage", 12.0, **{**RESTED, "meter": "cheap", "rest": "just-driven"})
    assert found.sigma == pytest.approx(math.hypot(0.07, 0.1), abs=1e-12)


def test_weights_are_the_normal_integral():
    # Standard library's normal curve as the outside check.
    found = read("resting-voltage", 12.35, **RESTED)
    curve = NormalDist(12.35, found.sigma)
    # Edges of the flooded table: 12.24 and 12.4.
    assert found.band_weights["half"] == pytest.approx(
        curve.cdf(12.4) - curve.cdf(12.24), abs=1e-12
    )


def test_the_thermometer_counts_through_the_slope():
    # Between 30 and 40 degF the limit moves 0.2 V in 10 degF = 0.036 V per degC; one sigma of
    # 1 degC adds 0.036 V in quadrature.
    found = read("load-test-voltage", 9.3, temperature={"value": 35, "unit": "degF"}, meter="good")
    sigma = math.hypot(found.sigma, 0.036)
    assert found.band_weights["holds"] == pytest.approx(NormalDist(9.2, sigma).cdf(9.3), abs=1e-9)
    assert {one["kind"] for one in found.assumptions} == {"thermometer"}


def test_unknown_conditions_are_mixed_and_listed():
    mixed = read("resting-voltage", 12.7, rest="overnight", temperature=20, meter="good")
    known = {
        kind: read("resting-voltage", 12.7, **{**RESTED, "battery-type": kind}).band_weights
        for kind in ("flooded", "efb", "agm", "gel")
    }
    # The weights printed in the gauge's own file.
    shares = {"flooded": 0.55, "efb": 0.15, "agm": 0.27, "gel": 0.03}
    for band, weight in mixed.band_weights.items():
        want = sum(shares[kind] * known[kind][band] for kind in shares)
        assert weight == pytest.approx(want, abs=1e-12)
    assert [one["condition"] for one in mixed.assumptions] == ["battery-type"]


@pytest.mark.parametrize("gauge", sorted(GAUGES))
@given(share=st.floats(0, 1))
@settings(max_examples=25, deadline=None)
def test_weights_sum_to_one_over_every_shipped_gauge(gauge, share):
    limits = GAUGES[gauge]["plausible"]
    value = limits["low"] + share * (limits["high"] - limits["low"])
    reading = {"value": value, "unit": GAUGES[gauge]["unit"], "confirmed": True}
    found = interpret(GAUGES[gauge], reading, {}, SCALES)
    assert math.fsum(found.band_weights.values()) == pytest.approx(1, abs=1e-12)
    assert all(weight >= 0 for weight in found.band_weights.values())
    assert set(found.band_weights) == {band["id"] for band in GAUGES[gauge]["bands"]}


@given(
    value=st.floats(9, 15),
    edges=st.lists(st.floats(9.5, 14.5), min_size=1, max_size=5, unique=True),
    limits=st.tuples(st.floats(0, 3), st.floats(0, 3)),
    shift=st.floats(0, 2),
)
@settings(max_examples=400, deadline=None)
def test_a_coarser_meter_never_makes_the_verdict_more_certain(value, edges, limits, shift):
    def bands(by):
        points = [edge + by for edge in sorted(edges)]
        return [
            {
                "band": f"b{i}",
                **({} if i == 0 else {"from": points[i - 1]}),
                **({} if i == len(points) else {"below": points[i]}),
            }
            for i in range(len(points) + 1)
        ]

    kind = {"id": "battery-type", "if_unknown": {"flooded": 0.7, "agm": 0.3}}
    tables = [
        {"for": {"battery-type": ["flooded"]}, "source": "from-memory", "bands": bands(0)},
        {"for": {}, "source": "from-memory", "bands": bands(shift)},
    ]
    fine, coarse = sorted(limits)
    meters = {"good": {"percent": 0, "plus": fine}, "cheap": {"percent": 0, "plus": coarse}}
    gauge = plain_gauge(bands=bands(0), meters=meters, conditions=[kind], tables=tables)
    reading = {"value": value, "unit": "V", "confirmed": True}
    good = interpret(gauge, reading, {"meter": "good"}, SCALES)
    cheap = interpret(gauge, reading, {"meter": "cheap"}, SCALES)
    assert cheap.certainty <= good.certainty + 1e-12
    if good.near_edge:
        assert cheap.near_edge or cheap.certainty == pytest.approx(CLEAR_BAND, abs=1e-9)


def test_far_inside_a_band_the_meter_changes_nothing():
    for value, band in ((5.0, "empty"), (16.0, "surface")):
        good = read("resting-voltage", value, **RESTED)
        cheap = read("resting-voltage", value, **{**RESTED, "meter": "cheap"})
        assert good.band == cheap.band == band
        assert good.band_weights[band] == pytest.approx(cheap.band_weights[band], abs=1e-9)


@pytest.mark.parametrize(
    ("gauge", "value", "unit", "likely", "why"),
    [
        ("resting-voltage", 1.25, "V", (12.5, "V"), "decimal-point"),
        ("resting-voltage", 125, "V", (12.5, "V"), "decimal-point"),
        ("resting-voltage", 12500, "V", (12500, "mV"), "other-unit"),
        ("resting-voltage", 12.5, "mV", (12.5, "V"), "other-unit"),
        ("parasitic-draw", 50, "A", (50, "mA"), "other-unit"),
        ("parasitic-draw", 0.05, "mA", (0.05, "A"), "other-unit"),
        ("warm-up-temperature", 190, "degC", (190, "degF"), "other-unit"),
        ("conductance-ratio", 85, "ratio", (85, "percent"), "other-unit"),
    ],
)
def test_slips_are_asked_about_and_carry_no_weight(gauge, value, unit, likely, why):
    found = read(gauge, value, unit)
    assert found.question is not None
    assert (found.question.likely_value, found.question.likely_unit) == (
        pytest.approx(likely[0]),
        likely[1],
    )
    assert found.question.why == why
    assert found.band_weights == {}
    assert found.band is None


@pytest.mark.parametrize(
    ("gauge", "value", "unit"),
    [
        ("resting-voltage", 12.5, "V"),
        ("resting-voltage", 12500, "mV"),
        ("resting-voltage", 9.0, "V"),
        ("resting-voltage", 0, "V"),
        ("clamp-drop", 0.0, "V"),
        ("clamp-drop", 0.005, "V"),
        ("clamp-drop", 1, "mV"),
        ("parasitic-draw", 3, "mA"),
        ("ac-ripple", 10, "mV"),
        ("warm-up-temperature", 60, "degC"),
    ],
)
def test_ordinary_readings_are_not_questioned(gauge, value, unit):
    assert read(gauge, value, unit).question is None


def test_a_temperature_in_the_wrong_unit_is_asked_about():
    found = read("load-test-voltage", 9.7, temperature={"value": 75, "unit": "degC"})
    assert found.question is not None
    assert found.question.field == "temperature"
    assert (found.question.likely_value, found.question.likely_unit) == (75, "degF")


def test_a_confirmed_reading_is_used_unless_it_is_impossible():
    reading = {"value": 1.25, "unit": "V", "confirmed": True}
    assert interpret(GAUGES["resting-voltage"], reading, RESTED, SCALES).band == "empty"
    with pytest.raises(ReadingRefused) as refused:
        interpret(GAUGES["resting-voltage"], {**reading, "value": 125}, RESTED, SCALES)
    assert refused.value.reason == "outside-plausible"


def test_nothing_likely_is_still_a_question():
    found = read("resting-voltage", 17.5)
    assert found.question is not None
    assert found.question.why == "outside-plausible"
    assert found.question.likely_value is None


@pytest.mark.parametrize(
    ("given", "reason"),
    [
        (math.inf, "not-finite"),
        (-math.inf, "not-finite"),
        (math.nan, "not-finite"),
        ("1" + "0" * 400, "not-finite"),
        (True, "not-a-number"),
        (None, "not-a-number"),
        ("", "not-a-number"),
        ("twelve", "not-a-number"),
        ("12.5V", "not-a-number"),
        ("0x10", "not-a-number"),
        ("1e3", "not-a-number"),
        ("12,500", "comma-or-thousands"),
        ([12], "not-a-number"),
    ],
)
def test_what_is_not_a_number_is_refused_with_a_reason(given, reason):
    with pytest.raises(ReadingRefused) as refused:
        read("resting-voltage", given)
    assert refused.value.field == "value"
    assert refused.value.reason == reason


@pytest.mark.parametrize(
    ("given", "number"),
    [("12.5", 12.5), ("12,5", 12.5), (" 12.50 ", 12.5), ("\N{MINUS SIGN}5", -5), ("+3", 3), (7, 7)],
)
def test_numbers_as_people_type_them(given, number):
    assert read_number(given, "value") == number


def test_an_unknown_unit_is_refused_with_what_was_probably_meant():
    with pytest.raises(ReadingRefused) as refused:
        read("resting-voltage", 12.5, "mVv")
    assert (refused.value.field, refused.value.reason) == ("unit", "unknown-unit")
    assert "mV" in refused.value.options
    assert known_unit("v", ["V", "mV"], UNITS) == "V"


def test_an_unknown_option_is_refused_with_what_was_probably_meant():
    with pytest.raises(ReadingRefused) as refused:
        read("resting-voltage", 12.5, **{**RESTED, "battery-type": "floded"})
    assert refused.value.field == "battery-type"
    assert refused.value.options == ("flooded",)


def test_a_unit_left_out_is_an_assumption():
    found = interpret(GAUGES["resting-voltage"], {"value": 12.5}, RESTED, SCALES)
    assert found.assumptions[0] == {"kind": "unit", "unit": "V"}


@given(st.floats(-60, 200))
def test_temperatures_there_and_back(value):
    fahrenheit = convert(value, "degC", "degF", UNITS)
    assert fahrenheit == pytest.approx(value * 1.8 + 32, abs=1e-9)
    assert convert(fahrenheit, "degF", "degC", UNITS) == pytest.approx(value, abs=1e-9)


def test_close_words():
    assert nearest("measure_resting_voltage", ["measure-resting-voltage", "rest-overnight"]) == [
        "measure-resting-voltage"
    ]
    assert nearest("colour", ["flooded", "agm"]) == []
    assert nearest("gle", ["gel", "agm"]) == ["gel"]
