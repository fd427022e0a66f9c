"""The policy holds on every page, and texts that try to run something do not.

Real Chromium reports each breach of the policy; the test listens on every page of the site.
"""

import re
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import pytest
from playwright.sync_api import expect

from build_tools.site.security import POLICY, headers_file
from tests.browser.phone import first_step
from tests.browser.site_fixture import serve_folder
from tests.hostile_site import hostile_site
from tests.sweeps import SWEEP, drawn

LISTEN = """
addEventListener("securitypolicyviolation", (event) =>
  console.error(`policy: ${event.effectiveDirective} ${event.blockedURI}`));
"""


@pytest.fixture
def ear(page):
    """Hear everything a page says, and note everything it asks for."""
    page.add_init_script(LISTEN)
    page.heard, page.asked = [], []
    page.on("console", lambda message: page.heard.append(f"{message.type}: {message.text}"))
    page.on("pageerror", lambda error: page.heard.append(f"error: {error}"))
    page.on("dialog", lambda dialog: (page.heard.append("dialog"), dialog.dismiss()))
    page.on("request", lambda request: page.asked.append(request.url))
    return page


@pytest.fixture(scope="module")
def hostile_url(tmp_path_factory):
    folder, _ = hostile_site(tmp_path_factory)
    server, address = serve_folder(folder)
    yield address
    server.shutdown()
    server.server_close()


def pages_of(folder):
    return [
        path.relative_to(folder).as_posix().removesuffix("index.html")
        for path in sorted(folder.rglob("index.html"))
    ]


@SWEEP
def test_no_page_asks_outside_breaks_the_policy_or_complains(ear, built_site, site_url, share):
    names = pages_of(built_site)
    assert len(names) > 400
    # Pages at the top are each of a kind of their own; a folder's pages are made alike.
    alone = [name for name in names if name.count("/") <= 1]
    assert 10 < len(alone) < 60
    for name in [*alone, *drawn(sorted({*names} - {*alone}), share)]:
        assert ear.goto(site_url + name, wait_until="load").ok
        assert ear.heard == [], name
    assert [url for url in ear.asked if not url.startswith(site_url)] == []


@pytest.fixture
def outside():
    """A server of another origin on this machine, and the list of what it was asked for."""
    asked = []

    class Noting(BaseHTTPRequestHandler):
        def do_GET(self):
            asked.append(self.path)
            self.send_response(200)
            self.send_header("Content-Type", "text/html; charset=utf-8")
            self.end_headers()

        def log_message(self, *_):
            pass

    with ThreadingHTTPServer(("127.0.0.1", 0), Noting) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_address[1]}/", asked
        server.shutdown()


LEAK = """async (outside) => {
  const image = new Image();
  const over = new Promise((done) => { image.onload = image.onerror = done; });
  image.src = `${outside}x.png`;
  await fetch(`${outside}told`, { mode: "no-cors" }).catch(() => undefined);
  await over;
}"""


def test_policy_bites(ear, site_url, outside):
    """The listener hears, and the policy stops, what it is there to stop."""
    address, reached = outside
    ear.goto(f"{site_url}stay-safe/")
    ear.evaluate(
        """() => {
          const script = document.createElement("script");
          script.textContent = "globalThis.hit = 1";
          document.body.append(script);
          const button = document.createElement("button");
          button.setAttribute("onclick", "globalThis.hit = 2");
          document.body.append(button);
          button.click();
          document.body.insertAdjacentHTML("beforeend", "<b style='color: red'>x</b>");
        }"""
    )
    ear.evaluate(LEAK, address)
    assert ear.evaluate("globalThis.hit") is None
    told = {line.split()[2] for line in ear.heard if "policy: " in line}
    assert told == {
        "script-src-elem",
        "script-src-attr",
        "style-src-attr",
        "connect-src",
        "img-src",
    }
    # The browser announces a request it then refuses; only the other side knows what was sent.
    assert reached == []
    ear.goto(address)  # a page without the policy
    ear.evaluate(LEAK, address)
    assert {"/told", "/x.png"} <= set(reached)


def test_headers_repeat_the_policy_and_forbid_frames():
    lines = [line.strip() for line in headers_file().splitlines()]
    assert f"Content-Security-Policy: {POLICY}; frame-ancestors 'none'" in lines
    # Every fetch directive of the standard falls back to 'none' unless it names our own site.
    directives = dict(part.split(" ", 1) for part in POLICY.split("; "))
    assert directives.pop("default-src") == "'none'"
    assert directives.pop("base-uri") == "'none'"
    assert set(directives.values()) == {"'self'"}


@pytest.mark.parametrize(
    "kind", ["symptoms", "checks", "causes", "gauges", "sums", "sources", "families", "teach"]
)
def test_hostile_texts_run_nothing_on_pages(ear, hostile_url, tmp_path_factory, kind):
    folder, _ = hostile_site(tmp_path_factory)
    names = [name for name in pages_of(folder) if name.startswith(f"{kind}/")]
    # Each payload comes round every sixteen texts; a few pages of a kind meet them all.
    for name in names[:: max(1, len(names) // 8)]:
        ear.goto(hostile_url + name, wait_until="load")
        assert ear.evaluate("globalThis.hit") is None, name
        assert ear.heard == [], name
    assert [url for url in ear.asked if not url.startswith(hostile_url)] == []


def test_hostile_texts_run_nothing_in_the_checker(ear, hostile_url):
    ear.goto(f"{hostile_url}checker/#s=red-charging-lamp")
    first_step(ear)
    expect(ear.get_by_role("heading", name="What we know so far")).to_be_visible()
    assert "<" in ear.locator("#checker").inner_text()  # the payloads are there, as texts
    for fold in ear.locator("#checker summary").all():
        if fold.is_visible():
            fold.click()
    ear.get_by_label("Any check at all").select_option("measure-resting-voltage")
    ear.get_by_role("button", name="Open this check").click()
    ear.locator(".reading-form input.field").first.fill("12.1")
    ear.get_by_role("button", name="Use this reading").click()
    expect(ear.locator(".latest")).to_be_visible()
    assert ear.evaluate("globalThis.hit") is None
    assert ear.heard == []
    assert [url for url in ear.asked if not url.startswith(hostile_url)] == []


def test_hostile_texts_run_nothing_in_readings_and_search(ear, hostile_url):
    ear.goto(f"{hostile_url}readings/")
    names = ear.locator("#readings a").evaluate_all(
        "(all) => all.map((a) => a.getAttribute('href'))"
    )
    for name in [one for one in names if one.startswith("#")][:4]:
        ear.goto("about:blank")
        ear.goto(f"{hostile_url}readings/{name}")
        expect(ear.locator("#entry-title")).to_be_focused()
    ear.goto(hostile_url)
    field = ear.locator("#find-words")
    field.press_sequentially("<script>hit=1</script> battery lamp")
    expect(ear.locator("[data-found] a").first).to_be_visible()
    field.fill('"><img src=x onerror=hit=1> flat')
    expect(ear.locator("[data-found] [role=status]")).not_to_be_empty()
    assert ear.evaluate("globalThis.hit") is None
    assert ear.heard == []
    assert [url for url in ear.asked if not url.startswith(hostile_url)] == []


def test_words_in_an_address_run_nothing(ear, site_url):
    for words in (
        "#q=%3Cscript%3Ehit%3D1%3C%2Fscript%3E",
        "#s=%3Cimg+src%3Dx%3E",
        "#s=__proto__",
        "#%",
    ):
        ear.goto(f"{site_url}checker/{words}")
        expect(ear.get_by_label(re.compile("own words"))).to_be_visible()
        ear.goto("about:blank")
    ear.goto(site_url)
    assert ear.evaluate("globalThis.hit") is None
    assert ear.heard == []
