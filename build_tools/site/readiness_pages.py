"""Room 5: every page about readiness, the data its own pages load, and their list without scripts.

A page of a place shows the rule, how each part of it was seen, and what to ask; it applies no rule.
A page of a monitor says what it needs, what holds it, and what to drive. Every figure carries its
mark. That a weak supply holds monitors back is shown as our reasoning, never as law.
"""

import hashlib
import json
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import Any, Final

from build_tools.knowledge.catalogue import Catalogue
from build_tools.knowledge.markup import listed
from build_tools.knowledge.readiness_entries import (
    Blocker,
    ForcedReady,
    Inspection,
    Monitor,
    YearBand,
)
from build_tools.knowledge.references import carried
from build_tools.knowledge.sentences import forms, say
from build_tools.obd.drive_words import CAUTION_WORDS, PLAN_NOTE_WORDS, SEGMENTS
from build_tools.obd.readiness_commands import readiness_tables
from build_tools.site.compile_json import to_text
from build_tools.site.page_press import Page, Press, Reference, View
from build_tools.site.readiness_names import (
    ASK_ANYWHERE,
    ENGINES,
    METRICS,
    PLACE_PARTS,
    STANDINGS,
    condition_words,
    in_sentence,
    years_words,
)

_VERSION_SIGNS: Final = 12
_STANDING_ORDER: Final = (
    ("sourced", "Limit found"),
    ("in-transition", "Being changed"),
    ("guidance", "Guidance"),
    ("historic", "Ended, as far as known"),
    ("no-sourced-rule", "No limit found: ask there"),
)


def inspection_page(press: Press, rule: Inspection) -> Page:
    """Render the page of a place."""
    return press.page(
        "inspection.html.j2",
        f"inspections/{rule.id}",
        title=f"Monitors at inspection: {rule.title}",
        description=rule.summary,
        rule=rule,
        standing=STANDINGS[rule.standing],
        bands=[_band(press, one) for one in rule.bands],
        forced=list(_forced(press, rule)),
        outcome=say("inspection-result", result=rule.not_ready.result) if rule.not_ready else None,
        permanent=_permanent(rule),
        place_parts=[
            {
                "id": name.replace("_", "-"),
                "title": title,
                "said": getattr(rule, name),
                "gap": say("inspection-gap", gap=name),
            }
            for name, title in PLACE_PARTS.items()
        ],
        mark_words=forms("inspection-mark"),
    )


def _titles(press: Press, ids: Sequence[str]) -> list[str]:
    monitors = press.readiness.monitors
    return [
        in_sentence(monitors[one].title) if one in monitors else one.replace("-", " ")
        for one in ids
    ]


def _band(press: Press, band: YearBand) -> View:
    only = band.allowed_only
    names = None if only is None else listed(_titles(press, only), "or") or "none"
    return {
        "years": years_words(band.from_year, band.to_year),
        "fuels": listed(list(band.fuels)),
        "allowed": str(band.allowed) if band.allowed else "none",
        "only": names,
        "note": band.note,
        "mark": band.mark,
    }


def _forced(press: Press, rule: Inspection) -> Iterator[View]:
    for one in rule.forced_ready:
        yield {"says": _forced_words(press, one), "mark": one.mark}


def _forced_words(press: Press, forced: ForcedReady) -> str:
    names = listed(_titles(press, forced.monitors))
    if forced.when == "always":
        return f"At every test, if the car has them: {names}."
    if forced.when == "lamp-code":
        each = listed(_titles(press, forced.monitors)) if forced.monitors else "each monitor"
        return f"At a retest: {each}, if its code had lit the lamp."
    if forced.when == "repair":
        return f"At a retest after its repair: {names}."
    first, last = forced.first_code, forced.last_code
    span = first if first == last else f"{first} to {last}"
    return f"At a retest after a code from {span}: {names}."


def _permanent(rule: Inspection) -> View | None:
    policy = rule.permanent_code
    if policy is None or policy.policy == "not-seen":
        return None
    exempt = policy.exemption
    exemption = None
    if exempt:
        exemption = {
            "says": f"By another account it is left out after {exempt.warm_ups} warm-ups and "
            f"{exempt.distance_km:g} km since codes were cleared, from model year "
            f"{exempt.from_year}.",
            "mark": exempt.mark,
        }
    return {
        "says": "A permanent code counts, even with the lamp off.",
        "mark": policy.mark,
        "exemption": exemption,
    }


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


def readiness_makers(press: Press) -> Iterator[tuple[str, str, Callable[[], Page]]]:
    """Yield the maker of every page of a monitor and of a place."""
    for monitor in press.readiness.monitors.values():
        yield "monitor", monitor.id, partial(monitor_page, press, monitor)
    for rule in press.readiness.inspections.values():
        yield "inspection", rule.id, partial(inspection_page, press, rule)


def readiness_lists(press: Press) -> Iterator[Page]:
    """Yield the list of monitors and the list of places."""
    folio = Reference("readiness", "Ready for inspection", "", "readiness/")
    yield press.page(
        "list.html.j2",
        "monitors",
        title="Readiness monitors",
        description="The self-tests an inspection may ask about: what each needs, what holds it.",
        folio=folio,
        groups=_monitor_groups(press),
    )
    yield press.page(
        "list.html.j2",
        "inspections",
        title="Inspection by place",
        description="What was seen of each place's rule about monitors, and how sure it is.",
        folio=folio,
        groups=_place_groups(press),
    )


def readiness_fragment(press: Press, up: str) -> str:
    """Render what the readiness page shows without a script: monitors, places, symptoms."""
    family = press.catalogue.vocabulary.families.get(FAMILY)
    symptoms = [
        press.refer("symptom", one.id)
        for one in press.catalogue.symptoms.values()
        if one.family == FAMILY
    ]
    return press.env.get_template("readiness.html.j2").render(
        up=up,
        family={"id": FAMILY, "title": family.title if family else "Monitors"},
        symptoms=symptoms,
        monitor_groups=_monitor_groups(press),
        place_groups=_place_groups(press),
    )


# Texts that the page for a log of a drive cites by itself.
_CITED: Final = ("warm-up-cycle-texts",)


def readiness_data(catalogue: Catalogue) -> str:
    """Write the data of the readiness pages; `version` is a hash of everything else.

    Of the sources only those that a figure on these pages cites come along.
    """
    readiness = catalogue.readiness
    tables: dict[str, Any] = {**readiness_tables(readiness)}
    conditions = (one for each in readiness.monitors.values() for one in each.conditions)
    cited = {*_CITED, *(one.source for one in conditions)} & set(catalogue.sources)
    named = {name: catalogue.sources[name] for name in sorted(cited)}
    tables["sources"] = {name: {"title": s.title, "mark": s.mark} for name, s in named.items()}
    tables["words"] = {
        **tables["words"],
        "standings": STANDINGS,
        "ask_anywhere": ASK_ANYWHERE,
        "place_parts": PLACE_PARTS,
    }
    tables["metrics"] = {
        name: {"title": title, "unit": unit} for name, (title, unit) in METRICS.items()
    }
    plain = json.loads(json.dumps(tables))
    version = hashlib.sha256(to_text(plain).encode()).hexdigest()[:_VERSION_SIGNS]
    return to_text({"format": plain.pop("format"), "version": version, **plain})


def _monitor_groups(press: Press) -> list[View]:
    def rows(wanted: Callable[[Monitor], bool]) -> list[Reference]:
        return [
            Reference(one.id, one.title, one.summary, f"monitors/{one.id}/")
            for one in press.readiness.monitors.values()
            if wanted(one)
        ]

    groups = (
        ("spark", "Gasoline", rows(lambda m: not m.continuous and "spark" in m.engines)),
        (
            "compression",
            "Diesel",
            rows(lambda m: not m.continuous and m.engines == ("compression",)),
        ),
        ("continuous", "Always running, seldom counted", rows(lambda m: m.continuous)),
    )
    return [{"id": key, "title": title, "entries": found} for key, title, found in groups if found]


def _place_groups(press: Press) -> list[View]:
    groups = []
    for standing, title in _STANDING_ORDER:
        entries = [
            _place(one)
            for one in sorted(press.readiness.inspections.values(), key=lambda one: one.title)
            if one.standing == standing
        ]
        if entries:
            groups.append({"id": standing, "title": title, "entries": entries})
    return groups


def _place(rule: Inspection) -> Reference:
    return Reference(rule.id, rule.title, rule.summary, f"inspections/{rule.id}/")
