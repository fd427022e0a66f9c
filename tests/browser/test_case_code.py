"""A case on paper carries itself: the code drawn in the browser, held against segno's.

segno's matrix for the same level, mode and mask is the yardstick, for texts that fill each version
to the byte; those counts are the capacities of ISO/IEC 18004, table 7, level L, byte mode.
"""

import json
import re

import segno
from playwright.sync_api import expect

from build_tools.browser.embedded import browser_modules
from tests.browser.phone import FLAT, link_from_panel, open_link, open_phone, read_voltage
from tests.browser.phone import link as write_link

# By version, from 1.
CAPACITIES = [
    17, 32, 53, 78, 106, 134, 154, 192, 230, 271, 321, 367, 425, 458, 520, 586, 644, 718, 792, 858,
    929, 1003, 1091, 1171, 1273,
]  # fmt: skip
TEXT = "https://example.org/checker/#c=" + "aB3-_Zk9x" * 200


def rows_here(text):
    modules = browser_modules("kit/qr", "vendor/lean-qr")
    return modules.evaluate(f"kit_qr.qrRows(vendor_lean_qr, {json.dumps(text)})")


def rows_of(code):
    return ["".join("1" if dark else "0" for dark in row) for row in code.matrix]


def test_every_version_is_as_another_writer_draws_it():
    for version, capacity in enumerate(CAPACITIES, 1):
        text = TEXT[:capacity]
        theirs = segno.make(
            text.encode(), error="l", mode="byte", micro=False, boost_error=False, mask=0
        )
        assert theirs.version == version
        assert rows_here(text) == rows_of(theirs), version
    assert rows_here(TEXT[:1274]) == []


def test_a_printed_case_carries_its_link(new_context, site_url):
    page, heard, _ = open_phone(new_context)
    open_link(page, site_url, write_link({"symptoms": [FLAT]}))
    page.get_by_role("button", name="Use it here").tap()
    read_voltage(page, "12.1")
    link = site_url + "checker/" + link_from_panel(page)
    code = page.locator(".case-code svg")
    rows = rows_here(link)
    runs = "".join(
        f"M{run.start() + 4} {y + 4}h{len(run[0])}v1h-{len(run[0])}z"
        for y, row in enumerate(rows)
        for run in re.finditer("1+", row)
    )
    expect(code.locator("path")).to_have_attribute("d", runs)
    expect(code).to_be_hidden()
    page.emulate_media(media="print")
    expect(code).to_be_visible()
    assert heard == []
