"""Bench of the pages: bytes and first paint on a slow phone, beside a plain theme page.

The plain page is made by the site generator with its stock theme, plugins off, and holds as
much text as the page it stands beside. Every visit is a new browser context; the second visit
follows in the same one. Bytes are what came over the line, heads of answers included.
"""

import re
import tempfile
from html.parser import HTMLParser
from pathlib import Path
from statistics import median

import yaml

from tests.bench.bare import build_bare
from tests.bench.build_bench import build_ours
from tests.bench.chromium import PHONE, SLOW_4G, THROTTLE, chromium, served
from tests.bench.figures import Figure, Target
from tests.bench.synthetic import ROOT
from tests.browser.phone import first_step

PART = "pages"
ROUNDS = 5
MOST_KB = 90
PAGES = {"home": "", "symptom": "symptoms/red-charging-lamp/", "checker": "checker/"}
# Nothing asked for during this time counts as the end of the visit; what the worker keeps for
# later comes after three seconds and is no part of it.
QUIET_MS = 1500
FIRST_PAINT = """() => new Promise((done, fail) => {
  setTimeout(() => fail(new Error('nothing was painted')), 20000);
  new PerformanceObserver((list) => {
    const [entry] = list.getEntriesByName('first-contentful-paint');
    if (entry) done(entry.startTime);
  }).observe({ type: 'paint', buffered: true });
})"""


class _Words(HTMLParser):
    """Collect the words of a page's main part."""

    def __init__(self):
        super().__init__()
        self.inside, self.words = 0, []

    def handle_starttag(self, tag, _attrs):
        self.inside += tag in {"main", "article"}

    def handle_endtag(self, tag):
        self.inside -= tag in {"main", "article"}

    def handle_data(self, data):
        if self.inside:
            self.words += data.split()


def measure(say, rounds=ROUNDS):
    """Yield the figures of this part; `say` is told how far it is."""
    with tempfile.TemporaryDirectory(prefix="bench-") as folder:
        place = Path(folder)
        say("pages: building ours and the plain pages")
        build_ours(ROOT, place / "ours")
        _write_plain(place)
        build_bare(place / "plain")
        with (
            chromium() as browser,
            served(place / "ours") as ours,
            served(place / "plain" / "site") as plain,
        ):
            yield from _beside(browser, say, rounds, ours, plain)
            yield from _to_first_advice(browser, say, ours)


def _write_plain(place):
    """Write stock pages with as much text as ours, and no plugin: the lightest the theme has."""
    docs = place / "plain" / "docs"
    docs.mkdir(parents=True)
    stock = {"site_name": "Plain", "theme": {"name": "material", "font": False}, "plugins": []}
    (place / "plain" / "mkdocs.yml").write_text(yaml.safe_dump(stock), "utf-8")
    (docs / "index.md").write_text("# Plain\n", "utf-8")
    for name, address in PAGES.items():
        parser = _Words()
        parser.feed((place / "ours" / address / "index.html").read_text("utf-8"))
        words = [re.sub(r"[^\w]", "", word) for word in parser.words]
        rows = [" ".join(words[at : at + 60]) for at in range(0, len(words), 60)]
        (docs / f"{name}.md").write_text(f"# {name}\n\n" + "\n\n".join(rows) + "\n", "utf-8")


def _beside(browser, say, rounds, ours, plain):
    for name, address in PAGES.items():
        found = {"ours": [], "plain": []}
        for turn in range(rounds):
            say(f"pages: {name}, round {turn + 1} of {rounds}")
            found["ours"].append(_visits(browser, ours + address))
            found["plain"].append(_visits(browser, f"{plain}{name}/"))
        yield from _figures(name, *[_medians(found[side]) for side in ("ours", "plain")])


def _figures(name, ours, plain):
    is_checker = name == "checker"
    weight = Target(MOST_KB, of="ours") if is_checker else None
    soon = Target(1.0) if is_checker else None
    rows = (
        ("first visit", "KB", weight),
        ("first visit, first contentful paint", "ms", soon),
        ("second visit", "KB", None),
        ("second visit, first contentful paint", "ms", None),
    )
    for at, (what, unit, target) in enumerate(rows):
        yield Figure(
            PART, f"{name}, {what}", unit, ours[at], plain[at], "plain theme", target=target
        )


def _medians(visits):
    return [median(column) for column in zip(*visits, strict=True)]


def _visits(browser, address):
    """Return (KB, ms to first paint) of a first and of a second visit, in one row."""
    context = browser.new_context(viewport=PHONE, device_scale_factor=2)
    page, client, taken = _slow_page(context)
    row = []
    for _ in range(2):
        taken.clear()
        page.goto(address, wait_until="load")
        painted = page.evaluate(FIRST_PAINT)
        _wait_for_quiet(page, taken)
        row += [sum(taken) / 1000, painted]
        page.goto("about:blank")
    client.detach()
    context.close()
    return row


def _slow_page(context):
    page = context.new_page()
    client = context.new_cdp_session(page)
    taken = []
    client.on("Network.loadingFinished", lambda event: taken.append(event["encodedDataLength"]))
    client.send("Network.enable")
    client.send("Network.emulateNetworkConditions", SLOW_4G)
    client.send("Emulation.setCPUThrottlingRate", {"rate": THROTTLE})
    return page, client, taken


def _wait_for_quiet(page, taken):
    before = -1
    while before != len(taken):
        before = len(taken)
        page.wait_for_timeout(QUIET_MS)


def _to_first_advice(browser, say, ours):
    """Measure all that a reader fetches until the first check is named, and how long it takes."""
    say("pages: from nothing to the first check")
    context = browser.new_context(viewport=PHONE, device_scale_factor=2)
    page, _, taken = _slow_page(context)
    page.goto(f"{ours}checker/")
    page.get_by_label("Say it in your own words").press_sequentially("battery lamp is on")
    page.locator("#hits input").first.check()
    first_step(page)
    page.locator(".card [data-main-heading]").first.wait_for()
    _wait_for_quiet(page, taken)
    context.close()
    yield Figure(PART, "checker, first visit up to the first check", "KB", sum(taken) / 1000)
