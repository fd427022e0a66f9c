"""Room 4: find the sentences a reader will see, and cut them for the wording rules."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from build_tools.knowledge.folders import screen_files
from build_tools.knowledge.problems import Span
from build_tools.knowledge.references import Pattern, matches

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from build_tools.knowledge.yaml_reader import Document, KeyPath
    from build_tools.lint.rule import Judged

PROSE: dict[str, tuple[Pattern, ...]] = {
    "symptom": (
        ("summary",),
        ("looks_like",),
        ("supply_note",),
        ("ask_first", "*", "question"),
        ("causes", "*", "why"),
    ),
    "cause": (
        ("summary",),
        ("repair", "action"),
        ("unconfirmable_because",),
        ("context", "*", "why"),
    ),
    "check": (
        ("summary",),
        ("steps", "*", "do"),
        ("levels", "*", "means"),
        ("cannot_tell",),
        ("no_caution_because",),
        ("shifts", "*", "why"),
    ),
    "gauge": (("summary",), ("bands", "*", "says"), ("does_not_tell",)),
    "context": (("summary",), ("question",)),
    "sum": (("summary",), ("question",), ("verdicts", "*"), ("does_not_tell",), ("next",)),
    "case": (("story",),),
    "sentences": (("items", "*", "text"), ("items", "*", "forms", "*", "text")),
    "vocabulary": (
        ("items", "*", "text"),
        ("items", "*", "why"),
        ("items", "*", "plain"),
        ("items", "*", "hint"),
        ("items", "*", "fallback"),
    ),
}
# Short texts and notes, which a danger can hide in though rules of wording leave them alone.
# What owners say of their car tells nobody to do anything.
BESIDE: tuple[Pattern, ...] = (
    ("title",),
    ("note",),
    ("refusals", "*"),
    ("inputs", "*", "hint"),
    ("inputs", "*", "if_left_out", "says"),
    ("levels", "*", "label"),
    ("repair", "part"),
)
# Names and answers that stand on a page or a button, and the texts of readiness: words count there.
SHOWN: dict[str, tuple[Pattern, ...]] = {
    "symptom": (("ask_first", "*", "answers", "*", "says"),),
    "gauge": (("bands", "*", "label"),),
    "context": (("options", "*", "label"),),
    "sum": (("inputs", "*", "label"), ("outputs", "*", "label")),
    "monitor": (
        ("title",),
        ("summary",),
        ("looks_at", "says"),
        ("needs", "*", "says"),
        ("voltage_link", "says"),
        ("blockers", "*", "why"),
    ),
    "inspection": (("summary",), ("ask", "*"), ("says", "*", "says")),
    "vocabulary": (("items", "*", "title"), ("items", "*", "summary"), ("items", "*", "without")),
}
_END = re.compile(r"(?<=[.!?])[\"')]*\s+(?=[\"'(]*[A-Z0-9])")
_ABBREVIATION = re.compile(r"\b(?:e\.g|i\.e|approx|No|vs)\.$")


def passages(judged: Judged, *, beside: bool = False) -> Iterator[tuple[str, str, KeyPath, str]]:
    """Yield (kind, id, path, text) for every piece of prose, short texts `beside` too."""
    if beside not in judged.passages:
        judged.passages[beside] = [
            (kind, key, path, text)
            for (kind, key), document in judged.catalogue.documents.items()
            for path, text in prose_of(kind, document, beside=beside)
        ]
    yield from judged.passages[beside]


def prose_of(
    kind: str, document: Document, *, beside: bool = False
) -> Iterator[tuple[KeyPath, str]]:
    """Yield (path, text) for every piece of prose in one document, short texts `beside` too."""
    known = PROSE.get(kind, ())
    for pattern in (*known, *BESIDE) if known and beside else known:
        for path, text in matches(document.value, pattern):
            if isinstance(text, str):
                yield path, text


def sentences(text: str) -> list[str]:
    """Cut prose into sentences; blank lines and list marks end one too."""
    parts = re.split(r"\n\s*\n|\n\s*[-*] ", text)
    found: list[str] = []
    for part in parts:
        joined = ""
        for piece in _END.split(" ".join(part.split())):
            joined = f"{joined} {piece}".strip()
            if not _ABBREVIATION.search(joined):
                found.append(joined)
                joined = ""
        if joined:
            found.append(joined)
    return [one for one in found if one]


def spot(document: Document, path: KeyPath, words: str) -> Span:
    """Return the line on which some words of a text stand; a long text begins far above them."""
    span = document.span(*path)
    above = "".join(line + "\n" for line in document.text.split("\n")[: span.line - 1])
    wanted = r"\s+".join(re.escape(word) for word in words.split())
    found = re.compile(wanted, re.IGNORECASE).search(document.text, len(above))
    passed = document.text.count("\n", len(above), found.start()) if found else 0
    return Span(span.file, span.line + passed, 1) if passed else span


def count_words(sentence: str) -> int:
    """Count words; numbers with their unit count as written."""
    return len(re.findall(r"[^\s]*[A-Za-z0-9][^\s]*", sentence))


_COMMENT = re.compile(r"/\*.*?\*/|^\s*//[^\n]*", re.DOTALL | re.MULTILINE)
_LITERAL = re.compile(r'"((?:[^"\\\n]|\\.)*)"|`((?:[^`\\]|\\.)*)`')
_LABEL = re.compile(r">([^<>]+)<")
_PLACE = re.compile(r"\$\{[^}]*\}")


def on_screens(root: Path) -> tuple[tuple[str, str], ...]:
    """Return (name, words) of the browser's modules and the drawings; a word keeps its line.

    Of a module the texts with a space in them are words for readers; others are names of things.
    """
    return tuple(
        (path.relative_to(root).as_posix(), _words_shown(path.read_text("utf-8"), path.suffix))
        for path in screen_files(root)
    )


def _words_shown(text: str, suffix: str) -> str:
    if suffix == ".svg":
        return _kept(text, [(one.start(1), one[1]) for one in _LABEL.finditer(text)])
    code = _COMMENT.sub(lambda found: "\n" * found[0].count("\n"), text)
    texts = [
        (one.start(), _PLACE.sub(" ", one[1] or one[2] or "")) for one in _LITERAL.finditer(code)
    ]
    return _kept(code, [(at, words) for at, words in texts if " " in words.strip()])


def _kept(text: str, parts: list[tuple[int, str]]) -> str:
    """Return the parts alone, each on the line on which it stands in the text."""
    lines = [""] * (text.count("\n") + 1)
    for at, words in parts:
        lines[text.count("\n", 0, at)] += " ".join(words.split()) + " \x00 "
    return "\n".join(lines)
