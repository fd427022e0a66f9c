"""Every worked case of the knowledge, against what its author expects of the advice."""

import pytest

from tests.shipped import CATALOGUE


def expecting(field):
    return [name for name, case in CATALOGUE.cases.items() if getattr(case.expect, field)]


def test_there_are_worked_cases():
    assert len(CATALOGUE.cases) >= 30


@pytest.mark.parametrize("name", expecting("group_in_first_three"))
def test_the_expected_group_is_among_the_first_three(name, worked_advice):
    first = worked_advice[name].causes[:3]
    assert CATALOGUE.cases[name].expect.group_in_first_three in [one.group for one in first]


@pytest.mark.parametrize("name", expecting("cause_in_first_three"))
def test_the_expected_cause_is_among_the_first_three(name, worked_advice):
    first = worked_advice[name].causes[:3]
    assert CATALOGUE.cases[name].expect.cause_in_first_three in [one.id for one in first]


@pytest.mark.parametrize("name", expecting("supply"))
def test_the_supply_is_in_the_expected_state(name, worked_advice):
    assert worked_advice[name].supply.state == CATALOGUE.cases[name].expect.supply


@pytest.mark.parametrize("name", expecting("checks_next"))
def test_the_next_check_is_the_expected_one(name, worked_advice):
    offered = [one.check for one in worked_advice[name].next]
    assert (offered[0] if offered else None) == CATALOGUE.cases[name].expect.next


@pytest.mark.parametrize("name", expecting("stop_now"))
def test_the_expected_stop_now_lines_are_there(name, worked_advice):
    found = [one["id"] for one in worked_advice[name].stop_now]
    assert set(CATALOGUE.cases[name].expect.stop_now) <= set(found)


def offered(advice):
    """Name every step the advice tells to take now."""
    steps = {one.check for one in advice.next}
    return steps | {advice.repair.cause} if advice.repair else steps


@pytest.mark.parametrize("name", expecting("never"))
def test_what_must_never_be_offered_is_not(name, worked_advice):
    assert not offered(worked_advice[name]) & set(CATALOGUE.cases[name].expect.never)


def test_some_cases_have_a_supply_that_is_in_order():
    # The policy must also lead on once the battery is not at fault.
    states = [case.expect.supply for case in CATALOGUE.cases.values()]
    assert states.count("sound") >= 5
