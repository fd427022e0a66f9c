"""A class finds a fault: a car is chosen, worked on, sent as a link and laid beside the others."""

from playwright.sync_api import expect

from tests.browser.access import hold_fit
from tests.browser.phone import FLAT, FLAT_TITLE, knowledge

CAUSE = "battery-worn-out"
CLAMPS = "twist-battery-clamps"


def choose(page, site_url):
    """Choose a car as an instructor, and return its link."""
    page.goto(f"{site_url}teach/find-the-fault/")
    page.get_by_label("What the car does").select_option(FLAT)
    page.get_by_label("Hidden cause", exact=True).select_option(CAUSE)
    page.get_by_label("Number of the car").fill("7")
    page.get_by_role("button", name="Make the link").click()
    return page.locator("#class-link").input_value()


def cells(page, row):
    return page.get_by_role("row").filter(has=page.get_by_role("rowheader", name=row)).locator("td")


def test_from_a_level_to_the_table_of_the_class(phone, site_url):
    link = choose(phone, site_url)
    assert CAUSE not in link
    assert FLAT not in link
    phone.get_by_text("For the instructor").click()
    expect(phone.get_by_role("group").get_by_text("Hidden: ")).to_be_visible()
    shown = cells(phone, knowledge()[0].checks[CLAMPS].title).inner_text()
    hold_fit(phone)

    # A student gets the same car, and the same result that the instructor's key has.
    phone.goto("about:blank")
    phone.goto(link)
    expect(phone.get_by_role("heading", name=FLAT_TITLE)).to_be_visible()
    expect(phone.get_by_text("Hidden: ")).to_have_count(0)
    phone.get_by_label("Do a check").select_option(CLAMPS)
    phone.get_by_role("button", name="Do it").click()
    told = phone.locator("[data-told]")
    expect(told).to_contain_text(shown, ignore_case=True)
    expect(told).to_be_focused()
    phone.get_by_label("Repair or buy").select_option("alternator-weak")
    phone.get_by_role("button", name="Repair it").click()
    expect(told).to_contain_text("still there")
    hold_fit(phone)
    # A page loaded again goes on where it was.
    phone.reload()
    expect(phone.locator(".steps > li")).to_have_count(2)
    phone.get_by_label("Repair or buy").select_option(CAUSE)
    phone.get_by_role("button", name="Repair it").click()
    expect(told).to_contain_text("The trouble is gone")
    expect(phone.get_by_role("heading", name="What the checker does")).to_be_visible()
    assert cells(phone, "Parts not needed").first.inner_text() == "1"
    phone.get_by_label("Your name").fill("Robin")
    hold_fit(phone)
    sent = phone.locator("#result-link").input_value()
    assert CAUSE not in sent

    # Another student leaves it to a shop at once; one link was cut on its way.
    phone.get_by_role("button", name="Play the same car again").click()
    phone.get_by_role("button", name="Stop").click()
    other = phone.locator("#result-link").input_value()
    phone.goto("about:blank")
    phone.goto(f"{site_url}teach/find-the-fault/")
    phone.get_by_label("Paste the links").fill(f"{sent}\nhere is mine: {other}\n{sent[:-3]}")
    phone.get_by_role("button", name="Show the table").click()
    expect(phone.get_by_role("status").filter(has_text="cannot be read: 1")).to_be_visible()
    rows = phone.locator("tbody th")
    assert rows.all_inner_texts() == ["The checker", "Robin", "Student 2"]
    assert cells(phone, "Robin").last.inner_text() == "Yes"
    assert cells(phone, "Student 2").last.inner_text() == "No"
    expect(phone.locator(".bars > li")).to_have_count(3)
    hold_fit(phone)


def test_on_paper_the_answers_are_sealed_on_a_sheet_of_their_own(phone, site_url):
    choose(phone, site_url)
    for sheet in ("class", "sealed"):
        expect(phone.locator(f"[data-paper={sheet}]")).to_be_hidden()
    phone.emulate_media(media="print")
    for_class, sealed = (phone.locator(f"[data-paper={one}]") for one in ("class", "sealed"))
    expect(for_class.get_by_role("heading", name=FLAT_TITLE)).to_be_visible()
    hidden = knowledge()[0].causes[CAUSE].title
    # The sheet lists that cause among those one may buy for, and says of none that it is there.
    expect(for_class).to_contain_text(hidden)
    expect(for_class).not_to_contain_text("Hidden: ")
    expect(sealed).to_contain_text("Hidden: ")
    expect(sealed).to_have_css("break-before", "page")
    expect(sealed.locator(".upside-down")).to_have_css("rotate", "180deg")
    expect(sealed.locator(".upside-down")).to_contain_text(hidden, ignore_case=True)
    expect(phone.locator("#exercise form:visible")).to_have_count(0)
    assert len(phone.pdf()) > 0
    phone.emulate_media(media="screen")


def test_a_broken_link_says_so_and_two_causes_must_be_two(phone, site_url):
    phone.goto(f"{site_url}teach/find-the-fault/#x=AAAA")
    expect(phone.get_by_role("alert")).to_contain_text("Copy the whole link")
    phone.get_by_label("Level").select_option("two")
    phone.get_by_label("What the car does").select_option(FLAT)
    phone.get_by_label("Hidden cause", exact=True).select_option(CAUSE)
    phone.get_by_role("button", name="Make the link").click()
    expect(phone.get_by_text("Choose two different causes")).to_be_visible()
    expect(phone.locator("#class-link")).to_have_count(0)
    phone.get_by_label("Second hidden cause").select_option("alternator-weak")
    phone.get_by_role("button", name="Make the link").click()
    expect(phone.locator("#class-link")).to_be_visible()
