"""How surprising results are together: against enumeration, chance, and cases of every kind."""

import math
import random
from dataclasses import replace
from itertools import product

import pytest

from build_tools.cli.triage_command import advice_text, triage_document
from build_tools.engine.cases import CarCase, read_case
from build_tools.engine.diagnosis import diagnose
from build_tools.engine.findings import find
from build_tools.engine.fit import BAD_FIT, judge_fit
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.noisy_max import infer, log_probability
from build_tools.engine.play import CarModel, draw_car, outcome
from tests.reasoning.samples import entangled_cases
from tests.shipped import CATALOGUE

NETWORK = network_from_catalogue(CATALOGUE)
COMPLAINTS = [name for name, one in CATALOGUE.symptoms.items() if one.role == "complaint"]
CHECKS = [name for name, one in CATALOGUE.checks.items() if len(one.levels) > 1]
STEP = 0.05  # surprises are counted in these steps, which moves a share a little


def fit_of(document):
    case, problems = read_case(document, CATALOGUE)
    assert problems == ()
    return judge_fit(diagnose(CATALOGUE, NETWORK, case))


def worst(names):
    return {name: CATALOGUE.checks[name].levels[-1].id for name in names}


@pytest.mark.parametrize("seed", range(3))
def test_the_sum_alone_is_that_of_the_whole_inference(seed):
    draw = random.Random(seed)
    names = draw.sample(CHECKS, 6)
    case = CarCase(symptoms=tuple(draw.sample(COMPLAINTS, 2)), outcomes=worst(names))
    found = find(CATALOGUE, NETWORK, case)
    whole = infer(NETWORK, found.odds, found.evidence)
    alone, work = log_probability(NETWORK, found.odds, found.evidence)
    assert alone == pytest.approx(whole.log_evidence, rel=1e-12)
    assert work == whole.work
    nothing = {**found.evidence, names[0]: (0.0,) * len(CATALOGUE.checks[names[0]].levels)}
    assert log_probability(NETWORK, found.odds, nothing)[0] == -math.inf


def test_one_result_is_as_likely_as_all_that_are_no_likelier():
    # With one result the share can be read off the foretold levels directly.
    case = CarCase(symptoms=("flat-overnight",))
    name = "measure-resting-voltage"
    found = find(CATALOGUE, NETWORK, case)
    levels = [one.id for one in CATALOGUE.checks[name].levels]
    base, _ = log_probability(NETWORK, found.odds, found.evidence)
    chances = {}
    for place, level in enumerate(levels):
        hard = tuple(float(one == place) for one in range(len(levels)))
        log, _ = log_probability(NETWORK, found.odds, {**found.evidence, name: hard})
        chances[level] = math.exp(log - base)
    assert sum(chances.values()) == pytest.approx(1)
    for level, chance in chances.items():
        fit = fit_of({"symptoms": ["flat-overnight"], "outcomes": {name: level}})
        want = sum(one for one in chances.values() if one <= chance * (1 + STEP))
        assert fit.chance == pytest.approx(want)


def test_two_results_agree_with_counting_every_pair_of_levels():
    names = sorted(["twist-battery-clamps", "load-test-battery"], key=NETWORK.finding_index.get)
    told = {"symptoms": ["flat-overnight"]}
    found = find(CATALOGUE, NETWORK, CarCase(symptoms=("flat-overnight",)))

    def chance(evidence):
        return math.exp(log_probability(NETWORK, found.odds, {**found.evidence, **evidence})[0])

    def hard(name, level):
        return tuple(float(one.id == level) for one in CATALOGUE.checks[name].levels)

    levels = [[one.id for one in CATALOGUE.checks[name].levels] for name in names]
    for seen in product(*levels):
        first, second = names
        before = {first: hard(first, seen[0])}
        steps, share = [], 0.0
        for name, known in ((first, {}), (second, before)):
            all_of = chance(known)
            row = [
                chance({**known, name: hard(name, one.id)}) / all_of
                for one in CATALOGUE.checks[name].levels
            ]
            steps.append([(one, round(-math.log(one) / STEP)) for one in row])
        places = [ids.index(level) for ids, level in zip(levels, seen, strict=True)]
        reached = sum(row[place][1] for row, place in zip(steps, places, strict=True))
        for (p, s), (q, t) in product(*steps):
            share += p * q if s + t >= reached else 0.0
        fit = fit_of({**told, "outcomes": dict(zip(names, seen, strict=True))})
        assert fit.chance == pytest.approx(share, rel=1e-9)


def test_the_share_is_what_it_says_in_cases_drawn_from_the_model():
    # Results drawn from the model itself surprise as much in as many cases as the share says.
    draw = random.Random(17)
    model = CarModel(CATALOGUE, NETWORK)
    shares = []
    for _ in range(120):
        complaint = draw.choice(COMPLAINTS)
        car = draw_car(model, complaint, draw.random)
        car = replace(car, told=replace(car.told, complaints=(complaint,), facts=(), mended=()))
        outcomes = {
            name: outcome(model, car.present, name, draw.random())
            for name in draw.sample(CHECKS, 6)
        }
        case = CarCase(symptoms=(complaint,), outcomes=outcomes)
        fit = judge_fit(diagnose(CATALOGUE, NETWORK, case))
        shares.append(fit.chance)
    assert sum(one < BAD_FIT for one in shares) <= 3
    # At most one in five below one in ten (two standard deviations above the tenth expected).
    assert sum(one < 0.1 for one in shares) <= len(shares) * 0.2
    assert sum(one < 0.5 for one in shares) >= len(shares) * 0.1


@pytest.mark.parametrize("seed", range(8))
def test_thirteen_checks_all_at_their_worst_hardly_fit(seed):
    draw = random.Random(seed)
    supply = [name for name in CHECKS if CATALOGUE.checks[name].aspects]
    names = draw.sample(supply if seed % 2 else CHECKS, 13)
    told = {"symptoms": [draw.choice(COMPLAINTS)], "outcomes": worst(names)}
    fit = fit_of(told)
    assert fit.bad
    assert fit.least in names


def test_worked_cases_almost_never_say_so(worked_advice):
    bad = [name for name, advice in worked_advice.items() if advice.fit and advice.fit.bad]
    assert len(bad) <= len(CATALOGUE.cases) / 100, bad


def test_the_odd_one_out_is_named_in_the_answer():
    supply = [name for name in CHECKS if CATALOGUE.checks[name].aspects]
    told = {"symptoms": ["flat-overnight"], "outcomes": worst(supply[:13])}
    answer = triage_document(CATALOGUE, told)
    assert answer["fit"]["bad"]
    title = CATALOGUE.checks[answer["fit"]["least"]].title
    assert answer["fit"]["words"].startswith("These results hardly fit together.")
    assert title in answer["fit"]["words"]
    assert answer["fit"]["words"] in advice_text(answer)
    plain = triage_document(CATALOGUE, {"symptoms": ["flat-overnight"]})
    assert plain["fit"] == {"chance": 1.0, "bad": False, "least": None, "words": ""}


def test_past_the_bound_of_work_nothing_is_said():
    _, told = entangled_cases(CATALOGUE, NETWORK, 12, 25)[-1]
    case, _ = read_case(told, CATALOGUE)
    diagnosis = diagnose(CATALOGUE, NETWORK, case)
    assert diagnosis.work > 200_000
    assert judge_fit(diagnosis) is None
