"""Room 2: read the monitors and inspection rules into frozen objects.

Collects the problems of every file in one run. Shape is checked here and that names lead to a
monitor; whether causes and sources exist is judged with the catalogue.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final, TypeVar

from build_tools.knowledge.folders import knowledge_folder, shown_name
from build_tools.knowledge.nearest import did_you_mean
from build_tools.knowledge.problems import Complaint, Problem, Severity, sort_problems
from build_tools.knowledge.readiness_entries import (
    Blocker,
    Citation,
    CodeRange,
    Condition,
    Exemption,
    ForcedReady,
    Inspection,
    LampRule,
    Monitor,
    Outcome,
    PermanentCode,
    Readiness,
    Said,
    Sourced,
    Transition,
    YearBand,
)
from build_tools.knowledge.schema_check import check_document
from build_tools.knowledge.yaml_reader import Document, read

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping
    from pathlib import Path

_Built = TypeVar("_Built")
READINESS_FOLDERS: Final = {"monitor": "monitors", "inspection": "inspections"}
NO_SUCH_MONITOR: Final = Complaint(
    "REF201",
    "dangling-reference",
    Severity.ERROR,
    "the rule would ask for a monitor that no car reports",
)
NAME_DIFFERS: Final = Complaint(
    "IDN101",
    "id-differs",
    Severity.ERROR,
    "addresses and links are made from the file's name, so the entry would be found twice or never",
)


def load_readiness(root: Path) -> tuple[Readiness, list[Problem]]:
    """Read symptoms/monitors and symptoms/inspections.

    `root` is the project's folder or the knowledge folder itself. A file with a problem is left
    out. Entries come sorted by id.
    """
    knowledge = knowledge_folder(root)
    problems: list[Problem] = []
    documents = {
        kind: _read_folder(knowledge, kind, problems) for kind in sorted(READINESS_FOLDERS)
    }
    monitors = {key: monitor_from(doc.value) for key, doc in documents["monitor"].items()}
    for doc in (*documents["inspection"].values(), *documents["monitor"].values()):
        problems.extend(_check_names(doc, monitors))
    inspections = {key: inspection_from(doc.value) for key, doc in documents["inspection"].items()}
    return Readiness(monitors, inspections), sort_problems(problems)


def _read_folder(knowledge: Path, kind: str, problems: list[Problem]) -> dict[str, Document]:
    documents = {}
    folder = knowledge / READINESS_FOLDERS[kind]
    for path in sorted(folder.glob("*.yml")):
        document, found = read(path.read_bytes(), shown_name(path, knowledge))
        if document is not None and not found:
            found = check_document(document, kind)
        if document is not None and not found and document.value["id"] != path.stem:
            what = f'the id is "{document.value["id"]}" but the file is called {path.name}'
            mend = f"write `id: {path.stem}`"
            found = [NAME_DIFFERS.at(document.span("id"), what, mend)]
        problems.extend(found)
        if document is not None and not found:
            documents[path.stem] = document
    return documents


def _check_names(document: Document, monitors: Mapping[str, Monitor]) -> Iterator[Problem]:
    for path, name in _monitor_names(document.value):
        if name not in monitors:
            what = f'monitor "{name}" does not exist'
            mend = did_you_mean(name, monitors, where="see symptoms/monitors")
            yield NO_SUCH_MONITOR.at(document.span(*path), what, mend)


def _monitor_names(value: Mapping[str, Any]) -> Iterator[tuple[tuple[str | int, ...], str]]:
    for place, key in (("bands", "allowed_only"), ("forced_ready", "monitors")):
        for number, row in enumerate(value.get(place) or ()):
            for at, name in enumerate(row.get(key) or ()):
                yield (place, number, key, at), name
    for at, name in enumerate(value.get("after") or ()):
        yield ("after", at), name


def _maybe(build: Callable[[Any], _Built], raw: object) -> _Built | None:
    return None if raw is None else build(raw)


def _said(raw: Mapping[str, Any]) -> Said:
    return Said(raw["says"], raw["mark"])


def _sourced(raw: Mapping[str, Any]) -> Sourced:
    return Sourced(raw["says"], raw["source"])


def _tuple(raw: Mapping[str, Any], key: str) -> tuple[Any, ...]:
    return tuple(raw.get(key) or ())


def _band(raw: Mapping[str, Any]) -> YearBand:
    only = raw.get("allowed_only")
    return YearBand(
        fuels=tuple(raw["fuels"]),
        from_year=raw["from_year"],
        to_year=raw["to_year"],
        allowed=raw["allowed"],
        mark=raw["mark"],
        allowed_only=None if only is None else tuple(only),
        also_allowed=raw.get("also_allowed"),
        note=_maybe(_said, raw.get("note")),
    )


def _forced(raw: Mapping[str, Any]) -> ForcedReady:
    return ForcedReady(
        raw["when"],
        raw["mark"],
        _tuple(raw, "monitors"),
        raw.get("first_code"),
        raw.get("last_code"),
    )


def _permanent(raw: Mapping[str, Any]) -> PermanentCode:
    exemption = _maybe(_exemption, raw.get("exemption"))
    return PermanentCode(raw["policy"], raw["mark"], exemption)


def _exemption(raw: Mapping[str, Any]) -> Exemption:
    return Exemption(raw["warm_ups"], float(raw["distance_km"]), raw["from_year"], raw["mark"])


def _outcome(raw: Mapping[str, Any]) -> Outcome:
    return Outcome(raw["result"], raw["says"], raw["mark"])


def _lamp(raw: Mapping[str, Any]) -> LampRule:
    return LampRule(
        raw["mark"], raw.get("without_code", "undecided"), raw.get("stored_code_fails", False)
    )


def _transition(raw: Mapping[str, Any]) -> Transition:
    return Transition(raw["since"], raw["allowed"], raw["says"], raw["mark"])


def _citation(raw: Mapping[str, Any]) -> Citation:
    return Citation(raw["title"], raw["section"], raw["publisher"], raw["date"], raw["mark"])


def inspection_from(raw: Mapping[str, Any]) -> Inspection:
    """Turn a document that fits its schema into an Inspection."""
    return Inspection(
        **{key: raw[key] for key in ("id", "title", "summary", "status", "reviewed")},
        **{key: raw[key] for key in ("standing", "country", "authority", "seen", "text_date")},
        scope=_said(raw["scope"]),
        ask=tuple(raw["ask"]),
        citations=tuple(_citation(one) for one in raw["citations"]),
        lamp=_lamp(raw["lamp"]),
        bands=tuple(_band(one) for one in _tuple(raw, "bands")),
        transition=_maybe(_transition, raw.get("transition")),
        not_ready=_maybe(_outcome, raw.get("not_ready")),
        extension=_maybe(_said, raw.get("extension")),
        forced_ready=tuple(_forced(one) for one in _tuple(raw, "forced_ready")),
        permanent_code=_maybe(_permanent, raw.get("permanent_code")),
        no_answer=_maybe(_outcome, raw.get("no_answer")),
        not_tested=_maybe(_said, raw.get("not_tested")),
        says=tuple(_said(one) for one in _tuple(raw, "says")),
    )


def _condition(raw: Mapping[str, Any]) -> Condition:
    return Condition(
        raw["metric"],
        raw["source"],
        _maybe(float, raw.get("at_least")),
        _maybe(float, raw.get("at_most")),
    )


def monitor_from(raw: Mapping[str, Any]) -> Monitor:
    """Turn a document that fits its schema into a Monitor."""
    return Monitor(
        **{key: raw[key] for key in ("id", "title", "summary", "status", "reviewed")},
        engines=tuple(raw["engines"]),
        continuous=raw["continuous"],
        counted=raw["counted"],
        looks_at=_sourced(raw["looks_at"]),
        needs=tuple(_sourced(one) for one in raw["needs"]),
        voltage_link=_maybe(_sourced, raw.get("voltage_link")),
        conditions=tuple(_condition(one) for one in _tuple(raw, "conditions")),
        segments=_tuple(raw, "segments"),
        after=_tuple(raw, "after"),
        codes=tuple(
            CodeRange(one["first"], one["last"], one["source"]) for one in _tuple(raw, "codes")
        ),
        blockers=tuple(Blocker(one["cause"], one["why"]) for one in _tuple(raw, "blockers")),
        cautions=_tuple(raw, "cautions"),
    )
