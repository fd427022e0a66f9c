"""What programs get for a case and for a reading: shape, sentences, refusals."""

import json

import pytest

from build_tools.cli.reading_command import reading_document
from build_tools.cli.triage_command import CaseRefused, triage_document
from build_tools.engine import words
from build_tools.engine.cases import case_document
from build_tools.knowledge.markup import listed
from tests.embedded import call
from tests.shipped import CATALOGUE


@pytest.fixture(scope="module")
def answer():
    case = {
        "symptoms": ["cranks-slowly-when-cold"],
        "readings": {"measure-resting-voltage": {"value": 12.1, "unit": "V"}},
    }
    return triage_document(CATALOGUE, case)


def test_the_answer_has_the_promised_keys(answer):
    assert list(answer)[:6] == ["stop_now", "causes", "supply", "next", "repair", "hold_off"]
    assert set(answer["causes"][0]) >= {"id", "title", "group", "probability"}
    assert set(answer["supply"]) == {"state", "probability", "because", "matters", "proven"}
    for one in answer["next"]:
        assert set(one) >= {"check", "minutes", "money", "expected_saving", "because", "outcomes"}
    for one in answer["hold_off"]:
        assert set(one) >= {
            "part",
            "price_low",
            "price_high",
            "currency",
            "probability_at_fault",
            "until",
        }
    json.dumps(answer, allow_nan=False)


def test_causes_that_explain_something_come_first_by_probability_then_id(answer):
    keys = [(not one["explains"], -one["probability"], one["id"]) for one in answer["causes"]]
    assert keys == sorted(keys)
    assert keys[0][0] is False
    assert keys[-1][0] is True


def test_reasons_are_sentences(answer):
    said = answer["supply"]["because"] + [each for one in answer["next"] for each in one["because"]]
    assert said
    for sentence in said:
        assert sentence.endswith(".")
        assert sentence[0].isupper() or sentence[0] == "“"
        assert len(sentence.split()) <= 30


def test_no_sentence_calls_a_cause_certain_or_uses_a_word_we_do_not_use():
    for case in list(CATALOGUE.cases.values())[::6]:
        document = triage_document(CATALOGUE, case_document(case))
        own = [each for one in document["next"] for each in one["because"]]
        own += document["supply"]["because"]
        own += [one["until"] for one in document["hold_off"]]
        for sentence in own:
            low = sentence.lower()
            assert "certainly" not in low
            assert "fault" not in low
            assert "diagnos" not in low
            assert "undefined" not in low
            assert "none" not in low.split()


def test_a_case_with_problems_is_refused_with_all_of_them():
    with pytest.raises(CaseRefused) as refused:
        triage_document(CATALOGUE, {"sympoms": [], "symptoms": ["flat-over-night"]})
    text = str(refused.value)
    assert 'sympoms: "sympoms" is not part of a case; did you mean "symptoms"?' in text
    assert 'did you mean "flat-overnight"?' in text
    assert len(refused.value.problems) == 2


def test_a_likely_slip_comes_back_as_a_question():
    case = {
        "symptoms": ["cranks-slowly-when-cold"],
        "readings": {"measure-resting-voltage": {"value": 1.25, "unit": "V"}},
    }
    asked = triage_document(CATALOGUE, case)["questions"]
    assert asked[0]["words"].startswith("Did you mean 12.5\u00a0V?")


# Readings ---------------------------------------------------------------------------------


def test_a_reading_on_the_command_line():
    pairs = [
        "value=12.5 V",
        "battery-type=flooded",
        "rest=overnight",
        "temperature=68degF",
        "meter=good",
    ]
    found = reading_document(CATALOGUE, "resting-voltage", pairs)
    # TM 5-3805-262-20 prints 12.4 for 75 %, 12.6 for full: in between.
    assert found["band"] == "three-quarters"
    assert not found["near_edge"]
    assert found["assumptions"] == []
    assert found["sentence"].startswith("12.5\u00a0V reads")
    assert found["to_case"]["check"] == "measure-resting-voltage"
    assert found["to_case"]["conditions"]["battery-type"] == "flooded"
    assert "tm-5-3805-262-rest-voltage" in [one.get("id") for one in found["sources"]]


def test_what_was_not_given_is_said():
    found = reading_document(CATALOGUE, "resting-voltage", ["value=12.5"])
    assert found["assumptions"][0].startswith("Not given: battery type, how long")
    assert found["assumptions"][1:] == ["No unit given, so we use V."]


@pytest.mark.parametrize(
    ("pair", "field", "why"),
    [
        ("value=twelve", "value", "not a number"),
        ("value=12,500", "value", "two things"),
        ("value=12.5 volts", "unit", "doesn't use"),
        ("vlue=12.5", "vlue", "Use value."),
    ],
)
def test_a_reading_that_cannot_be_used_says_why(pair, field, why):
    found = reading_document(CATALOGUE, "resting-voltage", [pair])
    assert found["refused"]["field"] == field
    assert why in found["refused"]["why"]
    assert found["band"] is None


def test_an_unknown_gauge_is_refused_with_a_hint():
    with pytest.raises(ValueError, match='did you mean "resting-voltage"'):
        reading_document(CATALOGUE, "resting-volt", ["value=12"])
    with pytest.raises(ValueError, match="is not name=value"):
        reading_document(CATALOGUE, "resting-voltage", ["12.5"])


# Words ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("names", "text"),
    [([], ""), (["a"], "a"), (["a", "b"], "a and b"), (["a", "b", "c"], "a, b and c")],
)
def test_lists_are_said_the_way_one_says_them(names, text):
    assert listed(names) == text


@pytest.mark.parametrize(
    ("amount", "text"), [(0.4, ""), (-3, ""), (12.5, "about $13"), (184, "about $180")]
)
def test_savings_carry_no_more_digits_than_they_deserve(amount, text):
    said = call("engine/words", "savingWords", amount, "USD")
    assert text in said
    assert bool(said) == bool(text)


def test_every_state_of_the_supply_has_its_own_everyday_words():
    states = ["unproven", "doubtful", "failing", "sound"]
    names = [words.supply_name({"state": state, "proven": {}}) for state in states]
    assert names == ["not checked yet", "unclear", "bad", "good"]
    assert words.supply_name({"state": "unproven", "proven": {"battery": []}}) == "partly checked"
    assert len({words.supply_words(state) for state in states} - {""}) == len(states)
