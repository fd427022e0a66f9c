"""What a stop line forbids is in no step, and in no sentence about what to do instead.

On the shipped knowledge; what is expected was judged by practitioners on cases of their own.
"""

from build_tools.engine.cases import CarCase, read_case
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.triage import triage
from tests.shipped import CATALOGUE

NETWORK = network_from_catalogue(CATALOGUE)
SMELL = "burning-smell-or-hot-cable"
LOOK = "look-for-the-hot-spot"


def advise(*symptoms, **told):
    return triage(CATALOGUE, NETWORK, CarCase(symptoms=symptoms, **told))


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


def test_a_burning_smell_lets_nobody_near_before_a_look_found_nothing_melting():
    assert [one.check for one in advise(SMELL).next] == [LOOK]
    assert len(advise(SMELL, outcomes={LOOK: "nothing-seen"}).next) > 1
    melted = advise(SMELL, outcomes={LOOK: "melted-plastic"})
    assert (melted.next, melted.instead) == ((), ("near",))
    assert advise(SMELL, tools=frozenset()).next == ()
