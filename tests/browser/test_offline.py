"""Without a network, and between two editions: never a mixed site, never a lost one.

Real Chromium, a real worker and a server that is stopped and given other folders. Digests are
held against the sha256sum of the system.
"""

import base64
import functools
import hashlib
import json
import os
import re
import shutil
import subprocess
import threading
import time
from contextlib import ExitStack
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest
from playwright.sync_api import expect

from build_tools.site.offline import BLANK, REST, WorkerError, describe_edition, write_edition
from tests.browser.phone import SAVES_DATA, first_step

PREFIX = "/some/place/"
SOURCE_WORKER = Path(__file__).parents[2] / "site_overrides" / "sw.js"
KEPT = "This site is kept on this device and opens without a network."
NEWER = "A newer edition is ready."
# A first visit waits three seconds, then fetches the edition; the machine may be busy.
LONG = 60_000
# Enough of the site to be a site; the deploys are about wholeness, not about size.
SMALL = (
    "index.html", "checker", "stay-safe", "offline", "symptoms/index.html",
    "symptoms/red-charging-lamp", "assets", "app.webmanifest",
)  # fmt: skip


class _Handler(SimpleHTTPRequestHandler):
    def __init__(self, *words, host, **named):
        self.host = host
        super().__init__(*words, directory=str(host.folder), **named)

    def translate_path(self, path):
        inside = path.removeprefix(PREFIX) if path.startswith(PREFIX) else "outside-the-site"
        return super().translate_path("/" + inside)

    def do_GET(self):
        # A browser opens lines in advance; one that waits since before a change serves as of now.
        if self.host.is_down:
            return
        self.directory = str(self.host.folder)
        self.host.asked.append(self.path)
        super().do_GET()

    def end_headers(self):
        if self.host.kept_for:
            self.send_header("Cache-Control", f"max-age={self.host.kept_for}")
        super().end_headers()

    def log_message(self, *_):
        pass


class Host:
    """A static host under a sub-path that can be given another folder, stopped and started.

    Browsers may keep what it sends for `kept_for` seconds without asking again.
    """

    def __init__(self, folder):
        self.folder, self.asked, self.port, self.kept_for = folder, [], 0, 0
        self.start()

    def start(self):
        self.is_down = False
        handler = functools.partial(_Handler, host=self)
        self.server = ThreadingHTTPServer(("127.0.0.1", self.port), handler)
        self.port = self.server.server_address[1]
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def stop(self):
        self.is_down = True
        self.server.shutdown()
        self.server.server_close()

    @property
    def address(self):
        return f"http://127.0.0.1:{self.port}{PREFIX}"


@pytest.fixture
def host(tmp_path):
    """Hosts are stopped when the test ends."""
    hosts = []

    def make(folder):
        hosts.append(Host(folder))
        return hosts[-1]

    yield make
    for one in hosts:
        one.stop()


def small_site(built_site, folder):
    for name in SMALL:
        source, target = built_site / name, folder / name
        target.parent.mkdir(parents=True, exist_ok=True)
        if source.is_dir():
            shutil.copytree(source, target)
        else:
            shutil.copy(source, target)
    shutil.copy(SOURCE_WORKER, folder / "sw.js")
    write_edition(folder)
    return folder


def next_edition(former, folder, *, every_page=False):
    """Change pages, the styles and the scripts, as a real edition would."""
    shutil.copytree(former, folder)
    some = (folder / "index.html", folder / "stay-safe" / "index.html")
    for path in folder.rglob("*.html") if every_page else some:
        text = path.read_text("utf-8")
        path.write_text(re.sub(r"</h1>", " (second edition)</h1>", text, count=1), "utf-8")
    for sheet in (folder / "assets" / "app").glob("*.css"):
        with sheet.open("a") as style:
            style.write("h1 { font-style: italic; }\n")
    for script in (folder / "assets" / "app").glob("*.js"):
        with script.open("a") as code:
            code.write('globalThis.edition = "second";\n')
    if every_page:
        _rename_by_content(folder)
    shutil.copy(SOURCE_WORKER, folder / "sw.js")
    write_edition(folder)
    # Real editions are not made within one second, which is as fine as Last-Modified tells.
    later = time.time() + 60
    os.utime(folder / "sw.js", (later, later))
    return folder


def _rename_by_content(folder):
    """Name styles and scripts anew, as the build does when what they hold is another."""
    renamed = {}
    for file in (folder / "assets" / "app").iterdir():
        digest = hashlib.sha256(file.read_bytes()).hexdigest()[:10]
        renamed[file.name] = re.sub(r"-[0-9a-f]{10}\.", f"-{digest}.", file.name)
        file.rename(file.with_name(renamed[file.name]))
    names = re.compile("|".join(map(re.escape, renamed)))
    for file in [*folder.rglob("*.html"), *(folder / "assets" / "app").glob("*.js")]:
        text = file.read_text("utf-8")
        file.write_text(names.sub(lambda found: renamed[found[0]], text), "utf-8")


def visit_and_keep(page, host):
    page.goto(host.address)
    expect(page.locator("[data-edition]")).to_have_text(KEPT)


def caches_of(page):
    return page.evaluate("caches.keys()")


def kept_text(page, path):
    """Read a file from whichever caches there are, past the worker."""
    return page.evaluate(
        """async ([scope, path]) => {
          const texts = [];
          for (const name of await caches.keys()) {
            const found = await (await caches.open(name)).match(scope + path);
            if (found) texts.push(await found.text());
          }
          return texts;
        }""",
        [page.evaluate("navigator.serviceWorker.ready.then((r) => r.scope)"), path],
    )


def check_for_update(page):
    """Ask the browser to look for a newer worker, and wait until it has settled."""
    page.evaluate(
        """async () => {
          const registration = await navigator.serviceWorker.ready;
          await registration.update().catch(() => undefined);
          const { installing } = registration;
          if (!installing) return;
          await new Promise((done) => installing.addEventListener("statechange", () => done()));
        }"""
    )


def is_waiting(page):
    return page.evaluate("navigator.serviceWorker.ready.then((r) => r.waiting !== null)")


def until(page, expression):
    """Ask until it is so; the page's policy forbids the driver's own way of waiting."""
    for _ in range(LONG // 100):
        if page.evaluate(expression):
            return
        page.wait_for_timeout(100)
    pytest.fail(f"never true: {expression}")


def until_waiting(page):
    until(page, "navigator.serviceWorker.ready.then((r) => r.waiting !== null)")


def look_of(page):
    """The page's words and style: of one edition both are plain, of the other both are not."""
    heading = page.locator("h1").first
    slanted = heading.evaluate("(node) => getComputedStyle(node).fontStyle") == "italic"
    return "second edition" in heading.inner_text(), slanted


OLD, NEW = (False, False), (True, True)


def test_edition_lists_every_file_by_the_digest_the_system_gives(built_site):
    edition = describe_edition(built_site)
    files = edition["files"] | edition["rest"]
    assert not set(edition["files"]) & set(edition["rest"])
    names = {
        name: f"{name}index.html" if name == "" or name.endswith("/") else name for name in files
    }
    asked = subprocess.run(
        ["sha256sum", *names.values()], cwd=built_site, check=True, capture_output=True, text=True
    )
    sums = dict(reversed(line.split("  ", 1)) for line in asked.stdout.splitlines())
    assert {name: base64.b64decode(digest).hex() for name, digest in files.items()} == {
        name: sums[path] for name, path in names.items()
    }
    written = re.search(
        r"^const EDITION = (\{.*\});$", (built_site / "sw.js").read_text(), re.MULTILINE
    )
    told = json.loads(written[1])
    assert told["files"] == edition["files"]
    listed = (built_site / REST).read_bytes()
    assert json.loads(listed) == edition["rest"]
    assert base64.b64decode(told["rest"]["digest"]) == hashlib.sha256(listed).digest()
    assert told["rest"]["count"] == len(edition["rest"])
    assert not {"sw.js", REST, "_headers", "404.html", "sitemap.xml"} & set(files)


def test_what_is_kept_unasked_is_small_and_all_that_its_pages_load(built_site):
    """Weighed with gzip of the system; a page is whole when every file its text names is kept."""
    files = describe_edition(built_site)["files"]
    names = [f"{n}index.html" if n == "" or n.endswith("/") else n for n in files]
    weights = [
        len(
            subprocess.run(
                ["gzip", "-c", built_site / name], check=True, capture_output=True
            ).stdout
        )
        for name in names
    ]
    assert sum(weights) <= 700_000
    for name in names:
        if name.endswith(".html"):
            text = (built_site / name).read_text("utf-8")
            loads = re.findall(r'(?:src|href)="[./]*(assets/app/[^"?]+|assets/data/[^"?]+)', text)
            assert loads
            assert set(loads) <= set(files), name


def test_worker_without_its_line_is_refused(tmp_path):
    (tmp_path / "sw.js").write_text("// nothing to fill\n")
    with pytest.raises(WorkerError, match="EDITION"):
        write_edition(tmp_path)
    assert SOURCE_WORKER.read_text("utf-8").count(BLANK) == 1


def was_lost(request):
    """Tell what could not be had from the tab's mark, which the browser gives up with its page.

    The word for giving up is no sign by itself: what the copy lacks fails by that word too.
    """
    given_up = "ERR_ABORTED" in (request.failure or "")
    return not (given_up and request.url.endswith("assets/icons/icon.svg"))


def test_file_gone_from_the_copy_counts_as_lost(page, host, built_site):
    served = host(built_site)
    visit_and_keep(page, served)
    page.reload()
    served.stop()
    gone = page.evaluate(
        """async () => {
          const gone = [];
          for (const name of await caches.keys()) {
            const kept = await caches.open(name);
            for (const { url } of await kept.keys()) {
              if (/\\/app\\/readings-.*\\.(js|css)$/.test(url) && (await kept.delete(url))) gone.push(url);
            }
          }
          return gone;
        }"""
    )
    assert len(gone) == 2
    with ExitStack() as heard:
        for url in gone:
            lost = page.expect_event(
                "requestfailed", lambda one, url=url: one.url == url and was_lost(one)
            )
            heard.enter_context(lost)
        page.goto(f"{served.address}readings/")


DRIVEWAY = (
    "checker/", "readings/", "readiness/", "stay-safe/", "symptoms/", "checks/", "offline/",
    "checks/measure-resting-voltage/", "checks/load-test-battery/",
)  # fmt: skip
ON_REQUEST = ("causes/", "logs/", "trips/", "guide/", "symptoms/red-charging-lamp/", "sources/")


def test_what_is_needed_beside_a_car_opens_without_a_network_though_never_visited(
    page, host, built_site
):
    served = host(built_site)
    visit_and_keep(page, served)
    served.stop()
    lost = []
    page.on(
        "requestfailed", lambda request: lost.append(request.url) if was_lost(request) else None
    )
    for name in DRIVEWAY:
        response = page.goto(served.address + name, wait_until="networkidle")
        assert response.ok, name
        assert response.from_service_worker, name
        assert page.locator("h1").first.inner_text(), name
    assert lost == []

    page.goto(f"{served.address}checker/#s=red-charging-lamp")
    first_step(page)
    expect(page.get_by_role("heading", name="What we know so far")).to_be_visible()
    served.start()


def test_all_pages_are_kept_when_the_reader_asks_with_size_and_progress(page, host, built_site):
    served = host(built_site)
    visit_and_keep(page, served)
    page.goto(f"{served.address}offline/")
    place = page.locator("[data-keep-all]")
    keep = place.get_by_role("button")
    rest = describe_edition(built_site)["rest"]
    expect(keep).to_have_text(
        re.compile(rf"Keep all other pages: {len(rest)} files, about \d\.\d MB to fetch")
    )
    page.evaluate(
        """() => {
          globalThis.heard = [];
          navigator.serviceWorker.addEventListener("message", ({ data }) => heard.push(data));
        }"""
    )
    keep.click()
    expect(place).to_have_text("All pages are kept on this device.")
    steps = page.evaluate(
        "heard.filter((one) => one.edition === 'progress').map((one) => one.done)"
    )
    assert steps == sorted(steps)
    assert steps[-1] == len(rest)
    served.stop()
    for name in ON_REQUEST:
        assert page.goto(served.address + name).from_service_worker, name
        assert page.url == served.address + name
    served.start()


def test_where_data_is_saved_nothing_is_kept_unasked(page, host, built_site, tmp_path):
    page.add_init_script(SAVES_DATA)
    served = host(small_site(built_site, tmp_path / "site"))
    page.goto(f"{served.address}offline/")
    keep = page.locator("[data-keep-all]").get_by_role("button")
    expect(keep).to_have_text("Keep what is needed beside a car, about 0.6 MB to fetch")
    assert (
        page.evaluate("navigator.serviceWorker.getRegistrations().then((all) => all.length)") == 0
    )
    assert caches_of(page) == []
    keep.click()
    expect(page.locator("[data-edition]")).to_have_text(KEPT)


def sixty_addresses(built_site):
    """Pages kept and not kept and addresses nobody wrote, each with and without its last slash."""
    edition = describe_edition(built_site)
    kept = [name for name in edition["files"] if name.endswith("/")][:12]
    others = [name for name in edition["rest"] if name.endswith("/")]
    rest = others[:: len(others) // 20][: 22 - len(kept)]
    unknown = [f"no/such/{word}/" for word in ("a", "b", "index", "a.b")]
    unknown += ["no-such-page/", "checker/no/", "checks/zzz/", "symptoms/zzz/"]
    return kept, rest, unknown


def whole_look(page):
    """Return what heading, style and script each tell of the edition they are of."""
    return (*look_of(page), page.evaluate("globalThis.edition === 'second'"))


@pytest.mark.parametrize("server", ["stopped", "of-another-edition"])
def test_sixty_addresses_with_and_without_slash_are_each_of_one_edition(
    page, host, built_site, tmp_path, server
):
    kept, rest, unknown = sixty_addresses(built_site)
    assert len(kept + rest + unknown) * 2 == 60
    served = host(built_site)
    newer = tmp_path / "newer"
    if server == "of-another-edition":
        next_edition(built_site, newer, every_page=True)
    visit_and_keep(page, served)
    page.reload()
    if server == "stopped":
        served.stop()
    else:
        served.folder = newer
    lost = []
    page.on(
        "requestfailed", lambda request: lost.append(request.url) if was_lost(request) else None
    )
    for name in [*kept, *rest, *unknown]:
        for address in (name, name.removesuffix("/")):
            lost.clear()
            answer = page.goto(served.address + address, wait_until="load")
            if name in kept:
                assert page.url == served.address + name, address
                assert whole_look(page) == (False, False, False), address
            elif server == "stopped":
                assert page.url == f"{served.address}offline/", address
                expect(page.locator("h1")).to_have_text("Without a network")
                assert whole_look(page) == (False, False, False), address
                assert page.locator("h1").evaluate("(n) => getComputedStyle(n).fontFamily") != (
                    "Times New Roman"
                )
            elif name in rest:
                assert page.url == served.address + name, address
                assert whole_look(page) == (True, True, True), address
            else:
                assert answer.status == 404, address
            if name in kept or server == "stopped":
                assert [url for url in lost if "assets/" in url] == []
    if server == "stopped":
        served.start()


def test_half_a_deploy_is_refused_and_a_whole_one_waits_for_the_reader(
    page, host, built_site, tmp_path
):
    old = small_site(built_site, tmp_path / "old")
    new = next_edition(old, tmp_path / "new")
    served = host(old)
    visit_and_keep(page, served)
    (former,) = caches_of(page)

    # Half a deploy: the worker and one page are new, everything else is still old.
    half = tmp_path / "half"
    shutil.copytree(old, half)
    for name in ("sw.js", "index.html"):
        shutil.copy2(new / name, half / name)
    served.folder = half
    check_for_update(page)
    assert not is_waiting(page)
    for name in ("", "stay-safe/"):
        page.goto(served.address + name)
        assert look_of(page) == OLD
    expect(page.locator("[data-edition]")).to_have_text(KEPT)

    # The rest arrives. The new edition is fetched whole, and waits.
    served.folder = new
    check_for_update(page)
    until_waiting(page)
    for name in ("stay-safe/", ""):
        page.goto(served.address + name)
        assert look_of(page) == OLD
    expect(page.locator("[data-edition]")).to_contain_text(NEWER)
    assert former in caches_of(page)

    # The reader accepts: every open page changes over, and the former edition is gone.
    other = page.context.new_page()
    other.goto(f"{served.address}stay-safe/")
    assert look_of(other) == OLD
    page.get_by_role("button", name="Use it now").click()
    expect(page.locator("h1").first).to_contain_text("second edition")
    expect(other.locator("h1").first).to_contain_text("second edition")
    assert look_of(page) == look_of(other) == NEW
    (now,) = caches_of(page)
    assert now != former

    served.stop()
    page.goto(f"{served.address}stay-safe/")
    assert look_of(page) == NEW
    served.start()


def test_without_a_worker_a_page_opened_before_a_deploy_starts_after_it(
    new_context, host, built_site, tmp_path
):
    """The browser may keep pages for an hour, so only asking the network anew helps."""
    served = host(built_site)
    served.kept_for = 3600
    page = new_context(service_workers="block").new_page()
    page.add_init_script(SAVES_DATA)  # else all of the next view is there before the deploy
    page.goto(f"{served.address}checker/")
    field = page.get_by_label("Say it in your own words")
    field.press_sequentially("red battery lamp")
    page.locator("#hits input").first.wait_for()
    assert whole_look(page) == (False, False, False)

    served.folder = next_edition(built_site, tmp_path / "newer", every_page=True)
    page.locator("#hits input").first.check()
    page.get_by_role("button", name="Go on").click()
    expect(page.locator("[data-failed]")).to_be_visible()
    assert whole_look(page) == (False, False, False)
    served.asked.clear()
    page.get_by_role("button", name="Try again").click()
    first_step(page)
    assert f"{PREFIX}checker/" in served.asked
    assert whole_look(page) == (True, True, True)

    # The address typed again is the new edition too, heading, style and script.
    page.goto(f"{served.address}stay-safe/")
    assert whole_look(page) == (True, True, True)


def test_only_what_changed_is_fetched_again(page, host, built_site, tmp_path):
    old = small_site(built_site, tmp_path / "old")
    new = next_edition(old, tmp_path / "new")
    served = host(old)
    visit_and_keep(page, served)
    page.reload()  # from here on the page is the worker's
    served.folder, served.asked[:] = new, []
    check_for_update(page)
    until_waiting(page)
    before, after = describe_edition(old)["files"], describe_edition(new)["files"]
    changed = {PREFIX + name for name in after if before.get(name) != after[name]}
    assert 2 < len(changed) < len(after) / 2
    assert set(served.asked) == changed | {f"{PREFIX}sw.js"}


def test_page_only_a_newer_edition_has_comes_whole_from_the_network(
    page, host, built_site, tmp_path
):
    old = small_site(built_site, tmp_path / "old")
    new = next_edition(old, tmp_path / "new")
    shutil.copytree(new / "stay-safe", new / "brand-new")
    served = host(old)
    visit_and_keep(page, served)
    served.folder = new
    page.goto(f"{served.address}brand-new/")
    assert look_of(page) == NEW


def test_page_not_kept_is_asked_anew_whatever_the_browser_kept(page, host, built_site, tmp_path):
    """The host lets browsers keep pages for an hour; their styles are gone after a deploy."""
    old = small_site(built_site, tmp_path / "old")
    shutil.copytree(old / "stay-safe", old / "not-kept")
    served = host(old)
    served.kept_for = 3600
    visit_and_keep(page, served)
    page.goto(f"{served.address}not-kept/")
    assert look_of(page) == OLD
    page.goto(f"{served.address}stay-safe/")
    newer = next_edition(old, tmp_path / "newer", every_page=True)
    served.folder = newer
    for go in (page.go_back, lambda: page.goto(f"{served.address}not-kept/")):
        go()
        assert look_of(page) == NEW


def test_copy_the_device_threw_away_is_said_and_kept_anew(page, host, built_site, tmp_path):
    served = host(small_site(built_site, tmp_path / "site"))
    visit_and_keep(page, served)
    page.reload()
    page.evaluate(
        """() => {
          globalThis.heard = [];
          navigator.serviceWorker.addEventListener("message", ({ data }) => heard.push(data.edition));
        }"""
    )
    page.evaluate("caches.keys().then((names) => Promise.all(names.map((n) => caches.delete(n))))")
    answer = page.evaluate("fetch('stay-safe/').then((answer) => answer.text())")
    assert "Stay safe" in answer
    until(page, "heard.includes('kept')")
    assert page.evaluate("heard[0]") == "gone"
    assert len(kept_text(page, "stay-safe/")) == 1
    served.stop()
    assert page.goto(f"{served.address}stay-safe/").ok
    served.start()


def test_device_without_room_reads_from_the_network_and_says_so(page, host, built_site, tmp_path):
    served = host(small_site(built_site, tmp_path / "site"))
    session = page.context.new_cdp_session(page)
    origin = served.address.removesuffix(PREFIX)
    session.send("Storage.overrideQuotaForOrigin", {"origin": origin, "quotaSize": 20_000})
    page.goto(served.address)
    expect(page.locator("[data-edition]")).to_have_text(
        "This device has no room to keep the site. It needs the network."
    )
    until(page, "caches.keys().then((all) => all.length === 0)")
    assert page.goto(f"{served.address}stay-safe/").ok


def test_preview_takes_a_kept_edition_back(page, host, built_site, tmp_path):
    site = small_site(built_site, tmp_path / "site")
    served = host(site)
    visit_and_keep(page, served)
    shutil.copy(SOURCE_WORKER, site / "sw.js")
    check_for_update(page)
    until(page, "navigator.serviceWorker.getRegistrations().then((all) => all.length === 0)")
    assert caches_of(page) == []


def test_site_can_be_installed(page, host, built_site, tmp_path):
    served = host(small_site(built_site, tmp_path / "site"))
    visit_and_keep(page, served)
    session = page.context.new_cdp_session(page)
    found = session.send("Page.getAppManifest")
    assert found["errors"] == []
    manifest = json.loads(found["data"])
    for icon in manifest["icons"]:
        assert page.request.get(served.address + icon["src"]).ok
    # Chromium's own list of what stands in the way of installing.
    in_the_way = session.send("Page.getInstallabilityErrors")["installabilityErrors"]
    assert {one["errorId"] for one in in_the_way} <= {"in-incognito"}  # the driver's own window
