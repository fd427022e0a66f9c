"""What a message tells, and what becomes of it in the case: by the kind of mistake once made."""

import pytest
import yaml

from build_tools.cli.answer_documents import MessageReader
from tests.shipped import CATALOGUE, ROOT

KINDS = yaml.safe_load((ROOT / "tests/messages/kinds/told.yml").read_text("utf-8"))["kinds"]


@pytest.fixture(scope="module")
def reader():
    return MessageReader(CATALOGUE)


def wrong_in(message, found, case):
    """List what a message tells and was not read, or was read and is not told."""
    readings = {name: one["value"] for name, one in case.get("readings", {}).items()}
    sure = [(float(value), check) for value, check in message.get("readings", {}).items()]
    asked = [one["value"] for one in found["readings"] if not one["certain"]]
    numbers = {one["value"] for one in found["readings"]} | set(readings)
    pairs = {
        "case": case.get("symptoms", []),
        "past": case.get("past", []),
        "circumstances": [one["id"] for one in found["circumstances"]],
        "replaced": [one["what"] for one in found["replaced"]],
        "tools": [one["id"] for one in found["tools"]],
        "facts": list(found["facts"].items()),
        "outcomes": list(case.get("outcomes", {}).items()),
    }
    wrong = [f"{value} {check}" for value, check in sure if readings.get(check) != value]
    wrong += [f"ask {value}" for value in message.get("ask", []) if value not in asked]
    wrong += [f"never {one}" for one in message.get("never", []) if one in numbers]
    for name, told in pairs.items():
        wanted = message.get(name, [])
        wanted = list(wanted.items()) if isinstance(wanted, dict) else wanted
        wrong += [f"{name} {one}" for one in wanted if one not in told]
        never = message.get(f"not_{name}", [])
        keys = [one[0] if isinstance(one, tuple) else one for one in told]
        none = list(never.items()) if isinstance(never, dict) else never
        wrong += [f"not {name} {one}" for one in none if one in told or one in keys]
    return wrong


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_told_goes_where_it_belongs_and_nothing_else_does(reader, kind):
    wrong = {
        message["text"]: found
        for message in KINDS[kind]
        if (found := wrong_in(message, reader.read(message["text"]), reader.case(message["text"])))
    }
    assert wrong == {}
