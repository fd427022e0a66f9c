"""What one case comes to before anything is planned.

The findings, the exact posteriors and the state of the supply, joined once for all that
follows: planning, the policy and the advice.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from build_tools.engine.findings import find
from build_tools.engine.noisy_max import infer
from build_tools.engine.supply import judge_supply

if TYPE_CHECKING:
    from collections.abc import Mapping

    from build_tools.engine.cases import CarCase
    from build_tools.engine.findings import Findings
    from build_tools.engine.network import Network
    from build_tools.engine.supply import Supply
    from build_tools.knowledge.catalogue import Catalogue


@dataclass(frozen=True)
class Diagnosis:
    """One case with everything found out about it; `work` is that of its exact sum."""

    catalogue: Catalogue
    network: Network
    case: CarCase
    findings: Findings
    posteriors: Mapping[str, float]
    log_evidence: float
    work: int
    supply: Supply


def diagnose(catalogue: Catalogue, network: Network, case: CarCase) -> Diagnosis:
    """Work out findings, posteriors and the state of the supply.

    Raises:
        ContradictoryEvidence, FrontierTooWide: as `infer`.

    """
    findings = find(catalogue, network, case)
    inferred = infer(network, findings.odds, findings.evidence)
    supply = judge_supply(catalogue, network, case, findings, inferred.log_evidence)
    return Diagnosis(
        catalogue,
        network,
        case,
        findings,
        inferred.posteriors,
        inferred.log_evidence,
        inferred.work,
        supply,
    )


def relevant_causes(catalogue: Catalogue, network: Network, case: CarCase) -> set[str]:
    """Return the causes that can produce a complaint of this case.

    Without a complaint, every cause linked to something noticed; without that, all.
    """
    for wanted in ("complaint", "circumstance"):
        linked = {
            cause
            for name in case.symptoms
            if name in catalogue.symptoms and catalogue.symptoms[name].role == wanted
            for cause, row in network.finding_by_id[name].links.items()
            if row[0] < 1
        }
        if linked:
            return linked
    return {cause.id for cause in network.causes}
