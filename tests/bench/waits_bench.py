"""Bench of waiting: when a page can be used on a slow phone, beside a former build of the site.

150 ms to the server, 1.6 Mbit/s, HTTP/1.1, a processor four times slower. Each visit is a new
browser context; ours and the former one are taken in turns. `--beside` names the folder of the
former build; without it ours stands alone.
"""

import contextlib
import re
import tempfile
import time
from pathlib import Path

from tests.bench.build_bench import build_ours
from tests.bench.chromium import PHONE, THROTTLE, chromium, served
from tests.bench.figures import Figure, Target, interleaved
from tests.bench.synthetic import ROOT

PART = "waits"
ROUNDS = 5
GO_ON = re.compile("Go on|Show the next check")
LINE = {
    "offline": False,
    "latency": 150,
    "downloadThroughput": 1.6e6 / 8,
    "uploadThroughput": 0.75e6 / 8,
}
STEPS = {
    "checker usable": 1.7,
    "tap to first advice": 1.3,
    "readiness usable": 2.1,
    "readings usable": None,
}


def measure(say, rounds=ROUNDS, beside=None):
    """Yield the figures of this part; `say` is told how far it is."""
    with contextlib.ExitStack() as stack:
        place = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="bench-")))
        say("waits: building ours")
        build_ours(ROOT, place / "ours")
        browser = stack.enter_context(chromium())
        sites = {"ours": stack.enter_context(served(place / "ours"))}
        if beside:
            sites["former"] = stack.enter_context(served(Path(beside)))
        yield from _compared(browser, say, rounds, sites)


def _compared(browser, say, rounds, sites):
    taken = {name: [] for name in sites}
    for turn in range(rounds):
        say(f"waits: round {turn + 1} of {rounds}")
        for name, address in sites.items():
            taken[name].append(_visit(browser, address))
    for step, limit in STEPS.items():
        found = interleaved(
            {name: iter([row[step] for row in rows]).__next__ for name, rows in taken.items()},
            rounds,
        )
        target = Target(limit, of="ours") if limit else None
        former = found.get("former")
        yield Figure(PART, step, "s", found["ours"], former, "former", target=target)


def _visit(browser, address):
    """Return the seconds of each step: two pages opened as new, and the checker up to advice."""
    row = {}
    with _slow_page(browser) as page:
        start = time.perf_counter()
        page.goto(f"{address}checker/", wait_until="commit")
        boxes = page.locator("#checker input[type=checkbox]")
        boxes.first.wait_for(state="attached")
        row["checker usable"] = time.perf_counter() - start
        page.wait_for_load_state("networkidle")
        start = time.perf_counter()
        boxes.first.evaluate("(box) => box.click()")
        # A former build may have another word on the button.
        page.get_by_role("button", name=GO_ON).click()
        page.locator(":is(.card, .say, .check-view) :is(h2, h3)").first.wait_for()
        row["tap to first advice"] = time.perf_counter() - start
    for name in ("readiness", "readings"):
        with _slow_page(browser) as page:
            start = time.perf_counter()
            page.goto(f"{address}{name}/", wait_until="commit")
            page.locator(f"#{name} :is(textarea, input, select)").first.wait_for(state="attached")
            row[f"{name} usable"] = time.perf_counter() - start
    return row


@contextlib.contextmanager
def _slow_page(browser):
    context = browser.new_context(
        viewport=PHONE, device_scale_factor=2, service_workers="block", reduced_motion="reduce"
    )
    page = context.new_page()
    client = context.new_cdp_session(page)
    client.send("Network.enable")
    client.send("Network.emulateNetworkConditions", LINE)
    client.send("Emulation.setCPUThrottlingRate", {"rate": THROTTLE})
    yield page
    context.close()
