"""Command line: how easy the pages are to read."""

from pathlib import Path

import click

from build_tools.cli.words import CLEAN, catalogue_at, command, json_option, root_option, show_json


@command("measure-words", "measure-words --worst 20", short_help="Say how easy each page is.")
@click.option("--worst", default=10, show_default=True, help="How many of the hardest to list.")
@json_option
@root_option
def measure_words_command(worst: int, root: Path, *, as_json: bool) -> int:
    """Say how easy each page is to read: words a sentence, and the school grade that reads it."""
    from build_tools.knowledge.folders import reader_pages
    from build_tools.reports.reading_grade import grades_text, measure_all

    measured = measure_all(catalogue_at(root), reader_pages(root))
    if as_json:
        show_json(
            [
                {
                    "kind": one.kind,
                    "name": one.name,
                    "words": one.words,
                    "sentences": one.sentences,
                    "words_a_sentence": one.words_a_sentence,
                    "grade": one.grade,
                }
                for one in measured
            ]
        )
    else:
        print(grades_text(measured, worst))
    return CLEAN
