"""Advice for one case, as data.

Joins the diagnosis, planning and the policy. It writes no sentences (`words` does) and holds
no rule of its own (`policy` does).
"""

from dataclasses import dataclass
from functools import cached_property
from math import exp
from typing import Any, Final

from build_tools.engine.cases import CarCase
from build_tools.engine.diagnosis import Diagnosis, diagnose, linked_causes, relevant_causes
from build_tools.engine.findings import Findings
from build_tools.engine.fit import Fit, judge_fit
from build_tools.engine.network import Network
from build_tools.engine.noisy_max import FrontierTooWide, infer
from build_tools.engine.planning import Gates, Planning, PricedCheck, plan
from build_tools.engine.policy import GATES, Decision, RepairChoice, decide, hold_off, withheld
from build_tools.engine.supply import Supply
from build_tools.knowledge.catalogue import Catalogue

SUM_LIMIT: Final = 2_000_000
"""Numbers the sums that predict results may go through, counted alike in both languages.

Looked at before each check, so that the last one predicted may pass it a little. About a third
of a second in Python, and less on a phone; the worked cases take a sixtieth. What comes after
the posteriors is left out past this, and said.
"""


@dataclass(frozen=True)
class PredictedLevel:
    """One level of a check: how likely it is, and the likeliest cause after it."""

    level: str
    probability: float
    top_cause: str | None


@dataclass(frozen=True)
class NextCheck:
    """A check to make.

    `leads_to` is the check it prepares, None when it stands for itself. `minutes`, `money`
    and `wait_hours`, which pass without the owner, are its own. `expected_saving` is against
    going on without any check; below 0 only where nothing else is left, which `because` says.
    `outcomes` is empty past the work bound.
    """

    check: str
    leads_to: str | None
    minutes: float
    money: float
    wait_hours: float
    expected_saving: float
    because: tuple[dict[str, Any], ...]
    outcomes: tuple[PredictedLevel, ...]


@dataclass(frozen=True)
class RepairAdvice:
    """The repair advised; `part` is None when nothing is bought.

    `wait_hours` pass without the owner. `who` is "workshop", "owner-with-tools" or "owner".
    """

    cause: str
    action: str
    who: str
    part: str | None
    price_low: float
    price_high: float
    currency: str
    wait_hours: float
    because: tuple[dict[str, Any], ...]


@dataclass(frozen=True)
class WorkshopAdvice:
    """What a workshop is expected to ask: to find the cause, and to put it right."""

    price: float
    currency: str


@dataclass(frozen=True)
class RankedCause:
    """A cause with its posterior probability, and whether it explains anything found.

    What a car is or does at any time may raise the odds of a cause; it shows none.
    """

    id: str
    title: str
    group: str
    probability: float
    explains: bool


@dataclass(frozen=True)
class Advice:
    """Everything advised for a case; `findings` is what it rests on.

    `withheld` are the steps that would settle a likely cause or an open side of the supply, were
    the car able or allowed; each names the ability it lacks. `instead` names those abilities
    where no step at all is left. `workshop` is there where going to one is the cheapest way on.
    `watch` says that the trouble is over and why, so that nothing is to do but watch the car.
    `fit` says how surprising the results are together, None where that takes too much work.
    `buying_now` is the expected cost of going on without any check. `planned` is "full", or
    "shorter" where the findings are so entangled that some checks come without what each result
    would mean (see `SUM_LIMIT`), or "roughly" where even the posteriors are near ones.
    """

    stop_now: tuple[dict[str, Any], ...]
    causes: tuple[RankedCause, ...]
    supply: Supply
    next: tuple[NextCheck, ...]
    repair: RepairAdvice | None
    workshop: WorkshopAdvice | None
    watch: dict[str, Any] | None
    fit: Fit | None
    hold_off: tuple[dict[str, Any], ...]
    withheld: tuple[dict[str, Any], ...]
    instead: tuple[str, ...]
    buying_now: float
    planned: str
    findings: Findings


@dataclass(frozen=True)
class Assessment:
    """What can be worked out about a case; planning, by far the most work, when it is asked for."""

    diagnosis: Diagnosis
    gates: Gates

    @cached_property
    def planning(self) -> Planning:
        """Return what each way on is expected to cost."""
        return plan(self.diagnosis, self.gates)

    @cached_property
    def decided(self) -> Decision:
        """Return what is advised next."""
        return decide(self.diagnosis, self.planning)

    @property
    def offered(self) -> tuple[PricedCheck, ...]:
        """Return the next checks, in order."""
        return self.decided.offered


def triage(catalogue: Catalogue, network: Network, case: CarCase) -> Advice:
    """Advise on one case.

    Exact posteriors, the state of the supply, stop-now lines, up to 6 next checks, at most
    one repair and the parts to hold off on. Equal input gives equal output; ties go by id.

    Raises:
        ContradictoryEvidence: if no set of causes can show what was found.
        FrontierTooWide: if the findings are too entangled even for near posteriors.
    """
    assessment = assess(catalogue, network, case)
    diagnosis, repair = assessment.diagnosis, assessment.decided.repair
    next_checks = _next_checks(assessment)
    findings = diagnosis.findings
    kept_back = withheld(diagnosis, assessment.planning)
    nothing_left = repair is None and not next_checks and not assessment.decided.watch
    return Advice(
        stop_now=_stop_now(diagnosis),
        causes=ranked(diagnosis),
        supply=diagnosis.supply,
        next=next_checks,
        repair=None if repair is None else _repair(diagnosis, repair),
        workshop=_workshop(assessment) if assessment.decided.workshop else None,
        fit=judge_fit(diagnosis),
        watch=_watch(diagnosis) if assessment.decided.watch else None,
        hold_off=()
        if assessment.decided.watch
        else hold_off(diagnosis, assessment.planning, repair),
        withheld=kept_back,
        instead=tuple(dict.fromkeys(one["ability"] for one in kept_back if nothing_left)),
        buying_now=assessment.planning.buying_now,
        planned=_planned(diagnosis, next_checks),
        findings=findings,
    )


def assess(
    catalogue: Catalogue,
    network: Network,
    case: CarCase,
    *,
    gates: Gates = GATES,
) -> Assessment:
    """Work out where a case stands, without what only a reader needs.

    The same reasoning as `triage`, for those who ask it many times over; `gates` other than
    the policy's own tell what each is worth.

    Raises:
        ContradictoryEvidence, FrontierTooWide: as `triage`.
    """
    return Assessment(diagnose(catalogue, network, case), gates)


def _planned(diagnosis: Diagnosis, next_checks: tuple[NextCheck, ...]) -> str:
    if diagnosis.roughly:
        return "roughly"
    # What raised and lowered each cause takes one sum for each finding; see `trace`.
    traced = len(diagnosis.findings.evidence) * diagnosis.work <= SUM_LIMIT
    return "full" if traced and all(one.outcomes for one in next_checks) else "shorter"


def _workshop(assessment: Assessment) -> WorkshopAdvice:
    causes = assessment.diagnosis.catalogue.causes
    currency = next((causes[name].repair.price.currency for name in causes), "")
    return WorkshopAdvice(assessment.planning.workshop, currency)


def _watch(diagnosis: Diagnosis) -> dict[str, Any]:
    settled = diagnosis.findings.settled
    if settled is None:
        return {"kind": "over" if diagnosis.case.past or diagnosis.case.mended else "nothing"}
    return {"kind": "gone", "cause": settled}


def _stop_now(diagnosis: Diagnosis) -> tuple[dict[str, Any], ...]:
    """Describe the lines that stand; one that another covers gives it its reasons instead."""
    lines, standing = diagnosis.catalogue.vocabulary.stop_lines, diagnosis.findings.stop_now
    covered = {other for one in standing for other in lines[one.id].covers}
    told = []
    for one in standing:
        if one.id in covered:
            continue
        because = list(one.because)
        for other in standing:
            if other.id in lines[one.id].covers:
                because += [each for each in other.because if each not in because]
        text, why = lines[one.id].text, lines[one.id].why
        told.append({"id": one.id, "text": text, "why": why, "because": because})
    return tuple(told)


def ranked(diagnosis: Diagnosis) -> tuple[RankedCause, ...]:
    """Rank what explains something found, then the rest; each by its odds."""
    explaining, causes = _explaining(diagnosis), diagnosis.catalogue.causes
    ordered = sorted(
        diagnosis.posteriors.items(),
        key=lambda one: (one[0] not in explaining, -round(one[1], 12), one[0]),
    )
    return tuple(
        RankedCause(name, causes[name].title, causes[name].group, probability, name in explaining)
        for name, probability in ordered
    )


def _explaining(diagnosis: Diagnosis) -> set[str]:
    """Return the causes that can produce a complaint or a result that is not normal."""
    network, amiss = diagnosis.network, diagnosis.findings.amiss
    found = relevant_causes(diagnosis.catalogue, network, diagnosis.case, amiss)
    return found | linked_causes(network, amiss)


def _next_checks(assessment: Assessment) -> tuple[NextCheck, ...]:
    """Describe the checks offered; levels are predicted as long as the sums fit the bound."""
    diagnosis = assessment.diagnosis
    found = []
    work = 0
    for one in assessment.offered:
        name = one.offer.first
        check = diagnosis.catalogue.checks[name]
        # One more finding about doubles the tables.
        fits = work + 2 * diagnosis.work * len(check.levels) <= SUM_LIMIT
        outcomes, taken = _outcomes(diagnosis, name) if fits else ((), 0)
        work += taken
        found.append(
            NextCheck(
                check=name,
                leads_to=None if name == one.offer.check else one.offer.check,
                minutes=check.effort.minutes,
                money=check.effort.money,
                wait_hours=check.effort.wait_hours,
                expected_saving=one.saving,
                because=_why_next(assessment, one, outcomes),
                outcomes=outcomes,
            )
        )
    return tuple(found)


def _outcomes(diagnosis: Diagnosis, name: str) -> tuple[tuple[PredictedLevel, ...], int]:
    """Predict each level exactly, and give the work: infer once with the level added.

    No level is predicted where that is too wide.
    """
    levels = [level.id for level in diagnosis.catalogue.checks[name].levels]
    if name not in diagnosis.network.finding_by_id:
        return tuple(PredictedLevel(level, 1.0, None) for level in levels), 0
    outcomes = []
    work = 0
    for level in levels:
        hard = tuple(1.0 if one == level else 0.0 for one in levels)
        evidence = {**diagnosis.findings.evidence, name: hard}
        try:
            after = infer(diagnosis.network, diagnosis.findings.odds, evidence)
        except FrontierTooWide:
            return (), work
        work += after.work
        top = min(after.posteriors.items(), key=lambda one: (-round(one[1], 9), one[0]))
        chance = exp(after.log_evidence - diagnosis.log_evidence)
        outcomes.append(PredictedLevel(level, chance, top[0]))
    return tuple(outcomes), work


def _why_next(
    assessment: Assessment, one: PricedCheck, outcomes: tuple[PredictedLevel, ...]
) -> tuple[dict[str, Any], ...]:
    """Say, as data, why a check is offered; there is always something to say."""
    diagnosis, planning, offer = assessment.diagnosis, assessment.planning, one.offer
    because: list[dict[str, Any]] = []
    check = diagnosis.catalogue.checks[offer.first]
    if offer.first != offer.check:
        kind = "instead" if offer.instead else "needed-before"
        because.append({"kind": kind, "check": offer.check})
    if planning.held and check.aspects:
        known = {"known": "some"} if diagnosis.supply.proven else {}
        because.append({"kind": "supply-first", "state": diagnosis.supply.state, **known})
    proves = [
        side
        for side in check.aspects
        if side in diagnosis.supply.open_aspects and check.levels[0].proves
    ]
    if proves:
        because.append({"kind": "proves", "aspects": proves})
    tops = list(dict.fromkeys(one.top_cause for one in outcomes if one.top_cause))
    if len(tops) > 1:
        because.append({"kind": "tells-apart", "causes": tops})
    if not because or one.saving <= 0:
        because.append(_why_at_all(assessment, one))
    return tuple(because)


def _why_at_all(assessment: Assessment, one: PricedCheck) -> dict[str, Any]:
    """Say what a check is for that decides nothing by itself: what it bears on, or nothing."""
    if one.saving <= 0:
        return {"kind": "only-one"}
    diagnosis, checks = assessment.diagnosis, {one.offer.check, *one.answers}
    causes = diagnosis.catalogue.causes
    for name in assessment.planning.causes:
        if any(by.check in checks for by in causes[name].confirmed_by):
            return {"kind": "confirms", "cause": name}
    findings = diagnosis.network.finding_by_id
    links = {cause for check in checks if check in findings for cause in findings[check].links}
    name = next(name for name in assessment.planning.causes if name in links)
    return {"kind": "bears-on", "cause": name}


def _repair(diagnosis: Diagnosis, choice: RepairChoice) -> RepairAdvice:
    repair = diagnosis.catalogue.causes[choice.cause].repair
    lines = diagnosis.catalogue.vocabulary.stop_lines
    by_shop = any(lines[one.id].by_shop for one in diagnosis.findings.stop_now)
    who = "workshop" if by_shop else repair.who
    because: list[dict[str, Any]] = []
    if choice.confirmed_by is not None:
        check, level = choice.confirmed_by
        because.append({"kind": "confirmed", "check": check, "level": level})
    else:
        kind = "cheaper-to-try" if choice.beats_checks else "worth-trying"
        free = "yes" if repair.part is None and who != "workshop" else "no"
        because.append({"kind": kind, "cause": choice.cause, "free": free})
    probability = diagnosis.posteriors[choice.cause]
    because.append({"kind": "probability", "cause": choice.cause, "probability": probability})
    return RepairAdvice(
        cause=choice.cause,
        action=repair.action,
        who=who,
        part=repair.part,
        price_low=repair.price.low,
        price_high=repair.price.high,
        currency=repair.price.currency,
        wait_hours=repair.wait_hours,
        because=tuple(because),
    )
