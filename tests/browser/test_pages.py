"""Reading pages in a real browser: accessibility by axe-core, no noise, no outside request."""

import hashlib
import re

import pytest

from tests.browser.phone import serious
from tests.browser.site_fixture import built_site, site_url  # noqa: F401 - fixtures, used by name

PAGES = {
    "home": "",
    "symptoms": "symptoms/",
    "symptom": "symptoms/clicks-or-nothing-lights-stay-on/",
    "symptom-with-stop-line": "symptoms/red-charging-lamp/",
    "check": "checks/load-test-battery/",
    "check-with-scale": "checks/measure-resting-voltage/",
    "cause": "causes/battery-clamp-poor/",
    "gauge": "gauges/charging-voltage/",
    "source": "sources/tm-5-4210-load-table/",
    "family": "families/monitors-and-inspection/",
    "stay-safe": "stay-safe/",
    "guide": "guide/our-numbers/",
    "decision": "decisions/0001-exact-inference/",
}


@pytest.fixture
def opened(desk, site_url):  # noqa: F811 - the fixture
    """Open a page and collect what it says and asks for."""
    page = desk

    def open_page(address, *, size=(360, 740), scheme="light"):
        page.set_viewport_size({"width": size[0], "height": size[1]})
        page.emulate_media(color_scheme=scheme)
        response = page.goto(site_url + address)
        assert response.ok
        page.wait_for_load_state("networkidle")
        return page

    open_page.heard, open_page.asked = page.heard, page.asked
    return open_page


# On a phone test_access judges every kind of page; these are looked at in every look.
LOOKED_AT = ("home", "symptom-with-stop-line", "check-with-scale")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", LOOKED_AT)
def test_axe_finds_nothing_serious_on_a_desk(opened, name, scheme):
    page = opened(PAGES[name], size=(1280, 800), scheme=scheme)
    assert serious(page) == []


@pytest.mark.parametrize("name", PAGES)
def test_page_says_nothing_and_asks_for_nothing_outside(opened, name, site_url):  # noqa: F811
    opened(PAGES[name])
    assert opened.heard == []
    assert [url for url in opened.asked if not url.startswith(site_url)] == []


@pytest.mark.parametrize("name", PAGES)
def test_page_fits_a_320_screen(opened, name):
    page = opened(PAGES[name], size=(320, 640))
    wide = page.evaluate(
        """() => [...document.querySelectorAll("main *, header *, footer *")]
          .filter(node => node.getBoundingClientRect().right > innerWidth + 0.5)
          .filter(node => !node.closest(".table-wrap, pre, .skip"))
          .map(node => node.outerHTML.slice(0, 120))"""
    )
    assert wide == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 320


# 44 CSS px is the target size of WCAG 2.1 success criterion 2.5.5; links in running text are exempt.
@pytest.mark.parametrize("name", ["home", "symptom", "family"])
def test_controls_are_large_enough_for_a_thumb(opened, name):
    page = opened(PAGES[name], size=(320, 640))
    small = page.evaluate(
        """() => [...document.querySelectorAll(
            "header a, footer nav a, .control, .choices a, .index a, .doors a, main input")]
          .filter(node => node.getBoundingClientRect().height < 43.5)
          .map(node => node.outerHTML.slice(0, 120))"""
    )
    assert small == []


def test_keyboard_focus_is_visible_and_starts_with_the_skip_link(opened):
    page = opened(PAGES["symptom"])
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Skip to the text"
    assert page.evaluate("document.activeElement.getBoundingClientRect().left") >= 0
    page.keyboard.press("Tab")
    assert page.evaluate("getComputedStyle(document.activeElement).outlineWidth") == "3px"


@pytest.mark.parametrize("width", [320, 1280])
@pytest.mark.parametrize(
    "gauge", ["resting-voltage", "charging-voltage", "parasitic-draw", "load-test-voltage"]
)
def test_names_on_a_scale_never_overlap_or_leave_the_picture(opened, gauge, width):
    page = opened(f"gauges/{gauge}/", size=(width, 740))
    clashes = page.evaluate(
        """() => [...document.querySelectorAll(".scale svg")].flatMap(svg => {
          const frame = svg.getBoundingClientRect();
          const boxes = [...svg.querySelectorAll("text")]
            .map(text => [text.textContent, text.getBoundingClientRect()]);
          const out = boxes.filter(([, b]) => b.left < frame.left - 4 || b.right > frame.right + 4);
          const both = boxes.flatMap(([a, p], i) => boxes.slice(i + 1)
            .filter(([, q]) => p.left < q.right - 1 && q.left < p.right - 1
              && p.top < q.bottom - 2 && q.top < p.bottom - 2)
            .map(([b]) => `${a} / ${b}`));
          return [...out.map(([a]) => `${a} leaves the picture`), ...both];
        })"""
    )
    assert page.locator(".scale svg").count() > 0
    assert clashes == []


def test_bars_are_as_long_as_their_odds(opened):
    page = opened(PAGES["symptom"], size=(1280, 800))
    rows = page.evaluate(
        """() => [...document.querySelectorAll(".bars > li")].map(row => [
          row.querySelector(".bars__odds").textContent,
          row.querySelector(".bar__fill").getBoundingClientRect().width
            / row.querySelector("svg").getBoundingClientRect().width])"""
    )
    assert len(rows) >= 3
    lengths = [length for _, length in rows]
    assert lengths == sorted(lengths, reverse=True)
    for words, length in rows:
        top, bottom = (int(word) for word in words.split() if word.isdigit())
        assert length == pytest.approx(top / bottom, rel=0.2)


def test_print_drops_controls_and_keeps_tables(opened):
    page = opened(PAGES["gauge"], size=(1280, 800))
    page.emulate_media(media="print")
    assert page.locator("table").first.is_visible()
    page = opened(PAGES["symptom"], size=(1280, 800))
    page.emulate_media(media="print")
    assert not page.locator(".control").first.is_visible()
    assert not page.locator(".running-head__places").is_visible()
    assert page.evaluate("getComputedStyle(document.documentElement).backgroundColor") == (
        "rgb(255, 255, 255)"
    )


def test_without_script_the_first_page_still_leads_to_a_symptom(browser, site_url):  # noqa: F811
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(site_url)
    page.get_by_role("link", name="Will not start").click()
    page.locator(".index a").first.click()
    assert page.locator("#causes").is_visible()
    assert page.get_by_role("link", name="Check this on my car").is_visible()
    context.close()


def test_every_page_loads_one_script_and_one_style_named_by_what_they_hold(built_site):  # noqa: F811
    """A page of one edition cannot get a file of another: its name would be a different one."""
    loads = re.compile(
        r'<(script|link rel="stylesheet"|link rel="preload")[^>]*(?:src|href)="([^"]+)"'
    )
    for path in sorted(built_site.rglob("*.html")):
        found = loads.findall(path.read_text("utf-8"))
        kinds = [kind.split()[0] for kind, _ in found if "preload" not in kind]
        if 'http-equiv="refresh"' not in path.read_text("utf-8"):
            assert sorted(kinds) == ["link", "script"], path
        for _, address in found:
            name, digest = re.fullmatch(
                r".*?(assets/.+?)(?:-(?=[0-9a-f]{10}\.)|\?v=)([0-9a-f]{10}).*", address
            ).groups()
            file = built_site / address[address.index("assets/") :].split("?")[0]
            assert file.relative_to(built_site).as_posix().startswith(name)
            assert hashlib.sha256(file.read_bytes()).hexdigest().startswith(digest), address


def test_joined_scripts_name_only_files_that_are_there(built_site):  # noqa: F811
    scripts = sorted((built_site / "assets" / "app").glob("*.js"))
    assert len(scripts) > 10
    for path in scripts:
        text = path.read_text("utf-8")
        for name in re.findall(r'import\("\./([^"]+)"\)', text):
            assert (path.parent / name).is_file(), (path.name, name)
        for name, digest in re.findall(r'"\.\./(data/[^"?]+)\?v=([^"]+)"', text):
            content = (built_site / "assets" / name).read_bytes()
            assert hashlib.sha256(content).hexdigest().startswith(digest), (path.name, name)
        assert "AT(" not in text
        assert not re.search(r'"\.\./data/[^"?]+"', text), path.name
