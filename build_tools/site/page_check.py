"""Room 5: lay out the page of a check: cautions, tools, steps, scale, meanings, limits."""

import re
from collections.abc import Iterator
from pathlib import Path

from markupsafe import Markup

from build_tools.knowledge.entries import Check, Level, Need
from build_tools.knowledge.references import carried
from build_tools.site.gauge_pictures import densities, table_views
from build_tools.site.page_press import Page, Press, View

_ASPECT_WORDS = {
    "battery": "the battery",
    "connection": "the connections",
    "charging": "the charging",
    "drain": "the parked drain",
}


def check_page(press: Press, check: Check) -> Page:
    """Render the page of a check."""
    gauge = press.catalogue.gauges.get(check.gauge) if check.gauge else None
    ahead = _ahead(check)
    return press.page(
        "check.html.j2",
        f"checks/{check.id}",
        title=check.title,
        description=check.summary,
        check=check,
        effort=press.effort(check),
        cautions=press.cautions(ahead),
        needs=[_need(press, need) for need in check.needs],
        drawings=[
            drawn
            for one in (check.drawing, *check.drawing_with.values())
            if (drawn := _drawing(press, one))
        ],
        steps=list(_steps(press, check, ahead)),
        gauge=press.refer("gauge", gauge.id) if gauge else None,
        conditions=_conditions(press, check),
        tables=table_views(press, gauge, check) if gauge else [],
        levels=list(_levels(press, check)),
        told_apart=[press.refer("cause", shift.cause) for shift in check.shifts],
        symptoms=[press.refer("symptom", one) for one in _symptoms(press, check)],
        sources=press.marks(_sources(press, check)),
    )


def _ahead(check: Check) -> list[str]:
    """Name the cautions that stand before all steps: the first, and those of no one step."""
    in_steps = {step.caution for step in check.steps}
    return [one for place, one in enumerate(check.cautions) if place == 0 or one not in in_steps]


def _steps(press: Press, check: Check, ahead: list[str]) -> Iterator[View]:
    """Yield the steps; a caution that stood higher up is one line only."""
    shown = set(ahead)
    for step in check.steps:
        yield {
            "do": step.do,
            "caution": press.caution(step.caution) if step.caution else None,
            "again": step.caution in shown,
            "mark": press.mark(step.source) if step.source else None,
        }
        shown.add(step.caution or "")


def _need(press: Press, need: Need) -> View:
    return {
        "to": press.refer("check", need.check),
        "at_most": press.level_label(need.check, need.at_most) if need.at_most else None,
        "otherwise": press.refer("check", need.otherwise) if need.otherwise else None,
    }


def meter_fragment(press: Press, up: str) -> str:  # noqa: ARG001 - the form of a fragment
    """Return the drawing of a meter's dial and sockets for a hand-written page."""
    return f'<figure class="drawing">{_drawing(press, "meter-dial") or ""}</figure>'


def _drawing(press: Press, drawing_id: str | None) -> Markup | None:
    """Return a line drawing for inlining, None when there is none.

    Only our own files are read; scripts and styles are refused all the same.
    """
    if drawing_id is None or press.drawings is None:
        return None
    path: Path = press.drawings / f"{drawing_id}.svg"
    if not path.is_file():
        return None
    svg = path.read_text("utf-8")
    svg = svg[svg.index("<svg") :]
    if re.search(r"<script|<style|\sstyle=|\son\w+=", svg):
        return None
    return Markup(svg)  # noqa: S704 - a file of the project, just searched for scripts


def _conditions(press: Press, check: Check) -> list[str]:
    known = press.catalogue.contexts
    return [known[one].question if one in known else one for one in check.conditions]


def _levels(press: Press, check: Check) -> Iterator[View]:
    gauge = press.catalogue.gauges.get(check.gauge) if check.gauge else None
    hatch = densities(gauge, check) if gauge else {}
    names = {band.id: band.label for band in gauge.bands} if gauge else {}
    for level in check.levels:
        yield {
            "label": level.label,
            "means": level.means,
            "bands": [names.get(band, band) for band in level.bands],
            "density": hatch.get(level.bands[0], 0) if level.bands else None,
            "proves": _proves(check, level),
            "stop_now": press.stop_lines(level.stop_now),
            "cold": press.cold_stop(level.stop_colder),
        }


def _proves(check: Check, level: Level) -> str:
    if not level.proves or not check.aspects:
        return ""
    words = [_ASPECT_WORDS.get(one, one) for one in check.aspects]
    return " and ".join(words)


def _symptoms(press: Press, check: Check) -> list[str]:
    """Return the symptoms that name the check as one that settles a cause."""
    return press.symptoms_by_check.get(check.id, [])


def _sources(press: Press, check: Check) -> Iterator[str]:
    """Yield the marks of the check's own figures, then those of the edges it is read by."""
    yield from carried(check)
    gauge = press.catalogue.gauges.get(check.gauge) if check.gauge else None
    if gauge:
        yield from carried(gauge.tables)
