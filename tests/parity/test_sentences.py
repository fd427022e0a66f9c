"""One formatter in two languages: both say what the vectors say, and each sentence alike."""

import json
import re
from pathlib import Path

import pytest

from build_tools.browser.embedded import ModuleFailedError
from build_tools.knowledge.folders import PROJECT
from build_tools.knowledge.sentences import IN_BROWSER, PLACE, fill, forms_of, say
from build_tools.knowledge.yaml_reader import read
from tests.embedded import call

VECTORS = json.loads((Path(__file__).parents[1] / "vectors" / "sentences.json").read_text("utf-8"))
FILES = [PROJECT / "symptoms" / "sentences" / f"{stem}.yml" for stem in IN_BROWSER]
SENTENCES = [row for path in FILES for row in read(path.read_bytes(), path.name)[0].value["items"]]


@pytest.mark.parametrize("one", VECTORS, ids=range(len(VECTORS)))
def test_both_fill_a_text_as_the_vector_says(one):
    if "says" in one:
        assert fill(one["text"], one["places"]) == one["says"]
        assert call("kit/sentences", "fill", one["text"], one["places"]) == one["says"]
        return
    with pytest.raises(KeyError, match=one["missing"]):
        fill(one["text"], one["places"])
    with pytest.raises(ModuleFailedError, match=re.escape(f"was given no {one['missing']}")):
        call("kit/sentences", "fill", one["text"], one["places"])


@pytest.mark.parametrize("sentence", SENTENCES, ids=lambda one: one["id"])
def test_both_say_each_form_of_a_sentence(sentence):
    for when, text in forms_of(sentence):
        places = {**{place: f"<{place}>" for place in PLACE.findall(text)}, **when}
        wanted = text
        for place, value in places.items():
            wanted = wanted.replace(f"{{{place}}}", value)
        assert say(sentence["id"], **places) == wanted
        assert call("kit/sentences", "say", sentence["id"], places) == wanted
