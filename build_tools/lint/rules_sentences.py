"""Room 4: judge the sentences by the code that says them."""

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

from build_tools.knowledge.problems import Severity
from build_tools.knowledge.sentences import PLACE, forms_of
from build_tools.lint.rule import Judged, Told, rule

_TOOLS = Path(__file__).resolve().parents[1]
_ASSETS = _TOOLS.parent / "site_overrides" / "assets"
# How the browser's modules say a sentence that only they say.
_SAID_THERE = re.compile(
    r'\bsay(?:Of\(\s*[\w.]+,|\()\s*"(?P<name>[a-z-]+)"(?:,\s*\{(?P<places>[^}]*)\})?'
)
# Where a module says what a list of its own names, each name of the list is said.
_SAID_BY_LIST = re.compile(r"\bsay\((?!\s*\")")
_NAMED = re.compile(r'"([a-z-]+)"\]')
_KEY = re.compile(r"(?:^|,)\s*(\w+)")


@cache
def _code() -> tuple[str, dict[str, set[str]]]:
    """Return the text of the code, and the places it fills of each sentence that it says."""
    texts = [path.read_text("utf-8") for path in sorted(_TOOLS.rglob("*.py"))]
    said: dict[str, set[str]] = {}
    for text in texts:
        if "say(" not in text and "forms(" not in text:
            continue
        for node in ast.walk(ast.parse(text)):
            if not isinstance(node, ast.Call) or not node.args:
                continue
            name = node.args[0]
            called = getattr(node.func, "id", "")
            if called in {"say", "forms"} and isinstance(name, ast.Constant):
                places = {one.arg for one in node.keywords if one.arg is not None}
                said.setdefault(str(name.value), set()).update(places)
    said_here = frozenset(said)
    for path in sorted(_ASSETS.rglob("*.js")):
        text = path.read_text("utf-8")
        for name in _NAMED.findall(text) if _SAID_BY_LIST.search(text) else ():
            said.setdefault(name, set())
        for found in _SAID_THERE.finditer(text):
            if found["name"] in said_here:
                continue
            places = set(_KEY.findall(found["places"] or ""))
            said.setdefault(found["name"], set()).update(places)
        # What exists once, as a module of the browser, knows words that no code here does.
        texts.append(text)
    return "\n".join(texts), said


@rule(Severity.ERROR)
def check_sentences_said(judged: Judged) -> Iterator[Told]:
    """TXT508 sentence-not-said: the code says each sentence and form, and fills each place.

    Why: a reader gets no sentence, or the code ends at the place that nobody fills.
    Mend: write the place as the code calls it, or take out what is no longer said.
    Bad:   text: Did you mean {maent}?
    Good:  text: Did you mean {meant}?
    """
    _, said = _code()
    for (kind, key), document in judged.catalogue.documents.items():
        items = document.value.get("items") if isinstance(document.value, dict) else None
        for number, sentence in enumerate(items or () if kind == "sentences" else ()):
            at, name = ("items", number), sentence.get("id")
            if name not in said:
                mend = "say it, or take it out"
                yield (kind, key, (*at, "id")), f'no code says "{name}"', mend
                continue
            for path, what, mend in _slips(sentence, said[name]):
                yield (kind, key, (*at, *path)), what, mend


def _slips(
    sentence: dict[str, Any], given: set[str]
) -> Iterator[tuple[tuple[str | int, ...], str, str]]:
    """Yield the path inside a sentence, what is wrong there and how to mend it."""
    code, _ = _code()
    used: set[str] = set()
    earlier: list[set[tuple[str, str]]] = []
    for number, (when, text) in enumerate(forms_of(sentence)):
        path = ("forms", number) if sentence.get("forms") else ()
        named = PLACE.findall(text)
        used.update(named, when)
        for place in named:
            # A sentence of which only the texts are taken is filled where it is shown.
            if given and place not in given:
                yield (
                    (*path, "text"),
                    f"nobody fills {{{place}}}",
                    f"use {', '.join(sorted(given))}",
                )
        for value in when.values():
            if f'"{value}"' not in code:
                yield (*path, "when"), f'no code knows "{value}"', "correct it, or take it out"
        wanted = set(when.items())
        if any(before <= wanted for before in earlier):
            yield (*path, "text"), "a form before it is taken first", "put this one before it"
        earlier.append(wanted)
    for place in sorted(given - used):
        yield (
            ("id",),
            f'the code gives "{place}", and no text names it',
            "name it, or stop giving it",
        )
