"""For everyone: every kind of page and every state of the checker, light and dark.

axe-core judges the rules of WCAG 2.2; widths and targets are measured in Chromium. 320 px is the
width of success criterion 1.4.10, 200 % the text of 1.4.4, 44 px the target of 2.5.5.
"""

import json

import pytest
from playwright.sync_api import expect

from tests.browser.access import CUT_OFF, TOO_SMALL, TOO_WIDE, WCAG
from tests.browser.phone import (
    FLAT,
    RESTING,
    SENT,
    enter_reading,
    first_step,
    heading,
    knowledge,
    link,
    link_from_panel,
    open_all,
    open_check,
    open_link,
    open_repair,
    read_voltage,
    violations,
)
from tests.browser.test_keeping import FILL
from tests.sweeps import SWEEP, drawn

# What of axe-core's rules the colors decide; the others find the same in the dark.
COLORS = ["color-contrast", "link-in-text-block"]
NARROW = {"width": 320, "height": 640}
PAGES = [
    "", "families/monitors-and-inspection/", "symptoms/", "symptoms/red-charging-lamp/",
    "symptoms/after-days-parked/", "causes/battery-worn-out/", "checks/",
    "checks/load-test-battery/", "checks/measure-resting-voltage/", "gauges/resting-voltage/", "sums/charge-from-voltage/", "sources/",
    "sources/tm-5-4210-load-table/", "monitors/", "monitors/evaporative-system/", "inspections/",
    "inspections/us-ca/", "readings/", "answer/", "cases/", "logs/", "readiness/", "trips/", "teach/",
    "teach/red-charging-lamp/", "teach/find-the-fault/", "how-well/", "guide/", "guide/for-people-who-answer/",
    "glossary/", "offline/", "404.html", "stay-safe/", "changelog/", "decisions/", "decisions/0001-exact-inference/", "maintain/",
    "maintain/lint-rules/",
]  # fmt: skip


def set_text(page, percent):
    page.evaluate("(size) => { document.documentElement.style.fontSize = size; }", percent)


def judge(page, rules=WCAG, *, magnified=False):
    """Return everything that stands in somebody's way here, by the rule it breaks.

    With `magnified`, the rules are judged at 320 px and at 200 % text too.
    """
    found = {}
    page.emulate_media(color_scheme="dark", reduced_motion="reduce")
    found["axe, dark"] = violations(page, runOnly={"type": "rule", "values": COLORS})
    page.emulate_media(color_scheme="light", reduced_motion="reduce")
    found["axe, light"] = violations(page, runOnly=rules)
    found["small targets"] = page.evaluate(TOO_SMALL)
    page.set_viewport_size(NARROW)
    found["wide at 320"] = page.evaluate(TOO_WIDE)
    if magnified:
        found["axe at 320"] = violations(page, runOnly=rules)
    page.set_viewport_size({"width": 1280, "height": 800})
    set_text(page, "200%")
    found["wide at 200 %"] = page.evaluate(TOO_WIDE)
    found["cut off at 200 %"] = page.evaluate(CUT_OFF)
    page.set_viewport_size({"width": 360, "height": 740})
    found["wide on a phone at 200 %"] = page.evaluate(TOO_WIDE)
    if magnified:
        found["axe at 200 %"] = violations(page, runOnly=rules)
    set_text(page, "")
    return {rule: rows for rule, rows in found.items() if rows}


@pytest.mark.parametrize("address", PAGES)
def test_every_kind_of_page_stands_in_nobodys_way(phone, site_url, address):
    phone.goto(site_url + address)
    phone.wait_for_load_state("networkidle")
    assert judge(phone) == {}


@SWEEP
def test_pages_obey_the_rules_narrow_and_magnified(phone, site_url, share):
    for address in drawn(PAGES, share):
        phone.goto(site_url + address)
        phone.wait_for_load_state("networkidle")
        assert judge(phone, magnified=True) == {}, address


# -- every state of the checker ------------------------------------------------------------


def picker(page, site_url):
    open_link(page, site_url, "")
    page.get_by_label("Say it in your own words").fill("lights flicker after filling up")
    expect(page.locator("#hits li")).not_to_have_count(0)


def say(page, site_url):
    open_link(page, site_url, "#s=many-lamps-at-once,no-such-thing")
    page.get_by_role("button", name="No, it goes off").tap()
    expect(page.locator("#unknown")).to_contain_text("no-such-thing")
    page.get_by_role("button", name="Change what you said").tap()
    expect(page.get_by_label("Not so: Red battery light")).to_be_visible()


def check(page, site_url):
    open_link(page, site_url, f"#s={FLAT}")
    first_step(page)
    expect(page.locator("#check-title")).to_be_visible()


def slip(page, site_url):
    check(page, site_url)
    open_check(page, RESTING)
    enter_reading(page, "1.21")
    expect(page.get_by_role("heading", name="Did you mean 12.1 V?")).to_be_visible()


def result(page, site_url):
    check(page, site_url)
    read_voltage(page, "12.1")


def repair(page, site_url):
    open_repair(page, site_url)
    page.get_by_role("button", name="I have not done it yet").tap()
    expect(page.locator("#repair-title")).to_be_visible()


def ended(page, site_url):
    open_repair(page, site_url)
    page.get_by_role("button", name="Yes, it is gone").tap()
    expect(page.locator("#ended-title")).to_be_visible()


def mended(page, site_url):
    open_repair(page, site_url)
    page.get_by_role("button", name="No, it is still there").tap()
    expect(page.locator(".repair")).to_have_count(0)


def stop(page, site_url):
    open_link(page, site_url, "#s=red-charging-lamp")
    first_step(page)
    expect(page.get_by_role("heading", name="Stop now")).to_be_visible()


def stuck(page, site_url):
    # More symptoms at once than an exact answer can be given on.
    _, compiled, _ = knowledge()
    open_link(page, site_url, f"#s={','.join(list(compiled['symptoms'])[:40])}")
    first_step(page)
    expect(heading(page)).to_have_text("This is too much to answer at once")


def link_summary(page, site_url):
    open_link(page, site_url, link({**SENT, "symptoms": [FLAT, "red-charging-lamp"]}))
    link_from_panel(page)


def link_older(page, site_url):
    open_link(page, site_url, f"#s={FLAT}")
    open_link(page, site_url, link({**SENT, "symptoms": [FLAT, "a-symptom-of-old"]}, "0" * 12))
    expect(page.locator("#link-changes")).to_be_visible()
    page.evaluate(FILL)
    page.get_by_role("button", name="Use it here").tap()
    expect(page.locator("#replace-title")).to_be_focused()


def link_broken(page, site_url):
    open_link(page, site_url, link(SENT)[:30])
    expect(heading(page)).to_have_text("This link cannot be opened")


def share(page, site_url):
    open_link(page, site_url, link(SENT))
    page.get_by_role("button", name="Answer with changes").tap()
    read_voltage(page, "12.7")
    link_from_panel(page)
    page.get_by_role("button", name="Copy link").tap()
    expect(page.get_by_text("The link is copied.")).to_be_visible()


def measured_only(page, site_url):
    state = {"view": "say", "readings": {RESTING: {"value": 12.1, "unit": "V"}}}
    page.goto(f"{site_url}stay-safe/")
    page.evaluate(
        "(kept) => localStorage.setItem('before-parts-case', kept)", json.dumps({"state": state})
    )
    open_link(page, site_url, "")
    expect(page.locator("#measured")).to_be_visible()


STATES = [
    picker, say, check, slip, result, repair, ended, mended, stop, stuck, link_summary,
    link_older, link_broken, share, measured_only,
]  # fmt: skip


@pytest.mark.parametrize("state", STATES, ids=lambda state: state.__name__)
def test_every_state_of_the_checker_stands_in_nobodys_way(phone, site_url, state):
    state(phone, site_url)
    # Everything folded is opened, so that it is judged too.
    open_all(phone)
    expect(phone.get_by_text("Making the link.")).to_have_count(0)
    assert judge(phone, [*WCAG, "best-practice"]) == {}


# -- order and voice -----------------------------------------------------------------------

TAB_STOPS = """() => {
  const seen = [...document.querySelectorAll("#checker :is(a, button, input, select, textarea, summary)")]
    .filter((each) => each.checkVisibility() && !each.disabled);
  return seen.map((each) => (each.getAttribute("aria-label") ?? each.labels?.[0]?.textContent
    ?? each.textContent).trim());
}"""


def tabbed(page, count):
    """Press Tab so many times and return the names of what had the focus, in that order."""
    names = []
    for _ in range(count):
        page.keyboard.press("Tab")
        names.append(
            page.evaluate("""() => { const at = document.activeElement;
              return (at.getAttribute("aria-label") ?? at.labels?.[0]?.textContent ?? at.textContent).trim(); }""")
        )
    return names


def test_keys_go_through_a_link_in_the_order_it_is_read(phone, site_url):
    open_link(phone, site_url, link(SENT))
    heading(phone).focus()
    assert tabbed(phone, 4) == [
        "Use it here",
        "Answer with changes",
        "Leave it",
        "Copy it as text, or pass it on",
    ]
    phone.keyboard.press("Enter")
    expect(phone.get_by_label("Link to this case")).to_have_value(link_value(phone))
    assert tabbed(phone, 2) == ["Link to this case", "Copy link"]
    phone.keyboard.press("Enter")
    said = phone.locator(".share [role=status]")
    expect(said).to_have_text("The link is copied.")


def link_value(page):
    return page.url.split("#")[0] + link(SENT)


@pytest.mark.parametrize("state", [say, check, result, share], ids=lambda state: state.__name__)
def test_keys_reach_every_control_in_the_order_of_the_page(phone, site_url, state):
    state(phone, site_url)
    named = phone.evaluate(TAB_STOPS)
    assert len(named) == len([name for name in named if name])
    assert phone.locator("#checker [tabindex]:not([tabindex='-1'])").count() == 0
    # Radio buttons of one question are one stop; the rest stand in the order of the document.
    tops = phone.evaluate(
        """() => [...document.querySelectorAll("#checker :is(button, summary)")]
          .filter((each) => each.checkVisibility() && !each.closest(".bar"))
          .map((each) => each.getBoundingClientRect().top)"""
    )
    assert tops == sorted(tops)


def test_the_live_region_says_what_changed(phone, site_url):
    open_link(phone, site_url, f"#s={FLAT}")
    aloud = phone.locator("#said-aloud")
    assert aloud.get_attribute("aria-live") == "polite"
    phone.get_by_role("button", name="Change what you said").tap()
    phone.locator('[data-keep="when"] > summary').tap()
    phone.locator("#when-after-days-parked").check()
    expect(aloud).to_have_text("Added: It happens after days parked.")
    first_step(phone)
    expect(aloud).to_contain_text("Most likely so far")
    before = aloud.inner_text()
    read_voltage(phone, "12.1")
    expect(aloud).not_to_have_text(before)
    expect(aloud).to_contain_text("Most likely so far")
    phone.get_by_role("button", name="Undo the last change").tap()
    expect(aloud).to_have_text("The last change is undone.")
    expect(heading(phone)).to_be_focused()
    phone.get_by_role("button", name="Start over").tap()
    phone.get_by_role("button", name="Yes, forget it").tap()
    expect(aloud).to_have_text("The case is forgotten on this device.")
    expect(heading(phone)).to_be_focused()


def test_the_head_of_every_page_can_be_skipped(phone, site_url):
    phone.goto(site_url)
    phone.keyboard.press("Tab")
    assert phone.evaluate("document.activeElement.textContent") == "Skip to the text"
    phone.keyboard.press("Enter")
    phone.keyboard.press("Tab")
    assert phone.evaluate("document.activeElement.closest('main, article') !== null")
