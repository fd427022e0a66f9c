"""Take every picture the project keeps: icons, the preview, and the README's screenshot.

Run by `make pictures` as `python -m tests.pictures`. Icons and preview are drawn from the SVG
files beside them; the screenshot comes from a fresh build of this very state, in Chromium.
"""

import shutil
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import sync_playwright

from build_tools.site.build_site import build
from tests.browser.phone import first_step
from tests.browser.site_fixture import serve_folder

ROOT = Path(__file__).resolve().parents[1]
ICONS = ROOT / "site_overrides" / "assets" / "icons"
SHOTS = ROOT / "content" / "img"
# From one drawing to files of these sizes.
DRAWN = {
    "icon-192.png": ("icon.svg", 192, 192),
    "icon-512.png": ("icon.svg", 512, 512),
    "touch-180.png": ("maskable.svg", 180, 180),
    "maskable-512.png": ("maskable.svg", 512, 512),
    "preview.png": ("preview.svg", 1200, 630),
}
PHONE = {"width": 390, "height": 844}


def draw_icons(browser):
    for name, (source, width, height) in DRAWN.items():
        page = browser.new_page(viewport={"width": width, "height": height})
        svg = (ICONS / source).read_text("utf-8")
        page.set_content(
            f"<style>*{{margin:0}}svg{{display:block;width:{width}px;height:{height}px}}</style>{svg}"
        )
        page.screenshot(path=ICONS / name, omit_background=True)
        page.close()
        print(f"drew {name}")


def shoot_checker(browser, address):
    """Enter a reading of 12.1 V as an owner would, on a phone, and show what it means."""
    page = browser.new_page(viewport=PHONE, device_scale_factor=2, color_scheme="light")
    page.goto(f"{address}checker/#s=cranks-slowly-when-cold")
    first_step(page)
    page.locator('[data-keep="others"] summary').click()
    page.get_by_label("Any check at all").select_option("measure-resting-voltage")
    page.get_by_role("button", name="Open this check").click()
    page.locator(".reading-form input.field").first.fill("12.1")
    page.get_by_role("button", name="Use this reading").click()
    confirm = page.get_by_role("button", name="Yes, 12.1 V")
    if confirm.is_visible():
        confirm.click()
    page.evaluate("document.querySelector('.latest').scrollIntoView({ block: 'start' })")
    page.screenshot(path=SHOTS / "checker-phone.png")
    page.close()
    print("took checker-phone.png")


def main():
    SHOTS.mkdir(exist_ok=True)
    with sync_playwright() as driver:
        browser = driver.chromium.launch(
            executable_path=shutil.which("chromium") or shutil.which("google-chrome"),
            args=["--no-sandbox"],
        )
        draw_icons(browser)
        if "--icons" in sys.argv[1:]:
            return
        with tempfile.TemporaryDirectory() as place:
            out = Path(place) / "site"
            problems = build(ROOT, out)
            if problems:
                sys.exit(f"the site could not be built: {problems[0].what}")
            server, address = serve_folder(out)
            shoot_checker(browser, address)
            server.shutdown()
        browser.close()


if __name__ == "__main__":
    main()
