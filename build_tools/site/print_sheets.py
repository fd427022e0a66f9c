"""Room 5: lay out sheets for a class: a symptom without its answers, a case as an exercise.

The sheets name checks in the order of the alphabet, so that the order gives nothing away.
An exercise has an address that does not tell its title, for the same reason.
The key to an exercise is what the checker answers to what its sheet tells.
"""

import hashlib
from collections.abc import Iterator
from dataclasses import asdict
from typing import Any, Final

from build_tools.browser.embedded import browser_modules
from build_tools.engine import words
from build_tools.engine.cases import case_document, read_case
from build_tools.engine.triage import Advice
from build_tools.knowledge import markup
from build_tools.knowledge.catalogue import Catalogue
from build_tools.knowledge.entries import Case, Symptom
from build_tools.knowledge.link_words import link_document
from build_tools.site.case_words import describe_case
from build_tools.site.compile_json import compile_catalogue
from build_tools.site.page_advice import advice_for, advice_on
from build_tools.site.page_press import Page, Press, View
from build_tools.site.qr import qr_code

MOST_CHECKS = 8
MOST_SAYINGS = 5
_BRIEF_DIGEST, _CODE_LENGTH = 8, 4

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


def class_sheet(press: Press, symptom: Symptom) -> Page:
    """Render the class sheet of a symptom."""
    checks = _checks(press, symptom)
    hazards = [hazard for one in checks for hazard in press.catalogue.checks[one].cautions]
    return press.page(
        "class_sheet.html.j2",
        f"teach/{symptom.id}",
        title=symptom.title,
        description=f"Class sheet without answers: {markup.lower_first(symptom.title)}.",
        symptom=symptom,
        says=symptom.says[:MOST_SAYINGS],
        stop_now=press.stop_lines(symptom.stop_now),
        cautions=press.cautions(hazards),
        checks=[_row(press, one) for one in checks],
    )


def exercise_sheet(press: Press, case: Case) -> Page:
    """Render a worked case as an exercise, its answer folded away and never printed."""
    key = answer_view(press, case)
    link = f"checker/{key['link']}"
    return press.page(
        "exercise.html.j2",
        exercise_address(case.id),
        title=f"Exercise {exercise_code(case.id)}",
        description="What was noticed and measured on one invented car. What follows from it?",
        case=describe_case(press, case),
        facts=list(_facts(press, case)),
        answer_key=key,
        link=link,
        qr=qr_code(f"{press.site_url}{link}") if press.site_url else "",
    )


def answer_key(press: Press) -> Page:
    """Render the short answers of all exercises, for whoever sets several."""
    cases = [case for case in press.catalogue.cases.values() if case.is_exercise]
    return press.page(
        "answer_key.html.j2",
        "answer-key",
        title="Answer key",
        description="The short answers of all exercises, for instructors.",
        rows=[
            {
                "title": f"{exercise_code(case.id)}: {case.title}",
                "address": f"{exercise_address(case.id)}/",
                "answer": answer_view(press, case),
            }
            for case in sorted(cases, key=lambda case: exercise_code(case.id))
        ],
    )


def exercise_address(case_id: str) -> str:
    """Return the address of an exercise: stable, and silent about the case."""
    return f"teach/exercise-{_digest(case_id)}"


def exercise_code(case_id: str) -> str:
    """Return the short name of a sheet, the beginning of what ends its address."""
    return _digest(case_id)[:_CODE_LENGTH].upper()


def _digest(case_id: str) -> str:
    return hashlib.sha256(case_id.encode()).hexdigest()[:_BRIEF_DIGEST]


def _checks(press: Press, symptom: Symptom) -> list[str]:
    """Return the checks a class could make, by title; the ones advised first are among them."""
    advised = [row.check for row in advice_for(press, symptom.id).next]
    named = [check for link in symptom.causes for check in link.checks]
    known = [one for one in dict.fromkeys([*advised, *named]) if one in press.catalogue.checks]
    return sorted(known[:MOST_CHECKS], key=lambda one: press.catalogue.checks[one].title)


def _row(press: Press, check_id: str) -> View:
    check = press.catalogue.checks[check_id]
    gauge = press.catalogue.gauges.get(check.gauge or "")
    known = press.catalogue.contexts
    conditions = [known[one].title if one in known else one for one in check.conditions]
    unit = markup.unit_symbol(gauge.unit, press.catalogue.vocabulary.units) if gauge else ""
    return {
        "to": press.refer("check", check_id),
        "unit": unit,
        "conditions": [markup.lower_first(one) for one in conditions],
    }


def _facts(press: Press, case: Case) -> Iterator[View]:
    for context_id, value in case.context.items():
        if isinstance(value, str):
            shown = press.option_label(context_id, value)
        else:
            symbol = markup.unit_symbol(value.unit, press.catalogue.vocabulary.units)
            shown = markup.with_unit(value.value, symbol)
        yield {"title": press.fact_title(context_id), "value": shown}
