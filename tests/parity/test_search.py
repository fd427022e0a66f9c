"""The browser and Python rank alike: same hits, same order, same scores, for hard phrases.

The oracle is the other side, written apart; the stems come of two separate programs, lunr.js and lunr.py.
"""

from __future__ import annotations

from pathlib import Path

import yaml

from build_tools.knowledge.assemble import load_catalogue
from build_tools.site import search, search_words
from tests.embedded import embedded
from tests.sweeps import SWEEP

ROOT = Path(__file__).resolve().parents[2]

SPOKEN = [
    "airbag and engine light came on after a flat battery",
    "won't start, just one click",
    "turns over but doesnt fire",
    "battery light flickers at idle",
    "gas cap message after filling up",
    "drove 500 miles and still not ready",
    "failed inspection monitors incomplete",
    "steering got heavy all at once",
    "abs and traction control lights",
    "radio resets when I start the car",
    "only when it rains",
    "slow crank on cold mornings",
    "new battery and still dead",
    "transmission shifts hard since the battery was changed",
    "check engine blinking uphill",
    "o2 monitor never completes",
    "starts when I wiggle the terminal",
    "dead after three days parked",
    "lamp goes away after a restart",
    "red brake light on the dash",
    "everything lights up like a christmas tree",
    "jumped it yesterday now the airbag light is on",
    "when slowing down the lights dim",
    "no crank when hot",
    "hybrid will not go into ready",
]
SLIPS = [
    "batery", "headlghts", "flashin", "enigne lamp", "oxigen sensr", "stering", "alternater",
    "chek enigne", "monitrs not redy", "traktion", "brakelamp", "refueling", "overnite",
    "imobilizer", "parasytic drain", "corosion",
]  # fmt: skip
ODD = [
    "on", "off", "not", "a", "i", "at on in", "time: 12", "title:battery", "+red -lamp", "lamp~2",
    "lamp^10", "*", "b*t", "la*", "(lamp", '"red lamp"', "12.4 V", "12,4", "P0420?", "#s=flat",
    "", "   ", "\t\n", "🙂", "🙂🙂 lamp", "!!!", "…", "café WON\u2019T", "İstanbul lamp",
    "ﬂat battery", "Ⅷ", "lamp lamp lamp", "battery-light", "battery/light", "__proto__",
    "constructor", "toString", "<b>lamp</b>", "'; drop", "x" * 500, "lamp " * 300,
    "\u202elamp", "e\u0301vap", "day days dying", "key keys monday", "y yy yyy",
]  # fmt: skip


MODULES = {"own": "knowledge/search", "cut": "knowledge/search-words", "library": "vendor/lunr"}
FIND = """
  const built = own.buildIndex(library.default, input.texts.texts, input.texts.synonyms);
  return {
    words: input.phrases.map(cut.splitWords),
    hits: input.phrases.map((phrase) => own.find(built, phrase, 8)),
    offers: input.phrases.map((phrase) => own.circumstancesIn(built, phrase)),
  };
"""
TEXTS = search.search_document(load_catalogue(ROOT)[0])


def phrases(every=1):
    """Return hard phrases, and every so many of those that owners say, whole and half typed."""
    said = [line for text in TEXTS["texts"].values() for line in text["says"]]
    half_typed = [line[:cut] for line in said[::3] for cut in (2, 5, 9, 14)]
    asked = yaml.safe_load((ROOT / "tests" / "search_phrases.yml").read_text("utf-8"))
    listed = [one["text"] for key in ("phrases", "unprepared") for one in asked[key]]
    return SPOKEN + SLIPS + ODD + listed + asked["nonsense"] + (said + half_typed)[::every]


@SWEEP
def test_the_browser_finds_what_python_finds(share):
    assert len(SPOKEN + SLIPS + ODD) >= 60
    hits_agree(embedded, phrases(share))


def hits_agree(run, asked):
    theirs = run(MODULES, FIND, {"texts": TEXTS, "phrases": asked})
    built = search.build_index(TEXTS["texts"], TEXTS["synonyms"])
    differ = []
    for phrase, words, hits in zip(asked, theirs["words"], theirs["hits"], strict=True):
        ours = search.find_in(built, phrase, 8)
        same_order = [hit["id"] for hit in ours] == [hit["id"] for hit in hits]
        close = all(
            one["title"] == other["title"] and abs(one["score"] - other["score"]) <= 1.5e-6
            for one, other in zip(ours, hits, strict=False)
        )
        if not (same_order and close and search_words.split_words(phrase) == words):
            differ.append((phrase, ours, hits))
    assert differ == []
    assert [search.circumstances_in(built, phrase) for phrase in asked] == theirs["offers"]
    # The comparison is worth something only if most phrases find a symptom.
    assert sum(bool(hits) for hits in theirs["hits"]) > len(asked) * 0.8


def test_a_wide_vocabulary_is_stemmed_alike():
    # Every word of the project's own prose: a few thousand, far beyond what entries say.
    prose = [*ROOT.glob("content/**/*.md"), *ROOT.glob("symptoms/**/*.yml")]
    words = sorted(
        {
            word
            for path in prose
            for line in path.read_text("utf-8").splitlines()
            for word in search_words.split_words(line)
        }
    )
    stems = embedded(
        MODULES,
        "const { stemmer, Token } = library.default;"
        "return input.map((word) => stemmer(new Token(word, {})).toString());",
        words,
    )
    assert len(words) > 2000
    ours = [search._stemmer.stem(word) for word in words]
    assert [(w, a, b) for w, a, b in zip(words, ours, stems, strict=True) if a != b] == []
