"""The search field in every page's head: found by touch and key, fetched only when used."""

import json
import re
from urllib.request import urlopen

import pytest
from playwright.sync_api import expect

from tests.browser.phone import PHONE, said, serious

PAGES = [
    "symptoms/flat-overnight/", "checks/", "causes/battery-worn-out/", "guide/", "readings/",
    "stay-safe/", "404.html",
]  # fmt: skip
TITLE = "Flat overnight or after days parked"


@pytest.mark.parametrize("address", PAGES)
def test_every_page_has_one_field_that_finds(phone, site_url, address):
    page = phone
    page.goto(site_url + address)
    field = page.get_by_role("searchbox", name="Find a symptom")
    expect(field).to_have_count(1)
    field.tap()
    field.press_sequentially("battery drains over night")
    link = page.locator(".head-find").get_by_role("link", name=TITLE)
    expect(link).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    link.tap()
    expect(page.get_by_role("heading", level=1)).to_have_text(TITLE)


def test_home_page_and_checker_have_one_large_field(phone, site_url):
    page = phone
    page.goto(site_url)
    expect(page.get_by_role("searchbox")).to_have_count(1)
    expect(page.get_by_label("Say it in your own words")).to_be_visible()
    page.goto(f"{site_url}checker/")
    expect(page.get_by_label("Say it in your own words")).to_be_visible()
    expect(page.get_by_role("searchbox")).to_have_count(1)


def test_texts_and_library_are_fetched_at_the_first_touch_only(phone, site_url):
    page = phone
    asked = []
    # Another worker of the page may fetch what it keeps for offline use; this counts the page's own.
    page.on("request", lambda one: asked.append(one.url) if one.frame == page.main_frame else None)
    page.goto(f"{site_url}stay-safe/")
    page.wait_for_load_state("networkidle")
    wanted = re.compile(r"/(data/search\.json\?v=|app/(lunr|search)-)")
    assert [url for url in asked if wanted.search(url)] == []
    page.get_by_role("searchbox", name="Find a symptom").focus()
    page.wait_for_function(
        "() => performance.getEntriesByType('resource').some((one) => one.name.includes('data/search.json'))"
    )
    assert len([url for url in asked if "data/search.json" in url]) == 1


def test_words_that_fit_nothing_lead_to_the_kinds(phone, site_url):
    page = phone
    page.goto(f"{site_url}stay-safe/")
    field = page.get_by_role("searchbox", name="Find a symptom")
    field.fill("banana smoothie recipe")
    found = page.locator(".head-find")
    expect(found).to_contain_text("Nothing fits these words")
    expect(found.get_by_role("link")).to_have_count(2)
    found.get_by_role("link", name="None of these: choose a category").tap()
    expect(page.get_by_role("heading", level=1)).to_have_text("Symptoms")


def test_keys_alone_lead_on_and_escape_clears(phone, site_url):
    page = phone
    page.goto(f"{site_url}stay-safe/")
    field = page.get_by_role("searchbox", name="Find a symptom")
    field.focus()
    page.keyboard.type("key not detected")
    expect(page.locator(".head-find .choices a").first).to_be_visible()
    page.keyboard.press("Escape")
    expect(field).to_have_value("")
    expect(page.locator(".head-find .choices")).to_have_count(0)
    page.keyboard.type("starts when I fill up")
    page.keyboard.press("Enter")
    expect(page.get_by_label("Say it in your own words")).to_have_value("starts when I fill up")


def test_a_circumstance_in_the_words_is_offered_to_be_ticked(phone, site_url):
    page = phone
    page.goto(f"{site_url}checker/#q=lights+flicker+after+filling+up")
    box = page.get_by_label("It began after a fill-up").first
    expect(page.locator(".asked")).to_contain_text("You seem to say when it happens")
    page.locator("#offered-after-refuelling").check()
    said(page, "It began after a fill-up")
    expect(box).to_be_checked()


def test_words_that_arrive_while_the_checker_is_open_reach_its_field(phone, site_url):
    page = phone
    page.goto(f"{site_url}checker/")
    expect(page.get_by_label("Say it in your own words")).to_be_visible()
    page.evaluate("location.hash = '#q=traction+light'")
    expect(page.get_by_label("Say it in your own words")).to_have_value("traction light")


def test_without_script_the_field_leads_to_the_list(new_context, site_url):
    context = new_context(viewport=PHONE, java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{site_url}stay-safe/")
    page.get_by_label("Find a symptom").fill("flat")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Symptoms")


def test_a_search_that_cannot_be_fetched_is_said_and_tried_again(new_context, site_url):
    context = new_context(viewport=PHONE, service_workers="block")
    page = context.new_page()
    page.route("**/assets/data/search.json*", lambda route: route.fulfill(status=503, body="no"))
    page.goto(f"{site_url}stay-safe/")
    field = page.get_by_role("searchbox", name="Find a symptom")
    field.fill("flat")
    expect(page.locator(".head-find")).to_contain_text("The search could not be loaded")
    page.unroute("**/assets/data/search.json*")
    field.fill("flat overnight")
    expect(page.locator(".head-find").get_by_role("link", name=TITLE)).to_be_visible()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_serious_in_the_head_with_results(phone, site_url, scheme):
    page = phone
    page.emulate_media(color_scheme=scheme)
    page.goto(f"{site_url}stay-safe/")
    page.get_by_role("searchbox", name="Find a symptom").fill("flat overnight")
    expect(page.locator(".head-find .choices a").first).to_be_visible()
    assert serious(page) == []
    heights = page.evaluate(
        "[...document.querySelectorAll('.head-find :is(a, input)')].map((one) => one.offsetHeight)"
    )
    assert min(heights) >= 44


def test_search_texts_hold_no_more_than_what_is_found_by(site_url):
    with urlopen(f"{site_url}assets/data/search.json") as answer:
        document = json.load(answer)
    assert document.keys() == {"texts", "synonyms"}
    told = {"title", "says", "family", "about"}
    assert all(one.keys() - {"first"} == told for one in document["texts"].values())
    assert re.fullmatch(r"[a-z0-9-]+", next(iter(document["texts"])))
