"""Real Chromium for the browser's modules, served from a local address."""

import shutil
import threading
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest
from playwright.sync_api import expect

from build_tools.knowledge.sentences import filled
from tests.browser.kept_page import KeptPage
from tests.browser.phone import HANGS, open_phone, open_window, outside
from tests.browser.site_fixture import (  # noqa: F401 - fixtures are found by their names here
    built_site,
    site_url,
)

ASSETS = Path(__file__).parents[2] / "site_overrides" / "assets"
SENTENCES = "/kit/sentences.js"
expect.set_options(timeout=HANGS)


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args):
    """Use the system's Chromium; as root it starts only without its sandbox."""
    chromium = shutil.which("chromium") or shutil.which("google-chrome")
    return {
        **browser_type_launch_args,
        "executable_path": chromium,
        "args": ["--no-sandbox", "--disable-dev-shm-usage"],
    }


@pytest.fixture(scope="session")
def base_url():
    """Stand in for the plugin's own fixture, whose form pytest 9 warns about."""
    return


class QuietHandler(SimpleHTTPRequestHandler):
    """Serve the modules, the sentences filled in, and an empty page to import them into."""

    def do_GET(self):
        if self.path == "/":
            page = "<!doctype html><html lang=en><title>modules</title></html>"
            self.answer("text/html", page)
        elif self.path == SENTENCES:
            module = (ASSETS / SENTENCES.lstrip("/")).read_text("utf-8")
            self.answer("text/javascript", filled(module))
        else:
            super().do_GET()

    def answer(self, kind, text):
        content = text.encode("utf-8")
        self.send_response(200)
        self.send_header("Content-Type", f"{kind}; charset=utf-8")
        self.send_header("Content-Length", str(len(content)))
        self.end_headers()
        self.wfile.write(content)

    def log_message(self, *arguments):
        pass


@pytest.fixture(scope="session")
def assets_server():
    """Serve the assets folder as it is in the repository, and give the address."""
    handler = partial(QuietHandler, directory=str(ASSETS))
    with ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        yield f"http://127.0.0.1:{server.server_address[1]}"
        server.shutdown()
        thread.join()


@pytest.fixture
def module_page(page, assets_server):
    """Open a page on which `await import('/checker/...')` works."""
    page.goto(f"{assets_server}/")
    return page


@pytest.fixture(scope="session")
def kept_phone(browser):
    """Keep the one phone whose window tests use in turn."""
    return KeptPage(lambda: open_phone(browser.new_context), motion="reduce")


@pytest.fixture(scope="session")
def kept_desk(browser):
    """Keep the one window of a desk that tests use in turn."""
    return KeptPage(lambda: open_window(browser.new_context), motion="no-preference")


@pytest.fixture
def desk(kept_desk):
    """Lend an empty page of a desk; `heard` and `asked` list what it says and asks for."""
    page, page.heard, page.asked = kept_desk.opened()
    yield page
    kept_desk.emptied()


@pytest.fixture
def phone(kept_phone, site_url):  # noqa: F811 - the fixture above, asked for by its name
    """Lend an empty phone-sized page; fail on any noise or outside request when the test ends."""
    page, heard, asked = kept_phone.opened()
    yield page
    noise, left = list(heard), outside(asked, site_url)
    kept_phone.emptied()
    assert noise == []
    assert left == []


@pytest.fixture
def own_phone(new_context, site_url):  # noqa: F811 - the fixture above, asked for by its name
    """Open a window of its own for what cannot be taken from a window again."""
    page, heard, asked = open_phone(new_context)
    yield page
    assert heard == []
    assert outside(asked, site_url) == []
