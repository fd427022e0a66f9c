"""A larger knowledge for the benches: shipped entries copied under new ids.

A copy refers to the copies made with it and to the shipped entries otherwise, so every
reference holds. What a copied check says about a cause that was not copied is left out: the
shipped advice stays as it is. Numbers of entries count symptoms, causes, checks and cases.
"""

import shutil
from pathlib import Path

import yaml

ROOT = Path(__file__).resolve().parents[2]
FOLDERS = ("entries", "causes", "checks", "cases")
COPIED_PARTS = ("content", "site_overrides", "symptoms")
# Letters for the number of a copy: titles hold no figures that could be taken for readings.
LETTERS = "bcdefghijklmnopqrstuvwxyz"


def project_with(place, added):
    """Copy the project to a folder, with so many entries added; return the folder."""
    for part in COPIED_PARTS:
        shutil.copytree(ROOT / part, place / part)
    shutil.copy(ROOT / "mkdocs.yml", place)
    (place / "build_tools").symlink_to(ROOT / "build_tools")
    add_copies(place / "symptoms", added)
    return place


def count_entries(symptoms):
    """Count the symptoms, causes, checks and cases of a knowledge."""
    return sum(len(list((symptoms / folder).glob("*.yml"))) for folder in FOLDERS)


def add_copies(symptoms, added):
    """Add so many copies, whole sets first, then an even choice of each kind."""
    shipped = {
        path: yaml.load(path.read_text("utf-8"), yaml.CSafeLoader)
        for folder in FOLDERS
        for path in sorted((symptoms / folder).glob("*.yml"))
    }
    for letter in LETTERS:
        if added <= 0:
            return
        taken = _evenly(list(shipped), min(added, len(shipped)))
        _copy({path: shipped[path] for path in taken}, letter)
        added -= len(taken)
    if added > 0:
        raise ValueError("more copies than letters to name them")


def _evenly(paths, count):
    return [paths[place * len(paths) // count] for place in range(count)]


def _copy(entries, letter):
    new = {path.stem: f"{path.stem}-{letter}" for path in entries}
    for path, document in entries.items():
        made = _renamed(document, new)
        made["title"] = f"{document['title']}, copy {letter}"
        if "shifts" in made:
            made["shifts"] = [one for one in made["shifts"] if one["cause"] in new.values()]
        text = yaml.dump(
            made, Dumper=yaml.CSafeDumper, allow_unicode=True, sort_keys=False, width=10_000
        )
        path.with_name(f"{new[path.stem]}.yml").write_text(text, "utf-8")


def _renamed(value, new):
    """Return the value with every id of the copied entries, as key or text, in its new form."""
    if isinstance(value, dict):
        return {new.get(key, key): _renamed(inner, new) for key, inner in value.items()}
    if isinstance(value, list):
        return [_renamed(inner, new) for inner in value]
    return new.get(value, value) if isinstance(value, str) else value
