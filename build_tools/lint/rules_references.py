"""Room 4: judge whether names lead somewhere and whether everything is reached."""

from __future__ import annotations

from typing import TYPE_CHECKING

from build_tools.knowledge.from_document import UNKNOWN_WORD
from build_tools.knowledge.problems import Complaint, Problem, Severity
from build_tools.knowledge.references import DANGLING, REFERENCES, WRONG_KIND, marks, named_things
from build_tools.lint.rule import rule

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from build_tools.lint.judged import Judged

ORPHAN = Complaint(
    "REF203", "orphan", Severity.WARNING, "no reader would be led to this entry by another"
)
CYCLE = Complaint(
    "REF204",
    "prerequisite-cycle",
    Severity.ERROR,
    "the checker would send the reader round in a circle",
)
RETIRED = Complaint(
    "REF205",
    "reference-to-former-id",
    Severity.WARNING,
    "the page shows an id that is no longer kept",
)


def check_names_exist(judged: Judged) -> Iterator[Problem]:
    """REF201 dangling-reference: what an entry names must exist.

    Entries, sources, levels of a check, bands of a gauge and options of a context.

    Why: the page would point to nothing, and the checker would rank what has no page.

    Mend: correct the id, or write the missing entry first.

    Bad:   cause: loose-groundstrap
    Good:  cause: ground-strap-poor
    """
    return judged.reported("REF201")


def check_names_have_kind(judged: Judged) -> Iterator[Problem]:
    """REF202 reference-of-wrong-kind: a name must be of the kind the place asks for.

    Why: a symptom in the place of a cause leads the reader in a circle.

    Mend: name an entry of the kind the message asks for.

    Bad:   causes: [{cause: cranks-slowly-when-cold, ...}]
    Good:  causes: [{cause: battery-worn-out, ...}]
    """
    return judged.reported("REF202")


def check_words_listed(judged: Judged) -> Iterator[Problem]:
    """REF206 word-not-in-list: tools, hazards, stop lines, families and units come from lists.

    Why: the site explains and draws only what stands in symptoms/vocabulary.

    Mend: use a word of the list, or add the word there with its text.

    Bad:   tools: [voltmeter]
    Good:  tools: [multimeter]
    """
    return judged.reported("REF206")


def check_entry_is_reached(judged: Judged) -> Iterator[Problem]:
    """REF203 orphan: something points to every cause, check, gauge and source.

    Why: an entry nothing points to is never met by a reader, and nobody notices when it
    goes stale.

    Mend: name it where it belongs, or remove it.

    Bad:   a check that no symptom, cause, check or case names
    Good:  checks: [measure-resting-voltage] under a cause of a symptom
    """
    cited = {
        mark
        for document in judged.catalogue.documents.values()
        for _, mark in marks(document.value)
    }
    for kind in ("cause", "check", "gauge"):
        for key in judged.catalogue.of_kind(kind):
            if (kind, key) not in judged.pointed_to:
                what = f'nothing points to {kind} "{key}"'
                mend = "name it in the entry that leads to it, or remove the file"
                yield judged.problem(ORPHAN, (kind, key, ("id",)), what, mend)
    for key in judged.catalogue.sources:
        if key not in cited:
            what = f'nothing cites source "{key}"'
            mend = "cite it with `source:`, or remove the file"
            yield judged.problem(ORPHAN, ("source", key, ("id",)), what, mend)


def check_prerequisites_end(judged: Judged) -> Iterator[Problem]:
    """REF204 prerequisite-cycle: prerequisites of checks must not run in a circle.

    Why: the checker would ask for each check before the other, and offer none.

    Mend: take one of the needs out.

    Bad:   a load test that needs a resting voltage that needs a load test
    Good:  a load test that needs a resting voltage
    """
    needs = {
        key: [need.check for need in check.needs] for key, check in judged.catalogue.checks.items()
    }
    for key in needs:
        circle = _circle(key, needs)
        if circle and key == min(circle):
            what = "these checks need each other: " + " needs ".join([*circle, key])
            mend = "take one of these needs out"
            yield judged.problem(CYCLE, ("check", key, ("needs",)), what, mend)


def _circle(start: str, needs: Mapping[str, list[str]]) -> list[str]:
    """Return the shortest chain of needs from a check back to itself, empty if none."""
    chains = [[start]]
    seen = set()
    while chains:
        chain = chains.pop(0)
        for following in needs.get(chain[-1], ()):
            if following == start:
                return chain
            if following not in seen:
                seen.add(following)
                chains.append([*chain, following])
    return []


def check_names_current(judged: Judged) -> Iterator[Problem]:
    """REF205 reference-to-former-id: name the new id, not the one it had before.

    Why: the reader follows a detour, or reaches a page that says it is gone.

    Mend: write the id that took its place; it stands in symptoms/redirects.yml.

    Bad:   cause: dead-battery
    Good:  cause: battery-worn-out
    """
    former = judged.catalogue.redirects
    for (kind, key), document in judged.catalogue.documents.items():
        if kind not in REFERENCES:
            continue
        for path, _, name in named_things(kind, document):
            if name in former and (kind, name) not in judged.catalogue.documents:
                new = former[name]
                mend = f'write "{new}"' if new else "take it out, or name another entry"
                what = f'"{name}" is a former id'
                yield judged.problem(RETIRED, (kind, key, path), what, mend)


RULES = (
    rule(DANGLING, "catalogue", check_names_exist),
    rule(WRONG_KIND, "catalogue", check_names_have_kind),
    rule(UNKNOWN_WORD, "catalogue", check_words_listed),
    rule(ORPHAN, "catalogue", check_entry_is_reached),
    rule(CYCLE, "catalogue", check_prerequisites_end),
    rule(RETIRED, "catalogue", check_names_current),
)
