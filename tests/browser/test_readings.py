"""The readings page in real Chromium, on a phone's screen: by touch, by keyboard, by mistake.

What a figure should be comes from a published table, named beside it, or from the command
line's own answer to the same question. Rules of accessibility are judged by axe-core.
"""

import re

import pytest
from playwright.sync_api import expect

from build_tools.cli.reading_command import reading_document, sum_command
from build_tools.measure.sum_examples import EXAMPLES
from build_tools.site.reading_shelf import GROUPS
from tests.browser.access import TOO_SMALL
from tests.browser.phone import PHONE, first_step, serious, tab_to
from tests.shipped import CATALOGUE

SYMPTOM = "airbag-and-engine-lamp-after-flat-battery"
AGREED = {
    "published", "second-hand", "from memory", "common practice, no source", "our estimate",
}  # fmt: skip

# One thing of each group: what is entered, and what a published table makes of it.
ONE_OF_EACH = {
    # Trade table: 12.24 to 12.45 V is half to three quarters; the manual tests from 12.4 V.
    "rest": ("resting-voltage", {"value": "12.32", "battery-type": "flooded", "meter": "good",
             "rest": "overnight", "temperature": "20"}, "a half to three quarters"),
    # TM 5-4210, table 5: 9.6 V at 70 degF; half of 500 CCA (turf mower manual).
    "load": ("load-test", {"rated-cca": "500", "temperature": ("70", "degF")},
             r"250\sA.*9\.60\sV"),
    # TM 10-3930-671: 0.20 V for each 100 A, at 180 A.
    "cranking": ("drop-limit", {"path": "cranking-circuit", "current": "180"}, r"0\.36\sV"),
    # Marine engine manual 33A: 0.1 V less for 10 degC more than 20, from 14.4 V.
    "charging": ("regulator-voltage", {"temperature": ("40", "degC")}, r"14\.20\sV"),
    # Maker's bulletin: 0.4 x 100 x 0.6 Ah at 50 mA.
    "parked": ("days-until-no-start", {"draw": ("50", "mA"), "reserve": "100"}, r"20\.0\sdays"),
    # TM 5-4210, table 2-3: half charged freezes at -15 degF, which is -26 degC.
    "charge": ("freezing-point", {"charge": "50"}, "\N{MINUS SIGN}26\N{NO-BREAK SPACE}°C"),
    # Reserve-capacity page: RC 100 is 41.67 Ah at 25 A.
    "ratings": ("reserve-capacity", {"reserve": "100"}, r"41\.7\sAh"),
    "readout": ("warm-up-temperature", {"value": "90"}, "warm"),
}  # fmt: skip
# A reading in the middle of some band, for the gauges that the table above leaves out.
PLAIN_READINGS = {
    "ac-ripple": "50", "cable-drop-ground": "0.1", "cable-drop-positive": "0.3",
    "charging-cable-drop": "0.2", "charging-voltage": "14.2", "charging-voltage-loaded": "13.9",
    "clamp-drop": "0.02", "conductance-ratio": "85", "cranking-voltage": "10.4",
    "load-test-voltage": "9.9", "module-voltage": "14.1", "parasitic-draw": "30",
    "resting-voltage": "12.3", "specific-gravity": "1.23", "warm-up-temperature": "90",
}  # fmt: skip


def open_shelf(page, site_url):
    page.goto(f"{site_url}readings/")
    expect(page.get_by_label("Type the reading, or a word")).to_be_visible()


def open_entry(page, site_url, name):
    """Open one gauge or sum by its address, as links from other pages do."""
    page.goto(f"{site_url}stay-safe/")
    page.goto(f"{site_url}readings/#{name}")
    expect(page.locator("#entry-title")).to_be_focused()


def enter(page, fields):
    for name, given in fields.items():
        value, unit = given if isinstance(given, tuple) else (given, None)
        field = page.locator(f"#entry-{name}")
        fold = page.locator('[data-keep="entry-conditions"]:not([open]) > summary')
        if name != "value" and fold.count():
            fold.tap()
        if field.evaluate("node => node.localName") == "select":
            field.select_option(value)
        else:
            field.fill(value)
        if unit is not None and page.locator(f"select#entry-{name}-unit").count():
            page.locator(f"#entry-{name}-unit").select_option(unit)


def submit(page):
    page.locator(".entry-form button[type=submit]").tap()


def answer(page):
    return page.locator(".answer")


def kept(page):
    return page.evaluate("JSON.parse(localStorage.getItem('before-parts-case'))")


@pytest.mark.parametrize("group", [group for group, _ in GROUPS])
def test_each_group_by_touch(phone, site_url, group):
    name, fields, expected = ONE_OF_EACH[group]
    open_shelf(phone, site_url)
    title = dict(GROUPS)[group]
    shelf = phone.get_by_role("region", name=title)
    shelf.locator("summary").tap()
    shelf.locator(f"#{name} a").tap()
    expect(phone.locator("#entry-title")).to_be_focused()
    enter(phone, fields)
    submit(phone)
    expect(answer(phone).locator("h2")).to_be_focused()
    assert re.search(expected, answer(phone).inner_text(), re.DOTALL | re.IGNORECASE)
    for part in ("What to do next", "What it does not tell", "Sources"):
        expect(answer(phone).get_by_role("heading", name=part)).to_be_visible()
    assert phone.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]


@pytest.mark.parametrize("group", [group for group, _ in GROUPS])
def test_each_group_by_keyboard_alone(phone, site_url, group):
    name, fields, expected = ONE_OF_EACH[group]
    open_shelf(phone, site_url)
    ask = phone.locator(f"#{name} .index__name").text_content()
    tab_to(phone, "#shelf-words")
    phone.keyboard.type(ask)
    tab_to(phone, f"#{name} a", most=6)
    phone.keyboard.press("Enter")
    expect(phone.locator("#entry-title")).to_be_focused()
    for field, given in fields.items():
        value, unit = given if isinstance(given, tuple) else (given, None)
        if not phone.locator(f"#entry-{field}").is_visible():  # what moves the reading is folded
            tab_to(phone, ".entry-form summary")
            phone.keyboard.press("Enter")
        tab_to(phone, f"#entry-{field}")
        type_into(phone, value)
        if unit is not None:
            tab_to(phone, f"#entry-{field}-unit", most=1)
            type_into(phone, unit)
    phone.keyboard.press("Enter")
    if phone.locator(".answer").count() == 0:  # Enter in a list does not send a form
        tab_to(phone, ".entry-form button[type=submit]", most=20)
        phone.keyboard.press("Enter")
    expect(answer(phone).locator("h2")).to_be_focused()
    assert re.search(expected, answer(phone).inner_text(), re.DOTALL | re.IGNORECASE)


def type_into(page, value):
    """Type into the field in focus; in a list, go down until the wanted option is chosen."""
    focused = page.locator(":focus")
    if focused.evaluate("node => node.localName") != "select":
        page.keyboard.type(value)
        return
    for _ in range(12):
        if focused.input_value() == value:
            return
        page.keyboard.press("ArrowDown")
    pytest.fail(f"no option {value}")


def test_list_narrows_by_owners_words_and_says_when_nothing_fits(phone, site_url):
    open_shelf(phone, site_url)
    field = phone.get_by_label("Type the reading, or a word")
    field.press_sequentially("parked")
    shown = phone.locator("li[data-kind]:visible")
    assert set(shown.evaluate_all("nodes => nodes.map(node => node.id)")) >= {
        "parasitic-draw", "days-until-no-start",
    }  # fmt: skip
    assert shown.count() < 12
    field.fill("zebra")
    assert shown.count() == 0
    expect(phone.locator("[data-count]")).to_contain_text("Nothing fits")
    field.fill("")
    everything = phone.locator("li[data-kind]:not([hidden])")
    assert everything.count() == len(CATALOGUE.gauges) + len(CATALOGUE.sums)


TYPED = [
    ("12.4 volts engine off", "resting-voltage", "12.4", "V"),
    ("14,2 V engine running", "charging-voltage", "14.2", "V"),
    ("9.6 volts while cranking", "cranking-voltage", "9.6", "V"),
    ("0.35 amps parked", "parasitic-draw", "0.35", "A"),
    ("30 mA asleep", "parasitic-draw", "30", "mA"),
]


@pytest.mark.parametrize("case", TYPED, ids=[typed for typed, *_ in TYPED])
def test_a_number_in_a_search_opens_its_reading_filled_in(phone, site_url, case):
    typed, gauge, value, unit = case
    phone.goto(site_url)
    phone.get_by_label("Say it in your own words").fill(typed)
    phone.locator(f'[data-found] a[href*="readings/#{gauge}&"]').tap()
    expect(phone.locator("#entry-value")).to_have_value(value)
    expect(phone.locator("#entry-value-unit")).to_have_value(unit)


def test_a_unit_alone_lists_what_is_measured_in_it(phone, site_url):
    phone.goto(site_url)
    phone.get_by_label("Say it in your own words").fill("amps")
    expect(phone.locator('[data-found] a[href$="readings/#parasitic-draw"]')).to_be_visible()


def test_way_back_leads_to_the_place_in_the_list(phone, site_url):
    open_shelf(phone, site_url)
    link = phone.locator("#freezing-point a")
    phone.locator("details:has(#freezing-point) > summary").tap()
    link.tap()
    expect(phone.locator("#entry-charge")).to_be_visible()
    phone.go_back()
    expect(link).to_be_focused()
    assert link.evaluate("node => node.getBoundingClientRect().top < innerHeight")


def test_gauge_and_sum_pages_lead_here(phone, site_url):
    for page, name in (
        ("gauges/charging-voltage/", "charging-voltage"),
        ("sums/load-test/", "load-test"),
    ):
        phone.goto(site_url + page)
        phone.locator("a.control").first.tap()
        expect(phone.locator("#entry-title")).to_be_focused()
        assert phone.url.endswith(f"readings/#{name}")


def test_unknown_address_shows_the_list(phone, site_url):
    phone.goto(f"{site_url}readings/#no-such-reading")
    expect(phone.locator("#shelf-words")).to_be_visible()
    phone.locator("#shelf-words").fill("resting")
    expect(phone.locator("#resting-voltage a")).to_be_visible()


# ---- the same answer as on the command line


@pytest.mark.parametrize(
    ("gauge", "fields"),
    [
        ("resting-voltage", {"value": "12.41"}),
        ("resting-voltage", {"value": "12.6", "battery-type": "agm", "meter": "cheap"}),
        ("load-test-voltage", {"value": "8.8", "temperature": ("20", "degF")}),
        ("charging-voltage", {"value": "14.9", "temperature": ("-10", "degC")}),
        ("parasitic-draw", {"value": ("60", "mA")}),
    ],
)
def test_gauges_say_what_the_command_line_says(phone, site_url, gauge, fields):
    open_entry(phone, site_url, gauge)
    enter(phone, fields)
    submit(phone)
    pairs = [
        f"{name}={' '.join(one) if isinstance(one, tuple) else one}" for name, one in fields.items()
    ]
    told = reading_document(CATALOGUE, gauge, pairs)
    verdict = answer(phone).locator(".verdict").evaluate("node => node.firstChild.data")
    assert verdict == told["sentence"]
    assumed = (
        answer(phone).locator("h3", has_text="What we assumed").locator("xpath=..").locator("li")
    )
    wanted = [words for words in told["assumptions"] if "No unit given" not in words]
    said = assumed.evaluate_all("nodes => nodes.map(node => node.firstChild.data)")
    assert said == wanted


@pytest.mark.parametrize(("degrees", "count"), [("-12", 1), ("-5", 0)])
def test_flat_volts_in_hard_frost_begin_with_the_stop_line(phone, site_url, degrees, count):
    # TM 5-4210: a battery with nothing left freezes at 15 degF, which is -9.4 degC.
    open_entry(phone, site_url, "resting-voltage")
    enter(phone, {"value": "11.5", "battery-type": "flooded", "temperature": (degrees, "degC")})
    submit(phone)
    expect(answer(phone)).to_contain_text("11.5 V: empty")
    stop = answer(phone).get_by_text(CATALOGUE.vocabulary.stop_lines["battery-may-be-frozen"].text)
    expect(stop).to_have_count(count)


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_sums_say_what_the_command_line_says(phone, site_url, name):
    open_entry(phone, site_url, name)
    enter(phone, EXAMPLES[name])
    submit(phone)
    pairs = [
        f"{key}={one[0]} {one[1]}" if isinstance(one, tuple) else f"{key}={one}"
        for key, one in EXAMPLES[name].items()
    ]
    told = sum_command(CATALOGUE, name, pairs)
    assert (
        answer(phone).locator(".verdict").evaluate("node => node.firstChild.data")
        == told["sentence"]
    )
    assert answer(phone).locator("tbody tr").count() == len(told["outputs"])


# ---- slips and refusals


def test_likely_slip_is_asked_about_and_either_answer_is_taken(phone, site_url):
    open_entry(phone, site_url, "resting-voltage")
    enter(phone, {"value": "1.24", "battery-type": "flooded"})
    submit(phone)
    expect(phone.locator("#slip-title")).to_be_focused()
    expect(phone.locator("#slip-title")).to_have_text("Did you mean 12.4 V?")
    assert answer(phone).count() == 0
    phone.get_by_role("button", name="Yes, 12.4 V").tap()
    expect(answer(phone)).to_contain_text("12.4 V")
    assert phone.locator("#entry-value").input_value() == "12.4"
    enter(phone, {"value": "1.24"})
    submit(phone)
    phone.get_by_role("button", name="No, it is 1.24 V").tap()
    expect(answer(phone).locator("h2")).to_have_text("1.24 V: empty")


def test_fahrenheit_typed_as_celsius_is_asked_about(phone, site_url):
    open_entry(phone, site_url, "resting-voltage")
    enter(phone, {"value": "12.4", "temperature": ("75", "degC")})
    submit(phone)
    phone.get_by_role("button", name=re.compile("Yes, 75 °F")).tap()
    expect(answer(phone)).to_be_visible()
    assert phone.locator("#entry-temperature-unit").input_value() == "degF"


def test_slip_in_a_sum_is_asked_about(phone, site_url):
    open_entry(phone, site_url, "charge-from-voltage")
    enter(phone, {"voltage": "124"})
    submit(phone)
    phone.get_by_role("button", name="Yes, 12.4 V").tap()
    expect(answer(phone)).to_contain_text("charged")
    assert phone.locator("#entry-voltage").input_value() == "12.4"


@pytest.mark.parametrize(
    "mistake",
    [
        ("resting-voltage", {"value": ""}, "value", "Type a number, for example"),
        ("resting-voltage", {"value": "abc"}, "value", "is not a number"),
        ("resting-voltage", {"value": "12,345"}, "value", "two things"),
        (
            "resting-voltage",
            {"value": "12.4", "temperature": "mild"},
            "temperature",
            "not a number",
        ),
        ("days-until-no-start", {"draw": ""}, "draw", "This sum needs"),
        ("drop-limit", {"current": "180"}, "path", "This sum needs"),
        ("drop-limit", {"path": "cranking-circuit"}, "current", "needs the current"),
        ("freezing-point", {"temperature": "-5"}, "charge", "state of charge or"),
        ("reserve-capacity", {"reserve": "0"}, "reserve", "outside"),
    ],
)
def test_what_cannot_be_used_is_said_beside_its_field(phone, site_url, mistake):
    name, fields, at, words = mistake
    open_entry(phone, site_url, name)
    enter(phone, fields)
    submit(phone)
    field = phone.locator(f"#entry-{at}")
    message = phone.locator(".refused")
    expect(message).to_contain_text(words)
    expect(field).to_be_focused()
    assert field.get_attribute("aria-invalid") == "true"
    assert field.get_attribute("aria-describedby") == message.get_attribute("id")
    below = message.evaluate(
        "node => node.previousElementSibling.querySelector('input, select').id"
    )
    assert below == f"entry-{at}"
    assert answer(phone).count() == 0


def test_refusal_goes_away_when_mended(phone, site_url):
    open_entry(phone, site_url, "reserve-capacity")
    enter(phone, {"reserve": "many"})
    submit(phone)
    expect(phone.locator(".refused")).to_contain_text("not a number")
    enter(phone, {"reserve": "100"})
    submit(phone)
    expect(answer(phone)).to_be_visible()
    expect(phone.locator(".refused")).to_be_empty()
    assert phone.locator("[aria-invalid]").count() == 0


# ---- into the reader's case


def test_use_in_my_check_arrives_in_the_checker(phone, site_url):
    phone.goto(f"{site_url}checker/#s={SYMPTOM}")
    first_step(phone)
    open_entry(phone, site_url, "resting-voltage")
    enter(phone, {"value": "12.1", "battery-type": "flooded", "rest": "overnight"})
    submit(phone)
    phone.get_by_role("button", name="Use this in my check").tap()
    phone.wait_for_url("**/checker/")
    expect(phone.locator("#latest-title")).to_contain_text("12.1 V")
    state = kept(phone)["state"]
    assert state["readings"]["measure-resting-voltage"] == {
        "value": 12.1, "unit": "V", "battery-type": "flooded", "rest": "overnight",
    }  # fmt: skip
    # The battery's type is a lasting fact, how long it stood is not.
    assert state["context"] == {"battery-type": "flooded"}
    assert kept(phone)["past"][-1]["readings"] == {}


def test_sum_gives_its_reading_to_an_empty_case(phone, site_url):
    open_entry(phone, site_url, "drop-limit")
    enter(phone, {"path": "positive-cranking", "drop": "0.7", "current": "180"})
    submit(phone)
    phone.get_by_role("button", name="Use this in my check").tap()
    phone.wait_for_url("**/checker/")
    expect(phone.get_by_label("Say it in your own words")).to_be_visible()
    assert kept(phone)["state"]["readings"]["measure-drop-positive-cranking"] == {
        "value": 0.7, "unit": "V", "cranking-current": {"value": 180, "unit": "A"},
    }  # fmt: skip


def test_reading_that_would_be_replaced_is_named_first(phone, site_url):
    for value, note in (("12.1", ""), ("12.6", "12.1 V")):
        open_entry(phone, site_url, "resting-voltage")
        enter(phone, {"value": value})
        submit(phone)
        said = phone.locator(".use [role=status]").inner_text()
        assert note in said
        assert (said == "") == (note == "")
        phone.get_by_role("button", name="Use this in my check").tap()
        phone.wait_for_url("**/checker/")
    assert kept(phone)["state"]["readings"]["measure-resting-voltage"]["value"] == 12.6


def test_what_the_case_knows_of_the_battery_is_filled_in(phone, site_url):
    open_entry(phone, site_url, "resting-voltage")
    enter(phone, {"value": "12.5", "battery-type": "agm"})
    submit(phone)
    phone.get_by_role("button", name="Use this in my check").tap()
    phone.wait_for_url("**/checker/")
    open_entry(phone, site_url, "charger-voltage")
    assert phone.locator("#entry-battery-type").input_value() == "agm"


def test_where_nothing_can_be_kept_it_is_said(own_phone, site_url):
    own_phone.add_init_script("Storage.prototype.setItem = () => { throw new Error('full'); };")
    open_entry(own_phone, site_url, "resting-voltage")
    enter(own_phone, {"value": "12.5"})
    submit(own_phone)
    own_phone.get_by_role("button", name="Use this in my check").tap()
    expect(own_phone.locator(".use [role=status]")).to_contain_text("keeps nothing")
    assert "readings/" in own_phone.url


# ---- every figure has its mark

# A figure is covered by a mark in its marked block, or by being a link to a source itself.
# Left out: what the reader typed, counts of list entries, the options of a list (the page of
# the sum shows them with marks), and how a number is to be written.
WALK = """() => {
  const found = [];
  const walker = document.createTreeWalker(document.querySelector("main"), NodeFilter.SHOW_TEXT);
  let seen = 0;
  while (walker.nextNode()) {
    const text = walker.currentNode.data;
    const holder = walker.currentNode.parentElement;
    if (!/[0-9]/.test(text) || holder.closest("[hidden], option, [data-given], [data-count]")) continue;
    if (holder.closest('a[href*="sources/"]') || (holder.closest(".refused") && /Write/.test(text))) continue;
    seen += 1;
    const marks = holder.closest(".marked")?.querySelectorAll(".mark") ?? [];
    if (marks.length === 0) found.push(text.trim());
    for (const mark of marks) found.push({ words: mark.textContent, to: mark.getAttribute("href") });
  }
  return { found, seen };
}"""


def unmarked(page):
    """Return figures without a mark, and how many figures were looked at."""
    told = page.evaluate(WALK)
    for mark in (one for one in told["found"] if isinstance(one, dict)):
        assert mark["words"] in AGREED, mark
        if mark["to"] is None:
            continue
        source = re.fullmatch(r"\.\./sources/([a-z0-9-]+)/", mark["to"])
        known = source is not None and source[1] in CATALOGUE.sources
        assert known or mark["to"] == "../guide/our-numbers/", mark
    return [one for one in told["found"] if isinstance(one, str)], told["seen"]


def test_every_figure_of_the_list_has_its_mark(phone, site_url):
    open_shelf(phone, site_url)
    assert unmarked(phone) == ([], pytest.approx(8, abs=6))


@pytest.mark.parametrize("kind", ["gauge", "sum"])
def test_every_figure_of_every_entry_and_answer_has_its_mark(phone, site_url, kind):
    names = CATALOGUE.gauges if kind == "gauge" else CATALOGUE.sums
    looked_at = 0
    for name in names:
        open_entry(phone, site_url, name)
        assert unmarked(phone)[0] == [], name
        enter(phone, EXAMPLES[name] if kind == "sum" else {"value": PLAIN_READINGS[name]})
        submit(phone)
        expect(answer(phone)).to_be_visible()
        left, seen = unmarked(phone)
        assert left == [], name
        looked_at += seen
    assert looked_at > 5 * len(names)


def test_the_walk_finds_a_figure_without_a_mark(phone, site_url):
    open_entry(phone, site_url, "resting-voltage")
    phone.locator("#entry-title").evaluate("node => node.after('Charge below 12.4 V.')")
    assert unmarked(phone)[0] == ["Charge below 12.4 V."]


# ---- accessibility, screen, offline


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_serious_in_any_state(phone, site_url, scheme):
    phone.emulate_media(color_scheme=scheme)
    open_shelf(phone, site_url)
    assert serious(phone) == []
    open_entry(phone, site_url, "resting-voltage")
    assert serious(phone) == []
    for value, state in (("abc", ".refused:not(:empty)"), ("1.24", ".slip"), ("12.35", ".answer")):
        enter(phone, {"value": value})
        submit(phone)
        expect(phone.locator(state)).to_be_visible()
        assert serious(phone) == []
    open_entry(phone, site_url, "fuse-drop-current")
    enter(phone, {"drop": "0.5", "fuse": "mini-15"})
    submit(phone)
    expect(answer(phone)).to_be_visible()
    assert serious(phone) == []


# 44 CSS px is the target size of WCAG 2.1 success criterion 2.5.5.
def test_controls_are_large_enough_for_a_thumb(phone, site_url):
    open_entry(phone, site_url, "resting-voltage")
    enter(phone, {"value": "12.35"})
    submit(phone)
    assert phone.evaluate(TOO_SMALL) == []


def test_nothing_is_fetched_after_the_page_is_there(phone, site_url):
    open_shelf(phone, site_url)
    phone.context.set_offline(True)
    phone.locator("details:has(#resting-voltage) > summary").tap()
    phone.locator("#resting-voltage a").tap()
    enter(phone, {"value": "12.35"})
    submit(phone)
    expect(answer(phone).locator(".scale svg")).to_be_visible()
    phone.locator(".desk > .folio a").tap()
    phone.locator("details:has(#cold-margin) > summary").tap()
    phone.locator("#cold-margin a").tap()
    enter(phone, {"temperature": "-10"})
    submit(phone)
    expect(answer(phone).locator("table")).to_be_visible()


def test_without_script_the_list_leads_to_the_pages(browser, site_url):
    context = browser.new_context(java_script_enabled=False, viewport=PHONE)
    page = context.new_page()
    page.goto(f"{site_url}readings/")
    page.locator("#days-until-no-start a").click()
    assert page.url.endswith("/sums/days-until-no-start/")
    assert page.locator("#example").is_visible()
    context.close()


def test_stop_line_comes_before_the_picture(phone, site_url):
    # The check's file: above 15 V while charging it says to stop now.
    open_entry(phone, site_url, "charging-voltage")
    enter(phone, {"value": "16.2", "charging-control": "conventional", "temperature": "20"})
    submit(phone)
    first = answer(phone).locator("> *").first
    expect(first).to_have_class(re.compile("stop-now"))
