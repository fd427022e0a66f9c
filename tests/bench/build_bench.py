"""Bench of the build: beside a bare build, as the knowledge grows, and after one change."""

import sys
import tempfile
import time
from pathlib import Path

from build_tools.site.build_site import build
from tests.bench.bare import build_bare, write_bare_project
from tests.bench.figures import Figure, Target, fit_exponent, interleaved
from tests.bench.synthetic import ROOT, count_entries, project_with

PART = "build"
ADDED = (100, 500, 2000)
MOST_RATIO = 1.3
MOST_EXPONENT = 1.05
CHANGED = "symptoms/entries/red-charging-lamp.yml"


def timed(work):
    """Return the seconds a piece of work takes."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def build_ours(root, out):
    problems = build(root, out)
    if problems:
        raise RuntimeError(f"the build refused: {problems[0].what}")


def measure(say, rounds=3, added=ADDED):
    """Yield the figures of this part; `say` is told how far it is."""
    with tempfile.TemporaryDirectory(prefix="bench-") as folder:
        place = Path(folder)
        yield from _beside_bare(place, say, rounds)
        yield _after_one_change(place, say, rounds)
        yield from _growth(place, say, added)


def _beside_bare(place, say, rounds):
    say("build: writing the Markdown for the bare build")
    pages = write_bare_project(place / "bare")
    ways = {
        "ours": lambda: timed(lambda: build_ours(ROOT, place / "ours")),
        "bare": lambda: timed(lambda: build_bare(place / "bare")),
    }
    say(f"build: {pages} pages, {rounds} rounds of ours and bare")
    found = interleaved(ways, rounds)
    yield Figure(
        PART,
        f"full build, {pages} pages",
        "s",
        found["ours"],
        found["bare"],
        "bare",
        target=Target(MOST_RATIO),
        note="bare is the site generator alone on the same Markdown: stock theme, stock search, "
        "same extensions and navigation, none of our data, advice, templates or examinations",
    )


def _after_one_change(place, say, rounds):
    """Measure a build after one word of one entry changed, beside a full build."""
    say("build: one changed entry")
    root = project_with(_fresh(place / "changed"), 0)
    build_ours(root, place / "changed-site")
    entry = root / CHANGED
    text = entry.read_text("utf-8")
    turns = iter(range(rounds))

    def again():
        entry.write_text(text.replace("title: Red", f"title: Bright{next(turns)} red", 1), "utf-8")
        return timed(lambda: build_ours(root, place / "changed-site"))

    found = interleaved(
        {"again": again, "full": lambda: timed(lambda: build_ours(ROOT, place / "ours"))}, rounds
    )
    return Figure(PART, "build after one changed entry", "s", found["again"], found["full"], "full")


def _growth(place, say, added):
    sizes, times = [], []
    for count in (0, *added):
        root = project_with(_fresh(place / f"grown-{count}"), count)
        sizes.append(count_entries(root / "symptoms"))
        say(f"build: {sizes[-1]} entries ({count} of them synthetic)")
        times.append(timed(lambda root=root: build_ours(root, place / "grown-site")))
        yield Figure(
            PART, f"{sizes[-1]} entries, {count} synthetic", "s", times[-1], times[0], "shipped"
        )
    for what, start in (("exponent of growth, all sizes", 0), ("exponent, last two sizes", -2)):
        power = fit_exponent(sizes[start:], times[start:])
        yield Figure(PART, what, "", power, target=Target(MOST_EXPONENT, of="ours"))


def _fresh(path):
    path.mkdir(parents=True)
    return path


if __name__ == "__main__":
    for one in measure(lambda words: print(words, file=sys.stderr)):
        print(one)
