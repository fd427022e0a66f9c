"""Room 5: let a preview draw and write again only what a change made different.

The site generator empties its folder and draws every page after each change. In a preview what
stands there already stays as long as its content is the same, and a page is drawn again only
if something its templates can see is different: both are known by digests of their content.
"""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import TYPE_CHECKING, Any

import jinja2

if TYPE_CHECKING:
    from collections.abc import Callable
    from types import ModuleType


class _Folder:
    """What a preview's folder holds, file by file, in the place of the generator's writing."""

    def __init__(self, write_file: Callable[[bytes, str], None]) -> None:
        self.write_file = write_file
        self.held: dict[str, bytes] = {}
        self.wanted: set[str] = set()

    def begin(self, folder: str) -> None:
        """Empty the folder of what was written otherwise; `end` does the rest."""
        self.wanted.clear()
        for path in Path(folder).rglob("*"):
            if str(path) not in self.held and path.is_file():
                path.unlink()

    def write(self, content: bytes, path: str) -> None:
        """Write a file, unless the same content was written to it last."""
        self.wanted.add(path)
        digest = hashlib.sha256(content).digest()
        if self.held.get(path) != digest:
            self.held.pop(path, None)
            self.write_file(content, path)
            self.held[path] = digest

    def copy(self, source: str, path: str) -> None:
        """Copy a file, unless the same content was written last."""
        self.write(Path(source).read_bytes(), path)

    def end(self) -> None:
        """Take away what the build that ends here did not write."""
        for path in self.held.keys() - self.wanted:
            Path(path).unlink(missing_ok=True)
            del self.held[path]


# Digest of all that a page is drawn from -> the drawn page, of the last build and of this one.
_former: dict[bytes, str] = {}
_drawn: dict[bytes, str] = {}


class _KeptTemplate(jinja2.Template):
    """A template that draws a page only if it was not drawn from the same before."""

    def render(self, *given: Any, **named: Any) -> str:  # noqa: ANN401 - as in jinja
        context = dict(*given, **named)
        page = context.get("page")
        if page is None or "whole_site" not in self.globals:
            return super().render(context)
        seen = (page.title, page.url, page.canonical_url, page.meta, page.content)
        signs = f"{self.name}\0{self.globals['whole_site']}\0{seen!r}"
        key = hashlib.sha256(signs.encode("utf-8", "surrogateescape")).digest()
        _drawn[key] = _former.get(key) or super().render(context)
        return _drawn[key]


def keep_folder(utils: ModuleType) -> Callable[[], None]:
    """Put our way of writing in the place of the generator's, for the rest of this process.

    Return what is to be called at the end of each build.
    """
    folder = _Folder(utils.write_file)
    ours = {"clean_directory": folder.begin, "write_file": folder.write, "copy_file": folder.copy}
    for name, way in ours.items():
        setattr(utils, name, way)
    return folder.end


def keep_drawn(env: jinja2.Environment, settings: Path, templates: Path) -> None:
    """Let templates keep what they draw from now on; `settings` is all else that they are given."""
    signs = hashlib.sha256(settings.read_bytes())
    for path in sorted(templates.rglob("*.html")):
        signs.update(f"{path}\0".encode() + path.read_bytes())
    env.globals["whole_site"] = signs.hexdigest()
    env.template_class = _KeptTemplate


def forget_drawn() -> None:
    """Forget what the build that ends here did not use."""
    global _former, _drawn
    _former, _drawn = _drawn, {}
