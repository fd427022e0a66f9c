"""Room 5: lay out the page of a readiness monitor: what it needs, what holds it, what to drive.

Every figure carries its mark. That a weak supply holds monitors back is shown as our
reasoning, never as law. It plans no drive.
"""

from collections.abc import Iterator
from typing import Final

from build_tools.knowledge.markup import listed
from build_tools.knowledge.readiness_entries import Blocker, Monitor
from build_tools.knowledge.references import carried
from build_tools.obd.drive_words import CAUTION_WORDS, PLAN_NOTE_WORDS, SEGMENTS
from build_tools.site.page_press import Page, Press, View
from build_tools.site.readiness_names import ENGINES, condition_words, in_sentence

FAMILY: Final = "monitors-and-inspection"
_ALWAYS_FIRST: Final = ("handbook-wins", "no-tool-while-driving", "do-not-clear")


def monitor_page(press: Press, monitor: Monitor) -> Page:
    """Render the page of a monitor."""
    monitors = press.readiness.monitors
    return press.page(
        "monitor.html.j2",
        f"monitors/{monitor.id}",
        title=f"{monitor.title} monitor",
        description=monitor.summary,
        monitor=monitor,
        engines=listed([ENGINES[one] for one in monitor.engines]),
        looks_at=_said(press, monitor.looks_at.says, monitor.looks_at.source),
        needs=[_said(press, one.says, one.source) for one in monitor.needs],
        voltage=_said(press, monitor.voltage_link.says, monitor.voltage_link.source)
        if monitor.voltage_link
        else None,
        conditions=[_said(press, condition_words(one), one.source) for one in monitor.conditions],
        after=[monitors[one] for one in monitor.after if one in monitors],
        blockers=[_blocker(press, one) for one in monitor.blockers],
        cautions=press.cautions(monitor.cautions),
        first=[CAUTION_WORDS[one] for one in _ALWAYS_FIRST],
        segments=list(_segments(press, monitor)),
        no_part=PLAN_NOTE_WORDS["no-part-known"],
        codes=[
            {
                "span": one.first if one.first == one.last else f"{one.first} to {one.last}",
                "mark": press.mark(one.source),
            }
            for one in monitor.codes
        ],
        symptoms=[
            press.refer("symptom", one.id)
            for one in press.catalogue.symptoms.values()
            if one.family == FAMILY
        ],
        practice=press.mark("common-practice"),
        estimate=press.mark("our-estimate"),
        sources=press.marks(carried(monitor)),
        in_sentence=in_sentence(monitor.title),
    )


def _said(press: Press, says: str, source: str) -> View:
    return {"says": says, "mark": press.mark(source)}


def _blocker(press: Press, blocker: Blocker) -> View:
    cause = press.catalogue.causes.get(blocker.cause)
    confirming = cause.confirmed_by[0].check if cause and cause.confirmed_by else None
    check = press.catalogue.checks.get(confirming) if confirming else None
    return {
        "to": press.refer("cause", blocker.cause),
        "why": blocker.why,
        "check": press.refer("check", check.id) if check else None,
        "effort": press.effort(check) if check else None,
    }


def _segments(press: Press, monitor: Monitor) -> Iterator[View]:
    for segment in SEGMENTS:
        if segment.id in monitor.segments:
            yield {
                "title": segment.title,
                "do": segment.do,
                "why": segment.why,
                "minutes": segment.minutes,
                "mark": press.mark(segment.source),
                "cautions": [CAUTION_WORDS[one] for one in segment.cautions],
            }
