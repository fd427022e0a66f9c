"""Room reasoning: price every check by planning over worlds.

Builds the planner's situation from the posterior: the likeliest causes of the complaint, sets
of them as worlds, repairs and checks with their costs. It knows no supply-first rule beyond
the gate it is handed; `triage_policy` decides what is advised.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from build_tools.engine.planner import (
    Gate,
    PlanCheck,
    Situation,
    choose,
)
from build_tools.engine.triage_offers import (
    HOUR_VALUE,
    UNRESOLVED_COST,
    Offers,
    repair_cost,
)
from build_tools.engine.worlds import Worlds, enumerate_worlds, level_table

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from build_tools.engine.cases import CarCase
    from build_tools.engine.findings import Findings
    from build_tools.engine.network import Network
    from build_tools.engine.planner import Plan
    from build_tools.engine.triage_offers import Offer
    from build_tools.knowledge.catalogue import Catalogue

LEAST_LIKELY: Final = 0.01
MOST_CAUSES: Final = 12
MOST_CHECKS: Final = 12
_MOST_PRESENT: Final = 2
_QUICK_LOOK: Final = 0.15


@dataclass(frozen=True)
class Priced:
    """Hold a check with what making it first is expected to save.

    Both are against buying parts in p/c order now: `saving` with further checks planned after
    it, `alone` with this check only.
    """

    offer: Offer
    saving: float
    alone: float


@dataclass(frozen=True)
class Planning:
    """Hold what planning found.

    `priced` is sorted by saving, then id. `buying_now` is the expected cost of repairing in
    p/c order with no check at all. `alone` has what each check would save by itself. `offers`
    has every check that can be made, `gate` the cheapest one on the supply, if any.
    `cheapest_first` is the cause that comes first in p/c order among those of at least 0.15.
    """

    causes: tuple[str, ...]
    priced: tuple[Priced, ...]
    buying_now: float
    alone: Mapping[str, float]
    offers: Mapping[str, Offer]
    gate: Offer | None
    cheapest_first: str | None


@dataclass(frozen=True)
class Asked:
    """Say how to plan: the posteriors, whether the supply gates parts, and how much work."""

    posteriors: Mapping[str, float]
    gated: bool
    work_limit: int


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


def likeliest(posteriors: Mapping[str, float], among: set[str]) -> tuple[str, ...]:
    """Return up to 12 causes of at least 1 in 100, most probable first (ties by id)."""
    kept = [name for name in among if posteriors[name] >= LEAST_LIKELY]
    kept.sort(key=lambda name: (-posteriors[name], name))
    return tuple(kept[:MOST_CAUSES])


@dataclass(frozen=True)
class _Desk:
    """Hold what every pricing of one case shares."""

    catalogue: Catalogue
    network: Network
    worlds: Worlds
    hour: float
    tables: dict[str, tuple[tuple[float, ...], ...]] = field(default_factory=dict)

    def table(self, check: str) -> tuple[tuple[float, ...], ...]:
        """Return P(level) of a check in each world, worked out once."""
        if check not in self.tables:
            self.tables[check] = level_table(self.network, self.worlds, check)
        return self.tables[check]

    def is_supply_check(self, check: str) -> bool:
        """Return whether a check judges the supply and has levels to tell."""
        judges = bool(self.catalogue.checks[check].aspects)
        return judges and check in self.network.finding_by_id

    def moves(self, check: str) -> bool:
        """Return whether a check can move a cause looked at, or judges the supply."""
        finding = self.network.finding_by_id.get(check)
        if finding is None:
            return False
        moved = any(name in finding.links for name in self.worlds.causes)
        return moved or self.is_supply_check(check)

    def worse(self, check: str, level: int) -> float:
        """Return P(a check comes out above `level`) over the worlds."""
        if check not in self.network.finding_by_id:
            return 0.0
        total = 0.0
        for weight, row in zip(self.worlds.weights, self.table(check), strict=True):
            for chance in row[level + 1 :]:
                total += weight * chance
        return total

    def situation(self, offers: Sequence[Offer], gate: Gate | None) -> Situation:
        """Return the planner's situation with these checks.

        No repair counts for more than what a workshop asks to find out: rather than guess
        with a dearer part one would ask, so a dear and unlikely cause must not rule the plan.
        """
        causes = self.worlds.causes
        checks = []
        for offer in offers:
            table = self.table(offer.check)
            checks.append(PlanCheck(offer.check, offer.cost, len(table[0]), table))
        return Situation(
            cause_ids=causes,
            repair_costs=tuple(
                min(UNRESOLVED_COST, repair_cost(self.catalogue.causes[name], self.hour))
                for name in causes
            ),
            masks=self.worlds.masks,
            weights=self.worlds.weights,
            checks=tuple(checks),
            rule=gate,
            unresolved_cost=UNRESOLVED_COST,
        )


def plan(
    catalogue: Catalogue, network: Network, case: CarCase, findings: Findings, asked: Asked
) -> Planning:
    """Price the checks of a case; see `Planning`.

    Up to 12 checks are looked at closely: those with the least one-step value, and the gate.
    """
    causes = likeliest(asked.posteriors, relevant_causes(catalogue, network, case))
    hour = HOUR_VALUE if case.hour_value is None else case.hour_value
    worlds = enumerate_worlds(
        network, findings.odds, findings.evidence, candidates=causes, most_present=_MOST_PRESENT
    )
    desk = _Desk(catalogue, network, worlds, hour)
    offers = Offers(catalogue, case, findings, desk.worse).all()
    gate = _cheapest_supply_check(desk, offers)
    useful = [offer for offer in offers.values() if desk.moves(offer.check)]
    everything = desk.situation(useful, None)
    first_look = choose(everything, work_limit=0)
    buying_now = first_look.ecr_repairs_only
    one_step = _check_values(first_look)
    short = _shortlist(useful, one_step, gate)
    rule = None
    if asked.gated and gate is not None and gate in short:
        rule = Gate(gate.check, gate.cost)
    values = _check_values(choose(desk.situation(short, rule), work_limit=asked.work_limit))
    alone = {name: buying_now - value for name, value in one_step.items()}
    priced = [
        Priced(offer, buying_now - values[offer.check], alone[offer.check])
        for offer in short
        if offer.check in values
    ]
    priced.sort(key=lambda one: (-round(one.saving, 9), one.offer.check))
    first = _cheapest_first(everything, asked.posteriors)
    return Planning(causes, tuple(priced), buying_now, alone, offers, gate, first)


def _cheapest_first(situation: Situation, posteriors: Mapping[str, float]) -> str | None:
    """Return the likely cause with the most probability for its repair's cost (ties by id)."""
    priced = zip(situation.cause_ids, situation.repair_costs, strict=True)
    ranked = [
        (-round(posteriors[name] / cost, 9), name)
        for name, cost in priced
        if cost > 0 and posteriors[name] >= _QUICK_LOOK
    ]
    return min(ranked)[1] if ranked else None


def _check_values(found: Plan) -> dict[str, float]:
    return {one.id: one.value for one in found.values if one.kind == "check"}


def _cheapest_supply_check(desk: _Desk, offers: Mapping[str, Offer]) -> Offer | None:
    """Return the open supply check that costs least (ties by id), or None."""
    found = [offer for offer in offers.values() if desk.is_supply_check(offer.check)]
    return min(found, key=lambda one: (one.cost, one.check), default=None)


def _shortlist(
    useful: Sequence[Offer], one_step: Mapping[str, float], gate: Offer | None
) -> list[Offer]:
    """Keep the checks with the least one-step value; the gate is always among them."""
    ranked = [offer for offer in useful if offer.check in one_step]
    ranked.sort(key=lambda one: (round(one_step[one.check], 9), one.check))
    short = ranked[:MOST_CHECKS]
    if gate is not None and gate in ranked and gate not in short:
        short[-1] = gate
    return sorted(short, key=lambda one: one.check)
