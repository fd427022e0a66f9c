"""Room 5: readiness in the short, stable form that other programs ask for.

One document per readout: the lamp, the monitors, and a verdict if a rule is named. The names
are those of the machine interface; they differ from ours where ours say more.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from build_tools.obd.readiness_commands import eligibility_document, readout_document, readout_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from build_tools.knowledge.readiness_entries import Readiness

_NAMES: Final = {"evaporative-system": "evaporative", "pm-filter": "particulate-filter"}
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
        "mil": merged.get("mil"),
        "dtc_count": merged.get("count"),
        "ignition": merged.get("ignition"),
        "monitors": [
            {
                "id": _name(one["id"]),
                "supported": one["supported"],
                "complete": one["complete"],
            }
            for one in merged.get("monitors", ())
        ],
        "incomplete": [_name(one) for one in merged.get("incomplete", ())],
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


def _name(monitor: str) -> str:
    return _NAMES.get(monitor, monitor)
