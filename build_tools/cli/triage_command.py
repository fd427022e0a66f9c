"""Command line: answer one case, as a document for programs and as text for people.

Reads the case, lets the reasoning advise and writes the stable machine interface: the numbers
as they are, the reasons as sentences. It prints nothing and exits nothing.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from build_tools.cli.words import RefusedError
from build_tools.engine import words
from build_tools.engine.cases import read_case
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.noisy_max import ContradictoryEvidence, FrontierTooWide
from build_tools.engine.trace import trace
from build_tools.engine.triage import triage
from build_tools.knowledge.markup import fraction_words
from build_tools.knowledge.sentences import say
from build_tools.measure.gauges_numbers import ReadingRefused, SlipQuestion
from build_tools.measure.words import question_words, refusal_words
from build_tools.site.compile_json import compile_catalogue

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from build_tools.engine.cases import CaseProblem
    from build_tools.engine.findings import Findings
    from build_tools.engine.fit import Fit
    from build_tools.engine.triage import Advice, NextCheck
    from build_tools.knowledge.catalogue import Catalogue

    Document = Mapping[str, Any]

_MOST_CAUSES = 5
# What a worked case says about itself, and no car has.
_AUTHORS_OWN = frozenset({"kind", "id", "title", "status", "reviewed", "story", "expect"})


class CaseRefused(ValueError):  # noqa: N818 - reads as a sentence where it is caught
    """Say that a case cannot be used, with every problem found in it."""

    def __init__(self, problems: Iterable[CaseProblem]) -> None:
        self.problems = tuple(problems)
        super().__init__(self.shown(""))

    def shown(self, name: str) -> str:
        """Write a line for each problem, with the name of the file it stands in."""
        before = f"{name}: " if name else ""
        return "\n".join(f"{before}{one.path}: {one.what}; {one.mend}" for one in self.problems)


def plain_case(value: object, shown: str = "") -> dict[str, Any]:
    """Take a case as it was read: a set of fields, or a worked case without its author's own.

    Raises:
        RefusedError: if it is neither.
    """
    if not isinstance(value, dict):
        before = f"{shown}: " if shown else ""
        raise RefusedError(
            f"{before}a case is a set of fields, such as {{symptoms: [flat-overnight]}}"
        )
    worked = value.get("kind") == "case"
    return {key: one for key, one in value.items() if not (worked and key in _AUTHORS_OWN)}


def case_advice(catalogue: Catalogue, value: object, shown: str = "") -> dict[str, Any]:
    """Return the advice on a case as it was read.

    Raises:
        RefusedError: with every field that cannot be used, or why no advice can be given.
    """
    try:
        return triage_document(catalogue, plain_case(value, shown))
    except CaseRefused as refused:
        raise RefusedError(refused.shown(shown)) from None
    except (ContradictoryEvidence, FrontierTooWide) as error:
        raise RefusedError(f"{shown}: {error}" if shown else str(error)) from None


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
            {**asdict(one), **_reasons(words.pushes_words(knowledge, pushes[one.id], said))}
            for one in advice.causes
        ],
        "supply": {
            "state": advice.supply.state,
            "probability": advice.supply.probability,
            "because": words.reasons_words(knowledge, advice.supply.because),
            "matters": advice.supply.matters,
            "proven": sorted(advice.supply.proven),
        },
        "next": [_next(knowledge, one) for one in advice.next],
        "repair": _repair(knowledge, advice),
        "hold_off": [_held(knowledge, one) for one in advice.hold_off],
        "withheld": [dict(one) for one in advice.withheld],
        "instead": [knowledge["abilities"][one]["without"] for one in advice.instead],
        "workshop": None if advice.workshop is None else asdict(advice.workshop),
        "fit": _fit(knowledge, advice.fit),
        "watch": None if advice.watch is None else words.watch_words(knowledge, advice.watch),
        "set_aside": [
            {"check": one.check, "words": words.set_aside_words(knowledge, asdict(one))}
            for one in advice.findings.set_aside
        ],
        "planned": advice.planned,
        "questions": [_question(knowledge, one) for one in advice.findings.questions],
        "refused": [_refused(one) for one in advice.findings.refused],
        "format": knowledge["format"],
        "version": knowledge["version"],
    }


def _fit(knowledge: Document, fit: Fit | None) -> dict[str, Any] | None:
    """Say how surprising the results are together; the words only where they hardly fit."""
    if fit is None:
        return None
    return {**asdict(fit), "words": words.fit_words(knowledge, fit.least) if fit.bad else ""}


def said_of(catalogue: Catalogue, findings: Findings) -> dict[str, dict[str, str]]:
    """Return what the words need of a case.

    Answers, the level each check most likely shows, and what repairs did.
    """
    levels = {}
    for name, weights in findings.results.items():
        place = max(range(len(weights)), key=lambda one: weights[one])
        levels[name] = catalogue.checks[name].levels[place].id
    return {"answers": findings.answers, "levels": levels, "repairs": findings.repairs}


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
        "wait_hours": one.wait_hours,
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
        "who": repair.who,
        "part": repair.part,
        "price_low": repair.price_low,
        "price_high": repair.price_high,
        "currency": repair.currency,
        "wait_hours": repair.wait_hours,
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


def advice_text(advice: Document) -> str:
    """Return the advice as paragraphs: stop now, next check, supply, causes, parts to wait for."""
    parts = [
        [say("advice-stop", text=one["text"]) for one in advice["stop_now"]],
        [advice["fit"]["words"]] if advice["fit"] and advice["fit"]["bad"] else [],
        [advice["watch"]] if advice["watch"] else [],
        [one["words"] for one in advice["set_aside"]],
        advice["instead"],
        _next_lines(advice),
        _repair_lines(advice),
        # What was found before the trouble ended says nothing of the supply as it is now.
        [] if advice["watch"] else _supply_lines(advice),
        [] if advice["watch"] else _causes_lines(advice),
        _hold_lines(advice),
        [] if advice["planned"] == "full" else [say("planned", how=advice["planned"])],
    ]
    return "\n\n".join("\n".join(part) for part in parts if part)


def _supply_lines(advice: Document) -> list[str]:
    supply = advice["supply"]
    if not supply["matters"]:
        return []
    return [say("advice-supply", state=words.supply_name(supply)), *_because(supply)]


def _because(one: Document) -> list[str]:
    return [f"  {reason}" for reason in one["because"]]


def _next_lines(advice: Document) -> list[str]:
    if not advice["next"]:
        return []
    first, *others = advice["next"]
    lines = [say("advice-next", check=first["title"], minutes=f"{first['minutes']:g}")]
    lines += _because(first)
    if others:
        lines.append(say("advice-instead", checks=", ".join(one["title"] for one in others)))
    return lines


def _repair_lines(advice: Document) -> list[str]:
    repair, workshop = advice["repair"], advice["workshop"]
    if workshop is not None:
        amount = words.round_money(workshop["price"])
        return [say("advice-workshop", amount=amount, currency=workshop["currency"])]
    return (
        [say("advice-repair", who=repair["who"], action=repair["action"]), *_because(repair)]
        if repair
        else []
    )


def _causes_lines(advice: Document) -> list[str]:
    return [say("advice-causes")] + [
        f"  {one['title']}: {fraction_words(one['probability'])}"
        for one in words.named_causes(advice["causes"], _MOST_CAUSES)
    ]


def _hold_lines(advice: Document) -> list[str]:
    held = [
        say(
            "advice-held",
            part=one["part"],
            low=f"{one['price_low']:g}",
            high=f"{one['price_high']:g}",
            currency=one["currency"],
            odds=fraction_words(one["probability_at_fault"]),
            until=one["until"],
        )
        for one in advice["hold_off"]
    ]
    return [say("advice-hold-off"), *(f"  {one}" for one in held)] if held else []
