"""YAML is read strictly, with places.

What other readers make of an unquoted word is asked of PyYAML's own SafeLoader, which
implements YAML 1.1 (https://yaml.org/type/).
"""

import pytest
import yaml

from build_tools.knowledge.yaml_reader import MOST_LEVELS, read

LOOKALIKES = [
    "yes", "No", "on", "OFF", "True", "NULL", "1:20", "22:59:59", "010", "0x1F", "1_000", "+12",
    ".5", "1.5e+3", ".inf", "2026-11-25", "1.", "0b11",
]  # fmt: skip


@pytest.mark.parametrize("word", LOOKALIKES)
def test_lookalike_is_refused_where_another_reader_changes_it(word):
    assert yaml.safe_load(f"a: {word}")["a"] != word  # the outside reader does change it
    document, problems = read(f"a: {word}\n", "f.yml")
    assert [one.code for one in problems] == ["SHP003"]
    assert (problems[0].span.line, problems[0].span.column) == (1, 4)
    assert f'"{word}"' in problems[0].mend
    assert document.value == {"a": word}


@pytest.mark.parametrize("word", LOOKALIKES)
def test_quoted_lookalike_is_text(word):
    document, problems = read(f'a: "{word}"\n', "f.yml")
    assert problems == []
    assert document.value == {"a": word}


@pytest.mark.parametrize(
    "text", ["1e3", "P0562", "0089", "12.6 V", "a-b", "none", "~x", "-", "2-to-5-years"]
)
def test_plain_text_stays_text_as_with_the_outside_reader(text):
    if text != "-":
        assert yaml.safe_load(f"a: {text}")["a"] == text
    document, problems = read(f"a: '{text}'\nb: x {text}\n", "f.yml")
    assert problems == []
    assert document.value == {"a": text, "b": f"x {text}"}


@pytest.mark.parametrize(
    ("word", "value"),
    [("12", 12), ("-3", -3), ("0", 0), ("12.6", 12.6), ("-0.5", -0.5), ("true", True), ("~", None)],
)
def test_plain_values_agree_with_the_outside_reader(word, value):
    assert yaml.safe_load(f"a: {word}")["a"] == value
    document, problems = read(f"a: {word}\n", "f.yml")
    assert problems == []
    assert document.value == {"a": value}
    assert type(document.value["a"]) is type(value)


def test_last_nought_is_not_lost_silently():
    _, problems = read("a: 1.10\n", "f.yml")
    assert [one.code for one in problems] == ["SHP003"]
    assert "1.1" in problems[0].mend


def test_lookalike_key_is_refused():
    assert yaml.safe_load("on: 1") == {True: 1}
    _, problems = read("on: 1\n", "f.yml")
    assert [one.code for one in problems] == ["SHP003"]


def test_duplicate_key_is_told_at_the_second_with_the_first_line():
    document, problems = read("a: 1\nb: 2\na:\n  c: 3\n", "f.yml")
    assert [(one.code, one.span.line, one.span.column) for one in problems] == [("SHP002", 3, 1)]
    assert "line 1" in problems[0].what
    assert document.value == {"a": 1, "b": 2}
    assert document.span("a").line == 1


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("a: &x 1\n", 1),
        ("a: &x [1]\nb: *x\n", 1),
        ("a: !!str 1\n", 1),
        ("a: !thing {b: 1}\n", 1),
        ("a: {b: 1}\nc:\n  <<: {d: 2}\n", 3),
        ("a: 1\n---\nb: 2\n", 2),
    ],
)
def test_machinery_is_refused(text, line):
    _, problems = read(text, "f.yml")
    assert "SHP006" in {one.code for one in problems}
    assert problems[0].span.line == line


@pytest.mark.parametrize(
    "raw",
    [
        b"", b"# only a note\n", b"a: [1\n", b"a: 'x\n", b"\ta: 1\n", b"a: b: c\n", b"a: \xff\n",
        b"a: \x00\n", b"a: \x07\n", b"[" * 100, b"[" * 100_000, b"{" * 5000, b"a:\n" + b" b:\n" * 3,
        b"%YAML 9.9\n---\na: 1\n", b"? [a, b]\n: 1\n", b"x" * 1_000_001, b"a: *nothing\n", b"@",
        "a: \ud800".encode("utf-8", "surrogatepass"),
    ],
)  # fmt: skip
def test_unreadable_file_is_told_with_a_place(raw):
    _, problems = read(raw, "f.yml")
    assert problems
    for one in problems:
        assert one.span.file == "f.yml"
        assert one.span.line >= 1
        assert one.span.column >= 1


def test_places_of_values_keys_and_items():
    document, problems = read("a:\n  - b: 1\n    c: [x, y]\nd: |\n  text\n", "f.yml")
    assert problems == []
    place = lambda span: (span.line, span.column)  # noqa: E731
    assert place(document.span("a", 0, "b")) == (2, 8)
    assert place(document.span("a", 0, "c", 1)) == (3, 12)
    assert place(document.key_span("a", 0, "c")) == (3, 5)
    assert place(document.span("d")) == (4, 4)
    assert place(document.span("a", 7, "nothing")) == (2, 3)  # the nearest parent that exists
    assert place(document.key_span("a")) == (1, 1)


def test_nesting_is_bounded():
    fine = "[" * MOST_LEVELS + "]" * MOST_LEVELS
    assert read(fine, "f.yml")[1] == []
    assert read(f"[{fine}]", "f.yml")[0] is None


def test_long_number_is_refused_not_rounded():
    _, problems = read(f"a: {'9' * 5000}\n", "f.yml")
    assert [one.code for one in problems] == ["SHP003"]
