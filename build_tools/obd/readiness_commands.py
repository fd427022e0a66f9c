"""Room 5, output: readiness as plain documents, for the command line and the browser.

Turns text and plain data into the reasoning's objects and its results into dictionaries, with
the sentences beside the ids. It prints nothing and reads no file.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any, Final

from build_tools.knowledge.sentences import forms, say
from build_tools.logs.csv_reader import Table, read_table
from build_tools.logs.driveplan import plan_drives, plan_facts_from
from build_tools.logs.driveplan_words import (
    CAUTION_WORDS,
    HINT_WORDS,
    PLAN_NOTE_WORDS,
    RUN_STATE_WORDS,
    SEGMENTS,
)
from build_tools.logs.triplog import analyse_trip
from build_tools.logs.triplog_columns import Column, Trip, read_trip
from build_tools.logs.triplog_words import LOG_STATE_WORDS, TRIP_WORDS
from build_tools.obd.codes import CODE_TABLE, classify_code, recognise_code
from build_tools.obd.inspection import decide
from build_tools.obd.inspection_facts import facts_from, vehicle_from
from build_tools.obd.readout import Readout, read_text, read_ticks
from build_tools.obd.why_not_run import run_facts_from, why_not_run

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from build_tools.engine.network import Network
    from build_tools.knowledge.readiness_entries import Inspection, Readiness

FORMAT: Final = "1.0.0"
Document = dict[str, Any]


def readiness_tables(readiness: Readiness) -> Document:
    """Compile everything the browser's readiness modules need besides their own code.

    The result is plain data in a fixed order; whoever writes it adds the version.
    """
    return {
        "format": FORMAT,
        "monitors": {key: asdict(one) for key, one in readiness.monitors.items()},
        "inspections": {key: asdict(one) for key, one in readiness.inspections.items()},
        "codes": {
            code: {"title": title, "relation": relation, "aspect": aspect, "note": note}
            for code, (title, relation, aspect, note) in CODE_TABLE.items()
        },
        "segments": [asdict(segment) for segment in SEGMENTS],
        "words": {
            "states": forms("readout-state"),
            "warnings": forms("readout-warning"),
            "this_trip": forms("monitor-this-trip"),
            "results": forms("inspection-result"),
            "reasons": forms("inspection-reason"),
            "flags": forms("inspection-flag"),
            "marks": forms("inspection-mark"),
            "cautions": CAUTION_WORDS,
            "plan_notes": PLAN_NOTE_WORDS,
            "log_states": LOG_STATE_WORDS,
            "trip": TRIP_WORDS,
            "hints": HINT_WORDS,
            "run_states": RUN_STATE_WORDS,
        },
    }


def readout_of(told: str | Mapping[str, object]) -> Readout:
    """Read a readout from pasted text or from ticked boxes."""
    return read_text(told) if isinstance(told, str) else read_ticks(told)


def readout_document(told: str | Mapping[str, object]) -> Document:
    """Read a readout and say in words what it is worth, with its codes sorted."""
    readout = readout_of(told)
    return {
        **asdict(readout),
        "usable": readout.usable,
        "says": say("readout-state", state=readout.state),
        "warnings": [
            {**asdict(warned), "says": say("readout-warning", warning=warned.id)}
            for warned in readout.warnings
        ],
        "codes": [
            {**asdict(classify_code(stored.code)), **asdict(stored)} for stored in readout.codes
        ],
    }


def code_document(typed: str) -> Document:
    """Recognise a typed code and say whether it points back to the supply."""
    found = recognise_code(typed)
    about = classify_code(found.code) if found.code else None
    return {**asdict(found), "about": asdict(about) if about else None}


def eligibility_document(
    rule: Inspection,
    readiness: Readiness,
    readout: Readout,
    vehicle: Mapping[str, object],
    facts: Mapping[str, object],
) -> Document:
    """Apply one place's rule and say the verdict in words, with what to ask whom."""
    verdict = decide(rule, vehicle_from(vehicle), readout, facts_from(facts), readiness.monitors)
    return {
        **asdict(verdict),
        "says": say("inspection-result", result=verdict.result),
        "confidence_says": say("inspection-mark", mark=verdict.confidence),
        "why": [_reason(asdict(reason)) for reason in verdict.why],
        "would_change": [_reason(asdict(reason)) for reason in verdict.would_change],
        "flags": [
            {"id": flag, "says": say("inspection-flag", flag=flag)} for flag in verdict.flags
        ],
        "place": rule.title,
        "standing": rule.standing,
        "scope": asdict(rule.scope),
        "ask": {"authority": rule.authority, "questions": list(rule.ask)},
        "seen": rule.seen,
    }


def triplog_document(
    readiness: Readiness,
    text: str,
    mapping: Mapping[str, Mapping[str, object]] | None = None,
    *,
    incomplete: Sequence[str] | None = None,
    constants: Mapping[str, float] | None = None,
) -> Document:
    """Analyse a log. `mapping` gives per role {column: name or number from 1, unit}.

    `incomplete` defaults to every monitor. Columns that are not there are listed under
    `not_found`.
    """
    table = read_table(text)
    columns, missing = _columns(table, mapping or {})
    trip = read_trip(table, columns, constants) if table.state == "ok" else Trip(table.state)
    names = list(readiness.monitors) if incomplete is None else list(incomplete)
    report = analyse_trip(trip, readiness.monitors, names)
    return {
        **asdict(report),
        "says": LOG_STATE_WORDS[report.state],
        "table": {
            "delimiter": table.delimiter,
            "decimal": table.decimal,
            "header": list(table.header),
            "rows": len(table.rows),
            "bad": table.bad,
            "first_bad": [asdict(one) for one in table.first_bad],
        },
        "not_found": missing,
    }


def driveplan_document(
    readiness: Readiness, incomplete: Sequence[str], facts: Mapping[str, object]
) -> Document:
    """Plan the drives for the incomplete monitors, with the sentences in place."""
    plan = plan_drives(incomplete, readiness.monitors, plan_facts_from(facts))
    by_id = {segment.id: segment for segment in SEGMENTS}
    days = [
        {
            **asdict(day),
            "parts": [
                {
                    **asdict(part),
                    "title": by_id[part.segment].title,
                    "do": by_id[part.segment].do,
                    "why": by_id[part.segment].why,
                    "cautions": _told(CAUTION_WORDS, part.cautions),
                }
                for part in day.parts
            ],
        }
        for day in plan.days
    ]
    return {
        **asdict(plan),
        "days": days,
        "first": _told(PLAN_NOTE_WORDS, plan.first),
        "notes": _told(PLAN_NOTE_WORDS, plan.notes),
        "cautions": _told(CAUTION_WORDS, plan.cautions),
    }


def why_not_run_document(
    readiness: Readiness,
    network: Network,
    readout: Readout,
    facts: Mapping[str, object],
    odds: Mapping[str, float] | None = None,
) -> Document:
    """Rank what may keep the incomplete monitors from finishing, in words."""
    told = why_not_run(network, odds or {}, readiness.monitors, readout, run_facts_from(facts))
    return {
        **asdict(told),
        "says": RUN_STATE_WORDS[told.state],
        "hint_says": HINT_WORDS[told.hint] if told.hint else None,
    }


def _told(words: Mapping[str, str], ids: Sequence[str]) -> list[Document]:
    return [{"id": one, "says": words[one]} for one in ids]


def _reason(reason: Document) -> Document:
    """Put a reason into its sentence; a readout's state has its own."""
    says = say(
        "inspection-reason",
        reason=reason["id"],
        number=_plain(reason["number"]),
        limit=_plain(reason["limit"]),
        monitors=", ".join(reason["monitors"]),
    )
    state = reason["id"].removeprefix("readout-")
    return {**reason, "says": says or say("readout-state", state=state)}


def _plain(number: float | None) -> str:
    return "" if number is None else f"{number:g}"


def _columns(
    table: Table, mapping: Mapping[str, Mapping[str, object]]
) -> tuple[dict[str, Column], list[str]]:
    found: dict[str, Column] = {}
    missing = []
    for role, wanted in mapping.items():
        column, unit = wanted.get("column"), wanted.get("unit")
        place = -1
        if isinstance(column, int) and not isinstance(column, bool):
            place = column - 1
        elif isinstance(column, str) and column in table.header:
            place = table.header.index(column)
        if 0 <= place < len(table.header):
            found[role] = Column(place, unit if isinstance(unit, str) else None)
        else:
            missing.append(role)
    return found, missing
