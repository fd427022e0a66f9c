"""Checks of the drive plan: merging, order, and what comes first.

Source of the order and lengths: common practice, and Ontario's 2013 page "How to be Test-Ready"
(parked 8 hours, idle 2.5 minutes, 10 minutes of highway, 20 minutes of stop-and-go, tank between
a quarter and three quarters).
"""

import random
from itertools import combinations

import pytest

from build_tools.cli.log_documents import driveplan_document
from build_tools.obd.drive_words import CAUTION_WORDS, PLAN_NOTE_WORDS, SEGMENTS
from build_tools.obd.readiness_commands import readiness_tables
from tests.embedded import call, embedded
from tests.shipped import READINESS

TABLES = readiness_tables(READINESS)
MONITORS = TABLES["monitors"]
ORDER = [segment.id for segment in SEGMENTS]


def plan_facts_from(told):
    return call("logs/driveplan", "planFactsFrom", told)


def facts(supply, fuel_percent, ambient):
    return plan_facts_from({"supply": supply, "fuel_percent": fuel_percent, "ambient": ambient})


def plan_drives(names, monitors, told):
    return call("logs/driveplan", "planDrives", names, monitors, told, TABLES["segments"])


HALF = facts("sound", 50, 15)


def segments(plan, day=0):
    return [part.segment for part in plan.days[day].parts]


def test_plan_drives_when_all_spark_monitors_are_open_then_one_trip_serves_them():
    names = ["catalyst", "evaporative-system", "oxygen-sensor", "oxygen-sensor-heater", "egr-vvt"]
    plan = plan_drives(names, MONITORS, HALF)
    assert plan.state == "plan"
    assert len(plan.days) == 3  # two to three days, common practice
    assert segments(plan) == [
        "soak",
        "first-idle",
        "gentle",
        "steady",
        "coast-down",
        "stop-and-go",
        "park",
    ]
    serves = {part.segment: set(part.serves) for part in plan.days[0].parts}
    assert serves["steady"] == {"catalyst", "oxygen-sensor", "egr-vvt", "evaporative-system"}
    assert serves["soak"] == {"evaporative-system", "oxygen-sensor-heater"}
    assert plan.unserved == []


def test_plan_drives_when_a_monitor_waits_for_another_then_it_is_late():
    plan = plan_drives(["catalyst", "oxygen-sensor"], MONITORS, HALF)
    assert plan.days[0].late == []
    assert plan.days[1].late == ["catalyst"]
    assert "late-ones" in plan.notes
    assert plan_drives(["catalyst"], MONITORS, HALF).days[1].late == []


def test_plan_drives_when_only_the_catalyst_is_open_then_no_soak_is_asked():
    plan = plan_drives(["catalyst"], MONITORS, HALF)
    assert segments(plan) == ["first-idle", "gentle", "steady", "stop-and-go"]
    assert len(plan.days) == 2


def test_plan_drives_when_a_diesel_needs_long_heat_then_one_long_stretch_serves_all():
    plan = plan_drives(["nox-aftertreatment", "pm-filter", "exhaust-gas-sensor"], MONITORS, HALF)
    assert "long-steady" in segments(plan)
    assert "steady" not in segments(plan)
    part = next(part for part in plan.days[0].parts if part.segment == "long-steady")
    assert set(part.serves) == {"nox-aftertreatment", "pm-filter", "exhaust-gas-sensor"}
    assert part.minutes == 20


@pytest.mark.parametrize("supply", ["unproven", "doubtful"])
def test_plan_drives_when_the_supply_is_not_proven_then_loads_stay_off_and_it_says_why(supply):
    plan = plan_drives(["oxygen-sensor-heater"], MONITORS, facts(supply, 50, 15))
    idle = next(part for part in plan.days[0].parts if part.segment == "first-idle")
    assert idle.loads == "off"
    assert {"loads-off-first", "differs-from-official"} <= set(plan.notes)
    assert "Ontario" in PLAN_NOTE_WORDS["differs-from-official"]


def test_plan_drives_when_the_supply_is_failing_then_nobody_is_sent_driving():
    plan = plan_drives(["catalyst"], MONITORS, facts("failing", 50, 15))
    assert (plan.state, plan.first, plan.days) == ("hold", ["supply-failing"], [])


@pytest.mark.parametrize(
    ("told", "first"),
    [
        ({"fuel_percent": 10}, "fuel-to-half"),
        ({"fuel_percent": 90}, "fuel-to-half"),
        ({}, "fuel-unknown"),
        ({"fuel_percent": 50, "ambient": -10}, "too-cold"),
        ({"fuel_percent": 50, "pending_code": True}, "pending-code"),
    ],
)
def test_plan_drives_when_something_comes_first_then_it_is_named(told, first):
    plan = plan_drives(["evaporative-system"], MONITORS, plan_facts_from(told))
    assert plan.state == "settle-first"
    assert first in plan.first
    assert plan.days


def test_plan_drives_when_the_lamp_is_on_then_the_code_comes_first_and_nobody_drives():
    plan = plan_drives(["catalyst"], MONITORS, plan_facts_from({"lamp_on": True, "own": "a\nb"}))
    assert (plan.state, plan.first, plan.days) == ("hold", ["lamp-on"], [])


def test_plan_drives_when_the_handbook_has_its_own_then_that_wins():
    own = "Park overnight\n\n  Idle 5 minutes \nDrive 20 minutes at 50 mph"
    told = plan_facts_from({"own": own, "fuel_percent": 50})
    plan = plan_drives(["catalyst"], MONITORS, told)
    assert plan.state == "own"
    assert plan.own == ["Park overnight", "Idle 5 minutes", "Drive 20 minutes at 50 mph"]
    assert [day.parts for day in plan.days] == [[], []]
    # Its steps may ask for what ours ask for, so they carry the same cautions.
    dangers = ["outdoors", "idling-law", "lawful-speed", "nobody-behind"]
    assert plan.cautions == ["no-tool-while-driving", "do-not-clear", *dangers]


def test_words_when_driving_then_they_ask_for_nothing_unsafe():
    by_id = {segment.id: segment for segment in SEGMENTS}
    assert "45 to 60 mph" in by_id["steady"].do
    assert "30 and 40" in by_id["coast-down"].do
    assert "exit ramp" in by_id["coast-down"].do
    assert "nobody behind you" in CAUTION_WORDS["nobody-behind"]
    assert by_id["first-idle"].cautions == ("outdoors", "idling-law")
    assert "Read nothing while you drive" in CAUTION_WORDS["no-tool-while-driving"]


def test_plan_drives_when_it_is_hot_then_the_vapor_test_may_wait():
    hot = facts("sound", 50, 38)
    assert "too-hot-for-vapor" in plan_drives(["evaporative-system"], MONITORS, hot).notes
    assert "too-hot-for-vapor" not in plan_drives(["catalyst"], MONITORS, hot).notes


def test_plan_drives_when_nothing_is_open_then_there_is_nothing_to_do():
    assert plan_drives([], MONITORS, HALF).state == "nothing-to-do"
    assert plan_drives(["no-such"], MONITORS, HALF).state == "nothing-to-do"


def test_plan_drives_when_no_drive_is_known_then_it_says_so():
    plan = plan_drives(["gasoline-particulate-filter"], MONITORS, HALF)
    assert plan.unserved == ["gasoline-particulate-filter"]
    assert plan.days == []
    assert "no-part-known" in plan.notes


def test_plan_drives_when_any_pair_is_open_then_order_and_cautions_hold():
    for names in combinations(sorted(MONITORS), 2):
        plan = plan_drives(names, MONITORS, HALF)
        for day in plan.days:
            found = [part.segment for part in day.parts]
            assert found == sorted(found, key=ORDER.index)
            for part in day.parts:
                if part.segment in {"steady", "long-steady"}:
                    assert "lawful-speed" in part.cautions
                if part.segment == "first-idle":
                    assert "outdoors" in part.cautions
        assert "handbook-wins" in plan.cautions


def test_words_when_listed_then_they_are_plain_and_short():
    for segment in SEGMENTS:
        assert set(segment.cautions) <= set(CAUTION_WORDS)
        for text in (segment.do, segment.why):
            assert len(text.split()) <= 25
    for text in [*CAUTION_WORDS.values(), *PLAN_NOTE_WORDS.values()]:
        assert all(len(part.split()) <= 25 for part in text.split(". "))


def test_plan_drives_when_fuzzed_then_every_id_has_its_words():
    rng = random.Random(5)
    odd = [None, True, False, -1e300, -40, 0.5, 24.9, 50, 75.1, 1e300, "sound", "failing", "x"]
    fields = ["supply", "fuel_percent", "ambient", "lamp_on", "pending_code", "own", "wants"]
    given = [
        {
            "names": rng.choices([*sorted(MONITORS), "x"], k=rng.randrange(7)),
            "told": {name: rng.choice(odd) for name in rng.sample(fields, rng.randrange(8))},
        }
        for _ in range(1_000)
    ]
    body = """return input.given.map(({ names, told }) => plan.planDrives(
      names, input.monitors, plan.planFactsFrom(told), input.segments));"""
    more = {"monitors": MONITORS, "segments": TABLES["segments"]}
    plans = embedded({"plan": "logs/driveplan"}, body, {"given": given, **more})
    for one, plan in zip(given, plans, strict=True):
        assert set(plan["first"]) | set(plan["notes"]) <= set(PLAN_NOTE_WORDS)
        assert set(plan["cautions"]) <= set(CAUTION_WORDS)
        served = {name for day in plan["days"] for part in day["parts"] for name in part["serves"]}
        if plan["state"] in {"plan", "settle-first"}:
            assert served | set(plan["unserved"]) == set(one["names"]) & set(MONITORS)
    assert {"plan", "settle-first", "hold", "own", "nothing-to-do"} == {p["state"] for p in plans}


def test_driveplan_document_when_written_out_then_the_caution_stands_in_every_part_at_speed():
    told = driveplan_document(READINESS, ["catalyst"], {"supply": "sound", "fuel_percent": 50})
    steady = next(part for part in told["days"][0]["parts"] if part["segment"] == "steady")
    assert steady["cautions"][0]["says"] == CAUTION_WORDS["lawful-speed"]
    assert "lawful" in steady["do"]
    assert told["cautions"][0]["id"] == "handbook-wins"
