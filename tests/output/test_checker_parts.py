"""The two parts of the knowledge that the checker fetches, against the published document."""

from __future__ import annotations

import gzip
import json
import re
from pathlib import Path

from build_tools.knowledge.assemble import load_catalogue
from build_tools.site.checker_parts import first_part, later_part
from build_tools.site.compile_json import compile_catalogue, to_text

ROOT = Path(__file__).resolve().parents[2]
CHECKER = ROOT / "site_overrides" / "assets" / "checker"
KNOWLEDGE = json.loads(to_text(compile_catalogue(load_catalogue(ROOT)[0])))


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
    for kind in ("network", "causes", "checks", "gauges", "contexts", "hazards", "stop_lines"):
        assert whole[kind] == KNOWLEDGE[kind]


def test_what_is_left_out_is_read_by_no_module_of_the_checker():
    left_out = {key for key in KNOWLEDGE if key not in joined()}
    assert left_out == {"sums", "sources", "synonyms"}
    for path in CHECKER.rglob("*.js"):
        if path.name != "types.js":
            read = set(re.findall(r"knowledge\.(\w+)", path.read_text("utf-8")))
            assert not read & left_out, path
    # What the pages say of a symptom and its causes, in the words of the published document.
    assert not re.search(
        r"\b(?:looks_like|supply_note|how_often)\b",
        "".join(p.read_text("utf-8") for p in CHECKER.rglob("*.js") if p.name != "types.js"),
    )


def test_first_part_is_a_small_share_of_the_whole():
    first, whole = (
        len(gzip.compress(to_text(one).encode())) for one in (first_part(KNOWLEDGE), KNOWLEDGE)
    )
    assert first < whole / 5
