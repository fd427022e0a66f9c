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
    phone.goto(site_url + address)
    field = phone.get_by_role("searchbox", name="Find a symptom")
    expect(field).to_have_count(1)
    field.tap()
    field.press_sequentially("battery drains over night")
    link = phone.locator(".head-find").get_by_role("link", name=TITLE)
    expect(link).to_be_visible()
    assert phone.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    link.tap()
    expect(phone.get_by_role("heading", level=1)).to_have_text(TITLE)


def test_home_page_and_checker_have_one_large_field(phone, site_url):
    phone.goto(site_url)
    expect(phone.get_by_role("searchbox")).to_have_count(1)
    expect(phone.get_by_label("Say it in your own words")).to_be_visible()
    phone.goto(f"{site_url}checker/")
    expect(phone.get_by_label("Say it in your own words")).to_be_visible()
    expect(phone.get_by_role("searchbox")).to_have_count(1)


def test_texts_and_library_are_fetched_at_the_first_touch_only(phone, site_url):
    asked = []
    # Another worker of the page may fetch what it keeps for offline use; this counts the page's own.
    phone.on(
        "request", lambda one: asked.append(one.url) if one.frame == phone.main_frame else None
    )
    phone.goto(f"{site_url}stay-safe/")
    phone.wait_for_load_state("networkidle")
    wanted = re.compile(r"/(data/search\.json\?v=|app/(lunr|search)-)")
    assert [url for url in asked if wanted.search(url)] == []
    phone.get_by_role("searchbox", name="Find a symptom").focus()
    phone.wait_for_function(
        "() => performance.getEntriesByType('resource').some((one) => one.name.includes('data/search.json'))"
    )
    assert len([url for url in asked if "data/search.json" in url]) == 1


def test_words_that_fit_nothing_lead_to_the_kinds(phone, site_url):
    phone.goto(f"{site_url}stay-safe/")
    field = phone.get_by_role("searchbox", name="Find a symptom")
    field.fill("banana smoothie recipe")
    found = phone.locator(".head-find")
    expect(found).to_contain_text("Nothing fits these words")
    expect(found.get_by_role("link")).to_have_count(2)
    found.get_by_role("link", name="None of these: choose a category").tap()
    expect(phone.get_by_role("heading", level=1)).to_have_text("Symptoms")


def test_keys_alone_lead_on_and_escape_clears(phone, site_url):
    phone.goto(f"{site_url}stay-safe/")
    field = phone.get_by_role("searchbox", name="Find a symptom")
    field.focus()
    phone.keyboard.type("key not detected")
    expect(phone.locator(".head-find .choices a").first).to_be_visible()
    phone.keyboard.press("Escape")
    expect(field).to_have_value("")
    expect(phone.locator(".head-find .choices")).to_have_count(0)
    phone.keyboard.type("starts when I fill up")
    phone.keyboard.press("Enter")
    expect(phone.get_by_label("Say it in your own words")).to_have_value("starts when I fill up")


def test_a_circumstance_in_the_words_is_offered_to_be_ticked(phone, site_url):
    phone.goto(f"{site_url}checker/#q=lights+flicker+after+filling+up")
    box = phone.get_by_label("It began after a fill-up").first
    expect(phone.locator(".asked")).to_contain_text("You seem to say when it happens")
    phone.locator("#offered-after-refuelling").check()
    said(phone, "It began after a fill-up")
    expect(box).to_be_checked()


def test_words_that_arrive_while_the_checker_is_open_reach_its_field(phone, site_url):
    phone.goto(f"{site_url}checker/")
    expect(phone.get_by_label("Say it in your own words")).to_be_visible()
    phone.evaluate("location.hash = '#q=traction+light'")
    expect(phone.get_by_label("Say it in your own words")).to_have_value("traction light")


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
    phone.emulate_media(color_scheme=scheme)
    phone.goto(f"{site_url}stay-safe/")
    phone.get_by_role("searchbox", name="Find a symptom").fill("flat overnight")
    expect(phone.locator(".head-find .choices a").first).to_be_visible()
    assert serious(phone) == []
    heights = phone.evaluate(
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
