"""Room 5: take comments and needless blanks out of scripts and styles.

Names and the order of words stay, so what runs is what was written. Texts, templates (also
nested ones) and patterns are copied as they stand; a comment that holds a licence is kept.
"""

import re
from dataclasses import dataclass, field
from functools import lru_cache

_PIECE = re.compile(
    r"""(?P<blank>\s+)
    |(?P<comment>//[^\n]*|/\*.*?\*/)
    |(?P<text>"(?:[^"\\\n]|\\.)*"|'(?:[^'\\\n]|\\.)*')
    |(?P<word>[\w$]+)
    |(?P<template>`)
    |(?P<sign>.)""",
    re.DOTALL | re.VERBOSE,
)
_PATTERN = re.compile(r"/(?![*/])(?:[^/\\\[\n]|\\.|\[(?:[^\]\\\n]|\\.)*\])+/[a-z]*")
_TEMPLATE = re.compile(r"(?:[^`\\$]|\\.|\$(?!\{))*(?P<end>`|\$\{)", re.DOTALL)
# After these words a slash begins a pattern; after any other word it divides.
_BEFORE_VALUE = {
    *("return", "typeof", "case", "in", "of", "do", "else", "void", "delete", "throw"),
    *("new", "instanceof", "yield", "await"),
}
_STYLE = re.compile(r"""(?P<text>"[^"]*"|'[^']*')|/\*.*?\*/|(?P<blank>\s+)""", re.DOTALL)
_GLUE = re.compile(r"[\w$]")


class ShortenError(ValueError):
    """Say that a script ends within a text, a template or a bracket."""


@dataclass
class _Shortened:
    """The short text so far, and what stands between its last piece and the next."""

    parts: list[str] = field(default_factory=list)
    gap: str = ""

    def add(self, piece: str) -> None:
        last = self.parts[-1][-1] if self.parts else ";"
        if "\n" in self.gap:
            self.parts += [] if last in ";{,(" else ["\n"]
        elif self.gap and _needs_gap(last, piece[0]):
            self.parts.append(" ")
        self.gap = ""
        self.parts.append(piece)


def _needs_gap(last: str, first: str) -> bool:
    """Tell whether two pieces would run together: words, or signs that make a longer one."""
    return bool(_GLUE.match(last) and _GLUE.match(first)) or (last in "+-/" and first in "+-/")


# A module stands in the scripts of many pages, and a preview joins all of them again and again.
@lru_cache(maxsize=512)
def shorten_script(text: str) -> str:
    """Return a module's text without comments and needless blanks.

    Raises:
        ShortenError: if it cannot be read to its end.
    """
    out = _Shortened()
    open_braces: list[str] = []  # "{" for a block, "`" for a hole in a template
    before, at = "", 0
    while at < len(text):
        pattern = _PATTERN.match(text, at) if _may_begin_pattern(before) else None
        found = pattern or _PIECE.match(text, at)
        if found is None:  # pragma: no cover - the last way takes any sign
            raise ShortenError(text[at : at + 40])
        piece, kind, at = found[0], "text" if pattern else found.lastgroup, found.end()
        if kind == "blank" or (kind == "comment" and "@license" not in piece):
            out.gap += piece if kind == "blank" or "\n" in piece else " "
            continue
        if kind == "template" or (piece == "}" and open_braces[-1:] == ["`"]):
            if piece == "}":
                open_braces.pop()
            piece, at = _template(text, at, piece)
            if piece.endswith("${"):
                open_braces.append("`")
        elif piece == "{":
            open_braces.append("{")
        elif piece == "}" and (not open_braces or open_braces.pop() != "{"):
            raise ShortenError("a bracket is closed that was never opened")
        out.add(piece)
        before = piece if kind != "comment" else before
    if open_braces:
        raise ShortenError("a bracket or a template is never closed")
    return "".join(out.parts) + "\n"


def _may_begin_pattern(before: str) -> bool:
    if before in _BEFORE_VALUE or before == "" or before.endswith("${"):
        return True
    return not (_GLUE.match(before[-1]) or before[-1] in ")]}`\"'" or before[:1] == "/" != before)


def _template(text: str, at: int, begun: str) -> tuple[str, int]:
    """Return a template's text from its begin, or from a hole's end, to its end or next hole."""
    found = _TEMPLATE.match(text, at)
    if found is None:
        raise ShortenError("a template is never closed")
    return begun + found[0], found.end()


def shorten_style(text: str) -> str:
    """Return a style sheet without comments and with single blanks."""
    return _STYLE.sub(lambda found: found["text"] or (" " if found["blank"] else ""), text).strip()
