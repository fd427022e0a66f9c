"""Which checks can be made now, and what making each first is expected to save.

A check whose prerequisite has no result is offered through it, one whose prerequisite came
out worse through what the catalogue names instead. The planner's situation is built from the
posterior: the likeliest causes of the complaint, sets of them as worlds, repairs and checks
with their costs. It knows no supply-first rule beyond the gate it is asked for; `policy`
decides what is advised.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from build_tools.engine.abilities import check_requires
from build_tools.engine.diagnosis import relevant_causes
from build_tools.engine.planner import choose
from build_tools.engine.situation import Gate, PlanCheck, Situation
from build_tools.engine.worlds import Worlds, enumerate_worlds, level_table

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from build_tools.engine.cases import CarCase
    from build_tools.engine.diagnosis import Diagnosis
    from build_tools.engine.findings import Findings
    from build_tools.engine.network import Network
    from build_tools.engine.planner import Plan
    from build_tools.knowledge.catalogue import Catalogue
    from build_tools.knowledge.entries import Cause, Check, Need

HOUR_VALUE: Final = 15.0
UNRESOLVED_COST: Final = 250.0
WORKSHOP_MINUTE: Final = 2.0
_LIKELY: Final = 0.5
LEAST_LIKELY: Final = 0.01
MOST_CAUSES: Final = 12
MOST_CHECKS: Final = 12
_MOST_PRESENT: Final = 2
_QUICK_LOOK: Final = 0.15


@dataclass(frozen=True)
class Offer:
    """A check that can be made: what to do first, and what all of it costs.

    `before` lists the checks that come first, in order, and `first` is the one to make now:
    the check itself when nothing comes before it. `instead` is true when `first` is there
    because a prerequisite came out worse than the check allows.
    """

    check: str
    first: str
    before: tuple[str, ...]
    cost: float
    instead: bool


def hour_value(case: CarCase) -> float:
    """Return the reader's price of an hour."""
    return HOUR_VALUE if case.hour_value is None else case.hour_value


def check_cost(check: Check, hour_value: float) -> float:
    """Return what a check costs: its money and its minutes at the reader's price of an hour."""
    return check.effort.money + check.effort.minutes * hour_value / 60


def repair_cost(cause: Cause, hour_value: float) -> float:
    """Return what a repair costs: the middle of the part's price and the work.

    In a workshop a minute costs 2 units of money (our estimate), at home the reader's own.
    """
    repair = cause.repair
    if repair.who == "workshop":
        return repair.price.middle + repair.minutes * WORKSHOP_MINUTE
    return repair.price.middle + repair.minutes * hour_value / 60


class Offers:
    """The offers of one case; `worse` predicts P(a check comes out above a level)."""

    def __init__(
        self,
        catalogue: Catalogue,
        case: CarCase,
        findings: Findings,
        worse: Callable[[str, int], float],
    ) -> None:
        self._catalogue = catalogue
        self._case = case
        self._results: Mapping[str, tuple[float, ...]] = findings.results
        self._abilities = findings.abilities
        self._worse = worse
        self._families = {
            catalogue.symptoms[name].family
            for name in case.symptoms
            if name in catalogue.symptoms and catalogue.symptoms[name].role == "complaint"
        }
        self._hour = hour_value(case)

    def all(self) -> dict[str, Offer]:
        """Return every check that can be made now or after its prerequisites, by id."""
        offers: dict[str, Offer] = {}
        for name in self._catalogue.checks:
            if (path := self._path(name, ())) is not None:
                steps, cost, instead = path
                offers[name] = Offer(name, steps[0], steps[:-1], cost, instead)
        return offers

    def _open(self, name: str) -> bool:
        case = self._case
        check = self._catalogue.checks.get(name)
        if check is None or name in self._results or name in case.not_possible:
            return False
        if self._abilities.missing(check_requires(check)) is not None:
            return False
        if check.only_for and self._families and not self._families & set(check.only_for):
            return False
        return case.tools is None or all(tool in case.tools for tool in check.tools)

    def _path(
        self, name: str, above: tuple[str, ...]
    ) -> tuple[tuple[str, ...], float, bool] | None:
        """Return the checks to make, ending with `name`, their cost, and how they begin."""
        if name in above or not self._open(name):
            return None
        check = self._catalogue.checks[name]
        steps: tuple[str, ...] = ()
        cost = check_cost(check, self._hour)
        instead = False
        for need in check.needs:
            found = self._meet(need, (*above, name))
            if found is None:
                return None
            more, extra, through_other = found
            instead = instead or (through_other and not steps)
            steps += tuple(step for step in more if step not in steps)
            cost += extra
        return (*steps, name), cost, instead

    def _meet(
        self, need: Need, above: tuple[str, ...]
    ) -> tuple[tuple[str, ...], float, bool] | None:
        """Return what meets a prerequisite: nothing, the check itself, or the one instead."""
        if need.check not in self._catalogue.checks:
            return (), 0.0, False
        at_most = self._at_most(need)
        weights = self._results.get(need.check)
        if weights is None:
            return self._meet_unmade(need, at_most, above)
        if at_most is None or sum(weights[: at_most + 1]) >= _LIKELY:
            return (), 0.0, False
        if need.otherwise is None:
            return None
        done = self._results.get(need.otherwise)
        if done is not None:
            # Its best level mends what was amiss; any other leaves the check unfit to make.
            return ((), 0.0, False) if done[0] >= _LIKELY else None
        path = self._path(need.otherwise, above)
        return None if path is None else (path[0], path[1], True)

    def _meet_unmade(
        self, need: Need, at_most: int | None, above: tuple[str, ...]
    ) -> tuple[tuple[str, ...], float, bool] | None:
        path = self._path(need.check, above)
        if path is None:
            return None
        steps, cost, instead = path
        if at_most is not None and need.otherwise is not None:
            other = self._path(need.otherwise, (*above, need.check))
            if other is not None:
                cost += self._worse(need.check, at_most) * other[1]
        return steps, cost, instead

    def _at_most(self, need: Need) -> int | None:
        levels = [level.id for level in self._catalogue.checks[need.check].levels]
        if need.at_most is None or need.at_most not in levels:
            return None
        return levels.index(need.at_most)


@dataclass(frozen=True)
class PricedCheck:
    """A check with what making it first is expected to save: its value of information, less cost.

    Both are against buying parts in p/c order now: `saving` with further checks planned after
    it, `alone` with this check only.
    """

    offer: Offer
    saving: float
    alone: float


@dataclass(frozen=True)
class Planning:
    """What planning found.

    `priced` is sorted by saving, then id. `buying_now` is the expected cost of repairing in
    p/c order with no check at all. `alone` has what each check would save by itself. `offers`
    has every check that can be made, `gate` the cheapest one on the supply, if any.
    `cheapest_first` is the cause that comes first in p/c order among those of at least 0.15.
    """

    causes: tuple[str, ...]
    priced: tuple[PricedCheck, ...]
    buying_now: float
    alone: Mapping[str, float]
    offers: Mapping[str, Offer]
    gate: Offer | None
    cheapest_first: str | None


def likeliest(posteriors: Mapping[str, float], among: set[str]) -> tuple[str, ...]:
    """Return up to 12 causes of at least 1 in 100, most probable first (ties by id)."""
    kept = [name for name in among if posteriors[name] >= LEAST_LIKELY]
    kept.sort(key=lambda name: (-posteriors[name], name))
    return tuple(kept[:MOST_CAUSES])


@dataclass(frozen=True)
class _CasePlan:
    """What every pricing of one case shares."""

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


def plan(diagnosis: Diagnosis, *, gated: bool, work_limit: int) -> Planning:
    """Price the checks of a case; see `Planning`.

    Up to 12 checks are looked at closely: those with the least one-step value, and the gate.
    `gated` keeps parts dearer than the gate back until it has a result.
    """
    catalogue, network, case = diagnosis.catalogue, diagnosis.network, diagnosis.case
    findings, posteriors = diagnosis.findings, diagnosis.posteriors
    causes = likeliest(posteriors, relevant_causes(catalogue, network, case))
    worlds = enumerate_worlds(
        network, findings.odds, findings.evidence, candidates=causes, most_present=_MOST_PRESENT
    )
    shared = _CasePlan(catalogue, network, worlds, hour_value(case))
    offers = Offers(catalogue, case, findings, shared.worse).all()
    gate = _cheapest_supply_check(shared, offers)
    useful = [offer for offer in offers.values() if shared.moves(offer.check)]
    everything = shared.situation(useful, None)
    first_look = choose(everything, work_limit=0)
    buying_now = first_look.ecr_repairs_only
    one_step = _check_values(first_look)
    short = _shortlist(useful, one_step, gate)
    rule = None
    if gated and gate is not None and gate in short:
        rule = Gate(gate.check, gate.cost)
    values = _check_values(choose(shared.situation(short, rule), work_limit=work_limit))
    alone = {name: buying_now - value for name, value in one_step.items()}
    priced = [
        PricedCheck(offer, buying_now - values[offer.check], alone[offer.check])
        for offer in short
        if offer.check in values
    ]
    priced.sort(key=lambda one: (-round(one.saving, 9), one.offer.check))
    first = _cheapest_first(everything, posteriors)
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


def _cheapest_supply_check(shared: _CasePlan, offers: Mapping[str, Offer]) -> Offer | None:
    """Return the open supply check that costs least (ties by id), or None."""
    found = [offer for offer in offers.values() if shared.is_supply_check(offer.check)]
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
