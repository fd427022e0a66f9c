"""The whole way on a phone: found, checked, kept, offline, sent, answered, and back.

A real worker, a real server that is stopped, and two phones. The oracle is what the reader sees
and that nothing is said to the console, asked of another host, or refused by the page's policy.
"""

import json
import re

import pytest
from playwright.sync_api import expect

from tests.browser.phone import (
    FLAT,
    FLAT_TITLE,
    RESTING,
    bars,
    first_step,
    link_from_panel,
    open_link,
    open_phone,
    outside,
    read_voltage,
    standing,
    twist_clamps,
)
from tests.browser.test_offline import KEPT, Host

# A mobile line of two bars: the rates of a common testing profile (150 ms, 1.6 and 0.75 Mbit/s),
# a common practice and no norm.
SLOW = {"latency": 150, "downloadThroughput": 200_000, "uploadThroughput": 93_750}
LINES = {"plain": None, "slow": SLOW}


@pytest.fixture
def served(built_site):
    host = Host(built_site)
    yield host
    host.stop()


def throttle(page, line):
    if line is not None:
        session = page.context.new_cdp_session(page)
        session.send("Network.enable")
        session.send("Network.emulateNetworkConditions", {"offline": False, **line})


def find_and_start(page, address):
    """Go from the owner's words to the first advice."""
    page.goto(address)
    page.get_by_label("Say it in your own words").fill("dead every morning")
    page.get_by_role("link", name=FLAT_TITLE).first.tap()
    first_step(page)
    expect(standing(page)).to_be_visible()


def answer_elsewhere(phone, address, sent):
    """Read the case on another phone, add to it, see the advice change; return the link back."""
    open_link(phone, address, sent)
    expect(phone.locator(".link-view")).to_contain_text("12.1\u00a0V")
    expect(phone.locator(".link-view")).to_contain_text("Next check")
    phone.get_by_role("button", name="Answer with changes").tap()
    before = bars(phone)
    assert "Battery clamp" not in before[0]
    twist_clamps(phone, "Turns by hand")
    changed = phone.get_by_role("region", name="What you changed since the link")
    expect(changed).to_contain_text("Changed: Try to twist the battery clamps: turns by hand")
    # A clamp that turns by hand is loose, whatever else is wrong: any workshop manual says so.
    assert bars(phone)[0].startswith("Battery clamp loose or dirty")
    return link_from_panel(phone)


@pytest.mark.parametrize("line", LINES)
def test_journey_from_words_to_changed_advice(new_context, served, line):
    page, heard, asked = open_phone(new_context)
    throttle(page, LINES[line])
    find_and_start(page, served.address)
    first = bars(page)
    read_voltage(page, "12.1")
    assert bars(page) != first
    shown = bars(page)

    page.reload()
    expect(page.locator(".latest h2")).to_contain_text("12.1 V")
    assert bars(page) == shown

    # The site is on the device now, and the network goes: reload, a page never seen, a result.
    expect(page.locator("[data-edition]")).to_have_text(KEPT)
    served.stop()
    page.reload()
    expect(page.locator(".latest h2")).to_contain_text("12.1 V")
    assert bars(page) == shown
    page.goto(f"{served.address}checks/measure-cranking-voltage/")
    expect(page.get_by_role("heading", level=1)).to_contain_text("while cranking")
    page.goto(f"{served.address}checker/")
    twist_clamps(page, re.compile("^Tight and clean"))
    expect(page.locator(".latest h2")).to_contain_text("Try to twist the battery clamps")
    sent = link_from_panel(page)
    served.start()

    other, heard_there, asked_there = open_phone(new_context)
    throttle(other, LINES[line])
    back = answer_elsewhere(other, served.address, sent)

    open_link(page, served.address, back)
    expect(page.locator("#against-mine")).to_contain_text(
        "Changed: Try to twist the battery clamps: turns by hand"
    )
    page.get_by_role("button", name="Use it here").tap()
    expect(standing(page)).to_be_visible()
    assert bars(page) == bars(other)
    assert (heard, heard_there) == ([], [])
    assert outside(asked + asked_there, served.address) == []
    assert len(asked) > 50


# Words of ours in sight on what a reader must read to go on: a question and its answers.
WORDS = """($part) => ($part.innerText.match(/[^\\s]*[A-Za-z0-9][^\\s]*/g) ?? []).length"""


@pytest.mark.parametrize(
    ("words", "answer"),
    [
        ("dead every morning", ""),
        ("slow to start when cold", ""),
        ("airbag light on", ""),
        ("one click and won't start", "Not sure"),
        ("flat overnight", "Not sure"),
    ],
)
def test_first_step_is_four_taps_and_few_words_away(new_context, site_url, words, answer):
    page, _, _ = open_phone(new_context)
    page.goto(site_url)
    page.get_by_label("Say it in your own words").fill(words)
    hit = page.locator(".ask__found a").first
    expect(hit).to_be_visible()
    taps, read = 1, page.locator(".ask label").evaluate(WORDS) + hit.evaluate(WORDS)
    hit.tap()
    step = page.locator(".check-view")
    question = page.locator(".say")
    expect(step.or_(question).first).to_be_visible()
    while question.is_visible():
        heading = page.locator("[data-main-heading]").inner_text()
        read += page.locator(".say > h2").evaluate(WORDS)
        read += page.locator(".say > .choices").evaluate(WORDS)
        answers = page.locator(".say > .choices button")
        said = answers.filter(has_text=answer) if answer else answers.nth(1)
        (said.first if said.count() else answers.nth(1)).tap()
        taps += 1
        expect(page.locator("[data-main-heading]")).not_to_have_text(heading)
    assert taps <= 4
    assert read <= 120


def test_reading_made_again_stands_on_one_scale_with_the_one_before(new_context, site_url):
    page, _, _ = open_phone(new_context)
    found = {"kind": "found", "id": RESTING, "unit": "V"}
    record = {
        "state": {
            "view": "check",
            "chosen": [FLAT],
            "readings": {RESTING: {"value": 12.6, "unit": "V"}},
            "latest": RESTING,
        },
        "past": [],
        "sheet": {
            "id": "abcdefgh2345",
            "log": [
                {**found, "at": "2026-11-20T10:00:00.000Z", "value": 11.9},
                {**found, "at": "2026-11-28T10:00:00.000Z", "value": 12.6},
            ],
        },
    }
    page.goto(f"{site_url}404.html")
    page.evaluate("(text) => localStorage.setItem('before-parts-case', text)", json.dumps(record))
    page.goto(f"{site_url}checker/")
    scale = page.locator(".latest .scale svg")
    expect(scale).to_have_attribute(
        "aria-label", re.compile(r"12\.6.V on its scale\. before: 11\.9")
    )
    now, before = (
        page.locator(f".latest .scale__{part}").bounding_box() for part in ("tip", "former")
    )
    # Less charge stands to the left.
    assert before["x"] < now["x"]


def test_what_the_policy_refuses_is_heard(new_context, served):
    """Nothing heard above would mean little if a refusal could not be heard."""
    page, heard, _ = open_phone(new_context)
    page.goto(f"{served.address}stay-safe/")
    # The refusal is told before the picture's own failure.
    page.evaluate("""() => new Promise((done) => {
      const image = document.createElement("img");
      image.onerror = done;
      image.src = "https://example.org/picture.png";
      document.body.append(image);
    })""")
    assert any(line.startswith("error: policy: img-src") for line in heard)
