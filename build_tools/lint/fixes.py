"""Room 4: make the changes that need no judgement: order of keys and white space.

Works on text, so that comments and layout inside a key stay as they are. A change that
would alter any value is not made.
"""

import re
from collections.abc import Iterator, Mapping
from pathlib import Path

from build_tools.knowledge.folders import KINDS, entry_files, vocabulary_files
from build_tools.knowledge.problems import Span
from build_tools.knowledge.schema_check import has_schema, key_order
from build_tools.knowledge.yaml_reader import Document, decode, read

_TOP_KEY = re.compile(r"([A-Za-z_][A-Za-z0-9_]*)\s*:(?:\s|$)")


def tidy(text: str, kind: str) -> str:
    """Return a file's text with its top keys in order and without stray white space.

    The text comes back unchanged when it cannot be read or when tidying would change what
    it says.
    """
    tidied = _in_order(_without_stray_space(text), _schema_name(kind))
    if tidied == text:
        return text
    before, problems = read(text, "")
    if before is None or problems:
        return text
    after, problems = read(tidied, "")
    same = after is not None and not problems and _plain(after.value) == _plain(before.value)
    return tidied if same else text


def tidy_places(documents: Mapping[tuple[str, str], Document]) -> Iterator[tuple[Span, str]]:
    """Yield the first untidy place of every file, and what is untidy there."""
    for (kind, key), document in documents.items():
        tidied = tidy(document.text, f"vocabulary-{key}" if kind == "vocabulary" else kind)
        if tidied == document.text:
            continue
        pairs = zip(tidied.split("\n"), document.text.split("\n"), strict=False)
        for number, (wanted, written) in enumerate(pairs, start=1):
            if wanted != written:
                space = wanted.rstrip() == written.rstrip()
                what = "stray white space" if space else "the keys are not in the template's order"
                yield Span(document.file, number), what
                break
        else:
            yield Span(document.file), "the file should end with one line break"


def _schema_name(kind: str) -> str:
    return {"redirects": "redirects", "exceptions": "lint-exceptions"}.get(kind, kind)


def _without_stray_space(text: str) -> str:
    lines = [line.rstrip() for line in text.replace("\r\n", "\n").split("\n")]
    return "\n".join(lines).strip("\n") + "\n"


def _in_order(text: str, kind: str) -> str:
    if not has_schema(kind):
        return text
    order = {key: place for place, key in enumerate(key_order(kind))}
    head, blocks = _blocks(text)
    ranked = sorted(blocks, key=lambda block: order.get(block[0], len(order)))
    return head + "".join(lines for _, lines in ranked)


def _blocks(text: str) -> tuple[str, list[tuple[str, str]]]:
    """Cut text into its top keys; comments just above a key go with it.

    Comments at the very top speak of the whole file and stay there.
    """
    head: list[str] = []
    blocks: list[tuple[str, list[str]]] = []
    waiting: list[str] = []
    for line in text.splitlines(keepends=True):
        found = _TOP_KEY.match(line)
        if found:
            above, waiting = waiting, []
            if not blocks:
                head, above = above, []
            blocks.append((found.group(1), [*above, line]))
        elif line.startswith("#") or (waiting and not line.strip()):
            waiting.append(line)
        elif blocks:
            blocks[-1][1].extend([*waiting, line])
            waiting = []
        else:
            waiting.append(line)
    if waiting and blocks:
        blocks[-1][1].extend(waiting)
    return "".join(head), [(key, "".join(lines)) for key, lines in blocks]


def _plain(value: object) -> object:
    """Return a value without trailing space in its texts and without order of keys."""
    if isinstance(value, str):
        return "\n".join(line.rstrip() for line in value.split("\n")).rstrip("\n")
    if isinstance(value, list):
        return [_plain(one) for one in value]
    if isinstance(value, dict):
        return {key: _plain(one) for key, one in value.items()}
    return value


def tidy_files(knowledge: Path) -> list[tuple[Path, str]]:
    """Return every file that tidying would change, with its new text; nothing is written."""
    named = [(path, f"vocabulary-{path.stem}") for path in vocabulary_files(knowledge)]
    named += [(path, kind) for kind in KINDS for path in entry_files(knowledge, kind)]
    changed = []
    for path, kind in named:
        text, problem = decode(path.read_bytes(), path.name)
        if text is None or problem:
            continue
        tidied = tidy(text, kind)
        if tidied != text:
            changed.append((path, tidied))
    return changed
