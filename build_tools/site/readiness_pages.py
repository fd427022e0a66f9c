"""Room 5: every page about readiness, the data its own pages load, and their list without scripts.

It joins; what a page says stands in page_monitor.py and page_inspection.py.
"""

import hashlib
import json
from collections.abc import Callable, Iterator
from functools import partial
from typing import Any, Final

from build_tools.knowledge.catalogue import Catalogue
from build_tools.knowledge.readiness_entries import Inspection, Monitor
from build_tools.obd.readiness_commands import readiness_tables
from build_tools.site.compile_json import to_text
from build_tools.site.page_inspection import inspection_page
from build_tools.site.page_monitor import FAMILY, monitor_page
from build_tools.site.page_press import Page, Press, Reference, View
from build_tools.site.readiness_names import ASK_ANYWHERE, METRICS, PLACE_PARTS, STANDINGS

_VERSION_SIGNS: Final = 12
_STANDING_ORDER: Final = (
    ("sourced", "Limit found"),
    ("in-transition", "Being changed"),
    ("guidance", "Guidance"),
    ("historic", "Ended, as far as known"),
    ("no-sourced-rule", "No limit found: ask there"),
)


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
