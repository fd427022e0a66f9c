"""Room 5: wrap the search library that comes with the site generator for the browser.

The file is copied at build time from the installed package, with its licence comment, so
no copy is kept in the project and the version is the one that is pinned.
"""

from __future__ import annotations

import re
from importlib.util import find_spec
from pathlib import Path

# Whole lines of comment are more than half of the library; its readers find them upstream.
_COMMENT = re.compile(r"^[ \t]*(?:/\*.*?\*/|//[^\n]*)[ \t]*\n", re.MULTILINE | re.DOTALL)


class VendorMissingError(RuntimeError):
    """Say that an installed package lacks the file we publish."""


def lunr_module() -> str:
    """Return the search library as an ES module with one default export, licence included.

    The original assigns to `module.exports` when it finds one, so it is given one.

    Raises:
        VendorMissingError: if the installed generator does not carry the library.
    """
    spec = find_spec("mkdocs")
    if spec is None or spec.origin is None:
        raise VendorMissingError("the site generator is not installed")
    path = Path(spec.origin).parent / "contrib" / "search" / "templates" / "search" / "lunr.js"
    if not path.is_file():
        raise VendorMissingError(f"{path.name} is not part of the installed site generator")
    # The outer `this` is undefined in a module, and the library's warnings ask it for a console.
    body = path.read_text("utf-8").replace("})(this)\n", "})(globalThis)\n", 1)
    licence_end = body.index("*/") + len("*/")
    return (
        f"{body[:licence_end]}\n"
        "const module = { exports: {} };\n"
        "const exports = module.exports;\n"
        f"{_COMMENT.sub('', body[licence_end:]).lstrip()}\n"
        "export default module.exports;\n"
    )
