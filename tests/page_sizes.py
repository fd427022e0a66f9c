"""Print how tall the pages are on a phone, how many words they show, and what scrolls sideways.

Run by `make sizes` as `python -m tests.page_sizes [FOLDER ...]`: a built folder each, one column
each; without one, this very state is built. Words are those in sight before anything is opened.
"""

import json
import shutil
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import sync_playwright

from build_tools.site.build_site import build
from tests.browser.phone import CONFIRMED, FLAT, PHONE, RESTING, SENT
from tests.browser.site_fixture import serve_folder

ROOT = Path(__file__).resolve().parents[1]
PAGES = {
    "home": "",
    "symptom": "symptoms/many-lamps-at-once/",
    "check": f"checks/{RESTING}/",
    "cause": "causes/battery-worn-out/",
    "readings": "readings/",
    "one reading": "readings/#resting-voltage",
    "readiness": "readiness/",
    "exercises": "teach/",
}
STATES = {
    "nothing said": None,
    "one thing said": {"view": "say", "chosen": [FLAT]},
    "first advice": {"view": "check", "chosen": [FLAT]},
    "after a reading": {
        "view": "check",
        "chosen": [FLAT],
        "context": SENT["context"],
        "readings": SENT["readings"],
        "latest": RESTING,
    },
    "a repair": {
        "view": "check",
        "chosen": CONFIRMED["symptoms"],
        "context": CONFIRMED["context"],
        "outcomes": CONFIRMED["outcomes"],
        "latest": "twist-battery-clamps",
    },
    "nothing to measure with": {"view": "check", "chosen": [FLAT], "tools": []},
}
# Height of the whole page, words in sight in its main part, width it asks for.
MEASURE = """() => {
  const $main = document.querySelector("main, article.sheet") ?? document.body;
  const walker = document.createTreeWalker($main, NodeFilter.SHOW_TEXT);
  let words = 0;
  while (walker.nextNode()) {
    const { parentElement: $at, data } = walker.currentNode;
    if ($at.closest(".visually-hidden, option, script, svg") || !$at.checkVisibility()) continue;
    words += (data.match(/[^\\s]*[A-Za-z0-9][^\\s]*/g) ?? []).length;
  }
  const { scrollHeight, scrollWidth } = document.documentElement;
  return [scrollHeight, words, scrollWidth];
}"""


def sizes(browser, address):
    """Return [height, words, width] of every page and every state of the checker."""
    found = {}
    for name, path in PAGES.items():
        page = browser.new_page(viewport=PHONE)
        page.goto(address + path)
        page.wait_for_load_state("networkidle")
        found[name] = page.evaluate(MEASURE)
        page.close()
    for name, state in STATES.items():
        page = browser.new_page(viewport=PHONE)
        page.goto(f"{address}404.html")
        if state is not None:
            record = json.dumps({"state": state, "past": []})
            page.evaluate("(text) => localStorage.setItem('before-parts-case', text)", record)
        page.goto(f"{address}checker/")
        page.wait_for_load_state("networkidle")
        page.locator("[data-main-heading]").first.wait_for()
        found[f"checker, {name}"] = page.evaluate(MEASURE)
        page.context.clear_cookies()
        page.evaluate("localStorage.clear()")
        page.close()
    return found


def main(folders):
    with tempfile.TemporaryDirectory() as place, sync_playwright() as driver:
        if not folders:
            folders = [str(Path(place) / "site")]
            problems = build(ROOT, Path(folders[0]))
            if problems:
                sys.exit(f"the site could not be built: {problems[0].what}")
        browser = driver.chromium.launch(
            executable_path=shutil.which("chromium") or shutil.which("google-chrome"),
            args=["--no-sandbox"],
        )
        columns = []
        for folder in folders:
            server, address = serve_folder(Path(folder))
            columns.append(sizes(browser, address))
            server.shutdown()
        browser.close()
    print(f"{'at 360x740':34}" + "".join(f"{Path(one).name:>24}" for one in folders))
    for name in columns[0]:
        shown = (f"{high:>9} px {words:>5} words" for high, words, _ in (c[name] for c in columns))
        print(f"{name:34}" + "  ".join(shown))
    wide = [name for name, (*_, width) in columns[-1].items() if width > PHONE["width"]]
    print(f"wider than the screen: {', '.join(wide) or 'none'}")


if __name__ == "__main__":
    main(sys.argv[1:])
