from collections import deque
from urllib.parse import unquote, urldefrag, urljoin, urlsplit

import yaml

from build_tools.site.redirect_pages import redirect_files
from build_tools.site.site_links import examine_site
from tests.output.page_tree import parse
from tests.shipped import CATALOGUE, ROOT

SYMPTOMS = ROOT / "symptoms"
# Resolution of relative addresses is the standard library's (RFC 3986), under a sub-path.
BASE = "https://example.org/some/place/"
ADDRESSES = (("a", "href"), ("link", "href"), ("script", "src"), ("img", "src"), ("form", "action"))


def addresses(page):
    for tag, name in ADDRESSES:
        for node in page.find(tag):
            if name in node.attrs:
                yield node.attrs[name]


APPS = {BASE + name for name in ("checker/", "readiness/")}


def page_url(site, path):
    return BASE + path.relative_to(site).as_posix().removesuffix("index.html")


def file_of(site, url):
    assert url.startswith(BASE), url
    inside = unquote(urlsplit(url).path.removeprefix(urlsplit(BASE).path))
    target = site / inside
    return target / "index.html" if inside == "" or inside.endswith("/") else target


def pages(site):
    return [path for path in sorted(site.rglob("*.html")) if path.name != "404.html"]


def test_every_internal_link_resolves_under_a_sub_path(site):
    seen = 0
    for path in pages(site):
        for address in addresses(parse(path)):
            url, _ = urldefrag(urljoin(page_url(site, path), address))
            assert file_of(site, url).is_file(), (path, address)
            seen += 1
    assert seen > 500


def test_every_anchor_exists(site):
    ids = {}
    for path in pages(site):
        ids[path] = {node.attrs["id"] for node in parse(path).walk() if "id" in node.attrs}
    for path in pages(site):
        for address in addresses(parse(path)):
            url, fragment = urldefrag(urljoin(page_url(site, path), address))
            # On the pages that are apps a fragment opens a view or fills in a form.
            if fragment and url not in APPS:
                assert fragment in ids[file_of(site, url)], (path, address)


def test_no_address_leads_outside(site):
    for path in sorted(site.rglob("*.html")):
        page = parse(path)
        own = [node.attrs["href"] for node in page.find("link", rel="canonical")]
        # A page may name its own address (RFC 6596), since this host's is known; nothing else.
        assert own in ([], [page_url(site, path)]), path
        for address in addresses(page):
            assert not urlsplit(address).scheme or address in own, (path, address)
            assert not urlsplit(address).netloc or address in own, (path, address)


def test_no_page_holds_inline_code(site):
    for path in sorted(site.rglob("*.html")):
        page = parse(path)
        assert not page.find("style"), path
        assert all("src" in script.attrs for script in page.find("script")), path
        for node in page.walk():
            assert "style" not in node.attrs, (path, node.tag)
            assert not [name for name in node.attrs if name.startswith("on")], (path, node.tag)


def test_no_theme_script_or_style_is_published(site):
    assets = {path.relative_to(site / "assets").parts[0] for path in (site / "assets").rglob("*")}
    assert not assets & {"javascripts", "stylesheets", "images"}


def test_stylesheets_ask_for_nothing_outside(site):
    for sheet in sorted(site.rglob("*.css")):
        text = sheet.read_text("utf-8")
        assert "://" not in text
        assert "@import" not in text


def test_every_page_is_reached_from_the_first_one(site):
    start = site / "index.html"
    seen, queue = {start}, deque([start])
    while queue:
        path = queue.popleft()
        for address in addresses(parse(path)):
            url, _ = urldefrag(urljoin(page_url(site, path), address))
            target = file_of(site, url)
            if target.suffix == ".html" and target not in seen:
                seen.add(target)
                queue.append(target)
    # Nothing leads to a former address any more; it is for links that were kept elsewhere.
    former = {site / name for name, _ in redirect_files(CATALOGUE)}
    assert set(pages(site)) - seen == former


def test_each_symptom_stands_in_its_own_family_and_in_no_other(site):
    listed = {
        path.parent.name: {
            a.attrs["href"].strip("/").split("/")[-1]
            for a in parse(path).find("a")
            if "../symptoms/" in a.attrs.get("href", "")
            and not a.attrs["href"].endswith("symptoms/")
        }
        for path in (site / "families").glob("*/index.html")
    }
    entries = [yaml.safe_load(p.read_text("utf-8")) for p in (SYMPTOMS / "entries").glob("*.yml")]
    assert entries
    for entry in entries:
        assert [f for f, ids in listed.items() if entry["id"] in ids] == [entry["family"]]


def test_first_page_lists_families_and_doors_without_script(site):
    page = parse(site / "index.html")
    hrefs = [a.attrs["href"] for a in page.find("a")]
    assert sum("families/" in href for href in hrefs) >= 5
    doors = page.find("ul", cls="doors")[0].find("a")
    assert [a.find("b")[0].text for a in doors] == [
        "I have a reading",
        "Ready for inspection?",
        "Someone sent me a case",
        "I answer people's questions",
    ]


def test_examine_site_names_a_broken_link_and_inline_code(tmp_path):
    (tmp_path / "index.html").write_text(
        '<p id="here"><a href="gone/">x</a><a href="#here">y</a><a href="#not">z</a></p>'
        '<script>1</script><p style="x">', "utf-8",
    )  # fmt: skip
    found = [(problem.code, problem.what) for problem in examine_site(tmp_path)]
    assert ("BLD902", '"gone/" leads nowhere') in found
    assert ("BLD902", '"#not" leads nowhere') in found
    assert sum(code == "BLD903" for code, _ in found) == 2
    assert len(found) == 4
