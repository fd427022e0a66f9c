"""A phone in a driveway: opened by the tests, listened to, and led through the checker.

Anything a page says to the console, throws, or is refused by its own policy is heard.
"""

import functools
import re

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import expect

from build_tools.knowledge.link_words import link_document
from tests import shipped
from tests.embedded import call
from tests.shipped import CATALOGUE

# A test waits for what is to be seen, however busy the machine; this only ends a run that hangs.
HANGS = 120_000
PHONE = {"width": 360, "height": 740}
SAVES_DATA = "navigator.connection.__proto__.__defineGetter__('saveData', () => true)"
FLAT = "flat-overnight"
FLAT_TITLE = "Flat overnight or after days parked"
RESTING = "measure-resting-voltage"
SENT = {
    "symptoms": [FLAT],
    "context": {"battery-age": "over-5-years"},
    "readings": {
        RESTING: {"value": 12.1, "unit": "V", "battery-type": "flooded", "meter": "cheap"}
    },
    "outcomes": {"twist-battery-clamps": "tight-and-clean"},
    "not_possible": [],
}
CONFIRMED = {
    **SENT,
    "symptoms": ["works-when-clamp-is-touched"],
    "readings": {},
    "outcomes": {"twist-battery-clamps": "loose"},
}
LISTEN = """document.addEventListener("securitypolicyviolation", ({ violatedDirective, blockedURI }) => {
  console.error(`policy: ${violatedDirective} ${blockedURI}`);
});"""


@functools.cache
def knowledge():
    """Return the catalogue, the knowledge and the words of links as the page loads them."""
    return CATALOGUE, shipped.knowledge(), link_document(CATALOGUE)


def link(document, version=None):
    """Write the fragment that holds a case, as the command does."""
    _, compiled, book = knowledge()
    return call("case/link-document", "linkFor", book, document, version or compiled["version"])


def open_window(new_context, **options):
    """Open a page; return it with the lists of what it says and what it asks for."""
    context = new_context(**options)
    context.set_default_timeout(HANGS)
    page = context.new_page()
    page.add_init_script(LISTEN)
    heard, asked = [], []
    page.on("console", lambda message: heard.append(f"{message.type}: {message.text}"))
    page.on("pageerror", lambda error: heard.append(f"error: {error}"))
    context.on("request", lambda request: asked.append(request.url))
    return page, heard, asked


def open_phone(new_context, **options):
    """Open a page of a phone's size, touched by a finger."""
    return open_window(
        new_context, viewport=PHONE, has_touch=True, is_mobile=True, reduced_motion="reduce",
        permissions=["clipboard-read", "clipboard-write"], **options,
    )  # fmt: skip


def outside(asked, site_url):
    """Return the requests that left the site."""
    return [url for url in asked if not url.startswith((site_url, "data:"))]


def heading(page):
    return page.locator("[data-main-heading]")


def open_link(page, site_url, fragment):
    page.goto("about:blank")
    page.goto(f"{site_url}checker/{fragment}")
    expect(heading(page)).to_be_visible()


def said(page, title):
    """See that a symptom was taken up, whichever question the checker asks about it."""
    expect(page.locator("#checker")).to_contain_text(title)


def nothing_said(page):
    """See the first question with nothing ticked."""
    expect(page.get_by_label("Say it in your own words")).to_be_visible()
    expect(page.locator("#chosen-title")).to_have_count(0)


def first_step(page):
    """Go on to the first step: not sure about any question, every tool at hand."""
    expect(heading(page)).to_be_visible()
    go_on = page.get_by_role("button", name="Go on", exact=True)
    if go_on.is_visible():
        go_on.click()
    expect(page.locator(".say .choices, .check-view")).to_be_visible()
    while page.get_by_role("button", name="Not sure").is_visible():
        page.get_by_role("button", name="Not sure").click()
    if page.get_by_role("button", name="More than that").is_visible():
        page.get_by_role("button", name="More than that").click()
        page.get_by_role("button", name="Save the tools").click()


def kept(page):
    return page.evaluate("localStorage.getItem('before-parts-case')")


def standing(page):
    return page.get_by_role("region", name="What we know so far")


def bars(page):
    """Return the likely causes as shown, each with its odds now, the likeliest first."""
    shown = page.locator(".standing .bars__line").all_inner_texts()
    return [line.split(", was")[0] for line in shown]


def tab_to(page, selector, most=120):
    """Press Tab until an element has the focus; fail when it never gets there."""
    for _ in range(most):
        page.keyboard.press("Tab")
        if page.evaluate("(wanted) => document.activeElement.matches(wanted)", selector):
            return
    pytest.fail(f"Tab never reached {selector}")


def open_check(page, check):
    """Turn to any check by the list of all checks."""
    fold = page.locator('[data-keep="others"]')
    if fold.get_attribute("open") is None:
        fold.locator("summary").tap()
    page.get_by_label("Any check at all").select_option(check)
    page.get_by_role("button", name="Open this check").tap()


def open_all(page):
    """Open everything folded, also what comes into being once its fold is open."""
    unfold = "document.querySelectorAll('details').forEach((each) => { each.open = true; })"
    page.evaluate(unfold)
    expect(page.get_by_text("Looking for the facts")).to_have_count(0)
    page.evaluate(unfold)


def open_facts(page, place="case"):
    """Open the facts about the car: those worth asking, then the others."""
    page.locator(f'[data-keep="facts-{place}"] > summary').tap()
    page.locator(f'[data-keep="facts-others-{place}"] > summary').tap()


def enter_reading(page, value):
    page.get_by_label("What the meter shows").fill(value)
    page.get_by_role("button", name="Use this reading").tap()


def read_voltage(page, value):
    open_check(page, RESTING)
    enter_reading(page, value)
    expect(page.locator(".latest")).to_be_visible()


def twist_clamps(page, label):
    open_check(page, "twist-battery-clamps")
    page.get_by_label(label).check()
    page.get_by_role("button", name="Use this result").tap()


def link_from_panel(page):
    """Open "send" and return the fragment of the link it shows."""
    page.locator('[data-keep="send"] > summary').tap()
    field = page.get_by_label("Link to this case")
    expect(field).to_have_value(re.compile("#c="))
    return "#" + field.input_value().split("#", 1)[1]


def open_repair(page, site_url):
    open_link(page, site_url, link(CONFIRMED))
    page.get_by_role("button", name="Use it here").tap()
    expect(page.locator(".repair .kicker")).to_have_text("What to do")
    page.get_by_role("button", name="This is done").tap()
    expect(page.get_by_role("heading", name="Is the symptom gone?")).to_be_focused()


def violations(page, **options):
    """Return what axe-core finds in somebody's way: rule, gravity and the first places."""
    # Reading the script takes as long as a judgement: a page reads it once.
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE_SCRIPT)
    found = page.evaluate(
        "(options) => axe.run(document, options).then(({ violations }) => violations)",
        {"resultTypes": ["violations"], **options},
    )
    return [
        (one["id"], one["impact"], [node["html"][:120] for node in one["nodes"]][:3])
        for one in found
    ]


def serious(page):
    """Return what axe-core finds seriously in somebody's way."""
    return [one for one in violations(page) if one[1] in {"serious", "critical"}]
