"""Room 5: hand our pages and data to the site generator.

A thin adapter: each generator event calls a function of another file. Problems become
logged warnings, never exceptions, because an exception here stops the preview from
answering until it is mended; a strict build still refuses warnings.
"""

from __future__ import annotations

import json
import logging
import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from jinja2 import BytecodeCache
from mkdocs import utils
from mkdocs.structure.files import File, Files, InclusionLevel
from mkdocs.structure.pages import Page as SitePage

ROOT = Path(__file__).resolve().parents[2]
if str(ROOT) not in sys.path:  # the generator loads this file by its path
    sys.path.insert(0, str(ROOT))

from build_tools.engine.from_catalogue import network_from_catalogue  # noqa: E402
from build_tools.knowledge import link_words, sentences  # noqa: E402
from build_tools.knowledge.assemble import load_catalogue  # noqa: E402
from build_tools.knowledge.folders import FOLDER_OF_KIND  # noqa: E402
from build_tools.knowledge.problems import Problem, Severity, render_text  # noqa: E402
from build_tools.knowledge.schema_check import published_schemas  # noqa: E402
from build_tools.site import (  # noqa: E402
    answer_words,
    bundles,
    checker_parts,
    compile_json,
    offline,
    page_advice,
    page_parts,
    pages,
    preview,
    qr,
    readiness_pages,
    reading_shelf,
    redirect_pages,
    search,
    security,
)
from build_tools.site.page_press import Page, Press  # noqa: E402
from build_tools.site.published_data import published_files  # noqa: E402

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from jinja2.bccache import Bucket
    from mkdocs.config.defaults import MkDocsConfig

    from build_tools.knowledge.catalogue import Catalogue

# Below "mkdocs", so that a strict build counts our warnings.
log = logging.getLogger("mkdocs.hooks.before_parts")

# The press of the running build; the generator gives its events nowhere else to keep it.
_press: dict[str, Press] = {}
# Only a built site is kept on the reader's device; a preview would be served stale.
_running: dict[str, bool] = {"preview": False}
# What a preview does at the end of each build.
_at_end: list[Callable[[], None]] = []
# Pages that people hand on as paper carry a picture of their address.
_WITH_QR = ("symptoms", "checks", "teach")
# The section of a page to the folder of the file that it is made from.
_FOLDERS = {f"{kind}s": folder for kind, folder in FOLDER_OF_KIND.items()} | {"teach": "cases"}
_ID = re.compile(r'\sid="([^"]+)"')


class _OurPage(SitePage):
    """A page that is HTML already; Markdown would take long to leave it as it is."""

    def __init__(self, page: Page, file: File, config: MkDocsConfig) -> None:
        super().__init__(page.title, file, config)
        self.html = f'<div class="leaf">\n{page.html}\n</div>'
        section, _, name = page.address.partition("/")
        # A preview's address is this machine's own: a picture of it leads a phone nowhere.
        has_qr = bool(name) and section in _WITH_QR and not _running["preview"]
        with_qr: dict[str, Any] = {"qr": True} if has_qr else {}
        folder = _FOLDERS.get(section)
        source = {"file": f"symptoms/{folder}/{name}.yml"} if name and folder else {}
        self.told = {"title": page.title, "description": page.description, **with_qr, **source}

    def read_source(self, config: MkDocsConfig) -> None:  # noqa: ARG002 - the generator's form
        self.markdown, self.meta = "", self.told

    def render(self, config: MkDocsConfig, files: Files) -> None:  # noqa: ARG002 - as above
        self.content = self.html
        self.present_anchor_ids = set(_ID.findall(self.html))


class _Compiled(BytecodeCache):
    """The theme's templates as compiled in this process; jinja asks whether they still fit."""

    def __init__(self) -> None:
        self.codes: dict[str, bytes] = {}

    def load_bytecode(self, bucket: Bucket) -> None:
        if bucket.key in self.codes:
            bucket.bytecode_from_string(self.codes[bucket.key])

    def dump_bytecode(self, bucket: Bucket) -> None:
        self.codes[bucket.key] = bucket.bytecode_to_string()


_compiled = _Compiled()


def on_startup(*, command: str, **_: object) -> None:
    """Note whether this is a preview."""
    _running["preview"] = command == "serve"
    if _running["preview"]:
        _at_end.append(preview.keep_folder(utils))


def on_pre_build(**_: object) -> None:
    """Read the sentences as they are now; a preview builds more than once."""
    sentences.forget()


def on_files(files: Files, config: MkDocsConfig) -> Files:
    """Add the generated pages, the compiled data and the search library."""
    root = Path(config.config_file_path).parent
    catalogue, problems = load_catalogue(root)
    _report(problems)
    drawings = root / "site_overrides" / "assets" / "drawings"
    data = compile_json.compile_catalogue(catalogue)
    press = Press(
        catalogue,
        network_from_catalogue(catalogue),
        drawings,
        version=data["version"],
        site_url="" if _running["preview"] else config.site_url or "",
    )
    _press["now"] = press
    made, trouble = pages.make_pages(press)
    _report(trouble)
    for page in made:
        file = _file(config, f"{page.address}/index.md", "")
        _OurPage(page, file, config)  # the file knows its page from here on
        files.append(file)
    for name, text in (
        *published_files(catalogue, data, config.extra),
        *_data_files(catalogue, data),
        ("assets/data/reading-texts.json", json.dumps(reading_shelf.reading_texts(press))),
    ):
        files.append(_file(config, name, text))
    for name, text in published_schemas():
        files.append(_file(config, f"schema/{name}", text))
    for name, html in redirect_pages.redirect_files(catalogue):
        files.append(_file(config, name, html))
    return files


def _data_files(catalogue: Catalogue, data: dict[str, Any]) -> Iterator[tuple[str, str]]:
    """Yield the name and the text of every file of compiled data."""
    yield checker_parts.FIRST_FILE, compile_json.to_text(checker_parts.first_part(data))
    yield checker_parts.LATER_FILE, compile_json.to_text(checker_parts.later_part(data))
    for name, part in page_parts.page_parts(data).items():
        yield name, compile_json.to_text(part)
    yield "assets/data/readiness.json", readiness_pages.readiness_data(catalogue)
    texts = json.dumps(search.search_document(catalogue), ensure_ascii=False, separators=(",", ":"))
    yield "assets/data/search.json", texts
    said = json.dumps(answer_words.answer_words(catalogue), ensure_ascii=False)
    yield "assets/data/answer.json", said
    exercises = json.dumps(dict(sentences.listed("exercises")), ensure_ascii=False)
    yield "assets/data/exercise.json", exercises
    book = json.dumps(link_words.link_document(catalogue), separators=(",", ":"))
    yield "assets/data/link-words.json", book


def on_env(env: Any, config: MkDocsConfig, files: Files) -> Any:  # noqa: ANN401 - the generator's type
    """Give the templates our words; fill the sentences; leave out the theme's own files."""
    env.bytecode_cache = _compiled
    # The preview reloads by a script in the page, which the policy would stop.
    env.globals["policy_tag"] = "" if _running["preview"] else security.policy_tag()
    env.globals["qr_code"] = qr.qr_code
    env.globals["worker"] = not _running["preview"]
    module = files.src_uris["assets/kit/sentences.js"]
    module.content_string = sentences.filled(module.content_string)
    for file in list(files):
        if _is_theme_leftover(file, config):
            files.remove(file)
    if _running["preview"]:
        settings = Path(config.config_file_path)
        preview.keep_drawn(env, settings, settings.parent / "site_overrides")
    return env


def on_page_markdown(markdown: str, page: SitePage, **_: object) -> str:
    """Fill the places that a hand-written page leaves for the knowledge."""
    if "<!-- fill: " not in markdown or "now" not in _press:
        return markdown
    up = "../" * page.url.count("/") or "./"
    try:
        return pages.fill(markdown, _press["now"], up)
    except KeyError as error:
        log.warning("%s asks for a fragment that does not exist: %s", page.file.src_uri, error)
        return markdown


def on_post_build(config: MkDocsConfig) -> None:
    """Write what needs the whole site: headers, joined scripts, the list for offline use."""
    folder = Path(config.site_dir)
    (folder / "_headers").write_text(security.headers_file(), "utf-8")
    page_advice.keep_advice()
    if _running["preview"]:
        preview.forget_drawn()
        for end in _at_end:
            end()
    else:
        bundles.write_bundles(folder)
        offline.write_edition(folder)


def _file(config: MkDocsConfig, name: str, content: str) -> File:
    return File.generated(config, name, content=content, inclusion=InclusionLevel.NOT_IN_NAV)


def _is_theme_leftover(file: File, config: MkDocsConfig) -> bool:
    if not file.src_uri.startswith("assets/") or file.abs_src_path is None:
        return False
    ours = config.theme.custom_dir
    return not (ours and Path(file.abs_src_path).is_relative_to(Path(ours).resolve())) and not (
        Path(file.abs_src_path).is_relative_to(config.docs_dir)
    )


def _report(problems: list[Problem]) -> None:
    for problem in problems:
        if problem.severity is Severity.ERROR:
            log.warning("%s", render_text([problem]).rstrip())
