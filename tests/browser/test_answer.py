"""A stranger's message is pasted, checked and answered, and their answer goes into the same case."""

import re

from playwright.sync_api import expect

from build_tools.cli.link_command import read_link
from tests.browser.phone import FLAT_TITLE, RESTING, heading, link
from tests.shipped import CATALOGUE

MESSAGE = (
    "2012 wagon, 140k miles. It is dead every morning. The meter reads 12.1 with the engine off and "
    "someone said 12.4. Yesterday it was 11.9. The battery is 6 years old. Lights are fine. Paid $90."
)
ANSWER = "Now it reads 12.6 with the engine off, and it cranks slowly when it is cold."


def paste(page, text):
    page.fill("#pasted", text)
    page.get_by_role("button", name="Read it").click()


def use(page, title):
    page.get_by_role("button", name=f"Use: {title}", exact=True).click()


def reply(page):
    return page.locator("#reply-short").input_value()


def test_from_a_message_to_a_reply_and_back(phone, site_url):
    phone.goto(f"{site_url}answer/")
    paste(phone, MESSAGE)
    # All of the message stays to be read, and nothing is used yet.
    assert phone.locator(".message").inner_text().split() == MESSAGE.split()
    expect(phone.locator("#reply-short")).to_have_count(0)
    expect(phone.get_by_role("button", name="Use: 11.9 V", exact=True)).to_be_disabled()
    use(phone, FLAT_TITLE)
    use(phone, "12.1 V")
    first = reply(phone)
    assert 200 < len(first) <= 1000
    assert "Don't buy yet" in first
    assert "#c=" in first
    # What is dropped leaves the case; a choice enters what was not told.
    phone.get_by_role("button", name="Drop: 12.1 V", exact=True).click()
    assert reply(phone) != first
    phone.get_by_label("What “11.9 V” is").select_option(RESTING)
    assert reply(phone) != first
    paste(phone, ANSWER)
    expect(phone.get_by_role("heading", name="What changed")).to_be_visible()
    use(phone, "12.6 V")
    expect(phone.get_by_text("12.6 V, was 11.9 V")).to_be_visible()
    address = phone.get_by_role("link", name="Open in the checker").get_attribute("href")
    phone.goto(address)
    expect(heading(phone)).to_be_visible()
    expect(phone.get_by_text("12.6 V").first).to_be_visible()


def test_a_repair_in_vain_a_code_and_what_is_over_are_offered(phone, site_url):
    phone.goto(f"{site_url}answer/")
    paste(
        phone,
        "It cranks slowly. Put in a new alternator, no change. P0420 and C0035 are stored. "
        "The tire light was on but it went away.",
    )
    also = phone.locator("section", has=phone.get_by_role("heading", name="Also said"))
    assert also.get_by_role("listitem").all_inner_texts() == ["Code C0035", "Over: “it went away”"]
    # Complaints are chosen one by one, those that are over too.
    phone.locator("[data-all]").click()
    used = phone.locator('.offers [data-offer$="-accepted"][aria-pressed="true"]')
    assert used.evaluate_all("all => all.map((one) => one.getAttribute('aria-label'))") == [
        "Use: New alternator",
        "Use: P0420",
    ]
    use(phone, "Tire pressure light on")
    address = phone.get_by_role("link", name="Open in the checker").get_attribute("href")
    case = read_link(CATALOGUE, address)["case"]
    assert sorted(case["mended"]) == ["alternator-diode-shorted", "alternator-weak"]
    assert case["outcomes"] == {
        "read-and-write-down-codes": "specific-code",
        "code-names-the-catalyst": "names-it",
    }
    assert case["past"] == ["tyre-pressure-lamp"]
    assert case["symptoms"] == []


def test_a_link_is_read_into_the_case_and_told_how_it_differs(phone, site_url):
    phone.goto(f"{site_url}answer/")
    paste(phone, MESSAGE)
    use(phone, FLAT_TITLE)
    told = {
        "symptoms": ["flat-overnight"],
        "context": {},
        "outcomes": {"twist-battery-clamps": "loose"},
    }
    paste(
        phone,
        f"here: {site_url}checker/{link({**told, 'readings': {}, 'not_possible': []})} thanks",
    )
    expect(phone.get_by_role("heading", name="What changed")).to_be_visible()
    expect(phone.get_by_text("Added:")).to_be_visible()
    paste(phone, "https://example.org/checker/#c=AAAA")
    expect(phone.locator("[data-note]")).not_to_be_empty()


def test_greeting_and_closing_are_kept_on_the_device(phone, site_url):
    phone.goto(f"{site_url}answer/")
    paste(phone, MESSAGE)
    use(phone, FLAT_TITLE)
    phone.get_by_text("Your greeting and closing line").click()
    phone.get_by_label("Greeting").fill("Hello Sam,")
    phone.get_by_label("Closing line").fill("Good luck!")
    phone.get_by_label("Closing line").blur()
    assert reply(phone).startswith("Hello Sam,\n")
    assert reply(phone).endswith("\nGood luck!")
    phone.reload()
    paste(phone, MESSAGE)
    use(phone, FLAT_TITLE)
    assert reply(phone).startswith("Hello Sam,\n")
    # A choice of the reply's question, typed back, is read as its answer.
    choice = re.search(r"\? \(([^/()]+) / ", phone.locator("#reply-long").input_value())[1]
    paste(phone, f"{choice}, I think")
    mark = phone.locator(
        ".message [data-mark]", has_text=re.compile(re.escape(choice), re.IGNORECASE)
    )
    expect(mark).to_have_count(1)
