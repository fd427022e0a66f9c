"""Room 5, output: readiness as plain documents, for the command line and the browser.

Turns text and plain data into the reasoning's objects and its results into dictionaries, with
the sentences beside the ids. It prints nothing and reads no file.
"""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any, Final

from build_tools.knowledge.readiness_entries import Inspection, Readiness
from build_tools.knowledge.sentences import forms, say
from build_tools.obd.codes import CODE_TABLE, classify_code
from build_tools.obd.drive_words import (
    CAUTION_WORDS,
    LOG_STATE_WORDS,
    PLAN_LOAD_WORDS,
    PLAN_NOTE_WORDS,
    PLAN_STATE_WORDS,
    PLAN_STOP_WORDS,
    SEGMENTS,
    TRIP_WORDS,
)
from build_tools.obd.inspection import decide, facts_from, vehicle_from
from build_tools.obd.readout import Readout, read_text, read_ticks

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
            "gaps": forms("inspection-gap"),
            "cautions": CAUTION_WORDS,
            "plan_notes": PLAN_NOTE_WORDS,
            "plan_states": PLAN_STATE_WORDS,
            "plan_loads": PLAN_LOAD_WORDS,
            "plan_stops": PLAN_STOP_WORDS,
            "log_states": LOG_STATE_WORDS,
            "trip": TRIP_WORDS,
            "hints": forms("why-hint"),
            "run_states": forms("why-state"),
            "steps": forms("why-step"),
            "ratios": forms("ratio-says"),
            "families": forms("code-family"),
            "relations": forms("code-relation"),
            "values": forms("readout-value"),
            "lamp_check": forms("lamp-check"),
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
        "why": [_reason(rule, asdict(reason)) for reason in verdict.why],
        "would_change": [_reason(rule, asdict(reason)) for reason in verdict.would_change],
        "flags": [
            {"id": flag, "says": say("inspection-flag", flag=flag)} for flag in verdict.flags
        ],
        "place": rule.title,
        "standing": rule.standing,
        "scope": asdict(rule.scope),
        "costs": [asdict(one) for one in rule.costs],
        "get_ready": [asdict(one) for one in rule.get_ready],
        "ways_out": [asdict(one) for one in rule.ways_out],
        "ask": {"authority": rule.authority, "questions": list(rule.ask)},
        "seen": rule.seen,
        "text_date": rule.text_date,
    }


def _reason(rule: Inspection, reason: Document) -> Document:
    """Put a reason into its sentence; a readout's state has its own."""
    says = say(
        "inspection-reason",
        reason=reason["id"],
        number=_plain(reason["number"]),
        limit=_plain(reason["limit"]),
        monitors=", ".join(reason["monitors"]),
        outcome=rule.not_ready.says.removesuffix(".") if rule.not_ready else "",
    )
    state = reason["id"].removeprefix("readout-")
    return {**reason, "says": says or say("readout-state", state=state)}


def _plain(number: float | None) -> str:
    return "" if number is None else f"{number:g}"
