"""Room 5: name every file of an edition by its digest, and write that into the worker.

The worker on the device keeps a whole edition or none, and tells by these digests. This
file reads a built folder, changes one file in it, the worker, and adds the list of what is kept
only on request.
"""

import base64
import hashlib
import json
import re
import zlib
from pathlib import Path

WORKER = "sw.js"
# The line of the worker that the build fills; unfilled, the worker retires itself.
BLANK = "const EDITION = null;"
REST = "all-pages.json"  # the list of what is kept on request
# What no reader needs without a network: the worker itself, what only hosts and search
# engines read, packed doubles, pictures for people who have not come yet, the knowledge as
# data for others, and the sources of what the pages load joined.
_LEFT_OUT = re.compile(
    r"sw\.js|all-pages\.json|build-manifest\.txt|404\.html|_headers|robots\.txt|sitemap\.xml|img/.*"
    r"|assets/icons/preview\..*|assets/data/(?:knowledge|cases|inspections|sentences)\.json|schema/.*|.*\.(?:gz|map)"
    r"|assets/(?!app/).*\.(?:js|css)|assets/vendor/.*"
)
# What is needed beside a car, and so kept unasked: the pages that ask and measure, and how to
# measure. The checker holds the steps of every check; of the drawings come those in which a meter,
# a charger or a jumper cable meets the battery, and the looks that often come first. What these
# pages load comes with them.
_UNASKED = re.compile(
    r"(?:(?:checker|cases|readings|readiness|stay-safe|offline|symptoms|checks/measure-(?:resting|cranking)-voltage)/)?index\.html"
    r"|app\.webmanifest|assets/drawings/(?!fuse-)[a-z-]*(?:voltage|drop|draw|clamps|clips|lead-order|pack|test|inspection|hidden-lights)\.svg|assets/icons/(?:icon\.svg|icon-192\.png)"
)
_LOADS = re.compile(
    r'"(?:\.{1,2}/)*(?P<page>assets/[^"?#]+)|"\./(?P<late>[^"?#/]+\.js)"'
    r'|"\.\./(?P<data>data/[^"?#]+)'
)


class WorkerError(RuntimeError):
    """Say that the worker has no line to write the edition into."""


def describe_edition(folder: Path) -> dict[str, dict[str, str]]:
    """Return {"files", "rest"}: what is kept unasked, and what on request.

    Each is address below the site's root to base64 SHA-256; a page's address is its folder's,
    as readers ask for it. Equal folders give equal editions.
    """
    paths = {path.relative_to(folder).as_posix(): path for path in sorted(folder.rglob("*"))}
    names = [
        name for name, path in paths.items() if path.is_file() and not _LEFT_OUT.fullmatch(name)
    ]
    unasked = _with_loads(folder, [name for name in names if _UNASKED.fullmatch(name)])
    parts = {"files": [n for n in names if n in unasked]}
    parts["rest"] = [name for name in names if name not in unasked]
    return {
        part: {_address(name): _digest(paths[name].read_bytes()) for name in inside}
        for part, inside in parts.items()
    }


def write_edition(folder: Path) -> None:
    """Write the edition of a built folder into its worker; everything else must be final.

    Raises:
        WorkerError: if the worker is missing or its line has been changed.
    """
    path = folder / WORKER
    text = path.read_text("utf-8") if path.is_file() else ""
    if text.count(BLANK) != 1:
        raise WorkerError(f'{WORKER} does not hold the line "{BLANK}" once')
    edition = describe_edition(folder)
    files, rest = edition["files"], edition["rest"]
    listed = _compact(rest).encode()
    (folder / REST).write_bytes(listed)
    about = {"digest": _digest(listed), "count": len(rest), "bytes": _packed_bytes(folder, rest)}
    whole = {"files": files, "bytes": _packed_bytes(folder, files), "rest": about}
    version = hashlib.sha256(_compact(whole).encode()).hexdigest()[:16]
    filled = f"const EDITION = {_compact({'version': version, **whole})};"
    path.write_text(text.replace(BLANK, filled), "utf-8")


def _with_loads(folder: Path, names: list[str]) -> set[str]:
    """Return files with all that they load of the assets, and what that loads in turn."""
    found: set[str] = set()
    queue = list(names)
    while queue:
        name = queue.pop()
        if name in found or not (folder / name).is_file():
            continue
        found.add(name)
        if name.endswith((".html", ".js")):
            for one in _LOADS.finditer((folder / name).read_text("utf-8")):
                late = one["late"] and f"assets/app/{one['late']}"
                queue.append(one["page"] or late or f"assets/{one['data']}")
    return found


def _packed_bytes(folder: Path, files: dict[str, str]) -> int:
    """Return how much these files are to fetch, packed as hosts pack."""
    contents = ((folder / _file_of(address)).read_bytes() for address in files)
    return sum(min(len(content), len(zlib.compress(content))) for content in contents)


def _compact(value: object) -> str:
    return json.dumps(value, ensure_ascii=True, separators=(",", ":"))


def _file_of(address: str) -> str:
    return f"{address}index.html" if address == "" or address.endswith("/") else address


def _address(name: str) -> str:
    """Return how readers ask for a file: a page by its folder, the first page by ""."""
    return re.sub(r"(^|/)index\.html$", r"\1", name)


def _digest(content: bytes) -> str:
    return base64.b64encode(hashlib.sha256(content).digest()).decode("ascii")
