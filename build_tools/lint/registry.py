"""Room 4: keep every rule in order, run them, and explain them."""

import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Final

from build_tools.knowledge import kept
from build_tools.knowledge.assemble import load_catalogue
from build_tools.knowledge.folders import (
    FOLDER_OF_KIND,
    KEPT,
    PROJECT,
    entry_files,
    knowledge_folder,
    reader_pages,
)
from build_tools.knowledge.nearest import did_you_mean
from build_tools.knowledge.problems import Problem, sort_problems
from build_tools.lint import (  # noqa: F401 - reading a module enters its rules
    exceptions,
    rules_abilities,
    rules_advice,
    rules_names,
    rules_numbers,
    rules_quantities,
    rules_safety,
    rules_wording,
)
from build_tools.lint.prose import on_screens
from build_tools.lint.rule import RULES as ENTERED
from build_tools.lint.rule import Judged, Rule

RULES: tuple[Rule, ...] = tuple(sorted(ENTERED, key=lambda one: one.code))

# Planning takes longer than all other rules together, so what they tell of a state is kept.
_ADVISED: Final = frozenset(one.code for one in RULES if one.asks == "reasoning")
_KEPT: Final = KEPT.with_name("lint")
_CODE: Final = Path(__file__).resolve().parents[1]
_RESTS_ON: Final = tuple(_CODE / room for room in ("engine", "measure", "obd", "lint"))


class RuleFailureError(Exception):
    """Say which rules failed, and at which entry; the tool is wrong there, not the file.

    `problems` are those of the rules that did not fail.
    """

    def __init__(self, failures: Sequence[str], problems: list[Problem]) -> None:
        """Keep one line for each failure, and what was found all the same."""
        super().__init__("; ".join(failures))
        self.failures = failures
        self.problems = problems


# The base revision may not fit today's schemas, so its status is read as text.
_STATUS = re.compile(r"^status: *([a-z]+)", re.MULTILINE)


@dataclass(frozen=True)
class Wanted:
    """Say what to judge by: codes (none means every rule) and a collection.

    `base` is the project's or the knowledge folder as it was at the base revision. Rules
    that compare run whenever there is one. With `files`, names as messages show them, a rule
    that asks for the advice on each entry looks at the entries in them alone.
    """

    only: Collection[str] = ()
    collection: str = "offline"
    base: Path | None = None
    files: Collection[str] | None = None

    def takes(self, rule: Rule) -> bool:
        """Return whether a rule is to be run."""
        if rule.asks == "base":
            fits = self.base is not None
        else:
            fits = rule.asks == "files" or self.collection != "quick"
        # A needless exception shows only when every rule was run.
        named = not self.only or rule.code in self.only or "EXC902" in self.only
        return fits and named

    def in_part(self, rule: Rule) -> bool:
        """Return whether a rule looks at some of its entries alone."""
        return self.files is not None and rule.asks == "reasoning" and bool(rule.kinds)


def lint(
    root: Path, *, today: date, only: Collection[str] = (), wanted: Wanted | None = None
) -> list[Problem]:
    """Judge the knowledge below a folder by every rule, or only by some.

    `only` names codes; `wanted` says more. Exceptions that are written down are left out of
    the result; a needless exception is a problem of its own.

    Raises:
        RuleFailureError: after all rules were run, if one failed on an entry.
    """
    wanted = wanted or Wanted(only)
    run = [one for one in RULES if wanted.takes(one)]
    state = _state(root) if any(one.asks == "reasoning" for one in run) else ""
    catalogue, reading = load_catalogue(root)
    former = None if wanted.base is None else _statuses_below(wanted.base)
    judged = Judged(catalogue, tuple(reading), today, former, reader_pages(root), on_screens(root))
    failures: list[str] = []
    told = _told_before(state)
    fresh = {
        one.code: list(_run(one, judged, wanted, failures)) for one in run if one.code not in told
    }
    partly = {one.code for one in run if one.code in fresh and wanted.in_part(one)}
    # What changed while it was being judged belongs to no state.
    whole = not failures and not partly
    if state and fresh.keys() & _ADVISED and whole and _state(root) == state:
        advised = {code: found for code, found in (told | fresh).items() if code in _ADVISED}
        kept.keep(_KEPT, state, advised, {})
    found = [problem for one in run for problem in (told | fresh)[one.code]]
    # Nobody can tell whether an exception is needless while a rule fails, or saw a part.
    codes = set() if failures else {one.code for one in run} - partly
    left = exceptions.apply(root, found, judged, codes)
    problems = _without_followers(
        sort_problems(one for one in left if not wanted.only or one.code in wanted.only), judged
    )
    if failures:
        raise RuleFailureError(failures, problems)
    return problems


def _state(root: Path) -> str:
    """Name what the rules that ask for advice rest on; "" for other than the project's own."""
    knowledge = knowledge_folder(root)
    if knowledge.resolve() != PROJECT / "symptoms":
        return ""
    try:
        return kept.digest(knowledge, *_RESTS_ON)
    except OSError:
        return ""


def _told_before(state: str) -> dict[str, list[Problem]]:
    """Return what the rules that ask for advice told of this state, by their codes."""
    found = kept.fetch(_KEPT, state) if state else None
    return dict(found[0]) if found else {}


def _without_followers(problems: list[Problem], judged: Judged) -> list[Problem]:
    """Put files that cannot be read first, and leave out what only follows from them."""
    lost = {one.span.file for one in judged.reading if one.code == "SHP001"}
    names = {f'"{file.rsplit("/", 1)[-1].removesuffix(".yml")}"' for file in lost}
    lists = {
        f"the list of {file.rsplit('/', 1)[-1].removesuffix('.yml').replace('_', ' ')}"
        for file in lost
        if "/vocabulary/" in file
    }

    def follows(one: Problem) -> bool:
        named = one.code.startswith("REF20") and any(name in one.what for name in names)
        # Whether something is missing altogether cannot be told while a file is.
        missing = bool(lost) and one.code in {"CAS801", "CAS803", "CAS804", "REF203", "REA701"}
        return named or missing or any(one.what.endswith(words) for words in lists)

    leading = [one for one in problems if not follows(one)]
    return sorted(leading, key=lambda one: one.code != "SHP001")


def _statuses_below(root: Path) -> dict[tuple[str, str], str]:
    knowledge = knowledge_folder(root)
    return {
        (kind, path.stem): found[1] if (found := _STATUS.search(path.read_text("utf-8"))) else ""
        for kind in FOLDER_OF_KIND
        for path in entry_files(knowledge, kind)
    }


def _run(rule: Rule, judged: Judged, wanted: Wanted, failures: list[str]) -> Iterator[Problem]:
    """Yield what a rule finds; where it fails, say so and go on with the next entry."""
    entries: list[tuple[str, object]] = [("", None)]
    if rule.kinds:
        of_kind = judged.catalogue.of_kind
        entries = [(kind, entry) for kind in rule.kinds for entry in of_kind(kind).values()]
    if wanted.in_part(rule):
        changed = wanted.files or ()
        files = judged.catalogue.documents
        entries = [
            (kind, entry)
            for kind, entry in entries
            if files[kind, getattr(entry, "id", "")].file in changed
        ]
    for kind, entry in entries:
        try:
            yield from list(rule.run(judged, kind, entry))
        except Exception as error:  # noqa: BLE001 - whatever it is, the other rules go on
            name = f"{kind} {getattr(entry, 'id', '')}" if kind else "the catalogue"
            failures.append(f"rule {rule.code} failed on {name}: {error!r}")


def find_rule(code: str) -> Rule:
    """Return the rule of a code, in any case of letters.

    Raises:
        LookupError: with the codes that are close, if there is none.
    """
    for one in RULES:
        if one.code == code.upper():
            return one
    known = [one.code for one in RULES]
    where = "list them: python -m build_tools explain"
    raise LookupError(
        f'no rule has the code "{code}"; {did_you_mean(code.upper(), known, where=where)}'
    )


def explain(code: str) -> str:
    """Return the explanation of a rule as text.

    Raises:
        LookupError: if there is no such rule.
    """
    one = find_rule(code)
    return f"{one.explanation}\n\nSeverity: {one.severity.value}. Judges {one.judges}.\n"


def table() -> str:
    """Write every rule as a Markdown table: code, what it asks, severity, what it judges."""
    lines = ["| Code | Rule | Severity | Judges |", "| --- | --- | --- | --- |"]
    for one in RULES:
        asks = one.explanation.splitlines()[0].split(": ", 1)[1].replace("|", "\\|")
        lines.append(f"| {one.code} | {upper_first(asks)} | {one.severity.value} | {one.judges} |")
    return "\n".join(lines) + "\n"


def upper_first(text: str) -> str:
    """Write a text with a capital first letter, unless it begins with code."""
    return text if text.startswith("`") else text[:1].upper() + text[1:]
