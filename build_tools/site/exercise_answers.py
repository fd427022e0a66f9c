"""Room 5: the key to an exercise: what the checker answers to what the sheet tells."""

from dataclasses import asdict
from typing import Any, Final

from build_tools.browser.embedded import browser_modules
from build_tools.engine import words
from build_tools.engine.cases import case_document, read_case
from build_tools.engine.triage import Advice
from build_tools.knowledge import markup
from build_tools.knowledge.catalogue import Catalogue
from build_tools.knowledge.entries import Case
from build_tools.knowledge.link_words import link_document
from build_tools.site.compile_json import compile_catalogue
from build_tools.site.page_advice import advice_on
from build_tools.site.page_press import Press, View

_LINKS: Final = "case/link-document"
_CAUSES, _HELD = 3, 2
# The knowledge last asked about, and its keys by case.
_latest: list[tuple[Catalogue, dict[str, Any]]] = []


def answer_view(press: Press, case: Case) -> View:
    """Return the key to an exercise, with references to the pages it names."""
    found = _all_answers(press)[case.id]
    return {
        **found,
        "stop_now": press.stop_lines(found["stop_now"]),
        "causes": [
            {
                "to": press.refer("cause", one["id"]),
                "odds": markup.fraction_words(one["probability"]),
            }
            for one in found["causes"]
        ],
        "next": press.refer("check", found["next"]) if found["next"] else None,
    }


def _all_answers(press: Press) -> dict[str, Any]:
    if not _latest or _latest[0][0] is not press.catalogue:
        cases = [case for case in press.catalogue.cases.values() if case.is_exercise]
        _latest[:] = [(press.catalogue, _make(press, cases))]
    return _latest[0][1]


def _make(press: Press, cases: list[Case]) -> dict[str, Any]:
    knowledge = compile_catalogue(press.catalogue)
    book, writer = link_document(press.catalogue), browser_modules(_LINKS)
    version = knowledge["version"]
    links = [writer.call(_LINKS, "linkFor", book, case_document(case), version) for case in cases]
    return {
        case.id: {**_answer(press, case, knowledge), "link": link}
        for case, link in zip(cases, links, strict=True)
    }


def _answer(press: Press, case: Case, knowledge: View) -> View:
    car, _ = read_case(case_document(case), press.catalogue)
    advice = advice_on(press, car)
    return {
        "stop_now": [one["id"] for one in advice.stop_now],
        "supply": words.supply_words(advice.supply.state),
        "because": words.reasons_words(knowledge, advice.supply.because),
        "causes": words.named_causes(map(asdict, advice.causes), _CAUSES),
        "next": advice.next[0].check if advice.next else None,
        "why": words.reasons_words(knowledge, _reasons(advice)),
        "action": _action(knowledge, advice),
        "held": [
            {"part": one["part"], "until": words.until_words(knowledge, one["until"])}
            for one in advice.hold_off[:_HELD]
        ],
    }


def _reasons(advice: Advice) -> Any:  # noqa: ANN401 - the plain reasons of an advice
    first = advice.next[0] if advice.next else advice.repair
    return first.because if first else ()


def _action(knowledge: View, advice: Advice) -> str:
    """Say what to do where no check comes next."""
    if advice.next:
        return ""
    if advice.watch:
        return words.watch_words(knowledge, advice.watch)
    return advice.repair.action if advice.repair else ""
