"""Say whether the supply is proven.

The supply is battery, connections, charging and parked drain together. Its state is one of
unproven, doubtful, failing and sound. What follows from the state is policy and stands in
`policy`.
"""

from dataclasses import dataclass
from math import exp
from typing import Any, Final

from build_tools.engine.cases import CarCase
from build_tools.engine.findings import Findings
from build_tools.engine.network import Network
from build_tools.engine.noisy_max import Inference, log_probability
from build_tools.knowledge.catalogue import Catalogue

_ASPECTS: Final = ("battery", "connection", "charging", "drain")
_ALWAYS: Final = ("battery", "connection", "charging")
_PROVEN_WEIGHT: Final = 0.8
_ABNORMAL_WEIGHT: Final = 0.5
_FAILING: Final = 0.9
_DOUBTFUL: Final = 0.5
_SOUND_BELOW: Final = 0.2
# A complaint that a drain causes at least this often ("sometimes") asks for the drain too.
_DRAIN_OFTEN: Final = 0.35
_SLACK: Final = 1e-9


@dataclass(frozen=True)
class Supply:
    """The state of the supply and why, as data.

    `probability` is P(at least one supply cause is present). `proven` maps an aspect to the
    checks that prove it, `open_aspects` are those still needed, `abnormal` the supply checks
    that came out abnormal. `matters` says whether it can make what was noticed, or was checked.
    """

    state: str
    probability: float
    proven: dict[str, tuple[str, ...]]
    open_aspects: tuple[str, ...]
    abnormal: tuple[str, ...]
    because: tuple[dict[str, Any], ...]
    matters: bool


def judge_supply(
    catalogue: Catalogue,
    network: Network,
    case: CarCase,
    findings: Findings,
    inferred: Inference,
) -> Supply:
    """Judge the supply.

    failing: a supply check is abnormal and P(a supply cause) >= 0.9. sound: battery,
    connection and charging are each proven (drain too where a complaint points to it) and
    P < 0.2; an abnormal result that the others have outweighed does not undo it. doubtful: a
    supply check is abnormal otherwise, or P >= 0.5 after at least one supply check. Otherwise
    unproven.
    """
    probability = supply_probability(catalogue, network, findings, inferred)
    made = [name for name in findings.results if catalogue.checks[name].aspects]
    abnormal = tuple(name for name in made if sum(findings.results[name][1:]) > _ABNORMAL_WEIGHT)
    proven = _proven(catalogue, findings, made)
    needed = [*_ALWAYS, *(["drain"] if needs_drain(catalogue, network, case) else [])]
    still_open = tuple(aspect for aspect in needed if aspect not in proven)
    if abnormal and probability >= _FAILING:
        state = "failing"
    elif not still_open and probability < _SOUND_BELOW:
        state = "sound"
    elif abnormal or (made and probability >= _DOUBTFUL):
        state = "doubtful"
    else:
        state = "unproven"
    because = (
        *(_abnormal_level(catalogue, findings, name) for name in abnormal),
        *(
            {"kind": "proven", "aspect": aspect, "checks": list(checks)}
            for aspect, checks in proven.items()
        ),
        *({"kind": "open", "aspect": aspect} for aspect in still_open),
        {"kind": "supply-probability", "probability": probability},
    )
    matters = bool(made) or _may_make(catalogue, network, case)
    return Supply(state, probability, proven, still_open, abnormal, because, matters)


def supply_probability(
    catalogue: Catalogue, network: Network, findings: Findings, inferred: Inference
) -> float:
    """Return P(at least one supply cause is present | everything known).

    The evidence is summed once more with every supply cause ruled out; the causes are not
    independent once something was seen, so their single posteriors would not do, but for those
    weighed apart.
    """
    odds, apart = dict(findings.odds), inferred.apart
    absent = 1.0
    for place, cause in enumerate(network.causes):
        if not is_supply_cause(catalogue, cause.id):
            continue
        if apart is not None and place in apart.posteriors:
            absent *= 1 - apart.posteriors[place]
        else:
            absent *= 1 / (1 + odds[cause.id])
            odds[cause.id] = 0.0
    without, _ = log_probability(network, odds, findings.evidence, apart=apart)
    return min(1.0, max(0.0, 1.0 - absent * exp(without - inferred.log_evidence)))


def is_supply_cause(catalogue: Catalogue, cause_id: str) -> bool:
    """Return whether a cause belongs to the supply."""
    group = catalogue.vocabulary.groups.get(catalogue.causes[cause_id].group)
    return group is not None and group.supply


def _may_make(catalogue: Catalogue, network: Network, case: CarCase) -> bool:
    """Say whether the supply can make one of the complaints; True without any."""
    found = [
        network.finding_by_id[name]
        for name in (*case.symptoms, *case.past)
        if name in network.finding_by_id and catalogue.symptoms[name].role == "complaint"
    ]
    return not found or any(
        is_supply_cause(catalogue, cause) for one in found for cause in one.links
    )


def needs_drain(catalogue: Catalogue, network: Network, case: CarCase) -> bool:
    """Return whether a complaint points to parked drain often enough to ask for its proof."""
    for name in (*case.symptoms, *case.past):
        symptom = catalogue.symptoms.get(name)
        finding = network.finding_by_id.get(name)
        if symptom is None or finding is None or symptom.role != "complaint":
            continue
        for cause, row in finding.links.items():
            often = 1 - row[0] >= _DRAIN_OFTEN - _SLACK
            if often and catalogue.causes[cause].group == "drain":
                return True
    return False


def _proven(
    catalogue: Catalogue, findings: Findings, made: list[str]
) -> dict[str, tuple[str, ...]]:
    proven: dict[str, tuple[str, ...]] = {}
    for aspect in _ASPECTS:
        checks = tuple(
            name
            for name in made
            if aspect in catalogue.checks[name].aspects
            and catalogue.checks[name].levels[0].proves
            and findings.results[name][0] >= _PROVEN_WEIGHT
        )
        if checks:
            proven[aspect] = checks
    return proven


def _abnormal_level(catalogue: Catalogue, findings: Findings, name: str) -> dict[str, Any]:
    weights = findings.results[name]
    level = catalogue.checks[name].levels[weights.index(max(weights))]
    return {"kind": "abnormal", "check": name, "level": level.id}
