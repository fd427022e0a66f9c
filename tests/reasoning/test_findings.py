"""A case becomes odds, evidence and stop-now lines; what cannot be used is said."""

from dataclasses import replace
from statistics import NormalDist

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from build_tools.engine.cases import CarCase, read_case
from build_tools.engine.findings import MOST_TIMES, context_times, find
from build_tools.engine.from_catalogue import network_from_catalogue
from tests.reasoning.small_catalogue import by_id, cause, small_catalogue

CATALOGUE = small_catalogue()
NETWORK = network_from_catalogue(CATALOGUE)


def test_context_multiplies_prior_odds():
    # 0.1 / 0.9 * 5 * 2, worked out by hand.
    case = CarCase(context={"age": "old", "warmth": {"value": -5, "unit": "degC"}})
    found = find(CATALOGUE, NETWORK, case)
    assert found.odds["battery-weak"] == pytest.approx(10 / 9)
    assert found.odds["module-broken"] == pytest.approx(0.01 / 0.99 * 0.5)
    assert found.odds["clamp-loose"] == pytest.approx(0.05 / 0.95)
    assert found.answers == {"age": "old", "warmth": "frost"}


def test_the_product_of_multipliers_is_capped_both_ways():
    many = cause("many", group="module", context=[("age", "old", 10), ("warmth", "frost", 10)])
    few = cause("few", group="module", context=[("age", "old", 0.1), ("warmth", "frost", 0.1)])
    catalogue = replace(CATALOGUE, causes=by_id(many, few))
    times = context_times(catalogue, {"age": "old", "warmth": "frost"})
    assert times == {"many": MOST_TIMES, "few": 1 / MOST_TIMES}


def test_a_question_with_shares_counts_by_them_until_it_is_answered():
    shares = {"old": 0.25, "young": 0.75}
    age = CATALOGUE.contexts["age"]
    options = tuple(replace(one, share=shares[one.id]) for one in age.options)
    catalogue = replace(
        CATALOGUE,
        contexts={**CATALOGUE.contexts, "age": replace(age, options=options)},
        causes=by_id(cause("worn", group="module", context=[("age", "old", 5)])),
    )
    # 0.25 * 5 + 0.75 * 1, worked out by hand.
    assert context_times(catalogue, {}) == {"worn": pytest.approx(2.0)}
    assert context_times(catalogue, {"age": "old"}) == {"worn": 5}
    assert context_times(catalogue, {"age": "young"}) == {}


def test_what_is_noticed_tells_an_answer_unless_somebody_says_otherwise():
    lamps, rain = CATALOGUE.symptoms["lamps"], CATALOGUE.symptoms["after-rain"]
    catalogue = replace(
        CATALOGUE,
        symptoms={
            **CATALOGUE.symptoms,
            "lamps": replace(lamps, sets={"age": "old"}),
            "after-rain": replace(rain, sets={"age": "young"}),
        },
    )

    def answers(**told):
        return find(catalogue, NETWORK, CarCase(**told)).answers

    assert answers(symptoms=("lamps",)) == {"age": "old"} == answers(past=("lamps",))
    assert answers(symptoms=("lamps",), context={"age": "young"}) == {"age": "young"}
    assert answers(symptoms=("lamps", "after-rain")) == {}
    assert answers(absent=("lamps",)) == {}


def test_symptoms_absences_and_outcomes_are_hard_evidence():
    case = CarCase(symptoms=("lamps",), absent=("after-rain",), outcomes={"twist": "loose"})
    found = find(CATALOGUE, NETWORK, case)
    assert found.evidence == {"after-rain": (1, 0), "lamps": (0, 1), "twist": (0, 1)}


def test_what_nobody_looked_at_is_no_evidence():
    assert find(CATALOGUE, NETWORK, CarCase()).evidence == {}


def test_a_reading_becomes_weights_per_level():
    # 12.35 V on a cheap meter of +/- 0.1 V: sigma 0.05; edges at 12.0 and 12.4.
    case = CarCase(readings={"rest-volts": {"value": 12.35, "unit": "V"}})
    curve = NormalDist(12.35, 0.05)
    weights = find(CATALOGUE, NETWORK, case).evidence["rest-volts"]
    want = (1 - curve.cdf(12.4), curve.cdf(12.4) - curve.cdf(12.0), curve.cdf(12.0))
    assert weights == pytest.approx(want, abs=1e-12)


def test_conditions_come_from_the_case_unless_the_reading_has_its_own():
    reading = {"value": 12.35, "unit": "V"}
    case = CarCase(context={"meter": "good"}, readings={"rest-volts": reading})
    assert find(CATALOGUE, NETWORK, case).readings["rest-volts"].sigma == pytest.approx(0.01)
    own = replace(case, readings={"rest-volts": {**reading, "meter": "cheap"}})
    assert find(CATALOGUE, NETWORK, own).readings["rest-volts"].sigma == pytest.approx(0.05)


def test_a_likely_slip_carries_no_weight_until_confirmed():
    case = CarCase(readings={"rest-volts": {"value": 1.25, "unit": "V"}})
    found = find(CATALOGUE, NETWORK, case)
    assert found.evidence == {}
    assert found.questions[0]["check"] == "rest-volts"
    assert found.questions[0]["likely_value"] == pytest.approx(12.5)
    confirmed = CarCase(readings={"rest-volts": {"value": 1.25, "unit": "V", "confirmed": True}})
    assert find(CATALOGUE, NETWORK, confirmed).evidence["rest-volts"][2] == pytest.approx(1)


def test_an_implausible_temperature_moves_nothing_and_is_asked_about():
    found = find(CATALOGUE, NETWORK, CarCase(context={"warmth": 75}))
    assert found.answers == {}
    assert found.questions[0]["field"] == "warmth"


def test_an_unusable_reading_is_refused_as_data():
    found = find(CATALOGUE, NETWORK, CarCase(readings={"rest-volts": {"value": "x", "unit": "V"}}))
    assert found.refused[0]["check"] == "rest-volts"
    assert found.refused[0]["reason"] == "not-a-number"


def test_stop_now_lines_stand_in_vocabulary_order_each_once():
    case = CarCase(symptoms=("lamps",), outcomes={"rest-volts": "flat"})
    found = find(CATALOGUE, NETWORK, case).stop_now
    assert [line.id for line in found] == ["first-line", "second-line"]
    assert found[0].because == ({"kind": "level", "check": "rest-volts", "level": "flat"},)
    assert found[1].because == ({"kind": "symptom", "symptom": "lamps"},)


def test_a_level_not_reached_calls_for_nothing():
    case = CarCase(outcomes={"rest-volts": "half"})
    assert find(CATALOGUE, NETWORK, case).stop_now == ()


@given(st.permutations(["lamps", "slow-crank", "after-rain"]))
@settings(deadline=None, max_examples=10)
def test_the_order_of_telling_does_not_matter(order):
    one = find(CATALOGUE, NETWORK, CarCase(symptoms=tuple(order)))
    assert list(one.evidence) == list(
        find(CATALOGUE, NETWORK, CarCase(symptoms=("lamps", "slow-crank", "after-rain"))).evidence
    )


# Reading a case document ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("document", "path", "what", "mend"),
    [
        ({"sympoms": []}, "sympoms", "not part of a case", '"symptoms"'),
        ({"symptoms": ["lamp"]}, "symptoms[0]", '"lamp" does not exist', '"lamps"'),
        ({"symptoms": "lamps"}, "symptoms", "not a list", "[id, id]"),
        ({"absent": ["lamps"], "symptoms": ["lamps"]}, "absent", "both noticed and absent", "one list"),
        ({"context": {"agee": "old"}}, "context.agee", '"agee" does not exist', '"age"'),
        ({"context": {"age": "olld"}}, "context.age", '"olld" is not one', '"old"'),
        ({"context": {"warmth": "hot"}}, "context.warmth", "not a number", "12.4"),
        ({"readings": {"twist": {"value": 1}}}, "readings.twist", "no gauge", "outcomes"),
        ({"readings": {"rest-volt": {"value": 1}}}, "readings.rest-volt", "not exist", '"rest-volts"'),
        ({"readings": {"rest-volts": 12}}, "readings.rest-volts", "a value and a unit", "{value"),
        ({"readings": {"rest-volts": {"value": 12, "unit": "A"}}}, "readings.rest-volts.unit", '"A" is not accepted', '"V"'),
        (
            {"readings": {"rest-volts": {"value": "12,500", "unit": "V"}}},
            "readings.rest-volts.value",
            "decimal point or thousands",
            "without a comma",
        ),
        ({"readings": {"rest-volts": {"value": 12, "metre": "good"}}}, "readings.rest-volts.metre", "not a condition", '"meter"'),
        ({"outcomes": {"twist": "losse"}}, "outcomes.twist", '"losse" does not exist', '"loose"'),
        (
            {"outcomes": {"rest-volts": "full"}, "readings": {"rest-volts": {"value": 12}}},
            "outcomes.rest-volts",
            "a reading and a level",
            "keep the reading",
        ),
        ({"tools": ["multimetre"]}, "tools[0]", "does not exist", '"multimeter"'),
        ({"not_possible": ["twists"]}, "not_possible[0]", "does not exist", '"twist"'),
        ({"hour_value": -3}, "hour_value", "not a price", "0 to 1000"),
        ({"hour_value": True}, "hour_value", "not a price", "0 to 1000"),
    ],
)  # fmt: skip
def test_every_problem_names_its_field_and_how_to_mend_it(document, path, what, mend):
    _, problems = read_case(document, CATALOGUE)
    found = {problem.path: problem for problem in problems}
    assert path in found
    assert what in found[path].what
    assert mend in found[path].mend


def test_a_good_case_has_no_problems_and_keeps_everything():
    document = {
        "symptoms": ["lamps"],
        "absent": ["after-rain"],
        "context": {"age": "old", "warmth": 3},
        "readings": {"rest-volts": {"value": 12.1, "unit": "V", "meter": "good"}},
        "outcomes": {"twist": "tight"},
        "tools": ["multimeter"],
        "not_possible": ["wiggle"],
        "hour_value": 20,
    }
    case, problems = read_case(document, CATALOGUE)
    assert problems == ()
    assert case == CarCase(
        symptoms=("lamps",),
        absent=("after-rain",),
        context={"age": "old", "warmth": 3},
        readings=document["readings"],
        outcomes={"twist": "tight"},
        tools=("multimeter",),
        not_possible=("wiggle",),
        hour_value=20.0,
    )


def test_all_problems_come_at_once():
    document = {"symptoms": ["lamp"], "tools": ["x"], "outcomes": {"twist": "y"}, "extra": 1}
    assert len(read_case(document, CATALOGUE)[1]) == 4
