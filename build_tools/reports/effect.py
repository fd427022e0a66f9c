"""Room 5: say what a change of the knowledge does to the advice on everything else.

Takes the knowledge before and after, asks both about every symptom and every worked case,
and lists what came out otherwise. Where the change came from is not its business.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.noisy_max import ContradictoryEvidence, FrontierTooWide
from build_tools.knowledge.markup import fraction_words
from build_tools.reports.advice_rows import advice_row, questions
from build_tools.site.compile_json import compile_catalogue

if TYPE_CHECKING:
    from collections.abc import Callable, Collection

    from build_tools.knowledge.catalogue import Catalogue
    from build_tools.reports.advice_rows import AdviceRow, Key

MOVED: Final = 0.1
"""Odds of the first cause that moved less than this are not worth a line; our choice."""

_FIELDS: Final = ("first_cause", "next", "repair", "supply", "stop_now")
_SAID: Final = {
    "first_cause": "likeliest cause",
    "next": "next check",
    "repair": "repair advised",
    "supply": "supply",
    "stop_now": "stop-now lines",
}
Rows = dict["Key", "AdviceRow | str"]


def effect(
    before: Catalogue,
    after: Catalogue,
    *,
    edited: Collection[str] = (),
    progress: Callable[[int, int], None] = lambda _done, _all: None,
) -> dict[str, Any]:
    """Compare the advice of two states of the knowledge.

    `edited` names the files that were changed, as messages show them; an entry among them is
    marked, so that what changed elsewhere stands out. Nothing is asked when the compiled
    knowledge and the cases are equal.
    """
    versions = [compile_catalogue(one)["version"] for one in (before, after)]
    changed: list[dict[str, Any]] = []
    if versions[0] != versions[1] or before.cases != after.cases:
        total = len(questions(before)) + len(questions(after))
        olds = _rows(before, lambda done: progress(done, total))
        news = _rows(after, lambda done: progress(len(olds) + done, total))
        for key in sorted(olds.keys() & news.keys()):
            found = _differences(olds[key], news[key])
            if found:
                kind, name = key
                own = after.place(kind, name).file in edited
                changed.append({"kind": kind, "id": name, "edited": own, "changes": found})
        added, removed = sorted(news.keys() - olds.keys()), sorted(olds.keys() - news.keys())
    else:
        added = removed = []
    return {
        "before": versions[0],
        "after": versions[1],
        "changed": changed,
        "added": [{"kind": kind, "id": name} for kind, name in added],
        "removed": [{"kind": kind, "id": name} for kind, name in removed],
    }


def _rows(catalogue: Catalogue, progress: Callable[[int], None]) -> Rows:
    network = network_from_catalogue(catalogue)
    rows: Rows = {}
    for done, (key, case) in enumerate(questions(catalogue).items(), start=1):
        try:
            rows[key] = advice_row(catalogue, network, case)
        except (ContradictoryEvidence, FrontierTooWide) as error:
            rows[key] = str(error)
        progress(done)
    return rows


def _differences(old: AdviceRow | str, new: AdviceRow | str) -> list[dict[str, Any]]:
    if isinstance(old, str) or isinstance(new, str):
        if old == new:
            return []
        return [{"what": "advice", "before": _plain(old), "after": _plain(new)}]
    found = [
        {"what": field, "before": _value(old, field), "after": _value(new, field)}
        for field in _FIELDS
        if _value(old, field) != _value(new, field)
    ]
    odds = [row.causes[0][1] if row.causes else 0.0 for row in (old, new)]
    if old.first_cause == new.first_cause and abs(odds[0] - odds[1]) >= MOVED:
        found.append({"what": "odds", "before": round(odds[0], 3), "after": round(odds[1], 3)})
    return found


def _value(row: AdviceRow, field: str) -> Any:  # noqa: ANN401 - whatever the field holds, for JSON
    value = getattr(row, field)
    return list(value) if isinstance(value, tuple) else value


def _plain(row: AdviceRow | str) -> str:
    return row if isinstance(row, str) else "advice as usual"


def effect_text(found: dict[str, Any]) -> str:
    """Write the comparison for a person: elsewhere first, then the edited entries."""
    lines: list[str] = []
    for title, own in (("Changed elsewhere", False), ("Changed in edited entries", True)):
        rows = [one for one in found["changed"] if one["edited"] is own]
        if rows:
            lines += [f"{title}: {len(rows)}", *(line for one in rows for line in _row_text(one))]
    for title in ("added", "removed"):
        if found[title]:
            names = ", ".join(f"{one['kind']} {one['id']}" for one in found[title])
            lines.append(f"{title.capitalize()}: {names}")
    return "\n".join(lines or ["No symptom and no case gets other advice."])


def _row_text(row: dict[str, Any]) -> list[str]:
    lines = [f"  {row['kind']} {row['id']}"]
    for one in row["changes"]:
        if one["what"] == "odds":
            before, after = fraction_words(one["before"]), fraction_words(one["after"])
            lines.append(f"    odds of the likeliest cause: {before} -> {after}")
            continue
        said = _SAID.get(one["what"], one["what"])
        lines.append(f"    {said}: {_shown(one['before'])} -> {_shown(one['after'])}")
    return lines


def _shown(value: object) -> str:
    if isinstance(value, list):
        return ", ".join(map(str, value)) or "none"
    return "none" if value is None else str(value)
