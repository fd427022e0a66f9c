import re
from fractions import Fraction
from pathlib import Path

import pytest
import yaml

from build_tools.knowledge.markup import fraction_words, lower_first, prose
from build_tools.site.scale_drawing import ScaleBand, draw_scale, tick_step
from tests.output.page_tree import parse

SYMPTOMS = Path(__file__).resolve().parents[2] / "symptoms"
# The order of the parts, as the words-and-pages note asks.
SYMPTOM_PARTS = [
    "stop-now", "looks-like", "ask-first", "causes", "first-checks", "hold-off",
    "supply", "worked-case", "send", "sources",
]  # fmt: skip
CHECK_PARTS = [
    "cautions", "needs", "steps", "scale", "meaning", "cannot-tell", "apart", "used-for", "sources",
]  # fmt: skip
ALWAYS = {
    "symptoms": {"looks-like", "causes", "sources"},
    "checks": {"steps", "meaning", "cannot-tell", "sources"},
}


def entries(folder):
    # Read with the general-purpose YAML library, not with our own reader.
    return [yaml.safe_load(p.read_text("utf-8")) for p in sorted((SYMPTOMS / folder).glob("*.yml"))]


def part_ids(page):
    return [h2.attrs["id"] for h2 in page.find("h2")]


@pytest.mark.parametrize(
    ("section", "folder", "order"),
    [("symptoms", "entries", SYMPTOM_PARTS), ("checks", "checks", CHECK_PARTS)],
)
def test_page_parts_come_in_order(site, section, folder, order):
    names = [entry["id"] for entry in entries(folder)]
    assert names
    for name in names:
        ids = part_ids(parse(site / section / name / "index.html"))
        assert ids == [one for one in order if one in ids], name
        assert ALWAYS[section] <= set(ids), name


def test_stop_line_stands_before_any_other_part(site):
    stops = [entry for entry in entries("entries") if entry.get("stop_now")]
    assert stops
    for entry in stops:
        page = parse(site / "symptoms" / entry["id"] / "index.html")
        article = page.find("article")[0]
        blocks = [n for n in article.walk() if "stop-now" in n.classes or "lede" in n.classes]
        assert "stop-now" in blocks[0].classes, entry["id"]


def test_every_figure_shown_has_its_mark_beside_it(site):
    seen = 0
    for path in sorted(site.rglob("*.html")):
        for figure in parse(path).find(cls="fig"):
            seen += 1
            holder = next((n for n in figure.ancestors() if "marked" in n.classes), None)
            assert holder is not None, (path, figure.text)
            assert holder.find(cls="mark"), (path, figure.text)
    assert seen > 100


def test_marks_use_only_the_agreed_words(site):
    agreed = {
        "published", "second-hand", "from memory", "common practice, no source", "our estimate",
    }  # fmt: skip
    shown = {mark.text for path in site.rglob("*.html") for mark in parse(path).find(cls="mark")}
    assert shown
    assert shown <= agreed


def test_caution_precedes_the_step_it_belongs_to(site):
    hazards = yaml.safe_load((SYMPTOMS / "vocabulary/hazards.yml").read_text("utf-8"))["items"]
    title_of = {hazard["id"]: hazard["title"] for hazard in hazards}
    seen = 0
    for entry in entries("checks"):
        page = parse(site / "checks" / entry["id"] / "index.html")
        items = page.find("ol", cls="steps")[0].find("li")
        assert len(items) == len(entry["steps"])
        for item, step in zip(items, entry["steps"], strict=True):
            blocks = [n for n in item.walk() if {"caution", "step"} & set(n.classes)]
            kinds = [("caution" if "caution" in n.classes else "step") for n in blocks]
            if step.get("caution"):
                seen += 1
                assert kinds == ["caution", "step"], (entry["id"], step["do"])
                assert blocks[0].text.startswith(title_of[step["caution"]])
            else:
                assert kinds == ["step"]
    assert seen > 10


def test_cautions_of_a_check_stand_before_its_steps(site):
    with_cautions = [entry for entry in entries("checks") if entry["cautions"]]
    assert with_cautions
    for entry in with_cautions:
        ids = part_ids(parse(site / "checks" / entry["id"] / "index.html"))
        assert ids.index("cautions") < ids.index("steps"), entry["id"]


def test_causes_and_symptoms_link_both_ways(site):
    pairs = [(s["id"], link["cause"]) for s in entries("entries") for link in s.get("causes") or []]
    assert pairs
    for symptom, cause in pairs:
        page = parse(site / "causes" / cause / "index.html")
        hrefs = {a.attrs.get("href") for a in page.find("a")}
        assert f"../../symptoms/{symptom}/" in hrefs, (symptom, cause)


def test_symptom_page_leads_to_the_checker_with_itself(site):
    for entry in entries("entries"):
        page = parse(site / "symptoms" / entry["id"] / "index.html")
        controls = page.find("a", cls="control")
        assert [a.attrs["href"] for a in controls] == [f"../../checker/#s={entry['id']}"]
        assert controls[0].text == "Check this on my car"


def test_gauge_tables_show_every_edge_of_the_file(site):
    for entry in entries("gauges"):
        text = parse(site / "gauges" / entry["id"] / "index.html").text
        shown = {float(n) for n in re.findall(r"\d+(?:\.\d+)?", text)}
        for table in entry["tables"]:
            for band in table["bands"]:
                for edge in (band.get("from"), band.get("below")):
                    values = [p[1] for p in edge["points"]] if isinstance(edge, dict) else [edge]
                    assert {abs(v) for v in values if v is not None} <= shown, entry["id"]


# The words must stay near the number: compared as exact fractions, not by our own rounding.
@pytest.mark.parametrize("per_mille", range(10, 1000, 7))
def test_fraction_words_stay_near_the_share(per_mille):
    share = Fraction(per_mille, 1000)
    words = fraction_words(float(share))
    said = Fraction(*map(int, re.search(r"(\d+) in (\d+)", words).groups()))
    if words.startswith("more than"):
        assert share > said
    else:
        assert abs(said - share) <= max(share * Fraction(1, 5), Fraction(1, 100))


def test_fraction_words_never_claim_certainty():
    assert fraction_words(1.0) == "more than 19 in 20"
    assert fraction_words(0.0) == "less than 1 in 100"


@pytest.mark.parametrize(
    ("given", "forbidden"),
    [
        ("<script>alert(1)</script>plain", "<script"),
        ("[x](javascript:alert(1))", "javascript"),
        ('<img src="x" onerror="alert(1)">', "onerror"),
        ('<b style="color:red">x</b>', "style"),
    ],
)
def test_prose_drops_markup_that_could_act(given, forbidden):
    assert forbidden not in prose(given)


def test_lower_first_keeps_abbreviations():
    assert lower_first("EFB battery") == "EFB battery"
    assert lower_first("Flooded battery") == "flooded battery"
    assert lower_first("A good meter") == "a good meter"


def test_tick_step_is_round_for_any_span():
    for power in range(-3, 4):
        for lead in (1, 1.3, 2, 3.7, 5, 9.9):
            span = lead * 10**power
            step = tick_step(span)
            mantissa = float(f"{step:e}".split("e")[0])
            assert mantissa in {1.0, 2.0, 5.0}
            assert 2 <= span / step <= 5.01


def test_draw_scale_draws_each_band_and_escapes_names():
    bands = [ScaleBand("Low <b>", None, 1.0, 2), ScaleBand("Full", 1.0, None, 0)]
    svg = draw_scale(bands, unit="V", title='a "scale"')
    assert svg.count("<rect") == 2
    assert svg.count('class="hatch"') == 1
    assert "<b>" not in svg
    assert 'aria-label="a &quot;scale&quot;"' in svg


def test_draw_scale_without_an_edge_is_refused():
    with pytest.raises(ValueError, match="at least one edge"):
        draw_scale([ScaleBand("All", None, None, 0)], unit="V", title="x")
