"""Checks of the log reader and the trip analysis.

Sources: trip traces T1-T10 and warm-up traces W1-W6 were worked out by hand from the general
denominator of 13 CCR 1968.2(d)(4.3.2) (600 s, 300 s at 25 mph, 30 s idle, 20 degF, 8,000 ft; from
memory) and from the warm-up cycle of several vehicle makers' texts (rise 40 degF, 160 degF;
second-hand). Separators are checked against Python's own csv module.
"""

import csv
import io
import itertools
import random

import pytest

from build_tools.cli.log_documents import triplog_document
from build_tools.obd.drive_words import LOG_STATE_WORDS
from build_tools.obd.readiness_commands import readiness_tables
from tests.embedded import call, embedded, value
from tests.shipped import READINESS
from tests.sweeps import SWEEP

MONITORS = readiness_tables(READINESS)["monitors"]
EVERY = ["catalyst", "oxygen-sensor", "oxygen-sensor-heater", "evaporative-system", "secondary-air"]


def read_table(text):
    return call("logs/csv-reader", "readTable", text)


def read_trip(table, mapping=None, constants=None):
    return call("logs/triplog-columns", "readTrip", table, mapping or {}, constants or {})


def log(legs, *, ambient=14, pressure=100, coolant=None, extra="", step=1):
    """Write a log of (seconds, km/h) legs with the engine on, and one closing sample."""
    speeds = [speed for seconds, speed in legs for _ in range(0, seconds, step)]
    speeds.append(legs[-1][1])
    lines = [
        "Time (s),Engine RPM,Vehicle speed (km/h),Ambient (degC),Baro (kPa),Coolant (degC)" + extra
    ]
    for number, speed in enumerate(speeds):
        heat = 20 if coolant is None else coolant(number, len(speeds))
        air = "" if ambient is None else ambient
        lines.append(
            f"{number * step},{800 if speed == 0 else 2000},{speed},{air},{pressure},{heat}"
        )
    return "\n".join(lines) + "\n"


def report(text, incomplete=EVERY, **more):
    table = read_table(text)
    assert table.state == "ok"
    return call("logs/triplog", "analyseTrip", read_trip(table, **more), MONITORS, incomplete)


T1 = [(120, 0), (360, 60), (240, 30)]
# (name, legs, ambient, pressure, total, at speed, longest idle, strict, lenient)
TRACES = [
    ("T1", T1, 14, 100, 720, 360, 120, "met", "met"),
    ("T2", [(120, 0), (360, 60), (119, 30)], 14, 100, 599, 360, 120, "not-met", "not-met"),
    ("T3", [(120, 0), (299, 60), (300, 30)], 14, 100, 719, 299, 120, "not-met", "not-met"),
    ("T4", [(29, 0), (360, 60), (240, 30)], 14, 100, 629, 360, 29, "not-met", "not-met"),
    ("T5", [(30, 0), (150, 60), (270, 30), (150, 60)], 14, 100, 600, 300, 30, "met", "met"),
    ("T6", [(20, 0), (300, 60), (20, 0), (300, 30)], 14, 100, 640, 300, 20, "not-met", "not-met"),
    ("T7", [(120, 0), (360, 40), (240, 30)], 14, 100, 720, 0, 120, "not-met", "met"),
    ("T8", T1, -7, 100, 0, 0, 0, "not-met", "not-met"),
    ("T9", T1, -6, 100, 720, 360, 120, "met", "met"),
    ("T10", T1, 14, 74, 0, 0, 0, "not-met", "not-met"),
]


@pytest.mark.parametrize("trace", TRACES, ids=[trace[0] for trace in TRACES])
def test_analyse_trip_when_given_a_worked_trace_then_every_figure_holds(trace):
    _, legs, ambient, pressure, seconds, fast, idle, strict, lenient = trace
    told = report(log(legs, ambient=ambient, pressure=pressure))
    assert told.general["total"].low == told.general["total"].high == seconds
    assert told.general["strict"].low == fast
    assert told.general["idle"].low == idle
    assert (told.general_strict, told.general_lenient) == (strict, lenient)


WARM_UPS = [
    # (name, start, peak, spark strict, spark lenient, diesel)
    ("W1", 20, 90, "met", "met", "met"),
    ("W2", 60, 90, "met", "met", "met"),
    ("W3", 70, 92, "not-met", "not-met", "not-met"),
    ("W4", 20, 71, "not-met", "met", "met"),
    ("W5", 20, 65, "not-met", "not-met", "met"),
    ("W6", -10, 72, "met", "met", "met"),
]


@pytest.mark.parametrize("trace", WARM_UPS, ids=[trace[0] for trace in WARM_UPS])
def test_analyse_trip_when_given_a_warm_up_then_the_cycle_is_judged(trace):
    _, start, peak, strict, lenient, diesel = trace
    text = log(T1, coolant=lambda n, size: start + (peak - start) * n / (size - 1))
    told = report(text).warm_up
    assert (told["spark_strict"], told["spark_lenient"], told["diesel"]) == (
        strict,
        lenient,
        diesel,
    )


def test_analyse_trip_when_a_channel_is_missing_then_it_is_unknown_and_never_met():
    told = report(log(T1, ambient=None))
    assert told.general_strict == "unknown"
    assert told.general["total"].low == 0
    assert told.general["total"].high == 720
    # A trip too short stays not met whatever the air was.
    assert report(log([(60, 0), (60, 60)], ambient=None)).general_strict == "not-met"


def test_analyse_trip_when_the_driver_tells_the_air_then_it_counts():
    told = report(log(T1, ambient=None), constants={"ambient": 14})
    assert told.general_strict == "met"


def test_analyse_trip_when_the_log_has_a_gap_then_it_is_not_counted():
    lines = log(T1).splitlines()
    # Samples 200 to 210 are lost: a gap of 12 s while driving.
    told = report("\n".join(lines[:200] + lines[211:]))
    assert told.gap_seconds == 12
    assert told.general["total"].low == 720 - 12
    # A gap in the middle of an idle breaks it.
    told = report("\n".join(lines[:26] + lines[37:]))
    assert told.general["idle"].low < 120 - 12


def test_analyse_trip_when_samples_are_slow_then_values_are_held_for_five_seconds():
    assert report(log(T1, step=5)).general_strict == "met"
    assert report(log(T1, step=6)).general["total"].low == 0


def test_analyse_trip_when_the_clock_of_the_car_shows_a_late_start_then_it_is_possible_only():
    lines = log([(100, 0), (320, 60), (100, 30)]).splitlines()
    late = [lines[0] + ",Run time since engine start (s)"]
    late += [f"{line},{200 + number}" for number, line in enumerate(lines[1:])]
    told = report("\n".join(late))
    assert told.start.missed == 200
    assert told.general["total"].low == 520
    assert told.general["total"].verdict == "unknown"
    assert told.metrics["start-coolant"].low is None


@pytest.mark.parametrize(
    ("volts", "verdict", "low"),
    [
        (lambda _: 14.1, "none-seen", 0),
        (lambda n: 10.9 if 100 <= n < 160 else 14.1, "low-seen", 60),
        (lambda n: 9 if n < 5 else 14.1, "none-seen", 0),
        (lambda _: "", "unknown", 0),
    ],
)
def test_watch_voltage_when_it_dips_then_cranking_is_left_out(volts, verdict, low):
    lines = log(T1).splitlines()
    text = "\n".join(
        [
            lines[0] + ",Control module voltage (V)",
            *(f"{line},{volts(n)}" for n, line in enumerate(lines[1:])),
        ]
    )
    told = report(text).voltage
    assert (told.verdict, told.seconds_low) == (verdict, low)


def test_watch_voltage_when_the_engine_is_cranked_again_then_that_dip_is_left_out():
    lines = ["Time (s),RPM,Speed (km/h),Battery voltage (V)"]
    for n in range(100):
        cranking = 50 <= n < 53
        lines.append(f"{n},{200 if cranking else 800},0,{9.5 if cranking or n == 54 else 14.2}")
    told = report("\n".join(lines)).voltage
    assert told.verdict == "none-seen"
    assert told.lowest == 14.2


def test_analyse_trip_when_the_drive_held_what_monitors_need_then_it_says_which():
    warm = lambda n, _: min(90, 15 + n * 0.25)  # noqa: E731 - a plain ramp
    legs = (
        [(150, 0), (400, 80)] + [(2, speed) for speed in range(80, 10, -4)] + [(240, 30), (60, 0)]
    )
    told = {one.id: one for one in report(log(legs, coolant=warm)).monitors}
    assert told["catalyst"].chance == "could"
    assert told["oxygen-sensor"].chance == "could"
    assert told["oxygen-sensor-heater"].chance == "could"
    # No fuel level in this log: it stays unknown, and that is said.
    assert told["evaporative-system"].chance == "unknown"
    assert {one.metric for one in told["evaporative-system"].missing} == {"fuel-level"}


def test_analyse_trip_when_the_drive_was_short_then_it_says_what_was_missing():
    told = {one.id: one for one in report(log([(30, 0), (100, 70), (60, 30)])).monitors}
    assert told["catalyst"].chance == "could-not"
    assert {one.metric for one in told["catalyst"].missing} == {"peak-coolant", "longest-cruise"}
    cruise = next(one for one in told["catalyst"].missing if one.metric == "longest-cruise")
    assert (cruise.low, cruise.at_least, cruise.source) == (100, 300, "common-practice")


def test_analyse_trip_when_there_are_stretches_then_they_are_named():
    kinds = [
        (one.kind, one.start, one.end)
        for one in report(log(T1[:1] + [(100, 80)] + [(2, s) for s in range(76, 10, -4)])).stretches
    ]
    assert ("idle", 0, 120) in kinds
    assert ("cruise", 120, 226) in kinds  # then the speed falls by more than 12 km/h a minute
    assert any(kind == "coast-down" for kind, _, _ in kinds)


@pytest.mark.parametrize(
    ("text", "state"),
    [
        ("", "empty"),
        ("  \r\n\n ", "empty"),
        ("\x00\x01\x02PNG", "binary"),
        ("\x7fELF\x01\x02\x03\x04\x05\x06", "binary"),
        ("just words\nand more words here too\n", "no-rows"),
        ("word\nword\nword\n", "one-column"),
        ("Time,Speed\n", "no-rows"),
        ("12345", "one-column"),
    ],
)
def test_read_table_when_it_is_no_log_then_the_state_says_why(text, state):
    assert read_table(text).state == state


def test_read_table_when_the_text_is_too_long_then_it_is_not_looked_at():
    assert value('logs_csv_reader.readTable("x".repeat(64000001)).state') == "too-large"


SIGNS = [(one, two) for one in ",;\t|^~! " for two in ".," if one != two]


@pytest.mark.parametrize(("delimiter", "decimal"), SIGNS)
def test_read_table_when_separators_vary_then_numbers_are_the_same(delimiter, decimal):
    rows = [["Time", "Speed", "Volts"]] + [
        [f"{n}{decimal}5", f"{n * 7 % 90}", f"14{decimal}{n % 10}"] for n in range(30)
    ]
    text = "\r\n".join(delimiter.join(row) for row in rows)
    table = read_table(text)
    assert (table.delimiter, table.decimal) == (delimiter, decimal)
    assert call("logs/csv-values", "columnNumbers", table, 0)[0] == [n + 0.5 for n in range(30)]
    assert call("logs/csv-values", "columnNumbers", table, 2)[0] == [
        float(f"14.{n % 10}") for n in range(30)
    ]


def test_split_line_when_quoted_then_it_agrees_with_the_standard_csv_module():
    lines = [
        'a,"b,c",d',
        '"say ""so""",2,""',
        '"x", "y" ,z',
        "plain,,",
        '"a;b";c',
    ]
    for line in lines:
        expected = next(csv.reader(io.StringIO(line), skipinitialspace=True))
        assert call("logs/csv-lines", "splitLine", line, ",") == [cell.strip() for cell in expected]


def test_split_line_when_written_by_the_standard_csv_module_then_it_reads_back():
    rng = random.Random(3)
    rows = [
        ["".join(rng.choices('ab1.5-",;\t ', k=rng.randrange(7))) for _ in range(rng.randint(2, 5))]
        for _ in range(1_000)
    ]
    lines = []
    for cells in rows:
        out = io.StringIO()
        csv.writer(out, quoting=csv.QUOTE_ALL, lineterminator="").writerow(cells)
        lines.append(out.getvalue())
    body = 'return input.map((line) => lines.splitLine(line, ","));'
    split = embedded({"lines": "logs/csv-lines"}, body, lines)
    assert split == [[cell.strip() for cell in cells] for cells in rows]


def test_read_table_when_rows_are_bad_then_they_are_counted_with_reasons():
    table = read_table('Time,Speed\n0,1\n1\n2,3,4\n"3,4\n5,6\nTime,Speed\n7,8,\n')
    assert [row[0] for row in table.rows] == ["0", "5", "7"]
    assert table.bad == {
        "too-few-cells": 1,
        "too-many-cells": 1,
        "open-quote": 1,
        "header-again": 1,
    }
    assert [(one.line, one.reason) for one in table.first_bad if one.reason == "too-few-cells"] == [
        (3, "too-few-cells")
    ]


def test_read_table_when_lines_stand_above_the_table_then_they_are_stepped_over():
    table = read_table("My car log\nDate: today\n\nTime (s);Speed\ns;km/h\n0;5\n1;6\n")
    assert table.header == ["Time (s)", "Speed"]
    assert table.units_row == ["s", "km/h"]
    assert table.preamble == 2
    assert len(table.rows) == 2


def test_read_table_when_there_is_no_header_then_columns_are_numbered():
    table = read_table("0,10,800\n1,20,900\n")
    assert table.header == ["column 1", "column 2", "column 3"]
    assert len(table.rows) == 2


@pytest.mark.parametrize(
    ("header", "unit"),
    [
        ("Speed (km/h)", "km/h"),
        ("Speed [mph]", "mph"),
        ("Coolant temp (\u00b0C)", "degC"),
        ("Coolant temp (\u00b0F)", "degF"),
        ("coolant_degC", "degC"),
        ("Vehicle speed kmh", "km/h"),
        ("Voltage_V", None),
        ("Battery (V)", "V"),
        ("Time (ms)", "ms"),
        ("Bank 1 Sensor C", None),
        ("RPM", None),
        ("Baro (inHg)", "inHg"),
    ],
)
def test_unit_of_when_a_header_names_one_then_it_is_found(header, unit):
    assert call("logs/csv-values", "unitOf", header) == unit


@pytest.mark.parametrize(
    ("cell", "decimal", "value"),
    [
        ("1.5", ".", 1.5),
        ("1,5", ",", 1.5),
        ("-.5", ".", -0.5),
        ("1,234.5", ".", 1234.5),
        ("1.234,5", ",", 1234.5),
        ("1e3", ".", 1000),
        ("1_0", ".", None),
        ("nan", ".", None),
        ("inf", ".", None),
        ("0x10", ".", None),
        ("1e999", ".", None),
        ("\u0663", ".", None),
        ("12 V", ".", None),
    ],
)
def test_number_of_when_cells_vary_then_only_numbers_are_read(cell, decimal, value):
    assert call("logs/csv-values", "numberOf", cell, decimal) == value


@pytest.mark.parametrize(
    ("cell", "seconds"),
    [
        ("07:18:16.5", 26296.5),
        ("2026-11-25 07:18:16", 26296),
        ("2026-11-25T07:18:16.250Z", 26296.25),
        ("25.11.2026 07:18:16,5", 26296.5),
        ("12:00:00 AM", 0),
        ("1:00:00 PM", 46800),
        ("01:30.5", 90.5),
        ("7", None),
        ("later", None),
    ],
)
def test_clock_seconds_when_times_are_written_differently_then_they_are_read(cell, seconds):
    assert call("logs/csv-values", "clockSeconds", cell) == seconds


def test_column_times_when_midnight_passes_then_time_goes_on():
    table = read_table("Time,Speed\n23:59:58,1\n23:59:59,1\n00:00:00,1\n00:00:01,1\n")
    assert call("logs/csv-times", "readTimes", table, 0)["times"] == [86398, 86399, 86400, 86401]


def test_guess_mapping_when_headers_are_usual_then_roles_are_found():
    header = "Timestamp,Run time since engine start (s),Engine RPM (rpm),Engine speed target,Vehicle speed (mph),Engine coolant temperature (\u00b0F),Ambient air temperature (\u00b0F),Control module voltage (V),O2 sensor voltage (V),Fuel level (%),Barometric pressure (kPa)"
    table = read_table(
        f"{header}\n" + "\n".join(f"{n},{n},800,1,10,68,57,14.1,0.4,50,100" for n in range(3))
    )
    found = {
        role: one.column
        for role, one in call("logs/triplog-columns", "guessMapping", table).items()
    }
    assert found == {
        "time": 0,
        "run-time": 1,
        "rpm": 2,
        "speed": 4,
        "coolant": 5,
        "ambient": 6,
        "voltage": 7,
        "fuel": 9,
        "pressure": 10,
    }
    trip = read_trip(table)
    assert trip.channels["coolant"] == [20.0] * 3  # 68 degF
    assert trip.channels["speed"] == [16.09344] * 3  # 10 mph
    assert not trip.whole_speed


def test_read_trip_when_units_are_not_told_then_the_guess_is_said():
    text = "t,speed,rpm\n" + "\n".join(f"{n * 1000},{n},800" for n in range(5))
    trip = read_trip(read_table(text))
    assert trip.times == [0, 1, 2, 3, 4]
    assert set(trip.assumed) == {"time", "speed", "rpm"}
    # mph and km/h look alike: a speed without its unit is asked for and not read.
    assert trip.asked == ["speed"]
    assert "speed" not in trip.channels
    for header in ("speed (mph)", "speed (km/h)"):
        assert read_trip(read_table(text.replace("speed", header))).asked == []


def test_read_trip_when_a_temperature_has_no_unit_then_nothing_is_met_from_it():
    # 200 would be a hot engine in degF and a burst one in degC.
    lines = log(T1, coolant=lambda n, size: 68 + 132 * n / (size - 1)).splitlines()
    bare = [lines[0].replace(" (degC)", "").replace(" (km/h)", ""), *lines[1:]]
    told = report("\n".join(bare))
    assert told.asked == ["speed", "coolant", "ambient"]
    assert told.general_strict == told.warm_up["spark_strict"] == "unknown"
    # Told a wrong unit, what no engine reaches is refused.
    wrong = report("\n".join(lines))
    assert wrong.dropped["coolant-out-of-range"] > 0


# About 62 to 75 mph for 15 minutes, drifting slowly; and 42 to 59 mph up and down.
FAST = [(60, 0), *[(30, 100 + 20 * abs(n % 12 - 6) / 6) for n in range(30)], (60, 0)]
SAWTOOTH = [(60, 0), *[(5, 68 + 27 * abs(n % 8 - 4) / 4) for n in range(180)], (60, 0)]


@pytest.mark.parametrize(
    ("legs", "step", "chance"),
    [
        (FAST, 1, "could"),
        (SAWTOOTH, 1, "could-not"),
        ([(60, 0), (900, 110)], 1, "could"),
        ([(60, 0), (900, 55)], 1, "could-not"),
        ([(60, 0), (299, 80), (9, 40)], 1, "could-not"),
    ],
)
def test_analyse_trip_when_the_speed_is_steady_then_its_height_does_not_matter(legs, step, chance):
    text = log(legs, step=step, coolant=lambda n, size: 20 + 75 * min(1, 3 * n / size))
    monitors = {one.id: one for one in report(text, ["catalyst"]).monitors}
    assert monitors["catalyst"].chance == chance


def drawn_drive(seed):
    """Draw legs of any length and speed, so that none falls on the steps by design."""
    rng = random.Random(seed)
    return [(rng.randint(5, 240), rng.choice((0, 0, 30, 55, 70, 90, 110))) for _ in range(14)]


DRAWN = [drawn_drive(seed) for seed in range(4)]


@pytest.mark.parametrize("drive", [T1, FAST, SAWTOOTH, TRACES[2][1], TRACES[5][1], *DRAWN])
def test_analyse_trip_when_one_drive_is_logged_at_other_steps_then_verdicts_agree_or_are_unknown(
    drive,
):
    def at(step):
        text = log(drive, coolant=lambda n, size: 20 + 75 * min(1, 3 * n / size))
        head, *rows = text.splitlines()
        return report("\n".join([head, *rows[::step]]))

    finest = at(1)
    for step in (6, 10):
        told = at(step)
        assert "sparse" in told.notes
        pairs = [(told.general[name].verdict, one.verdict) for name, one in finest.general.items()]
        pairs += [(told.general_strict, finest.general_strict)]
        pairs += [
            (one.chance, two.chance)
            for one, two in zip(told.monitors, finest.monitors, strict=True)
        ]
        for coarse, fine in pairs:
            assert coarse in {fine, "unknown"}


def test_read_trip_when_the_newest_row_stands_first_then_it_is_turned_and_told():
    head, *rows = log(T1).splitlines()
    told = report("\n".join([head, *reversed(rows)]))
    assert "newest-first" in told.notes
    assert told.general_strict == "met"


@pytest.mark.parametrize(
    ("cells", "times"),
    [
        (["2026-03-28 23:00:00", "2026-03-31 23:00:00"], [82_800, 342_000]),
        (["2026-03-31 08:00", "2026-03-28 08:00"], [288_000, 28_800]),
        (["28/03/2026 08:00", "29/03/2026 09:00"], [28_800, 118_800]),
        (["3/28/2026 8:00 AM", "3/28/2026 8:00 PM"], [28_800, 72_000]),
        (["28.03.26 08:00:00,5", "28.03.26 08:00:01,5"], [28_800.5, 28_801.5]),
        (["2026-03-28T08:00:00+01:00", "2026-03-28T08:00:00Z"], [25_200, 28_800]),
        (["2026-03-28", "2026-03-30"], [0, 172_800]),
        (["11:59:00", "12:59:00", "1:59:00", "2:59:00"], [43_140, 46_740, 50_340, 53_940]),
        (["00:01:00", "23:59:00", "23:57:00"], [60, -60, -180]),
        (["5/3/2026 08:00", "5/3/2026 09:00"], [28_800, 32_400]),
        (["12:00:00 AM", "12:00:01 PM"], [0, 43_201]),
        (["2026-02-30 08:00", "2026-03-01 08:00"], [None, 28_800]),
    ],
)
def test_read_times_when_dates_are_written_then_they_count(cells, times):
    found = call(
        "logs/csv-times",
        "readTimes",
        {"header": ["t"], "rows": [[c] for c in cells], "decimal": "."},
        0,
    )
    if cells[0] == "11:59:00":  # a clock of twelve hours: only the steps are known
        assert found.twelve
        assert [b - a for a, b in itertools.pairwise(found.times)] == [3600] * 3
        return
    assert found.times == times
    assert not found.isAmbiguous


def test_read_times_when_the_date_stands_beside_the_clock_then_both_count():
    rows = [["28/03/2026", "08:00", "1"], ["31/03/2026", "08:00", "2"]]
    table = {"header": ["Date", "Time", "V"], "rows": rows, "decimal": "."}
    for column in (0, 1):
        assert call("logs/csv-times", "readTimes", table, column)["times"] == [28_800, 288_000]


def test_read_times_when_day_and_month_can_be_swapped_then_it_is_asked():
    table = {"header": ["t"], "rows": [["03/04/2026 08:00"], ["04/04/2026 08:00"]], "decimal": "."}
    found = call("logs/csv-times", "readTimes", table, 0)
    assert found.isAmbiguous
    assert found.times == [None, None]
    day = call("logs/csv-times", "readTimes", table, 0, "day-first")["times"]
    month = call("logs/csv-times", "readTimes", table, 0, "month-first")["times"]
    assert (day[1] - day[0], month[1] - month[0]) == (86_400, 31 * 86_400)
    text = "time,speed (km/h),rpm\n03/04/2026 08:00,1,800\n04/04/2026 08:00,1,800\n"
    assert read_trip(read_table(text)).state == "date-order"


HARD = {
    "blanks in a cell": lambda n: "a;b\n1;x" + " " * n + "x\n",
    "blanks in quotes": lambda n: 'a;b\n1;"x' + " " * n + 'x"\n',
    "brackets in a header": lambda n: "(" * n + ";b\n1;2\n",
    "slashes in a header": lambda n: "/" * n + "_;b\n1;2\n",
    "a header of one word": lambda n: "since " * (n // 6) + ";b\n1;2\n",
    "quotes": lambda n: "a;b\n" + '"' * n + ";1\n",
    "digits": lambda n: "a;b\n" + "1" * n + ";1\n",
    "columns": lambda n: "1;" * (n // 2) + "\n",
    "short lines": lambda n: "a;b\n" + "1;2\n" * (n // 4),
}


@pytest.mark.parametrize("kind", HARD)
def test_read_table_when_a_text_is_hard_then_the_work_grows_with_its_length(kind):
    def work(size):
        text = HARD[kind](size)
        body = """const times = [];
          for (let n = 0; n < 3; n += 1) {
            const start = Date.now();
            const table = csv.readTable(input);
            if (table.state === "ok") columns.readTrip(table, {}, {});
            times.push(Date.now() - start);
          }
          return Math.min(...times);"""
        modules = {"csv": "logs/csv-reader", "columns": "logs/triplog-columns"}
        return embedded(modules, body, text)

    # Sixteen times the text: a quadratic reader takes 256 times as long.
    assert work(320_000) < 100 * max(work(20_000), 2)


def test_nothing_is_read_without_a_unit_twice():
    text = "t,speed,rpm\n" + "\n".join(f"{n * 1000},{n},800" for n in range(5))
    trip = read_trip(read_table(text), {"speed": {"column": 1, "unit": "mph"}})
    assert trip.asked == []


def test_read_trip_when_a_mapping_is_given_then_it_replaces_the_guess():
    text = "a,b,c\n" + "\n".join(f"{n},{n * 10},800" for n in range(5))
    trip = read_trip(
        read_table(text),
        {
            "time": {"column": 0, "unit": "s"},
            "speed": {"column": 1, "unit": "mph"},
            "rpm": {"column": 2, "unit": None},
        },
    )
    assert trip.channels["speed"][1] == 16.09344
    assert read_trip(read_table(text)).state == "no-time"
    assert read_trip(read_table(text), {"time": {"column": 9, "unit": None}}).state == "no-time"


def test_read_trip_when_values_are_impossible_then_they_are_dropped_and_counted():
    trip = read_trip(
        read_table("Time (s),Speed (km/h),Coolant (degC)\n0,10,20\n1,9999,20\n0.5,10,20\n2,x,20\n")
    )
    assert trip.channels["speed"] == [10, None, None]
    assert trip.dropped == {"time-backwards": 1, "speed-unreadable": 1, "speed-out-of-range": 1}


READERS = {"csv": "logs/csv-reader", "columns": "logs/triplog-columns", "trip": "logs/triplog"}
LONG = """
let text = "Time (s),Speed (km/h),RPM,Coolant (degC),Ambient (degC),Baro (kPa),Battery (V),Fuel level (%)\\n";
for (let n = 0; n < 200000; n += 1) {
  const heat = 20 + Math.min(70, Math.floor(n / 100));
  text += `${(n / 10).toFixed(1)},${n % 120},${800 + (n % 3000)},${heat},14,100,14.1,50\\n`;
}
const table = csv.readTable(text);
const { state, duration } = trip.analyseTrip(columns.readTrip(table), input.monitors, input.every);
return [table.rows.length, state, duration];
"""


def test_read_table_when_the_log_is_long_then_it_is_read_whole():
    rows, state, duration = embedded(READERS, LONG, {"monitors": MONITORS, "every": EVERY})
    assert (rows, state) == (200_000, "ok")
    assert duration == pytest.approx(19_999.9)


CELLS = ["1", "2,5", "3.5", "", '"', '"a', "x", "\n", "12:00:01", "nan", "9" * 70]


def nasty(rng):
    """Draw a text that is no log, a broken one, or one without air temperature."""
    kind = rng.randrange(3)
    if kind == 0:
        size = rng.randrange(81)
        return "".join(
            chr(rng.choice((rng.randrange(127), rng.randrange(0xD800)))) for _ in range(size)
        )
    if kind == 1:
        return "\n".join(
            ",".join(rng.choices(CELLS, k=rng.randrange(6))) for _ in range(rng.randrange(9))
        )
    rows = [
        f"{rng.randint(-5, 50)};{rng.randint(0, 300)};{rng.randint(0, 3000)}"
        for _ in range(rng.randrange(21))
    ]
    return "\n".join(["time;speed;rpm", *rows])


SEEN = """
return input.texts.map((text) => {
  const table = csv.readTable(text);
  const told = table.state === "ok" ? trip.analyseTrip(columns.readTrip(table), input.monitors, input.every) : null;
  return { state: table.state, header: table.header.length, widths: table.rows.map((row) => row.length), told };
});
"""


@SWEEP
def test_read_table_when_10000_texts_are_fuzzed_then_nothing_unseen_is_met(share):
    rng = random.Random(7)
    texts = [nasty(rng) for _ in range(10_000 // share)]
    given = {"texts": texts, "monitors": MONITORS, "every": EVERY}
    for seen in embedded(READERS, SEEN, given):
        assert seen["state"] in {"ok", "empty", "binary", "too-large", "one-column", "no-rows"}
        assert set(seen["widths"]) <= {seen["header"]}
        if seen["state"] == "ok":
            told = seen["told"]
            # No log here holds air temperature, so nothing may be met that needs it.
            verdicts = {told["general_strict"], told["general_lenient"], told["evap_verdict"]}
            assert "met" not in verdicts
            assert all(one["chance"] != "could" for one in told["monitors"])


def test_find_delimiter_when_a_line_of_words_holds_commas_then_the_table_decides():
    lines = [
        "Log, made on a wet day, by me",
        "time;speed;volts",
        *(f"{n};{n};14" for n in range(9)),
    ]
    assert call("logs/csv-lines", "findDelimiter", lines) == ";"


def test_triplog_document_when_a_column_is_named_then_it_is_used_and_the_missing_is_told():
    told = triplog_document(
        READINESS,
        "clock;n;pace\n" + "\n".join(f"{n};900;{n % 50}" for n in range(60)),
        {
            "time": {"column": "clock", "unit": "s"},
            "rpm": {"column": 2},
            "coolant": {"column": "x"},
        },
        incomplete=["catalyst"],
    )
    assert told["state"] == "ok"
    assert told["mapping"]["rpm"] == {"column": 1, "unit": None}
    assert told["not_found"] == ["coolant"]
    assert [one["id"] for one in told["monitors"]] == ["catalyst"]
    assert triplog_document(READINESS, "\x00")["says"] == LOG_STATE_WORDS["binary"]
