"""Room 6: fill a commented template for a new entry.

Returns what would be written; the command line writes it. Nothing that exists is touched.
"""

import re
import textwrap
from datetime import date
from pathlib import Path

from build_tools.knowledge.folders import (
    FOLDER_OF_KIND,
    LED_WHY,
    TEMPLATES,
    entry_path,
    knowledge_folder,
)

_ID = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*\Z")
_LONGEST_ID = 48
# What a template names where nothing that leads to the entry was given.
_LED_FROM = "alternator-weak"
# By kind of what is started: the kind that leads to it, and there the list and the lines it gets.
LEADS: dict[str, tuple[str, str, str]] = {
    "cause": (
        "symptom",
        "causes",
        f"""
        - cause: {{id}}
          how_often: sometimes
          why: {LED_WHY}
          checks: []
        """,
    ),
    "check": ("cause", "confirmed_by", "- {{check: {id}, level: brightens}}"),
}


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
            f"{_LONGEST_ID} signs at most, such as lights-dim-at-idle"
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


def plan_led_entry(
    root: Path, kind: str, entry_id: str, origin: str, *, today: date
) -> list[tuple[Path, str]]:
    """Return a new cause or check and the file that leads to it, with the lines that do so.

    `origin` is the symptom a new cause can produce, or the cause a new check confirms.

    Raises:
        ValueError: as `plan_entry`; if nothing leads to this kind, or there is no such origin.
    """
    if kind not in LEADS:
        raise ValueError("--for belongs to a cause (--for SYMPTOM) or a check (--for CAUSE)")
    leading, key, lines = LEADS[kind]
    path = entry_path(knowledge_folder(root), leading, origin)
    if not path.is_file():
        raise ValueError(f'there is no {leading} "{origin}" to lead to this {kind}')
    text = _with_lines(path.read_text(encoding="utf-8"), key, lines.format(id=entry_id))
    if kind == "check":
        text = _BECAUSE.sub("unconfirmable_because: null\n", text)
    ((own, _),) = plan_entry(root, kind, entry_id, today=today)
    return [(own, _filled(kind, entry_id, origin, today)), (path, text)]


_BECAUSE = re.compile(r"^unconfirmable_because:.*\n(?:[ \n].*\n?)*", re.MULTILINE)


def _with_lines(text: str, key: str, lines: str) -> str:
    """Add lines at the end of a list that stands at the left edge."""
    block = re.search(
        rf"^{key}:(?P<inline>.*)\n(?:(?:[ #].*)?\n)*", f"{text.rstrip()}\n", re.MULTILINE
    )
    if block is None:
        raise ValueError(f"`{key}` is not there to take the new line; add it by hand")
    before, own, after = text[: block.start()], block[0], text[block.end() :]
    if block["inline"].strip() == "[]":
        own = f"{key}:\n"
    more = textwrap.indent(textwrap.dedent(lines).strip(), "  ")
    return f"{before}{own.rstrip()}\n{more}\n{after}"


def _refuse_taken(knowledge: Path, kind: str, entry_id: str) -> None:
    shared = ("symptom", "cause", "check")
    for other in shared if kind in shared else (kind,):
        if entry_path(knowledge, other, entry_id).exists():
            folder = FOLDER_OF_KIND[other]
            raise ValueError(f'"{entry_id}" exists already in {folder}/; choose another id')


def _filled(kind: str, entry_id: str, led_from: str, today: date) -> str:
    template = (TEMPLATES / f"{kind}.yml").read_text(encoding="utf-8")
    return (
        template.replace("NEW-ID", entry_id)
        .replace("NEW-TITLE", entry_id.replace("-", " ").capitalize())
        .replace("SYMPTOM-ID", led_from)
        .replace("LED-FROM", led_from if kind == "check" and led_from != entry_id else _LED_FROM)
        .replace("NEW-DATE", today.isoformat())
    )
