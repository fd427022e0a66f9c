"""Case links in real Chromium: harmless when broken, and the journey.

What a link holds is tested in tests/output/test_case_link.py. Oracles here: the link that the
command writes, what an owner sees on a phone's screen, and axe-core for accessibility.
"""

import base64
import json
import random
import re
import zlib

import pytest
from playwright.sync_api import expect

from build_tools.engine.cases import case_document
from build_tools.knowledge.link_words import link_document
from tests.browser.access import TOO_SMALL
from tests.browser.phone import (
    CONFIRMED,
    FLAT,
    FLAT_TITLE,
    RESTING,
    SENT,
    first_step,
    heading,
    kept,
    knowledge,
    link,
    link_from_panel,
    nothing_said,
    open_check,
    open_link,
    open_phone,
    open_repair,
    read_voltage,
    said,
    standing,
)
from tests.sweeps import SWEEP

CATALOGUE, _, _ = knowledge()


# -- ten thousand broken links -------------------------------------------------------------

MUTATE = """async ({ base, links, folder }) => {
  const { arrivedFrom } = await import(folder + "assets/pages/checker/arrived.js");
  const { decodeCase, linkIn, LinkRefused } = await import(folder + "assets/case/case-link.js");
  const { adoptCase, adoptState } = await import(folder + "assets/case/case-adopt.js");
  const { fromCase, toCase } = await import(folder + "assets/case/case.js");
  const { linkBook } = await import(folder + "assets/knowledge/link-words.js");
  const { loadKnowledge } = await import(folder + "assets/knowledge/knowledge.js");
  const book = await linkBook();
  const knowledge = await loadKnowledge(folder + "assets/data/knowledge.json");
  const picture = () => JSON.stringify([
    { ...localStorage }, document.body.innerHTML, location.href, document.cookie,
    Object.getOwnPropertyNames(Object.prototype), Object.keys(window).length,
    JSON.stringify(knowledge).length, book.words.length,
  ]);
  const before = picture();
  const counts = {};
  const threw = [];
  const count = (name) => { counts[name] = (counts[name] ?? 0) + 1; };
  for (const [place, text] of links.entries()) {
    try {
      const { car } = decodeCase(linkIn(text), book);
      const { car: adopted } = adoptCase(knowledge, book.redirects, car);
      const { state } = adoptState(knowledge, book.redirects, fromCase(adopted, adopted));
      // What a link leaves is a case of known ids: writing it down again changes nothing more.
      const again = adoptCase(knowledge, book.redirects, toCase(knowledge, state));
      if (again.changes.length > 0) threw.push([place, "not settled", text]);
      count("opened");
      if (place % 40 === 0) arrivedFrom(knowledge, book, text);
    } catch (error) {
      if (error instanceof LinkRefused) count(error.reason);
      else threw.push([place, String(error), text]);
    }
  }
  return { same: before === picture(), counts, threw: threw.slice(0, 5) };
}"""


def with_sum(raw):
    checked = raw + zlib.crc32(raw).to_bytes(4, "big")
    return "#c=" + base64.urlsafe_b64encode(checked).decode().rstrip("=")


def mutated_links(count):
    """Break real links: letters changed, cut, doubled; and bytes changed under a right checksum."""
    draw = random.Random(20261125)
    alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_.%+/= \n\u00e9"
    sound = [link(case_document(one)) for one in CATALOGUE.cases.values()] + [link(SENT)]
    links = []
    while len(links) < count:
        text = draw.choice(sound)
        if draw.random() < 0.5:
            signs = list(text)
            for _ in range(draw.randint(1, 6)):
                place = draw.randrange(len(signs))
                way = draw.randrange(4)
                if way == 0:
                    signs[place] = draw.choice(alphabet)
                elif way == 1:
                    del signs[place : place + draw.randint(1, 9)]
                elif way == 2:
                    signs[place:place] = draw.choices(alphabet, k=draw.randint(1, 9))
                else:
                    signs = signs[: place + 1]
                if not signs:
                    break
            links.append("".join(signs))
            continue
        raw = bytearray(base64.urlsafe_b64decode(text[3:] + "==="))[:-4]
        for _ in range(draw.randint(1, 4)):
            raw[draw.randrange(2, len(raw))] = draw.randrange(256)
        links.append(with_sum(bytes(raw)))
    return links


@SWEEP
def test_ten_thousand_broken_links_throw_nothing_and_touch_nothing(phone, site_url, share):
    open_link(phone, site_url, f"#s={FLAT}")
    count = 10_000 // share
    links = mutated_links(count)
    found = phone.evaluate(MUTATE, {"links": links, "folder": site_url})
    print(found["counts"])
    assert found["threw"] == []
    assert found["same"]
    # The test is worth something only if many pass the checksum and reach the reader of cases.
    assert found["counts"]["opened"] > count / 20
    assert found["counts"]["unreadable"] > count / 20
    assert sum(found["counts"].values()) == count


# -- reading a link ------------------------------------------------------------------------


def test_a_link_is_read_before_anything_changes(phone, site_url):
    open_link(phone, site_url, link({**SENT, "symptoms": [FLAT, "red-charging-lamp"]}))
    expect(heading(phone)).to_have_text("Someone sent you this case")
    card = phone.locator(".link-view")
    for words in (
        FLAT_TITLE,
        "12.1\u00a0V (battery type: ordinary flooded",
        "The battery is less than half full",
        "Try to twist the battery clamps: tight and clean",
        "Age of the battery: over five years",
        "Battery and charging: ",
        "Open questions",
        "Next check",
    ):
        expect(card).to_contain_text(words)
    # What may hurt comes before the case itself.
    order = phone.evaluate(
        "[...document.querySelectorAll('.link-view h2')].map((h) => h.textContent)"
    )
    assert order == ["Stop now", "Someone sent you this case"]
    assert kept(phone) is None
    phone.get_by_role("button", name="Leave it").tap()
    expect(phone.get_by_label("Say it in your own words")).to_be_visible()
    assert kept(phone) is None
    assert "#" not in phone.url


def test_a_link_of_another_car_leaves_the_own_case_in_the_list(phone, site_url):
    open_link(phone, site_url, "#s=lights-dim-or-flicker")
    before = json.loads(kept(phone))["state"]
    open_link(phone, site_url, link(SENT))
    assert json.loads(kept(phone))["state"] == before
    phone.get_by_role("button", name="Go to my own case").tap()
    said(phone, "Lights dim or flicker")
    open_link(phone, site_url, link(SENT))
    phone.get_by_role("button", name="Use it here").tap()
    expect(standing(phone)).to_be_visible()
    assert json.loads(kept(phone))["state"]["chosen"] == [FLAT]
    phone.get_by_role("link", name="All your cases").click()
    phone.get_by_role("button", name="Open: lights dim or flicker").click()
    said(phone, "Lights dim or flicker")
    assert json.loads(kept(phone))["state"] == before


@pytest.mark.parametrize(
    ("fragment", "words"),
    [
        (link(SENT)[:30], "cut short"),
        (link(SENT)[:-6] + "AAAAAA", "changed on its way"),
        (with_sum(bytes([2, 1, 0])), "newer edition"),
        (with_sum(bytes([1, 4, 1, 2, 3, 200])), "cannot be read"),
        ("#c=", "cut short"),
        ("#c=%F0%9F%99%82", "cut short"),
    ],
)
def test_a_broken_link_says_so_and_changes_nothing(phone, site_url, fragment, words):
    open_link(phone, site_url, f"#s={FLAT}")
    before = kept(phone)
    open_link(phone, site_url, fragment)
    expect(heading(phone)).to_have_text("This link cannot be opened")
    expect(phone.get_by_role("alert")).to_contain_text(words)
    assert kept(phone) == before
    phone.get_by_role("button", name="Go on without it").tap()
    said(phone, FLAT_TITLE)
    assert kept(phone) == before


def test_a_link_from_older_knowledge_says_what_changed(phone, site_url):
    older = {
        **SENT,
        "symptoms": [FLAT, "a-symptom-of-old"],
        "outcomes": {"twist-battery-clamps": "wobbly"},
    }
    open_link(phone, site_url, link(older, "000000000000"))
    changes = phone.locator("#link-changes")
    expect(changes).to_contain_text("“a-symptom-of-old” is not known here and was left out.")
    expect(changes).to_contain_text("the result “wobbly” no longer exists and was left out.")
    open_link(phone, site_url, link(SENT, "000000000000"))
    expect(phone.locator(".link-view")).to_contain_text("another edition of our figures")


def test_a_case_that_contradicts_itself_can_still_be_read(phone, site_url):
    # A level with no cause and no leak is the only way to contradict; a slip is the common one.
    slip = {**SENT, "readings": {RESTING: {"value": 1.21, "unit": "V"}}}
    open_link(phone, site_url, link(slip))
    expect(phone.locator(".link-view")).to_contain_text("Did you mean 12.1")


def test_a_link_can_be_pasted_with_its_message(phone, site_url):
    open_link(phone, site_url, "")
    phone.locator('[data-keep="paste"] > summary').tap()
    field = phone.get_by_label("Paste the link, or the message it came in")
    field.fill("hello")
    phone.get_by_role("button", name="Open the case").tap()
    expect(phone.get_by_role("alert")).to_contain_text("There is no case in this text")
    phone.get_by_role("button", name="Go on without it").tap()
    phone.locator('[data-keep="paste"] > summary').tap()
    field.fill(f"Can you look? (https://example.org/checker/{link(SENT)}). Thanks!")
    phone.get_by_role("button", name="Open the case").tap()
    expect(heading(phone)).to_have_text("Someone sent you this case")


# -- the whole way there and back ----------------------------------------------------------


def test_journey_find_check_share_answer_and_back(phone, new_context, site_url):
    phone.goto(site_url)
    phone.get_by_label("Say it in your own words").fill("dead every morning")
    phone.get_by_role("link", name=FLAT_TITLE).first.tap()
    first_step(phone)
    expect(standing(phone)).to_be_visible()
    read_voltage(phone, "12.1")
    phone.reload()
    expect(phone.locator(".latest h2")).to_contain_text("12.1 V")
    sent = link_from_panel(phone)
    assert len(sent) <= 300
    phone.get_by_role("button", name="Copy link").tap()
    expect(phone.get_by_text("The link is copied.")).to_be_visible()
    assert phone.evaluate("navigator.clipboard.readText()").endswith(sent)
    phone.get_by_role("button", name="Copy as plain text").tap()
    copied = phone.evaluate("navigator.clipboard.readText()")
    assert f"Noticed: {FLAT_TITLE}" in copied
    assert "Measure the resting voltage: 12.1\u00a0V" in copied
    assert "Most likely causes:" in copied
    assert copied.endswith(sent)

    answerer, heard, _ = open_phone(new_context)
    open_link(answerer, site_url, sent)
    answerer.get_by_role("button", name="Answer with changes").tap()
    answer = answerer.get_by_role("region", name="What you changed since the link")
    expect(answer).to_contain_text("Nothing yet.")
    before = answerer.locator(".standing .bars__line").all_inner_texts()
    open_check(answerer, "twist-battery-clamps")
    answerer.get_by_label("Turns by hand").check()
    answerer.get_by_role("button", name="Use this result").tap()
    expect(answer).to_contain_text("Added: Try to twist the battery clamps: turns by hand")
    after = [
        line.split(", was")[0]
        for line in answerer.locator(".standing .bars__line").all_inner_texts()
    ]
    assert after != before
    read_voltage(answerer, "12.7")
    expect(answer).to_contain_text(
        "Changed: Measure the resting voltage: 12.7\u00a0V, was 12.1\u00a0V"
    )
    answerer.reload()
    expect(answer).to_contain_text("Changed: Measure the resting voltage")
    back = link_from_panel(answerer)
    assert back != sent
    assert heard == []

    open_link(phone, site_url, back)
    against = phone.locator("#against-mine")
    expect(against).to_contain_text("What differs from the case on this device")
    expect(against).to_contain_text("Added: Try to twist the battery clamps: turns by hand")
    expect(against).to_contain_text(
        "Changed: Measure the resting voltage: 12.7\u00a0V, was 12.1\u00a0V"
    )
    phone.get_by_role("button", name="Use it here").tap()
    expect(standing(phone)).to_be_visible()
    shown = [
        line.split(", was")[0] for line in phone.locator(".standing .bars__line").all_inner_texts()
    ]
    theirs = [
        line.split(", was")[0]
        for line in answerer.locator(".standing .bars__line").all_inner_texts()
    ]
    assert shown == theirs


def test_the_share_sheet_of_the_device_gets_the_link(own_phone, site_url):
    own_phone.add_init_script(
        "navigator.share = (what) => { window.shared = what; return Promise.resolve(); };"
    )
    open_link(own_phone, site_url, link(SENT))
    own_phone.get_by_role("button", name="Use it here").tap()
    sent = link_from_panel(own_phone)
    own_phone.get_by_role("button", name="Share", exact=True).tap()
    assert own_phone.evaluate("window.shared.url").endswith(sent)


# -- parameters of the address -------------------------------------------------------------


def test_symptoms_and_facts_can_be_preset_by_the_address(phone, site_url):
    fragment = f"#s={FLAT},cranks-slowly-when-cold&x=battery-age:over-5-years,temperature:-5"
    open_link(phone, site_url, fragment)
    state = json.loads(kept(phone))["state"]
    assert state["chosen"] == [FLAT, "cranks-slowly-when-cold"]
    assert state["context"] == {
        "battery-age": "over-5-years",
        "temperature": {"value": -5, "unit": "degC"},
    }
    assert "#" not in phone.url
    expect(phone.locator("#unknown")).to_have_count(0)
    phone.reload()
    assert json.loads(kept(phone))["state"]["chosen"] == state["chosen"]


def test_what_the_address_names_and_nobody_knows_is_told(phone, site_url):
    fragment = (
        f"#s={FLAT},no-such&x=battery-age:ancient,temperature:warm,constructor:1,fuel-level:low:er"
    )
    open_link(phone, site_url, fragment)
    note = phone.locator("#unknown")
    for name in ("no-such", "battery-age:ancient", "temperature:warm", "constructor:1"):
        expect(note).to_contain_text(f"“{name}”")
    state = json.loads(kept(phone))["state"]
    assert (state["chosen"], state["context"]) == ([FLAT], {})


def test_former_names_in_the_address_lead_to_those_of_today(phone, site_url):
    former = {
        "flat-in-the-morning": "flat-at-dawn",
        "flat-at-dawn": FLAT,
        "years-of-battery": "battery-age",
        "smells-odd": {"retired": "It was about something else."},
    }
    words = {**json.loads(json.dumps(link_document(CATALOGUE))), "redirects": former}
    # No entry has been renamed yet, so the list of former names is lent these four.
    phone.route("**/assets/data/link-words.json*", lambda route: route.fulfill(json=words))
    open_link(phone, site_url, "#s=flat-in-the-morning,smells-odd&x=years-of-battery:over-5-years")
    state = json.loads(kept(phone))["state"]
    assert (state["chosen"], state["context"]) == ([FLAT], {"battery-age": "over-5-years"})
    note = phone.locator("#unknown")
    expect(note).to_contain_text("“smells-odd” (no longer used: It was about something else)")
    expect(note).not_to_contain_text("flat-in-the-morning")


def test_a_reading_brought_from_its_own_page_is_in_sight_before_anything_is_ticked(phone, site_url):
    phone.goto(f"{site_url}readings/#resting-voltage")
    phone.get_by_label("What the meter shows").fill("12.1")
    phone.keyboard.press("Enter")
    phone.get_by_role("button", name="Use this in my check").tap()
    expect(heading(phone)).to_have_text("What is the car doing?")
    found = phone.locator("#measured")
    expect(found).to_contain_text("Measure the resting voltage: 12.1\u00a0V")
    expect(found).to_contain_text("less than half full")
    expect(found).to_contain_text("it counts in the next check")
    phone.locator('[data-keep="family-charging-and-battery"] > summary').tap()
    phone.locator("#family-flat-overnight").check()
    expect(found).not_to_contain_text("it counts in the next check")
    phone.get_by_role("button", name="Remove: Measure the resting voltage").tap()
    expect(found).to_have_count(0)
    phone.get_by_role("button", name="Undo the last change").tap()
    first_step(phone)
    expect(phone.locator(".latest h2")).to_contain_text("12.1 V")


# -- not so, and mended --------------------------------------------------------------------


def test_an_answered_question_lets_one_say_not_so(phone, site_url):
    open_link(phone, site_url, "#s=many-lamps-at-once")
    expect(phone.get_by_label("Not so: ", exact=False)).to_have_count(0)
    phone.get_by_role("button", name="No, it goes off").tap()
    phone.get_by_role("button", name="Change what you said").tap()
    box = phone.get_by_label("Not so: Red battery light on or flickering")
    box.check()
    assert json.loads(kept(phone))["state"]["absent"] == ["red-charging-lamp"]
    first_step(phone)
    phone.locator('[data-keep="case"] > summary').tap()
    expect(phone.locator(".strip")).to_contain_text("Not so: Red battery light on or flickering")
    phone.get_by_role("button", name="Remove: Red battery light").tap()
    assert json.loads(kept(phone))["state"]["absent"] == []


def test_a_repair_names_the_level_that_was_found(phone, site_url):
    """A clamp that turns by hand is worse than a dirty one; the reader entered the former."""
    open_link(phone, site_url, link(CONFIRMED))
    words = "Try to twist the battery clamps: “turns by hand”. That calls for this."
    expect(phone.locator(".case-summary")).to_contain_text(words)
    phone.get_by_role("button", name="Use it here").tap()
    expect(phone.locator(".repair")).to_contain_text(words)


def test_a_repair_that_helped_ends_kindly(phone, site_url):
    open_repair(phone, site_url)
    phone.get_by_role("button", name="Yes, it is gone").tap()
    expect(phone.get_by_role("heading", name="Good. You found it and fixed it")).to_be_focused()
    expect(phone.locator(".repair")).to_contain_text("The date and the odometer.")
    # What was advised is past: nothing on the page still calls the supply failing.
    expect(standing(phone)).to_have_count(0)
    expect(phone.locator("#checker")).not_to_contain_text("failing")
    expect(phone.locator("#said-aloud")).to_have_text("Noted: the symptom is gone.")
    phone.reload()
    expect(phone.get_by_role("heading", name="Good. You found it and fixed it")).to_be_visible()
    phone.get_by_role("button", name="It came back").tap()
    assert json.loads(kept(phone))["state"]["mended"] == ["battery-clamp-poor"]


def test_a_repair_that_did_not_help_goes_on_with_the_other_causes(phone, site_url):
    open_repair(phone, site_url)
    phone.get_by_role("button", name="No, it is still there").tap()
    state = json.loads(kept(phone))["state"]
    assert state["mended"] == ["battery-clamp-poor"]
    # The check that confirmed it was made on the car before the repair.
    assert state["outcomes"] == {}
    assert state["chosen"] == ["works-when-clamp-is-touched"]
    expect(phone.locator(".repair")).to_have_count(0)
    phone.locator('[data-keep="case"] > summary').tap()
    expect(phone.locator(".strip")).to_contain_text("Repaired, no change")
    phone.get_by_role("button", name="Undo the last change").tap()
    assert json.loads(kept(phone))["state"]["outcomes"] == {"twist-battery-clamps": "loose"}


# -- for everyone --------------------------------------------------------------------------


def test_a_case_that_is_only_read_can_be_copied_as_text(phone, site_url):
    open_link(phone, site_url, link(SENT))
    assert link_from_panel(phone) == link(SENT)
    phone.get_by_role("button", name="Copy as plain text").tap()
    expect(phone.get_by_text("The text is copied.")).to_be_visible()
    copied = phone.evaluate("navigator.clipboard.readText()")
    assert f"Noticed: {FLAT_TITLE}" in copied
    assert "Next check:" in copied
    assert copied.endswith(link(SENT))
    assert kept(phone) is None


def test_steps_keep_the_wide_column_on_a_desk_with_the_result_beside_them(phone, site_url):
    phone.set_viewport_size({"width": 1280, "height": 800})
    open_link(phone, site_url, link(SENT))
    phone.get_by_role("button", name="Answer with changes").tap()
    steps, result, stand = (
        phone.locator(one).bounding_box() for one in (".check-card__steps", "#result", ".standing")
    )
    assert result["x"] > steps["x"] + steps["width"]
    assert steps["width"] > result["width"]
    assert stand["x"] == steps["x"]


def test_a_case_that_is_only_read_prints_whole_and_without_controls(phone, site_url):
    open_link(phone, site_url, link(SENT))
    # A page object of a PDF; the tree that holds the pages is of type Pages.
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", phone.pdf(format="A4"))) <= 2
    phone.emulate_media(media="print")
    for words in ("What was noticed", "less than half full", "Next check", "Open questions"):
        expect(phone.locator(".case-summary").get_by_text(words).first).to_be_visible()
    shown = "(all) => all.filter((one) => one.checkVisibility()).map((one) => one.outerHTML)"
    controls = phone.locator("#checker :is(button, summary, textarea)")
    assert controls.evaluate_all(shown) == []


def test_two_tabs_never_write_over_each_other(phone, site_url):
    open_link(phone, site_url, f"#s={FLAT}")
    other = phone.context.new_page()
    open_link(other, site_url, "#s=lights-dim-or-flicker")
    phone.get_by_role("button", name="Show it").tap()
    said(phone, "Lights dim or flicker")
    phone.get_by_role("button", name="Change what you said").tap()
    phone.locator('[data-keep="when"] > summary').tap()
    phone.locator("#when-after-days-parked").check()
    chosen = [FLAT, "lights-dim-or-flicker", "after-days-parked"]
    assert json.loads(kept(phone))["state"]["chosen"] == chosen
    other.get_by_role("button", name="Keep mine").click()
    assert json.loads(kept(phone))["state"]["chosen"] == chosen[:2]
    other.get_by_role("button", name="Start over").click()
    other.get_by_role("button", name="Yes, forget it").click()
    phone.get_by_role("button", name="Start over here too").click()
    nothing_said(phone)


@pytest.mark.parametrize("width", [320, 360])
def test_views_of_links_do_not_run_off_a_narrow_screen(phone, site_url, width):
    phone.set_viewport_size({"width": width, "height": 640})
    open_link(phone, site_url, link({**SENT, "symptoms": [FLAT, "red-charging-lamp"]}))
    assert phone.evaluate("document.documentElement.scrollWidth") <= width
    phone.get_by_role("button", name="Answer with changes").tap()
    link_from_panel(phone)
    phone.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
    assert phone.evaluate("document.documentElement.scrollWidth") <= width
    assert phone.evaluate(TOO_SMALL) == []
