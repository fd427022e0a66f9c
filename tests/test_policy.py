"""The supply-first policy, followed through complaints and answers of the shipped knowledge.

Here some complaints with every answer path of two checks, and pairs with a path of three drawn
with a fixed seed. Every path of three checks is followed in the browser, which gives the same
advice many times faster (tests/parity/test_triage.py).
"""

import random
from itertools import combinations
from pathlib import Path

import pytest

from build_tools.cli.triage_command import triage_document
from build_tools.engine.cases import CarCase, case_document, read_case
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.noisy_max import ContradictoryEvidence, infer
from build_tools.engine.trace import TRACE_LIMIT, trace
from build_tools.engine.triage import SUM_LIMIT, triage
from build_tools.knowledge.assemble import load_catalogue
from tests.reasoning.samples import entangled_cases

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


def predicted_work(advice):
    """Count, for each check, the numbers the sums behind its predicted levels went through."""
    work = []
    for one in advice.next:
        work.append(0)
        for place in range(len(one.outcomes)):
            hard = [float(level == place) for level in range(len(one.outcomes))]
            evidence = {**advice.findings.evidence, one.check: hard}
            if one.check in NETWORK.finding_by_id:
                work[-1] += infer(NETWORK, advice.findings.odds, evidence).work
    return work


def advise_on(document):
    case, problems = read_case(document, CATALOGUE)
    assert problems == ()
    advice = triage(CATALOGUE, NETWORK, case)
    posteriors = {one.id: one.probability for one in advice.causes}
    return advice, trace(CATALOGUE, NETWORK, case, advice.findings, posteriors)


def test_the_most_entangled_case_stays_within_the_counted_work_and_says_so():
    # 12 symptoms and 25 results: every further sum is as large as the one for the posteriors.
    work, document = entangled_cases(CATALOGUE, NETWORK, 12, 25)[-1]
    assert work > SUM_LIMIT
    advice, weights = advise_on(document)
    assert advice.planned == "shorter"
    assert advice.next or advice.repair
    assert all(one.outcomes == () for one in advice.next)
    assert not any(weights.values())
    exact = infer(NETWORK, advice.findings.odds, advice.findings.evidence)
    assert {one.id: one.probability for one in advice.causes} == exact.posteriors


def test_past_the_bound_the_first_checks_keep_what_their_results_would_mean():
    cases = entangled_cases(CATALOGUE, NETWORK, 12, 2)
    near = [one for one in cases if SUM_LIMIT / 24 < one[0] < SUM_LIMIT / 12]
    partly = 0
    for work, document in near[:4]:
        advice, _ = advise_on(document)
        told = [bool(one.outcomes) for one in advice.next]
        taken = [one for one in predicted_work(advice) if one]
        assert sum(taken[:-1]) <= SUM_LIMIT
        assert (advice.planned == "full") == (
            all(told) and len(advice.findings.evidence) * work <= SUM_LIMIT
        )
        partly += 0 < sum(told) < len(told)
    assert partly


def test_everyday_cases_are_planned_in_full():
    for name in COMPLAINTS[:3]:
        advice, weights = advise_on({"symptoms": [name]})
        assert advice.planned == "full"
        assert all(one.outcomes for one in advice.next)
        assert any(weights.values())
    assert TRACE_LIMIT == SUM_LIMIT
