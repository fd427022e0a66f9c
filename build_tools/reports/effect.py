"""Room 5: say what a change of the knowledge does to the advice on everything else.

Takes the knowledge before and after, asks both about every symptom and every worked case,
and lists what came out otherwise. Where the change came from is not its business.
"""

import hashlib
import json
from collections.abc import Callable, Collection, Iterator
from concurrent.futures import ProcessPoolExecutor
from typing import Any, Final

from build_tools.engine.cases import CarCase, case_document
from build_tools.engine.diagnosis import diagnose, relevant_causes
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.noisy_max import ContradictoryEvidence, FrontierTooWide
from build_tools.knowledge import kept
from build_tools.knowledge.catalogue import Catalogue
from build_tools.knowledge.folders import PROJECT
from build_tools.knowledge.markup import fraction_words
from build_tools.reports.advice_rows import AdviceRow, Key, advice_row, questions
from build_tools.site.compile_json import compile_catalogue

_KEPT: Final = PROJECT / ".cache" / "effect"
MOVED: Final = 0.02
"""Odds of a leading cause that moved less than this are not worth a line; our choice."""

_FIELDS: Final = ("first_cause", "next", "repair", "supply", "stop_now")
_SAID: Final = {
    "first_cause": "likeliest cause",
    "next": "next check",
    "repair": "repair advised",
    "supply": "supply",
    "stop_now": "stop-now lines",
}
_ADDED: Final = ("symptom", "cause", "check", "case")
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
    marked, so that what changed elsewhere stands out. What was added comes with its place: the
    advice on a symptom or case, a cause's rank in each symptom, the questions a check leads.
    Nothing is asked when the compiled knowledge and the cases are equal.
    """
    versions = [compile_catalogue(one)["version"] for one in (before, after)]
    changed: list[dict[str, Any]] = []
    if versions[0] != versions[1] or before.cases != after.cases:
        olds, news = _both(before, after, versions[0], progress)
        for key in sorted(olds.keys() & news.keys()):
            found = _differences(olds[key], news[key])
            if found:
                kind, name = key
                own = after.place(kind, name).file in edited
                changed.append({"kind": kind, "id": name, "edited": own, "changes": found})
        added = _Places(after, news).of(_names(after) - _names(before))
        removed = [
            {"kind": kind, "id": name} for kind, name in sorted(_names(before) - _names(after))
        ]
    else:
        added = removed = []
    return {
        "before": versions[0],
        "after": versions[1],
        "changed": changed,
        "added": added,
        "removed": removed,
    }


def _names(catalogue: Catalogue) -> set[Key]:
    return {key for key in catalogue.documents if key[0] in _ADDED}


def _both(
    before: Catalogue, after: Catalogue, version: str, progress: Callable[[int, int], None]
) -> tuple[Rows, Rows]:
    """Return the rows of both states, asked by two processes at once.

    The former state is mostly the same one again, so its rows are kept, named by all they come of.
    """
    cases = json.dumps([case_document(one) for one in before.cases.values()], default=str)
    code = kept.digest(PROJECT / "build_tools")
    name = hashlib.sha256(f"{code} {version} {cases}".encode()).hexdigest()
    known = kept.fetch(_KEPT, name)
    wanted = list(questions(after))
    half = len(wanted) // 2 if known else len(wanted)
    total = len(wanted) if known else len(wanted) + len(questions(before))
    with ProcessPoolExecutor(1) as beside:
        asked = beside.submit(_rows, after if known else before, wanted[half:] or None)
        news = _rows(after, wanted[:half], lambda done: progress(done, total))
        rest = asked.result()
    progress(total, total)
    if known:
        return dict(known[1]), {**news, **rest}
    kept.keep(_KEPT, name, version, rest)
    return rest, news


class _Places:
    """Where new entries stand among the others."""

    def __init__(self, catalogue: Catalogue, rows: Rows) -> None:
        self._catalogue = catalogue
        self._network = network_from_catalogue(catalogue)
        self._rows = rows

    def of(self, names: Collection[Key]) -> list[dict[str, Any]]:
        """Return each new entry with its place, symptoms first."""
        ordered = sorted(names, key=lambda key: (_ADDED.index(key[0]), key[1]))
        return [{"kind": kind, "id": name, **self._place(kind, name)} for kind, name in ordered]

    def _place(self, kind: str, name: str) -> dict[str, Any]:
        if kind == "cause":
            return {"ranks": list(self._ranks(name))}
        rows = {key: row for key, row in self._rows.items() if not isinstance(row, str)}
        if kind == "check":
            return {
                "leads": [f"{one} {key}" for (one, key), row in rows.items() if row.next == name]
            }
        row = rows.get((kind, name))
        if row is None:
            return {}
        return {"causes": [list(one) for one in row.causes], "next": row.next, "repair": row.repair}

    def _ranks(self, cause: str) -> Iterator[dict[str, Any]]:
        """Yield the rank of a cause and its odds in each symptom that it can produce."""
        for symptom in self._catalogue.symptoms:
            case = CarCase(symptoms=(symptom,))
            among = relevant_causes(self._catalogue, self._network, case)
            if cause not in self._network.finding_by_id[symptom].links or cause not in among:
                continue
            odds = diagnose(self._catalogue, self._network, case).posteriors
            rank = sorted(among, key=lambda one: (-odds[one], one)).index(cause) + 1
            yield {
                "symptom": symptom,
                "rank": rank,
                "of": len(among),
                "odds": round(odds[cause], 3),
            }


def _rows(
    catalogue: Catalogue,
    keys: Collection[Key] | None = None,
    progress: Callable[[int], None] = lambda _done: None,
) -> Rows:
    """Ask the questions of some keys, or every one."""
    network = network_from_catalogue(catalogue)
    asked = questions(catalogue)
    rows: Rows = {}
    for done, key in enumerate(asked if keys is None else keys, start=1):
        try:
            rows[key] = advice_row(catalogue, network, asked[key])
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
    former = dict(old.causes)
    for cause, odds in new.causes:
        if abs(odds - former.get(cause, odds)) >= MOVED:
            moved = {"before": round(former[cause], 3), "after": round(odds, 3)}
            found.append({"what": "odds", "cause": cause, **moved})
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
    for one in found["added"]:
        lines += [
            f"Added: {one['kind']} {one['id']}",
            *(f"    {line}" for line in _place_text(one)),
        ]
    if found["removed"]:
        names = ", ".join(f"{one['kind']} {one['id']}" for one in found["removed"])
        lines.append(f"Removed: {names}")
    if lines and all(one["edited"] for one in found["changed"]):
        lines.append("Nothing else changed.")
    return "\n".join(lines or ["No symptom and no case gets other advice."])


def _place_text(one: dict[str, Any]) -> Iterator[str]:
    if one["kind"] == "cause":
        for place in one["ranks"]:
            odds = fraction_words(place["odds"])
            yield f"in {place['symptom']}: number {place['rank']} of {place['of']}, {odds}"
    elif one["kind"] == "check":
        yield f"the first step for: {_shown(one['leads'])}"
    elif "causes" in one:
        named = [f"{name} {fraction_words(odds)}" for name, odds in one["causes"]]
        yield f"likeliest causes: {_shown(named)}"
        yield f"next check: {_shown(one['next'])}; repair advised: {_shown(one['repair'])}"


def _row_text(row: dict[str, Any]) -> list[str]:
    lines = [f"  {row['kind']} {row['id']}"]
    for one in row["changes"]:
        if one["what"] == "odds":
            before, after = fraction_words(one["before"]), fraction_words(one["after"])
            lines.append(f"    odds of {one['cause']}: {before} -> {after}")
            continue
        said = _SAID.get(one["what"], one["what"])
        lines.append(f"    {said}: {_shown(one['before'])} -> {_shown(one['after'])}")
    return lines


def _shown(value: object) -> str:
    if isinstance(value, list):
        return ", ".join(map(str, value)) or "none"
    return "none" if value is None else str(value)
