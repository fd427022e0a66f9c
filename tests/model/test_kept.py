"""What is kept of a reading: the same as reading anew, and never stale.

Held against the reading itself (`read_catalogue`) where nothing is kept of any file.
"""

import os
import shutil
import subprocess
import sys

import pytest

from build_tools.knowledge import assemble, kept, kept_files
from build_tools.knowledge.assemble import load_catalogue, read_catalogue
from build_tools.knowledge.folders import PROJECT

BASE = PROJECT / "tests" / "fixtures" / "base"


@pytest.fixture
def project(tmp_path, monkeypatch):
    """A project with the small knowledge in it, which keeps its readings in its own folder."""
    shutil.copytree(BASE, tmp_path / "symptoms")
    monkeypatch.setattr(assemble, "PROJECT", tmp_path)
    monkeypatch.setattr(assemble, "KEPT", tmp_path / ".cache" / "knowledge")
    return tmp_path


@pytest.fixture
def bare(tmp_path, monkeypatch):
    """Nothing is kept of any file, in this process or on the disk, and what will be is elsewhere."""

    def forget():
        monkeypatch.setattr(kept_files, "_shelves", [])
        monkeypatch.setattr(assemble, "_made", assemble._Made())
        kept_files.judged_file.cache_clear()

    monkeypatch.setattr(kept_files, "_FOLDER", tmp_path / ".cache" / "files")
    forget()
    yield forget
    kept_files.judged_file.cache_clear()


def readings(project):
    return sorted((project / ".cache" / "knowledge").glob("*"))


def test_the_second_time_gives_the_same_and_reads_no_yaml(project, monkeypatch):
    first = load_catalogue(project)
    assert len(readings(project)) == 1
    monkeypatch.setattr(kept_files, "read", lambda *_: pytest.fail("a file was read again"))
    kept_files.judged_file.cache_clear()
    second = load_catalogue(project)
    assert second == first
    span = second[0].place("cause", "starter-stuck", "repair", "minutes")
    assert span == first[0].place("cause", "starter-stuck", "repair", "minutes")
    assert list(second[0].documents) == list(first[0].documents)


def test_shipped_knowledge_comes_back_as_it_was_read(bare):
    load_catalogue(PROJECT)
    kept_now = load_catalogue(PROJECT)
    bare()
    assert kept_now == read_catalogue(PROJECT / "symptoms")


def test_after_one_change_only_that_file_is_read_and_all_is_as_anew(bare, tmp_path, monkeypatch):
    knowledge = tmp_path / "symptoms"
    shutil.copytree(PROJECT / "symptoms", knowledge)
    read_catalogue(knowledge)
    kept_files.keep_files()
    assert len(list((tmp_path / ".cache" / "files").iterdir())) == 1
    path = next(knowledge.glob("causes/*.yml"))
    text = path.read_text("utf-8")
    path.write_text(text.replace("minutes: ", "minutes: 1", 1), "utf-8")
    bare()
    read, names = kept_files.read, []
    monkeypatch.setattr(
        kept_files, "read", lambda raw, name: (names.append(name), read(raw, name))[1]
    )
    by_halves = read_catalogue(knowledge)
    assert names == [f"symptoms/causes/{path.name}"]
    names.clear()
    bare()
    shutil.rmtree(tmp_path / ".cache")
    assert by_halves == read_catalogue(knowledge)
    assert len(names) == len([*knowledge.glob("[!_]*/*.yml"), knowledge / "redirects.yml"])
    # In one process too the entry of the changed file is made anew, and no other.
    path.write_text(text, "utf-8")
    before = by_halves[0].causes[path.stem].repair.minutes
    assert read_catalogue(knowledge)[0].causes[path.stem].repair.minutes != before


def test_another_schema_knows_nothing_of_files_that_were_read(bare, tmp_path, monkeypatch):
    read_catalogue(BASE)
    schemas = tmp_path / "schemas"
    shutil.copytree(kept_files.SCHEMAS, schemas)
    monkeypatch.setattr(kept_files, "_FEW", 0)
    kept_files.keep_files()
    monkeypatch.setattr(kept_files, "SCHEMAS", schemas)
    bare()
    assert kept_files._taken_down().found
    path = next(schemas.glob("*.json"))
    path.write_bytes(path.read_bytes() + b"\n")
    assert not kept_files._taken_down().found


@pytest.mark.parametrize("same_length", [True, False])
def test_a_changed_byte_is_seen_though_size_and_time_stay(project, same_length):
    path = project / "symptoms" / "causes" / "starter-stuck.yml"
    load_catalogue(project)
    before = path.stat()
    new = "minutes: 91" if same_length else "minutes: 100"
    path.write_text(path.read_text("utf-8").replace("minutes: 90", new), "utf-8")
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))
    catalogue, _ = load_catalogue(project)
    assert catalogue.causes["starter-stuck"].repair.minutes == float(new.split()[1])


def test_a_file_that_comes_goes_or_moves_is_seen(project):
    load_catalogue(project)
    causes = project / "symptoms" / "causes"
    (causes / "starter-stuck.yml").rename(causes / "starter-jammed.yml")
    _, problems = load_catalogue(project)
    assert "IDN101" in {one.code for one in problems}
    (causes / "starter-jammed.yml").unlink()
    assert list(load_catalogue(project)[0].causes) == ["battery-empty"]


@pytest.mark.parametrize("cut", [0, 3, 8, 100, -1])
def test_a_damaged_file_counts_as_nothing_kept(project, cut):
    first = load_catalogue(project)
    (path,) = readings(project)
    path.write_bytes(path.read_bytes()[:cut])
    assert load_catalogue(project) == first
    raw = bytearray(path.read_bytes())
    raw[len(raw) // 2] ^= 255
    path.write_bytes(raw)
    assert load_catalogue(project) == first


def test_a_folder_that_cannot_be_written_is_no_error(project):
    (project / ".cache").write_text("a file stands where the folder would be", "utf-8")
    assert load_catalogue(project) == read_catalogue(project / "symptoms")


def test_only_the_newest_readings_stay(project):
    path = project / "symptoms" / "causes" / "starter-stuck.yml"
    text = path.read_text("utf-8")
    for number in range(7):
        path.write_text(text.replace("minutes: 90", f"minutes: {number + 1}"), "utf-8")
        load_catalogue(project)
    assert len(readings(project)) == 4
    assert load_catalogue(project)[0].causes["starter-stuck"].repair.minutes == 7


WRITER = """
import pathlib, sys
from build_tools.knowledge import kept
for _ in range(30):
    number = int(sys.argv[2])
    kept.keep(pathlib.Path(sys.argv[1]), "one", [number] * 20_000, {number: "x" * 20_000})
"""


def test_writers_at_the_same_time_leave_one_whole_file(tmp_path):
    writers = [
        subprocess.Popen([sys.executable, "-c", WRITER, tmp_path, str(number)], cwd=PROJECT)
        for number in (1, 2)
    ]
    while any(one.poll() is None for one in writers):
        there = (tmp_path / "one").exists()
        found = kept.fetch(tmp_path, "one")
        assert found or not there, "half a file was seen"
        if found:
            value, later = found
            assert value == value[:1] * 20_000
            assert list(later) == value[:1]
    assert [one.returncode for one in writers] == [0, 0]
    assert [path.name for path in tmp_path.iterdir()] == ["one"]
    assert kept.fetch(tmp_path, "one")
