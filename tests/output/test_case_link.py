"""A case link holds the whole case, for ever, and refuses whatever was cut or changed.

Oracles: the case itself (a link must give back what went in), the frozen numbers in
tests/golden, and zlib's CRC-32, whose check value for "123456789" is published as CBF43926.
What runs are the browser's modules, as in the commands.
"""

import base64
import json
import random
import zlib
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from build_tools.browser.embedded import ModuleFailedError
from build_tools.cli.link_command import LinkRefusedError, link_for, link_text, read_link
from build_tools.cli.triage_command import CaseRefused
from build_tools.engine.cases import case_document
from build_tools.knowledge.link_words import link_document, new_lines, words_in_use
from build_tools.knowledge.yaml_reader import read
from tests import commands
from tests.embedded import embedded
from tests.shipped import CATALOGUE, ROOT, knowledge

KNOWLEDGE = knowledge()
NUMBERS = CATALOGUE.vocabulary.link_words
BOOK = link_document(CATALOGUE)
VERSION = KNOWLEDGE["version"]
FROZEN = (ROOT / "tests" / "golden" / "link_words.txt").read_text("utf-8").splitlines()
LONGEST = 300  # letters, for six readings with their conditions


def likely(check):
    """Return a value and unit the check's gauge takes, with three or four digits."""
    gauge = CATALOGUE.gauges[CATALOGUE.checks[check].gauge]
    low, high = gauge.plausible.low, gauge.plausible.high
    return {"value": round(low + (high - low) * 0.7613, 2), "unit": gauge.unit}


MEASURED = [name for name, one in CATALOGUE.checks.items() if one.gauge]
TYPICAL = {
    "symptoms": ["flat-overnight", "cranks-slowly-when-cold", "on-cold-mornings"],
    "context": {
        "battery-age": "over-5-years",
        "temperature": {"value": -5, "unit": "degC"},
        "trip-length": "short-trips",
        "days-parked": "days",
    },
    "readings": {
        name: {
            **likely(name),
            "battery-type": "flooded",
            "temperature": {"value": -5.5, "unit": "degC"},
            "meter": "cheap",
            "rest": "overnight",
        }
        for name in MEASURED[:6]
    },
    "outcomes": {"twist-battery-clamps": "tight-and-clean"},
    "not_possible": ["load-test-battery"],
    "absent": ["red-charging-lamp"],
    "tools": ["multimeter", "hand-tools"],
    "mended": ["battery-clamp-poor"],
}


def whole(document):
    """Return a case with the parts every link gives back, empty optional ones left out."""
    plain = {"symptoms": [], "context": {}, "readings": {}, "outcomes": {}, "not_possible": []}
    kept = {
        key: one
        for key, one in document.items()
        if key in plain or one or (key in ("tools", "hour_value") and one is not None)
    }
    return {**plain, **kept}


MODULES = {
    "links": "case/case-link",
    "bytes": "case/link-bytes",
    "adopt": "case/case-adopt",
    "words": "case/diff-words",
    "states": "case/case",
    "book": "knowledge/link-words",
}
OPEN = """const file = book.bookFrom(input.file);
return input.texts.map((text) => {
  try {
    const { car, version } = links.decodeCase(links.linkIn(text), file);
    return [car, version];
  } catch (error) {
    if (!(error instanceof links.LinkRefused)) throw error;
    return error.reason;
  }
});"""


def encoded(document, file=BOOK):
    body = "return links.encodeCase(input.car, book.bookFrom(input.file), input.version);"
    return embedded(MODULES, body, {"car": document, "file": file, "version": VERSION})


def opened(*texts, file=BOOK):
    """Return for each text the case it holds and the version, or why it cannot be opened."""
    return embedded(MODULES, OPEN, {"texts": texts, "file": file})


def back(letters, file=BOOK):
    """Return the case that the letters of a link hold."""
    return opened(f"#c={letters}", file=file)[0][0]


def with_sum(raw):
    """Write bytes as a link whose checksum is right."""
    checked = raw + zlib.crc32(raw).to_bytes(4, "big")
    return base64.urlsafe_b64encode(checked).decode().rstrip("=")


# -- what goes in comes out ------------------------------------------------------------------


@pytest.mark.parametrize("name", CATALOGUE.cases)
def test_every_worked_case_comes_back_whole(name):
    document = case_document(CATALOGUE.cases[name])
    letters = encoded(document)
    assert opened(f"#c={letters}") == [[whole(document), VERSION[:6]]]
    assert len(letters) <= LONGEST


def test_a_case_of_six_readings_with_conditions_fits():
    letters = encoded(TYPICAL)
    print(f"six readings with four conditions each: {len(letters)} letters")
    assert len(TYPICAL["readings"]) == 6
    assert len("#c=" + letters) <= LONGEST
    assert back(letters) == whole(TYPICAL)


def test_order_and_the_difference_between_no_tools_and_any_are_kept():
    document = {"symptoms": ["over-bumps", "flat-overnight"], "tools": [], "hour_value": 0}
    assert back(encoded(document)) == whole(document)
    assert "tools" not in back(encoded({"symptoms": []}))


@settings(max_examples=400, deadline=None)
@given(st.floats(allow_nan=False, allow_infinity=False) | st.integers(-(10**15), 10**15))
def test_every_number_comes_back_exactly(value):
    assert comes_back("number", value)


@settings(max_examples=200, deadline=None)
@given(st.integers(0, 2**53 - 1))
def test_every_count_comes_back(number):
    assert comes_back("count", number)


def comes_back(kind, value):
    body = f"""const writer = new bytes.Writer(new Map());
    writer.{kind}(input);
    // The very same number: the sign of zero as well.
    return Object.is(new bytes.Reader(Uint8Array.from(writer.bytes), []).{kind}(), input);"""
    return embedded(MODULES, body, value)


def test_an_id_without_a_number_travels_as_letters_and_still_opens_once_it_has_one():
    document = {"symptoms": ["quite-new-symptom"], "context": {"new-fact": "new-option"}}
    letters = encoded(document)
    assert back(letters) == whole(document)
    later = {**BOOK, "words": [*BOOK["words"], "quite-new-symptom"]}
    assert back(letters, later) == whole(document)
    assert len(encoded(document, later)) < len(letters)


# -- numbers for ever ------------------------------------------------------------------------


def test_no_number_that_was_given_ever_changes():
    given_out = {f"{number} {word}" for word, number in NUMBERS.items()}
    assert sorted(set(FROZEN) - given_out) == []
    numbers = list(NUMBERS.values())
    assert len(set(numbers)) == len(numbers)
    listed = read((ROOT / "symptoms/vocabulary/link_words.yml").read_bytes(), "")[0].value["items"]
    assert [one["number"] for one in listed] == list(range(len(listed)))
    new = [f"{one['number']} {one['word']}" for one in listed[len(FROZEN) :]]
    assert new == [], "add these lines to the end of tests/golden/link_words.txt"


def test_new_ids_get_the_next_numbers_and_old_ones_keep_theirs():
    fewer = dict(list(NUMBERS.items())[:-5])
    older = replace(CATALOGUE, vocabulary=replace(CATALOGUE.vocabulary, link_words=fewer))
    lines = new_lines(older).splitlines()
    assert lines[0].startswith(f"  - {{number: {len(fewer)}, ")
    missing = [word for word in words_in_use(CATALOGUE) if word not in fewer]
    assert len(lines) == len(missing) >= 5


def test_a_link_from_the_first_edition_still_opens():
    # Written by the first edition of the format, kept as it was: it must open for ever.
    first = "AR6z5kEBZwIEGREBAAs-AUwAAfIBNwIFGgwtAcUBuAJvhpzV"
    assert back(first) == {
        "symptoms": ["flat-overnight"],
        "context": {"battery-age": "over-5-years", "temperature": {"value": -5, "unit": "degC"}},
        "readings": {
            "measure-resting-voltage": {
                "value": 12.1, "unit": "V", "battery-type": "flooded", "meter": "cheap",
            }
        },
        "outcomes": {"twist-battery-clamps": "loose"},
        "not_possible": [],
    }  # fmt: skip


# -- what was cut, changed or never a link ---------------------------------------------------


def test_the_checksum_is_the_published_one():
    assert zlib.crc32(b"123456789") == 0xCBF43926
    assert embedded(MODULES, "return links.crc32(input);", list(b"123456789")) == 0xCBF43926
    raw = base64.urlsafe_b64decode(encoded(TYPICAL) + "===")
    assert zlib.crc32(raw[:-4]).to_bytes(4, "big") == raw[-4:]


def test_a_link_that_was_cut_anywhere_says_so():
    letters = encoded(TYPICAL)
    assert set(opened(*(f"#c={letters[:size]}" for size in range(len(letters))))) == {"cut-short"}


def test_one_changed_letter_anywhere_is_noticed():
    letters = encoded(TYPICAL)
    draw = random.Random(7)
    alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"
    changed = []
    for place, letter in enumerate(letters):
        other = draw.choice([sign for sign in alphabet if sign != letter])
        changed.append(f"#c={letters[:place]}{other}{letters[place + 1 :]}")
    found = opened(*changed)
    # The last letter holds bits that stand for nothing; there alone a change may be none.
    assert set(found[:-1]) <= {"changed", "cut-short", "newer", "not-a-link"}
    assert found[-1] == "changed" or found[-1][0] == whole(TYPICAL)


def test_a_link_of_a_later_format_asks_for_a_newer_page():
    later, none = with_sum(bytes([2, 3, 1, 2, 3])), with_sum(bytes([0, 3, 1, 2, 3]))
    assert opened(f"#c={later}", f"#c={none}") == ["newer", "not-a-link"]


@pytest.mark.parametrize(
    "body",
    [
        [1, 2, 3, 200],  # a count that never ends
        [1, 2, 3, 5, 1],  # five symptoms announced, one there
        [1, 2, 3, 1, 255, 255, 3],  # a word of a number nobody has
        [1, 2, 3, 1, 0, 3, 0x2E, 0x2E, 0x2F],  # "../" is no id
        [1, 2, 3, 1, 0, 2, 0xC3, 0x28],  # broken letters
        [1, 2, 3, 0, 1, 4, 0, 99, 0],  # ninety-nine decimals
        [1, 2, 3, 0, 1, 4, 0, 15, 0x7F, 0xF0, 0, 0, 0, 0, 0, 0],  # infinity
        [1, 2, 3, 0, 0, 0, 0, 0, 0, 0, 0, 0, 7],  # more after the last part
        [1],  # no room for a version
    ],
)
def test_bytes_with_a_right_checksum_and_no_sense_are_refused(body):
    assert opened(f"#c={with_sum(bytes([1, len(body), *body]))}") == ["unreadable"]


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "no-link"),
        ("hello, look at my car", "no-link"),
        ("https://example.org/checker/#s=flat-overnight", "no-link"),
        ("https://example.org/checker/#c=", "cut-short"),
        ("#c=" + "A" * 7000, "too-long"),
        ("#c=A", "cut-short"),
    ],
)
def test_text_without_a_whole_link_says_what_is_wrong(text, reason):
    with pytest.raises(LinkRefusedError) as refused:
        read_link(CATALOGUE, text)
    assert refused.value.reason == reason
    assert str(refused.value).endswith(".")


def test_a_link_is_found_in_a_message():
    letters = encoded(TYPICAL)
    for message in (
        f"https://example.org/some/place/checker/#c={letters}",
        f"Please look (https://example.org/checker/#c={letters}). Thank you!",
        f"#c={letters}\nsent from my phone",
        f"  {letters}  ",
    ):
        assert opened(message) == [[whole(TYPICAL), VERSION[:6]]]


@settings(max_examples=500, deadline=None)
@given(st.text(max_size=400) | st.binary(max_size=200).map(lambda raw: "#c=" + with_sum(raw)))
def test_no_text_at_all_makes_it_fail_otherwise(text):
    (found,) = opened(text)
    assert isinstance(found, str) or set(found[0]) >= {"symptoms", "readings"}


def test_reading_past_the_end_is_refused():
    with pytest.raises(ModuleFailedError, match="the bytes end too early"):
        embedded(MODULES, "return new bytes.Reader(Uint8Array.of(1), []).take(2);")


# -- older and foreign cases -----------------------------------------------------------------

REDIRECTS = {
    "flat-in-the-morning": "flat-at-dawn",
    "flat-at-dawn": "flat-overnight",
    "smells-odd": {"retired": "It was about something else."},
    "ring-one": "ring-two",
    "ring-two": "ring-one",
}


ADOPT = """return input.cars.map((car) => {
  const { car: adopted, changes } = adopt.adoptCase(input.knowledge, input.redirects, car);
  const kept = JSON.parse(JSON.stringify(states.fromCase(adopted, adopted)));
  const { state } = adopt.adoptState(input.knowledge, input.redirects, kept);
  return {
    adopted,
    changes,
    said: changes.map((one) => words.changeWords(input.knowledge, one)),
    kept: states.toCase(input.knowledge, state),
    base: state.base,
  };
});"""


def adopted(redirects, *cars):
    given = {"knowledge": KNOWLEDGE, "redirects": redirects, "cars": cars}
    return embedded(MODULES, ADOPT, given)


def test_an_older_case_follows_redirects_and_lists_what_was_left_out():
    old = whole(
        {
            "symptoms": ["flat-in-the-morning", "smells-odd", "ring-one", "never-was", "__proto__"],
            "context": {
                "battery-age": "ancient", "temperature": -3, "trip-length": "mixed", "rest": 5,
                "constructor": "x",
            },
            "readings": {
                "measure-resting-voltage": {"value": 12.1, "unit": "furlong"},
                "measure-charging-voltage": {"value": 14.2, "unit": "V", "meter": "magic"},
            },
            "outcomes": {"twist-battery-clamps": "wobbly", "look-for-water": "dry"},
            "not_possible": ["no-such-check"],
            "absent": ["flat-overnight"],
            "tools": ["multimeter", "crystal-ball"],
            "mended": ["battery-clamp-poor", "no-such-cause"],
        }
    )  # fmt: skip
    (found,) = adopted(REDIRECTS, old)
    assert found["adopted"] == {
        "symptoms": ["flat-overnight"],
        "context": {"temperature": {"value": -3, "unit": "degC"}, "trip-length": "mixed"},
        "readings": {"measure-charging-voltage": {"value": 14.2, "unit": "V"}},
        "outcomes": {"look-for-water": "dry"},
        "not_possible": [],
        "tools": ["multimeter"],
        "mended": ["battery-clamp-poor"],
    }
    assert [(one["change"], one["id"]) for one in found["changes"]] == [
        ("renamed", "flat-in-the-morning"),
        ("retired", "smells-odd"),
        ("unknown", "ring-one"),
        ("unknown", "never-was"),
        ("unknown", "__proto__"),
        ("option-gone", "battery-age"),
        ("option-gone", "rest"),
        ("unknown", "constructor"),
        ("reading-gone", "measure-resting-voltage"),
        ("option-gone", "meter"),
        ("level-gone", "twist-battery-clamps"),
        ("unknown", "no-such-check"),
        ("unknown", "crystal-ball"),
        ("unknown", "no-such-cause"),
    ]
    for words in found["said"]:
        assert words.startswith("“")
        assert words.endswith(".")


def test_a_case_of_today_is_adopted_kept_and_compared_without_a_change():
    resting = {"measure-resting-voltage": {"value": 1.21, "unit": "V", "confirmed": True}}
    documents = [whole(case_document(one)) for one in CATALOGUE.cases.values()]
    documents += [
        TYPICAL,
        {**whole({}), "tools": [], "hour_value": 12.5, "mended": ["lamp-left-on"]},
        {**TYPICAL, "readings": resting},
    ]
    for document, found in zip(documents, adopted({}, *documents), strict=True):
        assert found["adopted"] == found["kept"] == found["base"] == document
        assert found["changes"] == []


def test_the_browser_gets_every_number_and_every_redirect():
    book = json.loads(json.dumps(link_document(CATALOGUE)))
    assert [f"{place} {word}" for place, word in enumerate(book["words"])] == FROZEN
    assert book["redirects"].keys() == CATALOGUE.redirects.keys()


# -- commands --------------------------------------------------------------------------------


def run(*words, given=""):
    return commands.run("link", *words, given=given)


def test_commands_write_a_link_and_read_it_again(tmp_path):
    file = tmp_path / "case.json"
    file.write_text(json.dumps(TYPICAL), "utf-8")
    written = run("encode", str(file))
    assert written.returncode == 0, written.stderr
    link = written.stdout.strip()
    assert link == link_for(CATALOGUE, TYPICAL)
    opened = run("read", f"https://example.org/checker/{link}", "--json")
    assert opened.returncode == 0, opened.stderr
    answer = json.loads(opened.stdout)
    assert answer["case"] == whole(TYPICAL)
    assert answer["changes"] == []
    assert answer["same_knowledge"] is True


def test_commands_say_what_is_wrong():
    cut = run("read", "#c=AR6z5kE")
    assert (cut.returncode, cut.stdout) == (1, "")
    assert "cut short" in cut.stderr
    wrong = run("encode", "-", given='{"symptoms": ["flat-overnigt"]}')
    assert wrong.returncode == 1
    assert "flat-overnight" in wrong.stderr


def test_a_case_that_cannot_be_used_gets_no_link():
    with pytest.raises(CaseRefused):
        link_for(CATALOGUE, {"symptoms": ["no-such"]})


def test_the_text_of_a_link_says_case_and_advice():
    text = link_text(CATALOGUE, read_link(CATALOGUE, link_for(CATALOGUE, TYPICAL)))
    for words in (
        "Noticed: Flat overnight or after days parked; Cranks slowly when cold",
        "Not so: Red battery light on or flickering",
        "Measured:",
        "battery temperature: \u22125.5\u00a0\u00b0C",
        "Repaired already, and the trouble stayed: ",
        "Most likely causes:",
    ):
        assert words in text
