"""Many cases on one device: listed, opened, deleted, filed, and none of them lost.

The oracle is the storage standard (one store an origin, shared by its tabs, that refuses what does
not fit), and that a case read back is the case that was put away.
"""

import json
import re

import pytest
import yaml
from playwright.sync_api import expect

from tests.browser.access import hold_fit
from tests.browser.phone import (
    FLAT,
    FLAT_TITLE,
    RESTING,
    first_step,
    kept,
    link_from_panel,
    open_link,
    open_phone,
    read_voltage,
    twist_clamps,
)
from tests.browser.test_keeping import FILL, notice, state
from tests.embedded import in_page

DIM, DIM_TITLE = "lights-dim-or-flicker", "Lights dim or flicker"
SHELVED = "Object.keys(localStorage).filter((key) => key.startsWith('before-parts-case-')).length"


def open_cases(page, site_url):
    page.goto("about:blank")
    page.goto(f"{site_url}cases/")
    expect(page.locator("#list-title")).to_be_attached()


def rows(page):
    return page.locator(".kept-row:visible h3")


def begin(page, site_url, symptom=FLAT):
    """Begin another case; the one before goes on the shelf."""
    open_cases(page, site_url)
    page.get_by_role("button", name="Begin a new case").tap()
    page.wait_for_url("**/checker/")
    open_link(page, site_url, f"#s={symptom}")
    first_step(page)


def two_cases(page, site_url):
    """Keep a case with a reading on the shelf, and another open in the checker."""
    begin(page, site_url)
    read_voltage(page, "12.1")
    first = state(page)
    begin(page, site_url, DIM)
    return first


def save_all(page):
    with page.expect_download() as saved:
        page.get_by_role("button", name="Save all as a file").tap()
    return json.loads(saved.value.path().read_text("utf-8"))


def read_file(page, document):
    text = document if isinstance(document, str) else json.dumps(document)
    page.get_by_label("Read a file of cases").set_input_files(
        {"name": "cases.json", "mimeType": "application/json", "buffer": text.encode()}
    )


def test_a_case_put_away_comes_back_as_it_was(phone, site_url):
    first = two_cases(phone, site_url)
    open_cases(phone, site_url)
    # The one changed last comes first, with where it stands and what comes next.
    expect(rows(phone)).to_have_text([DIM_TITLE, FLAT_TITLE])
    expect(phone.locator(".kept-row").first).to_contain_text("open in the checker")
    hold_fit(phone)
    phone.get_by_label("Search").fill("overnight")
    expect(rows(phone)).to_have_text([FLAT_TITLE])
    phone.get_by_role("button", name=f"Open: {FLAT_TITLE}").tap()
    expect(phone.locator(".latest h2")).to_contain_text("12.1 V")
    assert state(phone) == first
    open_cases(phone, site_url)
    expect(rows(phone)).to_have_count(2)


def test_a_deleted_case_comes_back_with_undo(phone, site_url):
    first = two_cases(phone, site_url)
    open_cases(phone, site_url)
    for name in (FLAT_TITLE, DIM_TITLE):
        phone.get_by_role("button", name=f"Delete: {name}").tap()
        expect(rows(phone)).to_have_count(1)
        phone.get_by_role("button", name="Undo").tap()
        expect(rows(phone)).to_have_count(2)
    phone.get_by_role("button", name=f"Open: {FLAT_TITLE}").tap()
    expect(phone.locator(".latest h2")).to_contain_text("12.1 V")
    assert state(phone) == first
    open_cases(phone, site_url)
    phone.get_by_role("button", name=f"Delete: {FLAT_TITLE}").tap()
    phone.reload()
    expect(rows(phone)).to_have_text([DIM_TITLE])
    assert phone.evaluate(SHELVED) == 1


def test_a_file_carries_cases_and_overwrites_nothing_unasked(phone, new_context, site_url):
    first = two_cases(phone, site_url)
    open_cases(phone, site_url)
    filed = save_all(phone)
    assert [one["sheet"]["line"]["title"] for one in filed["cases"]] == [DIM_TITLE, FLAT_TITLE]
    # The device that wrote it has nothing to take from it.
    read_file(phone, filed)
    expect(phone.locator("#import-title + ul")).to_contain_text("2 cases the same as here")
    expect(phone.get_by_role("button", name="Import them")).to_have_count(0)
    # Another device takes both; of a case it knows it takes the copy changed later, and says so.
    other = new_context().new_page()
    open_cases(other, site_url)
    read_file(other, filed)
    expect(other.locator("#import-title + ul")).to_contain_text("2 cases not on this device")
    expect(rows(other)).to_have_count(0)
    other.get_by_role("button", name="Import them").click()
    expect(rows(other)).to_have_count(2)
    later, older = json.loads(json.dumps(filed)), json.loads(json.dumps(filed))
    later["cases"][1]["sheet"]["changed"] = "2031-01-01T00:00:00.000Z"
    later["cases"][1]["sheet"]["name"] = "Sam"
    older["cases"][0]["sheet"]["changed"] = "2020-01-01T00:00:00.000Z"
    del older["cases"][1]
    read_file(other, later)
    expect(other.locator("#import-title + ul")).to_contain_text("1 case changed later")
    expect(rows(other)).to_have_text([DIM_TITLE, FLAT_TITLE])
    other.get_by_role("button", name="Import them").click()
    expect(rows(other)).to_have_text(["Sam", DIM_TITLE])
    read_file(other, older)
    expect(other.locator("#import-title + ul")).to_contain_text("1 case older")
    expect(other.get_by_role("button", name="Import them")).to_have_count(0)
    other.get_by_role("button", name="Open: Sam").click()
    expect(other.locator(".latest h2")).to_contain_text("12.1 V")
    assert state(other) == first


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "not a file of cases"),
        ('{"format": "before-parts-cases", "version": 1, "cases": [', "cut short"),
        ("[]", "not a file of cases"),
        ('{"format": "before-parts-cases", "version": 9, "cases": []}', "newer edition"),
        (
            '{"format": "before-parts-cases", "version": 1, "cases": [null, {"sheet": 1}]}',
            "2 cases",
        ),
    ],
)
def test_a_file_that_is_none_says_so_and_changes_nothing(phone, site_url, text, words):
    begin(phone, site_url)
    before = kept(phone)
    open_cases(phone, site_url)
    read_file(phone, text)
    expect(phone.locator("#cases .part").first).to_contain_text(words)
    expect(phone.get_by_role("button", name="Import them")).to_have_count(0)
    assert kept(phone) == before


def test_a_case_of_an_older_edition_joins_the_list(phone, site_url):
    open_link(phone, site_url, "")
    older = {
        "state": {"view": "check", "chosen": [FLAT], "outcomes": {}},
        "past": [],
        "version": 3,
        "writer": "x",
    }
    phone.evaluate("(text) => localStorage.setItem('before-parts-case', text)", json.dumps(older))
    begin(phone, site_url, DIM)
    open_cases(phone, site_url)
    expect(rows(phone)).to_have_count(2)


def test_two_tabs_with_two_cases_lose_neither(phone, site_url):
    first = two_cases(phone, site_url)
    second = state(phone)
    other = phone.context.new_page()
    open_cases(other, site_url)
    other.get_by_role("button", name=f"Open: {FLAT_TITLE}").tap()
    expect(other.locator(".latest h2")).to_contain_text("12.1 V")
    # The first tab still shows its own case, and goes on with it; the other one is put away.
    expect(notice(phone)).to_be_visible()
    notice(phone).get_by_role("button", name="Keep mine").tap()
    assert state(phone)["chosen"] == second["chosen"]
    open_cases(other, site_url)
    expect(rows(other)).to_have_count(2)
    other.get_by_role("button", name=f"Open: {FLAT_TITLE}").tap()
    expect(other.locator(".latest h2")).to_contain_text("12.1 V")
    assert state(other) == first


def test_without_room_the_case_stays_where_it_is(phone, site_url):
    two_cases(phone, site_url)
    before = kept(phone)
    open_cases(phone, site_url)
    phone.evaluate(FILL)
    phone.get_by_role("button", name=f"Open: {FLAT_TITLE}").tap()
    expect(phone.get_by_text("no room left")).to_be_visible()
    expect(rows(phone)).to_have_count(2)
    assert kept(phone) == before
    phone.evaluate(
        "Object.keys(localStorage).filter((k) => k.startsWith('filler')).forEach((k) => localStorage.removeItem(k))"
    )
    phone.get_by_role("button", name=f"Open: {FLAT_TITLE}").tap()
    expect(phone.locator(".latest h2")).to_contain_text("12.1 V")


def test_where_nothing_is_kept_the_page_says_so(own_phone, site_url):
    own_phone.add_init_script(
        "Object.defineProperty(window, 'localStorage', { get() { throw new Error('denied'); } })"
    )
    open_cases(own_phone, site_url)
    expect(own_phone.get_by_text("keeps nothing for this site")).to_be_visible()


# -- the log, the end, and the whole way ---------------------------------------------------


def log_lines(page):
    return page.locator(".log-line")


def test_the_log_is_dated_and_draws_readings_of_one_kind(own_phone, site_url):
    begin(own_phone, site_url)
    own_phone.clock.install(time="2031-03-01T08:00:00")
    own_phone.reload()
    read_voltage(own_phone, "12.1")
    own_phone.clock.set_system_time("2031-03-03T08:00:00")
    read_voltage(own_phone, "12.6")
    # A slip put right at once is no second reading.
    read_voltage(own_phone, "12.4")
    own_phone.get_by_role("link", name="Log and close").click()
    found = log_lines(own_phone).filter(has_text="Found: ")
    expect(found).to_have_count(2)
    expect(found.first).to_contain_text("2031-03-01, 08:00")
    expect(found.last).to_contain_text("2031-03-03, 08:00")
    expect(found.last).to_contain_text("12.4 V")
    expect(own_phone.locator(".over-time svg")).to_have_attribute(
        "aria-label", re.compile("12.1 V on .*12.4 V on")
    )
    own_phone.get_by_text("Add what was bought").tap()
    own_phone.get_by_label("In your own words").fill("Paid $90, from Sam")
    own_phone.get_by_role("button", name="Add to the log").tap()
    expect(log_lines(own_phone).last).to_contain_text("Note: Paid $90, from Sam")
    hold_fit(own_phone)


def test_from_a_message_to_a_closed_case_as_a_file(phone, new_context, site_url):
    phone.goto(f"{site_url}answer/")
    phone.fill("#pasted", "It is dead every morning. The meter reads 12.1 with the engine off.")
    phone.get_by_role("button", name="Read it").click()
    phone.get_by_role("button", name=f"Use: {FLAT_TITLE}", exact=True).click()
    phone.get_by_role("button", name="Use: 12.1 V", exact=True).click()
    phone.get_by_label("Nickname").fill("Robin's wagon")
    phone.get_by_role("button", name="Keep in your cases").tap()
    expect(phone.get_by_text("Kept.")).to_be_visible()
    sent = re.search(r"#c=[\w-]+", phone.locator("#reply-short").input_value())[0]

    owner, heard, _ = open_phone(new_context)
    open_link(owner, site_url, sent)
    owner.get_by_role("button", name="Answer with changes").tap()
    twist_clamps(owner, "Turns by hand")
    back = link_from_panel(owner)
    assert heard == []

    # Another case is open meanwhile; the answer finds its own.
    open_link(phone, site_url, f"#s={DIM}")
    open_link(phone, site_url, back)
    phone.get_by_role("button", name="Use it here").tap()
    expect(phone.get_by_role("button", name="Use it here")).to_have_count(0)
    assert state(phone)["outcomes"] == {"twist-battery-clamps": "loose"}
    open_cases(phone, site_url)
    expect(rows(phone)).to_have_text(["Robin's wagon", "lights dim or flicker"])
    phone.get_by_role("link", name="Log and close: Robin's wagon").click()
    expect(log_lines(phone).filter(has_text="turns by hand")).to_have_count(1)
    phone.get_by_label("What it was").select_option("battery-clamp-poor")
    phone.get_by_role("button", name="Close this case").tap()
    expect(phone.get_by_text("Gone since")).to_be_visible()
    hold_fit(phone)
    text = phone.locator("#closed-text").input_value()
    assert "Robin" not in text
    with phone.expect_download() as saved:
        phone.get_by_role("button", name="Save as a file").tap()
    assert saved.value.path().read_text("utf-8") == text
    told = yaml.safe_load(text)
    assert told["closed"]["cause"] == "battery-clamp-poor"
    assert told["closed"]["gone"] is True
    assert told["symptoms"] == [FLAT]
    assert told["outcomes"] == {"twist-battery-clamps": "loose"}
    assert told["readings"][RESTING]["value"] == 12.1
    phone.get_by_role("link", name="All your cases").click()
    expect(phone.locator(".kept-row").first).to_contain_text("Settled")


FILL_SHELF = """(count) => {
  for (let number = 0; number < count; number += 1) {
    const id = `case${String(number).padStart(8, "0")}`;
    const at = new Date(1.9e12 + number * 6e7).toISOString();
    const log = Array.from({ length: 20 }, () => ({ at, kind: "note", id: "", text: "x".repeat(60) }));
    const line = { title: `Trouble ${number}`, next: "Measure the resting voltage", stage: "waiting" };
    const sheet = { id, name: `Owner ${number}`, started: at, changed: at, line, log, closed: null };
    const record = { state: { chosen: ["flat-overnight"] }, sheet, version: 1, writer: "x" };
    localStorage.setItem(`before-parts-case-${id}`, JSON.stringify(record));
  }
}"""


def fill_shelf(page, count):
    page.evaluate(FILL_SHELF, count)


def test_two_hundred_cases_are_read_once_and_drawn_once(module_page):
    fill_shelf(module_page, 200)
    found = in_page(module_page)(
        {"shelf": "case/shelf", "list": "pages/cases/list-view"},
        """let reads = 0;
        const read = Storage.prototype.getItem;
        Storage.prototype.getItem = function (key) { reads += 1; return read.call(this, key); };
        const $view = list.listView(shelf.allCases(), { open() {}, remove() {} }, "");
        document.body.replaceChildren($view);
        const drawn = $view.querySelectorAll("*").length;
        const $search = $view.querySelector("input");
        const $rows = [...$view.querySelectorAll(".kept-row")];
        $search.value = "owner 19";
        $search.dispatchEvent(new Event("input"));
        const isSame = $rows.every(($row) => $row.isConnected);
        const shown = $rows.filter(($row) => !$row.hidden).length;
        return { reads, drawn, isSame, shown, after: $view.querySelectorAll("*").length };""",
    )
    assert found["reads"] <= 202
    assert found["drawn"] <= 200 * 12
    assert found["after"] == found["drawn"]
    assert found["isSame"]
    assert found["shown"] == 12  # 19, 119, and 190 to 199
