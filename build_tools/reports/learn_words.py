"""Room 5: what closed cases say of our odds, in words: a table, a plot of signs, and a diff.

The diff is for a reviewer to judge and apply by hand; nothing here writes a file.
"""

import difflib
import re
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any, Final

from build_tools.knowledge.folders import PROJECT, entry_path, knowledge_folder
from build_tools.knowledge.yaml_reader import Document, read

_WIDTH: Final = 40
_SCALAR = re.compile(r"\{[^}]*\}|[^,}\]\s]+")

Path_ = tuple[str | int, ...]


def learn_text(report: Mapping[str, Any], diff: str) -> str:
    """Write the report for a terminal."""
    count = report["with_cause"]
    lines = [
        f"Closed cases: {report['cases']}, with a cause that can be judged: {count}.",
        "Closed cases are no sample of all cars: who writes, follows and closes is not everyone.",
    ]
    if count == 0:
        return "\n".join([*lines, "There is nothing to compare yet."])
    lines += ["", *_score_lines(report["scores"], count), "", *_plot_lines(report["calibration"])]
    step = report["first_step"]
    lines += [
        "",
        f"First step: the proposed odds advise the same in {step['kept']} of {count} cases;",
        f"by them ours costs {step['mean_regret']:.1%} more, {step['worst_regret']:.1%} at worst.",
        "",
        *_proposal_lines(report["proposals"]),
    ]
    if report["proposals"]:
        effect = report["effect"]
        halves = effect["halves"]
        lines += [
            f"Effect on these cases: log score {_moved(effect)}.",
            f"Learned from one half, scored on the other: {_moved(halves)}.",
            "Nothing was changed. Look at the diff, then `effect` after applying it:",
            "",
            diff.rstrip("\n"),
        ]
    return "\n".join(lines)


def _moved(effect: Mapping[str, float]) -> str:
    return f"{effect['log_before']:.3f} -> {effect['log_after']:.3f}"


def _score_lines(scores: Mapping[str, Any], count: int) -> Iterator[str]:
    yield f"{'':<18} log score  Brier  first  first three  (lower scores are better)"
    for name, one in scores.items():
        places = f"{one['first']:>3}/{count:<3} {one['first_three']:>6}/{count}"
        yield f"{name:<18} {one['log']:>9.3f}  {one['brier']:>5.3f}  {places}"


def _plot_lines(rows: Iterable[Mapping[str, float]]) -> Iterator[str]:
    yield "Calibration, with all results: o what we said, x how often it was, - where that may lie"
    for row in rows:
        line = [" "] * (_WIDTH + 1)
        for place in range(_at(row["low"]), _at(row["high"]) + 1):
            line[place] = "-"
        line[_at(row["was"])] = "x"
        line[_at(row["said"])] = "*" if _at(row["said"]) == _at(row["was"]) else "o"
        span = f"{row['from']:.2f} to {row['to']:.2f}"
        told = f"said {row['said']:.3f}, was {row['was']:.3f} of {int(row['count'])}"
        yield f"  {span} |{''.join(line)}| {told}"


def _at(share: float) -> int:
    return round(share * _WIDTH)


def _proposal_lines(given: Iterable[Mapping[str, Any]]) -> list[str]:
    lines = []
    for one in given:
        what = "how common" if one["check"] is None else f"{one['check']} at least {one['level']}"
        seen = (
            f"found {one['seen']:.0f} times, {one['cases']:.1f} expected"
            if one["check"] is None
            else f"{one['seen']:.0f} of {one['cases']:.0f}"
        )
        lines.append(f"  {one['cause']}, {what}: {one['old']:.3g} -> {one['new']:.3g} ({seen})")
    return (
        ["Proposed:", *lines]
        if lines
        else ["Nothing to propose: the odds fit, or too few cases speak."]
    )


def proposed_diff(root: Path, given: Iterable[Mapping[str, Any]]) -> str:
    """Return the proposals as one unified diff of the knowledge's files."""
    knowledge = knowledge_folder(root)
    edits: dict[Path, list[Mapping[str, Any]]] = {}
    for one in given:
        kind, name = ("cause", one["cause"]) if one["check"] is None else ("check", one["check"])
        edits.setdefault(entry_path(knowledge, kind, name), []).append(one)
    parts: list[str] = []
    for path, inside in sorted(edits.items()):
        before = path.read_text(encoding="utf-8")
        document, _ = read(before, path.name)
        if document is None:
            continue
        after = before
        # The last place first, so that the others stay where they are.
        places = sorted(((_place(document, one), one["new"]) for one in inside), reverse=True)
        for place, new in places:
            after = _written(after, place, new)
        shown = path.relative_to(root if path.is_relative_to(root) else PROJECT).as_posix()
        parts += difflib.unified_diff(
            before.splitlines(keepends=True),
            after.splitlines(keepends=True),
            f"a/{shown}",
            f"b/{shown}",
            n=1,
        )
    return "".join(parts)


def _place(document: Document, one: Mapping[str, Any]) -> tuple[int, int]:
    path: Path_ = ("how_common",)
    if one["check"] is not None:
        shifts = document.value["shifts"]
        number = next(at for at, shift in enumerate(shifts) if shift["cause"] == one["cause"])
        path = ("shifts", number, "at_least", one["level"])
    span = document.span(*path)
    return span.line, span.column


def _written(text: str, place: tuple[int, int], new: float) -> str:
    """Put a number with its mark where a likelihood stands."""
    lines = text.splitlines(keepends=True)
    line, column = place[0] - 1, place[1] - 1
    head, rest = lines[line][:column], lines[line][column:]
    lines[line] = head + _SCALAR.sub(f"{{value: {new:g}, source: our-estimate}}", rest, count=1)
    return "".join(lines)
