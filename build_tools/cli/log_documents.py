"""Command line: logs and drive plans as plain documents, worked out by the browser's modules.

What they find exists once, in those modules; here it gets the sentences that are published.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from build_tools.browser.embedded import browser_modules
from build_tools.knowledge.readiness_entries import Readiness
from build_tools.knowledge.sentences import fill
from build_tools.obd.readiness_commands import readiness_tables
from build_tools.site.readiness_names import METRICS

Document = dict[str, Any]


def voltlog_document(text: str, options: Mapping[str, Any]) -> Document:
    """Return what a log of volts shows.

    `options` may hold `time` and `volts` (a header or a column number from 1), `capacity`
    in ampere-hours, and `battery-type`, `temperature`, `charging-control` as a reading's
    conditions. `refused` says why nothing was found out, `summary` how many rows were read
    and left out, `findings` what they show.
    """
    name = "logs/voltlog-document"
    answer: Document = browser_modules(name).call(name, "voltLogDocument", text, options)
    return answer


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
    tables = readiness_tables(readiness)
    monitors = tables["monitors"]
    wanted = list(monitors) if incomplete is None else list(incomplete)
    name = "logs/trip-document"
    metrics = {one: {"title": title, "unit": unit} for one, (title, unit) in METRICS.items()}
    facts = {"monitors": monitors, "incomplete": wanted, "constants": constants or {}}
    report, table, missing, words = browser_modules(name).call(
        name, "tripDocument", text, mapping or {}, {**facts, "metrics": metrics}
    )
    says = tables["words"]["log_states"][report["state"]]
    return {**report, "says": says, "table": table, "not_found": missing, "in_words": words}


def driveplan_document(
    readiness: Readiness, incomplete: Sequence[str], facts: Mapping[str, object]
) -> Document:
    """Plan the drives for the incomplete monitors, with the sentences in place."""
    tables = readiness_tables(readiness)
    segments, words = tables["segments"], tables["words"]
    name = "logs/driveplan"
    engine = browser_modules(name)
    told = engine.call(name, "planFactsFrom", facts)
    plan: Document = engine.call(
        name, "planDrives", list(incomplete), tables["monitors"], told, segments
    )
    by_id = {segment["id"]: segment for segment in segments}
    days = [
        {**day, "parts": [_part(part, by_id[part["segment"]], words) for part in day["parts"]]}
        for day in plan["days"]
    ]
    state = plan["state"]
    if state not in {"hold", "nothing-to-do"}:
        state = "trip" if days else "no-drive"
    return {
        **plan,
        "says": fill(words["plan_states"][state], {"days": len(days)}),
        "days": days,
        "first": _told(words["plan_notes"], plan["first"]),
        "notes": _told(words["plan_notes"], plan["notes"]),
        "cautions": _told(words["cautions"], plan["cautions"]),
        "stops": _told(words["plan_stops"], plan["stops"]),
    }


def _part(part: Document, segment: Mapping[str, Any], words: Mapping[str, Any]) -> Document:
    told = {name: segment[name] for name in ("title", "do", "why")}
    return {**part, **told, "cautions": _told(words["cautions"], part["cautions"])}


def _told(words: Mapping[str, str], ids: Sequence[str]) -> list[Document]:
    return [{"id": one, "says": words[one]} for one in ids]
