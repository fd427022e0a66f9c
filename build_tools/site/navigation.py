"""Room 5: lay out the pages that lead to others: lists, families, words, sources.

Also the fragments that hand-written pages ask for, such as the list of families that lets
the first page work without a script.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from build_tools.knowledge.entries import Cause, Check
from build_tools.site.page_press import Page, Press, Reference, View

_ASPECT_ORDER = (
    ("battery", "The battery"),
    ("connection", "Connections"),
    ("charging", "Charging"),
    ("drain", "Parked draw"),
)


def list_pages(press: Press) -> Iterator[Page]:
    """Yield every list page, in a fixed order."""
    yield _symptom_list(press)
    yield from _family_pages(press)
    yield _cause_list(press)
    yield _check_list(press)
    yield _source_list(press)
    yield _glossary(press)


def families_with_symptoms(press: Press) -> list[View]:
    """Return the families in their order, each with its symptoms; empty ones left out."""
    families = sorted(press.catalogue.vocabulary.families.values(), key=lambda f: (f.order, f.id))
    rows = []
    for family in families:
        inside = [
            press.refer("symptom", symptom.id)
            for symptom in press.catalogue.symptoms.values()
            if symptom.family == family.id
        ]
        if inside:
            rows.append({"id": family.id, "title": family.title, "symptoms": inside})
    return rows


def families_fragment(press: Press, up: str) -> str:
    """Render the list of families for a hand-written page `up` levels below the root."""
    template = press.env.get_template("families.html.j2")
    return template.render(families=families_with_symptoms(press), up=up)


def class_sheets_fragment(press: Press, up: str) -> str:
    """Render the list of class sheets by family, for the page for instructors."""
    template = press.env.get_template("class_sheets.html.j2")
    return template.render(families=families_with_symptoms(press), up=up)


def stop_lines_fragment(press: Press, up: str) -> str:
    """Render every stop-now line, for the page about safety."""
    lines = press.stop_lines(press.catalogue.vocabulary.stop_lines)
    return press.env.get_template("stop_lines.html.j2").render(lines=lines, up=up)


def hazards_fragment(press: Press, up: str) -> str:
    """Render every caution with its mark, for the page about safety."""
    hazards = [
        {**press.caution(one.id), "mark": press.mark(one.source) if one.source else None}
        for one in press.catalogue.vocabulary.hazards.values()
    ]
    return press.env.get_template("hazards.html.j2").render(hazards=hazards, up=up)


def waiting_fragment(press: Press, up: str) -> str:
    """Render the entries that no second person has read, kind by kind, longest waiting first."""
    kinds = [
        {"title": f"{kind.capitalize()}s", "entries": waiting}
        for kind in ("symptom", "cause", "check", "gauge", "sum")
        if (waiting := _drafts(press, kind))
    ]
    return press.env.get_template("waiting.html.j2").render(kinds=kinds, up=up)


def _drafts(press: Press, kind: str) -> list[tuple[Reference, str]]:
    entries: Iterable[Any] = press.catalogue.of_kind(kind).values()
    drafts = sorted((one.reviewed, one.title, one.id) for one in entries if one.status == "draft")
    return [(press.refer(kind, name), day) for day, _, name in drafts]


def _symptom_list(press: Press) -> Page:
    return press.page(
        "symptoms.html.j2",
        "symptoms",
        title="Symptoms",
        description="What the car does, by family. Choose the one nearest to what you notice.",
        families=families_with_symptoms(press),
    )


def _family_pages(press: Press) -> Iterator[Page]:
    for family in families_with_symptoms(press):
        yield press.page(
            "list.html.j2",
            f"families/{family['id']}",
            title=family["title"],
            description="Choose the nearest one. Its page says what to check first.",
            folio=Reference("symptoms", "Symptoms", "", "symptoms/"),
            groups=[_plain_group(family["symptoms"])],
        )


def _cause_list(press: Press) -> Page:
    groups = press.catalogue.vocabulary.groups
    by_group: dict[str, list[Cause]] = {}
    for cause in press.catalogue.causes.values():
        by_group.setdefault(cause.group, []).append(cause)
    order = [one for one in groups if one in by_group] + sorted(set(by_group) - set(groups))
    return press.page(
        "list.html.j2",
        "causes",
        title="Causes",
        description="What can be behind a symptom. Each page says what confirms it.",
        folio=None,
        groups=[
            {
                "id": group,
                "title": groups[group].title if group in groups else group.replace("-", " "),
                "entries": [press.refer("cause", cause.id) for cause in by_group[group]],
            }
            for group in order
        ],
    )


def _check_list(press: Press) -> Page:
    def of(aspect: str | None) -> list[Reference]:
        return [
            press.refer("check", check.id)
            for check in press.catalogue.checks.values()
            if _first_aspect(check) == aspect
        ]

    groups = [
        {"id": aspect, "title": title, "entries": of(aspect)} for aspect, title in _ASPECT_ORDER
    ]
    groups.append({"id": "other", "title": "Everything else", "entries": of(None)})
    return press.page(
        "list.html.j2",
        "checks",
        title="Checks",
        description="What you can do in the driveway that tells one cause from another.",
        folio=None,
        groups=[group for group in groups if group["entries"]],
    )


def _first_aspect(check: Check) -> str | None:
    return check.aspects[0] if check.aspects else None


def _source_list(press: Press) -> Page:
    groups = []
    for mark, title in (("published", "Published"), ("second-hand", "Second-hand")):
        entries = [
            Reference(one.id, one.title, f"{one.section}. {one.publisher}.", f"sources/{one.id}/")
            for one in press.catalogue.sources.values()
            if one.mark == mark
        ]
        if entries:
            groups.append({"id": mark, "title": title, "entries": entries})
    return press.page(
        "list.html.j2",
        "sources",
        title="Sources",
        description="Where our numbers come from, and what leans on each text.",
        folio=None,
        groups=groups,
    )


def _glossary(press: Press) -> Page:
    words: Mapping[str, str] = press.catalogue.vocabulary.glossary
    terms = [
        {"id": re.sub(r"[^a-z0-9]+", "-", term.lower()).strip("-"), "term": term, "plain": plain}
        for term, plain in sorted(words.items(), key=lambda item: item[0].lower())
    ]
    return press.page(
        "glossary.html.j2",
        "glossary",
        title="Glossary",
        description="Trade words on this site, in plain language.",
        terms=terms,
    )


def _plain_group(entries: Iterable[Reference]) -> View:
    return {"id": "all", "title": "", "entries": list(entries)}
