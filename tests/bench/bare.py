"""The bare build to compare with: the same Markdown, the stock theme, nothing of ours.

The pages our build makes are written out as Markdown files beside the hand-written ones, with
their places for the knowledge filled in, and given to the site generator with its stock theme,
stock search and the same Markdown extensions and the same navigation. What is left out is all
that our build adds: reading and judging the knowledge, advice, our templates, the compiled
data, the examination of every link and of the policy, the list for offline use.
"""

import json
import os
import shutil
import subprocess
import sys

import yaml
from mkdocs.config import load_config
from mkdocs.structure.files import get_files
from mkdocs.structure.pages import Page

from tests.bench.synthetic import ROOT

# Kept from our configuration; everything else is the generator's default.
_KEPT = ("nav", "markdown_extensions", "use_directory_urls")


class _Loader(yaml.CSafeLoader):
    """Read the configuration without asking the environment."""


_Loader.add_constructor("!ENV", lambda *_: "")


def write_bare_project(place, root=ROOT):
    """Write the Markdown and the stock configuration to a folder; return the number of pages."""
    ours = yaml.load((root / "mkdocs.yml").read_text("utf-8"), _Loader)
    kept = {key: ours[key] for key in _KEPT}
    stock = {"site_name": "Bare", "docs_dir": "docs", "theme": {"name": "material"}, **kept}
    place.mkdir(parents=True, exist_ok=True)
    (place / "mkdocs.yml").write_text(yaml.safe_dump(stock, sort_keys=False), "utf-8")
    config = load_config(str(root / "mkdocs.yml"), site_dir=str(place / "unused"))
    hooks = config.plugins
    files = hooks.on_files(get_files(config), config=config)
    pages = files.documentation_pages()
    for file in pages:
        page = Page(None, file, config)
        page.read_source(config)
        text = page.markdown
        if file.generated_by is None:
            text = hooks.on_page_markdown(text, page=page, config=config, files=files)
        else:
            text = hooks.on_page_content(text, page=page, config=config, files=files)
        head = {key: page.meta[key] for key in ("title", "description") if key in page.meta}
        lines = "\n".join(f"{key}: {json.dumps(value)}" for key, value in head.items())
        path = place / "docs" / file.src_uri
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(f"---\n{lines}\n---\n{text}", "utf-8")
    shutil.copytree(root / "content" / "img", place / "docs" / "img", dirs_exist_ok=True)
    return len(pages)


def build_bare(place):
    """Build the bare project into its folder `site`.

    Raises:
        CalledProcessError: if the generator refuses.
    """
    subprocess.run(
        [sys.executable, "-m", "mkdocs", "build", "--quiet", "--site-dir", str(place / "site")],
        cwd=place,
        env={**os.environ, "NO_MKDOCS_2_WARNING": "1"},
        check=True,
        capture_output=True,
    )
