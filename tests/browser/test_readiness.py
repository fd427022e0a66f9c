"""Ready for inspection, in real Chromium on a phone's screen: five owners, and every kind of mistake.

The oracle of each journey is the advice a careful practitioner would give, written out beside it.
Verdicts follow the worked cases of the places' own texts (Illinois 35 Ill. Adm. Code 276.209(c),
the New York brochure on readiness, the California newsletters of 2019 and 2025). Accessibility is
judged by axe-core.
"""

import json
import re

import pytest
from playwright.sync_api import expect

from tests.browser.phone import PHONE, said, serious

CASE_KEY, KEPT_KEY = "before-parts-case", "before-parts-readiness"
SHEET = re.compile(rb"/Type\s*/Page\b(?!s)")
# A readout with plenty of driving behind it: 30 warm-ups, 900 km, half a tank, no codes.
DRIVEN = "7E8 03 41 30 1E\n7E8 04 41 31 03 84\n7E8 03 41 2F 80\n7E8 02 43 00\n7E8 02 47 00"


def open_page(page, site_url, fragment=""):
    page.goto(f"{site_url}readiness/{fragment}")
    expect(page.get_by_role("heading", name="Read the monitors")).to_be_visible()
    return page


def paste(page):
    page.locator("#way-text").check()


def example(page, name):
    paste(page)
    if page.locator('[data-keep="examples"]').get_attribute("open") is None:
        open_fold(page, "examples")
    page.get_by_role("button", name=name).tap()


def read(page, text):
    paste(page)
    page.get_by_label("What the reader shows").fill(text)
    page.locator('[data-read="text"]').tap()
    expect(page.locator("#found-title")).to_be_focused()


def tell_car(page, place, year, fuel):
    page.get_by_label("Where is it inspected?").select_option(place)
    page.get_by_label("Model year").fill(str(year))
    page.get_by_label("Fuel", exact=True).select_option(fuel)


def open_fold(page, key):
    page.locator(f'[data-keep="{key}"] > summary').tap()


def part(page, name):
    return page.locator(f"#{name} .part-answer")


def expect_first(page, monitor, cause):
    """Expect a cause as the likeliest blocker of a monitor."""
    row = page.locator(f'[data-monitor="{monitor}"] .bars > li').first
    expect(row).to_have_attribute("data-cause", cause)


def plan_state(page):
    return page.locator("#plan [data-plan]").get_attribute("data-plan")


def kept_told(page):
    """Return what the page keeps of the typed facts, field by field."""
    return page.evaluate("(key) => JSON.parse(localStorage.getItem(key)).told", KEPT_KEY)


# -- five owners -----------------------------------------------------------------------------


def test_battery_changed_yesterday(phone, site_url):
    """Not yet. Nothing shown here is broken: losing power wiped the results a day ago, and five
    tests wait for their turn. Illinois would turn the car away, which is no failed test. Leave
    codes and battery alone, drive three ordinary days with cold starts and a half-full tank,
    read after each, and go once four of the five have finished.
    """
    page = open_page(phone, site_url)
    example(page, "Battery changed yesterday")
    tell_car(page, "us-il", 2012, "gasoline")
    go = part(page, "go")
    expect(go.locator("[data-result]")).to_have_attribute("data-result", "reject")
    expect(go).to_contain_text("That is not a failed test")
    expect(go).to_contain_text("Complete 4 more of: catalyst")
    expect(go).to_contain_text("Check the live text before you go")
    open_fold(page, "why-facts")
    page.get_by_label(re.compile("Was the battery disconnected")).select_option("disconnected")
    why = part(page, "why")
    expect(why.locator("[data-hint]")).to_have_attribute("data-hint", "recent-reset")
    expect(why).to_contain_text("have not had their chance yet")
    for monitor in ("catalyst", "evaporative-system", "oxygen-sensor"):
        expect_first(page, monitor, "memory-lost-by-disconnection")
    plan = part(page, "plan")
    assert plan_state(page) == "plan"
    words = plan.inner_text()
    caution = words.index("Do not clear codes or disconnect the battery now")
    assert caution < words.index("Let it stand")
    assert words.index("drive that one instead") < words.index("Let it stand")
    expect(plan).to_contain_text("driven on 3 days")
    expect(plan).to_contain_text("let a passenger read")
    open_fold(page, "plan-notes")
    expect(plan).to_contain_text("What counts is separate cold starts")


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_plan_alone_goes_on_two_sheets_of_paper(phone, site_url, paper):
    """A4 is 210 x 297 mm (ISO 216), Letter 8.5 x 11 in (ANSI Y14.1); pages as Chromium's PDF has."""
    page = open_page(phone, site_url)
    example(page, "Battery changed yesterday")
    tell_car(page, "us-il", 2012, "gasoline")
    expect(part(page, "plan").locator(".steps")).to_be_visible()
    assert 1 <= len(SHEET.findall(page.pdf(format=paper))) <= 2
    page.emulate_media(media="print")
    for name in ("readout", "go", "why", "last-resorts"):
        expect(page.locator(f"#{name}")).to_be_hidden()
    expect(page.get_by_text("Read nothing while you drive")).to_be_visible()
    expect(page.locator("[data-step='plan']")).to_be_hidden()
    expect(page.get_by_role("button", name="Print the plan")).to_be_hidden()
    expect(page.locator("svg.qr")).to_be_visible()


def test_weak_charging_blocks_the_oxygen_sensor_monitor(phone, site_url):
    """Do not drive for it and buy no sensor. The computer saw 10.6 V on the road and the charging
    reads 12.2 V at the battery: mend the charging first. That this is why the monitor waits is
    likely, by reasoning; no law says so.
    """
    reading = {"value": 12.2, "unit": "V", "charging-control": "conventional", "meter": "good"}
    state = {
        "chosen": ["red-charging-lamp"],
        "readings": {"measure-charging-voltage": reading},
        "view": "check",
    }
    phone.goto(f"{site_url}stay-safe/")
    phone.evaluate(
        "([key, text]) => localStorage.setItem(key, text)", [CASE_KEY, json.dumps({"state": state})]
    )
    page = open_page(phone, site_url)
    read(page, f"7E8 06 41 01 00 07 65 20\n{DRIVEN}")
    open_fold(page, "why-facts")
    page.get_by_label("Lowest module voltage with the engine running").fill("10.6")
    why = part(page, "why")
    expect(why.locator("[data-hint]")).to_have_attribute("data-hint", "blocked")
    # That drives lacked something may be so as well; what charges comes first all the same.
    blockers = page.locator('[data-monitor="oxygen-sensor"] .bars > li')
    expect(blockers.and_(page.locator('[data-cause="alternator-weak"]'))).to_have_count(1)
    expect(why.locator("[data-step]")).not_to_have_attribute("data-step", "plan")
    expect(why.locator("[data-supply]")).to_have_attribute("data-supply", "failing")
    expect(why).to_contain_text("The case kept on this device counts here too")
    expect(why).to_contain_text("our reasoning and common practice")
    assert not re.search(r"law (allows|permits)", page.locator("main").inner_text())
    assert plan_state(page) == "hold"
    expect(part(page, "plan")).to_contain_text("Fix that first")
    expect(part(page, "plan").locator(".steps")).to_have_count(0)


def test_full_tank_holds_the_vapor_test(phone, site_url):
    """In New York the car may go as it is: one incomplete monitor is allowed from 2001. If the
    vapor test is wanted too, more miles will not bring it; a tank near the middle will.
    """
    page = open_page(phone, site_url)
    example(page, "Always a full tank")
    expect(page.locator("#found-title")).to_have_text(
        "3 of 4 counted monitors are complete. Evaporative system is not."
    )
    tell_car(page, "us-ny", 2012, "gasoline")
    go = part(page, "go")
    expect(go.locator("[data-result]")).to_have_attribute("data-result", "pass")
    expect(go).to_contain_text("Incomplete: 1. The rule allows 1.")
    expect(go).to_contain_text("What would undo it")
    expect_first(page, "evaporative-system", "fuel-level-out-of-range")
    why = part(page, "why")
    expect(why).to_contain_text("Bring the tank to about half full")
    step = why.locator("[data-step]")
    expect(step).to_have_attribute("data-step-id", "fuel-level-out-of-range")
    expect(why.locator("[data-first]")).to_have_attribute("data-first", "fuel-level-out-of-range")
    open_fold(page, "why-evaporative-system")
    expect(why).to_contain_text("Not met, by what you told us: fuel in the tank.")
    expect(why.locator('[data-cause="fuel-level-out-of-range"] a').nth(1)).to_have_attribute(
        "href", "../checks/check-fuel-level/"
    )
    # Something comes before the drives, so they are folded away.
    expect(part(page, "plan").locator(".steps")).to_be_hidden()
    open_fold(page, "plan-anyway")
    assert plan_state(page) == "settle-first"
    expect(part(page, "plan")).to_contain_text("between a quarter and three quarters")


def test_thermostat_stuck_open(phone, site_url):
    """The engine never gets warm: 62 degrees Celsius after a quarter of an hour. Catalyst and sensor tests
    wait for warmth, so more driving is in vain. Check the warm-up from cold, then the
    thermostat; sensors and catalyst are not to be bought on this.
    """
    page = open_page(phone, site_url)
    read(page, f"7E8 06 41 01 00 07 65 21\n{DRIVEN}")
    open_fold(page, "why-facts")
    page.get_by_label("Coolant after 15 minutes of driving", exact=True).fill("62")
    why = part(page, "why")
    for monitor in ("catalyst", "oxygen-sensor"):
        expect_first(page, monitor, "thermostat-stuck-open")
    expect(why.locator("[data-first]")).to_have_attribute("data-first", "thermostat-stuck-open")
    expect(why.locator("[data-step]")).not_to_have_attribute("data-step", "plan")
    expect(part(page, "plan").locator(".steps")).to_be_hidden()
    open_fold(page, "why-oxygen-sensor")
    expect(why).to_contain_text("Not met, by what you told us: highest coolant temperature.")


def test_ready_but_a_permanent_code(phone, site_url):
    """Ask the Bureau before going. All monitors are complete, yet a permanent code is stored;
    one account fails the car, another leaves the code out after 15 warm-ups and 200 miles. No
    tool clears it: it goes when its own test has run and found nothing.
    """
    page = open_page(phone, site_url)
    example(page, "Ready, with a permanent code")
    expect(page.locator("#found-title")).to_have_text("All 5 counted monitors are complete.")
    tell_car(page, "us-ca", 2013, "gasoline")
    go = part(page, "go")
    expect(go.locator("[data-result]")).to_have_attribute("data-result", "undecided")
    expect(go).to_contain_text("The rule is changing")
    expect(go).to_contain_text("Permanent codes stored: 1.")
    expect(go).to_contain_text("Ask the authority how a permanent code is treated.")
    expect(go).to_contain_text("Since 2025-10-01")
    # Nothing is left to explain or to drive for.
    expect(page.locator("#why, #plan").filter(visible=True)).to_have_count(0)


# -- honest about what cannot be used --------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "state"),
    [
        ("41 01 00 00 00 00", "all-zero"),
        ("41 01 00 07", "short"),
        ("7E8 06 41 01 00 07 65 00\n7E9 06 41 01 00 0F EB 00", "contradictory"),
        ("0101\rNO DATA\r\r>", "no-answer"),
        ("41 41 00 07 65 00", "this-trip-only"),
        ("", "empty"),
        ("my car is fine \U0001f600 <b>ready</b> " + "zz " * 500, "nothing-recognised"),
    ],
)
def test_unusable_text_never_looks_ready(phone, site_url, text, state):
    page = open_page(phone, site_url, "#p=us-ny")
    read(page, text)
    tell_car(page, "us-ny", 2012, "gasoline")
    expect(page.locator("#readout .found")).to_have_attribute("data-state", state)
    assert page.locator("#go [data-result]").get_attribute("data-result") not in {
        "pass", "interim-pass",
    }  # fmt: skip
    assert "complete." not in page.locator("#found-title").inner_text()
    # What nothing can be said about yet is not there.
    expect(page.locator("#why")).to_be_hidden()
    expect(page.locator("#plan")).to_be_hidden()
    assert (
        page.evaluate("document.querySelectorAll('#readout .found b, .found script').length") == 0
    )


def test_number_that_cannot_be_is_refused_beside_its_field(phone, site_url):
    page = open_page(phone, site_url, "#p=us-ny")
    year = page.get_by_label("Model year")
    year.fill("twelve")
    year.blur()
    expect(page.locator("#told-year-refused")).to_contain_text("from 1960 to 2100")
    expect(year).to_have_attribute("aria-invalid", "true")
    year.fill("2012")
    expect(page.locator("#told-year-refused")).to_have_text("")


def test_number_with_a_comma_is_asked_about_and_never_taken_as_a_fraction(phone, site_url):
    """Take "1,500" miles as not told: most who type it mean thousands, and 1.5 says cleared today."""
    page = open_page(phone, site_url)
    read(page, "7E8 06 41 01 00 07 65 04\n7E8 03 41 30 1E")
    open_fold(page, "why-facts")
    page.get_by_label("Unit: Distance since codes were cleared").select_option("mi")
    distance = page.get_by_label("Distance since codes were cleared", exact=True)
    distance.fill("1.5")
    distance.blur()
    near = part(page, "why").inner_text()
    distance.fill("")
    distance.blur()
    unknown = part(page, "why").inner_text()
    assert near != unknown
    distance.press_sequentially("1,500")
    distance.blur()
    expect(page.locator("#told-distance-refused")).to_contain_text("can mean two things")
    expect(distance).to_have_attribute("aria-invalid", "true")
    assert part(page, "why").inner_text() == unknown
    assert kept_told(page).get("distance", "") == ""
    # What an older page kept as typed is asked about as well, and counts as not told.
    page.evaluate(
        """(key) => { const kept = JSON.parse(localStorage.getItem(key));
        localStorage.setItem(key, JSON.stringify({ ...kept, told: { ...kept.told, distance: "1,500" } })); }""",
        KEPT_KEY,
    )
    page.reload()
    expect(page.locator("#told-distance-refused")).to_contain_text("can mean two things")
    assert part(page, "why").inner_text() == unknown


def test_place_without_a_rule_says_what_to_ask(phone, site_url):
    page = open_page(phone, site_url)
    read(page, "41 01 00 07 65 00")
    for place in ("us-nj", "elsewhere"):
        tell_car(page, place, 2012, "gasoline")
        go = part(page, "go")
        expect(go.locator("[data-result]")).to_have_attribute("data-result", "no-rule")
        expect(go).to_contain_text("What to ask")
        expect(go).to_contain_text("How many monitors may be incomplete for my model year")


def test_supply_code_leads_to_the_checker_and_others_to_nothing(phone, site_url):
    page = open_page(phone, site_url)
    read(page, "7E8 06 41 01 83 07 65 00\n7E8 08 43 03 05 62 C1 00 12 34")
    rows = page.locator(".code")
    expect(rows).to_have_count(3)
    # P1234 is a maker's own code: nothing may be said of it.
    expect(page.locator('[data-code="P1234"]')).to_contain_text(
        "We only know which group it belongs to"
    )
    expect(page.locator('[data-code="P1234"] a')).to_have_count(0)
    expect(page.locator('[data-code="P0562"]')).to_contain_text(
        "points back to battery and charging"
    )
    page.locator('[data-code="U0100"] a').first.tap()
    title = "Lost communication codes in several modules"
    said(page, title)


# -- ticks, progress, address ----------------------------------------------------------------


def test_tick_boxes_by_keyboard_alone(phone, site_url):
    page = open_page(phone, site_url)
    # Names to tick are what the page opens with.
    expect(page.locator("#way-ticks")).to_be_checked()
    page.locator("#way-ticks").focus()
    page.keyboard.press("Tab")
    expect(page.locator("#engine-spark")).to_be_focused()
    wanted = {
        "tick-catalyst-complete",
        "tick-evaporative-system-incomplete",
        "tick-oxygen-sensor-complete",
    }
    for _ in range(80):
        page.keyboard.press("Tab")
        here = page.evaluate("document.activeElement.id")
        if here in wanted:
            page.keyboard.press("Space")
        if page.evaluate("document.activeElement.dataset.read") == "ticks":
            break
    page.keyboard.press("Enter")
    expect(page.locator("#found-title")).to_be_focused()
    expect(page.locator("#found-title")).to_have_text(
        "2 of 3 counted monitors are complete. Evaporative system is not."
    )
    # One box of a pair clears the other; a second press leaves both empty.
    pair = [page.locator(f"#tick-catalyst-{state}") for state in ("complete", "incomplete")]
    pair[1].focus()
    page.keyboard.press("Space")
    expect(pair[0]).not_to_be_checked()
    page.keyboard.press("Space")
    expect(pair[1]).not_to_be_checked()


def test_progress_outlives_a_reload_and_a_new_readout_makes_a_new_plan(phone, site_url):
    page = open_page(phone, site_url)
    read(page, "41 01 00 07 65 05")
    open_fold(page, "plan-days")
    page.get_by_label("Day 1: Gentle driving in town").check()
    expect(page.locator("[data-progress]")).to_contain_text("1 of ")
    page.reload()
    expect(page.get_by_label("Day 1: Gentle driving in town")).to_be_checked()
    expect(page.locator("#found-title")).to_contain_text("Catalyst and evaporative system are not.")
    read(page, "41 01 00 07 65 04")
    expect(page.locator("#readout .found")).to_contain_text(
        "Complete since the last readout: catalyst."
    )
    expect(page.get_by_label("Day 1: Gentle driving in town")).not_to_be_checked()
    expect(part(page, "plan")).to_contain_text("For: evaporative system.")
    page.get_by_role("button", name="Forget all this on this device").tap()
    page.get_by_role("button", name="Yes, forget it").tap()
    expect(page.locator("#readout-heading")).to_be_focused()
    expect(page.locator("#plan")).to_be_hidden()
    page.reload()
    expect(page.locator("#readout-text")).to_have_value("")


def test_place_page_hands_its_place_over(phone, site_url):
    phone.goto(f"{site_url}inspections/us-or/")
    phone.get_by_role("link", name="See whether my car may go").tap()
    expect(phone.get_by_label("Where is it inspected?")).to_have_value("us-or")


def test_spoilt_storage_is_survived(phone, site_url):
    phone.goto(f"{site_url}stay-safe/")
    for spoilt in ("{", '{"told": 7, "ticks": [1], "done": {}, "former": 3, "text": {}}', "null"):
        phone.evaluate("([key, text]) => localStorage.setItem(key, text)", [KEPT_KEY, spoilt])
        open_page(phone, site_url)
        expect(phone.locator("#readout-text")).to_have_value("")


def test_without_scripts_the_pages_are_in_reach(new_context, site_url):
    page = new_context(viewport=PHONE, java_script_enabled=False).new_page()
    page.goto(f"{site_url}readiness/")
    for name in ("Evaporative system", "Illinois", "All symptoms of this kind"):
        expect(page.get_by_role("link", name=name).first).to_be_visible()
    page.get_by_role("link", name="Evaporative system").first.click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Evaporative system monitor")


# -- a log of a drive ------------------------------------------------------------------------


def hour_log():
    """One hour at one row a second: idle, town, steady, slowing, stops; a dip to 10.7 V."""
    head = "time (s),engine rpm,vehicle speed (km/h),coolant (degC),intake (degC),ambient (degC)"
    rows = [f"{head},fuel level (%),baro (kPa),control module voltage (V),load (%)"]
    for second in range(3600):
        phase = second % 600
        if second < 180 or phase >= 560:
            speed = 0
        elif phase < 240:
            speed = 35 + second % 7
        elif phase < 480:
            speed = 88
        else:
            speed = max(20, 88 - 2 * (phase - 480))
        rpm = 1200 + 12 * speed if speed else 760
        coolant = min(90, 14 + second // 10)
        volts = 10.7 if 1500 <= second < 1520 else 14.2
        rows.append(f"{second},{rpm},{speed},{coolant},20,14,{62 - second // 600},100,{volts},30")
    return "\n".join(rows)


TO_THE_PLOT = """async (text) => {
  const transfer = new DataTransfer();
  transfer.items.add(new File([text], "drive.csv", {type: "text/csv"}));
  const input = document.querySelector("#trip-file");
  input.files = transfer.files;
  const start = performance.now();
  input.dispatchEvent(new Event("change"));
  while (!document.querySelector(".plot__line")) {
    const refused = document.querySelector(".log-refused");
    if (refused) throw new Error(refused.innerText);
    await new Promise((go) => setTimeout(go, 5));
  }
  await new Promise((go) => requestAnimationFrame(() => setTimeout(go)));
  return performance.now() - start;
}"""


def time_to_the_plot(page, site_url):
    """Return milliseconds (processor of the page, by the clock) on a phone four times slower.

    A fresh load each time. The browser's throttle does not reach the worker that analyses.
    """
    page.goto(f"{site_url}trips/")
    expect(page.locator("#trip-file")).to_be_visible()
    devtools = page.context.new_cdp_session(page)
    devtools.send("Performance.enable", {"timeDomain": "threadTicks"})
    devtools.send("Emulation.setCPUThrottlingRate", {"rate": 4})

    def busy():
        metrics = devtools.send("Performance.getMetrics")["metrics"]
        return next(1000 * one["value"] for one in metrics if one["name"] == "TaskDuration")

    before = busy()
    wall = page.evaluate(TO_THE_PLOT, hour_log())
    spent = busy() - before
    devtools.send("Emulation.setCPUThrottlingRate", {"rate": 1})
    devtools.detach()
    return spent, wall


@pytest.mark.bench
def test_one_hour_log_is_drawn_on_a_slow_phone(own_phone, site_url):
    # Other work on the machine only adds time, so the least of three loads counts.
    runs = [time_to_the_plot(own_phone, site_url) for _ in range(3)]
    least = [round(min(run[part] for run in runs)) for part in (0, 1)]
    print(f"\none hour at 1 Hz, 4x throttle: processor, clock {least} ms of 1000")
    expect(own_phone.locator("#trip-title")).to_be_focused()


def test_one_hour_log_is_analysed_and_drawn(phone, site_url):
    phone.goto(f"{site_url}trips/")
    expect(phone.locator("#trip-file")).to_be_visible()
    phone.evaluate(TO_THE_PLOT, hour_log())
    expect(phone.locator("#trip-title")).to_be_focused()
    # From the log's own making: see hour_log.
    expect(phone.locator("[data-general]")).to_have_attribute("data-general", "met")
    expect(phone.locator("[data-warm]")).to_have_attribute("data-warm", "met")
    expect(phone.locator("section[data-voltage]")).to_have_attribute("data-voltage", "low-seen")
    expect(phone.locator("section[data-voltage]")).to_contain_text("10.70 V")
    catalyst = phone.locator('[data-monitor="catalyst"]')
    expect(catalyst).to_have_attribute("data-chance", "could-not")
    expect(catalyst).to_contain_text("Not met: longest steady stretch.")
    # The figures of a condition stand once, with what asks for it and the way to it in the plot.
    steady = phone.locator('[data-condition="longest-cruise"]').filter(has_text="at least 5 min")
    expect(steady).to_have_count(1)
    expect(steady).to_contain_text("For: catalyst")
    expect(steady).to_have_attribute("data-verdict", "not-met")
    phone.get_by_label("Show", exact=True).select_option("voltage")
    label = phone.locator(".plot__picture").get_attribute("aria-label")
    assert label.startswith("Module voltage")
    assert "low voltage" in label
    idle = phone.locator('[data-condition="first-idle"][data-verdict="met"]').first
    open_fold(phone, "conditions")
    idle.get_by_role("button").tap()
    expect(phone.locator(".plot__stage")).to_be_focused()
    phone.get_by_role("button", name="Use it for that").tap()
    expect(phone.get_by_role("heading", name="Why has it not run?")).to_be_visible()
    kept = phone.evaluate(f"JSON.parse(localStorage.getItem('{KEPT_KEY}')).told")
    assert (kept["voltage-log"], kept["warmed-up"]) == ("low-seen", "yes")


def test_units_are_recognised_asked_for_and_confirmed(phone, site_url):
    phone.goto(f"{site_url}trips/")
    rows = "\n".join(f"{second},800,{60 if second > 60 else 0}" for second in range(700))
    phone.locator('[data-keep="trip-paste"] > summary').tap()
    phone.get_by_label("The text of the log, with its header").fill(f"time,rpm,speed\n{rows}")
    phone.get_by_role("button", name="Read what I pasted").tap()
    fold = phone.locator('[data-keep="columns"]')
    expect(fold.locator("summary")).to_contain_text("Some units need your word")
    # 60 taken as mph is 97 km/h: beyond the steady band's 64 to 97 by a hair, and over 25 mph.
    phone.get_by_label("Unit: Road speed").select_option("mph")
    expect(phone.get_by_label("Unit: Road speed")).to_have_value("mph")
    expect(phone.locator('[data-criterion="speed-strict"]')).to_contain_text("10 min 38 s")
    expect(fold.locator("summary")).not_to_contain_text("need your word")
    # Without outside air and pressure a drive cannot be told to count.
    expect(phone.locator("[data-general]")).to_have_attribute("data-general", "unknown")
    expect(phone.locator("#trips")).to_contain_text("Not in the log: coolant, outside air")
    expect(phone.locator("[data-told]")).to_contain_text(
        "You can tell these yourself: outside air, fuel level, air pressure."
    )


@pytest.mark.parametrize("text", ["", "\x00\x01\x02", "a,b\n1,2\n3,4", "no table at all"])
def test_log_that_is_none_says_why(phone, site_url, text):
    phone.goto(f"{site_url}trips/")
    phone.locator('[data-keep="trip-paste"] > summary').tap()
    phone.get_by_label("The text of the log, with its header").fill(text)
    phone.get_by_role("button", name="Read what I pasted").tap()
    expect(phone.get_by_role("heading", name="This log cannot be read yet")).to_be_focused()
    expect(phone.locator(".log-refused [role=alert]")).not_to_be_empty()


# -- everyone --------------------------------------------------------------------------------


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_serious_violation(phone, site_url, scheme):
    phone.emulate_media(color_scheme=scheme)
    open_page(phone, site_url)
    example(phone, "Battery changed yesterday")
    tell_car(phone, "us-ca", 2012, "gasoline")
    for key in ("retest", "why-facts", "why-catalyst"):
        open_fold(phone, key)
    assert serious(phone) == []
    assert phone.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    phone.locator("#way-ticks").check()
    assert serious(phone) == []
    phone.goto(f"{site_url}trips/")
    expect(phone.locator("#trip-file")).to_be_visible()
    phone.evaluate(TO_THE_PLOT, "\n".join(hour_log().split("\n")[:700]))
    phone.locator('[data-keep="columns"] > summary').tap()
    assert serious(phone) == []
    assert phone.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    for address in ("monitors/", "monitors/evaporative-system/", "inspections/us-ca/"):
        phone.goto(f"{site_url}{address}")
        assert serious(phone) == [], address
        assert phone.evaluate("document.documentElement.scrollWidth") <= PHONE["width"], address


def test_thumb_sized_targets(phone, site_url):
    page = open_page(phone, site_url)
    example(page, "Always a full tank")
    small = page.evaluate(
        """() => [...document.querySelectorAll('#readiness button, #readiness select, #readiness input, .ways a, .days .box')]
          .filter((each) => each.offsetParent !== null && each.type !== 'checkbox' && each.type !== 'radio')
          .filter((each) => each.getBoundingClientRect().height < 43.5)
          .map((each) => each.outerHTML.slice(0, 80))"""
    )
    assert small == []


def test_readout_when_words_are_pasted_then_each_line_is_shown_and_mended_by_a_tap(phone, site_url):
    page = open_page(phone, site_url)
    read(page, "Catalyst RDY\nEvap X\nO2 sensor RDY\nO2 heater RDY\nMIL: off")
    expect(page.locator(".found[data-state=words-unclear]")).to_be_visible()
    expect(page.locator("[data-understood]")).to_have_count(4)
    unclear = page.locator("[data-understood=evaporative-system]")
    expect(unclear).to_have_attribute("data-state", "unclear")
    unclear.get_by_role("button", name="Evaporative system: incomplete").tap()
    expect(page.locator("#tick-catalyst-complete")).to_be_checked()
    expect(page.locator("#tick-evaporative-system-incomplete")).to_be_checked()
    expect(page.locator("#found-title")).to_contain_text("Evaporative system is not")


def test_go_when_the_lamp_is_on_in_a_place_without_a_count_then_the_federal_text_fails_it(
    phone, site_url
):
    page = open_page(phone, site_url)
    read(page, "41 01 83 07 65 00")
    tell_car(page, "us-tx", 2010, "gasoline")
    expect(part(page, "go")).to_contain_text("40 CFR 85.2207")
    expect(part(page, "go").locator(".found")).to_have_attribute("data-result", "fail")
    tell_car(page, "us-tx", 2010, "diesel")
    expect(part(page, "go").locator(".found")).to_have_attribute("data-result", "out-of-scope")
    # What the place's own texts say of cost and waivers, and what to ask where none was seen.
    open_fold(page, "go-place")
    expect(part(page, "go")).to_contain_text("A low-mileage waiver is for a car that failed")
    expect(part(page, "go")).to_contain_text("We found no text on how to get ready here.")


# -- what more is read -----------------------------------------------------------------------


def test_lamp_watched_with_the_key_on_tells_without_a_reader(phone, site_url):
    """13 CCR 1968.2(d)(2.1.3): a maker may let the lamp tell readiness with the key on. A lamp that
    never lights fails under 40 CFR 85.2207(b), whatever the monitors say.
    """
    page = open_page(phone, site_url)
    page.locator("#way-lamp").check()
    for seen, words in (
        ("blinks", "not ready"),
        ("steady", "The car says it is ready"),
        ("dark", "fail"),
    ):
        page.get_by_label("What does the check engine light do?").select_option(seen)
        expect(page.locator("#readout [data-lamp]")).to_have_attribute("data-lamp", seen)
        expect(page.locator("#found-title")).to_contain_text(words)
    page.get_by_label("What does the check engine light do?").select_option("steady")
    expect(page.locator("#readout .found")).to_contain_text("An inspection reads the computer")
    # A lamp is no readout: no rule says ready from it.
    tell_car(page, "us-ny", 2012, "gasoline")
    expect(page.locator("#go [data-result]")).to_have_attribute("data-result", "indeterminate")


def test_freeze_frame_and_counts_of_past_runs_are_shown_and_used(phone, site_url):
    page = open_page(phone, site_url)
    counts = "49 08 10 00 50 01 00 " + "00 00 00 00 " * 6 + "00 00 00 3C"
    frame = "42 02 00 04 56\n42 0C 00 1A F8\n42 05 00 7B"
    read(page, f"7E8 06 41 01 00 07 65 04\n{DRIVEN}\n{frame}\n{counts}")
    open_fold(page, "freeze")
    expect(page.locator('[data-freeze="P0456"]')).to_contain_text("1726 rpm")
    expect(page.locator('[data-freeze="P0456"]')).to_contain_text("83")
    open_fold(page, "ratios")
    row = page.locator('[data-ratio-of="evaporative-system"]')
    expect(row).to_contain_text("finished 0 times, on 60 drives")
    expect(page.locator("#why [data-ratio]")).to_have_attribute("data-ratio", "never")


def test_lamp_on_with_a_code_plans_no_drive_and_says_what_comes_first(phone, site_url):
    page = open_page(phone, site_url)
    read(page, "7E8 06 41 01 81 07 65 04\n7E8 04 43 01 04 56\n7E8 02 47 00")
    code = page.locator('[data-code="P0456"]')
    expect(code).to_contain_text("Family: emission control")
    expect(code).to_contain_text("It belongs to: evaporative system")
    expect(code.locator('a[href="../checks/tighten-and-look-at-fuel-cap/"]')).to_have_count(1)
    assert plan_state(page) == "hold"
    expect(part(page, "plan").locator(".steps")).to_have_count(0)
    expect(page.locator("#why [data-first]")).to_have_attribute(
        "data-first", "fuel-cap-not-sealing"
    )
    page.locator("[data-go-on]").tap()
    # The checker goes on with the same evidence.
    expect(page).to_have_url(re.compile("/checker/"))
    kept = page.evaluate("(key) => JSON.parse(localStorage.getItem(key)).state", CASE_KEY)
    assert kept["outcomes"]["code-names-the-vapor-system"] == "names-it"
    assert "evap-code-or-cap-message" in kept["chosen"]


def test_handbook_steps_take_the_place_of_the_plan(phone, site_url):
    page = open_page(phone, site_url)
    read(page, f"7E8 06 41 01 00 07 65 01\n{DRIVEN}")
    assert plan_state(page) == "plan"
    open_fold(page, "plan-own")
    page.get_by_label("Its steps and its conditions, one a line").fill(
        "Park overnight\nDrive 20 minutes at 50 mph"
    )
    page.get_by_role("button", name="Use these").tap()
    expect(page.locator("#plan [data-plan]")).to_have_attribute("data-plan", "own")
    expect(part(page, "plan").locator(".steps > li")).to_have_count(2)
