"""Which findings raised or lowered each cause, as data: their weights of evidence.

Each finding and each answer about the car is left out in turn; the change in a cause's
log-odds is what it did. The changes do not add up to the whole, because findings overlap.
Words are made in `words`.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import log
from typing import Final

from build_tools.engine.cases import CarCase
from build_tools.engine.findings import Findings, context_odds, context_times
from build_tools.engine.mended import repaired_odds
from build_tools.engine.network import Network
from build_tools.engine.noisy_max import infer, sum_work
from build_tools.knowledge.catalogue import Catalogue

# Beyond one in a million the log-odds are kept still: the digits there are rounding.
_EXTREME: Final = 1e-6
_NOTHING: Final = 1e-9

TRACE_LIMIT: Final = 2_000_000
"""Numbers the sums of one trace may go through, each counted as that of all findings."""


@dataclass(frozen=True)
class EvidenceWeight:
    """The weight of evidence of one finding for one cause.

    `kind` is symptom, past, absent, check, context or repair; `change` is the natural log-odds
    with the finding minus without it, above 0 where it raised the cause.
    """

    kind: str
    id: str
    change: float


def log_odds(probability: float) -> float:
    """Return the natural log-odds, held within one in a million at both ends."""
    kept = min(1 - _EXTREME, max(_EXTREME, probability))
    return log(kept / (1 - kept))


def trace(
    catalogue: Catalogue,
    network: Network,
    case: CarCase,
    findings: Findings,
    posteriors: Mapping[str, float],
) -> dict[str, tuple[EvidenceWeight, ...]]:
    """Return, for every cause, the weights of evidence, strongest first (ties by kind, then id).

    Findings that changed nothing are left out, and all are where the sums would take more than
    `TRACE_LIMIT`. Contradictory evidence cannot occur: taking a finding away only makes more
    possible.
    """
    weights: dict[str, list[EvidenceWeight]] = {cause.id: [] for cause in network.causes}
    work = sum_work(network, findings.odds, findings.evidence)
    if len(findings.evidence) * work > TRACE_LIMIT:
        return {cause.id: () for cause in network.causes}
    for (kind, name), less in _left_out(catalogue, network, case, findings):
        without = infer(network, less.odds, less.evidence).posteriors
        for cause in network.causes:
            change = log_odds(posteriors[cause.id]) - log_odds(without[cause.id])
            if abs(change) > _NOTHING:
                weights[cause.id].append(EvidenceWeight(kind, name, change))
    return {
        cause: tuple(sorted(found, key=lambda one: (-round(abs(one.change), 9), one.kind, one.id)))
        for cause, found in weights.items()
    }


def _left_out(
    catalogue: Catalogue, network: Network, case: CarCase, findings: Findings
) -> list[tuple[tuple[str, str], Findings]]:
    """List each finding with the findings that remain without it."""
    left: list[tuple[tuple[str, str], Findings]] = []
    for name in findings.evidence:
        if name in findings.unnamed:
            continue
        rest = {key: one for key, one in findings.evidence.items() if key != name}
        kind = "check"
        if name in catalogue.symptoms:
            kind = "symptom" if name in case.symptoms else "absent"
            kind = "past" if name in case.past else kind
        left.append(((kind, name), replace(findings, evidence=rest)))
    for name in sorted(findings.answers):
        fewer = {key: value for key, value in findings.answers.items() if key != name}
        times = context_times(catalogue, fewer)
        if times != findings.times:
            odds = repaired_odds(catalogue, context_odds(network, times), findings.repairs)
            left.append((("context", name), replace(findings, odds=odds)))
    for name in findings.repairs:
        others = {key: how for key, how in findings.repairs.items() if key != name}
        odds = repaired_odds(catalogue, context_odds(network, findings.times), others)
        left.append((("repair", name), replace(findings, odds=odds)))
    return left
