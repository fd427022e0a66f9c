"""Room 4: judge ids and titles."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from build_tools.knowledge.assemble import BAD_ID, ID_DIFFERS, USED_TWICE
from build_tools.knowledge.folders import REDIRECTS
from build_tools.knowledge.problems import Complaint, Problem, Severity, Span
from build_tools.lint.rule import rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from build_tools.lint.judged import Judged

VANISHED = Complaint(
    "IDN104",
    "id-vanished",
    Severity.ERROR,
    "addresses and case links that people kept lead nowhere from one day to the next",
)
SAME_TITLE = Complaint(
    "IDN105",
    "title-used-twice",
    Severity.ERROR,
    "a reader who searches cannot tell the two apart",
)
_SMALL_WORDS = frozenset({"a", "an", "the", "of", "to", "and", "or", "in", "on", "at", "is"})


def check_id_matches_file(judged: Judged) -> Iterator[Problem]:
    """IDN101 id-differs: `id` equals the file's name, `kind` fits the folder.

    Why: addresses and links are made from the id; with two names an entry is found twice
    or never.

    Mend: write the file's name without .yml as `id`, and move the file to its kind's folder.

    Bad:   causes/drive-belt-slipping.yml with id: belt-slips
    Good:  causes/drive-belt-slipping.yml with id: drive-belt-slipping
    """
    return judged.reported("IDN101")


def check_id_grammar(judged: Judged) -> Iterator[Problem]:
    """IDN102 id-grammar: lower-case words joined by hyphens, a letter first, 48 signs at most.

    Why: the id becomes part of an address, and case links keep it for years.

    Mend: rename the file and the id.

    Bad:   checks/Measure_Volts.yml
    Good:  checks/measure-resting-voltage.yml
    """
    return judged.reported("IDN102")


def check_id_is_unique(judged: Judged) -> Iterator[Problem]:
    """IDN103 id-used-twice: symptoms, causes and checks share one set of ids, for ever.

    Why: findings are looked up by id alone, and a former id still stands in old case links.

    Mend: choose another id for the newer entry.

    Bad:   entries/lamp-left-on.yml beside causes/lamp-left-on.yml
    Good:  entries/lamp-stays-lit.yml beside causes/lamp-left-on.yml
    """
    return judged.reported("IDN103")


def check_ids_stay(judged: Judged) -> Iterator[Problem]:
    """IDN104 id-vanished: an entry of the base revision is still there, or has a redirect.

    Runs with `--base REV` only. Worked cases may go: no address is made from them.

    Why: ids are kept for ever in addresses, notes and case links.

    Mend: bring the file back, or name its new id, or why it was retired, in redirects.yml.

    Bad:   causes/belt-slips.yml renamed, and redirects.yml as it was
    Good:  items: {belt-slips: drive-belt-slipping}
    """
    present = judged.catalogue.documents
    folder = knowledge_name(judged)
    for kind, key in sorted(judged.former or ()):
        gone = (kind, key) not in present and key not in judged.catalogue.redirects
        if gone and kind != "case":
            span = Span(f"{folder}/{REDIRECTS}")
            what = f'{kind} "{key}" was there at the base revision and is gone'
            mend = f"bring the file back, or add `  {key}: NEW-ID` to items in {REDIRECTS}"
            yield VANISHED.at(span, what, mend)


def knowledge_name(judged: Judged) -> str:
    """Return the name of the knowledge folder as messages show it."""
    shown = next(iter(judged.catalogue.documents.values()), None)
    return shown.file.split("/")[0] if shown else "symptoms"


def check_title_is_unique(judged: Judged) -> Iterator[Problem]:
    """IDN105 title-used-twice: no two entries of a kind have the same title.

    Equal titles are an error; titles made of the same words in another order are a warning.

    Why: lists and search results show titles, and a reader could not tell the two apart.

    Mend: say in the title what sets this entry apart.

    Bad:   title: Battery voltage        (in two checks)
    Good:  title: Measure the resting voltage
    """
    for kind in ("symptom", "cause", "check", "gauge", "context", "sum", "case"):
        titles: dict[str, str] = {}
        words: dict[frozenset[str], str] = {}
        for key, entry in judged.catalogue.of_kind(kind).items():
            title = entry.title.casefold()
            spoken = frozenset(re.findall(r"[a-z0-9]+", title)) - _SMALL_WORDS
            place = (kind, key, ("title",))
            if title in titles:
                what = f'title "{entry.title}" is also the title of "{titles[title]}"'
                mend = "say what sets this one apart"
                yield judged.problem(SAME_TITLE, place, what, mend)
            elif spoken in words:
                what = f'title "{entry.title}" has the words of "{words[spoken]}"'
                mend = "say what sets this one apart"
                found = judged.problem(SAME_TITLE, place, what, mend)
                yield replace(found, severity=Severity.WARNING)
            titles.setdefault(title, key)
            words.setdefault(spoken, key)


RULES = (
    rule(ID_DIFFERS, "file", check_id_matches_file),
    rule(BAD_ID, "file", check_id_grammar),
    rule(USED_TWICE, "catalogue", check_id_is_unique),
    rule(VANISHED, "catalogue", check_ids_stay, asks="base"),
    rule(SAME_TITLE, "catalogue", check_title_is_unique),
)
