"""Which result confirms a cause: the levels named for it, alone or between them, and no other.

The dark lamps are what a practitioner saw advised wrongly; the 8 in 10 is the model's own.
"""

import pytest

from build_tools.engine.cases import read_case
from build_tools.engine.diagnosis import confirmation, diagnose
from build_tools.engine.from_catalogue import network_from_catalogue
from tests.shipped import CATALOGUE

NETWORK = network_from_catalogue(CATALOGUE)
RESTED = {"unit": "V", "battery-type": "flooded", "rest": "overnight", "temperature": 25}


def confirmed(cause, document):
    case, problems = read_case(document, CATALOGUE)
    assert problems == ()
    return confirmation(diagnose(CATALOGUE, NETWORK, case), CATALOGUE.causes[cause])


@pytest.mark.parametrize(
    ("check", "level", "cause", "confirms"),
    [
        ("watch-rear-lamps-with-pedal", "stay-on", "brake-switch-poor", True),
        ("watch-rear-lamps-with-pedal", "dark", "brake-switch-poor", False),
        ("watch-rear-lamps-with-pedal", "dark", "lamp-bulb-or-fuse-blown", True),
        ("code-names-the-gearbox", "names-a-solenoid", "gearbox-overheated", False),
        ("measure-charging-voltage", "low", "alternator-weak", True),
        ("measure-charging-voltage", "too-high", "alternator-weak", False),
        ("look-for-the-hot-spot", "melted-plastic", "brake-dragging", False),
        ("twist-battery-clamps", "loose", "battery-clamp-poor", True),
        ("look-at-battery", "damaged", "battery-case-damaged", True),
    ],
)
def test_only_the_levels_named_confirm(check, level, cause, confirms):
    found = confirmed(cause, {"outcomes": {check: level}})
    assert found == ((check, level) if confirms else None)


@pytest.mark.parametrize(("volts", "level"), [(12.15, "low"), (11.0, "flat")])
def test_a_reading_between_two_levels_named_confirms_by_both(volts, level):
    """Both levels of a battery run down count; near their edge neither has 8 in 10 alone."""
    case = {"readings": {"measure-resting-voltage": {**RESTED, "value": volts}}}
    assert confirmed("battery-run-down", case) == ("measure-resting-voltage", level)
    edge = {"readings": {"measure-resting-voltage": {**RESTED, "value": 12.06}}}
    case, _ = read_case(edge, CATALOGUE)
    diagnosis = diagnose(CATALOGUE, NETWORK, case)
    weights = diagnosis.findings.results["measure-resting-voltage"]
    assert max(weights) < 0.8 <= weights[-1] + weights[-2]
    assert confirmation(diagnosis, CATALOGUE.causes["battery-run-down"]) is not None
