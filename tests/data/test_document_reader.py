"""JSON and YAML case files give the same values, and both know their places."""

import json

import pytest

from build_tools.knowledge.document_reader import read_document

CASE = {
    "symptoms": ["many-lamps-at-once"],
    "context": {"temperature": {"value": -5, "unit": "degC"}},
    "notes": 'a "quoted" \\ line\n\u00e9 \U0001f697',
    "numbers": [1, -2.5, 1e3, True, None, [], {}],
}


@pytest.mark.parametrize("indent", [None, 1, 4, "\t"])
def test_values_agree_with_the_standard_library(indent):
    text = json.dumps(CASE, indent=indent)
    document, problems = read_document(text, "case.json")
    assert problems == []
    assert document.value == json.loads(text)


@pytest.mark.parametrize("indent", [None, 2, "\t"])
def test_places_point_at_the_value(indent):
    text = json.dumps(CASE, indent=indent)
    document, _ = read_document(text, "case.json")
    lines = text.split("\n")
    for path, start in [
        (("symptoms", 0), '"many-lamps'),
        (("context", "temperature", "value"), "-5"),
        (("context", "temperature", "unit"), '"degC"'),
        (("numbers", 2), "1000.0"),
        (("numbers", 6), "{}"),
    ]:
        span = document.span(*path)
        assert lines[span.line - 1][span.column - 1 :].startswith(start)
    span = document.key_span("context", "temperature")
    assert lines[span.line - 1][span.column - 1 :].startswith('"temperature"')


def test_standard_input_in_json_is_read_as_json():
    document, problems = read_document('{"a":\t1e3}', "standard input")
    assert problems == []
    assert document.value == {"a": 1000.0}


def test_yaml_is_read_as_yaml():
    document, problems = read_document("symptoms: [a]\n", "case.yml")
    assert problems == []
    assert document.value == {"symptoms": ["a"]}


def test_duplicate_key_in_json_is_told():
    _, problems = read_document('{"a": 1,\n "a": 2}', "case.json")
    assert [(one.code, one.span.line, one.span.column) for one in problems] == [("SHP002", 2, 2)]


@pytest.mark.parametrize(
    "text",
    ["", "{", '{"a":1,}', '{"a":NaN}', "[" * 5000, "[" * 60 + "]" * 60, "nul", '"x', b"\xff"],
)
def test_broken_json_is_told_with_a_place(text):
    document, problems = read_document(text, "case.json")
    assert document is None
    assert problems[0].span.line >= 1
    assert problems[0].code == "SHP001"
