"""Logs made here from a known car, and what the reading of logs must find in them.

The battery follows the printed open-circuit table (trade table; AGM from memory), drifts
1.2 mV for each degree (from memory) and lets its surface charge fade. None of this is
shared with the code under test.
"""

import math
import random
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest

from build_tools.browser.embedded import ModuleFailedError
from tests.embedded import call, value
from tests.reasoning.readings import GAUGES

LIMITS, WORDS = "logs/voltlog-limits", "logs/voltlog-words"
TYPICAL_CAPACITY = value("logs_voltlog_limits.TYPICAL_CAPACITY")
VOLTS_PER_PERCENT = value("logs_voltlog_limits.VOLTS_PER_PERCENT")
FLOODED = [(0, 11.89), (25, 12.06), (50, 12.24), (75, 12.45), (100, 12.65)]
AGM = [(0, 11.8), (25, 12.0), (50, 12.3), (75, 12.6), (100, 12.8)]
TABLES = {"flooded": FLOODED, "agm": AGM}
DRIFTS = {
    "steady": lambda part: -part,
    "half-wave": lambda part: math.cos(math.pi * part) / 2,
    "full-wave": lambda part: math.sin(2 * math.pi * part) / 2,
    "cools-early": lambda part: -(1 - math.exp(-5 * part)),
    "sudden": lambda part: -float(part > 0.5),
}


def analyse(times, volts, capacity, *, volts_per_percent):
    return call("logs/voltlog", "analyse", times, volts, capacity, volts_per_percent)


def voltlog_document(text, options):
    return call("logs/voltlog-document", "voltLogDocument", text, options)


def rested_volts(table, charge):
    for (left, low), (right, high) in pairwise(table):
        if charge <= right:
            return low + (high - low) * (charge - left) / (right - left)
    return table[-1][1]


def parked(rng, *, hours, draw, kind="flooded", step=30.0, digit=0.0):
    """Make a night of a car with a known draw; everything else is drawn at random."""
    capacity = rng.uniform(TYPICAL_CAPACITY.low, TYPICAL_CAPACITY.high)
    charge = rng.uniform(65, 100)
    surface, fades = rng.choice([0, 0.05, 0.2, 0.35]), rng.uniform(0.8, 4)
    swing, drift = rng.uniform(-10, 10), DRIFTS[rng.choice(sorted(DRIFTS))]
    noise = rng.choice([0.001, 0.005, 0.02])
    times, volts = [], []
    for row in range(int(hours * 3600 / step) + 1):
        now = row * step / 3600
        level = rested_volts(TABLES[kind], charge - draw * now / capacity * 100)
        level += surface * math.exp(-now / fades) + 0.0012 * swing * drift(now / hours)
        level += rng.gauss(0, noise)
        times.append(row * step)
        volts.append(round(level / digit) * digit if digit else level)
    return times, volts


def implied(times, volts, kind="flooded", capacity=TYPICAL_CAPACITY):
    log = analyse(times, volts, capacity, volts_per_percent=VOLTS_PER_PERCENT[kind])
    assert len(log.rests) == 1
    return log.rests[0].draw


@pytest.mark.parametrize("draw", [0, 0.02, 0.05, 0.1, 0.3, 1.0])
@pytest.mark.parametrize("hours", [10, 24])
def test_a_known_draw_lies_within_the_stated_error(draw, hours):
    for seed in range(12):
        found = implied(*parked(random.Random(seed), hours=hours, draw=draw))
        assert found.low <= draw <= found.high, (seed, found)


@pytest.mark.parametrize("draw", [0, 0.05, 0.4])
def test_an_agm_battery_and_a_coarse_meter(draw):
    for seed in range(8):
        log = parked(random.Random(seed), hours=14, draw=draw, kind="agm", digit=0.01)
        found = implied(*log, kind="agm")
        assert found.low <= draw <= found.high, (seed, found)


@pytest.mark.parametrize("draw", [0.05, 0.2])
def test_a_long_log_is_sharper_than_a_night(draw):
    def width(hours):
        found = [implied(*parked(random.Random(s), hours=hours, draw=draw)) for s in range(6)]
        return sum(one.high - one.low for one in found) / len(found)

    assert width(72) < width(24) < width(10)


def test_a_weekend_tells_a_large_draw_from_a_small_one():
    large = implied(*parked(random.Random(5), hours=60, draw=0.5))
    small = implied(*parked(random.Random(5), hours=160, draw=0.0))
    assert call(LIMITS, "drawSize", large) == "large"
    assert call(LIMITS, "drawSize", small) == "small"
    assert large.value == pytest.approx(0.5, rel=0.5)


def test_the_limits_are_those_of_the_gauge():
    edges = [band.get("below") for band in GAUGES["parasitic-draw"]["tables"][0]["bands"]]
    small, large = edges[:2]

    def size(low, high):
        return call(LIMITS, "drawSize", {"value": low, "low": low, "high": high})

    assert (size(0, small - 1e-9), size(0, small)) == ("small", "unclear")
    assert (size(large, 1), size(large - 1e-9, 1)) == ("large", "unclear")


def test_volts_a_percent_are_the_slope_of_the_tables():
    assert pytest.approx(VOLTS_PER_PERCENT["flooded"]) == (12.65 - 11.89) / 100
    assert pytest.approx(VOLTS_PER_PERCENT["agm"]) == (12.8 - 11.8) / 100


def test_a_worn_battery_counts_with_less_than_its_label():
    assert call(LIMITS, "capacityOf", 70) == {"value": 70, "low": 56, "high": 70}
    assert call(LIMITS, "capacityOf", None) == {"value": 60, "low": 45, "high": 80}


# Army AGM care text: at least 3 h, better 8 h.
@pytest.mark.parametrize(
    ("hours", "counted"), [(2.9, None), (3, "some-hours"), (7.9, "some-hours"), (8, "overnight")]
)
def test_what_a_rest_counts_as(hours, counted):
    assert call(LIMITS, "restOf", hours * 3600) == counted


def drive(rng=None, *, lowest=9.6, failed_back=12.1, tries=1, set_point=14.2, dips=()):
    """Make a minute of rest, some starts, and twenty minutes of driving."""
    rng = rng or random.Random(1)
    times, volts = [], []

    def add(seconds, step, level):
        start = (times[-1] + step) if times else 0.0
        for row in range(round(seconds / step)):
            now = row * step
            times.append(start + now)
            volts.append(level(now) + rng.gauss(0, 0.005))

    add(60, 1, lambda _: 12.5)
    for attempt in range(tries):
        add(2, 0.1, lambda now: lowest + (0.8 if now > 0.3 else 0.0))
        if attempt + 1 < tries:
            add(15, 0.5, lambda _: failed_back)
    add(1200, 1, lambda now: 11.6 if any(at <= now < at + 3 for at in dips) else set_point)
    return times, volts


def examine(times, volts):
    return analyse(times, volts, TYPICAL_CAPACITY, volts_per_percent=0.0076)


def test_a_start_and_its_lowest_volts():
    log = examine(*drive(lowest=9.3))
    assert len(log.cranks) == 1
    assert log.cranks[0].at == pytest.approx(60, abs=1)
    assert log.cranks[0].before == pytest.approx(12.5, abs=0.02)
    assert log.cranks[0].lowest == pytest.approx(9.3, abs=0.03)
    assert log.cranks[0].started


def test_a_start_that_failed_and_one_that_did_not():
    # A weak battery comes back to 12.1 V only: less than it had before.
    log = examine(*drive(tries=2, lowest=8.2, failed_back=11.9))
    assert [one.started for one in log.cranks] == [True, True]
    assert len(log.cranks) == 2
    alone = drive(tries=2, lowest=8.2, failed_back=11.9)
    end = next(place for place, time in enumerate(alone[0]) if time > 75)
    only = examine(alone[0][:end], alone[1][:end])
    assert [one.started for one in only.cranks] == [False]


def test_charging_set_point_and_its_sag():
    times, volts = drive(set_point=14.3)
    late = [
        level - (0.8 if time > 700 else 0) if time > 62 else level
        for time, level in zip(times, volts, strict=True)
    ]
    held, sagged = examine(times, volts).charging, examine(times, late).charging
    assert held[0].setPoint == pytest.approx(14.3, abs=0.01)
    assert held[0].setPoint - held[0].low < 0.05
    assert sagged[0].low == pytest.approx(13.5, abs=0.05)
    assert held[0].dips == 0
    assert held[0].lowestDip is None


def test_dips_while_driving():
    log = examine(*drive(dips=(300, 600, 900)))
    assert len(log.charging) == 1
    assert log.charging[0].dips == 3
    assert log.charging[0].lowestDip == pytest.approx(11.6, abs=0.03)
    assert len(log.cranks) == 1


def test_a_gap_ends_a_stretch():
    times, volts = parked(random.Random(3), hours=4, draw=0.05)
    later = [time + 7200 if time > 7200 else time for time in times]
    log = examine(later, volts)
    assert log.gaps == 1
    assert len(log.rests) == 2


def test_rows_out_of_order_are_counted_and_put_right():
    times, volts = drive()
    mixed = list(zip(times, volts, strict=True))
    mixed[10], mixed[40] = mixed[40], mixed[10]
    log = examine(*zip(*mixed, strict=True))
    plain = examine(times, volts)
    assert log.outOfOrder > 0
    assert log.cranks == plain.cranks
    assert log.charging == plain.charging


def test_too_few_rows_are_refused():
    with pytest.raises(ModuleFailedError, match="two rows"):
        examine([0.0], [12.5])
    with pytest.raises(ModuleFailedError, match="two rows"):
        examine([0.0, 1.0], [12.5])


def test_a_constant_log_allows_no_draw_but_what_temperature_hides():
    times = [float(60 * row) for row in range(60 * 48)]
    log = examine(times, [12.5] * len(times))
    assert log.rests[0].volts == 12.5
    assert log.rests[0].draw.low == 0
    assert log.rests[0].draw.value == pytest.approx(0, abs=1e-9)
    assert 0 < log.rests[0].draw.high < 0.2


def test_all_rows_at_one_time():
    log = examine([5.0] * 50, [12.5] * 50)
    assert (log.duration, log.cranks, log.charging, log.rests) == (0, [], [], [])


def test_a_log_with_long_steps_says_so():
    times, volts = drive()
    log = examine(times[::10], volts[::10])
    assert log.coarse


# ---- The whole way from text.


def as_text(times, volts, *, header="time (s);battery (V)", comma=True):
    rows = [f"{time:.1f};{level:.3f}" for time, level in zip(times, volts, strict=True)]
    return "\n".join([header, *((one.replace(".", ",") if comma else one) for one in rows)])


def test_a_text_gives_findings_a_check_can_take():
    text = as_text(*drive())
    told = voltlog_document(text, {"temperature": {"value": 5, "unit": "degC"}})
    kinds = [one["kind"] for one in told["findings"]]
    assert kinds == ["crank", "charging"]
    crank, charging = told["findings"]
    assert crank["to_case"]["check"] == "measure-cranking-voltage"
    assert crank["to_case"]["conditions"] == {"temperature": {"value": 5, "unit": "degC"}}
    assert charging["to_case"]["check"] == "measure-charging-voltage"
    assert charging["to_case"]["value"] == pytest.approx(14.2, abs=0.01)
    assert told["rows"] == {"used": len(drive()[0]), "bad": 0, "reasons": [], "first_bad": []}


def test_a_night_is_offered_as_a_resting_reading_and_an_unclear_draw_is_not():
    text = as_text(*parked(random.Random(4), hours=10, draw=0.05))
    told = voltlog_document(text, {"battery-type": "flooded"})
    rest, draw = told["findings"]
    assert rest["to_case"]["conditions"] == {"battery-type": "flooded", "rest": "overnight"}
    assert draw["to_case"] is None
    assert "clamp meter" in draw["sentence"]
    clear = as_text(*parked(random.Random(5), hours=60, draw=0.5))
    offered = voltlog_document(clear, {})["findings"][1]["to_case"]
    assert offered["check"] == "measure-parasitic-draw"
    assert offered["value"] == pytest.approx(0.5, rel=0.5)


def test_bad_rows_are_counted_and_shown():
    lines = as_text(*drive(), comma=False).split("\n")
    lines[20:20] = ["abc;12.5", "21;", "22;nan", "23;99", "24;-3", "25;12;9", "26"]
    told = voltlog_document("\n".join(lines), {})
    counted = {one["why"]: one["count"] for one in told["rows"]["reasons"]}
    assert counted == {
        "no time that can be read": 1,
        "no number in the volts column": 2,
        "volts below 0 or above 20": 2,
        "too many cells": 1,
        "too few cells": 1,
    }
    assert told["rows"]["bad"] == 7
    assert "7 more rows could not be used" in told["summary"]
    assert len(told["rows"]["first_bad"]) == 7
    assert told["rows"]["used"] == len(drive()[0])


@pytest.mark.parametrize(
    "text",
    [
        "",
        "\x00\x01\x02" * 50,
        "hello",
        "time;volts",
        "time;volts\n1;12.5",
        "a;b\nx;y\nz;w",
        "time;volts\n" + "\n".join("1;" for _ in range(30)),
    ],
)
def test_a_text_that_is_no_log_is_refused_in_words(text):
    told = voltlog_document(text, {})
    assert told["findings"] == []
    assert told["refused"]["why"].endswith(".")
    assert told["refused"]["mend"].endswith(".")


def test_columns_are_chosen_by_the_reader():
    rows = ["n,upper,lower,t", *(f"{row},14.2,12.{row % 7},{row}" for row in range(900))]
    text = "\n".join(rows)
    by_name = voltlog_document(text, {"time": "T", "volts": "Lower"})
    by_number = voltlog_document(text, {"time": 4, "volts": "3"})
    assert by_name["columns"]["volts"]["name"] == "lower"
    assert by_name["log"] == by_number["log"]
    unknown = voltlog_document(text, {"volts": "middle"})
    assert unknown["refused"]["field"] == "volts"
    assert "lower" in unknown["refused"]["mend"]


def test_units_are_read_or_assumed_aloud():
    told = voltlog_document("t (ms),v (mV)\n0,12500\n1000,12510\n2000,12490\n", {})
    assert told["log"]["duration"] == pytest.approx(2)
    assert (told["columns"]["time"]["unit"], told["columns"]["volts"]["unit"]) == ("ms", "mV")
    bare = voltlog_document("t,v\n0,12500\n1000,12510\n2000,12490\n", {})
    assert "taken as mV" in " ".join(bare["assumptions"])
    assert "taken as s" in " ".join(bare["assumptions"])


@pytest.mark.parametrize(
    ("options", "field"),
    [
        ({"capacity": "big"}, "capacity"),
        ({"capacity": -60}, "capacity"),
        ({"capacity": "6000"}, "capacity"),
        ({"battery-type": "wet"}, "battery-type"),
    ],
)
def test_an_option_that_cannot_be_used_is_named(options, field):
    told = voltlog_document(as_text(*drive()), options)
    assert told["refused"]["field"] == field
    assert told["findings"] == []


def test_words_name_times_and_lengths():
    assert call(WORDS, "clock", 3725.4) == "1:02:05"
    assert call(WORDS, "length", 90) == "90\u00a0s"
    assert call(WORDS, "length", 1200) == "20\u00a0minutes"
    assert call(WORDS, "length", 36000) == "10.0\u00a0h"


def test_a_log_without_events_says_nothing_and_is_not_refused():
    told = voltlog_document("t (s),v (V)\n0,12.5\n1,12.5\n2,12.4\n", {})
    assert told["refused"] is None
    assert told["findings"] == []
    assert told["summary"].endswith(value("logs_voltlog_words.NOTHING_FOUND"))


def days_of_rest(form, *, backwards=False):
    """Write two nights of rest with three days between, falling 2 mV an hour while seen."""
    begin = datetime(2026, 3, 20, 20, tzinfo=UTC)
    rows = []
    for start, volts in ((begin, 12.60), (begin + timedelta(days=3), 12.45)):
        for n in range(12 * 60):
            at = start + timedelta(minutes=n)
            rows.append(f"{at.strftime(form)};{volts - 0.002 * n / 60:.4f}")
    return "time;battery (V)\n" + "\n".join(reversed(rows) if backwards else rows)


@pytest.mark.parametrize("backwards", [False, True])
@pytest.mark.parametrize(
    "form", ["%Y-%m-%d %H:%M:%S", "%d/%m/%Y %H:%M", "%m/%d/%Y %I:%M %p", "%Y-%m-%dT%H:%M:%S+01:00"]
)
def test_days_between_two_nights_are_a_gap_and_no_slope_is_fitted_across_it(form, backwards):
    told = voltlog_document(days_of_rest(form, backwards=backwards), {"battery-type": "flooded"})
    log = told["log"]
    assert log["duration"] == pytest.approx(3 * 86_400 + 12 * 3600, abs=120)
    assert log["gaps"] == 1
    assert "Gaps in time: 1" in told["summary"]
    assert ("were sorted" in told["summary"]) is backwards
    rests = [one for one in log["stretches"] if one["kind"] == "rest"]
    assert len(rests) == 2
    assert all(one["end"] - one["start"] <= 12 * 3600 for one in rests)


def test_dates_with_two_readings_are_asked_and_the_order_read_is_told():
    text = "time;volts (V)\n" + "\n".join(f"0{n}/04/2026 08:00;12.5" for n in range(1, 8))
    told = voltlog_document(text, {})
    assert told["refused"]["field"] == "time"
    assert "day or the month" in told["refused"]["why"]
    assert voltlog_document(text, {"dates": "day-first"})["refused"] is None
    clear = voltlog_document(text.replace("/04/", "/13/"), {})
    assert any("month first" in one for one in clear["assumptions"])
