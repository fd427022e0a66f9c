"""The browser and Python rank alike: same hits, same order, same scores, for hard phrases.

The oracle is the other side: lunr.js in real Chromium against lunr.py, two separate programs.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import yaml

from build_tools.knowledge.assemble import load_catalogue
from build_tools.site import search

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


@pytest.fixture(scope="module")
def texts():
    catalogue, _ = load_catalogue(ROOT)
    return search.search_document(catalogue)


@pytest.fixture(scope="module")
def phrases(texts):
    said = [line for text in texts["texts"].values() for line in text["says"]]
    half_typed = [line[:cut] for line in said[::3] for cut in (2, 5, 9, 14)]
    asked = yaml.safe_load((ROOT / "tests" / "search_phrases.yml").read_text("utf-8"))
    listed = [one["text"] for key in ("phrases", "unprepared") for one in asked[key]]
    return SPOKEN + SLIPS + ODD + listed + asked["nonsense"] + said + half_typed


@pytest.fixture
def in_browser(page, site_url, phrases):
    page.goto(f"{site_url}stay-safe/")
    return page.evaluate(
        """async ([base, phrases]) => {
          const { buildIndex, circumstancesIn, find } = await import(base + "assets/knowledge/search.js");
          const { splitWords } = await import(base + "assets/knowledge/search-words.js");
          const { default: lunr } = await import(base + "assets/vendor/lunr.js");
          const texts = await (await fetch(base + "assets/data/search.json")).json();
          const built = buildIndex(lunr, texts.texts, texts.synonyms);
          return {
            texts,
            words: phrases.map(splitWords),
            hits: phrases.map((phrase) => find(built, phrase, 8)),
            offers: phrases.map((phrase) => circumstancesIn(built, phrase)),
          };
        }""",
        [site_url, phrases],
    )


def test_the_browser_finds_what_python_finds(in_browser, texts, phrases):
    assert len(SPOKEN + SLIPS + ODD) >= 60
    assert json.loads(json.dumps(texts)) == in_browser["texts"]
    built = search.build_index(texts["texts"], texts["synonyms"])
    differ = []
    for phrase, words, theirs in zip(phrases, in_browser["words"], in_browser["hits"], strict=True):
        ours = search.find_in(built, phrase, 8)
        same_order = [hit["id"] for hit in ours] == [hit["id"] for hit in theirs]
        close = all(
            one["title"] == other["title"] and abs(one["score"] - other["score"]) <= 1.5e-6
            for one, other in zip(ours, theirs, strict=False)
        )
        if not (same_order and close and search.split_words(phrase) == words):
            differ.append((phrase, ours, theirs))
    assert differ == []
    offers = [search.circumstances_in(built, phrase) for phrase in phrases]
    assert offers == in_browser["offers"]
    # The comparison is worth something only if most phrases find a symptom.
    assert sum(bool(hits) for hits in in_browser["hits"]) > len(phrases) * 0.8


def test_a_wide_vocabulary_is_stemmed_alike(page, site_url):
    # Every word of the project's own prose: a few thousand, far beyond what entries say.
    prose = [*ROOT.glob("content/**/*.md"), *ROOT.glob("symptoms/**/*.yml")]
    words = sorted(
        {
            word
            for path in prose
            for line in path.read_text("utf-8").splitlines()
            for word in search.split_words(line)
        }
    )
    page.goto(f"{site_url}stay-safe/")
    stems = page.evaluate(
        """async ([base, words]) => {
          const { default: lunr } = await import(base + "assets/vendor/lunr.js");
          return words.map((word) => lunr.stemmer(new lunr.Token(word, {})).toString());
        }""",
        [site_url, words],
    )
    assert len(words) > 2000
    ours = [search._stemmer.stem(word) for word in words]
    assert [(w, a, b) for w, a, b in zip(words, ours, stems, strict=True) if a != b] == []
