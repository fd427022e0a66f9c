"""Room reasoning: advice for one case, as data.

Joins findings, inference, the state of the supply, planning and the policy. It writes no
sentences (`output.words` does) and holds no rule of its own (`triage_policy` does).
`reasoning/triage.js` is its twin and gives the same numbers.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp
from typing import TYPE_CHECKING, Any

from build_tools.engine.findings import find
from build_tools.engine.noisy_max import infer
from build_tools.engine.planner import WORK_LIMIT
from build_tools.engine.supply import judge_supply
from build_tools.engine.triage_hold import hold_off
from build_tools.engine.triage_plan import Asked, plan
from build_tools.engine.triage_policy import (
    Matter,
    choose_next,
    is_gated,
    settle,
)

if TYPE_CHECKING:
    from build_tools.engine.cases import CarCase
    from build_tools.engine.findings import Findings
    from build_tools.engine.network import Network
    from build_tools.engine.supply import Supply
    from build_tools.engine.triage_plan import Planning, Priced
    from build_tools.engine.triage_policy import RepairChoice, Settled
    from build_tools.knowledge.catalogue import Catalogue


@dataclass(frozen=True)
class Outcome:
    """Predict one level of a check: how likely it is, and the likeliest cause after it."""

    level: str
    probability: float
    top_cause: str | None


@dataclass(frozen=True)
class NextCheck:
    """Hold a check to make.

    `leads_to` is the check it prepares, None when it stands for itself. `minutes` and
    `money` are its own; `expected_saving` is against buying parts in p/c order now, and can
    be below 0 for a check the policy asks for.
    """

    check: str
    leads_to: str | None
    minutes: float
    money: float
    expected_saving: float
    because: tuple[dict[str, Any], ...]
    outcomes: tuple[Outcome, ...]


@dataclass(frozen=True)
class RepairAdvice:
    """Hold the repair advised; `part` is None when nothing is bought."""

    cause: str
    action: str
    part: str | None
    price_low: float
    price_high: float
    currency: str
    because: tuple[dict[str, Any], ...]


@dataclass(frozen=True)
class RankedCause:
    """Hold a cause with its posterior probability."""

    id: str
    title: str
    group: str
    probability: float


@dataclass(frozen=True)
class Advice:
    """Hold everything advised for a case; `findings` holds what it rests on."""

    stop_now: tuple[dict[str, Any], ...]
    causes: tuple[RankedCause, ...]
    supply: Supply
    next: tuple[NextCheck, ...]
    repair: RepairAdvice | None
    hold_off: tuple[dict[str, Any], ...]
    buying_now: float
    findings: Findings


@dataclass(frozen=True)
class Standing:
    """Hold what has been worked out about a case: `offered` are the next checks, in order."""

    matter: Matter
    log_evidence: float
    planning: Planning
    settled: Settled
    offered: tuple[Priced, ...]


def triage(
    catalogue: Catalogue, network: Network, case: CarCase, *, work_limit: int = WORK_LIMIT
) -> Advice:
    """Advise on one case.

    Exact posteriors, the state of the supply, stop-now lines, up to 6 next checks, at most
    one repair and the parts to hold off on. Equal input gives equal output; ties go by id.

    Raises:
        ContradictoryEvidence: if no set of causes can show what was found.
        FrontierTooWide: if the findings are too entangled for exact inference.

    """
    standing = stand(catalogue, network, case, work_limit=work_limit)
    matter, settled = standing.matter, standing.settled
    return Advice(
        stop_now=_stop_now(matter),
        causes=_ranked(matter),
        supply=matter.supply,
        next=tuple(
            _next_check(matter, one, standing.log_evidence, settled) for one in standing.offered
        ),
        repair=None if settled.repair is None else _repair(matter, settled.repair),
        hold_off=hold_off(matter, standing.planning, settled.repair),
        buying_now=standing.planning.buying_now,
        findings=matter.findings,
    )


def stand(
    catalogue: Catalogue, network: Network, case: CarCase, *, work_limit: int = WORK_LIMIT
) -> Standing:
    """Work out where a case stands, without what only a reader needs.

    The same reasoning as `triage`, for those who ask it many times over.

    Raises:
        ContradictoryEvidence, FrontierTooWide: as `triage`.

    """
    findings = find(catalogue, network, case)
    inferred = infer(network, findings.odds, findings.evidence)
    supply = judge_supply(catalogue, network, case, findings, inferred.log_evidence)
    matter = Matter(catalogue, network, case, findings, inferred.posteriors, supply)
    asked = Asked(inferred.posteriors, is_gated(supply), work_limit)
    planning = plan(catalogue, network, case, findings, asked)
    settled = settle(matter, planning)
    offered = () if settled.repair is not None else choose_next(matter, planning, settled)
    return Standing(matter, inferred.log_evidence, planning, settled, offered)


def _stop_now(matter: Matter) -> tuple[dict[str, Any], ...]:
    lines = matter.catalogue.vocabulary.stop_lines
    return tuple(
        {
            "id": one.id,
            "text": lines[one.id].text,
            "why": lines[one.id].why,
            "because": list(one.because),
        }
        for one in matter.findings.stop_now
    )


def _ranked(matter: Matter) -> tuple[RankedCause, ...]:
    ranked = sorted(matter.posteriors.items(), key=lambda one: (-one[1], one[0]))
    causes = matter.catalogue.causes
    return tuple(
        RankedCause(name, causes[name].title, causes[name].group, probability)
        for name, probability in ranked
    )


def _next_check(matter: Matter, one: Priced, log_evidence: float, settled: Settled) -> NextCheck:
    name = one.offer.first
    check = matter.catalogue.checks[name]
    outcomes = _outcomes(matter, name, log_evidence)
    return NextCheck(
        check=name,
        leads_to=None if name == one.offer.check else one.offer.check,
        minutes=check.effort.minutes,
        money=check.effort.money,
        expected_saving=one.saving,
        because=_why_next(matter, one, outcomes, settled),
        outcomes=outcomes,
    )


def _outcomes(matter: Matter, name: str, log_evidence: float) -> tuple[Outcome, ...]:
    """Predict each level exactly: infer once with the level added to the evidence."""
    finding = matter.network.finding_by_id.get(name)
    levels = [level.id for level in matter.catalogue.checks[name].levels]
    if finding is None:
        return tuple(Outcome(level, 1.0, None) for level in levels)
    outcomes = []
    for place, level in enumerate(levels):
        hard = tuple(1.0 if one == place else 0.0 for one in range(len(levels)))
        evidence = {**matter.findings.evidence, name: hard}
        after = infer(matter.network, matter.findings.odds, evidence)
        top = min(after.posteriors.items(), key=lambda one: (-round(one[1], 9), one[0]))
        outcomes.append(Outcome(level, exp(after.log_evidence - log_evidence), top[0]))
    return tuple(outcomes)


def _why_next(
    matter: Matter, one: Priced, outcomes: tuple[Outcome, ...], settled: Settled
) -> tuple[dict[str, Any], ...]:
    """Say, as data, why a check is offered."""
    because: list[dict[str, Any]] = []
    offer = one.offer
    checks = matter.catalogue.checks
    if offer.first != offer.check:
        kind = "instead" if offer.instead else "needed-before"
        because.append({"kind": kind, "check": offer.check})
    proves = [
        side
        for side in checks[offer.first].aspects
        if side in matter.supply.open_aspects and checks[offer.first].levels[0].proves
    ]
    if matter.supply.state in ("unproven", "doubtful") and checks[offer.first].aspects:
        because.append({"kind": "supply-first", "state": matter.supply.state})
    if proves:
        because.append({"kind": "proves", "aspects": proves})
    if settled.because is not None and offer.check == settled.check:
        because.append(settled.because)
    tops = list(dict.fromkeys(one.top_cause for one in outcomes if one.top_cause))
    if len(tops) > 1:
        because.append({"kind": "tells-apart", "causes": tops})
    return tuple(because)


def _repair(matter: Matter, choice: RepairChoice) -> RepairAdvice:
    repair = matter.catalogue.causes[choice.cause].repair
    because: list[dict[str, Any]] = []
    if choice.confirmed_by is not None:
        check, level = choice.confirmed_by
        because.append({"kind": "confirmed", "check": check, "level": level})
    else:
        because.append({"kind": "worth-trying", "cause": choice.cause})
    probability = matter.posteriors[choice.cause]
    because.append({"kind": "probability", "cause": choice.cause, "probability": probability})
    return RepairAdvice(
        cause=choice.cause,
        action=repair.action,
        part=repair.part,
        price_low=repair.price.low,
        price_high=repair.price.high,
        currency=repair.price.currency,
        because=tuple(because),
    )
