"""The two parts of the knowledge that the checker fetches, against the published document."""

import gzip
import json
import re

from build_tools.browser.linker import ASSETS, in_order
from build_tools.engine.cases import case_document
from build_tools.site.checker_parts import first_part, later_part
from build_tools.site.compile_json import to_text
from tests.embedded import embedded
from tests.shipped import CATALOGUE, knowledge
from tests.sweeps import drawn

KNOWLEDGE = knowledge()


def joined():
    """Join the parts as `data/knowledge.js` does."""
    later = later_part(KNOWLEDGE)
    whole = {**first_part(KNOWLEDGE), **later}
    symptoms = first_part(KNOWLEDGE)["symptoms"]
    whole["symptoms"] = {name: {**one, **later["symptoms"][name]} for name, one in symptoms.items()}
    return whole


def is_within(part, whole):
    """Tell whether everything in `part` stands in `whole`, lists entry by entry."""
    if isinstance(part, dict):
        return all(key in whole and is_within(value, whole[key]) for key, value in part.items())
    if isinstance(part, list):
        return len(part) == len(whole) and all(map(is_within, part, whole))
    return part == whole


def test_parts_hold_nothing_that_is_not_published():
    whole = joined()
    assert is_within(whole, KNOWLEDGE)
    for kind in ("network", "gauges", "contexts", "hazards", "stop_lines", "groups", "abilities"):
        assert whole[kind] == KNOWLEDGE[kind]
    assert all(whole[kind].keys() == KNOWLEDGE[kind].keys() for kind in ("causes", "checks"))


def modules_of(page):
    """Return the text of every module a page runs at once or later, by its place."""
    found, waiting = {}, [ASSETS / page]
    while waiting:
        for module in in_order([waiting.pop()]):
            if module.path not in found:
                found[module.path] = module.text
                waiting += module.later
    return found


def test_what_is_left_out_is_read_by_no_module_of_the_checker():
    left_out = {key for key in KNOWLEDGE if key not in joined()}
    assert left_out == {"sums", "sources", "synonyms"}
    modules = modules_of("pages/checker/start.js")
    assert ASSETS / "engine/triage.js" in modules
    for path, text in modules.items():
        assert not set(re.findall(r"knowledge\.(\w+)", text)) & left_out, path
        # What the pages say of a symptom and its causes, in the words of the published document.
        words = r"\b(?:looks_like|supply_note|how_often|confused_with|unconfirmable_because)\b"
        assert not re.search(words, text), path


def test_advice_from_the_parts_is_advice_from_the_whole():
    body = """return input.cases.map((document) =>
      [input.whole, input.parts].map((knowledge) => triage.triage(knowledge, document)));"""
    names = drawn(CATALOGUE.cases, 10)
    cases = [json.loads(json.dumps(case_document(CATALOGUE.cases[name]))) for name in names]
    given = {"whole": KNOWLEDGE, "parts": joined(), "cases": cases}
    answers = embedded({"triage": "engine/triage"}, body, given)
    assert len(answers) > 20
    for name, (whole, parts) in zip(names, answers, strict=True):
        assert parts == whole, name


def test_first_part_is_a_small_share_of_the_whole():
    first, whole = (
        len(gzip.compress(to_text(one).encode())) for one in (first_part(KNOWLEDGE), KNOWLEDGE)
    )
    assert first < whole / 5
