"""For those who send people here: the note, the link, the preview, and addresses that stay."""

import dataclasses
import functools
import shutil
import struct
import threading
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest
from playwright.sync_api import expect

from build_tools.knowledge.assemble import load_catalogue
from build_tools.site.redirect_pages import redirect_files
from build_tools.site.security import examine_policy
from build_tools.site.site_links import examine_site
from tests.browser.site_fixture import PREFIX, serve_folder
from tests.output.page_tree import parse
from tests.shared_folder import KNOWN_ADDRESS, ROOT

SYMPTOM = "red-charging-lamp"


def test_note_is_copied_with_the_address_the_reader_sees(new_context, site_url):
    context = new_context(permissions=["clipboard-read", "clipboard-write"])
    page = context.new_page()
    page.goto(f"{site_url}symptoms/{SYMPTOM}/#send")
    note = page.get_by_label("Note to send").input_value()
    assert note.endswith(f" {site_url}symptoms/{SYMPTOM}/")
    assert "before you buy a part" in note
    page.get_by_role("button", name="Copy the note").click()
    expect(page.get_by_text("Copied.")).to_be_visible()
    assert page.evaluate("navigator.clipboard.readText()") == note


def test_note_that_cannot_be_copied_is_selected(new_context, site_url):
    context = new_context()
    page = context.new_page()
    page.add_init_script("delete Navigator.prototype.clipboard")
    page.goto(f"{site_url}symptoms/{SYMPTOM}/#send")
    page.get_by_role("button", name="Copy the note").click()
    expect(page.get_by_text("Selected. Copy it")).to_be_visible()
    length = page.get_by_label("Note to send").evaluate("(n) => n.selectionEnd - n.selectionStart")
    assert length == len(page.get_by_label("Note to send").input_value())


def test_link_opens_the_checker_with_the_symptom(page, site_url):
    page.goto(f"{site_url}symptoms/{SYMPTOM}/#send")
    page.locator("[data-preset]").click()
    expect(page.locator("[data-main-heading]")).to_be_visible()
    expect(
        page.locator("#checker").get_by_text("Red battery light on or flickering").first
    ).to_be_visible()


def test_without_script_the_note_still_holds_a_whole_address(browser, site_url):
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{site_url}symptoms/{SYMPTOM}/")
    assert f"{KNOWN_ADDRESS}symptoms/{SYMPTOM}/" in page.get_by_label("Note to send").input_value()
    expect(page.get_by_role("button", name="Copy the note")).to_be_hidden()
    context.close()


def test_previews_name_the_page_and_a_picture_that_exists(built_site):
    pages = sorted(built_site.rglob("index.html"))
    for path in pages:
        head = {
            node.attrs.get("property"): node.attrs.get("content")
            for node in parse(path).find("meta")
            if "property" in node.attrs
        }
        inside = path.relative_to(built_site).as_posix().removesuffix("index.html")
        assert head["og:url"] == KNOWN_ADDRESS + inside
        assert head["og:title"], inside
        assert head["og:description"], inside
        assert head["og:image"].startswith(KNOWN_ADDRESS)
        picture = built_site / head["og:image"].removeprefix(KNOWN_ADDRESS)
        # Width and height stand at byte 16 of a PNG (ISO/IEC 15948, 11.2.2).
        size = struct.unpack(">II", picture.read_bytes()[16:24])
        assert size == (int(head["og:image:width"]), int(head["og:image:height"]))


@pytest.fixture(scope="module")
def renamed(built_site, tmp_path_factory):
    """The site as it would be had some ids been renamed or retired."""
    folder = tmp_path_factory.mktemp("renamed") / "site"
    shutil.copytree(built_site, folder)
    catalogue, _ = load_catalogue(ROOT)
    redirects = {
        "battery-lamp-red": SYMPTOM,
        "first-name": "second-name",
        "second-name": "load-test-battery",
        "in-a-circle": "in-a-circle-too",
        "in-a-circle-too": "in-a-circle",
        "gone-for-good": None,
        "fuel-vapour": "evaporative-system",
    }
    renamed = dataclasses.replace(catalogue, redirects=redirects)
    for name, html in redirect_files(renamed):
        path = folder / name
        path.parent.mkdir(parents=True)
        path.write_text(html, "utf-8")
    assert examine_site(folder) + examine_policy(folder) == []
    server, address = serve_folder(folder)
    yield address
    server.shutdown()
    server.server_close()


@pytest.mark.parametrize(
    ("former", "now"),
    [
        ("symptoms/battery-lamp-red/", f"symptoms/{SYMPTOM}/"),
        ("teach/battery-lamp-red/", f"teach/{SYMPTOM}/"),
        ("checks/first-name/", "checks/load-test-battery/"),
        ("checks/second-name/", "checks/load-test-battery/"),
        ("monitors/fuel-vapour/", "monitors/evaporative-system/"),
    ],
)
def test_former_address_leads_on(page, renamed, former, now):
    page.goto(renamed + former)
    page.wait_for_url(renamed + now)
    assert page.locator("h1").first.inner_text()


@pytest.mark.parametrize("former", ["gone-for-good", "in-a-circle"])
def test_retired_address_says_so(page, renamed, former):
    heard = []
    page.on("console", lambda message: heard.append(message.text))
    page.goto(f"{renamed}symptoms/{former}/")
    expect(page.locator("h1")).to_have_text("Taken away")
    page.get_by_role("link", name="All symptoms").click()
    expect(page.locator("h1")).to_have_text("Symptoms")
    assert heard == []


def test_former_address_without_script_or_refresh_has_a_link():
    catalogue, _ = load_catalogue(ROOT)
    made = dict(redirect_files(dataclasses.replace(catalogue, redirects={"old": SYMPTOM})))
    assert set(made) == {"symptoms/old/index.html", "teach/old/index.html"}
    assert f'<a href="../{SYMPTOM}/">' in made["symptoms/old/index.html"]


def test_every_redirect_of_the_knowledge_has_its_page(built_site):
    catalogue, _ = load_catalogue(ROOT)
    for name, html in redirect_files(catalogue):
        assert (built_site / name).read_text("utf-8") == html


class HostHandler(SimpleHTTPRequestHandler):
    """Serve below a path, and our own page for what is not there, as static hosts do."""

    def translate_path(self, path):
        return super().translate_path("/" + path.removeprefix(PREFIX))

    def send_error(self, code, *_):
        body = (Path(self.directory) / "404.html").read_bytes()
        self.send_response(code)
        self.send_header("Content-Type", "text/html; charset=utf-8")
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_):
        pass


@pytest.fixture(scope="module")
def host(built_site):
    handler = functools.partial(HostHandler, directory=str(built_site))
    with ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_address[1]}{PREFIX}"
        server.shutdown()


def test_address_nobody_wrote_leads_back_from_any_depth(page, host):
    lost, heard = [], []
    page.on("response", lambda answer: lost.append(answer.url) if answer.status == 404 else None)
    page.on("pageerror", lambda error: heard.append(str(error)))
    asked = f"{host}symptoms/no/such/place/"
    assert page.goto(asked, wait_until="networkidle").status == 404
    expect(page.locator("h1")).to_have_text("There is no page at this address")
    assert lost == [asked]  # its styles and scripts are found, however deep the address was
    page.get_by_role("link", name="All symptoms, by family").click()
    expect(page.locator("h1")).to_have_text("Symptoms")
    page.goto(asked)
    page.get_by_label("Find a symptom").press_sequentially("red battery light")
    page.locator("[data-found] a").first.click()
    page.wait_for_url(f"{host}symptoms/*/")
    expect(page.locator("#causes")).to_be_visible()
    assert heard == []
