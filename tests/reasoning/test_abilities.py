"""No step is offered that the car cannot or must not take: over all symptoms and pairs.

What a step requires and what is taken away are read here from the files anew.
"""

import random
from itertools import combinations

import pytest

from build_tools.engine.cases import read_case
from build_tools.engine.findings import find
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.triage import triage
from tests.shipped import CATALOGUE

NETWORK = network_from_catalogue(CATALOGUE)
SINGLE = [(name,) for name in CATALOGUE.symptoms]
PAIRS = list(combinations(CATALOGUE.symptoms, 2))
DRAWN = random.Random(11).sample([*SINGLE, *PAIRS], 40)  # no sweep of an hour at each run


def unmet(names):
    """List (step, ability) of everything offered without what it requires."""
    case, problems = read_case({"symptoms": list(names)}, CATALOGUE)
    assert problems == ()
    try:
        advice = triage(CATALOGUE, NETWORK, case)
    except ValueError:
        return []
    symptoms = [CATALOGUE.symptoms[name] for name in names]
    gone = {one for symptom in symptoms for one in symptom.takes_away}
    shown = {one for symptom in symptoms for one in symptom.shows}
    lines = {line for symptom in symptoms for line in symptom.stop_now}
    taken = {one for line in lines for one in CATALOGUE.vocabulary.stop_lines[line].takes_away}
    words = CATALOGUE.vocabulary.abilities

    def there(one):
        lost = one in taken or (one in gone and not any(one in below(other) for other in shown))
        return not lost and all(there(other) for other in words[one].implies)

    def below(one):
        return {one}.union(*(below(other) for other in words[one].implies))

    checks = {one.check for one in advice.next} | {one.leads_to for one in advice.next}
    checks |= {one["until"].get("check") for one in advice.hold_off}
    wanted = [(name, CATALOGUE.checks[name].requires) for name in checks - {None}]
    wanted += [(name, ("near",)) for name in checks - {None} if not CATALOGUE.checks[name].away]
    if advice.repair is not None:
        repair = CATALOGUE.causes[advice.repair.cause].repair
        wanted.append((advice.repair.cause, ("near", *repair.requires)))
    return [(name, one) for name, ones in wanted for one in ones if not there(one)]


@pytest.mark.parametrize("names", DRAWN, ids=" ".join)
def test_no_step_without_what_it_requires(names):
    assert unmet(names) == []


@pytest.mark.long
def test_no_step_without_what_it_requires_over_all_symptoms_and_pairs():
    assert [(names, found) for names in [*SINGLE, *PAIRS] if (found := unmet(names))] == []


def stops(**told):
    case, problems = read_case({"symptoms": ["rapid-clicks-no-crank"], **told}, CATALOGUE)
    assert problems == ()
    lines = find(CATALOGUE, NETWORK, case).stop_now
    return [one.until_looked for one in lines if one.id == "battery-may-be-frozen"]


def flat(**conditions):
    return {"measure-resting-voltage": {"value": 11.6, "unit": "V", **conditions}}


# TM 5-4210: a battery with nothing left freezes at 15 degF, -9.4 degC, and at +5 degF with a
# quarter left. Words alone may mean less cold than that, so a look that finds all well ends them.
@pytest.mark.parametrize(
    ("told", "expected"),
    [
        ({"context": {"weather": "very-cold"}}, []),
        ({"context": {"weather": "very-cold"}, "readings": flat()}, [True]),
        ({"context": {"weather": "mild"}, "readings": flat()}, []),
        ({"readings": flat()}, []),
        ({"context": {"weather": "very-cold", "temperature": 5}, "readings": flat()}, []),
        ({"context": {"weather": "very-cold"}, "readings": flat(temperature=15)}, []),
        ({"readings": flat(temperature=-9)}, []),
        ({"readings": flat(temperature=-9.5)}, [False]),
        ({"context": {"temperature": -16}}, [True]),
    ],
)
def test_a_flat_battery_may_be_frozen_by_degrees_or_by_words(told, expected):
    assert stops(**told) == expected


def test_a_look_ends_what_words_raised_but_not_what_a_reading_in_degrees_did():
    looked = {"look-at-battery": "looks-sound"}
    words = {"context": {"weather": "very-cold"}}
    assert stops(**words, readings=flat(), outcomes=looked) == []
    assert stops(context={"temperature": -16}, outcomes=looked) == []
    assert stops(readings=flat(temperature=-12), outcomes=looked) == [False]
    # A look elsewhere that allows a start again says nothing about ice.
    assert stops(**words, readings=flat(), outcomes={"look-at-main-fuses": "whole"}) == [True]
