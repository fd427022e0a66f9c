"""The page for logs in real Chromium, on a phone's screen: reading, plot, findings, bad files.

What a log shows is held against the command line's answer for the same text, and against what
was put into the invented logs. Rules of accessibility are judged by axe-core.
"""

import json
import math
import random
import re

import pytest
from playwright.sync_api import expect

from build_tools.cli.log_documents import voltlog_document
from tests.browser.access import TOO_SMALL
from tests.browser.phone import PHONE, serious

LONG = 200_000
BAR = 2000  # milliseconds, for a long log at a quarter of the speed


def only_fetching(page):
    """Fail, too, if anything but fetching was asked of anybody."""
    asked = []

    def note(request):
        asked.append((request.method, request.url))

    page.on("request", note)
    page.asked = asked
    yield page
    page.remove_listener("request", note)
    assert {method for method, _ in asked} == {"GET"}


@pytest.fixture
def phone(phone):
    yield from only_fetching(phone)


@pytest.fixture
def own_phone(own_phone):
    yield from only_fetching(own_phone)


def open_page(page, site_url):
    page.goto(f"{site_url}logs/")
    expect(page.get_by_label("Open a log with time and volts")).to_be_visible()
    return page


def give(page, text, name="log.csv"):
    """Open a log as a file of this name."""
    data = text if isinstance(text, bytes) else text.encode()
    files = {"name": name, "mimeType": "text/csv", "buffer": data}
    page.locator("#log-file").set_input_files(files)
    expect(page.locator("#log-title")).to_be_visible()
    expect(page.locator(".progress")).to_be_empty()


def drive_log(*, comma=False, delimiter=","):
    """An invented night and drive: rest, one start at 9.80 V, charging with one dip, rest."""
    dice = random.Random(5)
    volts = [12.62 - 0.000_01 * second + dice.gauss(0, 0.004) for second in range(5 * 3600)]
    volts += [12.3, 12.3, 9.8, 10.0, 10.2, 10.4]
    volts += [
        11.7 if 700 < second < 704 else 14.35 + 0.1 * math.sin(second / 50) + dice.gauss(0, 0.02)
        for second in range(1500)
    ]
    volts += [12.9 - 0.1 * (1 - math.exp(-second / 900)) for second in range(3600)]
    rows = [f"{second}{delimiter}{level:.3f}" for second, level in enumerate(volts)]
    if comma:
        rows = [row.replace(".", ",") for row in rows]
    return "\n".join([f"Time (s){delimiter}Battery (V)", *rows])


def long_log():
    """An invented log of 200,000 rows: a long rest, a start, charging."""
    rows = ["time,volts"]
    for second in range(LONG):
        if second < 150_000:
            level = 12.6 - 0.000_001 * second + second * 7919 % 13 * 0.001
        else:
            level = 10.2 if second < 150_004 else 14.3 + second * 31 % 7 * 0.01
        rows.append(f"{second},{level:.3f}")
    return "\n".join(rows)


def shown(page):
    """Return the range in view, in seconds."""
    words = page.locator(".plot [role=status]").inner_text()
    parts = re.findall(r"(\d+):(\d\d):(\d\d)", words)
    return tuple(int(h) * 3600 + int(m) * 60 + int(s) for h, m, s in parts)


# ---- what a log shows


def test_log_says_what_the_command_line_says(phone, site_url):
    text = drive_log()
    give(open_page(phone, site_url), text)
    told = voltlog_document(text, {})
    kinds = [finding["kind"] for finding in told["findings"]]
    assert {"rest", "draw", "crank", "charging"} <= set(kinds)
    assert phone.locator(".said-words").all_inner_texts() == [
        one["sentence"] for one in told["findings"]
    ]
    assert phone.locator("#log-title + p").inner_text() == told["summary"]
    assumed = phone.locator("h3:text('What we assumed') + ul li p")
    said = assumed.evaluate_all("nodes => nodes.map(node => node.firstChild.data)")
    assert said == told["assumptions"]
    assert any("9.80" in sentence for sentence in phone.locator(".said-words").all_inner_texts())


def test_stretches_are_shaded_and_named(phone, site_url):
    give(open_page(phone, site_url), drive_log())
    for kind, count in (("rest", 2), ("crank", 1), ("charging", 1)):
        assert phone.locator(f".plot__area--{kind}").count() == count, kind
    names = set(phone.locator(".plot__name").all_text_contents())
    assert names == {"Rest", "Charging", "Start"}
    title = phone.locator(".plot__picture").get_attribute("aria-label")
    assert "Shaded: rest, start, charging, rest." in title.replace(
        "start, charging", "start, charging"
    )
    boxes = phone.locator(".plot__name").evaluate_all(
        "nodes => nodes.map(node => { const b = node.getBoundingClientRect(); return [b.left, b.right, b.top, b.bottom]; })"
    )
    for place, (left, right, top, bottom) in enumerate(boxes):
        assert 0 <= left < right <= PHONE["width"]
        for other in boxes[place + 1 :]:
            apart = (
                right <= other[0] + 1
                or other[1] <= left + 1
                or bottom <= other[2] + 1
                or other[3] <= top + 1
            )
            assert apart, boxes


def test_plot_shows_the_lowest_row_however_many_share_a_column(phone, site_url):
    """23,000 rows on 312 columns: the single lowest row must still reach its depth."""
    give(open_page(phone, site_url), drive_log())
    line = phone.locator(".plot__line").get_attribute("d")
    heights = [float(y) for _, y in re.findall(r"[ML]([\d.-]+) ([\d.-]+)", line)]
    frame = float(phone.locator(".plot__frame").get_attribute("height"))
    label = phone.locator(".plot__picture").get_attribute("aria-label")
    low, high = (
        float(one) for one in re.search(r"between ([\d.]+) and ([\d.]+) V", label).groups()
    )
    deepest = high - max(heights) / frame * (high - low)
    assert deepest == pytest.approx(9.8, abs=0.02)


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("semicolon and decimal comma", drive_log(comma=True, delimiter=";")),
        ("tab", drive_log(delimiter="\t")),
        ("bar", drive_log(delimiter="|")),
    ],
)
def test_any_delimiter_and_decimal_sign(phone, site_url, name, text):
    give(open_page(phone, site_url), text)
    told = voltlog_document(drive_log(), {})
    assert phone.locator(".said-words").all_inner_texts() == [
        one["sentence"] for one in told["findings"]
    ]


def test_utf_16_is_read(phone, site_url):
    give(open_page(phone, site_url), "\ufefftime;volts\r\n0;12,6\r\n1;12,5\r\n".encode("utf-16-le"))
    expect(phone.locator("#log-title + p")).to_contain_text("2 rows")


def test_pasted_text_is_read(phone, site_url):
    open_page(phone, site_url)
    phone.locator("[data-keep=log-paste] summary").tap()
    phone.locator("#log-text").fill(
        "\n".join(f"{second};12,{60 - second // 9}" for second in range(90))
    )
    phone.get_by_role("button", name="Read what I pasted").tap()
    expect(phone.locator("#log-title + p")).to_contain_text("90 rows")


def test_long_text_is_read_as_it_is_pasted(phone, site_url):
    open_page(phone, site_url)
    phone.locator("[data-keep=log-paste] summary").tap()
    phone.evaluate(
        """text => {
          const clipboardData = new DataTransfer();
          clipboardData.setData("text/plain", text);
          const $field = document.querySelector("#log-text");
          $field.focus();
          $field.dispatchEvent(new ClipboardEvent("paste", { clipboardData, bubbles: true, cancelable: true }));
        }""",
        drive_log(),
    )
    expect(phone.locator(".plot__picture")).to_be_visible()
    assert len(phone.locator("#log-text").input_value()) < 500


def test_columns_are_guessed_and_can_be_changed(phone, site_url):
    rows = ["clock,rpm,cell volts,Battery V"]
    rows += [
        f"{second},{800 + second % 7},1.5,{12.6 if second < 900 else 12.2}"
        for second in range(1800)
    ]
    give(open_page(phone, site_url), "\n".join(rows))
    volts = phone.get_by_label("Column with the volts")
    assert volts.evaluate("node => node.selectedOptions[0].textContent") == "cell volts"
    volts.select_option(label="Battery V")
    expect(phone.locator(".plot__picture")).to_have_attribute("aria-label", re.compile("and 12.6"))
    volts = phone.get_by_label("Column with the volts")
    assert volts.evaluate("node => node.selectedOptions[0].textContent") == "Battery V"
    phone.get_by_label("Column with the volts").select_option(label="rpm")
    expect(phone.locator(".log-refused")).to_be_visible()
    phone.get_by_label("Column with the volts").select_option(label="Battery V")
    expect(phone.locator(".plot__picture")).to_be_visible()


def test_facts_about_the_battery_change_the_draw(phone, site_url):
    text = drive_log()
    give(open_page(phone, site_url), text)
    phone.locator("[data-keep=log-facts] summary").tap()
    phone.locator("#log-capacity").fill("95")
    phone.locator("#log-battery-type").select_option("agm")
    phone.get_by_role("button", name="Read the log with these").tap()
    told = voltlog_document(text, {"capacity": "95", "battery-type": "agm"})
    wanted = [one["sentence"] for one in told["findings"]]
    assert wanted != [one["sentence"] for one in voltlog_document(text, {})["findings"]]
    expect(phone.locator(".said-words").nth(1)).to_have_text(wanted[1])
    assert phone.locator(".said-words").all_inner_texts() == wanted
    phone.locator("#log-capacity").fill("lots")
    phone.get_by_role("button", name="Read the log with these").tap()
    expect(phone.locator(".log-refused")).to_contain_text("“lots” is no capacity")


def test_bad_rows_are_counted_with_reason_and_line(phone, site_url):
    lines = drive_log().split("\n")
    # Line numbers count from 1 with the header, as an editor shows them.
    lines[49] = "oops"
    lines[399] = "398,abc"
    lines[499] = "498,99"
    lines[599] = ""
    lines[699] = "what,12.5"
    give(open_page(phone, site_url), "\n".join(lines))
    fold = phone.locator(".bad-rows")
    expect(fold.locator("summary")).to_have_text("4 rows cannot be used")
    fold.locator("summary").tap()
    assert fold.locator(".plain-lines li").all_inner_texts() == [
        "Line 50: too few cells.",
        "Line 400: no number in the volts column.",
        "Line 500: volts below 0 or above 20.",
        "Line 700: no time that can be read.",
    ]


def test_finding_goes_to_the_checker(phone, site_url):
    give(open_page(phone, site_url), drive_log())
    phone.get_by_role("button", name=re.compile("Use this in my check: Start")).tap()
    phone.wait_for_url("**/checker/")
    kept = json.loads(phone.evaluate("localStorage.getItem('before-parts-case')"))
    assert kept["state"]["readings"] == {"measure-cranking-voltage": {"value": 9.8, "unit": "V"}}


# ---- moving in the plot


def test_buttons_keys_and_wheel_move_the_same_view(phone, site_url):
    give(open_page(phone, site_url), drive_log())
    whole = shown(phone)
    phone.get_by_role("button", name="Zoom in").tap()
    near = shown(phone)
    assert near[1] - near[0] == pytest.approx((whole[1] - whole[0]) / 2, abs=2)
    phone.get_by_role("button", name="Later").tap()
    assert shown(phone)[0] > near[0]
    phone.get_by_role("button", name="Earlier").tap()
    assert shown(phone) == pytest.approx(near, abs=1)
    phone.get_by_role("button", name="Zoom out").tap()
    assert shown(phone) == pytest.approx(whole, abs=1)
    stage = phone.locator(".plot__stage")
    stage.focus()
    for key, test in (
        ("+", lambda now, was: now[1] - now[0] < was[1] - was[0]),
        ("ArrowRight", lambda now, was: now[0] > was[0]),
        ("ArrowLeft", lambda now, was: now[0] < was[0]),
        ("-", lambda now, was: now[1] - now[0] > was[1] - was[0]),
    ):
        was = shown(phone)
        phone.keyboard.press(key)
        assert test(shown(phone), was), key
    phone.keyboard.press("+")
    phone.keyboard.press("Home")
    assert shown(phone) == whole
    box = stage.bounding_box()
    phone.mouse.move(box["x"] + box["width"] / 2, box["y"] + 100)
    words = phone.locator(".plot [role=status]")
    wide = words.inner_text()
    phone.mouse.wheel(0, -200)
    expect(words).not_to_have_text(wide)
    assert shown(phone)[1] - shown(phone)[0] < whole[1] - whole[0]


def test_two_fingers_zoom_and_one_moves(own_phone, site_url):
    give(open_page(own_phone, site_url), drive_log())
    stage = own_phone.locator(".plot__stage")
    stage.scroll_into_view_if_needed()
    box = stage.bounding_box()
    middle, high = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    cdp = own_phone.context.new_cdp_session(own_phone)

    def touch(kind, *places):
        points = [{"x": x, "y": high, "id": place} for place, x in enumerate(places)]
        cdp.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    whole = shown(own_phone)
    touch("touchStart", middle - 20, middle + 20)
    for apart in range(25, 85, 5):
        touch("touchMove", middle - apart, middle + apart)
    touch("touchEnd")
    near = shown(own_phone)
    # Four times as far apart: about a quarter of the time in view.
    assert near[1] - near[0] == pytest.approx((whole[1] - whole[0]) / 4, rel=0.15)
    touch("touchStart", middle + 60)
    for by in range(0, 120, 10):
        touch("touchMove", middle + 60 - by)
    touch("touchEnd")
    moved = shown(own_phone)
    assert moved[0] > near[0]
    assert moved[1] - moved[0] == pytest.approx(near[1] - near[0], abs=2)


def test_finding_shows_its_stretch_in_the_plot(phone, site_url):
    give(open_page(phone, site_url), drive_log())
    phone.get_by_role("button", name=re.compile("Show in the plot: Charging")).tap()
    start, end = shown(phone)
    assert start == pytest.approx(18_006 - 225, abs=10)
    assert end == pytest.approx(19_506 + 225, abs=10)
    expect(phone.locator(".plot__stage")).to_be_focused()


def test_plot_stands_as_a_table_too(phone, site_url):
    give(open_page(phone, site_url), drive_log())
    phone.locator("[data-keep=plot-table] summary").tap()
    expect(phone.locator(".spans tbody tr")).to_have_count(12)
    counts = phone.locator(".spans tbody td:last-child").all_inner_texts()
    assert sum(int(count) for count in counts) == 5 * 3600 + 6 + 1500 + 3600
    lowest = phone.locator(".spans tbody td:nth-child(3)").all_inner_texts()
    assert min(float(text.split("\u00a0")[0]) for text in lowest) == 9.8
    phone.get_by_role("button", name="Zoom in").tap()
    assert phone.locator(".spans tbody th").first.inner_text() != "0:00:00"


# ---- files that are no log


BAD = {
    "empty": ("", "The file is empty."),
    "blank": (" \n\t\n", "The file is empty."),
    "binary": (b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 40, "no text with columns"),
    "nul": ("time,volts\n0,12.6\x00\n1,12.5\n", "no text with columns"),
    "one column": ("\n".join(str(12 + n % 3) for n in range(50)), "two columns"),
    "prose": ("Dear reader\nthis is a letter\nwithout any table.\n", ""),
    "header alone": ("time,volts\n", ""),
    "one row": ("time,volts\n0,12.6\n", "Fewer than two rows"),
    "no volts": ("time,name\n0,a\n1,b\n2,c\n", ""),
    "one huge line": ("time,volts " + "x" * 5_000_000, ""),
    "huge line of cells": (",".join(["1"] * 400_000), ""),
    "open quotes": ('time,volts\n"0,12.6\n' * 2000, ""),
    "mixed decimals": ("time;volts\n" + "".join(f"{n};{12.5 if n % 2 else '12,5'}\n" for n in range(100)), None),
    "formulas": ("time,volts\n" + "".join(f"{n},=1+1\n" for n in range(50)), ""),
    "ragged": ("time,volts\n" + "".join(f"{n}" + ",12.5" * (n % 4) + "\n" for n in range(80)), None),
    "same time": ("time,volts\n" + "5,12.5\n" * 100, None),
    "backwards": ("time,volts\n" + "".join(f"{100 - n},12.5\n" for n in range(100)), None),
    "huge numbers": ("time,volts\n0,1e308\n1,9e999\n2,12.5\n3,12.4\n", None),
    "markup": ("time,<img src=x onerror=alert(1)>volts\n0,12.6\n1,12.5\n", None),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_bad_file_gets_a_clear_word_and_the_page_goes_on(phone, site_url, name):
    """None as the word means: readable in part, and the bad rows are told."""
    text, words = BAD[name]
    give(open_page(phone, site_url), text)
    if words is None:
        expect(phone.locator(".plot__picture")).to_be_visible()
    else:
        expect(phone.locator(".log-refused [role=alert]")).to_contain_text(words)
        said = phone.locator(".log-refused [role=alert]").inner_text()
        assert not re.search(r"Error|undefined|NaN|null|\[object", said), said
    assert "NaN" not in phone.locator("main").inner_text()
    assert "Infinity" not in phone.locator("main").inner_text()
    assert phone.locator("main img").count() == 0
    assert phone.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    give(phone, "time,volts\n0,12.61\n1,12.60\n2,12.62\n", "good.csv")
    expect(phone.locator("#log-title + p")).to_contain_text("3 rows")


def test_too_large_a_file_is_refused_before_it_is_read(phone, site_url, tmp_path):
    open_page(phone, site_url)
    path = tmp_path / "big.csv"
    with path.open("wb") as file:
        file.truncate(65_000_000)  # a sparse file: nothing is written
    phone.locator("#log-file").set_input_files(path)
    expect(phone.locator(".log-refused")).to_contain_text("too large")


def test_reading_can_be_stopped_and_the_page_goes_on(phone, site_url):
    open_page(phone, site_url)
    files = {"name": "log.csv", "mimeType": "text/csv", "buffer": (long_log() + "\n").encode() * 4}
    # The control goes again in a moment, so it is pressed as soon as it is there.
    phone.evaluate(
        """() => new MutationObserver((_, watch) => {
          const $stop = document.querySelector(".progress button");
          if ($stop && /Finding rows/.test($stop.parentElement.textContent)) { watch.disconnect(); $stop.click(); }
        }).observe(document.querySelector(".progress"), { childList: true })"""
    )
    phone.locator("#log-file").set_input_files(files)
    expect(phone.locator(".log-result")).to_contain_text("Reading was stopped")
    give(phone, "time,volts\n0,12.61\n1,12.60\n", "good.csv")
    expect(phone.locator("#log-title + p")).to_contain_text("2 rows")


# ---- long logs


# Begins when the file is chosen, ends two frames after plot and findings stand in the page.
# `gap` is the longest time the page did not answer.
WATCH = """() => {
  window.took = null;
  window.gap = 0;
  window.ticks = 0;
  let last = null;
  const tick = () => {
    const now = performance.now();
    if (!document.querySelector(".plot__line")) window.ticks += 1;
    if (last !== null) window.gap = Math.max(window.gap, now - last);
    last = now;
    if (window.took === null) setTimeout(tick);
  };
  document.querySelector("#log-file").addEventListener("change", () => {
    window.began = performance.now();
    tick();
  }, true);
  window.drawn = new Promise((done) => new MutationObserver((_, watch) => {
    if (!document.querySelector(".plot__line") || !document.querySelector(".findings")) return;
    watch.disconnect();
    requestAnimationFrame(() => requestAnimationFrame(() => {
      window.took = performance.now() - window.began;
      done();
    }));
  }).observe(document.querySelector(".log-result"), { childList: true, subtree: true }));
}"""


def time_long_log(page, site_url, path, *, rate):
    """Return wall milliseconds, the page's processor milliseconds, and the longest pause."""
    cdp = page.context.new_cdp_session(page)
    cdp.send("Performance.enable", {"timeDomain": "threadTicks"})
    open_page(page, site_url)
    page.evaluate(WATCH)
    cdp.send("Emulation.setCPUThrottlingRate", {"rate": rate})
    before = processor_time(cdp)
    page.locator("#log-file").set_input_files(path)
    page.evaluate("window.drawn")
    spent = processor_time(cdp) - before
    cdp.send("Emulation.setCPUThrottlingRate", {"rate": 1})
    cdp.detach()
    return page.evaluate("window.took"), spent, page.evaluate("window.gap")


def processor_time(cdp):
    metrics = cdp.send("Performance.getMetrics")["metrics"]
    return 1000 * next(one["value"] for one in metrics if one["name"] == "ThreadTime")


@pytest.fixture(scope="session")
def long_file(tmp_path_factory):
    path = tmp_path_factory.mktemp("logs") / "long.csv"
    path.write_text(long_log(), "utf-8")
    return path


@pytest.mark.bench
def test_200_000_rows_at_a_quarter_of_the_speed(own_phone, site_url, long_file):
    """As shipped: a worker reads, the page (slowed four times) draws.

    The best of four, because other work may share the machine.
    """
    runs = [time_long_log(own_phone, site_url, long_file, rate=4) for _ in range(4)]
    print(f"\n200,000 rows, worker, page at 4x: {[round(run[0]) for run in runs]} ms of {BAR}")
    assert own_phone.locator(".said-words").count() >= 4


@pytest.mark.bench
def test_200_000_rows_without_a_worker(own_phone, site_url, long_file):
    """Everything on the page's own thread. The slow-down does not reach a worker, so this is
    the honest figure for a slow phone: four times the processor time used at full speed.
    """
    own_phone.add_init_script("delete window.Worker;")
    runs = [time_long_log(own_phone, site_url, long_file, rate=1) for _ in range(4)]
    slowed = time_long_log(own_phone, site_url, long_file, rate=4)
    print(
        f"\n200,000 rows, page alone: processor {[round(run[1]) for run in runs]} ms at full speed,"
        f" a quarter of {BAR} allowed; wall {[round(run[0]) for run in runs]} ms; wall at 4x"
        f" {round(slowed[0])} ms; longest pause {round(min(run[2] for run in runs))} ms"
    )


def test_page_answers_while_a_long_log_is_read(phone, site_url, long_file):
    """Timers of the page go off again and again before the plot stands there."""
    open_page(phone, site_url)
    phone.evaluate(WATCH)
    phone.locator("#log-file").set_input_files(long_file)
    expect(phone.locator(".plot__line").first).to_be_visible()
    assert phone.evaluate("window.ticks") > 10


def test_nothing_is_fetched_after_the_page_is_there(phone, site_url):
    open_page(phone, site_url)
    phone.wait_for_load_state("networkidle")
    before = len(phone.asked)
    phone.context.set_offline(True)
    give(phone, drive_log())
    expect(phone.locator(".plot__picture")).to_be_visible()
    assert len(phone.asked) == before


# ---- accessibility and screen


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_serious_in_any_state(phone, site_url, scheme):
    phone.emulate_media(color_scheme=scheme)
    open_page(phone, site_url)
    for fold in ("log-paste", "log-facts"):
        phone.locator(f"[data-keep={fold}] summary").tap()
    assert serious(phone) == []
    give(phone, "", "empty.csv")
    assert serious(phone) == []
    give(phone, drive_log().replace("17,", "x,", 1), "drive.csv")
    phone.locator(".bad-rows summary").tap()
    phone.locator("[data-keep=plot-table] summary").tap()
    assert serious(phone) == []


def test_controls_are_large_enough_and_nothing_leaves_the_screen(phone, site_url):
    give(open_page(phone, site_url), drive_log())
    assert phone.evaluate(TOO_SMALL) == []
    assert phone.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
