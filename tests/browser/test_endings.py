"""Ways through the checker to their end: gone by itself, repaired in vain, left to a shop.

The oracle is the worry of the reader: what is said agrees with what was answered just before,
and what was taken away by a stop line is offered nowhere.
"""

import re

from playwright.sync_api import expect

from tests.browser.phone import (
    PHONE,
    enter_reading,
    first_step,
    heading,
    open_check,
    open_link,
    standing,
)


def use_result(page, label):
    page.get_by_label(label, exact=True).check()
    page.get_by_role("button", name="Use this result").tap()


def test_trouble_that_is_gone_ends_in_watching_the_car(phone, site_url):
    open_link(phone, site_url, "#s=cranks-but-will-not-start")
    first_step(phone)
    phone.locator('[data-keep="case"] > summary').tap()
    phone.get_by_role("button", name="It\u2019s gone: Cranks well but will not start").tap()
    expect(phone.get_by_role("heading", name="Watch the car")).to_be_focused()
    expect(phone.locator('[data-keep="case"] > summary')).to_contain_text("nothing wrong now")


def test_checks_that_come_again_after_a_repair_in_vain_say_why(phone, site_url):
    open_link(phone, site_url, "#s=locked-out-with-flat-battery")
    first_step(phone)
    open_check(phone, "open-with-key-blade")
    use_result(phone, "Dark or very dim")
    phone.get_by_role("button", name="This is done").tap()
    phone.get_by_role("button", name="No, it is still there").tap()
    expect(heading(phone)).to_be_focused()
    expect(phone.locator(".check-view > .before")).to_contain_text("some checks come again")


def test_swollen_battery_ends_at_a_shop_and_no_check_touches_it(phone, site_url):
    open_link(phone, site_url, "#s=battery-swollen-or-frozen")
    first_step(phone)
    expect(heading(phone)).to_have_text("This one is for a shop")
    phone.locator('[data-keep="others"] > summary').tap()
    for check in ("Look at the battery", "Load-test the battery"):
        expect(phone.locator('[data-keep="others"]')).to_contain_text(f"Not now: {check}")
    expect(phone.get_by_role("button", name=re.compile("Do this one instead"))).to_have_count(0)


def test_battery_tested_good_in_percent_is_not_called_unchecked(phone, site_url):
    open_link(phone, site_url, "#s=many-lamps-at-once")
    first_step(phone)
    open_check(phone, "ask-for-battery-test")
    enter_reading(phone, "92")
    expect(phone.locator(".latest .verdict")).to_contain_text(
        re.compile("^92% reads “80 to 99 percent”")
    )
    expect(standing(phone).locator(".supply-state")).not_to_have_text("not checked yet")
    # Large text: the phone's page grows with what is too wide, the screen does not.
    phone.evaluate("document.documentElement.style.fontSize = '200%'")
    assert phone.evaluate("document.documentElement.scrollWidth") == PHONE["width"]


def test_stop_line_that_a_result_brings_is_in_sight(phone, site_url):
    open_link(phone, site_url, "#s=red-charging-lamp")
    first_step(phone)
    open_check(phone, "measure-charging-voltage")
    enter_reading(phone, "12.2")
    expect(phone.locator("#latest-title")).to_be_focused()
    expect(phone.locator("#stop-title")).to_be_in_viewport()


def test_check_a_stop_line_forbids_shows_no_steps_however_it_is_opened(phone, site_url):
    open_link(phone, site_url, "#s=battery-swollen-or-frozen")
    first_step(phone)
    open_check(phone, "charge-battery-fully")
    expect(heading(phone)).to_have_text("Not now: Charge the battery fully")
    expect(phone.locator(".steps")).to_have_count(0)
    expect(phone.get_by_role("button", name="Use this result")).to_be_visible()


def test_log_keeps_what_was_measured_before_a_repair_that_did_not_cure(phone, site_url):
    open_link(phone, site_url, "#s=many-lamps-at-once")
    first_step(phone)
    open_check(phone, "measure-resting-voltage")
    enter_reading(phone, "12.1")
    phone.get_by_role("button", name="This is done").tap()
    phone.get_by_role("button", name="It is better, but not gone").tap()
    phone.get_by_role("link", name="Log and close").tap()
    expect(phone.locator(".log-lines")).to_contain_text("Measure the resting voltage: 12.1 V")
