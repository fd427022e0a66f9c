"""What is kept on the device: whole or not at all, by several tabs together, and never lost unasked.

The oracle is the storage standard (a browser gives each origin one store, shared by its tabs, and
refuses what does not fit) and the reader's right to what they typed.
"""

import json

import pytest
from playwright.sync_api import expect

from build_tools.knowledge.link_words import link_document
from tests.browser.phone import (
    FLAT,
    FLAT_TITLE,
    RESTING,
    first_step,
    heading,
    kept,
    knowledge,
    nothing_said,
    open_check,
    open_facts,
    open_link,
    open_phone,
    read_voltage,
    said,
)

READINESS = "before-parts-readiness"
FILL = """() => {
  for (let size = 1 << 22; size >= 1; size = size >> 1) {
    try {
      while (true) localStorage.setItem(`filler-${size}-${localStorage.length}`, "x".repeat(size));
    } catch { /* smaller pieces fill the rest */ }
  }
}"""
# The first control module has all complete; a second one, named last, has nothing complete.
COMPLETE, SECOND = "7E8 06 41 01 00 07 65 00", "7E9 06 41 01 00 07 65 65"


def state(page):
    return json.loads(kept(page))["state"]


def notice(page):
    return page.locator("[data-overtaken]")


def start(page, site_url):
    open_link(page, site_url, f"#s={FLAT}")
    first_step(page)
    open_check(page, RESTING)


def open_readiness(page, site_url):
    page.goto("about:blank")
    page.goto(f"{site_url}readiness/")
    expect(page.get_by_role("heading", name="Read the monitors")).to_be_visible()
    page.locator("#way-text").check()


def told(page):
    return page.evaluate("(key) => JSON.parse(localStorage.getItem(key)).told", READINESS)


def read_text(page, text):
    page.get_by_label("What the reader shows").fill(text)
    page.locator('[data-read="text"]').tap()
    expect(page.locator("#found-title")).to_be_focused()


# -- several tabs ----------------------------------------------------------------------------


def test_half_typed_reading_outlives_what_another_tab_did(phone, site_url):
    start(phone, site_url)
    phone.get_by_label("What the meter shows").fill("12.")
    other = phone.context.new_page()
    open_link(other, site_url, "#s=lights-dim-or-flicker")
    expect(notice(phone)).to_contain_text("changed in another tab")
    expect(phone.get_by_label("What the meter shows")).to_have_value("12.")
    # Nothing of it was taken over, and nothing of it is written over.
    phone.get_by_text("Your case:").tap()
    expect(phone.get_by_text("Your case:")).to_contain_text(f"{FLAT_TITLE}, ")
    assert state(phone)["chosen"] == [FLAT, "lights-dim-or-flicker"]
    notice(phone).get_by_role("button", name="Show it").tap()
    expect(notice(phone)).to_have_count(0)
    said(phone, "Lights dim or flicker")


def test_keep_mine_keeps_mine_and_tells_the_other_tab(phone, site_url):
    start(phone, site_url)
    other = phone.context.new_page()
    open_link(other, site_url, "#s=lights-dim-or-flicker")
    expect(notice(phone)).to_be_visible()
    read_voltage(phone, "12.1")
    expect(phone.locator(".case-foot")).to_contain_text("not kept yet")
    assert state(phone)["readings"] == {}
    notice(phone).get_by_role("button", name="Keep mine").tap()
    expect(phone.locator(".case-foot")).to_contain_text("Kept only in this browser")
    assert state(phone)["chosen"] == [FLAT]
    assert state(phone)["readings"][RESTING]["value"] == 12.1
    expect(notice(other)).to_be_visible()


def test_start_over_asks_can_be_undone_and_empties_no_other_tab(phone, site_url):
    start(phone, site_url)
    read_voltage(phone, "12.1")
    other = phone.context.new_page()
    open_link(other, site_url, "")
    expect(other.locator(".latest h2")).to_contain_text("12.1 V")
    phone.get_by_role("button", name="Start over").tap()
    phone.get_by_role("button", name="No, keep it").tap()
    expect(phone.locator(".latest h2")).to_contain_text("12.1 V")
    phone.get_by_role("button", name="Start over").tap()
    phone.get_by_role("button", name="Yes, forget it").tap()
    nothing_said(phone)
    assert kept(phone) is None
    expect(notice(other)).to_contain_text("forgotten in another tab")
    expect(other.locator(".latest h2")).to_contain_text("12.1 V")
    phone.get_by_role("button", name="Undo the last change").tap()
    expect(phone.locator(".latest h2")).to_contain_text("12.1 V")
    assert state(phone)["readings"][RESTING]["value"] == 12.1


def test_what_was_forgotten_does_not_come_back_with_the_next_case(phone, site_url):
    start(phone, site_url)
    read_voltage(phone, "12.1")
    phone.get_by_role("button", name="Start over").tap()
    phone.get_by_role("button", name="Yes, forget it").tap()
    phone.locator('[data-keep="family-charging-and-battery"] > summary').tap()
    phone.locator("#family-flat-overnight").check()
    assert "12.1" not in kept(phone)


def test_two_readiness_tabs_never_write_over_each_other(phone, site_url):
    open_readiness(phone, site_url)
    phone.get_by_label("Model year").fill("2012")
    phone.get_by_label("Model year").blur()
    other = phone.context.new_page()
    open_readiness(other, site_url)
    expect(notice(phone)).to_have_count(0)
    phone.get_by_label("What the reader shows").fill("7E8 06 41")
    other.get_by_label("Model year").fill("2008")
    other.get_by_label("Model year").blur()
    expect(notice(phone)).to_be_visible()
    phone.get_by_label("Fuel", exact=True).select_option("diesel")
    expect(phone.locator(".case-foot")).to_contain_text("not kept yet")
    assert told(phone) == {"year": "2008"}
    notice(phone).get_by_role("button", name="Show it").tap()
    expect(phone.get_by_label("Model year")).to_have_value("2008")
    expect(phone.get_by_label("Fuel", exact=True)).to_have_value("")
    expect(phone.get_by_label("What the reader shows")).to_have_value("7E8 06 41")
    phone.get_by_label("Fuel", exact=True).select_option("gasoline")
    expect(notice(other)).to_be_visible()
    notice(other).get_by_role("button", name="Keep mine").tap()
    assert told(phone) == {"year": "2008"}


def test_reading_another_tab_entered_meanwhile_is_named_before_it_is_replaced(phone, site_url):
    phone.goto(f"{site_url}readings/#resting-voltage")
    phone.locator("#entry-value").fill("12.5")
    phone.get_by_role("button", name="Show what it means").tap()
    expect(phone.locator(".answer h2").first).to_be_focused()
    other = phone.context.new_page()
    start(other, site_url)
    read_voltage(other, "12.1")
    use = phone.get_by_role("button", name="Use this in my check")
    use.tap()
    expect(phone.locator(".use [role=status]")).to_contain_text("takes the place of 12.1 V")
    assert state(phone)["readings"][RESTING]["value"] == 12.1
    use.tap()
    expect(phone.locator(".latest h2")).to_contain_text("12.5 V")


def test_forgetting_the_readiness_page_asks_and_can_be_undone(phone, site_url):
    open_readiness(phone, site_url)
    read_text(phone, COMPLETE)
    phone.get_by_label("Model year").fill("2012")
    phone.get_by_role("button", name="Forget all this on this device").tap()
    phone.get_by_role("button", name="Yes, forget it").tap()
    expect(phone.get_by_label("Model year")).to_have_value("")
    assert phone.evaluate("localStorage.length") == 0
    phone.get_by_role("button", name="Bring back what was forgotten").tap()
    expect(phone.get_by_label("Model year")).to_have_value("2012")
    expect(phone.get_by_label("What the reader shows")).to_have_value(COMPLETE)
    assert told(phone)["year"] == "2012"


# -- drawn anew, loaded anew -------------------------------------------------------------------


def test_half_typed_fields_outlive_a_reload(phone, site_url):
    """A newer edition reloads the page; the half-typed number is still there afterwards."""
    start(phone, site_url)
    phone.get_by_label("What the meter shows").fill("12.")
    phone.reload()
    expect(phone.get_by_label("What the meter shows")).to_have_value("12.")
    phone.goto(f"{site_url}readings/#resting-voltage")
    phone.locator("#entry-value").fill("11.")
    phone.reload()
    expect(phone.locator("#entry-value")).to_have_value("11.")
    open_readiness(phone, site_url)
    phone.get_by_label("What the reader shows").fill("7E8 06 41")
    phone.reload()
    expect(phone.get_by_label("What the reader shows")).to_have_value("7E8 06 41")


def test_a_draft_never_stands_in_the_form_of_another_check(phone, site_url):
    start(phone, site_url)
    phone.get_by_label("What the meter shows").fill("12.")
    open_check(phone, "measure-charging-voltage")
    expect(phone.get_by_label("What the meter shows")).to_have_value("")


def test_typed_facts_outlive_another_part_drawn_anew(phone, site_url):
    open_link(phone, site_url, f"#s={FLAT}")
    first_step(phone)
    phone.get_by_text("Your case:").tap()
    open_facts(phone)
    phone.locator("#case-battery-age").select_option("over-5-years")
    phone.locator("#case-temperature").fill("ten")
    phone.locator("#case-temperature").press("Tab")
    phone.locator('[data-keep="tools-case"] > summary').tap()
    phone.get_by_role("button", name="Save the tools").tap()
    expect(phone.locator("#case-battery-age")).to_have_value("over-5-years")
    expect(phone.locator("#case-temperature")).to_have_value("ten")
    phone.reload()
    assert state(phone)["context"] == {"battery-age": "over-5-years"}


# -- whole, or not at all ----------------------------------------------------------------------


def test_long_readout_says_the_same_after_a_reload(phone, site_url):
    open_readiness(phone, site_url)
    text = "\n".join([*[COMPLETE] * 1200, SECOND])
    assert len(text) > 20_000
    read_text(phone, text)
    title = phone.locator("#found-title").inner_text()
    assert "are complete" not in title or "are not" in title
    phone.reload()
    expect(phone.locator("#found-title")).to_have_text(title)


def test_what_is_too_long_to_keep_is_not_kept_and_said(phone, site_url):
    open_readiness(phone, site_url)
    read_text(phone, COMPLETE)
    long = "\n".join([COMPLETE] * 16_000)
    phone.get_by_label("What the reader shows").evaluate(
        "(field, text) => { field.value = text; }", long
    )
    phone.get_by_role("button", name="Read the monitors").tap()
    expect(phone.locator(".case-foot")).to_contain_text("too long to be kept")
    assert phone.evaluate("localStorage.length") == 0
    phone.reload()
    expect(phone.get_by_label("What the reader shows")).to_have_value("")


def test_full_storage_brings_no_older_case_back_as_kept(phone, site_url):
    phone.goto(f"{site_url}stay-safe/")
    older = json.dumps({"state": {"chosen": [FLAT]}})
    phone.evaluate("(text) => localStorage.setItem('before-parts-case', text)", older)
    phone.evaluate(FILL)
    phone.goto(f"{site_url}checker/")
    phone.locator('[data-keep="when"] > summary').tap()
    phone.locator("#when-after-days-parked").check()
    expect(phone.locator(".case-foot")).to_contain_text("It is gone when you close the page.")
    phone.reload()
    nothing_said(phone)


# -- names of former editions ------------------------------------------------------------------


@pytest.mark.parametrize("where", ["checker", "readings"])
def test_renamed_ids_in_a_kept_case_follow_redirects(new_context, site_url, where):
    # The route below stands for an edition that renamed ids; a service worker would answer past it.
    page, _, _ = open_phone(new_context, service_workers="block")
    catalogue, _, _ = knowledge()
    former = {
        "old-flat": FLAT,
        "old-resting": RESTING,
        "old-type": "battery-type",
        "old-lamp": {"retired": "it meant two things"},
    }
    words = {**json.loads(json.dumps(link_document(catalogue))), "redirects": former}
    page.route("**/link-words.json*", lambda route: route.fulfill(json=words))
    case = {
        "view": "check",
        "chosen": ["old-flat"],
        "readings": {"old-resting": {"value": 12.1, "unit": "V", "old-type": "agm"}},
        "context": {"old-type": "agm"},
        "absent": ["old-lamp"],
        "latest": "old-resting",
    }
    page.goto(f"{site_url}stay-safe/")
    page.evaluate(
        "(text) => localStorage.setItem('before-parts-case', text)", json.dumps({"state": case})
    )
    if where == "readings":
        page.goto(f"{site_url}readings/#charger-voltage")
        expect(page.locator("#entry-battery-type")).to_have_value("agm")
        return
    page.goto(f"{site_url}checker/")
    expect(page.locator(".latest h2")).to_contain_text("12.1 V")
    expect(page.get_by_text("Your case:")).to_contain_text(FLAT_TITLE)
    told_of = page.get_by_role("status").filter(has_text="older edition")
    expect(told_of).to_contain_text(f"“old-flat” is now called “{FLAT_TITLE}”.")
    expect(told_of).to_contain_text("“old-lamp” is no longer used: it meant two things.")
    expect(heading(page)).to_be_visible()
