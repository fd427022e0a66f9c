"""Room 4: read the exceptions to rules, apply them, and judge them themselves.

An exception names a code, a file, a reason and a day to think about it again. It takes a
problem out of the report; one that takes nothing out is a problem itself.
"""

from collections.abc import Collection, Iterator, Sequence
from pathlib import Path
from typing import Any

from build_tools.knowledge.folders import EXCEPTIONS, knowledge_folder, shown_name
from build_tools.knowledge.problems import Complaint, Problem, Severity
from build_tools.knowledge.schema_check import check_document
from build_tools.knowledge.yaml_reader import Document, read
from build_tools.lint.rule import Judged, reports

UNREASONED = Complaint(
    "EXC901",
    "exception-without-reason",
    Severity.ERROR,
    "an exception nobody can judge stays for ever and hides real mistakes",
)
NEEDLESS = Complaint(
    "EXC902",
    "needless-exception",
    Severity.ERROR,
    "it would hide the same mistake when someone makes it again",
)


def apply(
    root: Path, found: Sequence[Problem], judged: Judged, run: Collection[str]
) -> list[Problem]:
    """Take excepted problems out, and add the problems of the exceptions themselves.

    Problems of files (SHP) cannot be excepted: a file must be readable. An exception from a
    rule that was not `run` cannot be called needless.
    """
    knowledge = knowledge_folder(root)
    path = knowledge / EXCEPTIONS
    if not path.is_file():
        return list(found)
    document, problems = read(path.read_bytes(), shown_name(path, knowledge))
    if document is None:
        return [*found, *problems]
    problems += check_document(document, "lint-exceptions")
    if problems:
        return [*found, *problems]
    kept = list(found)
    for number, one in enumerate(document.value["items"]):
        kept = [problem for problem in kept if not _covers(one, problem)]
        kept += _judge(document, number, judged)
        if one["code"] in run and not any(_covers(one, problem) for problem in found):
            kept.append(_needless(document, number))
    return kept


def _covers(exception: dict[str, Any], problem: Problem) -> bool:
    same = problem.code == exception["code"] and problem.span.file == exception["entry"]
    return same and not problem.code.startswith("SHP")


def _needless(document: Document, number: int) -> Problem:
    what = f"{_name(document, number)} takes nothing out"
    return NEEDLESS.at(document.span("items", number), what, "remove the exception")


def _name(document: Document, number: int) -> str:
    one = document.value["items"][number]
    return f"the exception from {one['code']} for {one['entry']}"


def _judge(document: Document, number: int, judged: Judged) -> Iterator[Problem]:
    one = document.value["items"][number]
    span = document.span("items", number)
    name = _name(document, number)
    if not one.get("reason"):
        yield UNREASONED.at(span, f"{name} has no reason", "add `reason:` with one sentence")
    if not one.get("review_by"):
        mend = 'add `review_by: "YYYY-MM-DD"`, at most a year ahead'
        yield UNREASONED.at(span, f"{name} has no day of review", mend)
    elif one["review_by"] < judged.today.isoformat():
        span = document.span("items", number, "review_by")
        mend = "look whether it still holds, then set a later day or remove it"
        yield UNREASONED.at(span, f"{name} was to be looked at by {one['review_by']}", mend)


@reports(UNREASONED, "the whole catalogue")
def check_exceptions_have_reasons() -> None:
    """EXC901 exception-without-reason: an exception needs a reason and a day of review.

    Why: without them nobody can tell whether it still holds, and it stays for ever.
    Mend: add `reason` with one sentence and `review_by` with a day; once that day has
    passed, look again and set a later one, or remove the exception.
    Bad:   - {code: REF203, entry: symptoms/sources/old-table.yml}
    Good:  - {code: REF203, entry: symptoms/sources/old-table.yml, reason: "Cited by lessons
           only.", review_by: "2027-11-01"}
    """


@reports(NEEDLESS, "the whole catalogue")
def check_exceptions_are_needed() -> None:
    """EXC902 needless-exception: an exception must take a problem out.

    Why: one that is left over hides the same mistake when it is made again.
    Mend: remove it.
    Bad:   an exception from TXT501 for a file whose title has been shortened since
    Good:  no exception for that file
    """
