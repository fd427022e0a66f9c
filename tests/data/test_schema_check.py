"""Misfits are told in plain words at the place, and the schemas are right Draft 2020-12.

The schemas are held against the meta-schema that jsonschema ships, and every document is
also judged by plain jsonschema with references resolved by the referencing library.
"""

import json
import re

import pytest
from jsonschema import Draft202012Validator
from referencing import Registry, Resource

from build_tools.knowledge.folders import FOLDER_OF_KIND, PROJECT, SCHEMAS
from build_tools.knowledge.schema_check import check_document
from build_tools.knowledge.yaml_reader import read

BASE = PROJECT / "tests" / "fixtures" / "base"
FILES = {
    "check": "checks/measure-volts.yml",
    "cause": "causes/starter-stuck.yml",
    "gauge": "gauges/resting-volts.yml",
    "symptom": "entries/will-not-crank.yml",
    "context": "context/warmth.yml",
    "case": "cases/flat-in-the-frost.yml",
}
FORBIDDEN = re.compile(
    r"additional propert|is not valid under|schema|dict|list\[|NoneType|Traceback|\$ref|"
    r"instance|None\b|\bstr\b|\bint\b",
    re.IGNORECASE,
)


def altered(kind, old, new):
    text = (BASE / FILES[kind]).read_text(encoding="utf-8")
    assert old in text
    document, problems = read(text.replace(old, new, 1), "f.yml")
    assert problems == []
    return document, check_document(document, kind)


@pytest.mark.parametrize("path", sorted(SCHEMAS.glob("*.json")), ids=lambda path: path.name)
def test_schema_is_right_and_describes_itself(path):
    schema = json.loads(path.read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(schema)
    assert "oneOf" not in path.read_text(encoding="utf-8")
    if path.name.split(".")[0] in FOLDER_OF_KIND:
        assert schema["additionalProperties"] is False


@pytest.mark.parametrize(
    ("edit", "place", "words"),
    [
        (("check", "minutes: 3", 'minutes: "3"'), (9, 19), ('`minutes` holds "3"', "without quotes")),
        (("check", "title: Measure the volts\n", ""), (1, 1), ("`title` is missing in this file", "add `title:")),
        (("check", "minutes: 3, ", ""), (9, 1), ("`minutes` is missing under `effort`", "add `  minutes: 5`")),
        (("check", "skill: easy", "skill: eazy"), (9, 54), ('"eazy" is not a word', 'did you mean "easy"')),
        (("check", "steps:\n", "stepps:\n"), (11, 1), ('key "stepps"', 'did you mean "steps"')),
        (("check", "tools: [multimeter]", "tools: multimeter"), (8, 8), ("where a list is expected", "a list")),
        (("check", "tools: [multimeter]", "tools: [Multi Meter]"), (8, 9), ('"Multi Meter" is not an id', "lower-case")),
        (("cause", "low: 150", "low: -1"), (12, 16), ("is -1, not at least 0", "at least 0")),
        (("cause", 'reviewed: "2026-11-25"', 'reviewed: "25.11.2026"'), (6, 11), ("is not a date", "year-month-day")),
        (("cause", "minutes: 90", "minutes: 90\n  minuts: 5"), (14, 3), ('key "minuts"', "wait_hours")),
        (("gauge", "{band: low, below: 12}", "{band: low, below: [12]}"), (23, 28), ("a list of 1", "number")),
        (("symptom", "  - no crank\n", ""), (10, 3), ("5 of at least 6", "at least 6")),
        (("context", "unit: degC\n", ""), (1, 1), ("`unit` is missing", "add `unit: V`")),
        (("case", "unit: degC", "unit: 5"), (8, 37), ("`unit` holds 5", 'quotes round it: "5"')),
    ],
)  # fmt: skip
def test_misfit_is_told_at_its_place(edit, place, words):
    _, problems = altered(*edit)
    what, mend = words
    told = [((one.span.line, one.span.column), one.what, one.mend) for one in problems]
    assert any(at == place and what in said and mend in how for at, said, how in told), told


def test_messages_never_show_schema_or_python():
    for kind, file in FILES.items():
        text = (BASE / file).read_text(encoding="utf-8")
        for junk in ("7", '"x"', "[1, {a: b}]", "{a: 1}", "null", "true", "-1.5"):
            for line in text.splitlines():
                key = re.match(r"( *(?:- )?[a-z_]+): \S", line)
                if not key:
                    continue
                document, _ = read(text.replace(line, f"{key.group(1)}: {junk}", 1), "f.yml")
                if document is None:
                    continue
                for one in check_document(document, kind):
                    assert not FORBIDDEN.search(f"{one.what} {one.why} {one.mend}"), one


def test_verdict_agrees_with_plain_jsonschema_and_its_own_references():
    registry = Registry().with_resources(
        (path.name, Resource.from_contents(json.loads(path.read_text(encoding="utf-8"))))
        for path in SCHEMAS.glob("*.schema.json")
    )
    for kind, file in FILES.items():
        schema = json.loads((SCHEMAS / f"{kind}.schema.json").read_text(encoding="utf-8"))
        outside = Draft202012Validator(schema, registry=registry)
        text = (BASE / file).read_text(encoding="utf-8")
        for number in range(len(text.splitlines())):
            lines = text.splitlines()
            del lines[number]
            document, problems = read("\n".join(lines), "f.yml")
            if document is None or problems:
                continue
            ours = check_document(document, kind)
            assert bool(ours) == (not outside.is_valid(document.value)), (kind, number)
