"""The line drawings: each can be read, heard and told apart without color.

Outside yardsticks: the XML parser of the standard library, PyYAML, and SVG 2 with WAI-ARIA
for what a picture with a name and a description needs (role img, aria-labelledby, title
before desc before shapes). What needs a real browser is measured in tests/browser.
"""

import re
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
import yaml

ROOT = Path(__file__).resolve().parents[2]
ASSETS = ROOT / "site_overrides" / "assets"
DRAWINGS = sorted((ASSETS / "drawings").glob("*.svg"))
CHECKS = sorted((ROOT / "symptoms" / "checks").glob("*.yml"))
SVG = "{http://www.w3.org/2000/svg}"
WIDTHS = {"1.25", "2.5"}
SMALLEST_LABEL = 12.0
SHAPES = {"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"}
PARTS = SHAPES | {"svg", "title", "desc", "g", "text", "tspan"}
PAINTS = {"none", "currentColor", "Canvas"}


def used_drawings():
    """Return check id -> drawing id for every check that names one; also with a tool of its own."""
    documents = [yaml.safe_load(path.read_text("utf-8")) for path in CHECKS]
    plain = {one["id"]: one["drawing"] for one in documents if one["drawing"]}
    with_tools = {
        f"{one['id']} {tool}": drawing
        for one in documents
        for tool, drawing in one.get("drawing_with", {}).items()
    }
    return plain | with_tools


def local(element):
    return element.tag.removeprefix(SVG)


def complaints_about_name(root, name):
    """Say what keeps a screen reader from naming the drawing."""
    first = [local(child) for child in root][:2]
    if first != ["title", "desc"]:
        yield f"begins with {first}, not title and desc"
        return
    title, desc = root[0], root[1]
    if not (title.text or "").strip() or not (desc.text or "").strip():
        yield "title or desc is empty"
    if root.get("role") != "img":
        yield "role is not img"
    named = f"{title.get('id')} {desc.get('id')}"
    if root.get("aria-labelledby") != named:
        yield "aria-labelledby does not name title and desc"
    for element in root.iter():
        if "id" in element.attrib and not element.get("id").startswith(f"{name}-"):
            yield f"id {element.get('id')} may clash with another drawing's"


def complaints_about_lines(root):
    """Say which parts or paints are not those of a line drawing."""
    if not re.fullmatch(r"0 0 \d+ \d+", root.get("viewBox", "")):
        yield "no plain viewBox"
    if root.get("stroke") != "currentColor" or root.get("stroke-width") != "1.25":
        yield "the root does not set ink and the thin line"
    for element in root.iter():
        part = local(element)
        if part not in PARTS:
            yield f"part <{part}> has no place in a line drawing"
        width = element.get("stroke-width", "1.25")
        firm = "firm" in element.get("class", "").split()
        if width not in WIDTHS or (part in SHAPES and firm != (width == "2.5")):
            yield f"stroke width {width} with class {element.get('class')}"
        for paint in (element.get("fill", "none"), element.get("stroke", "none")):
            if paint not in PAINTS:
                yield f"paint {paint} does not follow the page"
        for attribute in element.attrib:
            if re.search(r"style$|href$|^on", attribute):
                yield f"attribute {attribute}"


def complaints_about_labels(root):
    """Say which labels are too small, and whether anything but color marks the touched place."""
    sizes = {root: 16.0}
    for parent in root.iter():
        for child in parent:
            sizes[child] = float(child.get("font-size", sizes[parent]))
    labels = [element for element in root.iter() if local(element) == "text"]
    if not labels:
        yield "no labels"
    for label in labels:
        words = "".join(label.itertext())
        if not words.strip():
            yield "an empty label"
        if sizes[label] < SMALLEST_LABEL or any(sizes[c] < SMALLEST_LABEL for c in label):
            yield f"label too small: {words}"
    accents = [e for e in root.iter() if "accent" in e.get("class", "").split()]
    if not any(e.get("stroke-dasharray") or local(e) == "text" for e in accents):
        yield "the accent stands alone: neither dashes nor a number go with it"


def complaints(source, name):
    root = ET.fromstring(source)
    return [
        *complaints_about_name(root, name),
        *complaints_about_lines(root),
        *complaints_about_labels(root),
    ]


@pytest.mark.parametrize("path", DRAWINGS, ids=lambda path: path.stem)
def test_drawing_is_a_named_line_drawing(path):
    assert complaints(path.read_text("utf-8"), path.stem) == []


@pytest.mark.parametrize("path", DRAWINGS, ids=lambda path: path.stem)
def test_page_can_set_the_drawing_in(path):
    source = path.read_text("utf-8")
    # The page maker and the checker cut from the first "<svg": nothing may stand before it.
    assert source.startswith("<svg ")
    assert "<!DOCTYPE" not in source
    assert "url(" not in source
    assert not re.search(r"<script|<style|\sstyle=|\son\w+=", source)


def test_checks_use_drawings_that_exist():
    there = {path.stem for path in DRAWINGS}
    used = used_drawings()
    assert {check: one for check, one in used.items() if one not in there} == {}
    # One stands in the guide instead.
    assert there - set(used.values()) == {"meter-dial"}


def test_every_battery_has_minus_on_the_left():
    """The labels aside, a plus is a minus with an upright through it; both are firm and 12 to 16 wide."""
    stroke = re.compile(r'<path d="M([\d.]+),([\d.]+) L([\d.]+),([\d.]+)" class="firm"')
    signs = {}
    for path in DRAWINGS:
        lines = [tuple(map(float, one)) for one in stroke.findall(path.read_text("utf-8"))]
        flat = [line for line in lines if line[1] == line[3] and 12 <= line[2] - line[0] <= 16]
        upright = {(line[0], (line[1] + line[3]) / 2) for line in lines if line[0] == line[2]}
        marks = [((x + end) / 2, y) for x, y, end, _ in flat]
        signs[path.stem] = ["plus" if mark in upright else "minus" for mark in sorted(marks)]
    both = {name: found for name, found in signs.items() if {"plus", "minus"} <= set(found)}
    assert len(both) >= 18
    halves = {name: found[:2] for name, found in both.items()}
    halves |= {f"{name}, second": found[2:] for name, found in both.items() if len(found) > 2}
    wrong = {name: found for name, found in halves.items() if found != ["minus", "plus"]}
    assert wrong == {}


def test_every_check_with_a_gauge_shows_where_to_measure():
    documents = [yaml.safe_load(path.read_text("utf-8")) for path in CHECKS]
    held = [one for one in documents if one["gauge"] and "multimeter" in one["tools"]]
    assert len(held) >= 10
    assert [one["id"] for one in held if not one["drawing"]] == []


def test_titles_tell_drawings_apart():
    titles = [ET.parse(path).getroot()[0].text for path in DRAWINGS]
    assert len(titles) == len(set(titles)) >= 16


def test_style_sheet_knows_two_widths_and_every_class():
    css = (ASSETS / "drawings.css").read_text("utf-8")
    assert set(re.findall(r"stroke-width:\s*([\d.]+)", css)) == WIDTHS
    used = set()
    for path in DRAWINGS:
        for element in ET.parse(path).getroot().iter():
            used |= set(element.get("class", "").split())
    assert used == set(re.findall(r"\.([a-z-]+)(?=[ ,{])", css))
    assert "prefers-color-scheme: dark" in css
    assert "@media print" in css


GOOD = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 360 260" role="img" '
    'aria-labelledby="one-title one-desc" fill="none" stroke="currentColor" stroke-width="1.25">'
    '<title id="one-title">One</title><desc id="one-desc">A line.</desc>'
    '<path d="M1,1 L9,9" class="firm accent" stroke-width="2.5" stroke-dasharray="4 3"/>'
    '<text x="9" y="20" font-size="13" fill="currentColor" stroke="none">here</text></svg>'
)


def test_sound_sample_draws_no_complaint():
    assert complaints(GOOD, "one") == []


@pytest.mark.parametrize(
    ("was", "becomes"),
    [
        ('<desc id="one-desc">A line.</desc>', ""),
        ("A line.", " "),
        ('role="img"', 'role="group"'),
        ("one-title one-desc", "one-title"),
        ('id="one-desc"', 'id="desc"'),
        ('viewBox="0 0 360 260"', ""),
        ('stroke-width="2.5"', 'stroke-width="2"'),
        ("firm accent", "accent"),
        ('fill="none"', 'fill="#fff"'),
        ('font-size="13"', 'font-size="11"'),
        ('font-size="13"', 'font-size="13" style="color:red"'),
        ("here</text>", "here</text><script/>"),
        ("here</text>", 'here</text><use href="#one-title"/>'),
        (">here<", "> <"),
        (' stroke-dasharray="4 3"', ""),
    ],
)
def test_each_flaw_is_noticed(was, becomes):
    assert was in GOOD
    assert complaints(GOOD.replace(was, becomes), "one") != []
