"""Checks of what a readout holds beside its monitors.

Scales of test results are held against the general-purpose library `obd`, whose table follows SAE
J1979; so are the values of a freeze frame, which have the scales of service 01. The order of the
counts of past runs is from memory.
"""

import pytest
from obd import commands
from obd.protocols.protocol import Message
from obd.UnitsAndScaling import UAS_IDS

from tests.embedded import call, embedded

COUNTS = "00 50 01 00 00 20 00 40 00 00 00 00 00 30 00 50 00 00 00 00 00 10 00 40 00 00 00 00 00 03 00 3C"


def more(text):
    return call("obd/readout-more", "readMore", text)


def test_scaled_when_any_id_of_the_library_then_the_value_agrees():
    asked = [
        (key, raw) for key, uas in UAS_IDS.items() if hasattr(uas, "scale")
        for raw in (0, 1, 0x7FFF, 0x8000, 0xFFFF)
    ]  # fmt: skip
    found = embedded(
        {"scales": "obd/test-scales"},
        "return input.map(([id, raw]) => scales.scaled(id, raw));",
        asked,
    )
    assert len(asked) > 400
    for (key, raw), ours in zip(asked, found, strict=True):
        theirs = UAS_IDS[key](raw.to_bytes(2, "big")).magnitude
        assert ours["value"] == pytest.approx(theirs, rel=1e-12, abs=1e-12), hex(key)


def test_scaled_when_the_library_knows_no_scale_then_it_stays_raw():
    assert call("obd/test-scales", "scaled", 0x7F, 5) is None
    [test] = more("46 3C 81 7F 00 10 00 00 01 00").tests
    assert (test.unit, test.value, test.most) == (None, 16, 256)


@pytest.mark.parametrize(
    ("text", "passed"),
    [
        ("46 21 80 0B 00 50 00 00 01 00", True),
        ("46 21 80 0B 01 01 00 00 01 00", False),
        ("46 21 80 0B 00 00 00 00 00 00", None),  # not run since clearing, from memory
    ],
)
def test_tests_when_limits_are_told_then_the_result_is_inside_or_out(text, passed):
    [test] = more(text).tests
    assert (test.monitor, test.unit, test.passed) == ("catalyst", "V", passed)


@pytest.mark.parametrize(
    ("data", "name", "value"),
    [
        ("0C 00 1A F8", "engine-speed", 1726),
        ("05 00 7B", "coolant-temperature", 83),
        ("07 00 90", "long-fuel-trim-1", 12.5),
        ("0E 00 94", "timing-advance", 10),
        ("10 00 01 F4", "air-flow", 5),
    ],
)
def test_freeze_when_a_frame_is_told_then_each_value_has_its_scale(data, name, value):
    [frame] = more(f"42 02 00 04 56\n42 {data}").freeze
    assert frame.code == "P0456"
    assert [(one.name, one.value) for one in frame["values"]] == [(name, value)]
    pid, raw = int(data[:2], 16), bytes.fromhex(data[6:])
    message = Message([])
    message.data = bytes([0x41, pid]) + raw
    theirs = commands[1][pid].decode([message])
    assert theirs.magnitude == pytest.approx(value)


def test_freeze_when_a_value_has_no_scale_then_it_stands_raw():
    [frame] = more("42 02 00 04 20\n42 15 00 5A FF").freeze
    assert frame.raw == ["15 5A FF"]


def test_ratios_when_counted_then_runs_and_trips_stand_by_their_monitor():
    found = more(f"49 08 10 {COUNTS}")
    told = {(one.monitor, one.part): (one.runs, one.trips) for one in found.ratios}
    assert told["evaporative-system", ""] == (3, 60)
    assert told["catalyst", "bank 1"] == (32, 64)
    assert ("catalyst", "bank 2") not in told  # a part the car has not got counts nothing
    assert found.totals == [{"ecu": "", "trips": 80, "starts": 256}]


@pytest.mark.parametrize(
    "text", ["42", "46 01", "49 08", "42 02", "46 01 02 03", "49 08 FF 00", ""]
)
def test_read_more_when_cut_short_then_nothing_is_made_up(text):
    found = more(text)
    assert (found.freeze, found.tests, found.ratios, found.totals) == ([], [], [], [])
