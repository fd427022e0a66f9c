"""A reply says what the checker would, stop lines first, and its link opens the same case.

Held against `triage`, which reasons in Python and knows nothing of replies.
"""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from build_tools.cli.answer_documents import reply_document
from build_tools.cli.link_command import read_link
from build_tools.cli.log_documents import modules
from build_tools.cli.triage_command import plain_case, triage_document
from build_tools.knowledge.assemble import load_catalogue
from build_tools.site.compile_json import compile_catalogue
from tests.sweeps import SWEEP, drawn

ROOT = Path(__file__).resolve().parents[1]
CASES = {path.stem: path for path in sorted((ROOT / "symptoms" / "cases").glob("*.yml"))}
FRAME = {"greeting": "Hello Sam,", "closing": "Good luck!", "site": "https://example.org/"}
LONGEST = 1000


@pytest.fixture(scope="module")
def catalogue():
    return load_catalogue(ROOT)[0]


def lower_first(text):
    return text[0].lower() + text[1:] if text[1:2].islower() else text


@SWEEP
def test_a_reply_says_what_the_checker_would(catalogue, share):
    looked_at = 0
    for name in drawn(CASES, share):
        case = plain_case(yaml.safe_load(CASES[name].read_text("utf-8")))
        advice = triage_document(catalogue, case)
        reply = reply_document(catalogue, case, FRAME)
        for text in (reply["short"], reply["long"]):
            places = [text.index(line["text"]) for line in advice["stop_now"]]
            body = text.split("Next:")[0]
            assert all(place < len(body) for place in places), name
            if advice["next"]:
                title = catalogue.checks[advice["next"][0]["check"]].title
                assert f"Next: {lower_first(title)}" in text, name
            assert reply["link"] in text, name
        assert len(reply["short"]) <= LONGEST, (name, len(reply["short"]))
        assert advice["causes"][0]["title"].lower() in reply["long"].lower(), name
        for held in advice["hold_off"][:1]:
            assert held["part"].lower() in reply["long"].lower(), name
        opened = read_link(catalogue, reply["link"])["case"]
        assert triage_document(catalogue, opened)["next"] == advice["next"], name
        looked_at += 1
    assert looked_at > 0


def test_questions_need_no_tool_and_are_not_answered_yet(catalogue):
    told = {"symptoms": ["flat-overnight"], "context": {"battery-age": "over-5-years"}}
    text = reply_document(catalogue, told, FRAME)["long"]
    asked = text.split("Please tell me:")[1].split("\n\n")[0].strip().splitlines()
    assert len(asked) == 2
    assert all(line.endswith(("?", ")")) for line in asked)
    assert catalogue.contexts["battery-age"].question not in text


def test_a_choice_typed_back_answers_the_question_that_was_asked(catalogue):
    contexts = compile_catalogue(catalogue)["contexts"]

    def answers(asked, text):
        found = modules("answer/asked").call("answer/asked", "answeredIn", contexts, asked, text)
        return [(one["id"], one["answer"]) for one in found]

    typed = 0
    for name, context in catalogue.contexts.items():
        for option in context.options:
            text = f"Hi again! {option.label.upper()}. It has rained."
            if option.label in {"Yes", "No", "Neither"}:
                assert answers([name], text) == []
                continue
            assert answers([name], text) == [(name, option.id)], option.label
            assert answers([], text) == []
            typed += 1
    assert typed > len(catalogue.contexts)
    # Both choices in one text say neither.
    assert answers(["transmission"], "automatic or manual, I don't know") == []


def test_a_reply_says_which_facts_it_asks_for(catalogue):
    told = {"symptoms": ["flat-overnight"]}
    reply = reply_document(catalogue, told, FRAME)
    assert 0 < len(reply["asked"]) <= 2
    assert all(catalogue.contexts[name].question in reply["long"] for name in reply["asked"])
