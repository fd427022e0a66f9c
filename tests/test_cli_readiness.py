"""The readiness commands, as a reader would give them.

Verdicts: the worked cases of the places' own texts (Illinois 35 Ill. Adm. Code 276.209(c), Oregon
OAR 340-256-0355, Wisconsin Trans 131.03). Bytes: the open layout of PID 01, as decoded by the
general-purpose library `obd` in tests/reasoning/test_readout.py.
"""

import io
import json
import sys

import pytest

from build_tools.cli.main import main
from build_tools.cli.readiness_lines import go_lines
from build_tools.knowledge.sentences import say
from build_tools.obd.readiness_commands import eligibility_document
from build_tools.obd.readout import read_text
from tests.shipped import READINESS

FULL_TANK = "7E8 06 41 01 00 07 65 04\n7E8 03 41 30 1E\n7E8 04 41 31 03 20\n7E8 03 41 2F F2"


def answer(capsys, *words):
    code = main([*words, "--json"])
    told = capsys.readouterr()
    assert told.err == ""
    return code, json.loads(told.out)


@pytest.mark.parametrize(
    ("bytes_", "car", "more", "result"),
    [
        ("00 07 E5 24", "us-il 2000 gasoline", [], "pass"),
        ("00 07 E5 24", "us-il 2001 gasoline", [], "reject"),
        ("00 07 65 01", "us-il 2008 gasoline", ["--retest-code", "P0430"], "reject"),
        ("00 07 65 01", "us-il 2008 gasoline", ["--retest-code", "P0301"], "pass"),
        ("00 0F EB 08", "us-or 2008 diesel", [], "not-ready"),
        ("00 0F EB 08", "us-or 2009 diesel", [], "pass"),
        ("00 07 65 01", "us-wi 2010 gasoline", ["--repaired", "catalyst"], "reject"),
        ("00 07 65 05", "us-ga 2003 gasoline", [], "fail"),
        ("00 00 00 00", "us-il 2001 gasoline", [], "undetermined"),
    ],
)
def test_short_form_gives_the_verdict_of_the_worked_case(capsys, bytes_, car, more, result):
    rule, year, fuel = car.split()
    words = ["readiness", "--pid01", bytes_, "--rules", rule, "--year", year, "--fuel", fuel]
    _, told = answer(capsys, *words, *more)
    assert told["verdict"]["result"] == result
    assert told["verdict"]["because"]
    assert told["verdict"]["source_status"]


def test_short_form_uses_the_ids_of_the_monitors(capsys):
    code, told = answer(capsys, "readiness", "--pid01", "41 01 82 0F EB 43")
    assert (code, told["lamp_on"], told["codes_counted"]) == (0, True, 2)
    assert told["engine"] == "compression"
    # V15 of the fact sheet: bits 0, 1 and 6 of byte D are set.
    assert told["incomplete"] == ["nmhc-catalyst", "nox-aftertreatment", "pm-filter"]
    assert told["verdict"] is None
    _, spark = answer(capsys, "readiness", "--pid01", "00 07 65 04")
    assert spark["incomplete"] == ["evaporative-system"]
    # Old spellings are understood and never written.
    words = ["driveplan", "--incomplete", "evaporative"]
    _, plan = answer(capsys, *words)
    assert "evaporative-system" in json.dumps(plan)
    assert '"evaporative"' not in json.dumps(plan)


def test_readout_reads_text_files_and_ticked_boxes(capsys, tmp_path, monkeypatch):
    path = tmp_path / "readout.txt"
    path.write_text(FULL_TANK)
    ticks = {"ignition": "spark", "monitors": {"catalyst": "complete", "egr-vvt": "incomplete"}}
    assert answer(capsys, "readout", str(path))[1]["merged"]["incomplete"] == ["evaporative-system"]
    assert answer(capsys, "readout", json.dumps(ticks))[1]["merged"]["incomplete"] == ["egr-vvt"]
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(FULL_TANK.encode())))
    assert answer(capsys, "readout", "-")[1]["usable"]


@pytest.mark.parametrize(
    "text", ["00 00 00 00", "NO DATA", "", "{", "{}", '{"monitors": 3}', "\x00"]
)
def test_unusable_readout_ends_with_1(capsys, text):
    code, told = answer(capsys, "readout", text)
    assert code == 1
    assert not told["usable"]
    assert told["says"]


def test_may_it_go_says_the_rule_and_what_would_change(capsys):
    words = ["may-it-go", "41 01 00 07 65 04", "--place", "us-ca", "--year", "2005"]
    _, told = answer(capsys, *words, "--fuel", "gasoline")
    # California's rule of 1 October 2025 asks for all; the older limit let this one wait.
    assert told["result"] == "interim-pass"
    assert "fails-by-new-rule" in [flag["id"] for flag in told["flags"]]
    assert told["seen"]
    assert told["ask"]["questions"]


def printed(capsys, *words):
    """Run a command and return its lines."""
    assert main([*words]) in {0, 1}
    return no_empty_heading(capsys.readouterr().out.splitlines())


def no_empty_heading(lines):
    """Check that no heading stands without a line below it."""
    for place, line in enumerate(lines):
        if line.endswith(":"):
            assert lines[place + 1 : place + 2], line
            assert lines[place + 1][:2] in {"- ", "  ", "! "}, line
    return lines


OPEN = read_text("41 01 00 07 E5 25")


@pytest.mark.parametrize("place", sorted(READINESS.inspections))
def test_may_it_go_tells_limits_cost_getting_ready_and_ways_out_apart(place):
    rule = READINESS.inspections[place]
    found = eligibility_document(rule, READINESS, OPEN, {"year": 2012, "fuel": "gasoline"}, {})
    lines = no_empty_heading([*go_lines(rule, found)])
    for heading in ("the rule", "what not ready costs here", "how to get ready here"):
        assert f"{heading}:" in lines
    for name in ("costs", "get_ready", "ways_out"):
        gap = say("inspection-gap", gap=name)
        told = [one.says for one in getattr(rule, name)]
        # What no text says is asked for, and what one says is not.
        assert (f"- {gap}" in lines) is (not told)
        assert all(any(one in line for line in lines) for one in told)
    assert sum(line.startswith("what to ask (") for line in lines) == 1


def test_may_it_go_prints_the_verdict_first_and_the_rule_apart(capsys):
    place = ["--place", "us-ny", "--year", "2014", "--fuel", "gasoline", "--pounds", "4000"]
    lines = printed(capsys, "may-it-go", "41 01 00 07 E5 25", *place)
    assert lines[0] == "New York: Not ready by this rule yet."
    why, rule = lines.index("why:"), lines.index("the rule:")
    assert lines[why + 1].startswith("- Incomplete: 3. The rule allows 1.")
    assert any("2001 and newer" in line for line in lines[rule:])
    assert not any("2001 and newer" in line for line in lines[:rule])


def test_unknown_place_is_told_to_ask(capsys):
    assert main(["may-it-go", "41 01 00 07 65 04", "--place", "us-zz"]) == 2
    assert "ask the authority there" in capsys.readouterr().err


def test_full_tank_is_ranked_first_for_the_vapor_test(capsys):
    code, told = answer(capsys, "why", FULL_TANK)
    assert code == 0
    [monitor] = told["monitors"]
    assert monitor["blockers"][0]["cause"] == "fuel-level-out-of-range"


def test_driveplan_holds_with_a_failing_supply_and_plans_without(capsys):
    words = ["driveplan", "--incomplete", "catalyst,oxygen-sensor"]
    assert answer(capsys, *words, "--supply", "failing")[1]["state"] == "hold"
    _, told = answer(capsys, *words, "--fuel-percent", "50")
    assert told["days"]
    assert "handbook-wins" in [one["id"] for one in told["cautions"]]
    assert main(["driveplan", "--incomplete", "catalist"]) == 2
    assert "catalyst" in capsys.readouterr().err


def test_driveplan_takes_fuel_weather_and_codes_from_the_readout(capsys):
    text = "41 01 00 07 65 04\n7E8 03 41 2F E0\n7E8 03 41 46 10\n7E8 04 47 01 04 42"
    _, plan = answer(capsys, "driveplan", "--readout", text)
    first = [one["id"] for one in plan["first"]]
    assert first == ["pending-code", "fuel-to-half", "too-cold"]
    # What is told wins over the readout.
    words = ["driveplan", "--readout", text, "--fuel-percent", "50", "--ambient", "15"]
    _, plan = answer(capsys, *words)
    assert [one["id"] for one in plan["first"]] == ["pending-code"]


def test_driveplan_drives_what_the_manual_says_and_its_conditions_win(capsys, tmp_path):
    path = tmp_path / "own.txt"
    path.write_text("Tank between 30% and 85%\nHold 55 mph for 8 minutes\n")
    words = ["driveplan", "--incomplete", "catalyst", "--fuel-percent", "80", "--own", str(path)]
    _, plan = answer(capsys, *words)
    assert plan["state"] == "own"
    assert plan["first"] == []
    assert {"lawful-speed", "nobody-behind", "outdoors"} <= {one["id"] for one in plan["cautions"]}
    lines = printed(capsys, *words)
    assert lines[lines.index("the trip:") + 1] == "- Tank between 30% and 85%"
    # A manual that says nothing of fuel leaves our own look at the tank in place.
    path.write_text("Hold 55 mph for 8 minutes\n")
    assert [one["id"] for one in answer(capsys, *words)[1]["first"]] == ["fuel-to-half"]


@pytest.mark.parametrize(
    ("words", "wanted"),
    [
        (["why", "41 01 00 07 65 00"], "Nothing is incomplete, so nothing holds a monitor back."),
        (["why", FULL_TANK], "  check: Check the fuel level (2 min, costs nothing)"),
        (["driveplan", "--readout", "41 01 00 07 65 00"], "No counted monitor is incomplete"),
        (["driveplan", "--readout", "41 01 81 07 65 04"], "The check engine light is on."),
        (["driveplan", "--incomplete", "pm-filter"], "One trip, driven on 2 days."),
        (["readout", "41 01 81 07 65 04"], "lamp: on, codes counted: 1"),
        (
            ["readout", "7E8 06 41 01 00 07 65 04\n7E9 06 41 01 00 04 00 00"],
            "module 7E8 (00 07 65 04): incomplete: evaporative-system",
        ),
        (
            ["readout", "7E8 06 41 01 00 07 65 00\n7E8 04 4A 01 04 20"],
            "  it holds: catalyst. A permanent code goes away only after its monitor has run",
        ),
    ],
)
def test_commands_print_what_the_page_shows_and_no_empty_heading(capsys, words, wanted):
    assert any(line.startswith(wanted) for line in printed(capsys, *words))


def test_triplog_takes_columns_units_and_constants(capsys, tmp_path):
    rows = "\n".join(f"{s},900,{40 if s >= 60 else 0}" for s in range(700))
    path = tmp_path / "drive.csv"
    path.write_text(f"clock,revs,how fast\n{rows}\n")
    words = ["triplog", str(path), "--map", "time=clock:s", "--map", "rpm=2:rpm"]
    constants = ["--constant", "ambient=14", "--constant", "pressure=100"]
    code, told = answer(capsys, *words, "--map", "speed=how fast:mph", *constants)
    # 40 mph for 639 s, an idle of 60 s and 699 s in all: more than the 300, 30 and 600 asked.
    assert (code, told["general_strict"]) == (0, "met")
    code, told = answer(capsys, *words, "--map", "speed=nowhere", *constants)
    assert (code, told["not_found"]) == (1, ["speed"])
    assert main(["triplog", str(path), "--constant", "ambient=warm"]) == 2


def test_list_names_places_and_monitors(capsys):
    _, places = answer(capsys, "list", "inspections")
    assert {"us-il", "us-ca", "gb"} <= {one["id"] for one in places}
    _, monitors = answer(capsys, "list", "monitors")
    assert "evaporative-system" in {one["id"] for one in monitors}
