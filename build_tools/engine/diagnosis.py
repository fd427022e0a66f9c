"""What one case comes to before anything is planned.

The findings, the exact posteriors and the state of the supply, joined once for all that
follows: planning, the policy and the advice.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from build_tools.engine.cases import CarCase
from build_tools.engine.findings import Findings, find
from build_tools.engine.network import Network
from build_tools.engine.noisy_max import infer_nearly
from build_tools.engine.supply import Supply, judge_supply
from build_tools.knowledge.catalogue import Catalogue
from build_tools.knowledge.entries import Cause

CONFIRMED: Final = 0.8
"""Weight from which a result counts as confirming; what a reading near an edge does not have."""


@dataclass(frozen=True)
class Diagnosis:
    """One case with everything found out about it.

    `work` is that of its exact sum; `roughly` says that this was too much, and the posteriors are
    near ones.
    """

    catalogue: Catalogue
    network: Network
    case: CarCase
    findings: Findings
    posteriors: Mapping[str, float]
    log_evidence: float
    work: int
    roughly: bool
    supply: Supply


def diagnose(catalogue: Catalogue, network: Network, case: CarCase) -> Diagnosis:
    """Work out findings, posteriors and the state of the supply.

    Raises:
        ContradictoryEvidence, FrontierTooWide: as `infer_nearly`.
    """
    findings = find(catalogue, network, case)
    inferred = infer_nearly(network, findings.odds, findings.evidence)
    supply = judge_supply(catalogue, network, case, findings, inferred)
    return Diagnosis(
        catalogue,
        network,
        case,
        findings,
        inferred.posteriors,
        inferred.log_evidence,
        inferred.work,
        inferred.apart is not None,
        supply,
    )


def confirmation(diagnosis: Diagnosis, cause: Cause) -> tuple[str, str] | None:
    """Return the check that confirms a cause and the level it came out at, or None.

    Only the levels named confirm: a later one may be another kind of thing, not more of the same.
    """
    levels: dict[str, list[str]] = {}
    for one in cause.confirmed_by:
        levels.setdefault(one.check, []).append(one.level)
    for check, named in levels.items():
        weights = diagnosis.findings.results.get(check)
        if weights is None:
            continue
        all_levels = (level.id for level in diagnosis.catalogue.checks[check].levels)
        weight_of = {
            level: weight
            for level, weight in zip(all_levels, weights, strict=True)
            if level in named
        }
        if sum(weight_of.values()) >= CONFIRMED:
            return check, max(weight_of, key=weight_of.__getitem__)
    return None


def reporting_symptoms(catalogue: Catalogue, case: CarCase) -> list[str]:
    """Return the complaints noticed; without any, those that are over, or the circumstances."""
    for told, wanted in (
        (case.symptoms, "complaint"),
        (case.past, "complaint"),
        (case.symptoms, "circumstance"),
    ):
        found = [
            name
            for name in told
            if name in catalogue.symptoms and catalogue.symptoms[name].role == wanted
        ]
        if found:
            return found
    return []


def relevant_causes(
    catalogue: Catalogue, network: Network, case: CarCase, amiss: Sequence[str] = ()
) -> set[str]:
    """Return the causes that can produce a complaint of this case.

    Without a complaint, every cause linked to something noticed; without that, what can produce
    the results that are `amiss`; without any, all.
    """
    reported = reporting_symptoms(catalogue, case)
    return linked_causes(network, reported or amiss) or {cause.id for cause in network.causes}


def linked_causes(network: Network, names: Iterable[str]) -> set[str]:
    """Return the causes that can produce one of these findings."""
    findings = [network.finding_by_id[name] for name in names if name in network.finding_by_id]
    return {cause for one in findings for cause, row in one.links.items() if row[0] < 1}
