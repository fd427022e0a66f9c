"""Room 5: lay out sheets for a class: a symptom without its answers, a case as an exercise.

The sheets name checks in the order of the alphabet, so that the order gives nothing away.
An exercise has an address that does not tell its title, for the same reason.
"""

import hashlib
from collections.abc import Iterator

from build_tools.knowledge import markup
from build_tools.knowledge.entries import Case, Symptom
from build_tools.site.case_words import describe_case
from build_tools.site.exercise_answers import answer_view
from build_tools.site.page_advice import advice_for
from build_tools.site.page_press import Page, Press, View
from build_tools.site.qr import qr_code

MOST_CHECKS = 8
MOST_SAYINGS = 5
_BRIEF_DIGEST, _CODE_LENGTH = 8, 4


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
