"""The pages of the sums, read back from the built site.

Oracles: the sum files read by the general-purpose YAML library, and for the worked examples
figures published elsewhere (named beside each).
"""

import re
from pathlib import Path

import pytest
import yaml

from build_tools.measure.sum_examples import EXAMPLES
from build_tools.measure.sum_formulas import FORMULA_WORDS
from build_tools.measure.sums import FORMULAS
from build_tools.site.reading_shelf import GROUPS
from tests.output.page_tree import parse

SYMPTOMS = Path(__file__).resolve().parents[2] / "symptoms"
PARTS = [
    "cautions", "formula", "inputs", "constants", "tables", "note", "example", "cannot-tell",
    "next", "sources",
]  # fmt: skip


def entries(folder):
    return [yaml.safe_load(p.read_text("utf-8")) for p in sorted((SYMPTOMS / folder).glob("*.yml"))]


def sum_page(site, name):
    return parse(site / "sums" / name / "index.html")


def test_every_formula_is_said_and_every_sum_has_an_example():
    assert set(FORMULA_WORDS) == set(FORMULAS)
    assert set(EXAMPLES) == {entry["id"] for entry in entries("sums")}


def test_parts_come_in_order_and_none_needed_is_missing(site):
    for entry in entries("sums"):
        ids = [h2.attrs["id"] for h2 in sum_page(site, entry["id"]).find("h2")]
        assert ids == [one for one in PARTS if one in ids], entry["id"]
        assert {"formula", "inputs", "example", "cannot-tell", "next", "sources"} <= set(ids)
        assert ("constants" in ids) == bool(entry.get("constants"))
        assert ("tables" in ids) == bool(entry.get("tables"))
        assert ("cautions" in ids) == bool(entry["cautions"])


def test_tables_and_constants_are_shown_as_the_file_has_them(site):
    for entry in entries("sums"):
        shown = [one.text for one in sum_page(site, entry["id"]).find(cls="fig")]
        found = [re.match(r"[\u2212-]?[0-9.]+", text) for text in shown]
        numbers = {float(one[0].replace("\u2212", "-")) for one in found if one}
        wanted = [one["value"] for one in (entry.get("constants") or {}).values()]
        for table in (entry.get("tables") or {}).values():
            wanted += [number for point in table["points"] for number in point]
        assert {float(one) for one in wanted} <= numbers, entry["id"]


def test_every_text_with_a_figure_carries_a_mark(site):
    """Walk every text: a digit needs a mark in its nearest marked block."""
    seen = 0
    for entry in entries("sums"):
        for holder, text in texts(sum_page(site, entry["id"]).find("article")[0]):
            if not re.search(r"[0-9]", text) or is_exempt(holder, text):
                continue
            seen += 1
            inside = [holder, *holder.ancestors()]
            marked = next((node for node in inside if "marked" in node.classes), None)
            assert marked is not None, (entry["id"], text)
            assert marked.find(cls="mark"), (entry["id"], text)
    assert seen > 300


def texts(node):
    for child in node.children:
        if isinstance(child, str):
            yield node, child
        else:
            yield from texts(child)


def is_exempt(holder, text):
    """The list of sources is what marks point to; a review date is no figure to act on."""
    inside = [holder, *holder.ancestors()]
    in_sources = any("part--sources" in node.classes for node in inside)
    return in_sources or text.strip().startswith("Last reviewed")


# Worked examples against figures from outside, with the publication each comes from.
@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("gravity-corrected", "1.254"),  # golf-car owner's manual, fig. 35: 1.250 at 90 degF
        ("charge-moved", "30.00"),  # TM 10-3930-644: 60 A for 30 min
        ("slow-charge-rate", "4"),  # TM 5-4210, slow charging: 9 plates
        ("volts-from-cell", "12.72"),  # truck battery page: 2.12 V a cell
        ("rating-converted", "580"),  # maker's rating sheet: 1.5 x 360 + 40
        ("reserve-capacity", "41.7"),  # reserve-capacity page: RC 100
        ("load-test", "9.20"),  # TM 5-4210, table 5: between 9.1 at 30 and 9.3 at 40 degF
        ("days-until-no-start", "20.0"),  # 0.4 x 100 x 0.6 / (0.05 x 24), maker's bulletin
        ("run-time", "94"),  # Peukert's rule by hand: 94.2 min for 60 Ah at 25 A, k 1.2
        ("drop-limit", "0.36"),  # TM 10-3930-671: 0.20 V for each 100 A, at 180 A
        ("cell-spread", "0.055"),  # 1.265 less 1.210
    ],
)
def test_worked_examples_show_the_published_figures(site, name, shown):
    case = sum_page(site, name).find(cls="case")[-1]
    figures = [one.text.split()[0] for one in case.find(cls="fig")]
    assert shown in figures, figures


def test_the_shelf_holds_every_gauge_and_sum_once_and_leads_to_its_page(site):
    page = parse(site / "readings" / "index.html")
    items = [li for li in page.find("li") if "data-kind" in li.attrs]
    places = [(li.attrs["data-kind"], li.attrs["id"]) for li in items]
    wanted = {("gauge", one["id"]) for one in entries("gauges")}
    wanted |= {("sum", one["id"]) for one in entries("sums")}
    assert sorted(places) == sorted(wanted)
    assert len({name for _, name in places}) == len(places), "one address would name two things"
    for kind, name in places:
        link = next(li for li in items if li.attrs["id"] == name).find("a")[0]
        assert link.attrs["href"] == f"../{kind}s/{name}/"
    titles = [h2.text for h2 in page.find("h2")]
    assert titles == [title for _, title in GROUPS if title in titles]
