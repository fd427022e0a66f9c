"""The invented messages of strangers are sound: what should be found in each is there to be found.

`tests/messages` was written by another hand than the code that reads messages, before any answer
was seen. In each message:

- `symptoms` should be found, the most apt first; where `symptoms_any` stands, one of those will do.
  `symptoms_may` are right too, `not_symptoms` are wrong. `circumstances` likewise.
- `readings` have a quantity (or a list of fit ones), a value in the unit named, and `certain` where it
  matters whether the condition was told. `may_read` are values it is no mistake to read,
  `not_readings` numbers that must not come back as readings.
- `facts` are answers of `symptoms/context`, `facts_may` those a reader might draw or not.
- `replaced` parts have `helped` where the message tells it. `negated` and `past` quote words which
  must not become findings. `tools` the writer owns, `monitors` and how they stand.
- `outcomes` are results of checks the message tells, `outcomes_may` those a reader might draw or not.
- `little: true` marks a message with almost nothing in it, which needs a question and no guess.
"""

import re
from pathlib import Path

import pytest
import yaml

ROOT = Path(__file__).resolve().parents[1]
SYMPTOMS = ROOT / "symptoms"
MESSAGES = [
    one
    for path in sorted((ROOT / "tests" / "messages").glob("*.yml"))
    for one in yaml.safe_load(path.read_text("utf-8"))["messages"]
]
QUANTITIES = {
    "resting voltage",
    "cranking voltage",
    "charging voltage",
    "charging voltage with loads",
    "key-on voltage",
    "parked draw",
    "temperature",
    "other",
}
FIELDS = {
    *("id", "text", "little", "symptoms", "symptoms_any", "symptoms_may", "not_symptoms"),
    *("circumstances", "circumstances_may", "readings", "may_read", "not_readings", "facts"),
    *("facts_may", "codes", "monitors", "tools", "replaced", "negated", "past"),
    *("outcomes", "outcomes_may"),
}
READING = {"quantity", "value", "unit", "certain"}
ONES = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen"
)
SMALL = ONES.split()
TENS = {20: "twenty", 30: "thirty", 40: "forty", 50: "fifty", 60: "sixty", 90: "ninety"}


def listed(value):
    return value if isinstance(value, list) else [value]


def spoken(whole):
    """Return the words for a whole number, as far as people write numbers out."""
    if whole < len(SMALL):
        return [SMALL[whole]]
    return [TENS[whole]] if whole in TENS else []


def written(value, unit=""):
    """Return patterns of the ways in which a number may stand in a text."""
    scaled = [abs(value), *([abs(value) * 1000] if unit in {"A", "V"} else [])]
    for number in scaled:
        whole, _, part = f"{round(number, 4):g}".partition(".")
        grouped = re.sub(r"(?<=\d)(?=(?:\d{3})+$)", "[,. ]?", whole)
        if not part:
            yield rf"(?<!\d)0*{grouped}(?:[.,]0+)?(?!\d)"
            yield from (rf"\b{word}\b" for word in spoken(int(whole)))
            continue
        yield rf"(?<!\d){grouped} ?(?:[.,v]|,|\.| point | volts? )0*{part}0*(?!\d)"
        if whole == "0":
            yield rf"(?<!\d)[.,]{part}0*(?!\d)"
        for word in [*spoken(int(whole)), whole]:
            digits = " ".join(SMALL[int(digit)] for digit in part)
            yield rf"\b{word} (?:point |volts? )?{digits}\b"
            yield from {"5": [rf"\b{word} and a half\b"], "25": [rf"\b{word} and a quarter\b"]}.get(
                part, []
            )


def stands_in(text, value, unit=""):
    return any(re.search(pattern, text, re.IGNORECASE) for pattern in written(value, unit))


@pytest.fixture(scope="module")
def known():
    """Return the ids of each kind, and the answers of each context (None where it takes a number)."""
    ids = {
        folder: {path.stem for path in (SYMPTOMS / folder).glob("*.yml")}
        for folder in ("entries", "monitors")
    }
    ids["circumstances"] = {
        path.stem
        for path in (SYMPTOMS / "entries").glob("*.yml")
        if re.search(r"^role: circumstance$", path.read_text("utf-8"), re.MULTILINE)
    }
    tools = yaml.safe_load((SYMPTOMS / "vocabulary" / "tools.yml").read_text("utf-8"))
    ids["tools"] = {item["id"] for item in tools["items"]}
    ids["results"] = {
        (path.stem, level["id"])
        for path in (SYMPTOMS / "checks").glob("*.yml")
        for level in yaml.safe_load(path.read_text("utf-8"))["levels"]
    }
    ids["facts"] = {}
    for path in (SYMPTOMS / "context").glob("*.yml"):
        entry = yaml.safe_load(path.read_text("utf-8"))
        options = [option["id"] for option in entry.get("options", [])]
        ids["facts"][path.stem] = options if entry["type"] == "choice" else None
    return ids


def test_names_are_unique_and_texts_differ():
    assert len({one["id"] for one in MESSAGES}) == len(MESSAGES)
    assert len({one["text"] for one in MESSAGES}) == len(MESSAGES)
    assert all(20 <= len(one["text"]) <= 1500 for one in MESSAGES)


@pytest.mark.parametrize("message", MESSAGES, ids=lambda one: one["id"])
def test_what_should_be_found_exists(message, known):
    complaints = known["entries"] - known["circumstances"]
    asked = set()
    assert set(message) <= FIELDS
    for field in ("symptoms", "symptoms_any", "symptoms_may", "not_symptoms"):
        assert set(message.get(field, [])) <= complaints, field
        asked |= set(message.get(field, [])) if field != "not_symptoms" else set()
    assert not asked & set(message.get("not_symptoms", []))
    assert message.get("symptoms") or message.get("little") or message.get("readings")
    for field in ("circumstances", "circumstances_may"):
        assert set(message.get(field, [])) <= known["circumstances"], field
    for fact, answer in {**message.get("facts", {}), **message.get("facts_may", {})}.items():
        options = known["facts"][fact]
        assert answer in options if options is not None else isinstance(answer, (int, float)), fact
    assert set(message.get("tools", [])) <= known["tools"]
    for field in ("outcomes", "outcomes_may"):
        assert set(message.get(field, {}).items()) <= known["results"], field
    for monitor, state in message.get("monitors", {}).items():
        assert monitor in known["monitors"]
        assert state in {"complete", "incomplete"}


@pytest.mark.parametrize("message", MESSAGES, ids=lambda one: one["id"])
def test_what_should_be_found_stands_in_the_text(message):
    text = message["text"]
    for reading in message.get("readings", []):
        assert set(reading) <= READING
        assert set(listed(reading["quantity"])) <= QUANTITIES
        assert stands_in(text, reading["value"], reading["unit"]), reading
    for number in [*message.get("not_readings", []), *message.get("may_read", [])]:
        assert stands_in(text, number, "A"), number
    assert not {reading["value"] for reading in message.get("readings", [])} & set(
        message.get("not_readings", [])
    )
    for words in [*message.get("negated", []), *message.get("past", [])]:
        assert words in text, words
    for code in message.get("codes", []):
        assert re.fullmatch(r"[PBCU][0-3][0-9A-F]{3}", code)
        assert code in re.sub(r"[^A-Z0-9]", "", text.upper()), code
    assert all({"what"} <= set(one) <= {"what", "helped"} for one in message.get("replaced", []))
