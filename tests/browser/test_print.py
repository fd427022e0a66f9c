"""On paper: one or two sheets, black on white, no controls, a code that leads back.

Pages are printed by Chromium and counted in the PDF it writes; A4 is 210 x 297 mm (ISO 216) and
Letter 8.5 x 11 in (ANSI Y14.1). The codes are held against segno's own writer of modules.
"""

import io
import re

import pytest
import segno
from playwright.sync_api import expect

from build_tools.site.qr import qr_code
from tests.browser.phone import first_step
from tests.shared_folder import KNOWN_ADDRESS
from tests.sweeps import SWEEP, drawn

MOST_SHEETS = 2
# A page object of a PDF; the tree that holds the pages is of type Pages.
SHEET = re.compile(rb"/Type\s*/Page\b(?!s)")
CONTROLS = "button, select, input, textarea, .control, .control-line, nav, .skip, summary"


@pytest.fixture
def page(desk):
    """Take the window that is used in turn."""
    return desk


def sheets(page, paper):
    return len(SHEET.findall(page.pdf(format=paper)))


def visible_on_paper(page, selector):
    page.emulate_media(media="print")
    seen = page.locator(selector).evaluate_all(
        "(all) => all.filter((n) => n.checkVisibility()).map((n) => n.outerHTML.slice(0, 90))"
    )
    page.emulate_media(media="screen")
    return seen


def names_of(folder, kind):
    return [f"{kind}/{path.parent.name}/" for path in sorted((folder / kind).glob("*/index.html"))]


def test_counting_finds_more_sheets_where_there_are_more(page):
    page.set_content("<p style='break-after: page'>1</p>" * 4 + "<p>5</p>")
    assert sheets(page, "A4") == 5


@SWEEP
@pytest.mark.parametrize("kind", ["symptoms", "checks", "teach"])
def test_every_page_fits_two_letter_sheets(page, built_site, site_url, kind, share):
    """Letter is the shorter paper; the longest pages are always tried, on A4 as well."""
    names = names_of(built_site, kind)
    assert len(names) > 50
    sizes = {name: (built_site / name / "index.html").stat().st_size for name in names}
    longest = sorted(names, key=sizes.__getitem__)[-5:]
    over = []
    for name in sorted({*longest, *drawn(names, share)}):
        page.goto(site_url + name)
        papers = ("Letter", "A4") if name in longest else ("Letter",)
        over += [(name, paper) for paper in papers if sheets(page, paper) > MOST_SHEETS]
    assert over == []


@pytest.mark.parametrize(
    "name",
    ["symptoms/red-charging-lamp/", "checks/measure-resting-voltage/", "teach/red-charging-lamp/"],
)
def test_controls_are_gone_and_the_code_leads_back(page, site_url, name):
    page.goto(site_url + name)
    assert visible_on_paper(page, CONTROLS) == []
    (code,) = visible_on_paper(page, "svg.qr")
    assert "QR code" in code
    assert (
        KNOWN_ADDRESS.removeprefix("https://") + name
        in page.locator(".printed-address").text_content()
    )
    page.emulate_media(media="print")
    drawn = page.locator(".printed-address path").evaluate_all(
        "(all) => all.map((n) => n.getAttribute('d'))"
    )
    assert drawn == re.findall(r' d="([^"]*)"', str(qr_code(KNOWN_ADDRESS + name)))
    colors = page.evaluate(
        "() => [document.documentElement, document.body].map((n) => getComputedStyle(n).color"
        " + ' on ' + getComputedStyle(n).backgroundColor)"
    )
    assert colors[0] == "rgb(0, 0, 0) on rgb(255, 255, 255)"
    assert "rgb(0, 0, 0)" in colors[1]


def test_code_holds_the_address_and_a_quiet_zone():
    """The drawn modules are those of ISO/IEC 18004 as segno's matrix gives them."""
    address = f"{KNOWN_ADDRESS}checks/measure-resting-voltage/"
    code = segno.make(address, error="m", micro=False)
    text = io.StringIO()
    code.save(text, kind="txt", border=4)
    rows = [line.strip() for line in text.getvalue().splitlines() if line.strip()]
    size = len(rows)
    svg = str(qr_code(address))
    assert f'viewBox="0 0 {size} {size}"' in svg
    dark, x, y = set(), 0.0, 0.0
    for step, dx, dy in re.findall(
        r"([Mmh])\s*(-?[\d.]+)(?:[ ,]?(-?[\d.]+))?", re.search(r' d="(M4[^"]*)"', svg)[1]
    ):
        if step == "M":
            x, y = float(dx), float(dy)
        elif step == "m":
            x, y = x + float(dx), y + float(dy or 0)
        else:
            dark |= {(int(x) + i, int(y - 0.5)) for i in range(int(float(dx)))}
            x += float(dx)
    assert dark == {(i, j) for j, row in enumerate(rows) for i, bit in enumerate(row) if bit == "1"}


def test_caution_and_drawing_stay_on_paper(page, site_url):
    page.goto(f"{site_url}checks/measure-resting-voltage/")
    assert visible_on_paper(page, ".caution")
    # What opens on the screen is whole on paper.
    short = page.locator(".caution--short").count()
    assert len(visible_on_paper(page, ".caution--short > p")) == short > 0
    assert len(visible_on_paper(page, ".drawing svg")) == 1
    assert len(visible_on_paper(page, ".scale svg")) >= 3
    assert visible_on_paper(page, ".part--sources li")


def test_class_sheet_gives_no_answer_away(page, site_url):
    """Blank fields to fill in; no odds, no part to hold off, no order of checks."""
    page.goto(f"{site_url}teach/red-charging-lamp/")
    words = page.locator("main, article").first.inner_text().lower()
    assert "about 1 in" not in words
    assert "alternator" not in words.replace("alternator light", "")
    rows = page.locator(".blank-table tbody th a").all_inner_texts()
    assert len(rows) >= 5
    assert rows == sorted(rows)
    assert len(visible_on_paper(page, ".blank-table td")) == 3 * (len(rows) + 1)
    page.goto(f"{site_url}symptoms/red-charging-lamp/")
    page.locator("summary", has_text="Send this to someone").click()
    page.get_by_role("link", name=re.compile("class sheet", re.IGNORECASE)).click()
    expect(page).to_have_url(f"{site_url}teach/red-charging-lamp/")


def test_exercise_keeps_its_answer_off_the_paper_and_out_of_the_address(page, built_site, site_url):
    page.goto(f"{site_url}teach/")
    links = page.locator("a[href*='exercise-']")
    assert links.count() > 30
    page.locator("details:has(a[href*='exercise-']) > summary").first.click()
    listed = page.locator("#main").inner_text()
    links.first.click()
    assert re.search(r"/teach/exercise-[0-9a-f]{8}/$", page.url)
    assert visible_on_paper(page, "#answer") == []
    told = page.locator("#answer ~ details h3").text_content()
    assert told not in page.title() + page.locator("h1").inner_text() + listed
    page.get_by_text("Show the answer").click()
    expect(page.get_by_role("heading", name=told)).to_be_visible()


def test_the_link_of_an_exercise_opens_the_checker_with_all_of_it(page, site_url):
    page.goto(f"{site_url}teach/")
    page.locator("details:has(a[href*='exercise-']) > summary").first.click()
    page.locator("a[href*='exercise-']").first.click()
    noticed = page.locator("[aria-labelledby=noticed] li").all_inner_texts()
    page.get_by_role("link", name="Open the checker with all of this entered").click()
    summary = page.locator(".link-view")
    for one in noticed:
        expect(summary).to_contain_text(one)


def enter(page, check, value):
    fold = page.locator('[data-keep="others"]')
    if fold.get_attribute("open") is None:
        fold.locator("summary").click()
    page.get_by_label("Any check at all").select_option(check)
    page.get_by_role("button", name="Open this check").click()
    page.locator(".reading-form input.field").first.fill(value)
    page.get_by_role("button", name="Use this reading").click()
    expect(page.locator(".latest")).to_be_visible()


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_summary_of_a_case_fits_two_sheets(page, site_url, paper):
    page.goto(f"{site_url}checker/#s=red-charging-lamp")
    first_step(page)
    enter(page, "measure-resting-voltage", "12.5")
    enter(page, "measure-charging-voltage", "12.9")
    assert sheets(page, paper) <= MOST_SHEETS
    assert visible_on_paper(page, "#checker :is(button, select, input)") == []
    # What was said and found stands open on paper, though it is folded on the screen.
    page.emulate_media(media="print")
    for words in (
        "Red battery light on or flickering",
        "12.9 V",
        "What we know so far",
        "Don\u2019t buy yet",
        "Chance it\u2019s the right part",
    ):
        shown = page.locator("#checker").get_by_text(words).locator("visible=true")
        expect(shown.first).to_be_visible()
