"""The supply-first policy, followed through complaints and answers of the shipped knowledge.

Here some complaints with every answer path of two checks, and pairs with a path of three drawn
with a fixed seed. Every path of three checks is followed in the browser, which gives the same
advice many times faster (tests/browser/test_triage_parity.py).
"""

import random
from itertools import combinations
from pathlib import Path

import pytest

from build_tools.cli.triage_command import triage_document
from build_tools.engine.cases import CarCase, case_document
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.noisy_max import ContradictoryEvidence
from build_tools.engine.triage import triage
from build_tools.knowledge.assemble import load_catalogue

CATALOGUE, _ = load_catalogue(Path(__file__).parents[1])
NETWORK = network_from_catalogue(CATALOGUE)
COMPLAINTS = [name for name, one in CATALOGUE.symptoms.items() if one.role == "complaint"]
PAIRS = 60
HOUR = 15
# Rule 5: from here on the supply leads, whatever the rest is worth.
SUPPLY_MATTERS = 0.25 + 1e-9


def advise(symptoms, outcomes):
    case = CarCase(symptoms=symptoms, outcomes=dict(outcomes))
    return triage(CATALOGUE, NETWORK, case, work_limit=0)


def is_supply_check(name):
    return bool(CATALOGUE.checks[name].aspects) and name in NETWORK.finding_by_id


def open_supply_costs(advice, outcomes):
    """Price the open supply checks by themselves, which is never more than with what they need."""
    blocked = blocked_checks(outcomes)
    return [
        one.effort.money + one.effort.minutes * HOUR / 60
        for name, one in CATALOGUE.checks.items()
        if is_supply_check(name) and name not in outcomes and name not in blocked
    ]


def blocked_checks(outcomes):
    """Name the checks whose prerequisite came out too bad for them."""
    blocked = set()
    for name, check in CATALOGUE.checks.items():
        for need in check.needs:
            level = outcomes.get(need.check)
            levels = [one.id for one in CATALOGUE.checks[need.check].levels]
            worse = level and need.at_most and levels.index(level) > levels.index(need.at_most)
            if worse:
                blocked.add(name)
    return blocked


def judge(symptoms, outcomes, advice):
    """Return what breaks the policy, in words; nothing when it holds."""
    state = advice.supply.state
    told = f"{symptoms} {outcomes}: "
    wrong = []
    lines = {line for name in symptoms for line in CATALOGUE.symptoms[name].stop_now}
    if not lines <= {one["id"] for one in advice.stop_now}:
        wrong.append(told + "a stop-now line is missing")
    if advice.repair and advice.next:
        wrong.append(told + "a repair and a check at once")
    if advice.repair and state in ("unproven", "doubtful"):
        repair = CATALOGUE.causes[advice.repair.cause].repair
        costs = open_supply_costs(advice, outcomes)
        if repair.part is not None and costs and repair.price.middle > min(costs):
            wrong.append(told + f"{repair.part} is advised while the supply is {state}")
    if advice.repair and state == "failing":
        group = CATALOGUE.causes[advice.repair.cause].group
        if not CATALOGUE.vocabulary.groups[group].supply:
            wrong.append(told + f"{advice.repair.cause} is advised while the supply is failing")
    if state != "sound" and advice.next:
        relevant = {c for name in symptoms for c in NETWORK.finding_by_id[name].links}
        on_supply = sum(
            one.probability
            for one in advice.causes
            if one.id in relevant and CATALOGUE.vocabulary.groups[one.group].supply
        )
        first = advice.next[0].leads_to or advice.next[0].check
        # Rule 4: while failing, a check that settles the repair may come first (rule 3).
        kinds = {one["kind"] for one in advice.next[0].because}
        if state == "failing" and kinds & {"look-alike", "confirms"}:
            return wrong
        is_open = bool(open_supply_costs(advice, outcomes))
        if on_supply > SUPPLY_MATTERS and is_open and not is_supply_check(first):
            wrong.append(told + f"{first} comes before any check on the supply")
    return wrong


def follow(symptoms, choose_levels, answers):
    """Follow the first next check through its answers; yield every state on the way."""
    waiting = [{}]
    while waiting:
        outcomes = waiting.pop()
        try:
            advice = advise(symptoms, outcomes)
        except ContradictoryEvidence:
            continue
        yield outcomes, advice
        if len(outcomes) < answers and advice.next:
            check = advice.next[0].check
            levels = [one.id for one in CATALOGUE.checks[check].levels]
            waiting.extend({**outcomes, check: level} for level in choose_levels(levels))


def test_there_is_something_to_follow():
    assert len(COMPLAINTS) >= 10
    assert any(is_supply_check(name) for name in CATALOGUE.checks)


@pytest.mark.parametrize("complaint", COMPLAINTS[::4])
def test_every_answer_path_of_one_complaint(complaint):
    wrong = []
    for outcomes, advice in follow((complaint,), lambda levels: levels, answers=2):
        wrong += judge((complaint,), outcomes, advice)
    assert wrong == []


def test_one_answer_path_of_every_pair_drawn():
    draw = random.Random(20261125)
    wrong = []
    for pair in draw.sample(list(combinations(COMPLAINTS, 2)), PAIRS):
        for outcomes, advice in follow(pair, lambda levels: [draw.choice(levels)], answers=3):
            wrong += judge(pair, outcomes, advice)
    assert wrong == []


def test_stop_now_stands_before_everything_else_in_the_answer():
    names = [name for name, one in CATALOGUE.cases.items() if one.expect.stop_now]
    assert names
    for name in names:
        document = triage_document(CATALOGUE, case_document(CATALOGUE.cases[name]))
        assert next(iter(document)) == "stop_now"
        order = list(CATALOGUE.vocabulary.stop_lines)
        found = [order.index(one["id"]) for one in document["stop_now"]]
        assert found == sorted(found)
        assert found
