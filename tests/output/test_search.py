"""The search over symptoms: owners' words in, the right symptom out, never query syntax."""

import re

import pytest
from lunr.stemmer import PorterStemmer

from build_tools.cli.symptom_search import SymptomSearch
from build_tools.site.search import SearchDocument, SearchText, search_document
from tests.embedded import call, embedded
from tests.shipped import CATALOGUE, ROOT

WORDS = "knowledge/search-words"

TEXTS: dict[str, SearchText] = {
    "lamp-on": {"title": "Lamp stays on", "says": ["the light will not go off"], "family": "a"},
    "slow-crank": {"title": "Cranks slowly", "says": ["turns over slow"], "family": "b"},
    "flat": {"title": "Flat battery", "says": ["the battery is flat again"], "family": "b"},
}


@pytest.fixture(scope="module")
def built():
    return SymptomSearch(SearchDocument(texts=TEXTS, synonyms=[]))


@pytest.fixture(scope="module")
def shipped():
    return SymptomSearch(search_document(CATALOGUE))


def ids(hits):
    return [hit["id"] for hit in hits]


# Words people use, from a digest of public complaints (its list of most frequent topics), each
# with the symptom that topic became. None of them is a phrase written in the entries.
OWNERS_WORDS = [
    ("several unrelated warning lights came on together", "many-lamps-at-once"),
    (
        "airbag and engine light came on after a flat battery",
        "airbag-and-engine-lamp-after-flat-battery",
    ),
    ("just one click and the dash lights stay on", "clicks-or-nothing-lights-stay-on"),
    ("battery drains overnight", "flat-overnight"),
    ("replaced the battery and it still dies", "new-battery-did-not-help"),
    ("loose terminal, starts when I wiggle it", "works-when-clamp-is-touched"),
    ("gas cap message", "evap-code-or-cap-message"),
    ("steering suddenly heavy", "steering-lamp-or-heavy-wheel"),
    ("drove 500 miles still not ready", "many-miles-still-not-ready"),
    ("radio and gauges cut out and come back", "dash-or-radio-cuts-out"),
    ("red battery light on while driving", "red-charging-lamp"),
    ("abs and traction control light", "abs-and-traction-lamps"),
    ("slow crank when it is cold", "cranks-slowly-when-cold"),
    ("light goes away after restart", "fault-clears-on-restart"),
    ("oxygen sensor monitor wont complete", "oxygen-sensor-monitor-never-completes"),
    ("flashing check engine light", "flashing-engine-lamp"),
    ("red brake warning stays lit with the handbrake off", "red-brake-lamp"),
    ("cranks but doesn't fire", "cranks-but-will-not-start"),
    ("transmission shifts weird", "gearbox-shifts-oddly"),
    ("happens after heavy rain", "after-wash-or-rain"),
]


@pytest.mark.parametrize(("words", "symptom"), OWNERS_WORDS)
def test_find_puts_the_meant_symptom_among_the_first_two(shipped, words, symptom):
    assert words not in CATALOGUE.symptoms[symptom].says
    assert symptom in ids(shipped.find(words, 2))


@pytest.mark.parametrize(
    ("slip", "symptom"),
    [
        ("flashing enigne lihgt", "flashing-engine-lamp"),  # swapped letters beside right words
        ("oxigen sensor", "oxygen-sensor-monitor-never-completes"),
        ("stering lamp", "steering-lamp-or-heavy-wheel"),
    ],
)
def test_find_forgives_one_slip_in_a_long_word(shipped, slip, symptom):
    assert ids(shipped.find(slip, 1)) == [symptom]


@pytest.mark.parametrize("word", ["on", "off", "not"])
def test_small_words_are_not_thrown_away(built, word):
    # A stock index drops these three; here each of them stands in one entry only or first.
    assert ids(built.find(word, 3))[0] == "lamp-on"


@pytest.mark.parametrize("text", ["", "   ", "🙂🙂", "?!*", "...", "~:+-"])
def test_text_without_a_word_finds_nothing(built, text):
    assert built.find(text, 5) == []


@pytest.mark.parametrize(
    "text", ["time: 12", "title:flat", "+flat -battery", "flat~9", "fl*t^4", "flat:", "*", "(flat"]
)
def test_query_syntax_is_only_words(built, text):
    plain = " ".join(call(WORDS, "allWords", text))
    assert built.find(text, 5) == built.find(plain, 5)


def test_half_a_word_is_enough(built):
    assert ids(built.find("batt", 5)) == ["flat"]


def test_limit_and_order_hold(shipped):
    hits = shipped.find("battery light on after a jump start", 4)
    assert len(hits) == 4
    assert [hit["score"] for hit in hits] == sorted((h["score"] for h in hits), reverse=True)


def test_equal_scores_keep_the_order_of_ids():
    same = {key: SearchText(title="Same", says=["words"], family="a") for key in "cab"}
    alike = SymptomSearch(SearchDocument(texts=same, synonyms=[]))
    assert ids(alike.find("same words", 5)) == ["a", "b", "c"]


def test_long_text_is_cut_not_refused(built):
    assert ids(built.find("flat " * 5000, 5)) == ["flat"]
    assert len("".join(call(WORDS, "allWords", "flat " * 5000))) == 400 * 4 / 5
    others = [f"w{n}" for n in range(24)]
    assert built.led_by(" ".join([*others[:23], "flat"]), "flat") == ["flat"]
    assert built.led_by(" ".join([*others, "flat"]), "flat") == []


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Won\u2019t START, won't!", ["wont", "start", "wont"]),
        ("café-racer 12.4 V", ["cafe", "racer", "12", "4", "v"]),
        ("on on On", ["on", "on", "on"]),
        ("Ⅷ cylinders", ["viii", "cylinders"]),  # compatibility form, Unicode NFKD
    ],
)
def test_text_is_cut_into_plain_words(text, words):
    assert call(WORDS, "allWords", text) == words


def stems_of(words):
    body = "const { stemmer, Token } = library.default;"
    body += "return input.map((word) => stemmer(new Token(word, {})).toString());"
    return embedded({"library": "vendor/lunr"}, body, words)


def test_stems_follow_the_later_porter_rule_for_y():
    # The examples the later Porter ("English") stemmer publishes for a final y.
    assert stems_of(["cry", "by", "say", "battery", "days"]) == [
        "cri",
        "by",
        "say",
        "batteri",
        "day",
    ]


def test_a_wide_vocabulary_is_stemmed_as_another_library_does():
    # Every word of the project's own prose, but those with y, for which lunr.py has another rule.
    prose = [*ROOT.glob("content/**/*.md"), *ROOT.glob("symptoms/**/*.yml")]
    found = set(re.findall("[a-z]+", " ".join(path.read_text("utf-8") for path in prose).lower()))
    words = sorted(word for word in found if "y" not in word)
    assert len(words) > 2000
    assert stems_of(words) == [PorterStemmer().stem(word) for word in words]


def test_search_document_holds_every_symptom_in_order():
    document = search_document(CATALOGUE)["texts"]
    assert list(document) == sorted(CATALOGUE.symptoms)
    for key, text in document.items():
        assert text["title"] == CATALOGUE.symptoms[key].title
        assert text["says"] == list(CATALOGUE.symptoms[key].says)
        assert text["family"] == CATALOGUE.symptoms[key].family
        assert text["about"].startswith(" ".join(CATALOGUE.symptoms[key].summary.split()))


def test_find_can_say_which_words_led_to_a_hit(built):
    led = built.led_by("battery is not flat, no idea", "flat")
    # The denied word is met with the other sign only, so it tells less than the battery does.
    assert led == ["batteri", "flat"]
    assert built.led_by("the light will not go off", "lamp-on")[:1] != []
    assert built.led_by("nothing of it", "flat") == []
