"""Room 6: fill a commented template for a new entry.

Returns what would be written; the command line writes it. Nothing that exists is touched.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from build_tools.knowledge.folders import FOLDER_OF_KIND, TEMPLATES, entry_path, knowledge_folder

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

_ID = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*\Z")
_LONGEST_ID = 48


def plan_entry(
    root: Path, kind: str, entry_id: str, *, today: date, with_case: bool = False
) -> list[tuple[Path, str]]:
    """Return (path, text) of the files that start an entry, and its case when asked for.

    Raises:
        ValueError: if the id is not an id, is taken, or a case is asked for what is no
            symptom; the message says what to do instead.

    """
    knowledge = knowledge_folder(root)
    if not (_ID.match(entry_id) and len(entry_id) <= _LONGEST_ID):
        raise ValueError(
            f'"{entry_id}" is not an id; use lower-case words joined by hyphens, a letter first, '
            f"{_LONGEST_ID} signs at most, such as lamps-dim-at-idle"
        )
    if with_case and kind != "symptom":
        raise ValueError("--with-case belongs to a symptom; start the case by itself")
    wanted = [(kind, entry_id)]
    if with_case:
        wanted.append(("case", f"{entry_id[: _LONGEST_ID - 5]}-case".replace("--", "-")))
    files = []
    for one_kind, one_id in wanted:
        _refuse_taken(knowledge, one_kind, one_id)
        text = _filled(one_kind, one_id, entry_id, today)
        files.append((entry_path(knowledge, one_kind, one_id), text))
    return files


def _refuse_taken(knowledge: Path, kind: str, entry_id: str) -> None:
    shared = ("symptom", "cause", "check")
    for other in shared if kind in shared else (kind,):
        if entry_path(knowledge, other, entry_id).exists():
            folder = FOLDER_OF_KIND[other]
            raise ValueError(f'"{entry_id}" exists already in {folder}/; choose another id')


def _filled(kind: str, entry_id: str, symptom_id: str, today: date) -> str:
    template = (TEMPLATES / f"{kind}.yml").read_text(encoding="utf-8")
    return (
        template.replace("NEW-ID", entry_id)
        .replace("NEW-TITLE", entry_id.replace("-", " ").capitalize())
        .replace("SYMPTOM-ID", symptom_id)
        .replace("NEW-DATE", today.isoformat())
    )
