"""Whatever stands in an entry, nothing of it becomes code on a page.

Every text of every kind is poisoned (see tests/hostile_site.py), the whole site is built, and
each page is read with the standard library's parser. The browser's part is test_security.
"""

import json
import re
from html.parser import HTMLParser
from urllib.parse import urljoin, urlsplit

import pytest

from build_tools.knowledge.markup import plain, prose
from build_tools.site.security import POLICY, examine_policy
from build_tools.site.site_links import examine_site
from tests.hostile_site import PAYLOADS, hostile_site

HERE = "https://here.example/"
NEVER = {"iframe", "object", "embed", "base", "style", "frame", "template", "foreignobject"}
ADDRESSES = {"href", "src", "action", "formaction", "xlink:href", "poster", "data", "srcset"}


class Reader(HTMLParser):
    """Collect what could run or lead somewhere."""

    def __init__(self):
        super().__init__()
        self.tags, self.attrs = [], []

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        self.attrs += [(tag, name, value or "") for name, value in attrs]


def read(text):
    reader = Reader()
    reader.feed(text)
    reader.close()
    return reader


@pytest.fixture(scope="module")
def hostile(tmp_path_factory):
    folder, number = hostile_site(tmp_path_factory)
    assert number > 3000
    return folder


def test_every_payload_reached_the_pages(hostile):
    """The test would show nothing if the texts were not there."""
    seen = "".join(path.read_text("utf-8") for path in (hostile / "symptoms").rglob("*.html"))
    for sign in ("hit=1", "hit=2", "hit=5", "hit=6", "x.js", "{{ config }}", "outside.example"):
        assert sign in seen, sign


def test_no_text_of_an_entry_becomes_code(hostile):
    pages = sorted(hostile.rglob("*.html"))
    assert len(pages) > 300
    for path in pages:
        page = read(path.read_text("utf-8"))
        name = path.relative_to(hostile).as_posix()
        tags = [tag for tag, _ in page.tags]
        assert not NEVER & set(tags), name
        assert [a for a in page.attrs if a[1].startswith("on") or a[1] in {"style", "srcdoc"}] == []
        for tag, attrs in page.tags:
            if tag == "script":
                address = urlsplit(attrs["src"])
                assert (address.scheme, address.netloc) == ("", ""), name
                assert re.search(r"(^|/)assets/app/[a-z]+-[0-9a-f]{10}\.js$", address.path), name
            if tag == "meta":
                assert attrs.get("http-equiv") in {
                    None,
                    "Content-Security-Policy",
                    "x-ua-compatible",
                }
            if tag == "form":
                # The search of every page leads to the list of symptoms, and to no other place.
                assert urljoin(f"{HERE}{name}", attrs["action"]) == f"{HERE}symptoms/", name
        for tag, attr, value in page.attrs:
            if attr in ADDRESSES and tag != "textarea":
                assert urlsplit(value.strip()).scheme in {"", "https"}, (name, value)


def test_titles_and_descriptions_stay_texts(hostile):
    for path in sorted(hostile.rglob("index.html")):
        head = path.read_text("utf-8").split("</head>")[0]
        assert len(re.findall(r"<title>", head)) == 1, path
        tags = {tag for tag, _ in read(head).tags}
        assert tags <= {"html", "head", "meta", "link", "script", "title"}, path


def test_compiled_data_is_the_texts_unchanged(hostile):
    """Data is data: it is written into the page as text, so nothing is taken out of it."""
    text = (hostile / "assets" / "data" / "knowledge.json").read_text("utf-8")
    assert json.loads(text)["symptoms"]
    assert "<script>globalThis.hit=1</script>" in text


@pytest.mark.parametrize("payload", PAYLOADS)
def test_prose_keeps_words_and_drops_code(payload):
    page = read(str(prose(f"Look here. {payload} And **there**.")))
    assert {tag for tag, _ in page.tags} <= {"p", "strong", "a", "em", "code", "ul", "li", "br"}
    assert all(name == "href" for _, name, _ in page.attrs)
    assert all(urlsplit(value).scheme in {"", "https"} for _, _, value in page.attrs)
    assert "<script" not in plain(payload) or "&lt;script" in payload


def test_build_refuses_inline_code_unsafe_addresses_and_pages_without_policy(tmp_path):
    policy = f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">'
    link = '<link rel="icon" href="a.html">'
    pages = {
        "a.html": f"{policy}{link}<a href='b.html'>b</a>",
        "b.html": f'{policy}<a href="JavaScript:x()">c</a><p onclick="x()">d</p>',
        "c.html": f"{link}{policy}",
        "d.html": "<body>",
        "e.html": policy.replace("'none'", "*", 1),
    }
    for name, text in pages.items():
        (tmp_path / name).write_text(text, "utf-8")
    found = examine_site(tmp_path) + examine_policy(tmp_path)
    assert sorted((one.span.file, one.code) for one in found) == [
        ("b.html", "BLD903"), ("b.html", "BLD905"), ("c.html", "BLD904"), ("d.html", "BLD904"),
        ("e.html", "BLD904"),
    ]  # fmt: skip
