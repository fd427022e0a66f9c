"""What a stop line forbids is in no step, and in no sentence about what to do instead.

On the shipped knowledge; what is expected was judged by practitioners on cases of their own.
"""

import pytest

from build_tools.engine.cases import CarCase, read_case
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.triage import assess, triage
from tests.shipped import CATALOGUE

NETWORK = network_from_catalogue(CATALOGUE)
SMELL = "burning-smell-or-hot-cable"
LOOK = "look-for-the-hot-spot"


def advise(*symptoms, **told):
    return triage(CATALOGUE, NETWORK, CarCase(symptoms=symptoms, **told))


def triage_offers(symptom):
    case = CarCase(symptoms=(symptom,))
    return set(assess(CATALOGUE, NETWORK, case).planning.offers)


def test_far_too_many_volts_are_not_called_too_few_as_well():
    reading = {"value": 15.9, "unit": "V", "meter": "cheap"}
    document = {
        "symptoms": ["charging-voltage-too-high"],
        "readings": {"measure-charging-voltage": reading},
    }
    case, problems = read_case(document, CATALOGUE)
    assert not problems
    assert [one["id"] for one in triage(CATALOGUE, NETWORK, case).stop_now] == ["overcharging"]


def test_nobody_is_told_to_charge_a_battery_that_must_be_left_alone():
    advice = advise("battery-swollen-or-frozen", "totally-dead-and-stays-dead")
    assert advice.withheld
    assert "some-power" not in {one["ability"] for one in advice.withheld}


def test_a_line_that_says_no_more_than_another_gives_it_its_reasons():
    reading = {
        "value": 11.5,
        "unit": "V",
        "temperature": {"value": -20, "unit": "degC"},
        "rest": "overnight",
        "meter": "good",
    }
    document = {
        "symptoms": ["battery-swollen-or-frozen", "rapid-clicks-no-crank"],
        "readings": {"measure-resting-voltage": reading},
    }
    case, problems = read_case(document, CATALOGUE)
    assert not problems
    advice = triage(CATALOGUE, NETWORK, case)
    assert "battery-may-be-frozen" in [one.id for one in advice.findings.stop_now]
    [line] = advice.stop_now
    assert line["id"] == "battery-swollen-or-leaking"
    told = [each for one in advice.findings.stop_now for each in one.because]
    assert {one["kind"] for one in told} == {"symptom", "level"}
    assert all(line["because"].count(one) == 1 for one in told)


def test_a_battery_is_taken_to_the_store_only_by_a_car_that_can_go_there():
    offers = triage_offers("rapid-clicks-no-crank"), triage_offers("cranks-slowly-any-weather")
    assert ["ask-for-battery-test" in one for one in offers] == [False, True]


@pytest.mark.parametrize(
    ("tool", "step"), [("jump-pack", "try-jump-pack"), ("jump-leads", "try-jump-start")]
)
def test_what_is_at_hand_comes_before_a_charger_to_borrow(tool, step):
    reading = {"value": 11.5, "unit": "V", "rest": "overnight", "meter": "good"}
    document = {
        "symptoms": ["rapid-clicks-no-crank"],
        "readings": {"measure-resting-voltage": reading},
        "tools": ["multimeter", tool],
    }
    advice = triage(CATALOGUE, NETWORK, read_case(document, CATALOGUE)[0])
    assert (advice.repair, advice.next[0].check) == (None, step)
    with_charger = {**document, "tools": [*document["tools"], "battery-charger"]}
    advice = triage(CATALOGUE, NETWORK, read_case(with_charger, CATALOGUE)[0])
    assert advice.repair is not None
    assert advice.repair.cause == "battery-run-down"


def test_a_burning_smell_lets_nobody_near_before_a_look_found_nothing_melting():
    assert [one.check for one in advise(SMELL).next] == [LOOK]
    assert len(advise(SMELL, outcomes={LOOK: "nothing-seen"}).next) > 1
    melted = advise(SMELL, outcomes={LOOK: "melted-plastic"})
    assert (melted.next, melted.instead) == ((), ("near",))
    assert advise(SMELL, tools=frozenset()).next == ()
