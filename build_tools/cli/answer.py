"""Command line: for people who answer: read a stranger's message, and write the reply."""

from pathlib import Path

import click

from build_tools.cli.words import (
    CLEAN,
    CommandError,
    RefusedError,
    answer_lines,
    catalogue_at,
    command,
    json_option,
    read_input,
    read_text,
    root_option,
    show,
    show_json,
)


@command(
    """printf 'It reads 12.1 with the engine off, 14.2 at idle.' | understand -""",
    """echo '"clicks once, lights stay bright"' | understand --lines""",
    "printf 'Dead every morning.' | python -m build_tools understand - --case | triage -",
    short_help="Read what somebody wrote about their car.",
)
@click.argument("file", metavar="[FILE]", required=False)
@json_option
@click.option(
    "--case",
    "as_case",
    is_flag=True,
    help="Print the case it makes as JSON, for `triage -`: what is sure in it, to be checked.",
)
@click.option(
    "--lines",
    is_flag=True,
    help="Read each line of standard input, a message as JSON text; answer each by one line.",
)
@root_option
def understand_command(
    file: str | None, root: Path, *, as_json: bool, as_case: bool, lines: bool
) -> int:
    """Read what somebody wrote: symptoms, circumstances, readings with their condition, facts.

    FILE is any text, "-" for standard input; up to 20,000 signs of it are looked at. Nothing is
    found that the text does not say. A reading whose condition is not told has
    `"certain": false`, and `questions` asks for it. The case of `--case` holds the first symptom
    and those beside it that say stop, the circumstances, facts, results and codes told, complaints
    that are over, parts replaced in vain, and each reading whose condition is told.
    """
    from build_tools.cli.answer_documents import MessageReader, understood_text

    if file is None and not lines:
        raise CommandError('name a file, "-" for standard input, or use --lines')
    reader = MessageReader(catalogue_at(root))
    read = reader.case if as_case else reader.read
    if lines:
        return answer_lines(lambda message: read(_message(message)))
    found = read(read_text(file or "-"))
    if as_json or as_case:
        show_json(found)
    else:
        print(understood_text(found))
    return CLEAN


@command(
    "reply symptoms/cases/abs-lamps-after-the-wash.yml --long",
    """echo '{"symptoms": ["flat-overnight"]}' | reply - --greeting "Hello Sam," --json""",
    short_help="Write the reply to somebody's case.",
)
@click.argument("case", metavar="CASE|LINK")
@click.option("--long", "is_long", is_flag=True, help="The long form, with each step.")
@click.option("--greeting", default="", metavar="TEXT", help="How the reply begins.")
@click.option("--closing", default="", metavar="TEXT", help="How it ends.")
@click.option("--site", default="", metavar="ADDRESS", help="Where the site stands, for links.")
@json_option
@root_option
def reply_command(case: str, root: Path, *, as_json: bool, is_long: bool, **frame: str) -> int:
    """Write the reply to a case: stop lines, what it may be, the next step, what not to buy yet.

    CASE is a case as JSON or YAML, "-" for standard input, see `triage`; or a case link. The short
    form has at most 1,000 signs. Nothing is advised that the checker would not advise.
    """
    from build_tools.cli.answer_documents import reply_document
    from build_tools.cli.link_command import LinkRefusedError, read_link
    from build_tools.cli.triage_command import CaseRefused, plain_case

    catalogue = catalogue_at(root)
    try:
        if "#c=" in case:
            told = read_link(catalogue, case)["case"]
        else:
            value, shown = read_input(case)
            told = plain_case(value, shown)
        answer = reply_document(catalogue, told, frame)
    except (CaseRefused, LinkRefusedError) as refused:
        raise RefusedError(str(refused)) from None
    show(answer, [answer["long" if is_long else "short"]], as_json=as_json)
    return CLEAN


def _message(given: object) -> str:
    """Take one message of many.

    Raises:
        RefusedError: if it is no text.
    """
    text = given.get("text") if isinstance(given, dict) else given
    if not isinstance(text, str):
        raise RefusedError('a line is a text, or {"text": text}')
    return text
