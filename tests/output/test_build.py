import json
import shutil
import subprocess
import sys
from pathlib import Path

import mkdocs
import pytest

from build_tools.site.build_site import NO_COMMIT_EPOCH, build, commit_epoch
from build_tools.site.out_folder import swap, usable_out, write_manifest
from build_tools.site.search import search_document
from tests.shared_folder import KNOWN_ADDRESS, project_copy
from tests.shipped import CATALOGUE, ROOT

# Node comes with the packages of the tests.
NODE = Path(sys.executable).with_name("node")


@pytest.fixture
def project(tmp_path):
    return project_copy(tmp_path / "project")


def all_bytes(folder):
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_two_builds_are_byte_identical(site, tmp_path, monkeypatch):
    # Each build runs in a process of its own with a hash seed of its own.
    monkeypatch.setenv("SITE_URL", KNOWN_ADDRESS)
    again = tmp_path / "elsewhere" / "second"
    assert build(ROOT, again) == []
    # A former build is known again, and its place may be taken.
    assert usable_out(again, ROOT) == again.resolve()
    first, second = all_bytes(site), all_bytes(again)
    assert len(first) > 100
    assert first.keys() == second.keys()
    assert [name for name in first if first[name] != second[name]] == []


def test_broken_entry_is_named_at_its_own_line(project):
    entry = project / "symptoms" / "checks" / "measure-resting-voltage.yml"
    lines = entry.read_text("utf-8").splitlines()
    at = next(i for i, line in enumerate(lines) if line.startswith("gauge:"))
    lines[at] = "gauge: no-such-gauge"
    entry.write_text("\n".join(lines) + "\n", "utf-8")

    problems = build(project, project / "site")

    spans = [p.span for p in problems if "no-such-gauge" in p.what]
    assert [(span.file.split("/")[-1], span.line) for span in spans] == [(entry.name, at + 1)]
    assert not (project / "site").exists()


def build_over_a_former_site(project):
    """Build where a former site stands; return the problems, after a look that it still does."""
    out = project / "site"
    out.mkdir()
    (out / "index.html").write_text("the former site", "utf-8")
    write_manifest(out)
    before = all_bytes(out)

    problems = build(project, out)

    assert all_bytes(out) == before
    assert [p.name for p in project.iterdir() if p.name.startswith(".site")] == []
    return problems


@pytest.mark.long
def test_build_that_fails_half_way_leaves_the_former_site_whole(project):
    (project / "content" / "guide" / "index.md").write_text("# x\n\n[gone](nowhere.md)\n", "utf-8")
    assert any("nowhere.md" in one.what for one in build_over_a_former_site(project))


def test_generated_page_with_a_dead_link_is_refused(project):
    template = project / "build_tools" / "site" / "templates" / "source.html.j2"
    template.write_text(template.read_text("utf-8") + '<a href="../no/">x</a>', "utf-8")
    assert {one.code for one in build_over_a_former_site(project)} == {"BLD902"}


def test_swap_that_fails_puts_the_former_site_back(tmp_path):
    out = tmp_path / "site"
    out.mkdir()
    (out / "a").write_text("a", "utf-8")
    with pytest.raises(OSError, match="never-made"):
        swap(tmp_path / "never-made", out, tmp_path / "former")
    assert all_bytes(out) == {"a": b"a"}


def test_commit_epoch_without_a_commit_is_fixed(tmp_path):
    assert commit_epoch(tmp_path) == NO_COMMIT_EPOCH


def test_commit_epoch_is_the_time_of_the_last_commit(tmp_path):
    def git(*words):
        subprocess.run(["git", "-C", tmp_path, *words], check=True, capture_output=True)

    git("init", "-q")
    git("-c", "user.name=a", "-c", "user.email=a@b", "commit", "-q", "--allow-empty", "-m", "x",
        "--date", "2001-02-03T04:05:06Z")  # fmt: skip
    shown = subprocess.run(
        ["git", "-C", tmp_path, "show", "-s", "--format=%ct"],
        check=True, capture_output=True, text=True,
    )  # fmt: skip
    assert commit_epoch(tmp_path) == shown.stdout.strip()


VENDOR = ROOT / "site_overrides" / "assets" / "vendor"
LIBRARY = VENDOR / "lunr.js"


def test_search_library_is_the_file_of_the_installed_generator():
    """Between the lines that make it a module stands the package's own file, one word changed."""
    package = Path(mkdocs.__file__).parent / "contrib/search/templates/search/lunr.js"
    original, kept = package.read_text("utf-8"), LIBRARY.read_text("utf-8")
    assert original.count("})(this)\n") == 1
    before, after = kept.split(original.replace("})(this)\n", "})(globalThis)\n"))
    assert len(before.splitlines()) + len(after.splitlines()) == 7
    licence = LIBRARY.with_name("lunr-LICENSE.txt").read_text("utf-8")
    # Word for word the terms of the MIT licence, with the name the file itself gives.
    assert "Oliver Nightingale" in licence
    assert "@license MIT" in original
    assert "Oliver Nightingale" in original
    assert "The above copyright notice and this permission notice shall be included" in licence


def test_code_writer_is_the_file_of_its_package():
    """Under the lines on where it is from stands the package's own file, cut before its exports."""
    package = ROOT / "tests" / "js" / "node_modules" / "lean-qr"
    original = (package / "index.mjs").read_text("utf-8")
    kept = (VENDOR / "lean-qr.js").read_text("utf-8").splitlines(keepends=True)
    assert original.count(";export{e as ") == 1
    assert "".join(kept[3:]) == original.replace(";export{e as ", ";\nexport {e as ")
    licence = (VENDOR / "lean-qr-LICENSE.txt").read_text("utf-8")
    assert licence == (package / "LICENSE").read_text("utf-8")
    assert licence.startswith("MIT License")
    version = json.loads((package / "package.json").read_text("utf-8"))["version"]
    assert f"lean-qr {version}," in kept[1]


def test_search_library_runs_as_a_module(tmp_path):
    shutil.copy(LIBRARY, tmp_path / "lunr.mjs")
    (tmp_path / "try.mjs").write_text(
        "import lunr from './lunr.mjs';\n"
        "const index = lunr(function () { this.ref('id'); this.field('t');\n"
        "  this.add({id: 'a', t: 'warning lamps'}); this.add({id: 'b', t: 'clicks only'}); });\n"
        "lunr.utils.warn('heard');\n"
        "console.log(JSON.stringify([lunr.version, index.search('lamp').map(h => h.ref)]));\n",
        "utf-8",
    )
    ran = subprocess.run([NODE, tmp_path / "try.mjs"], check=True, capture_output=True, text=True)
    # 2.3.9 is the version the licence comment of the installed file names.
    assert json.loads(ran.stdout) == ["2.3.9", ["a"]]
    assert "heard" in ran.stderr


def test_compiled_data_and_search_texts_are_published(site):
    knowledge = json.loads((site / "assets/data/knowledge.json").read_text("utf-8"))
    texts = json.loads((site / "assets/data/search.json").read_text("utf-8"))
    # The same texts that tests/parity searches in both languages.
    assert texts == json.loads(json.dumps(search_document(CATALOGUE)))
    assert set(texts["texts"]) == set(knowledge["symptoms"])
    assert texts["synonyms"] == knowledge["synonyms"] != []
