"""Room 5: give every page of a built folder one script and one style, named by their digest.

The plain modules stay the source and stay published beside; a page loads them joined, without
comments. What a module imports late becomes a file of its own, which is handed the modules that
the page already runs, so that no state is there twice. Data that a script names carries its
digest behind the name. A page of one edition thus never gets a file of another: it gets its
own, or none and says so.

Only comments and needless blanks go: names and the order of words stay, so what runs is what was
written. Texts, templates (also nested ones) and patterns are copied as they stand; a comment that
holds a licence is kept.
"""

import hashlib
import posixpath
import re
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

from build_tools.browser.linker import (
    ASSETS,
    LinkError,
    Module,
    Surroundings,
    constant_name,
    in_order,
    linked,
)

BUNDLES = "app"  # the folder below the assets
_SCRIPT = re.compile(
    r'<script type="module" src="(?P<up>[^"]*?)assets/(?P<name>[^"]+\.js)"></script>'
)
_SHEET = re.compile(r'<link rel="stylesheet" href="(?P<up>[^"]*?)assets/(?P<name>[^"]+\.css)">')
_PRELOAD = re.compile(r'(<link rel="preload" [^>]*href="[^"]*?)assets/(?P<name>data/[^"]+)"')
_ADDRESS = re.compile(r'new URL\("(?P<to>[^"]+)", AT\("(?P<of>[^"]+)"\)\)')
_PLACE = re.compile(r'AT\("([^"]+)"\)')
_DIGITS = 10

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


def write_bundles(folder: Path) -> None:
    """Write the joined files of a built folder and let its pages load them instead.

    Raises:
        LinkError, ShortenError: if a module cannot be joined as it is written.
    """
    bundler = _Bundler(folder)
    for path in sorted(folder.rglob("*.html")):
        text = path.read_text("utf-8")
        joined = _instead(_SCRIPT, text, bundler.script, '<script type="module" src="{}"></script>')
        joined = _instead(_SHEET, joined, bundler.sheet, '<link rel="stylesheet" href="{}">')
        joined = _PRELOAD.sub(
            lambda found: f'{found[1]}assets/{bundler.stamped(found["name"])}"', joined
        )
        if joined != text:
            path.write_text(joined, "utf-8")


@dataclass
class _Bundler:
    """Joins files, and remembers what it has joined for other pages."""

    folder: Path
    made: dict[tuple[str, ...], str] = field(default_factory=dict)

    def script(self, names: tuple[str, ...]) -> str:
        """Return the name, below the assets, of the file that runs these modules in order."""
        # What every page has comes first: a page's own module may wait for its data.
        names = tuple(sorted(names, key=lambda name: not name.startswith("pages/every/")))
        if names not in self.made:
            self.made[names] = self._write(_short_name(names[-1]), ".js", self._joined(names))
        return self.made[names]

    def sheet(self, names: tuple[str, ...]) -> str:
        """Return the name, below the assets, of the file that holds these styles in order."""
        if names not in self.made:
            sheets = [(self.folder / "assets" / name).read_text("utf-8") for name in names]
            text = "\n".join(map(shorten_style, sheets)) + "\n"
            self.made[names] = self._write(_short_name(names[-1]), ".css", text)
        return self.made[names]

    def stamped(self, name: str) -> str:
        """Return a file's name below the assets with the digest of what it holds behind it."""
        return f"{name}?v={_digest((self.folder / 'assets' / name).read_bytes())}"

    def _joined(self, names: tuple[str, ...]) -> str:
        """Return the text of a page's script; its last module may wait for something."""
        entries = [(ASSETS / name).resolve() for name in names]
        modules = in_order([*_needed_by_several(in_order(entries)), *entries])
        own = {module.path for module in modules}
        wanted = {target: None for module in modules for target in module.later}
        late = {target: self._late(target, own) for target in wanted if target not in own}
        around = Surroundings(
            constant_name, _address, lambda path: late.get(path) or _already(path)
        )
        return self._linked(modules, around)

    def _late(self, target: Path, own: set[Path]) -> str:
        """Write the file of a module that is imported late; return what imports it."""
        modules = [module for module in in_order([target]) if module.path not in own]
        if any(module.later for module in modules):
            raise LinkError(f"{target.name} is imported late and imports late itself")
        needed = {path for module in modules for path in module.needs if path in own}
        given = ", ".join(sorted(map(constant_name, needed)))
        around = Surroundings(constant_name, _address, _already)
        text = (
            f"let made;\nexport const link = ({{ {given} }}) => (made ??= (() => {{\n"
            f"{self._linked(modules, around)}return {constant_name(target)};\n}})());\n"
        )
        name = self._write(_short_name(target.name), ".js", text)
        return f'import("./{posixpath.basename(name)}").then(({{ link }}) => link({{ {given} }}))'

    def _linked(self, modules: Iterable[Module], around: Surroundings) -> str:
        """Join modules, each shortened by itself: most stand in the scripts of several pages."""
        scopes = (self._with_addresses(linked([module], around)) for module in modules)
        return "".join(map(shorten_script, scopes))

    def _with_addresses(self, text: str) -> str:
        """Put in the addresses of other files, seen from the folder of the joined ones."""
        text = _ADDRESS.sub(self._address_of, text)
        return _PLACE.sub(r'new URL("../\1", import.meta.url)', text)

    def _address_of(self, found: re.Match[str]) -> str:
        name = posixpath.normpath(posixpath.join(posixpath.dirname(found["of"]), found["to"]))
        if name.startswith("..") or found["to"].endswith("/"):
            name += "/" if found["to"].endswith("/") else ""
        elif name.endswith(".js"):
            name = self.script((name,))
        else:
            name = self.stamped(name)
        return f'new URL("../{name}", import.meta.url)'

    def _write(self, name: str, ending: str, text: str) -> str:
        content = text.encode()
        place = f"{BUNDLES}/{name}-{_digest(content)}{ending}"
        path = self.folder / "assets" / place
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(content)
        return place


def _instead(
    pattern: re.Pattern[str], text: str, join: Callable[[tuple[str, ...]], str], tag: str
) -> str:
    """Put one tag in the place of all that a page has of a kind, where the first one stands."""
    found = list(pattern.finditer(text))
    if not found:
        return text
    name = join(tuple(dict.fromkeys(one["name"] for one in found)))
    rest = iter([tag.format(f"{found[0]['up']}assets/{name}")])
    return pattern.sub(lambda _: next(rest, ""), text)


def _needed_by_several(modules: Iterable[Module]) -> list[Path]:
    """Return what two or more late imports need: it belongs to the page, to be there once."""
    targets = {target: None for module in modules for target in module.later}
    needed = Counter(module.path for target in targets for module in in_order([target]))
    return [path for path, times in needed.items() if times > 1]


def _already(path: Path) -> str:
    return f"Promise.resolve({constant_name(path)})"


def _address(path: Path) -> str:
    return f'AT("{path.relative_to(ASSETS).as_posix()}")'


def _short_name(name: str) -> str:
    """Name a joined file after the module or style it is for."""
    folder, stem = posixpath.split(posixpath.splitext(name)[0])
    return posixpath.basename(folder) if stem == "start" else stem


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()[:_DIGITS]
