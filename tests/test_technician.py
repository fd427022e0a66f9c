"""What an experienced electrical technician would strike out stays mended: one row each.

A row is named by its item: `1.2` is item 2 of the wrong or misleading statements, `2.4` clause 4
of the safety of steps. Texts are looked up in the files themselves; what a limit is held against
stands beside it. `SHOWN` names the tests elsewhere that hold the rest.
"""

import ast
import re
from dataclasses import replace
from datetime import date
from functools import cache

import pytest

from build_tools.engine.cases import read_case
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.triage import triage
from build_tools.knowledge.entries import Step
from build_tools.knowledge.folders import PROJECT
from build_tools.lint.prose import prose_of
from build_tools.lint.registry import find_rule
from build_tools.lint.rule import Judged
from tests.shipped import CATALOGUE, PROBLEMS

NETWORK = network_from_catalogue(CATALOGUE)
CHECKS = CATALOGUE.checks
JUDGED = Judged(CATALOGUE, PROBLEMS, date(2026, 11, 30))

GAUGES = "tests/reasoning/test_gauges.py"
TABLES = "tests/reasoning/test_sums_tables.py"
SEEDED = "tests/test_seeded_mistakes.py"
DANGERS = "tests/lint/test_dangers.py"
SHOWN = {
    "1.2 loads hide no overcharge": (GAUGES, "test_overcharge_is_told_with_loads_on_as_without"),
    "1.3 a charger's voltage is clamped": (
        TABLES,
        "test_the_charger_is_never_sent_past_the_line_where_charging_is_too_high",
    ),
    "1.3 no charging above 45 degC": (TABLES, "test_a_battery_above_45_degc_gets_no_charging_voltage"),
    "1.7 a coarse meter is refused": (GAUGES, "test_a_meter_that_starts_at_200_v_ac_cannot_judge_ripple"),
    "1.10 enhanced flooded rests higher": (GAUGES, "test_enhanced_flooded_is_full_higher"),
    "1.13 a mild morning is fair": (TABLES, "test_a_mild_morning_is_no_cold_one"),
    "2.1 to 2.8 a step without its caution": (SEEDED, "test_missing_caution_at_the_step"),
    "2.11 charging checks": (SEEDED, "test_charging_checks_carry_every_caution"),
    "2 dangerous sentences": (DANGERS, "test_what_would_hurt_is_found_wherever_it_stands"),
}  # fmt: skip


@pytest.mark.parametrize("item", SHOWN)
def test_what_is_shown_elsewhere_is_there(item):
    file, name = SHOWN[item]
    tree = ast.parse((PROJECT / file).read_text("utf-8"))
    assert name in [one.name for one in tree.body if isinstance(one, ast.FunctionDef)]


@cache
def prose():
    """Return every sentence a reader may meet, with its entry and place."""
    return [
        (kind, key, path, text)
        for (kind, key), document in CATALOGUE.documents.items()
        if kind not in {"case", "vocabulary", "source"}
        for path, text in prose_of(kind, document, beside=True)
    ]


def text_of(kind, key):
    """Return all prose of one entry in one line."""
    found = " ".join(text for *where, _, text in prose() if where == [kind, key])
    return re.sub(r"\s+", " ", found)


def place(check, pattern, *, last=False):
    """Return the number of the first or last step that fits."""
    found = [
        number for number, step in enumerate(CHECKS[check].steps) if re.search(pattern, step.do)
    ]
    assert found, f"no step of {check} fits {pattern}"
    return found[-1 if last else 0]


def advice(**case):
    given, problems = read_case(case, CATALOGUE)
    assert problems == ()
    return triage(CATALOGUE, NETWORK, given)


# ---- What must stand in an entry, and what must stand nowhere.

SAYS = {
    "1.1 a stalled starter draws the most: drop": (
        ("gauge", "cable-drop-positive"),
        r"clicks and stalls draws the most",
    ),
    "1.1 a stalled starter draws the most: ground": (
        ("gauge", "cable-drop-ground"),
        r"starter turns, or clicks and stalls\. A silent starter shows nothing",
    ),
    "1.1 only silence means no current": (("gauge", "cranking-voltage"), r"Only a silent one draws nothing"),
    "1.1 posts near 8 V": (
        ("check", "measure-posts-with-key-held"),
        r"the battery, a broken post, or a starter or engine that is stuck.*to about 8 V",
    ),
    "1.1 posts near 12.4 V": (
        ("check", "measure-cranking-voltage"),
        r"posts stay near 12\.4 V.*cables, the solenoid and the start signal",
    ),
    "1.6 a load tester on a running engine is for the shop": (
        ("check", "measure-charging-voltage-loaded"),
        r"\(common practice\).*Don't read amps.*gets hot and its clips spark.*to the shop",
    ),
    # Ripple trade pages: 0.1 V at the posts, 0.5 V at the alternator's stud and 3000 rpm.
    "1.7 half a volt is for the stud": (
        ("check", "measure-ac-ripple"),
        r"0\.5 V limit is for the alternator's stud at 3000 rpm, not for the posts",
    ),
    "1.7 the range of a cheap meter is asked for": (("check", "measure-ac-ripple"), r"If that range is 200 V, stop"),
    # Primer on lead-acid batteries (US DOE, 1995): strength and charge do not give capacity.
    "1.8 a load test proves no capacity": (
        ("check", "load-test-battery"),
        r"One passed test doesn't show how much capacity",
    ),
    "1.8 a conductance test proves no capacity": (
        ("check", "ask-for-battery-test"),
        r"One passed test doesn't show how much capacity",
    ),
    "1.9 a filament light, not the headlights": (
        ("check", "watch-lights-while-cranking"),
        r"filament bulb.*LED.*about 9 V.*Ignore the headlights",
    ),
    # Battery maker's charging guide: 2.12 to 2.13 V a cell, so 12.7 V or more.
    "1.10 12.6 V is not full for every type": (
        ("check", "measure-resting-voltage"),
        r"Enhanced flooded and calcium types rest higher, at 12\.7 V or more",
    ),
    # The codes' own names: system voltage low, generator field control circuit (from memory).
    "1.11 P0562 and P0622": (
        ("check", "read-and-write-down-codes"),
        r"P0562 or U0100 often follow low voltage\. P0622 does not.*field circuit",
    ),
    "1.12 a dark lamp is a fault of its own circuit": (
        ("check", "watch-charging-lamp-at-key-on"),
        r"light's own circuit is broken.*Never comes on",
    ),
    "1.14 the starter's proof is a shop's": (
        ("cause", "starter-worn"),
        r"live without a fuse.*a shop measures it.*never get under",
    ),
    # TM 5-3805-260-24: never disconnect the battery while the engine runs.
    "2.2 no battery cable is moved while it runs": (
        ("check", "wiggle-harness-and-grounds"),
        r"engine off, move each battery cable.*leave every battery cable, clamp and ground",
    ),
    "2.5 no reconditioning in the car": (
        ("check", "charge-battery-fully"),
        r"Don't use recondition, equalize, boost or 16 V modes",
    ),
    "2.5 the vent of a trunk or cabin battery": (
        ("check", "charge-battery-fully"),
        r"vent tube, make sure it is plugged in and leads outside",
    ),
    "2.8 a hot relay": (("check", "swap-starter-relay"), r"If it is hot, pull it with a glove"),
    "2.10 how 48 V is recognized": (
        ("check", "wiggle-harness-and-grounds"),
        r"orange cables and anything marked 48 V.*blue or yellow",
    ),
}  # fmt: skip


@pytest.mark.parametrize("item", SAYS)
def test_says(item):
    entry, pattern = SAYS[item]
    assert re.search(pattern, text_of(*entry), re.IGNORECASE)


SAYS_NOWHERE = {
    "1.1 that a drop without cranking says nothing": r"without cranking\b.*\bsays nothing",
    "1.6 a figure for the tester on a running engine": r"on the order of 100 A",
    "1.8 that a new battery would not cure it": r"new battery (?:would|will)(?:n't| not) "
    r"(?:cure|help|fix)",
    "1.9 headlights watched while cranking": r"\bwatch the headl(?:ights|amps)",
    "1.14 under a car": r"(?<!never )(?<!not )\b(?:crawl|get|go|work) under (?:the|a) car",
    # TM 5-4210-230-14&P-1 and a maker's notice: a frozen battery is thawed and inspected by a shop.
    "2.9 a frozen battery thawed by its owner": r"\b(?:thaw|warm) (?:the|your) battery\b"
    r"(?! first, or charge)",
}


@pytest.mark.parametrize("item", SAYS_NOWHERE)
def test_says_nowhere(item):
    pattern = re.compile(SAYS_NOWHERE[item], re.IGNORECASE)
    assert [(key, path) for _, key, path, text in prose() if pattern.search(text)] == []


def test_1_5_a_window_motor_condemns_no_battery():
    told = [text for *_, text in prose() if "10.6 V" in text]
    assert told
    for text in told:
        assert "(common practice)" in text
        assert re.search(r"not\s+proof: charge it fully, then load-test", text)


# ---- The order of steps.

IN_ORDER = {
    "1.12 the lamp before the engine starts": (
        "measure-charging-voltage",
        r"red battery light must come on",
        r"start the engine",
    ),
    "1.14 reach before the first probe": ("measure-drop-positive-cranking", r"can't reach it.*wheels", r"black probe"),
    "2.1 the clamp comes off after the bridge is on": (
        "measure-parasitic-draw",
        r"Clip a thick wire",
        r"Loosen the negative clamp and lift it off",
    ),
    "2.1 the red lead goes back at the end": (
        "measure-parasitic-draw",
        r"read within ten seconds",
        r"red lead back in the V socket right away",
    ),
    "2.3 the helper is off before a clip moves": (
        "move-jump-clips",
        r"helper switch their engine off",
        r"Take the black clip off your car first",
    ),
    "2.3 black off before red is moved": (
        "move-jump-clips",
        r"Take the black clip off",
        r"each red clip on bright metal",
    ),
    "2.7 blower and defroster before the clips": (
        "try-jump-start",
        r"blower and the rear defroster",
        r"Take the clips off",
    ),
    "2.7 blower and defroster at a pack of clips moved": (
        "move-jump-clips",
        r"switch on the blower and the rear defroster",
        r"Take the clips off in\s+reverse",
    ),
    "2.6 the pack is looked at before it is clipped": (
        "try-jump-pack",
        r"Look at the pack.*not swollen.*12 V",
        r"Clip red",
    ),
    "2.8 a harmless twin before a swap": (
        "swap-starter-relay",
        r"harmless circuit.*If there is none, stop",
        r"Swap the two relays",
    ),
    "2.9 the look before the charge": ("charge-battery-fully", r"not frozen", r"Clip red"),
    "2.9 the look before the load": ("load-test-battery", r"not frozen", r"Turn the load up"),
}  # fmt: skip


@pytest.mark.parametrize("item", IN_ORDER)
def test_in_order(item):
    check, first, then = IN_ORDER[item]
    assert place(check, first) <= place(check, then, last=True)
    assert place(check, first) == min(place(check, first), place(check, then))


LOCKING = [
    name
    for name, check in CHECKS.items()
    if any(re.search(r"lock the car", one.do) for one in check.steps)
    and any(re.search(r"[Oo]pen (?:the )?hood", one.do) for one in check.steps)
]


@pytest.mark.parametrize("check", LOCKING)
def test_1_4_and_2_1_a_locked_car_with_its_hood_up_believes_it_shut(check):
    assert place(check, r"close its latch") <= place(check, r"[Ll]ock the car")
    assert place(check, r"[Pp]ull the hood release") == len(CHECKS[check].steps) - 1
    assert re.search(r"key\b.*\baway", " ".join(one.do for one in CHECKS[check].steps))
    assert re.search(
        r"Don't lock (?:it|the key) in", " ".join(one.do for one in CHECKS[check].steps)
    )


def test_1_4_some_checks_lock_the_car_with_its_hood_up():
    assert len(LOCKING) >= 3


# ---- Rules that every check keeps.

STARTS = re.compile(r"\b(?:crank for|hold the key at start|key to start|[Tt]ry to start)\b")
STARTING = [
    name for name, check in CHECKS.items() if any(STARTS.search(one.do) for one in check.steps)
]


@pytest.mark.parametrize("check", STARTING)
def test_2_4_a_start_is_let_go_and_held_outside(check):
    entry = CHECKS[check]
    assert {"exhaust-gas", "crank-roll"} <= set(entry.cautions)


CRANKING = [
    name
    for name, check in CHECKS.items()
    if any(re.search(r"\b(?:crank for|hold the key at start)\b", one.do) for one in check.steps)
]


@pytest.mark.parametrize("check", CRANKING)
def test_2_4_a_helper_lets_go_when_it_fires(check):
    steps = " ".join(one.do for one in CHECKS[check].steps)
    assert re.search(r"let go", steps)


@pytest.mark.parametrize("check", ["measure-cranking-voltage", "measure-drop-positive-cranking"])
def test_2_4_the_meter_keeps_the_value(check):
    place(check, r"MIN/MAX")


WAITS = re.compile(
    r"\b(?:overnight|(?:one|two|an|several|up to an|three|four|eight) hours?|half an hour"
    r"|(?:one|two) days?)\b",
    re.IGNORECASE,
)
# Half an hour of driving, watched by the driver, is the owner's own time.
DRIVEN = {"drive-for-stop-start"}


def test_1_13_hours_of_waiting_are_no_minutes_of_the_owner():
    waiting = [
        name
        for name, check in CHECKS.items()
        if any(WAITS.search(one.do) for one in check.steps) and name not in DRIVEN
    ]
    assert len(waiting) > 10
    assert [name for name in waiting if not CHECKS[name].effort.wait_hours] == []


def test_1_14_whoever_reaches_for_the_starter_is_warned_first():
    near = [
        name
        for name, check in CHECKS.items()
        if any(
            re.search(r"\bstarter's?\b.*\b(?:stud|terminal)|see the starter", one.do)
            for one in check.steps
        )
    ]
    assert len(near) >= 2
    for name in near:
        first = CHECKS[name].steps[0]
        assert first.caution == "live-stud"
        assert re.search(r"wheels", first.do)


def test_1_14_nobody_but_a_shop_proves_a_worn_starter():
    worn = CATALOGUE.causes["starter-worn"]
    assert worn.confirmed_by == ()
    assert worn.repair.who == "workshop"


def test_1_2_the_same_stop_line_with_loads_on():
    for name in ("measure-charging-voltage", "measure-charging-voltage-loaded"):
        (level,) = [one for one in CHECKS[name].levels if "too-high" in one.bands]
        assert level.stop_now == ("overcharging",)


# ---- What the advice does.


@pytest.mark.parametrize(
    ("symptom", "possible"), [("single-click-no-crank", True), ("silent-no-crank-lights-on", False)]
)
@pytest.mark.parametrize("check", ["measure-drop-positive-cranking", "measure-posts-with-key-held"])
def test_1_1_a_click_can_be_measured_and_silence_cannot(symptom, possible, check):
    taken = CATALOGUE.symptoms[symptom].takes_away
    assert set(CHECKS[check].requires).isdisjoint(taken) is possible


# Issue text and trade practice: near 8 V battery, contact or seized; near 12.4 V cable, solenoid
# or signal.
@pytest.mark.parametrize(
    ("level", "groups"), [("falls", {"battery", "starter"}), ("stays", {"starter", "connection"})]
)
def test_1_1_the_posts_tell_the_side(level, groups):
    found = advice(
        symptoms=["single-click-no-crank"], outcomes={"measure-posts-with-key-held": level}
    )
    assert {one.group for one in found.causes[:3]} <= groups
    assert (found.causes[0].group == "battery") is (level == "falls")


def test_1_12_a_lamp_that_stays_dark_names_its_circuit():
    found = advice(
        symptoms=["flat-overnight"], outcomes={"watch-charging-lamp-at-key-on": "stays-dark"}
    )
    before = advice(symptoms=["flat-overnight"])
    circuit = "charging-lamp-circuit-open"
    assert found.causes[0].id == circuit
    assert circuit not in [one.id for one in before.causes[:5]]


HYBRID = {"electrical-system": "high-voltage"}


@pytest.mark.parametrize("context", [{}, HYBRID])
@pytest.mark.parametrize("beside", [[], ["hybrid-12v-battery-weak"], ["many-lamps-at-once"]])
def test_2_10_a_high_voltage_warning_offers_nothing_at_the_car(context, beside):
    found = advice(symptoms=["high-voltage-warning", *beside], context=context)
    assert "high-voltage-fault" in [one["id"] for one in found.stop_now]
    assert [one.check for one in found.next if not CHECKS[one.check].away] == []
    assert found.repair is None or found.repair.who == "workshop"


# TM 5-4210-230-14&P-1: a flat battery freezes at 15 degF, which is -9 degC.
@pytest.mark.parametrize("celsius", [-20, -10])
def test_2_9_a_flat_battery_in_frost_is_left_alone(celsius):
    found = advice(
        symptoms=["clicks-or-nothing-lights-stay-on"],
        readings={
            "measure-resting-voltage": {
                "value": 11.5,
                "unit": "V",
                "temperature": {"value": celsius, "unit": "degC"},
                "rest": "overnight",
                "meter": "good",
            }
        },
    )
    assert "battery-may-be-frozen" in [one["id"] for one in found.stop_now]
    touching = {"battery-charged", "battery-jumped", "battery-loaded"}
    assert [one.check for one in found.next if touching & set(CHECKS[one.check].requires)] == []


# ---- Steps as somebody might add them, each without the caution of that very step.

ADDED = {
    "2.1 amps socket": ("Move the red plug to the 10 A socket.", "meter-on-amps"),
    "2.1 in series": ("Put the meter in series at the negative post.", "meter-on-amps"),
    "2.1 clamp off": ("Loosen the negative clamp and lift it off.", "short-circuit"),
    "2.2 straps": ("Shake each ground strap a little.", "voltage-spike"),
    "2.2 cable while it runs": ("While it idles, bend the battery cable.", "voltage-spike"),
    "2.3 live clip": ("Move the jump clips to a cleaner spot.", "leads-off"),
    "2.3 cables": ("Lay the jumper cables between the cars.", "jump-order"),
    "2.4 crank": ("Crank the engine until the needle settles.", "crank-roll"),
    "2.4 key at start": ("Keep the key at start and count to three.", "crank-roll"),
    "2.5 recondition": ("Select recondition and wait for the green lamp.", "charger-mode"),
    "2.5 charger": ("Plug in the battery charger for the night.", "hydrogen"),
    "2.6 pack": ("Connect the jump pack and press its button.", "starter-pack"),
    "2.7 clips off": ("Unhook the jumper cables once it runs.", "leads-off"),
    "2.8 relay": ("Exchange the horn relay and the pump relay.", "relay-twin"),
    "2.12 airbag plug": ("Look whether the airbag connector is pushed in.", "airbag"),
    "1.14 stud": ("Hold the red probe on the starter's stud.", "live-stud"),
}


@pytest.mark.parametrize("item", ADDED)
def test_a_step_that_names_it_asks_for_its_caution(item):
    sentence, hazard = ADDED[item]
    everything = tuple(CATALOGUE.vocabulary.hazards)
    bare = replace(
        CHECKS["look-at-drive-belt"], steps=(Step(do=sentence, caution=None),), cautions=everything
    )
    told = list(find_rule("SAF609").run(JUDGED, "check", bare))
    assert any(hazard in one.mend for one in told)
    warned = replace(bare, steps=(Step(do=sentence, caution=hazard),))
    assert not any(hazard in one.mend for one in find_rule("SAF609").run(JUDGED, "check", warned))


FORBIDDEN = {
    "2.10 orange": "Pull the orange connector and wait.",
    "2.10 48 V": "Unscrew the cable of the 48 V battery.",
    "2.9 warm a frozen one": "Thaw the battery beside the stove.",
    "2.12 meter on an airbag": "Measure the airbag plug with the meter.",
    "1.14 jack": "Jack up the front and slide underneath.",
}


@pytest.mark.parametrize("item", FORBIDDEN)
def test_an_act_no_caution_makes_fit_is_found(item):
    assert JUDGED.acts.told_in(FORBIDDEN[item], step=True)
