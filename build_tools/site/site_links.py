"""Room 5: look through a built folder for links that lead nowhere and forbidden markup.

Reads files, changes none. Addresses outside the site are not opened.
"""

import posixpath
from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urlsplit

from build_tools.knowledge.problems import Complaint, Problem, Severity, Span

BROKEN = Complaint(
    code="BLD902",
    slug="broken-link",
    severity=Severity.ERROR,
    why="a reader who follows the link meets a page that is not there",
)
INLINE = Complaint(
    code="BLD903",
    slug="inline-code",
    severity=Severity.ERROR,
    why="the content policy blocks inline scripts and styles, so the page would not work",
)
UNSAFE = Complaint(
    code="BLD905",
    slug="unsafe-address",
    severity=Severity.ERROR,
    why="such an address can run code, or be read and changed on its way",
)
# What an address that leaves the site may begin with.
_SAFE_SCHEMES = {"https", "mailto"}
_ADDRESSES = {("a", "href"), ("link", "href"), ("script", "src"), ("img", "src"), ("use", "href")}
_READ_BY_SCRIPT = {"checker/index.html", "readiness/index.html"}


@dataclass
class _Leaf(HTMLParser):
    """Collect the addresses, ids and inline code of one page."""

    addresses: list[tuple[str, int]] = field(default_factory=list)
    ids: set[str] = field(default_factory=set)
    inline: list[tuple[str, int]] = field(default_factory=list)

    def __post_init__(self) -> None:
        super().__init__()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        line = self.getpos()[0]
        names = dict(attrs)
        if tag == "style" or (tag == "script" and "src" not in names):
            self.inline.append((f"<{tag}>", line))
        for name, value in attrs:
            if name == "style" or name.startswith("on"):
                self.inline.append((f"{name}=", line))
            if name == "id" and value:
                self.ids.add(value)
            if (tag, name) in _ADDRESSES and value is not None:
                self.addresses.append((value, line))


def examine_site(folder: Path) -> list[Problem]:
    """Return every broken link, unsafe address and piece of inline code in a built site.

    The "not found" page is left out of the link check: it is shown at any depth and its
    links start at the root of the site.
    """
    leaves = {path.relative_to(folder).as_posix(): _read(path) for path in _pages(folder)}
    problems: list[Problem] = []
    for name, leaf in leaves.items():
        problems += [
            INLINE.at(Span(name, line), f"{what} in a page", "move it to a file of its own")
            for what, line in leaf.inline
        ]
        problems += [
            UNSAFE.at(Span(name, line), f'"{address}" is not safe', "write an https: address")
            for address, line in leaf.addresses
            if urlsplit(address).scheme not in {"", *_SAFE_SCHEMES}
        ]
        if name != "404.html":
            problems += _broken(folder, name, leaf, leaves)
    return problems


def _pages(folder: Path) -> Iterator[Path]:
    yield from sorted(folder.rglob("*.html"))


def _read(path: Path) -> _Leaf:
    leaf = _Leaf()
    leaf.feed(path.read_text("utf-8"))
    leaf.close()
    return leaf


def _broken(folder: Path, name: str, leaf: _Leaf, leaves: dict[str, _Leaf]) -> Iterator[Problem]:
    for address, line in leaf.addresses:
        parts = urlsplit(address)
        if parts.scheme or parts.netloc:
            continue
        target = _target(name, parts.path)
        found = target in leaves or (folder / target).is_file()
        # What follows the sign belongs to these pages' scripts and names no place on the page.
        is_case = target in _READ_BY_SCRIPT
        anchored = (
            not parts.fragment
            or is_case
            or target not in leaves
            or unquote(parts.fragment) in leaves[target].ids
        )
        if not found or not anchored or parts.path.startswith("/"):
            yield BROKEN.at(
                Span(name, line),
                f'"{address}" leads nowhere',
                "mend the address or the page it names",
            )


def _target(page: str, path: str) -> str:
    """Return the file a relative address means, seen from a page."""
    if not path:
        return page
    joined = posixpath.normpath(posixpath.join(posixpath.dirname(page), unquote(path)))
    if path.endswith(("/", "/.", "/..")) or path in {".", ".."}:
        return posixpath.normpath(posixpath.join(joined, "index.html"))
    return joined
