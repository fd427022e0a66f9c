"""Room 5: the list of exercises for instructors: by topic, each with a level and a time.

What stands in the list gives nothing away: it names a sheet by its code and by what was noticed.
"""

from typing import Final

from build_tools.knowledge.entries import Case
from build_tools.site.page_press import Press, View
from build_tools.site.print_sheets import exercise_address, exercise_code

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
