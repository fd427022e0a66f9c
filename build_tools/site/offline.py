"""Room 5: name every file of an edition by its digest, and write that into the worker.

The worker on the device keeps a whole edition or none, and tells by these digests. This
file reads a built folder and changes one file in it, the worker.
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

WORKER = "sw.js"
# The line of the worker that the build fills; unfilled, the worker retires itself.
BLANK = "const EDITION = null;"
# What no reader needs without a network: the worker itself, what only hosts and search
# engines read, packed doubles, and pictures for people who have not come yet.
_LEFT_OUT = re.compile(
    r"sw\.js|404\.html|_headers|robots\.txt|sitemap\.xml|img/.*|assets/icons/preview\..*|.*\.(?:gz|map)"
)


class WorkerError(RuntimeError):
    """Say that the worker has no line to write the edition into."""


def describe_edition(folder: Path) -> dict[str, object]:
    """Return {"version", "files"}: address below the site's root to base64 SHA-256.

    A page's address is its folder's, as readers ask for it. Equal folders give equal
    editions; the version is the digest of the list.
    """
    files = {
        _address(path.relative_to(folder).as_posix()): _digest(path.read_bytes())
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not _LEFT_OUT.fullmatch(path.relative_to(folder).as_posix())
    }
    listed = json.dumps(files, sort_keys=True, ensure_ascii=False)
    return {"version": hashlib.sha256(listed.encode()).hexdigest()[:16], "files": files}


def write_edition(folder: Path) -> None:
    """Write the edition of a built folder into its worker; everything else must be final.

    Raises:
        WorkerError: if the worker is missing or its line has been changed.
    """
    path = folder / WORKER
    text = path.read_text("utf-8") if path.is_file() else ""
    if text.count(BLANK) != 1:
        raise WorkerError(f'{WORKER} does not hold the line "{BLANK}" once')
    edition = json.dumps(describe_edition(folder), ensure_ascii=True, separators=(",", ":"))
    path.write_text(text.replace(BLANK, f"const EDITION = {edition};"), "utf-8")


def _address(name: str) -> str:
    """Return how readers ask for a file: a page by its folder, the first page by ""."""
    return re.sub(r"(^|/)index\.html$", r"\1", name)


def _digest(content: bytes) -> str:
    return base64.b64encode(hashlib.sha256(content).digest()).decode("ascii")
