"""The policy, followed through complaints and answers of the shipped knowledge.

Here some complaints with every answer path of two checks, and pairs with a path of three drawn
with a fixed seed. Every path of two checks, and in the whole sweep of three, is followed by the
browser's modules, which give the same advice many times faster (tests/parity/test_triage.py).
"""

import random
from collections import Counter
from itertools import combinations

import pytest

from build_tools.cli.triage_command import triage_document
from build_tools.engine import noisy_max
from build_tools.engine.cases import CarCase, case_document, read_case
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.noisy_max import WORK_LIMIT, ContradictoryEvidence, FrontierTooWide, infer
from build_tools.engine.pricing import HOUR_VALUE, UNRESOLVED_COST, check_cost, repair_cost
from build_tools.engine.trace import TRACE_LIMIT, trace
from build_tools.engine.triage import SUM_LIMIT, triage
from build_tools.engine.worlds import enumerate_worlds
from tests.reasoning.samples import chance_alone, drawn_case, entangled_cases
from tests.shipped import CATALOGUE
from tests.sweeps import SWEEP, drawn

NETWORK = network_from_catalogue(CATALOGUE)
COMPLAINTS = [name for name, one in CATALOGUE.symptoms.items() if one.role == "complaint"]
PAIRS = 200
EXCLUDED = 0.05


def advise(symptoms, outcomes):
    case = CarCase(symptoms=symptoms, outcomes=dict(outcomes))
    return triage(CATALOGUE, NETWORK, case)


def is_supply_cause(name):
    return CATALOGUE.vocabulary.groups[CATALOGUE.causes[name].group].supply


def is_supply_check(name):
    return bool(CATALOGUE.checks[name].aspects) and name in NETWORK.finding_by_id


def supply_part(symptoms, advice):
    """Work out P(the supply alone makes the complaints) over pairs of their likelier causes."""
    linked = {c for name in symptoms for c in NETWORK.finding_by_id[name].links}
    likely = [one.id for one in advice.causes if one.id in linked and one.probability >= 0.01]
    findings = advice.findings
    worlds = enumerate_worlds(
        NETWORK, findings.odds, findings.evidence, candidates=likely[:20], most_present=2
    )
    part = 0.0
    for mask, weight in zip(worlds.masks, worlds.weights, strict=True):
        present = {name for place, name in enumerate(worlds.causes) if mask >> place & 1}
        supply = {name for name in present if is_supply_cause(name)}
        part += weight * chance_alone(NETWORK, symptoms, present, supply)
    return part


def is_confirmed(name, outcomes):
    return any(outcomes.get(one.check) == one.level for one in CATALOGUE.causes[name].confirmed_by)


def past_a_gate(symptoms, outcomes, advice):
    """Say which gate on buying a repair breaks, judged here by other means; "" if none."""
    cause = CATALOGUE.causes[advice.repair.cause]
    if cause.repair.part is None or is_confirmed(cause.id, outcomes):
        sure = True
    else:
        chance = next(one.probability for one in advice.causes if one.id == cause.id)
        cost = repair_cost(cause, HOUR_VALUE)
        sure = chance >= 0.5 or (1 - chance) * cost <= chance * UNRESOLVED_COST
    if not sure:
        return f"{cause.repair.part} is bought on a guess"
    cheapest = min(
        (
            check_cost(one, HOUR_VALUE)
            for name, one in CATALOGUE.checks.items()
            if is_supply_check(name)
        ),
        default=0,
    )
    dear = cause.repair.part is not None and cause.repair.price.middle > max(50, cheapest)
    waits = dear and not is_supply_cause(cause.id) and advice.supply.state != "sound"
    proven = {name for name in outcomes if is_supply_check(name)}
    if waits and not proven and supply_part(symptoms, advice) >= EXCLUDED + 1e-6:
        return f"{cause.repair.part} is advised while the supply is {advice.supply.state}"
    return ""


def empty_words(outcomes, advice):
    """Name what is held or offered without a reason that still holds."""
    for held in advice.hold_off:
        if is_confirmed(held["cause"], outcomes) and held["until"]["kind"] != "supply-sound":
            yield f"{held['cause']} is confirmed and on hold"
        if held["until"].get("check") in outcomes:
            yield f"{held['cause']} waits for a check that was made"
    for one in advice.next:
        # A result that another one has overtaken may be asked for again.
        again = {each.check for each in advice.findings.set_aside}
        if (one.check in outcomes and one.check not in again) or not one.because:
            yield f"{one.check} once more, or without a reason"
    if advice.next and advice.next[0].expected_saving <= 0:
        kinds = {one["kind"] for one in advice.next[0].because}
        if len(advice.next) > 1 or "only-one" not in kinds:
            yield f"{advice.next[0].check} is not worth making"


def judge(symptoms, outcomes, advice):
    """Return what breaks the policy, in words; nothing when it holds."""
    told = f"{symptoms} {outcomes}: "
    wrong = []
    lines = {line for name in symptoms for line in CATALOGUE.symptoms[name].stop_now}
    # What a result has shown to be over stops nothing any more.
    over = advice.findings.settled is not None
    shown = {one["id"] for one in advice.stop_now}
    shown |= {other for one in shown for other in CATALOGUE.vocabulary.stop_lines[one].covers}
    if not over and not lines <= shown:
        wrong.append(told + "a stop-now line is missing")
    if advice.repair and advice.next:
        wrong.append(told + "a repair and a check at once")
    if advice.repair and (broken := past_a_gate(symptoms, outcomes, advice)):
        wrong.append(told + broken)
    wrong += [told + one for one in empty_words(outcomes, advice)]
    if not (advice.next or advice.repair or advice.workshop or advice.watch):
        wrong.append(told + "nothing to do")
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
            if check in outcomes:
                continue
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


@SWEEP
def test_one_answer_path_of_every_pair_drawn(share):
    draw = random.Random(20261125)
    wrong = []
    for pair in draw.sample(list(combinations(COMPLAINTS, 2)), PAIRS // share):
        for outcomes, advice in follow(pair, lambda levels: [draw.choice(levels)], answers=3):
            wrong += judge(pair, outcomes, advice)
    assert wrong == []


def test_stop_now_stands_before_everything_else_in_the_answer(worked_advice):
    names = [name for name, one in CATALOGUE.cases.items() if one.expect.stop_now]
    order = list(CATALOGUE.vocabulary.stop_lines)
    for name in names:
        found = [order.index(one["id"]) for one in worked_advice[name].stop_now]
        assert found == sorted(found)
        assert found
    shown = drawn(names, 10)
    assert shown
    for name in shown:
        document = triage_document(CATALOGUE, case_document(CATALOGUE.cases[name]))
        assert next(iter(document)) == "stop_now"
        told = [one["id"] for one in worked_advice[name].stop_now]
        assert [one["id"] for one in document["stop_now"]] == told


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
    assert advice.next or advice.repair or advice.workshop
    assert all(one.outcomes == () for one in advice.next)
    assert not any(weights.values())
    exact = infer(NETWORK, advice.findings.odds, advice.findings.evidence)
    assert {one.id: one.probability for one in advice.causes} == exact.posteriors


@pytest.fixture
def summed(monkeypatch):
    """Count the numbers every exact sum goes through; the sums themselves are the real ones."""
    taken = []

    def counted(name):
        real = getattr(noisy_max, name)

        def sum_and_count(order, *weights):
            taken.append(order.work)
            return real(order, *weights)

        monkeypatch.setattr(noisy_max, name, sum_and_count)

    counted("sum_group")
    counted("sum_forward")
    return taken


@pytest.mark.parametrize(("symptoms", "results"), [(12, 30), (20, 10), (12, 8), (3, 14)])
def test_whatever_is_told_one_advice_takes_bounded_work(symptoms, results, summed):
    # All sums together: the posterior, the predicted results, the fit, and what raised each cause.
    told = Counter()
    for seed in range(3):
        summed.clear()
        advice, weights = advise_on(drawn_case(CATALOGUE, random.Random(seed), symptoms, results))
        told[advice.planned] += 1
        assert sum(summed) <= 1.5 * WORK_LIMIT
        assert advice.next or advice.repair or advice.workshop
        if advice.planned == "roughly":
            # Rough odds foretell no result and give no reasons.
            assert not any(one.outcomes for one in advice.next)
            assert advice.fit is None
            assert not any(weights.values())
    assert (told["roughly"] > 0) == (symptoms + results > 20)


def test_only_what_no_sum_could_hold_is_refused_and_before_any_sum_is_taken(summed):
    everything = drawn_case(
        CATALOGUE, random.Random(0), len(CATALOGUE.symptoms), len(CATALOGUE.checks)
    )
    with pytest.raises(FrontierTooWide):
        advise_on(everything)
    assert not summed


@SWEEP
def test_past_the_bound_the_first_checks_keep_what_their_results_would_mean(share):
    cases = entangled_cases(CATALOGUE, NETWORK, 12, 8)
    near = [one for one in cases if SUM_LIMIT / 36 < one[0] < SUM_LIMIT / 12]
    partly = 0
    for work, document in near:
        advice, _ = advise_on(document)
        told = [bool(one.outcomes) for one in advice.next]
        taken = [one for one in predicted_work(advice) if one]
        assert sum(taken[:-1]) <= SUM_LIMIT
        assert (advice.planned == "full") == (
            all(told) and len(advice.findings.evidence) * work <= SUM_LIMIT
        )
        partly += 0 < sum(told) < len(told)
        if partly and share > 1:
            break
    assert partly


def test_everyday_cases_are_planned_in_full():
    for name in COMPLAINTS[:3]:
        advice, weights = advise_on({"symptoms": [name]})
        assert advice.planned == "full"
        assert all(one.outcomes for one in advice.next)
        assert any(weights.values())
    assert TRACE_LIMIT == SUM_LIMIT
