"""Room 5: closed cases: what was known of a car, and what it turned out to be.

The list of cases in the browser writes them without names. What was known is the car before the
repair that ended the trouble; `closed` holds the cause. Here a document becomes a value, or the
text of a worked case whose story is still to be told.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from build_tools.engine.cases import CarCase, read_case
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.noisy_max import ContradictoryEvidence, FrontierTooWide
from build_tools.knowledge.catalogue import Catalogue
from build_tools.knowledge.schema_check import key_order
from build_tools.lint.rules_advice import out_of_place
from build_tools.reports.advice_rows import advice_row

_BESIDE: Final = {"kind", "id", "title", "status", "reviewed", "story", "closed"}


@dataclass(frozen=True)
class ClosedCase:
    """What was known of one car, as a document and as a case, and its cause.

    `cause` is None where nobody found it. `first_step` is what was advised first, None where the
    log does not say.
    """

    document: Mapping[str, Any]
    case: CarCase
    title: str
    cause: str | None
    first_step: str | None


def closed_case(catalogue: Catalogue, document: object) -> ClosedCase:
    """Read the document of a closed case against the catalogue.

    Raises:
        ValueError: if it is none, or names what the knowledge does not have; the message says
            each thing on a line.
    """
    closed = document.get("closed") if isinstance(document, Mapping) else None
    if not isinstance(document, Mapping) or not isinstance(closed, Mapping):
        raise ValueError("it is no closed case: `closed` is missing")  # noqa: TRY004 - a document refused
    cause = closed.get("cause")
    if cause is not None and (not isinstance(cause, str) or cause not in catalogue.causes):
        raise ValueError(f'closed.cause "{cause}" is no cause; see `list causes`')
    told = {key: one for key, one in document.items() if key not in _BESIDE}
    case, problems = read_case(told, catalogue)
    if problems:
        raise ValueError("\n".join(f"{one.path}: {one.what}; {one.mend}" for one in problems))
    if not case.symptoms:
        raise ValueError("symptoms: none is named, so nothing was asked about")
    steps = closed.get("steps")
    advised = (
        [one.get("advised") for one in steps if isinstance(one, Mapping)]
        if isinstance(steps, list)
        else []
    )
    first = next((one for one in advised if isinstance(one, str)), None)
    return ClosedCase(told, case, str(document.get("title") or "A closed case"), cause, first)


def worked_case(
    catalogue: Catalogue, closed: ClosedCase, entry_id: str, today: date
) -> tuple[str, list[str]]:
    """Return the text of a draft worked case, and the checks whose results it leaves out.

    Left out is what no cause of the symptoms produces: a worked case has to explain what it shows.
    """
    away = [name for name, _ in out_of_place(catalogue, closed.case.symptoms, closed.case.outcomes)]
    told = {**closed.document}
    told["outcomes"] = {k: one for k, one in closed.case.outcomes.items() if k not in away}
    told["readings"] = {
        name: {key: one for key, one in reading.items() if key != "confirmed"}
        for name, reading in closed.case.readings.items()
    }
    lines = [
        "kind: case",
        f"id: {entry_id}",
        f"title: {json.dumps(closed.title)}",
        "status: draft",
        f'reviewed: "{today.isoformat()}"',
        "# Tell it as of an invented car: no name, no place, nothing of the real message.",
        "story: |",
        "  An invented car. Tell what happened in one to four sentences.",
        *(
            f"{key}: {json.dumps(told[key], ensure_ascii=False)}"
            for key in key_order("case")
            if told.get(key)
        ),
        "# What it turned out to be. Say what a careful practitioner would do first, and never.",
        "expect:",
        *(f"  {line}" for line in _expected(catalogue, closed)),
    ]
    return "\n".join(lines) + "\n", away


def _expected(catalogue: Catalogue, closed: ClosedCase) -> list[str]:
    """Expect what it was; where our odds do not have it in front, today's advice, to be judged."""
    try:
        row = advice_row(catalogue, network_from_catalogue(catalogue), closed.case)
    except (ContradictoryEvidence, FrontierTooWide) as error:
        raise ValueError(str(error)) from None
    if closed.cause in dict(row.causes):
        return [f"causes_any_of: [{closed.cause}]"]
    group = catalogue.causes[row.first_cause].group
    was = "not found" if closed.cause is None else closed.cause
    return [
        f"# What it was: {was}. Today's advice follows; write down what it should be instead.",
        f"group_in_first_three: {group}",
        f"supply: {row.supply}",
        f"next: {row.next or 'null'}",
    ]
