"""The line drawings in real Chromium: labels stay inside and apart, paints follow the media.

Outside yardsticks: the browser's own getBBox and computed styles; contrast by WCAG 2.2
(4.5:1 for text, success criterion 1.4.3; its formula for relative luminance).
"""

import re
from pathlib import Path

import pytest

ASSETS = Path(__file__).resolve().parents[2] / "site_overrides" / "assets"
DRAWINGS = sorted((ASSETS / "drawings").glob("*.svg"))
MEDIA = [("screen", "light"), ("screen", "dark"), ("print", "light"), ("print", "dark")]
SHEETS = [("drawings.css",), ("site.css", "drawings.css"), ("drawings.css", "site.css")]
# Two widely different sans-serif faces; the second is among the widest in common use.
FACES = ['"Liberation Sans"', '"DejaVu Sans"']
SMALLEST_CONTRAST = 4.5

# A label's box reaches from the face's ascent to its descent. Letters fill less of it, so two
# boxes may share this much height, in units of the drawing, before the letters can meet.
SHARED_HEIGHT = 3

MEASURE = """(slack) => [...document.querySelectorAll("svg")].map((svg) => {
  const view = svg.viewBox.baseVal;
  const home = svg.getScreenCTM().inverse();
  const boxes = [...svg.querySelectorAll("text")].map((text) => {
    const box = text.getBBox();
    const to = home.multiply(text.getScreenCTM());
    const from = new DOMPoint(box.x, box.y).matrixTransform(to);
    const end = new DOMPoint(box.x + box.width, box.y + box.height).matrixTransform(to);
    return { words: text.textContent, x: from.x, y: from.y, right: end.x, bottom: end.y };
  });
  const outside = boxes.filter((b) => b.x < 0 || b.y < 0 || b.right > view.width || b.bottom > view.height);
  const over = [];
  boxes.forEach((a, i) => boxes.slice(i + 1).forEach((b) => {
    const wide = Math.min(a.right, b.right) - Math.max(a.x, b.x);
    const high = Math.min(a.bottom, b.bottom) - Math.max(a.y, b.y);
    if (wide > 0 && high > slack) over.push(`${a.words} / ${b.words}`);
  }));
  return { count: boxes.length, outside: outside.map((b) => b.words), over };
})"""

PAINTS = """() => {
  const svg = document.querySelector("svg");
  const shapes = [...document.querySelectorAll("svg path, svg rect, svg circle, svg ellipse")];
  const seen = (list, key) => [...new Set(list.map((one) => getComputedStyle(one)[key]))].sort();
  return {
    widths: seen(shapes, "strokeWidth"),
    strokes: seen(shapes, "stroke"),
    fills: seen(shapes, "fill"),
    words: seen([...document.querySelectorAll("svg text")], "fill"),
    paper: getComputedStyle(document.querySelector("svg .paper")).fill,
    ink: getComputedStyle(svg).color,
    accent: getComputedStyle(document.querySelector("svg text.accent")).fill,
  };
}"""


@pytest.fixture
def page(desk):
    """Take the window that is used in turn."""
    return desk


def show(page, sources, sheets, face):
    """Put drawings into a page 320 px wide, as the site inlines them."""
    page.set_viewport_size({"width": 320, "height": 600})
    css = "".join((ASSETS / sheet).read_text("utf-8") for sheet in sheets)
    frames = "".join(f'<figure class="drawing">{source}</figure>' for source in sources)
    ground = f":root {{ --sans: {face}; }} figure {{ margin: 0; }}"
    page.set_content(f"<!doctype html><style>{css}{ground}</style>{frames}")


def show_all(page, sheets, face):
    show(page, [path.read_text("utf-8") for path in DRAWINGS], sheets, face)


def luminance(color):
    """Return WCAG 2.2 relative luminance of an rgb() color."""
    parts = [int(part) / 255 for part in re.findall(r"\d+", color)[:3]]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_formula_matches_the_standard():
    # WCAG 2.2: black on white is 21:1; #767676 on white is the well-known 4.54:1.
    assert contrast("rgb(0, 0, 0)", "rgb(255, 255, 255)") == pytest.approx(21)
    assert contrast("rgb(118, 118, 118)", "rgb(255, 255, 255)") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("face", FACES)
@pytest.mark.parametrize("sheets", SHEETS, ids="+".join)
@pytest.mark.parametrize(("media", "scheme"), MEDIA)
def test_labels_stay_inside_and_apart(page, media, scheme, sheets, face):
    page.emulate_media(media=media, color_scheme=scheme)
    show_all(page, sheets, face)
    measured = page.evaluate(MEASURE, SHARED_HEIGHT)
    assert len(measured) == len(DRAWINGS)
    assert all(one["count"] for one in measured)
    flawed = {
        path.stem: one["outside"] + one["over"]
        for path, one in zip(DRAWINGS, measured, strict=True)
        if one["outside"] or one["over"]
    }
    assert flawed == {}


@pytest.mark.parametrize("sheets", SHEETS, ids="+".join)
@pytest.mark.parametrize(("media", "scheme"), MEDIA)
def test_paints_follow_the_media(page, media, scheme, sheets):
    page.emulate_media(media=media, color_scheme=scheme)
    show_all(page, sheets, FACES[0])
    seen = page.evaluate(PAINTS)
    assert seen["widths"] == ["1.25px", "2.5px"]
    assert set(seen["strokes"]) <= {seen["ink"], seen["accent"], "none"}
    assert set(seen["fills"]) <= {"none", seen["paper"], seen["ink"]}
    assert set(seen["words"]) == {seen["ink"], seen["accent"]}
    assert contrast(seen["ink"], seen["paper"]) >= SMALLEST_CONTRAST
    assert contrast(seen["accent"], seen["paper"]) >= SMALLEST_CONTRAST
    if media == "print":
        assert {seen["ink"], seen["accent"]} == {"rgb(0, 0, 0)"}
        assert seen["paper"] == "rgb(255, 255, 255)"
    else:
        assert seen["accent"] != seen["ink"]
        assert (luminance(seen["paper"]) < luminance(seen["ink"])) == (scheme == "dark")


BARE = """() => [...document.querySelectorAll("svg")].map((svg) => {
  const shapes = [...svg.querySelectorAll("path, rect, circle, ellipse")];
  const drawn = shapes.filter((one) => getComputedStyle(one).stroke !== "none");
  const meant = (one) => one.getAttribute("fill") === "currentColor";
  const box = svg.getBBox();
  return {
    widths: [...new Set(drawn.map((one) => getComputedStyle(one).strokeWidth))].sort(),
    blots: shapes.filter((one) => getComputedStyle(one).fill === "rgb(0, 0, 0)" && !meant(one)).length,
    edges: [box.x, box.y, box.x + box.width, box.y + box.height],
  };
})"""


def test_drawings_stand_alone_without_a_style_sheet(page):
    page.emulate_media(media="screen", color_scheme="light")
    show_all(page, (), FACES[0])
    for path, seen in zip(DRAWINGS, page.evaluate(BARE), strict=True):
        assert seen["widths"] == ["1.25px", "2.5px"], path.stem
        assert seen["blots"] == 0, path.stem


def test_lines_stay_inside(page):
    show_all(page, ("drawings.css",), FACES[0])
    half_line = 1.25
    for path, seen in zip(DRAWINGS, page.evaluate(BARE), strict=True):
        assert min(seen["edges"][:2]) >= half_line, path.stem
        assert seen["edges"][2] <= 360 - half_line, path.stem
        assert seen["edges"][3] <= 260 - half_line, path.stem


TOUCHING = (
    '<text x="20" y="40" font-size="13">one label</text>'
    '<text x="60" y="46" font-size="13">another</text>'
)
SAMPLE = '<svg class="line-drawing" viewBox="0 0 360 260">{}</svg>'


@pytest.mark.parametrize(
    ("labels", "key"),
    [
        ('<text x="300" y="40" font-size="13">far too long for here</text>', "outside"),
        ('<text x="20" y="4" font-size="13">above the edge</text>', "outside"),
        (TOUCHING, "over"),
    ],
)
def test_the_measuring_notices_stray_labels(page, labels, key):
    show(page, [SAMPLE.format(labels)], ("drawings.css",), FACES[0])
    assert page.evaluate(MEASURE, SHARED_HEIGHT)[0][key] != []
