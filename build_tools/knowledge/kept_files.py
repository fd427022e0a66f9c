"""Room 2: keep what each file was read to, so that after a change only that file is read again.

A kept file is known by its name, its schema and every byte of it; all of them by the digest of
the schemas and of the code that reads, as in `kept`. Nothing kept is ever stale.
"""

import hashlib
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any, Final

from build_tools.knowledge import kept
from build_tools.knowledge.folders import KEPT, SCHEMAS
from build_tools.knowledge.problems import Problem
from build_tools.knowledge.schema_check import check_document
from build_tools.knowledge.yaml_reader import Document, read

# A file's content, what was met in reading it, and where it does not fit its schema.
Judged = tuple[Document | None, tuple[Problem, ...], tuple[Problem, ...]]

_FOLDER: Final = KEPT.with_name("files")
# More than there are files, so that a preview reads again only the one that was changed.
_MOST_FILES: Final = 2048
# To read a few files again is quicker than to write all of them.
_FEW: Final = 40


@dataclass
class _Shelf:
    """What was found on the disk, and what this process used and read."""

    state: str = ""
    found: dict[Any, Judged] = field(default_factory=dict)
    used: dict[Any, Judged] = field(default_factory=dict)
    fresh: int = 0


_shelves: list[_Shelf] = []


@lru_cache(maxsize=_MOST_FILES)
def judged_file(raw: bytes, name: str, schema: str | None) -> Judged:
    """Read a file's bytes and hold them against their schema, unless that was done before."""
    if not _shelves:
        _shelves.append(_taken_down())
    shelf = _shelves[0]
    key = (name, schema, hashlib.sha256(raw).digest())
    if key in shelf.found:
        shelf.used[key] = shelf.found[key]
    else:
        document, problems = read(raw, name)
        misfits = check_document(document, schema) if document and schema else ()
        shelf.used[key] = (document, tuple(problems), tuple(misfits))
        shelf.fresh += 1
    return shelf.used[key]


def keep_files() -> None:
    """Write what this process used to the disk, if much of it was not there.

    Raises:
        OSError: if a schema cannot be read.
    """
    for shelf in _shelves:
        # What changed while it was being read belongs to no name.
        if shelf.fresh > _FEW and shelf.state == kept.digest(SCHEMAS):
            kept.keep(_FOLDER, shelf.state, shelf.used, {})
            shelf.fresh = 0


def _taken_down() -> _Shelf:
    try:
        state = kept.digest(SCHEMAS)
    except OSError:
        return _Shelf()
    found = kept.fetch(_FOLDER, state)
    return _Shelf(state, found[0] if found else {})
