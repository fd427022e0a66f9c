"""Room 5: make every generated page, and the fragments hand-written pages ask for.

A page that cannot be made becomes a problem and is left out; the others go on. It writes
no file and knows nothing of the site generator. The list of exercises gives nothing away: it names
a sheet by its code and by what was noticed.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from functools import partial
from typing import Final

import jinja2

from build_tools.knowledge.entries import Case, Source
from build_tools.knowledge.problems import Complaint, Problem, Severity, Span
from build_tools.knowledge.references import uses as uses_of_marks
from build_tools.knowledge.sentences import say
from build_tools.site.navigation import (
    class_sheets_fragment,
    families_fragment,
    hazards_fragment,
    list_pages,
    stop_lines_fragment,
    waiting_fragment,
)
from build_tools.site.page_cause import cause_page
from build_tools.site.page_check import check_page, meter_fragment
from build_tools.site.page_gauge import gauge_page
from build_tools.site.page_how_well import base_rates_fragment, value_fragment
from build_tools.site.page_press import Page, Press, View
from build_tools.site.page_sum import sum_page
from build_tools.site.page_symptom import symptom_page
from build_tools.site.print_sheets import (
    answer_key,
    class_sheet,
    exercise_address,
    exercise_code,
    exercise_sheet,
)
from build_tools.site.readiness_pages import readiness_fragment, readiness_lists, readiness_makers
from build_tools.site.reading_shelf import readings_fragment

CANNOT_MAKE = Complaint(
    code="BLD901",
    slug="page-not-made",
    severity=Severity.ERROR,
    why="the page is missing from the site and every link to it leads nowhere",
)
_FILL = re.compile(r"<!-- fill: ([a-z-]+) -->")

# Things told on a sheet, the most for each level but the last: our choice, not a scale of others.
_LEVELS: Final = (5, 10)
# Our estimate of a learner's time: four questions, and a while for each thing told.
_MINUTES_FOR_QUESTIONS: Final = 6
_MINUTES_EACH: Final = 1


def worked_cases_fragment(press: Press, up: str) -> str:
    """Render the list of exercises by family, for the page for instructors."""
    rows: dict[str, list[View]] = {}
    for case in press.catalogue.cases.values():
        if case.is_exercise:
            rows.setdefault(_family(press, case), []).append(_row(press, case))
    families = press.catalogue.vocabulary.families.values()
    topics: list[View] = [
        {"id": family.id, "title": family.title, "cases": sorted(rows[family.id], key=_by_level)}
        for family in sorted(families, key=lambda one: one.order)
        if family.id in rows
    ]
    return press.env.get_template("worked_cases.html.j2").render(topics=topics, up=up)


def _by_level(row: View) -> tuple[int, str]:
    return row["level"], row["code"]


def _row(press: Press, case: Case) -> View:
    told = len(case.symptoms) + len(case.context) + len(case.readings) + len(case.outcomes)
    return {
        "code": exercise_code(case.id),
        "address": f"{exercise_address(case.id)}/",
        "level": 1 + sum(told > most for most in _LEVELS),
        "minutes": _MINUTES_FOR_QUESTIONS + _MINUTES_EACH * told,
        "noticed": [press.refer("symptom", one) for one in case.symptoms],
    }


def _family(press: Press, case: Case) -> str:
    """Return the family of the first complaint; a circumstance alone names no topic."""
    told = [press.catalogue.symptoms[one] for one in case.symptoms]
    complaints = [one for one in told if one.role == "complaint"]
    return (complaints or told)[0].family


_SEEN_WORDS = {
    "full": "We read the whole text.",
    "excerpt": "We read an excerpt.",
    "second-hand": "We have it from another text that quotes it.",
}


def source_page(press: Press, source: Source, uses: Mapping[str, list[tuple[str, str]]]) -> Page:
    """Render the page of a source; `uses` comes from `references.uses`."""
    return press.page(
        "source.html.j2",
        f"sources/{source.id}",
        title=source.title,
        description=f"{source.title}, {source.section}",
        source=source,
        mark_words=say("mark", mark=source.mark),
        seen=_SEEN_WORDS.get(source.seen, source.seen),
        uses=[press.refer(kind, one) for kind, one in uses.get(source.id, [])],
    )


FRAGMENTS: dict[str, Callable[[Press, str], str]] = {
    "base-rates": base_rates_fragment,
    "class-sheets": class_sheets_fragment,
    "families": families_fragment,
    "meter-dial": meter_fragment,
    "hazards": hazards_fragment,
    "readiness": readiness_fragment,
    "readings": readings_fragment,
    "stop-lines": stop_lines_fragment,
    "value": value_fragment,
    "waiting": waiting_fragment,
    "worked-cases": worked_cases_fragment,
}


def make_pages(press: Press) -> tuple[list[Page], list[Problem]]:
    """Make every generated page, in a fixed order, and tell which could not be made."""
    pages: list[Page] = []
    problems: list[Problem] = []
    for kind, entry_id, make in _makers(press):
        try:
            pages.append(make())
        except (KeyError, ValueError, IndexError, jinja2.TemplateError) as error:
            problems.append(_cannot_make(press, kind, entry_id, error))
    try:
        pages.extend(list_pages(press))
        pages.extend(readiness_lists(press))
    except (KeyError, ValueError, jinja2.TemplateError) as error:
        problems.append(_cannot_make(press, "list", "lists", error))
    return pages, problems


def fill(text: str, press: Press, up: str) -> str:
    """Replace `<!-- fill: name -->` in a hand-written page by the named fragment.

    Raises:
        KeyError: if there is no such fragment.
    """
    return _FILL.sub(lambda found: FRAGMENTS[found[1]](press, up), text)


def _makers(press: Press) -> Iterator[tuple[str, str, Callable[[], Page]]]:
    catalogue = press.catalogue
    for symptom in catalogue.symptoms.values():
        yield "symptom", symptom.id, partial(symptom_page, press, symptom)
        yield "symptom", symptom.id, partial(class_sheet, press, symptom)
    for case in catalogue.cases.values():
        if case.is_exercise:
            yield "case", case.id, partial(exercise_sheet, press, case)
    yield "list", "answer-key", partial(answer_key, press)
    for cause in catalogue.causes.values():
        yield "cause", cause.id, partial(cause_page, press, cause)
    for check in catalogue.checks.values():
        yield "check", check.id, partial(check_page, press, check)
    for gauge in catalogue.gauges.values():
        yield "gauge", gauge.id, partial(gauge_page, press, gauge)
    for one in catalogue.sums.values():
        yield "sum", one.id, partial(sum_page, press, one)
    yield from readiness_makers(press)
    uses = uses_of_marks(catalogue)
    for source in catalogue.sources.values():
        yield "source", source.id, partial(source_page, press, source, uses)


def _cannot_make(press: Press, kind: str, entry_id: str, error: Exception) -> Problem:
    known = (kind, entry_id) in press.catalogue.documents
    place = press.catalogue.place(kind, entry_id) if known else Span(f"{kind}/{entry_id}")
    return CANNOT_MAKE.at(
        place,
        f'the page of {kind} "{entry_id}" could not be made: {type(error).__name__} {error}',
        "mend what the other messages name, then build again",
    )
