"""Room 4: explain the problems of files, which reading them has told already."""

from __future__ import annotations

from typing import TYPE_CHECKING

from build_tools.knowledge.problems import Complaint, Problem, Severity
from build_tools.knowledge.schema_check import MISFIT, UNKNOWN_KEY
from build_tools.knowledge.yaml_reader import DUPLICATE, LOOKALIKE, MACHINERY, UNREADABLE
from build_tools.lint.fixes import tidy_places
from build_tools.lint.rule import rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from build_tools.lint.judged import Judged

UNTIDY = Complaint(
    "SHP007",
    "untidy-file",
    Severity.WARNING,
    "two files of a kind are easier to compare when their keys stand in one order",
)


def check_readable(judged: Judged) -> Iterator[Problem]:
    """SHP001 unreadable-file: a file must be readable YAML in UTF-8, in the right folder.

    Why: a file that cannot be read is missing from the site, and a file whose name does
    not end in .yml is never looked at.

    Mend: look at the line named and the one above. Most often it is indentation, a quote
    that is not closed, or a colon followed by a space inside unquoted text.

    Bad:   title: Clicks: nothing else
    Good:  title: "Clicks: nothing else"
    """
    return judged.reported("SHP001")


def check_duplicate_keys(judged: Judged) -> Iterator[Problem]:
    """SHP002 duplicate-key: a key may stand only once in its group.

    Why: YAML readers keep the last one and drop the others without a word.

    Mend: keep one of the two.

    Bad:   tools: [multimeter]
           tools: [torch]
    Good:  tools: [multimeter, torch]
    """
    return judged.reported("SHP002")


def check_lookalikes(judged: Judged) -> Iterator[Problem]:
    """SHP003 unquoted-lookalike: words that some readers turn into other values need quotes.

    Why: yes, no, on and off become true or false, 1:20 becomes 80, 010 becomes 8, a date
    becomes something else than text, and 1.10 loses its nought.

    Mend: put quotes round it; for a number write it plainly, such as 1.1.

    Bad:   reviewed: 2026-11-25
    Good:  reviewed: "2026-11-25"
    """
    return judged.reported("SHP003")


def check_shape(judged: Judged) -> Iterator[Problem]:
    """SHP004 schema-misfit: every value must have the shape its kind asks for.

    Why: pages and checker read fixed places; a list where text is expected shows nothing.

    Mend: follow the message; the commented template of each kind is in symptoms/_template.

    Bad:   minutes: "5"
    Good:  minutes: 5
    """
    return judged.reported("SHP004")


def check_known_keys(judged: Judged) -> Iterator[Problem]:
    """SHP005 unknown-key: only the keys of the kind may be used.

    Why: nothing reads an unknown key, so what stands under it vanishes.

    Mend: correct the spelling, or remove the key.

    Bad:   summry: Volts at the posts.
    Good:  summary: Volts at the posts.
    """
    return judged.reported("SHP005")


def check_plain_yaml(judged: Judged) -> Iterator[Problem]:
    """SHP006 yaml-machinery: no anchors, aliases, merge keys, tags or second documents.

    Why: one must be able to read a file from top to bottom and see what it says.

    Mend: write the text out in full where it is needed.

    Bad:   cautions: &battery [hydrogen, acid]
    Good:  cautions: [hydrogen, acid]
    """
    return judged.reported("SHP006")


def check_tidy(judged: Judged) -> Iterator[Problem]:
    """SHP007 untidy-file: keys stand in the template's order, without stray white space.

    Why: entries of a kind are read side by side; a fixed order shows what is missing.

    Mend: run `python -m build_tools fix`; it changes nothing but order and white space.

    Bad:   id: resting-voltage
           kind: gauge
    Good:  kind: gauge
           id: resting-voltage
    """
    mend = "run: python -m build_tools fix"
    for span, what in tidy_places(judged.catalogue.documents):
        yield UNTIDY.at(span, what, mend)


RULES = (
    rule(UNREADABLE, "file", check_readable),
    rule(DUPLICATE, "file", check_duplicate_keys),
    rule(LOOKALIKE, "file", check_lookalikes),
    rule(MISFIT, "file", check_shape),
    rule(UNKNOWN_KEY, "file", check_known_keys),
    rule(MACHINERY, "file", check_plain_yaml),
    rule(UNTIDY, "file", check_tidy),
)
