"""Whatever is handed to a command, it says in words what is wrong, and its JSON is JSON."""

import io
import json
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from build_tools.cli.main import main

PROJECT = Path(__file__).parents[1]
BASE = PROJECT / "tests" / "fixtures" / "base"
DIGITS = "9" * 5000
GARBAGE = [
    b"", b"[]", b"null", b"a bare text", b"3", b"true", b"inf", b".inf", b"1e999", b"[1e999]",
    DIGITS.encode(), f"[{DIGITS}]".encode(), "\N{GRINNING FACE}".encode(), b"\xff\xfe\x00",
    '{"symptoms": []}'.encode("utf-16"), b"\x80\x81", b"\x00", b"{", b"[" * 5000, b"a: &a [*a]",
    b'{"hour_value": -1}', b'{"hour_value": 1e999}', b'{"hour_value": [1]}',
    b'{"symptoms": {"a": 1}}', b'{"symptoms": [[1], null, {}]}', b'{"context": [1]}',
    b'{"readings": {"measure-volts": {"value": 1e308, "unit": "V"}}}',
    b'{"readings": {"measure-volts": {"value": -1e308, "unit": "V"}}}',
    b'{"readings": {"measure-volts": {"value": {"a": 1}, "unit": []}}}',
    b'{"outcomes": {"listen": {}}}', b'{"mended": "x", "tools": 3, "not_possible": 1}',
    b"1: 2", b"{1: 2}", b"\x1b[31mred", b"\r{",
]  # fmt: skip
READERS = [
    ("triage", "-", "--root", str(BASE)),
    ("triage", "-", "--json", "--root", str(BASE)),
    ("link", "encode", "-", "--root", str(BASE)),
    ("link", "read", "-", "--root", str(BASE)),
    ("posterior", "-"),
    ("plan", "-"),
    ("voltlog", "-", "--json"),
    ("readout", "-", "--json"),
    ("triplog", "-", "--json"),
    ("find", "--lines", "--root", str(BASE)),
    ("triage", "--lines", "--root", str(BASE)),
]


def only_json(text):
    def refuse(word):
        raise AssertionError(word)

    return json.loads(text, parse_constant=refuse)


def run(words, raw, capsys, monkeypatch):
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(raw)))
    code = main(list(words))
    told = capsys.readouterr()
    assert "tool itself failed" not in told.err
    assert "Traceback" not in told.err
    assert "\x1b" not in told.out + told.err
    return code, told


@pytest.mark.parametrize("raw", GARBAGE, ids=lambda raw: repr(raw[:24]))
@pytest.mark.parametrize("words", READERS, ids=lambda words: " ".join(words[:3]))
def test_garbage_is_told_in_words(words, raw, capsys, monkeypatch):
    code, told = run(words, raw, capsys, monkeypatch)
    assert code in {0, 1}
    assert told.out or told.err or not raw.strip() or words[0] == "find"
    if "--json" in words and told.out:
        only_json(told.out)
    if "--lines" in words:
        assert all(only_json(line) is not None for line in told.out.splitlines())


@given(raw=st.one_of(st.binary(max_size=60), st.text(max_size=60).map(str.encode)))
@settings(max_examples=20, deadline=None)
def test_any_bytes_are_told_in_words(raw):
    for words in READERS:
        with pytest.MonkeyPatch.context() as patch:
            out, err = io.StringIO(), io.StringIO()
            patch.setattr(sys, "stdout", out)
            patch.setattr(sys, "stderr", err)
            patch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(raw)))
            assert main(list(words)) in {0, 1}
        assert "tool itself failed" not in err.getvalue()


@pytest.mark.parametrize("place", [str(PROJECT), "/proc", "/no/such", "a\x00b", "x" * 5000])
@pytest.mark.parametrize(
    "before",
    [("triage",), ("posterior",), ("plan",), ("voltlog",), ("triplog",), ("link", "encode"),
     ("list", "causes", "--root"), ("find", "x", "--root"), ("lint", "--root"),
     ("build", "--out", "x", "--root"), ("fix", "--root"), ("readout",)],
    ids=" ".join,
)  # fmt: skip
def test_a_folder_or_nothing_where_a_file_or_a_project_belongs(before, place, capsys, monkeypatch):
    if place == str(PROJECT) and "--root" in before:
        place = str(PROJECT / "content")
    code, told = run([*before, place], b"", capsys, monkeypatch)
    assert code == 2 or (before[0] == "readout" and code == 1)
    assert told.err or told.out


@pytest.mark.parametrize(
    "value", ["inf", "nan", "1e308", "-1e308", DIGITS, "\N{GRINNING FACE}", "", "1e999", "\x1b[2J"]
)
@pytest.mark.parametrize("gauge", ["resting-voltage", "days-until-no-start", "nothing\x1b[2J"])
def test_a_reading_no_meter_shows_is_refused(gauge, value, capsys, monkeypatch):
    for pair in (f"value={value}", f"draw={value}mA", f"{value}=1", value):
        code, told = run(["reading", gauge, pair, "--json"], b"", capsys, monkeypatch)
        # A word that begins with a dash is an option nobody knows.
        assert code == (2 if pair.startswith("-") else 1)
        if told.out:
            only_json(told.out)


@pytest.mark.parametrize(
    "words",
    [
        ["robust", "--sigma", "nan"], ["robust", "--sigma", "inf"], ["value", "--worlds", DIGITS],
        ["serve", "--port", "99999"], ["find", "--limit", "0"], ["find", "--limit", "\u0663x"],
        ["driveplan", "--incomplete", "catalyst", "--fuel-percent", "inf"],
        ["driveplan", "--incomplete", "catalyst", "--ambient", "nan"],
        ["driveplan"], ["triplog", "-", "--constant", "ambient=inf"], ["triage"],
        ["readiness", "--pid01", "00 07 65 04", "--rules", "us-il", "--year", DIGITS],
        ["explain", "\x1b[2J"], ["list", "\x1b[2J"], ["\x1b[2J"],
    ],
    ids=lambda words: repr(words)[:40],
)  # fmt: skip
def test_wrong_use_is_told_and_ends_with_2(words, capsys, monkeypatch):
    code, told = run(words, b"", capsys, monkeypatch)
    assert code == 2
    assert told.err


def test_many_questions_cost_one_start(capsys, monkeypatch):
    raw = b'"will not crank"\n\n{"words": "crank", "limit": 1}\n7\n{"wrds": "x"}\n'
    code, told = run(("find", "--lines", "--root", str(BASE)), raw, capsys, monkeypatch)
    answers = [json.loads(line) for line in told.out.splitlines()]
    assert code == 1
    assert [isinstance(one, list) for one in answers] == [True, True, False, False]
    assert answers[0][0]["id"] == "will-not-crank"
    assert len(answers[1]) == 1
    assert "error" in answers[2]


def test_many_cases_get_the_answers_they_get_alone(capsys, monkeypatch):
    cases = [{"symptoms": ["will-not-crank"]}, {"symptoms": ["wil-not-crank"]}, {}]
    raw = "\n".join(map(json.dumps, cases)).encode()
    code, told = run(("triage", "--lines", "--root", str(BASE)), raw, capsys, monkeypatch)
    answers = [json.loads(line) for line in told.out.splitlines()]
    assert code == 1
    assert 'did you mean "will-not-crank"?' in answers[1]["error"]
    for case, answer in ((cases[0], answers[0]), (cases[2], answers[2])):
        words = ("triage", "-", "--json", "--root", str(BASE))
        _, alone = run(words, json.dumps(case).encode(), capsys, monkeypatch)
        assert json.loads(alone.out) == answer


@pytest.mark.parametrize("name", ["clicks-and-full"])
def test_triage_takes_a_worked_case_file(name, capsys, monkeypatch):
    path = BASE / "cases" / f"{name}.yml"
    code, told = run(("triage", str(path), "--root", str(BASE)), b"", capsys, monkeypatch)
    assert code == 0
    assert "Most likely causes:" in told.out


def test_the_way_to_find_loads_nothing_that_only_others_need():
    code = (
        "import sys\nfrom build_tools.cli.main import main\n"
        "main(['--help'])\nheavy = {'yaml', 'jsonschema', 'mkdocs', 'jinja2', 'lunr'}\n"
        "assert not heavy & set(sys.modules), heavy & set(sys.modules)\n"
        f"main(['list', 'causes', '--root', {str(BASE)!r}])\n"
        "again = [name for name in list(sys.modules) if name.startswith('build_tools.lint')]\n"
        "assert not again, again\n"
    )
    ended = subprocess.run(
        [sys.executable, "-c", code], cwd=PROJECT, capture_output=True, text=True, check=False
    )
    assert ended.returncode == 0, ended.stderr
