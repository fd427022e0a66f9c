"""Room 5: readiness in the short, stable form that other programs ask for.

One document per readout: the lamp, the monitors, and a verdict if a rule is named.
"""

from collections.abc import Mapping
from typing import Any, Final

from build_tools.knowledge.readiness_entries import Readiness
from build_tools.obd.readiness_commands import eligibility_document, readout_document, readout_of

# A limit that is being replaced, accounts that differ and rules not seen decide nothing.
_RESULTS: Final = {
    "pass": "pass",
    "fail": "fail",
    "reject": "reject",
    "not-ready": "not-ready",
    "tailpipe": "other-test",
}


def brief_document(
    text: str,
    readiness: Readiness,
    rule: str | None,
    vehicle: Mapping[str, object],
    facts: Mapping[str, object],
) -> dict[str, Any]:
    """Decode a readout, and judge it by a rule if one is named.

    Raises:
        LookupError: if there is no such rule.
    """
    told = readout_document(text)
    merged = told["merged"] or {}
    return {
        "lamp_on": merged.get("mil"),
        "codes_counted": merged.get("count"),
        "engine": merged.get("ignition"),
        "monitors": [
            {name: one[name] for name in ("id", "supported", "complete")}
            for one in merged.get("monitors", ())
        ],
        "incomplete": list(merged.get("incomplete", ())),
        "incomplete_continuous": list(merged.get("incomplete_continuous", ())),
        "usable": told["usable"],
        "state": told["state"],
        "says": told["says"],
        "verdict": None if rule is None else _verdict(text, readiness, rule, vehicle, facts),
    }


def _verdict(
    text: str,
    readiness: Readiness,
    rule: str,
    vehicle: Mapping[str, object],
    facts: Mapping[str, object],
) -> dict[str, Any]:
    found = eligibility_document(
        readiness.inspections[rule], readiness, readout_of(text), vehicle, facts
    )
    because = [reason["says"] for reason in found["why"]]
    because += [flag["says"] for flag in found["flags"]]
    return {
        "rule": rule,
        "result": _RESULTS.get(found["result"], "undetermined"),
        "says": found["says"],
        "because": because,
        "source_status": found["confidence"],
    }
