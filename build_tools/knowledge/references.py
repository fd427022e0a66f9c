"""Room 2: find every place where one entry names another, and what it should name.

A table of paths per kind, in which `*` stands for any list position or key. Targets are a
kind, a word list of the vocabulary, or `mark` for a source mark. References to a part of
an entry (a level, a band, an option) are followed at the end of this file.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from typing import Any

from build_tools.knowledge.catalogue import Catalogue
from build_tools.knowledge.entries import (
    UNSOURCED_MARKS,
    Case,
    Cause,
    Check,
    Context,
    Gauge,
    Symptom,
)
from build_tools.knowledge.folders import KINDS
from build_tools.knowledge.nearest import did_you_mean
from build_tools.knowledge.problems import Complaint, Problem, Severity
from build_tools.knowledge.quantities import Quantity
from build_tools.knowledge.vocabulary import Vocabulary
from build_tools.knowledge.yaml_reader import Document, KeyPath

UNKNOWN_WORD = Complaint(
    "REF206",
    "word-not-in-list",
    Severity.ERROR,
    "the site explains only words that stand in its lists",
)
DANGLING = Complaint(
    "REF201",
    "dangling-reference",
    Severity.ERROR,
    "the page would point to something that has no page",
)
WRONG_KIND = Complaint(
    "REF202",
    "reference-of-wrong-kind",
    Severity.ERROR,
    "the page would lead somewhere that does not fit the sentence",
)

_MARK_KEYS = {"source", "meters_source"}
# In the order a source's page names them: what is read first.
_KINDS_THAT_LEAN = ("gauge", "sum", "check", "cause", "symptom", "monitor", "inspection", "context")

Pattern = tuple[str, ...]
REFERENCES: Mapping[str, tuple[tuple[Pattern, str], ...]] = {
    "symptom": (
        (("family",), "families"),
        (("stop_now", "*"), "stop_lines"),
        (("stop_colder", "line"), "stop_lines"),
        (("takes_away", "*"), "abilities"),
        (("shows", "*"), "abilities"),
        (("ask_first", "*", "answers", "*", "symptom"), "symptom"),
        (("causes", "*", "cause"), "cause"),
        (("causes", "*", "checks", "*"), "check"),
    ),
    "cause": (
        (("group",), "groups"),
        (("context", "*", "when"), "context"),
        (("repair", "cautions", "*"), "hazards"),
        (("repair", "requires", "*"), "abilities"),
        (("repair", "own_tools", "*"), "tools"),
        (("repair", "after_checks", "*"), "check"),
        (("confirmed_by", "*", "check"), "check"),
        (("confused_with", "*", "cause"), "cause"),
        (("confused_with", "*", "told_apart_by"), "check"),
    ),
    "check": (
        (("tools", "*"), "tools"),
        (("cautions", "*"), "hazards"),
        (("requires", "*"), "abilities"),
        (("needs", "*", "check"), "check"),
        (("needs", "*", "otherwise"), "check"),
        (("only_for", "*"), "families"),
        (("only_with", "*"), "symptom"),
        (("steps", "*", "caution"), "hazards"),
        (("gauge",), "gauge"),
        (("conditions", "*"), "context"),
        (("levels", "*", "stop_now", "*"), "stop_lines"),
        (("levels", "*", "stop_colder", "line"), "stop_lines"),
        (("levels", "*", "takes_away", "*"), "abilities"),
        (("levels", "*", "shows", "*"), "abilities"),
        (("levels", "*", "allows", "*"), "abilities"),
        (("levels", "*", "resets", "*"), "check"),
        (("levels", "*", "mends", "*"), "cause"),
        (("levels", "*", "ends", "*"), "cause"),
        (("shifts", "*", "cause"), "cause"),
    ),
    "gauge": (
        (("unit",), "units"),
        (("accepts", "*"), "units"),
        (("conditions", "*", "id"), "context"),
    ),
    "context": (
        (("options", "*", "stop_now", "*"), "stop_lines"),
        (("unit",), "units"),
        (("accepts", "*"), "units"),
    ),
    "case": (
        (("symptoms", "*"), "symptom"),
        (("absent", "*"), "symptom"),
        (("past", "*"), "symptom"),
        (("tools", "*"), "tools"),
        (("not_possible", "*"), "check"),
        (("mended", "*"), "cause"),
        (("expect", "group_in_first_three"), "groups"),
        (("expect", "cause_in_first_three"), "cause"),
        (("expect", "causes_any_of", "*"), "cause"),
        (("expect", "next"), "check"),
        (("expect", "stop_now", "*"), "stop_lines"),
    ),
    "sum": (
        (("inputs", "*", "context"), "context"),
        (("inputs", "*", "unit"), "units"),
        (("inputs", "*", "accepts", "*"), "units"),
        (("constants", "*", "unit"), "units"),
        (("outputs", "*", "unit"), "units"),
        (("to_case", "*", "check"), "check"),
        (("next_check",), "check"),
        (("cautions", "*"), "hazards"),
    ),
    "monitor": (
        (("after", "*"), "monitor"),
        (("blockers", "*", "cause"), "cause"),
        (("symptom",), "symptom"),
        (("code_symptom",), "symptom"),
        (("cautions", "*"), "hazards"),
    ),
    "inspection": (
        (("bands", "*", "allowed_only", "*"), "monitor"),
        (("forced_ready", "*", "monitors", "*"), "monitor"),
    ),
    "source": (),
    "vocabulary": (
        (("items", "*", "takes_away", "*"), "abilities"),
        (("items", "*", "covers", "*"), "stop_lines"),
        (("items", "*", "implies", "*"), "abilities"),
        (("items", "*", "instead", "*"), "check"),
    ),
    "sentences": (),
}
# References that stand as keys of a mapping at this path.
KEY_REFERENCES: Mapping[str, tuple[tuple[Pattern, str], ...]] = {
    "cause": ((("repair", "sets"), "context"),),
    "symptom": ((("sets",), "context"),),
    "check": ((("drawing_with",), "tools"),),
    "gauge": ((("tables", "*", "for"), "context"), (("spread", "*", "when"), "context")),
    "case": (
        (("context",), "context"),
        (("readings",), "check"),
        (("outcomes",), "check"),
        (("helped",), "cause"),
    ),
}


def matches(
    value: object, pattern: Pattern, path: KeyPath = ()
) -> Iterator[tuple[KeyPath, object]]:
    """Yield the path and value of every place in a plain value that fits a pattern."""
    if not pattern:
        yield path, value
        return
    step, rest = pattern[0], pattern[1:]
    if isinstance(value, dict):
        for key, inner in value.items():
            if step in {"*", key}:
                yield from matches(inner, rest, (*path, key))
    elif isinstance(value, list) and step == "*":
        for number, inner in enumerate(value):
            yield from matches(inner, rest, (*path, number))


def marks(value: object, path: KeyPath = ()) -> Iterator[tuple[KeyPath, str]]:
    """Yield the path and text of every `source` and of each of `sources`, at any depth.

    The value is a file's plain value, an entry, or any part of one. Whatever leans on a source
    or carries a mark is found here, so that no page and no rule keeps a list of its own.
    """
    pairs: Iterable[tuple[str | int, object]] = ()
    if isinstance(value, dict):
        pairs = value.items()
    elif isinstance(value, (list, tuple)):
        pairs = enumerate(value)
    elif is_dataclass(value):
        pairs = ((one.name, getattr(value, one.name)) for one in fields(value))
    for key, inner in pairs:
        here = (*path, key)
        if isinstance(inner, str):
            if inner and (key in _MARK_KEYS or (path and path[-1] == "sources")):
                yield here, inner
        else:
            yield from marks(inner, here)


def carried(value: object) -> Iterator[str]:
    """Yield every mark that an entry, or any part of one, carries, in the order of its fields."""
    return (mark for _, mark in marks(value))


def uses(catalogue: Catalogue) -> dict[str, list[tuple[str, str]]]:
    """Return, for each mark, the (kind, id) of everything that carries it, each once.

    Kinds are those of entries, and the word lists whose items carry marks.
    """
    found: dict[str, dict[tuple[str, str], None]] = {}
    words = catalogue.vocabulary
    lists = {"hazards": words.hazards, "stop_lines": words.stop_lines}
    groups = {**{kind: catalogue.of_kind(kind) for kind in _KINDS_THAT_LEAN}, **lists}
    for kind, entries in groups.items():
        for entry_id, entry in entries.items():
            for mark in carried(entry):
                found.setdefault(mark, {})[kind, entry_id] = None
    return {mark: list(places) for mark, places in found.items()}


def named_things(kind: str, document: Document) -> Iterator[tuple[KeyPath, str, str]]:
    """Yield (path, target, id) for everything a document of this kind names."""
    for pattern, target in REFERENCES[kind]:
        for path, value in matches(document.value, pattern):
            if isinstance(value, str):
                yield path, target, value
    for pattern, target in KEY_REFERENCES.get(kind, ()):
        for path, value in matches(document.value, pattern):
            if isinstance(value, dict):
                for key in value:
                    yield (*path, key), target, key


_SOURCES = "name one of: python -m build_tools list sources"


def check_references(
    kind: str,
    document: Document,
    known: Mapping[str, frozenset[str]],
    redirects: Mapping[str, str | None],
) -> Iterator[Problem]:
    """Yield a problem for every name in a document that leads nowhere or to the wrong kind.

    `known` holds, by target, every id that exists, refused entries included.
    """
    for path, target, name in named_things(kind, document):
        if name not in known[target] and name not in redirects:
            yield _lost(document, path, (target, name), known)
    for path, mark in marks(document.value):
        if mark not in known["source"] and mark not in UNSOURCED_MARKS:
            what = f'source "{mark}" does not exist'
            where = f"{_SOURCES}, or be frank: {', '.join(sorted(UNSOURCED_MARKS))}"
            mend = did_you_mean(mark, [*known["source"], *UNSOURCED_MARKS], where=where)
            yield DANGLING.at(document.span(*path), what, mend)


def _lost(
    document: Document, path: KeyPath, wanted: tuple[str, str], known: Mapping[str, frozenset[str]]
) -> Problem:
    target, name = wanted
    span = document.key_span(*path) if path[-1] == name else document.span(*path)
    if target not in KINDS:
        where = f"see symptoms/vocabulary/{target}.yml"
        what = f'"{name}" is not in the list of {target.replace("_", " ")}'
        return UNKNOWN_WORD.at(span, what, did_you_mean(name, known[target], where=where))
    where = f"see what there is: python -m build_tools list {target}"
    mend = did_you_mean(name, known[target], where=where)
    for kind in KINDS:
        if name in known[kind]:
            what = f'"{name}" is a {kind}, and a {target} is expected here'
            return WRONG_KIND.at(span, what, where)
    return DANGLING.at(span, f'{target} "{name}" does not exist', mend)


def known_words(vocabulary: Vocabulary) -> dict[str, frozenset[str]]:
    """Return the ids of every word list, by its name."""
    return {
        "families": frozenset(vocabulary.families),
        "tools": frozenset(vocabulary.tools),
        "hazards": frozenset(vocabulary.hazards),
        "stop_lines": frozenset(vocabulary.stop_lines),
        "abilities": frozenset(vocabulary.abilities),
        "units": frozenset(vocabulary.units),
        "groups": frozenset(vocabulary.groups),
    }


@dataclass(frozen=True)
class _Known:
    """The entries whose parts may be named."""

    checks: Mapping[str, Check]
    gauges: Mapping[str, Gauge]
    contexts: Mapping[str, Context]
    steps: frozenset[str]

    def levels(self, check: str) -> tuple[str, ...] | None:
        """Return a check's level ids, None when there is no such check."""
        found = self.checks.get(check)
        return tuple(one.id for one in found.levels) if found else None

    def options(self, context: str) -> tuple[str, ...] | None:
        """Return the words a context may take, None when there is no such context."""
        found = self.contexts.get(context)
        return found.words if found else None


class _Follower:
    """Judge the parts named in one document."""

    def __init__(self, document: Document, known: _Known) -> None:
        self.document = document
        self.known = known

    def word(
        self,
        path: KeyPath,
        word: str | None,
        allowed: Iterable[str] | None,
        noun: str,
        where: str = "",
    ) -> Iterator[Problem]:
        """Yield a problem when a word is not allowed; None allows anything."""
        if word is None or allowed is None or word in (choices := tuple(allowed)):
            return
        key = path and path[-1] == word
        span = self.document.key_span(*path) if key else self.document.span(*path)
        mend = did_you_mean(word, choices, where=where)
        yield DANGLING.at(span, f'{noun} has no "{word}"', mend)

    def option(self, path: KeyPath, context: str, word: object) -> Iterator[Problem]:
        """Yield a problem when a context has no such option or range."""
        if isinstance(word, str):
            yield from self.word(path, word, self.known.options(context), f'context "{context}"')


def _follow_cause(cause: Cause, follower: _Follower) -> Iterator[Problem]:
    for number, factor in enumerate(cause.context):
        yield from follower.option(("context", number, "is"), factor.when, factor.equals)
    for number, one in enumerate(cause.confirmed_by):
        levels = follower.known.levels(one.check)
        path = ("confirmed_by", number, "level")
        yield from follower.word(path, one.level, levels, f'check "{one.check}"')
    for context, word in cause.repair.sets.items():
        yield from follower.option(("repair", "sets", context), context, word)


def _follow_symptom(symptom: Symptom, follower: _Follower) -> Iterator[Problem]:
    for context, word in symptom.sets.items():
        yield from follower.option(("sets", context), context, word)


def _follow_told(check: Check, follower: _Follower) -> Iterator[Problem]:
    for context, words in check.told_by.items():
        for number, word in enumerate(words):
            yield from follower.option(("told_by", context, number), context, word)


def _follow_check(check: Check, follower: _Follower) -> Iterator[Problem]:
    yield from _follow_told(check, follower)
    raised = [one.id for one in check.levels[1:]]
    noun = "this check, above its first level,"
    for number, need in enumerate(check.needs):
        levels = follower.known.levels(need.check)
        path: KeyPath = ("needs", number, "at_most")
        yield from follower.word(path, need.at_most, levels, f'check "{need.check}"')
    for level in check.unprompted:
        yield from follower.word(("unprompted", level), level, raised, noun)
    for number, shift in enumerate(check.shifts):
        for level in shift.at_least:
            path = ("shifts", number, "at_least", level)
            yield from follower.word(path, level, raised, noun)
    gauge = follower.known.gauges.get(check.gauge or "")
    if check.gauge and gauge is None:
        return
    bands = [one.id for one in gauge.bands] if gauge else []
    holder = f'gauge "{gauge.id}"' if gauge else "a check without a gauge"
    for number, one in enumerate(check.levels):
        for place, band in enumerate(one.bands):
            yield from follower.word(("levels", number, "bands", place), band, bands, holder)
    conditions = [one.id for one in gauge.conditions] if gauge else []
    for number, condition in enumerate(check.conditions):
        yield from follower.word(("conditions", number), condition, conditions, holder)


def _follow_gauge(gauge: Gauge, follower: _Follower) -> Iterator[Problem]:
    bands = [one.id for one in gauge.bands]
    raw = follower.document.value
    for number, condition in enumerate(gauge.conditions):
        for option in condition.weights:
            path: KeyPath = ("conditions", number, "if_unknown", option)
            yield from follower.option(path, condition.id, option)
    for number, table in enumerate(gauge.tables):
        for place, row in enumerate(table.bands):
            path = ("tables", number, "bands", place, "band")
            yield from follower.word(path, row.band, bands, "this gauge")
        for context, options in table.fits.items():
            listed = isinstance(raw["tables"][number]["for"][context], list)
            for place, option in enumerate(options):
                path = ("tables", number, "for", context, *((place,) if listed else ()))
                yield from follower.option(path, context, option)
    for number, spread in enumerate(gauge.spread):
        for context, option in spread.when.items():
            yield from follower.option(("spread", number, "when", context), context, option)


_STEPS = "the list of checks and causes"
_LISTED = "see what there is: python -m build_tools list checks, or causes, or contexts"


def _follow_case(case: Case, follower: _Follower) -> Iterator[Problem]:
    for key in ("first_step_any_of", "never"):
        for number, step in enumerate(getattr(case.expect, key)):
            path: KeyPath = ("expect", key, number)
            yield from follower.word(path, step, follower.known.steps, _STEPS, _LISTED)
    told = (*follower.known.checks, *follower.known.contexts)
    for number, name in enumerate(case.again):
        noun = "the lists of checks and contexts"
        yield from follower.word(("again", number), name, told, noun, _LISTED)
    for context, answer in case.context.items():
        if not isinstance(answer, Quantity):
            yield from follower.option(("context", context), context, answer)
    for check, level in case.outcomes.items():
        levels = follower.known.levels(check)
        yield from follower.word(("outcomes", check), level, levels, f'check "{check}"')
    for check, reading in case.readings.items():
        yield from _follow_reading(check, reading.conditions, follower)


def _follow_reading(
    check: str, conditions: Mapping[str, str | Quantity], follower: _Follower
) -> Iterator[Problem]:
    found = follower.known.checks.get(check)
    if found is None:
        return
    path: KeyPath = ("readings", check)
    if found.gauge is None:
        mend = "move it to `outcomes` and name a level"
        what = f'check "{check}" has no gauge, so it takes no reading'
        yield DANGLING.at(follower.document.key_span(*path), what, mend)
    gauge = follower.known.gauges.get(found.gauge or "")
    if gauge is None:
        return
    allowed = [one.id for one in gauge.conditions]
    for name, answer in conditions.items():
        yield from follower.word((*path, name), name, allowed, f'gauge "{gauge.id}"')
        if not isinstance(answer, Quantity) and name in allowed:
            yield from follower.option((*path, name), name, answer)


def follow_parts(catalogue: Catalogue) -> Iterator[Problem]:
    """Follow every part of another entry that a cause, check, gauge or case names."""
    # A refused entry exists: what names it has no slip of its own.
    steps = frozenset(key for kind, key in catalogue.documents if kind in {"check", "cause"})
    known = _Known(catalogue.checks, catalogue.gauges, catalogue.contexts, steps)
    follow: Mapping[str, Callable[[Any, _Follower], Iterator[Problem]]] = {
        "cause": _follow_cause,
        "symptom": _follow_symptom,
        "check": _follow_check,
        "gauge": _follow_gauge,
        "case": _follow_case,
    }
    for kind, one in follow.items():
        for key, entry in catalogue.of_kind(kind).items():
            yield from one(entry, _Follower(catalogue.documents[kind, key], known))
