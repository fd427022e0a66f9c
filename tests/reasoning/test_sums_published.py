"""Sums and gauges against published figures; the source stands beside each."""

import pytest

from tests.reasoning.readings import ask, degf, figure, read

# ---- The 37 test vectors: input, published or worked result, tolerance.


@pytest.mark.parametrize(
    ("reading", "fahrenheit", "corrected"),
    [
        (1.250, 90, 1.254),  # 1: golf-car owner's manual, fig. 35, and army TM 5-4210
        (1.250, 70, 1.246),  # 2: golf-car owner's manual, fig. 35
        (1.250, 20, 1.226),  # 3: generator manual TP-5606, fig. 3-17
        (1.235, 100, 1.243),  # 4: generator manual TP-5606, fig. 3-17
        (1.245, 100, 1.253),  # 5: turf mower service manual, p. 5-63
    ],
)
def test_vectors_1_to_5_gravity_corrected(reading, fahrenheit, corrected):
    found = figure(
        "gravity-corrected", "corrected", gravity=(reading, "sg"), temperature=degf(fahrenheit)
    )
    assert found == pytest.approx(corrected, abs=0.0005)


def test_vectors_6_and_7_load_current():
    # 6: half of 500 CCA (turf mower manual). 7: three times 90 Ah (outboard manual 1994).
    warm = degf(70)
    assert figure("load-test", "current", rated_cca=(500, "cca"), temperature=warm) == 250
    assert figure("load-test", "current", capacity=(90, "Ah"), temperature=warm) == 270


def test_vectors_8_and_9_charge_moved():
    # 8: 5 A for 10 h (TM 5-4210). 9: 60 A for 30 min is 1800 A-min (TM 10-3930-644), 30 Ah.
    assert figure("charge-moved", "hours", current=(5, "A"), minutes=(10, "h")) == 50
    assert figure("charge-moved", "minutes", current=(60, "A"), minutes=(30, "min")) == 1800
    assert figure("charge-moved", "hours", current=(60, "A"), minutes=(30, "min")) == 30


def test_vector_10_slow_rate_from_plates():
    # TM 5-4210, slow charging: 9 plates a cell, 4 A.
    assert figure("slow-charge-rate", "current", plates=(9, "count")) == 4


def test_vectors_11_and_12_draw_of_55_milliamperes():
    # Gel battery manual, p. 12: 1.32 Ah a day; 80 Ah last "about 2 months", which is 60.6 d.
    assert figure("days-until-no-start", "daily", draw=(55, "mA")) == pytest.approx(1.32, abs=0.005)
    days = figure("days-until-no-start", "days", draw=(55, "mA"), usable=(80, "Ah"))
    assert days == pytest.approx(60.6, abs=1)


def test_vectors_13_to_16_parasitic_table():
    # Dealer page, parasitic loads table II: 18 mA takes 37 d to empty, hence 16.0 Ah; 7 mA
    # takes 95 d; to 30 % of charge 26 d; another battery 162 d and 113 d.
    def days(draw, usable):
        return figure("days-until-no-start", "days", draw=(draw, "mA"), usable=(usable, "Ah"))

    implied = 37 * 0.018 * 24
    assert implied == pytest.approx(16.0, rel=0.03)
    assert days(18, 16.0) == pytest.approx(37, rel=0.03)
    assert days(7, implied) == pytest.approx(95, rel=0.015)
    assert days(18, implied * 0.7) == pytest.approx(26, abs=1)
    assert days(18, 162 * 0.018 * 24 * 0.7) == pytest.approx(113, abs=1)


def test_vector_17_reserve_capacity_at_25_amperes():
    # Reserve-capacity page: RC 100 is 41.67 Ah at 25 A.
    found = figure("reserve-capacity", "at-25-amperes", reserve=(100, "min"))
    assert found == pytest.approx(41.67, abs=0.01)


def test_vector_18_peukert_without_rated_hours():
    # Peukert article 2010: 100 Ah, k 1.2, 5 A gives 14.5 h by the form C / I^k; the form with
    # rated hours gives 20.0 h.
    inputs = {"capacity": (100, "Ah"), "current": (5, "A")}
    assert figure("run-time", "uncorrected", **inputs) == pytest.approx(14.5, abs=0.05)
    assert figure("run-time", "minutes", **inputs) == pytest.approx(20.0 * 60, abs=1e-6)


def test_vector_19_drop_across_a_mini_fuse():
    # Service reports, June 2017, fig. 13: 15 A mini fuse, 0.1 mV = 22 mA, 1.0 mV = 218 mA.
    for millivolts, milliamperes in ((0.1, 22), (1.0, 218)):
        found = figure("fuse-drop-current", "current", drop=(millivolts, "mV"), fuse="mini-15")
        assert found == pytest.approx(milliamperes, rel=0.03)


def test_drop_across_a_standard_fuse():
    # Voltage drop over fuses, a training page: standard red fuse, 10 A, 1 mV = 130 mA.
    found = figure("fuse-drop-current", "current", drop=(1.0, "mV"), fuse="standard-10")
    assert found == pytest.approx(130, rel=0.01)


def test_vector_20_volts_from_a_cell():
    # Truck battery page: 2.12 V a cell is 12.72 V.
    found = figure("volts-from-cell", "voltage", cell_voltage=(2.12, "V"))
    assert found == pytest.approx(12.72, abs=0.001)


def test_vector_21_the_straight_line_rule():
    # Charging knowledge base: 12.2 V is 40 % by the 11.8 to 12.8 V rule; the table we use
    # says 44.4 % (trade table, 12.06 to 12.24 V).
    inputs = {"voltage": (12.2, "V"), "battery_type": "flooded"}
    assert figure("charge-from-voltage", "linear", **inputs) == pytest.approx(40, abs=1)
    assert figure("charge-from-voltage", "charge", **inputs) == pytest.approx(44.4, abs=0.1)


def test_vectors_22_and_23_load_test_passes_and_fails():
    # TM 5-4210, table 5: 9.6 V at 70 degF holds; 8.8 V at 20 degF falls short of 8.9.
    assert read("load-test-voltage", 9.6, "V", temperature={"value": 70, "unit": "degF"}).band == (
        "holds"
    )
    cold = {"value": 20, "unit": "degF"}
    assert read("load-test-voltage", 8.8, "V", temperature=cold).band == "falls-short"
    held = ask(
        "load-test", temperature=degf(70), loaded_voltage=(9.6, "V"), resting_voltage=(12.5, "V")
    )
    failed = ask("load-test", temperature=degf(20), loaded_voltage=(8.8, "V"))
    assert (held.verdict, failed.verdict) == ("near-holds", "near-falls")


def test_vector_24_least_volts_between_rows():
    # TM 5-4210, table 5: 9.1 at 30 and 9.3 at 40 degF.
    found = figure("load-test", "least", rated_cca=(500, "cca"), temperature=degf(35))
    assert found == pytest.approx(9.2, abs=0.005)


def test_vector_25_charge_between_rows():
    # Trade state-of-charge table: 50 + 25 x (12.35 - 12.24) / 0.21.
    found = figure("charge-from-voltage", "charge", voltage=(12.35, "V"), battery_type="flooded")
    assert found == pytest.approx(63.1, abs=0.1)


def test_vector_26_internal_resistance():
    # Ohm's law: 3.0 V at 300 A.
    found = figure(
        "internal-resistance",
        "resistance",
        resting_voltage=(12.6, "V"),
        loaded_voltage=(9.6, "V"),
        current=(300, "A"),
    )
    assert found == pytest.approx(10.0, abs=0.05)


def test_vector_27_charge_time():
    # Charger manual: 75.5 x 0.75 / 40 x 1.25.
    found = figure(
        "charge-time", "hours", reserve=(120, "min"), charge=(25, "percent"), current=(40, "A")
    )
    assert found == pytest.approx(1.77, abs=0.01)


def test_vectors_28_and_29_days_until_no_start():
    # Maker's bulletin on parasitic drain: RC 100, 50 mA: 60 x 0.4 = 24 Ah, 20.0 d; 25 Ah
    # usable at 500 mA: 2.08 d.
    inputs = {"draw": (50, "mA"), "reserve": (100, "min")}
    assert figure("days-until-no-start", "usable", **inputs) == pytest.approx(24, abs=1e-9)
    assert figure("days-until-no-start", "days", **inputs) == pytest.approx(20.0, abs=0.1)
    days = figure("days-until-no-start", "days", draw=(500, "mA"), usable=(25, "Ah"))
    assert days == pytest.approx(2.08, abs=0.01)


def test_vector_30_peukert_with_rated_hours():
    # Peukert article, form with hours: 60 Ah, 25 A, k 1.2.
    inputs = {"capacity": (60, "Ah"), "current": (25, "A")}
    assert figure("run-time", "minutes", **inputs) == pytest.approx(94.2, abs=0.2)
    assert figure("run-time", "delivered", **inputs) == pytest.approx(39.3, abs=0.2)


def test_vector_31_din_to_sae():
    # Battery maker's rating sheet: 1.5 x 360 + 40 = 580; by common practice 1.7 x 360 = 612.
    inputs = {"rating": (360, "A"), "scale": "din"}
    assert figure("rating-converted", "sae", **inputs) == 580
    assert figure("rating-converted", "other-rule", **inputs) == pytest.approx(612, abs=1e-9)


def test_vector_32_charger_voltage_at_freezing():
    # 14.4 V at 25 degC with 18 (stationary article), 24 and 30 mV/degC (deep-cycle sheet).
    result = ask("charger-voltage", label_voltage=(14.4, "V"), temperature=(0, "degC"))
    voltage = result.outputs["voltage"]
    for found, wanted in zip(
        (voltage.low, voltage.value, voltage.high), (14.85, 15.00, 15.15), strict=True
    ):
        assert found == pytest.approx(wanted, abs=0.01)


def test_vector_33_regulator_when_hot():
    # Marine engine manual 33A: 14.4 V at 20 degC, less 0.1 V for each 10 degC.
    found = ask("regulator-voltage", set_point=(14.4, "V"), temperature=(40, "degC"))
    assert found.outputs["voltage"].value == pytest.approx(14.2, abs=0.01)
    assert found.outputs["voltage"].low == pytest.approx(13.9, abs=0.01)


def test_vector_34_drop_limit_by_current():
    # TM 10-3930-671-24: 0.20 V for each 100 A.
    found = figure("drop-limit", "limit", path="cranking-circuit", current=(180, "A"))
    assert found == pytest.approx(0.36, abs=0.005)


def test_vector_35_freezing_at_half_charge():
    # TM 5-4210, table 3: 1.190 freezes at -15 degF; warn at -20 degF, not at 0 degF.
    freezes = figure("freezing-point", "freezes", gravity=(1.190, "sg"))
    assert freezes * 9 / 5 + 32 == pytest.approx(-15, abs=1)
    cold = ask("freezing-point", gravity=(1.190, "sg"), temperature=degf(-20))
    mild = ask("freezing-point", gravity=(1.190, "sg"), temperature=degf(0))
    assert (cold.verdict, mild.verdict) == ("may-be-frozen", "keep-charged")


def test_vector_36_cell_spread():
    # TM 5-3805-281-24-2, battery test 1995: 0.055 after a full charge means replace.
    cells = (1.265, 1.260, 1.262, 1.210, 1.264, 1.263)
    inputs = {f"cell_{place}": (one, "sg") for place, one in enumerate(cells, start=1)}
    result = ask("cell-spread", charged="fully-charged", **inputs)
    assert result.outputs["spread"].value == pytest.approx(0.055, abs=0.0005)
    assert result.verdict == "uneven"
    assert ask("cell-spread", **inputs).verdict == "charge-first"


def test_vector_37_volts_from_gravity():
    # Textbook rule, from memory: 6 x (1.265 + 0.84).
    found = figure("gravity-corrected", "voltage", gravity=(1.265, "sg"), temperature=degf(80))
    assert found == pytest.approx(12.63, abs=0.005)
