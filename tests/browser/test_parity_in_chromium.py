"""Each kind of answer in real Chromium against Python, a few of each; the search against itself.

The sweeps run the same modules in an embedded engine (tests/parity); here the same bodies run
in the browser that readers have, so that the two engines cannot differ unseen.
"""

import pytest
import yaml

from build_tools.site.search import search_document
from tests.embedded import embedded, in_page
from tests.parity.test_engine import networks_agree, plans_agree
from tests.parity.test_readiness import decisions_agree, readouts_agree
from tests.parity.test_sums import readings_agree
from tests.parity.test_triage import generated_cases_agree, reasons_agree
from tests.shipped import CATALOGUE, ROOT


@pytest.mark.parametrize(
    ("agree", "size"),
    [
        (networks_agree, 50),
        (plans_agree, 15),
        (generated_cases_agree, 10),
        (reasons_agree, 60),
        (readings_agree, 500),
        (readouts_agree, 100),
        (decisions_agree, 100),
    ],
)
def test_chromium_answers_as_python_does(module_page, agree, size):
    agree(in_page(module_page), size)


# Texts that try to be more than words.
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
    words: input.phrases.map(cut.allWords),
    hits: input.phrases.map((phrase) => own.find(built, phrase, 8)),
    offers: input.phrases.map((phrase) => own.circumstancesIn(built, phrase)),
  };
"""


def test_chromium_finds_what_the_commands_find(module_page):
    asked = yaml.safe_load((ROOT / "tests" / "search_phrases.yml").read_text("utf-8"))
    phrases = [one["text"] for key in ("phrases", "unprepared") for one in asked[key]]
    given = {"texts": search_document(CATALOGUE), "phrases": phrases + ODD}
    found = in_page(module_page)(MODULES, FIND, given)
    assert found == embedded(MODULES, FIND, given)
    assert sum(bool(hits) for hits in found["hits"]) > 0.8 * len(given["phrases"])
