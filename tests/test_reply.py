"""A reply says what the checker would, stop lines first, and its link opens the same case.

Held against `triage`, which reasons in Python and knows nothing of replies.
"""

import pytest
import yaml

from build_tools.browser.embedded import browser_modules
from build_tools.cli.answer_documents import reply_document
from build_tools.cli.link_command import read_link
from build_tools.cli.triage_command import plain_case, triage_document
from build_tools.engine.cases import read_case
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.triage import triage
from build_tools.site.compile_json import compile_catalogue
from tests.shipped import CATALOGUE, ROOT
from tests.sweeps import SWEEP, drawn

CASES = {path.stem: path for path in sorted((ROOT / "symptoms" / "cases").glob("*.yml"))}
FRAME = {"greeting": "Hello Sam,", "closing": "Good luck!", "site": "https://example.org/"}
LONGEST = 1000


@pytest.fixture(scope="module")
def contexts():
    return compile_catalogue(CATALOGUE)["contexts"]


def lower_first(text):
    return text[0].lower() + text[1:] if text[1:2].islower() else text


@SWEEP
def test_a_reply_says_what_the_checker_would(share, worked_advice):
    looked_at = 0
    for name in drawn(CASES, share):
        case = plain_case(yaml.safe_load(CASES[name].read_text("utf-8")))
        advice = worked_advice[name]
        reply = reply_document(CATALOGUE, case, FRAME)
        for text in (reply["short"], reply["long"]):
            places = [text.index(line["text"]) for line in advice.stop_now]
            body = text.split("Next:")[0]
            assert all(place < len(body) for place in places), name
            if advice.next:
                title = CATALOGUE.checks[advice.next[0].check].title
                assert f"Next: {lower_first(title)}" in text, name
            assert reply["link"] in text, name
        assert len(reply["short"]) <= LONGEST, (name, len(reply["short"]))
        assert advice.causes[0].title.lower() in reply["long"].lower(), name
        for held in advice.hold_off[:1]:
            assert held["part"].lower() in reply["long"].lower(), name
        opened = read_link(CATALOGUE, reply["link"])["case"]
        (sent, _), (same, _) = (read_case(one, CATALOGUE) for one in (case, opened))
        # The same case gets the same advice; one that a link rounded is asked about again.
        again = (
            advice if same == sent else triage(CATALOGUE, network_from_catalogue(CATALOGUE), same)
        )
        assert again.next == advice.next, name
        looked_at += 1
    assert looked_at > 0


def test_questions_need_no_tool_and_are_not_answered_yet():
    told = {"symptoms": ["flat-overnight"], "context": {"battery-age": "over-5-years"}}
    text = reply_document(CATALOGUE, told, FRAME)["long"]
    asked = text.split("Please tell me:")[1].split("\n\n")[0].strip().splitlines()
    assert len(asked) == 2
    assert all(line.endswith(("?", ")")) for line in asked)
    assert CATALOGUE.contexts["battery-age"].question not in text


def test_a_choice_typed_back_answers_the_question_that_was_asked(contexts):
    def answers(asked, text):
        questions = [{"kind": "contexts", "id": name} for name in asked]
        found = browser_modules("answer/asked").call(
            "answer/asked", "answeredIn", contexts, questions, text
        )
        return [(one["id"], one["answer"]) for one in found]

    typed = 0
    for name, context in CATALOGUE.contexts.items():
        for option in context.options:
            text = f"Hi again! {option.label.upper()}. It has rained."
            if option.label in {"Yes", "No", "Neither"}:
                continue
            assert answers([name], text) == [(name, option.id)], option.label
            assert answers([], text) == []
            typed += 1
    assert typed > len(CATALOGUE.contexts)
    # Both choices in one text say neither.
    assert answers(["transmission"], "automatic or manual, I don't know") == []


def test_a_result_typed_back_is_the_result_the_reply_asked_for():
    def result(check, text):
        levels = [{"id": level.id, "label": level.label} for level in check.levels]
        return browser_modules("answer/asked").call(
            "answer/asked", "resultIn", check.id, {"levels": levels}, text
        )

    typed = 0
    for check in CATALOGUE.checks.values():
        for level in check.levels:
            text = f"Did that. {level.label.upper()}. Still slow to crank."
            assert result(check, text)["answer"] == level.id, (check.id, level.label)
            typed += 1
    assert typed > 2 * len(CATALOGUE.checks)
    clamps = CATALOGUE.checks["twist-battery-clamps"]
    told = result(clamps, "ok, clamps were tight and clean, charged it")
    assert (told["answer"], told["words"]) == ("tight-and-clean", "tight and clean")
    for text in ("not tight and clean", "tight and clean, or it turns by hand? no idea", "tight"):
        assert result(clamps, text) is None, text
    # One word tells it only where it stands alone.
    belt = next(one for one in CATALOGUE.checks.values() if one.levels[0].label == "Good")
    assert result(belt, "the rest is good I think") is None


COLD, PARKED = "on-cold-mornings", "after-days-parked"
NOTICED = [("symptoms", COLD), ("symptoms", PARKED)]
AGE_FIRST = [("contexts", "battery-age"), ("symptoms", PARKED)]
CHARGING = [("contexts", "charging-control"), ("symptoms", PARKED)]
BARE = [
    (NOTICED, "yes and no", {COLD: "yes", PARKED: "no"}),
    (NOTICED, "Nope, second one yes", {COLD: "no", PARKED: "yes"}),
    (NOTICED, "1. no\n2. yes it does", {COLD: "no", PARKED: "yes"}),
    (NOTICED, "No to both, sorry", {COLD: "no", PARKED: "no"}),
    (NOTICED, "yes to both. Thanks!", {COLD: "yes", PARKED: "yes"}),
    (NOTICED, "neither", {COLD: "no", PARKED: "no"}),
    (NOTICED, "the first one yeah", {COLD: "yes"}),
    (NOTICED, "Yep. Nah", {COLD: "yes", PARKED: "no"}),
    # One word for two questions, and denials of things, say nothing of which.
    (NOTICED, "yes", {}),
    (NOTICED, "no lights came on, no click", {}),
    (NOTICED, "I checked the cables, no corrosion and no idea", {}),
    (AGE_FIRST, "yes", {PARKED: "yes"}),
    (AGE_FIRST, "2 to 5 years. No it starts then", {PARKED: "no"}),
    (AGE_FIRST, "over five years, and yes", {"battery-age": "over-5-years", PARKED: "yes"}),
    (CHARGING, "no, yes", {"charging-control": "conventional", PARKED: "yes"}),
    # Two of its choices begin with "yes".
    ([("contexts", "flat-or-jumped-lately")], "yes", {}),
]


@pytest.mark.parametrize(("asked", "text", "wanted"), BARE, ids=[text for _, text, _ in BARE])
def test_a_bare_yes_or_no_answers_the_question_it_follows(contexts, asked, text, wanted):
    questions = [{"kind": kind, "id": name} for kind, name in asked]
    found = browser_modules("answer/asked").call(
        "answer/asked", "answeredIn", contexts, questions, text
    )
    assert {one["id"]: one["answer"] for one in found} == wanted
    assert all(one["words"] == text[one["start"] : one["end"]] for one in found)


def test_a_reply_says_which_facts_it_asks_for():
    told = {"symptoms": ["flat-overnight"]}
    reply = reply_document(CATALOGUE, told, FRAME)
    assert 0 < len(reply["asked"]) <= 2
    assert all(CATALOGUE.contexts[name].question in reply["long"] for name in reply["asked"])


@pytest.mark.parametrize(
    ("case", "named", "said"),
    [
        ("flat-overnight", "starter", "Nothing found so far points to it"),
        ("flat-overnight", "alternator", "the right part in about"),
        ("rapid-clicks-no-crank", "fuel pump", "Nothing found so far points to it"),
    ],
)
def test_a_part_they_think_of_buying_is_answered_for(case, named, said):
    told = {"symptoms": [case], "context": {}}
    reply = reply_document(CATALOGUE, told, {**FRAME, "thought_of": [named]})
    causes = {one["id"]: one["probability"] for one in triage_document(CATALOGUE, told)["causes"]}
    parts = {name: CATALOGUE.causes[name].repair.part for name in causes}
    held = [one["part"] for one in triage_document(CATALOGUE, told)["hold_off"]]
    for text, most in ((reply["short"], 1), (reply["long"], 3)):
        line = next((one for one in text.splitlines() if "you ask about" in one), "")
        if any((part or "").startswith(named) for part in held[:most]):
            assert line == ""
            continue
        assert said.lower() in line.lower()
        assert line.endswith("Don't buy it yet.")
        assert ("points to it" in line) == (
            sum(causes[name] for name, part in parts.items() if (part or "").startswith(named))
            < 0.05
        )


def test_the_part_that_is_advised_is_not_warned_of():
    told = {
        "symptoms": ["rapid-clicks-no-crank"],
        "outcomes": {"charge-battery-fully": "takes-charge", "load-test-battery": "fails"},
    }
    assert triage_document(CATALOGUE, told)["repair"]["part"] == "battery"
    reply = reply_document(CATALOGUE, told, {**FRAME, "thought_of": ["battery"]})
    assert "you ask about" not in reply["long"] + reply["short"]
