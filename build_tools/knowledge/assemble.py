"""Room 2: read the whole knowledge and join it into one catalogue.

Collects every problem of every file in one run. A file that does not fit its schema is
left out of the catalogue, yet its id stays known, so that references to it are not called
dangling. What is judged here is whether names lead somewhere; sense is left to lint.
"""

from __future__ import annotations

import contextlib
import re
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, get_args

from build_tools.knowledge import kept
from build_tools.knowledge.catalogue import Catalogue
from build_tools.knowledge.entries import Entry
from build_tools.knowledge.folders import (
    FOLDER_OF_KIND,
    KEPT,
    KINDS,
    PROJECT,
    REDIRECTS,
    entry_files,
    knowledge_folder,
    sentence_files,
    shown_name,
    stray_files,
    vocabulary_files,
)
from build_tools.knowledge.kept_files import judged_file, keep_files
from build_tools.knowledge.problems import Complaint, Problem, Severity, Span, sort_problems
from build_tools.knowledge.references import check_references, follow_parts, known_words
from build_tools.knowledge.schema_check import has_schema
from build_tools.knowledge.structure import Structurer
from build_tools.knowledge.vocabulary import Scale, Vocabulary
from build_tools.knowledge.yaml_reader import UNREADABLE, Document

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from build_tools.knowledge.readiness_entries import Readiness

ID_DIFFERS = Complaint(
    "IDN101",
    "id-differs",
    Severity.ERROR,
    "addresses and links are made from the file's name, so the entry would be found twice or never",
)
BAD_ID = Complaint(
    "IDN102", "id-grammar", Severity.ERROR, "the id becomes part of an address and of case links"
)
USED_TWICE = Complaint(
    "IDN103",
    "id-used-twice",
    Severity.ERROR,
    "a link or a case that names the id would not know which entry is meant",
)

_ID = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*\Z")
_LONGEST_ID = 48


@dataclass
class _Gathered:
    """What reading the files yields."""

    documents: dict[tuple[str, str], Document] = field(default_factory=dict)
    fit: set[tuple[str, str]] = field(default_factory=set)
    problems: list[Problem] = field(default_factory=list)


@dataclass
class _Made:
    """The entries last made, each with its document, and what else they were made from."""

    around: tuple[Any, ...] = ()
    entries: dict[tuple[str, str], tuple[Document, Any]] = field(default_factory=dict)


# After a change, only the entry of the changed file is made again.
_made = _Made()


def load_catalogue(root: Path) -> tuple[Catalogue, list[Problem]]:
    """Read every entry and word list below a folder.

    `root` is the project's folder or the knowledge folder itself. Problems come sorted by
    place and include all of rooms data and model: SHP, IDN101-103, REF201, REF202, REF206.
    With an error among them the catalogue is fit to be judged, not to be published.

    The project's own knowledge is read once for each state of its files and then kept.
    """
    knowledge = knowledge_folder(root)
    if knowledge.resolve() != PROJECT / "symptoms":
        return read_catalogue(knowledge)
    try:
        name = kept.digest(knowledge)
    except OSError:
        return read_catalogue(knowledge)
    found = kept.fetch(KEPT, name)
    if found is not None:
        (catalogue, problems), documents = found
        return replace(catalogue, documents=documents), problems
    catalogue, problems = read_catalogue(knowledge)
    # What changed while it was being read belongs to no name.
    with contextlib.suppress(OSError):
        if kept.digest(knowledge) == name:
            kept.keep(KEPT, name, (replace(catalogue, documents={}), problems), catalogue.documents)
            keep_files()
    return catalogue, problems


def load_readiness(root: Path) -> tuple[Readiness, list[Problem]]:
    """Return the monitors and inspection rules alone, with the problems in their folders."""
    catalogue, problems = load_catalogue(root)
    folders = tuple(f"/{FOLDER_OF_KIND[kind]}/" for kind in ("monitor", "inspection"))
    told = [one for one in problems if any(folder in one.span.file for folder in folders)]
    return catalogue.readiness, told


def read_catalogue(knowledge: Path) -> tuple[Catalogue, list[Problem]]:
    """Read the files of a knowledge folder as they are now, whatever is kept."""
    gathered = _Gathered()
    words = _read_vocabulary(knowledge, gathered)
    for kind in KINDS:
        for path in entry_files(knowledge, kind):
            _read_as(kind, path, knowledge, gathered, kind)
    redirects = _read_redirects(knowledge, gathered)
    gathered.problems += _stray(knowledge)
    entries = _build_entries(gathered, words)
    catalogue = Catalogue(
        **{f"{kind}s": entries[kind] for kind in KINDS},
        vocabulary=words,
        documents=gathered.documents,
        redirects=redirects,
    )
    gathered.problems += _judge_names(catalogue, gathered)
    return catalogue, sort_problems(gathered.problems)


def _plain(gathered: _Gathered, kind: str) -> dict[str, Any]:
    fit = sorted(key for one, key in gathered.fit if one == kind)
    return {key: gathered.documents[kind, key].value for key in fit}


def _read_file(
    path: Path, knowledge: Path, gathered: _Gathered, schema: str | None
) -> tuple[Document | None, bool, list[Problem]]:
    """Read one file; tell also whether it was read without a problem, and where it does not fit."""
    name = shown_name(path, knowledge)
    try:
        raw = path.read_bytes()
    except OSError as error:
        what = f"the file cannot be opened: {error.strerror}"
        gathered.problems.append(UNREADABLE.at(Span(name), what, "look at its permissions"))
        return None, False, []
    document, problems, misfits = judged_file(raw, name, schema)
    gathered.problems += problems
    return document, not problems, list(misfits)


def _read_vocabulary(knowledge: Path, gathered: _Gathered) -> Vocabulary:
    for path in vocabulary_files(knowledge):
        schema = f"vocabulary-{path.stem}"
        _read_as("vocabulary", path, knowledge, gathered, schema if has_schema(schema) else None)
    for path in sentence_files(knowledge):
        _read_as("sentences", path, knowledge, gathered, "sentences")
    lists = _plain(gathered, "vocabulary")
    nowhere = Document("symptoms/vocabulary", lists, {}, {})
    return Structurer(nowhere, Scale(frequency={}, prior={}, leak={}), {}).make(Vocabulary, lists)


def _read_as(
    kind: str, path: Path, knowledge: Path, gathered: _Gathered, schema: str | None
) -> None:
    """Read a file and hold it against its schema and, for an entry, its name."""
    document, sound, found = _read_file(path, knowledge, gathered, schema)
    if document is None:
        return
    gathered.documents[kind, path.stem] = document
    if kind in KINDS:
        found += _check_identity(kind, path.stem, document)
    gathered.problems += found
    if sound and not found:
        gathered.fit.add((kind, path.stem))


def _check_identity(kind: str, stem: str, document: Document) -> Iterator[Problem]:
    if not (_ID.match(stem) and len(stem) <= _LONGEST_ID):
        what = f'the file\'s name "{stem}" is not an id'
        mend = "use lower-case words joined by hyphens, starting with a letter, 48 signs at most"
        yield BAD_ID.at(Span(document.file), what, mend)
    if not isinstance(document.value, dict):
        return
    written = document.value.get("kind")
    if isinstance(written, str) and written != kind:
        folder = FOLDER_OF_KIND.get(written)
        move = f" or move the file to {folder}/" if folder else ""
        what = f'kind "{written}" stands in the folder of kind "{kind}"'
        yield ID_DIFFERS.at(document.span("kind"), what, f"write `kind: {kind}`{move}")
    name = document.value.get("id")
    if isinstance(name, str) and name != stem:
        what = f'id "{name}" differs from the file\'s name "{stem}"'
        yield ID_DIFFERS.at(document.span("id"), what, f"write `id: {stem}` or rename the file")


def _stray(knowledge: Path) -> Iterator[Problem]:
    for path in stray_files(knowledge):
        what = f'"{path.name}" is not read: only files ending in .yml in this folder are'
        yield UNREADABLE.at(Span(shown_name(path, knowledge)), what, "rename or remove it")


def _read_redirects(knowledge: Path, gathered: _Gathered) -> dict[str, str | None]:
    """Read former ids: each names the new id, or {retired: reason}."""
    path = knowledge / REDIRECTS
    if not path.is_file():
        return {}
    document, _, found = _read_file(path, knowledge, gathered, "redirects")
    if document is None:
        return {}
    gathered.documents["redirects", "redirects"] = document
    gathered.problems += found
    if found:
        return {}
    items = (document.value.get("items") or {}).items()
    return {old: new if isinstance(new, str) else None for old, new in items}


def _build_entries(gathered: _Gathered, words: Vocabulary) -> dict[str, dict[str, Any]]:
    entries: dict[str, dict[str, Any]] = {kind: {} for kind in KINDS}
    contexts = _plain(gathered, "context")
    units = {key: str(one.get("unit", "")) for key, one in contexts.items()}
    former = _made.entries if _made.around == (words.scale, units) else {}
    _made.around, _made.entries = (words.scale, units), {}
    for kind, key in sorted(gathered.fit):
        if kind in entries:
            document = gathered.documents[kind, key]
            before, entry = former.get((kind, key), (None, None))
            if before is not document:
                structurer = Structurer(document, words.scale, units)
                entry = structurer.make(_CLASSES[kind], document.value)
                gathered.problems += structurer.problems
                if structurer.problems:
                    continue
            _made.entries[kind, key] = (document, entry)
            entries[kind][key] = entry
    return entries


_CLASSES: Mapping[str, type] = {one.__name__.lower(): one for one in get_args(Entry)}


def _judge_names(catalogue: Catalogue, gathered: _Gathered) -> Iterator[Problem]:
    known = known_words(catalogue.vocabulary)
    for kind in KINDS:
        known[kind] = frozenset(key for k, key in gathered.documents if k == kind)
    for kind, key in sorted(gathered.fit):
        document = gathered.documents[kind, key]
        yield from check_references(kind, document, known, catalogue.redirects)
    yield from follow_parts(catalogue)
    yield from _used_twice(catalogue)


def _used_twice(catalogue: Catalogue) -> Iterator[Problem]:
    """Symptoms, causes and checks share one name space: findings are looked up by id alone."""
    holder: dict[str, str] = {}
    documents: Mapping[tuple[str, str], Document] = catalogue.documents
    for kind in ("symptom", "cause", "check"):
        for key in sorted(key for k, key in documents if k == kind):
            if key in holder:
                what = f'id "{key}" is also the id of a {holder[key]}'
                yield USED_TWICE.at(documents[kind, key].span("id"), what, "rename one of the two")
            holder.setdefault(key, kind)
            if key in catalogue.redirects:
                what = f'id "{key}" is a former id kept in {REDIRECTS}'
                mend = "choose another id; ids are never used again"
                yield USED_TWICE.at(documents[kind, key].span("id"), what, mend)
