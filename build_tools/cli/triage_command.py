"""Room 5: answer one case as a document for programs.

Reads the case, lets the reasoning advise and writes the stable machine interface: the numbers
as they are, the reasons as sentences. It prints nothing and exits nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from build_tools.engine import words
from build_tools.engine.cases import read_case
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.trace import trace
from build_tools.engine.triage import triage
from build_tools.measure.gauges_numbers import ReadingRefused
from build_tools.measure.gauges_slips import SlipQuestion
from build_tools.measure.words_reading import question_words, refusal_words
from build_tools.site.compile_json import compile_catalogue

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from build_tools.engine.cases import CaseProblem
    from build_tools.engine.findings import Findings
    from build_tools.engine.triage import Advice, NextCheck
    from build_tools.knowledge.catalogue import Catalogue

    Document = Mapping[str, Any]


class CaseRefused(ValueError):  # noqa: N818 - reads as a sentence where it is caught
    """Say that a case cannot be used, with every problem found in it."""

    def __init__(self, problems: Iterable[CaseProblem]) -> None:
        self.problems = tuple(problems)
        lines = [f"{one.path}: {one.what}; {one.mend}" for one in self.problems]
        super().__init__("\n".join(lines))


def triage_document(catalogue: Catalogue, document: Document) -> dict[str, Any]:
    """Return the advice on a case as plain JSON.

    Raises:
        CaseRefused: with every field that cannot be used and what to write instead.
        ContradictoryEvidence: if no set of causes can show what was found.

    """
    case, problems = read_case(document, catalogue)
    if problems:
        raise CaseRefused(problems)
    network = network_from_catalogue(catalogue)
    advice = triage(catalogue, network, case)
    knowledge = compile_catalogue(catalogue)
    posteriors = {one.id: one.probability for one in advice.causes}
    pushes = trace(catalogue, network, case, advice.findings, posteriors)
    said = said_of(catalogue, advice.findings)
    return {
        "stop_now": [_stop(knowledge, one) for one in advice.stop_now],
        "causes": [
            {
                "id": one.id,
                "title": one.title,
                "group": one.group,
                "probability": one.probability,
                **_reasons(words.pushes_words(knowledge, pushes[one.id], said)),
            }
            for one in advice.causes
        ],
        "supply": {
            "state": advice.supply.state,
            "probability": advice.supply.probability,
            "because": words.reasons_words(knowledge, advice.supply.because),
        },
        "next": [_next(knowledge, one) for one in advice.next],
        "repair": _repair(knowledge, advice),
        "planned": advice.planned,
        "hold_off": [_held(knowledge, one) for one in advice.hold_off],
        "questions": [_question(knowledge, one) for one in advice.findings.questions],
        "refused": [_refused(one) for one in advice.findings.refused],
        "format": knowledge["format"],
        "version": knowledge["version"],
    }


def said_of(catalogue: Catalogue, findings: Findings) -> dict[str, dict[str, str]]:
    """Return what the words need of a case: answers, and the level each check most likely shows."""
    levels = {}
    for name, weights in findings.results.items():
        place = max(range(len(weights)), key=lambda one: weights[one])
        levels[name] = catalogue.checks[name].levels[place].id
    return {"answers": findings.answers, "levels": levels}


def _stop(knowledge: Document, stop: Document) -> dict[str, Any]:
    because = words.reasons_words(knowledge, stop["because"])
    return {"id": stop["id"], "text": stop["text"], "why": stop["why"], "because": because}


def _reasons(pushes: tuple[list[str], list[str]]) -> dict[str, list[str]]:
    raised, lowered = pushes
    return {"raised_by": raised, "lowered_by": lowered}


def _next(knowledge: Document, one: NextCheck) -> dict[str, Any]:
    check = knowledge["checks"][one.check]
    outcomes = [
        {"level": each.level, "probability": each.probability, "top_cause": each.top_cause}
        for each in one.outcomes
    ]
    return {
        "check": one.check,
        "title": check["title"],
        "leads_to": one.leads_to,
        "minutes": one.minutes,
        "money": one.money,
        "currency": check["currency"],
        "expected_saving": one.expected_saving,
        "because": words.reasons_words(knowledge, one.because),
        "outcomes": [
            {**each, "words": words.outcome_words(knowledge, one.check, each)} for each in outcomes
        ],
    }


def _repair(knowledge: Document, advice: Advice) -> dict[str, Any] | None:
    repair = advice.repair
    if repair is None:
        return None
    return {
        "cause": repair.cause,
        "action": repair.action,
        "part": repair.part,
        "price_low": repair.price_low,
        "price_high": repair.price_high,
        "currency": repair.currency,
        "because": words.reasons_words(knowledge, repair.because),
    }


def _held(knowledge: Document, held: Document) -> dict[str, Any]:
    until = words.until_words(knowledge, held["until"])
    return {**{name: one for name, one in held.items() if name != "until"}, "until": until}


def _question(knowledge: Document, question: Document) -> dict[str, Any]:
    asked = SlipQuestion(**{name: one for name, one in question.items() if name != "check"})
    return {**question, "words": question_words(knowledge, asked)}


def _refused(refused: Document) -> dict[str, Any]:
    problem = ReadingRefused(
        refused["field"], refused["reason"], refused["given"], refused["options"]
    )
    return {**refused, "words": refusal_words(problem)}
