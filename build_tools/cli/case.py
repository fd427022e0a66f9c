"""Command line: advice, readings, logs and search, as people and programs ask for them."""

from pathlib import Path
from typing import Any

import click

from build_tools.cli.words import (
    CLEAN,
    PROBLEMS,
    CommandError,
    RefusedError,
    answer_lines,
    catalogue_at,
    command,
    file_argument,
    json_option,
    read_input,
    read_text,
    root_option,
    show,
    show_json,
)

_MOST_HITS = 1000
# So many of the words that led to a hit are printed.
_MOST_TERMS = 5
_lines_option = click.option(
    "--lines",
    is_flag=True,
    help="Answer each line of standard input, as JSON, by one line, in order.",
)


@command(
    "triage symptoms/cases/abs-lamps-after-the-wash.yml",
    """echo '{"symptoms": ["cranks-slowly-when-cold"]}' | triage - --json""",
    """echo '{"symptoms": ["flat-overnight"]}' | triage --lines""",
    short_help="Advise on a case.",
)
@click.argument("file", metavar="[FILE]", required=False)
@json_option
@_lines_option
@root_option
def triage_command(file: str | None, root: Path, *, as_json: bool, lines: bool) -> int:
    """Advise on a case: what to stop, likely causes, the next check, parts not to buy yet.

    FILE is a case as JSON or YAML, a worked case of symptoms/cases too; "-" is standard input.
    Every field may be left out:

    \b
    symptoms      [id]             what was noticed, see `list symptoms`
    absent        [id]             asked about, and not so
    context       {id: answer}     an option, a number or {value, unit}; see
                                   `list contexts`
    readings      {check: {value, unit, condition: answer, confirmed: true}}
                                   what a meter showed; confirmed after a question
    outcomes      {check: level}   what a check without a meter showed
    tools         [id]             tools at hand; left out: every tool
    not_possible  [check]          checks that cannot be done here
    mended        [cause]          put right already, and the trouble stayed; results
                                   stand for the car after that
    helped        {cause: better or gone}   put right, and what became of the trouble
    past          [id]             symptoms that were there and are over
    again         [id]             checks and contexts told after what changes them, such
                                   as a reading after a charge
    hour_value    0 to 1000        what an hour of the reader's is worth

    With --lines each line is a case, and each answer a line. Exit code 1: a case that cannot
    be used, with every field named.
    """  # noqa: D301 - the sign that keeps click from filling lines
    from build_tools.cli.triage_command import advice_text, case_advice

    if lines:
        catalogue = catalogue_at(root)
        return answer_lines(lambda case: case_advice(catalogue, case))
    if file is None:
        raise CommandError('name a file, "-" for standard input, or use --lines')
    value, shown = read_input(file)
    advice = case_advice(catalogue_at(root), value, shown)
    show(advice, [advice_text(advice)], as_json=as_json)
    return CLEAN


@command(
    "find cranks slowly on a cold morning",
    """printf '%s\\n' '"lamps flicker"' '{"words": "clicks", "limit": 1}' | find --lines""",
    short_help="Find symptoms in an owner's words.",
)
@click.argument("words", nargs=-1, metavar="[WORDS]...")
@click.option(
    "--limit",
    type=click.IntRange(1, _MOST_HITS),
    default=8,
    show_default=True,
    metavar="N",
    help="At most N.",
)
@json_option
@_lines_option
@root_option
def find_command(
    words: tuple[str, ...], limit: int, root: Path, *, as_json: bool, lines: bool
) -> int:
    """Find symptoms in an owner's words.

    With --lines each line is a text, or {"words": text, "limit": number}, and each answer a
    list in one line.
    """
    from build_tools.cli.symptom_search import SymptomSearch
    from build_tools.site.search import search_document

    search = SymptomSearch(search_document(catalogue_at(root)))
    if lines:
        return answer_lines(lambda asked: search.find(*_asked(asked, limit)))
    hits = search.find(" ".join(words), limit)
    if as_json:
        show_json(hits)
        return CLEAN
    for hit in hits:
        print(f"{hit['id']:<44} {hit['title']}")
        led = search.led_by(" ".join(words), hit["id"])
        print(f"{'':<44} by: {', '.join(led[:_MOST_TERMS])}")
    if not hits:
        print("nothing fits these words")
    return CLEAN


def _asked(asked: object, limit: int) -> tuple[str, int]:
    """Read one question of many."""
    given = {"words": asked} if isinstance(asked, str) else asked
    if not isinstance(given, dict) or set(given) - {"words", "limit"}:
        raise RefusedError('a line is a text or {"words": text, "limit": number}')
    words, most = given.get("words"), given.get("limit", limit)
    if not isinstance(words, str):
        raise RefusedError("words: a text is wanted")
    if isinstance(most, bool) or not isinstance(most, int) or not 1 <= most <= _MOST_HITS:
        raise RefusedError(f"limit: a whole number from 1 to {_MOST_HITS} is wanted")
    return words, most


@command(
    "reading resting-voltage value=12.1V temperature=20degF",
    "reading days-until-no-start draw=50mA --json",
    short_help="Say what a reading means, or do a sum.",
)
@click.argument("gauge", metavar="GAUGE")
@click.argument("pairs", nargs=-1, metavar="[KEY=VALUE]...")
@json_option
@root_option
def reading_command(gauge: str, pairs: tuple[str, ...], root: Path, *, as_json: bool) -> int:
    """Say what a reading on a gauge means, or work out a sum.

    GAUGE is the id of a gauge or a sum: see `list gauges` and `list sums`. A reading is
    value=NUMBER with its conditions; a unit may follow its number.
    """
    from build_tools.cli.reading_command import reading_document, sum_command

    catalogue = catalogue_at(root)
    work = sum_command if gauge in catalogue.sums else reading_document
    try:
        answer = work(catalogue, gauge, pairs)
    except (ValueError, LookupError) as error:
        raise RefusedError(str(error.args[0])) from None
    if as_json:
        show_json(answer)
    elif answer["refused"]:
        print(_refusal(answer["refused"]))
    else:
        for part in ("sentence", "does_not_tell", "next"):
            if answer.get(part):
                print(answer[part])
        if answer["question"]:
            print(answer["question"]["words"])
    return PROBLEMS if answer["refused"] else CLEAN


@command(
    "printf 'time,volts\\n0,12.62\\n3600,12.60\\n7200,12.59\\n' | voltlog - --capacity 60",
    short_help="Say what a log of battery volts shows.",
)
@file_argument
@click.option("--time", metavar="TIME", help="Column of the time, by name or number from 1.")
@click.option("--volts", metavar="VOLTS", help="Column of the volts.")
@click.option("--capacity", metavar="CAPACITY", help="Ampere-hours on the label.")
@click.option("--battery-type", metavar="TYPE", help="flooded, efb, agm or gel.")
@json_option
def voltlog_command(file: str, *, as_json: bool, **options: str | None) -> int:
    """Say what a log of battery volts shows. FILE is CSV, "-" for standard input."""
    from build_tools.cli.log_documents import voltlog_document

    given = {name.replace("_", "-"): one for name, one in options.items() if one is not None}
    answer = voltlog_document(read_text(file), given)
    if as_json:
        show_json(answer)
    elif answer["refused"]:
        print(_refusal(answer["refused"]))
    else:
        print(answer["summary"])
        for found in answer["findings"]:
            print(f"- {found['sentence']}")
        print(answer["does_not_tell"])
    return PROBLEMS if answer["refused"] else CLEAN


def _refusal(refused: dict[str, Any]) -> str:
    return " ".join(str(refused[part]) for part in ("why", "mend") if refused.get(part))
