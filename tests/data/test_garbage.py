"""Two hundred spoiled copies of shipped files: each is told with a place or is still right.

Seeded, so a failure comes back. Nothing may end in an exception.
"""

import random
import shutil

import pytest

from build_tools.knowledge.assemble import load_catalogue
from build_tools.knowledge.folders import KINDS, PROJECT, entry_files
from build_tools.knowledge.schema_check import check_document
from build_tools.knowledge.yaml_reader import read

KNOWLEDGE = PROJECT / "symptoms"
FILES = [(kind, path) for kind in KINDS for path in entry_files(KNOWLEDGE, kind)]


def delete_line(lines, chance):
    del lines[chance.randrange(len(lines))]


def duplicate_line(lines, chance):
    at = chance.randrange(len(lines))
    lines.insert(at, lines[at])


def swap_type(lines, chance):
    at = chance.randrange(len(lines))
    key = lines[at].split(b":")[0]
    junk = [b"[1, [2]]", b"{a: {b: 1}}", b"null", b"true", b"-1.5", b'"x"', b"yes", b"1:20"]
    lines[at] = key + b": " + chance.choice(junk)


def random_bytes(lines, chance):
    at = chance.randrange(len(lines))
    junk = bytes(chance.randrange(256) for _ in range(chance.randint(1, 12)))
    cut = chance.randint(0, len(lines[at]))
    lines[at] = lines[at][:cut] + junk + lines[at][cut:]


def tabs(lines, chance):
    at = chance.randrange(len(lines))
    lines[at] = lines[at].replace(b"  ", b"\t") if b"  " in lines[at] else b"\t" + lines[at]


def truncate(lines, chance):
    del lines[chance.randrange(len(lines)) :]
    lines.append(b"  - {a: [")


def huge(lines, chance):
    at = chance.randrange(len(lines))
    lines[at] = chance.choice([lines[at] * 20_000, b"[" * 3000, b"- " * 3000, b"9" * 10_000])


def indent(lines, chance):
    at = chance.randrange(len(lines))
    lines[at] = b" " * chance.randint(1, 5) + lines[at]


WAYS = [delete_line, duplicate_line, swap_type, random_bytes, tabs, truncate, huge, indent]


@pytest.mark.parametrize("seed", range(200))
def test_spoiled_file_is_told_or_still_right(seed):
    chance = random.Random(seed)
    kind, path = chance.choice(FILES)
    lines = path.read_bytes().split(b"\n")
    WAYS[seed % len(WAYS)](lines, chance)
    raw = b"\n".join(lines)
    document, problems = read(raw, path.name)
    if document is not None:
        problems = [*problems, *check_document(document, kind)]
    assert document is not None or problems
    total = raw.count(b"\n") + 2
    for one in problems:
        assert one.span.file == path.name
        assert 1 <= one.span.line <= total
        assert one.span.column >= 1
        assert one.what
        assert one.mend


def test_a_whole_folder_of_spoiled_files_loads_without_an_exception(tmp_path):
    knowledge = tmp_path / "symptoms"
    shutil.copytree(KNOWLEDGE, knowledge)
    chance = random.Random(1)
    for number, path in enumerate(sorted(knowledge.rglob("*.yml"))):
        if "_template" in path.parts:
            continue
        lines = path.read_bytes().split(b"\n")
        WAYS[number % len(WAYS)](lines, chance)
        path.write_bytes(b"\n".join(lines))
    _, problems = load_catalogue(tmp_path)
    assert len(problems) > 100
    assert all(one.span.line >= 1 and one.span.file.startswith("symptoms/") for one in problems)
