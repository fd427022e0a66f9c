"""What each step is expected to save: checks, repairs and a workshop, planned on one case.

The planner's situation is built from the posterior: the likeliest causes of the complaint, sets
of them as worlds, checks and repairs with their costs, what a workshop asks in each world, and
the two gates on buying with the numbers that `policy` gives.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from build_tools.engine.abilities import repair_requires
from build_tools.engine.diagnosis import confirmation, relevant_causes, reporting_symptoms
from build_tools.engine.mended import SAME
from build_tools.engine.planner import choose
from build_tools.engine.pricing import (
    UNRESOLVED_COST,
    Offer,
    Offers,
    hour_value,
    puts_right,
    repair_cost,
    workshop_bill,
)
from build_tools.engine.situation import Buying, PlanCheck, Situation
from build_tools.engine.supply import is_supply_cause
from build_tools.engine.worlds import Worlds, enumerate_worlds, level_table

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from build_tools.engine.diagnosis import Diagnosis
    from build_tools.engine.planner import Plan
    from build_tools.knowledge.entries import Cause

LEAST_LIKELY: Final = 0.01
MOST_CAUSES: Final = 12
MOST_CHECKS: Final = 12
CLOSE: Final = 0.05
"""Share of an expected cost within which two steps count as equal; our estimates carry no more."""

_MOST_PRESENT: Final = 2


@dataclass(frozen=True)
class Gates:
    """The numbers of the two gates on buying; `policy` says why they are what they are."""

    sure: float
    excluded: float


@dataclass(frozen=True)
class PricedCheck:
    """A check with what making it first is expected to save, with what is best after it.

    Against going on without any check: repairs that may be made and pay, then a workshop.
    `alone` is the same with no further check after it.
    """

    offer: Offer
    saving: float
    alone: float


@dataclass(frozen=True)
class Planning:
    """What planning found.

    `step` is the kind and id of the step of least expected cost: check, repair or workshop.
    `priced` is sorted by saving, then id. `buying_now` is the expected cost of going on
    without any check, `workshop` that of going to one at once. `offers` has every check that
    can be made, `gate` the cheapest one on the supply that would tell, if any. `may_repair`
    are the causes whose repair may be made now; `held` those whose part waits for the supply.
    """

    causes: tuple[str, ...]
    step: tuple[str, str]
    priced: tuple[PricedCheck, ...]
    buying_now: float
    workshop: float
    offers: Mapping[str, Offer]
    gate: Offer | None
    may_repair: tuple[str, ...]
    held: tuple[str, ...]


def likeliest(posteriors: Mapping[str, float], among: set[str]) -> tuple[str, ...]:
    """Return up to 12 causes of at least 1 in 100, most probable first (ties by id)."""
    kept = [name for name in among if posteriors[name] >= LEAST_LIKELY]
    kept.sort(key=lambda name: (-posteriors[name], name))
    return tuple(kept[:MOST_CAUSES])


@dataclass(frozen=True)
class _CasePlan:
    """What every pricing of one case shares."""

    diagnosis: Diagnosis
    worlds: Worlds
    tables: dict[str, tuple[tuple[float, ...], ...]] = field(default_factory=dict)

    def table(self, check: str) -> tuple[tuple[float, ...], ...]:
        """Return P(level) of a check in each world, worked out once."""
        if check not in self.tables:
            self.tables[check] = level_table(self.diagnosis.network, self.worlds, check)
        return self.tables[check]

    def moves(self, check: str, *, supply: bool = False) -> bool:
        """Return whether a check can move a cause looked at; with `supply`, one of the supply."""
        finding = self.diagnosis.network.finding_by_id.get(check)
        return finding is not None and any(
            name in finding.links
            and (not supply or is_supply_cause(self.diagnosis.catalogue, name))
            for name in self.worlds.causes
        )

    def worse(self, check: str, level: int) -> float:
        """Return P(a check comes out above `level`) over the worlds."""
        if check not in self.diagnosis.network.finding_by_id:
            return 0.0
        total = 0.0
        for weight, row in zip(self.worlds.weights, self.table(check), strict=True):
            for chance in row[level + 1 :]:
                total += weight * chance
        return total

    def situation(self, offers: Sequence[Offer], buying: Buying) -> Situation:
        """Return the planner's situation with these checks."""
        catalogue, names = self.diagnosis.catalogue, self.worlds.causes
        hour = hour_value(self.diagnosis.case)
        entries = [catalogue.causes[name] for name in names]
        checks = []
        for offer in offers:
            table = self.table(offer.check)
            confirms = self._confirms(offer.check)
            checks.append(PlanCheck(offer.check, offer.cost, len(table[0]), table, confirms))
        fixed = puts_right(catalogue)
        return Situation(
            cause_ids=names,
            repair_costs=tuple(repair_cost(one, hour) for one in entries),
            masks=self.worlds.masks,
            weights=self.worlds.weights,
            checks=tuple(checks),
            unresolved_cost=UNRESOLVED_COST,
            workshop=self._workshop([workshop_bill(one) for one in entries]),
            puts_right=tuple(
                sum(1 << place for place, other in enumerate(names) if other in fixed[name])
                for name in names
            ),
            buying=buying,
        )

    def _confirms(self, check: str) -> tuple[tuple[int, ...], ...]:
        """Return, for each level of a check, the causes that this level or a worse one confirms."""
        causes = self.diagnosis.catalogue.causes
        levels = [level.id for level in self.diagnosis.catalogue.checks[check].levels]
        least = {
            place: levels.index(one.level)
            for place, name in enumerate(self.worlds.causes)
            for one in causes[name].confirmed_by
            if one.check == check and one.level in levels
        }
        return tuple(
            tuple(place for place, worst in least.items() if worst <= level)
            for level in range(len(levels))
        )

    def _workshop(self, bills: Sequence[float]) -> tuple[float, ...]:
        """Return what a workshop asks in each world: to find out, and to put all right."""
        prices = []
        for mask in self.worlds.masks:
            price = UNRESOLVED_COST
            for place, bill in enumerate(bills):
                price += bill if mask >> place & 1 else 0.0
            prices.append(price)
        return tuple(prices)

    def buying(self, offers: Mapping[str, Offer], gate: Offer | None, gates: Gates) -> Buying:
        """Return the two gates on buying, for this case."""
        catalogue, names = self.diagnosis.catalogue, self.worlds.causes
        entries = [catalogue.causes[name] for name in names]
        bought = [one.repair.part is not None for one in entries]
        finding_out = []
        for one in entries:
            prices = [offers[by.check].cost for by in one.confirmed_by if by.check in offers]
            finding_out.append(min([UNRESOLVED_COST, *prices]))
        return Buying(
            possible=tuple(self._possible(one, gates.sure) for one in entries),
            bought=tuple(bought),
            confirmed=tuple(confirmation(self.diagnosis, one) is not None for one in entries),
            confirmable=tuple(
                any(by.check in offers for by in one.confirmed_by) for one in entries
            ),
            finding_out=tuple(finding_out),
            waits=tuple(
                gate is not None and buys and one.repair.price.middle > gate.cost
                for one, buys in zip(entries, bought, strict=True)
            ),
            on_supply=tuple(is_supply_cause(catalogue, name) for name in names),
            supply_share=self._supply_share(),
            sure=gates.sure,
            excluded=gates.excluded,
        )

    def _possible(self, cause: Cause, sure: float) -> bool:
        """Return whether a repair can be made and its own check has not spoken against it.

        A part may still be bought then once its cause is more likely than not. One made already
        is not made again, unless a check has confirmed its cause since.
        """
        diagnosis = self.diagnosis
        made_already = diagnosis.findings.repairs.get(cause.id)
        if made_already is not None:
            again = made_already == SAME and confirmation(diagnosis, cause) is not None
            if not again:
                return False
        if diagnosis.findings.abilities.missing(repair_requires(cause)) is not None:
            return False
        made = any(by.check in diagnosis.findings.results for by in cause.confirmed_by)
        likely = cause.repair.part is not None and diagnosis.posteriors[cause.id] >= sure
        return likely or not made or confirmation(diagnosis, cause) is not None

    def _supply_share(self) -> tuple[float, ...]:
        """Return, by world, the part its supply causes have in the complaints.

        That is 1 - P(complaints | its other causes) / P(complaints | all of its causes).
        """
        diagnosis = self.diagnosis
        on_supply = [is_supply_cause(diagnosis.catalogue, name) for name in self.worlds.causes]
        shares = []
        for mask in self.worlds.masks:
            ratio = 1.0
            for name in reporting_symptoms(diagnosis.catalogue, diagnosis.case):
                finding = diagnosis.network.finding_by_id[name]
                quiet = others = finding.leak[0]
                for place, cause in enumerate(self.worlds.causes):
                    if mask >> place & 1 and cause in finding.links:
                        quiet *= finding.links[cause][0]
                        others *= 1.0 if on_supply[place] else finding.links[cause][0]
                ratio *= (1 - others) / (1 - quiet) if quiet < 1 else 1.0
            shares.append(1 - ratio)
        return tuple(shares)


def plan(diagnosis: Diagnosis, gates: Gates, *, work_limit: int) -> Planning:
    """Price the steps of a case; see `Planning`.

    Up to 12 checks are looked at closely: those with the least one-step value, and the gate.
    """
    catalogue, network, case = diagnosis.catalogue, diagnosis.network, diagnosis.case
    findings, posteriors = diagnosis.findings, diagnosis.posteriors
    causes = likeliest(posteriors, relevant_causes(catalogue, network, case))
    worlds = enumerate_worlds(
        network, findings.odds, findings.evidence, candidates=causes, most_present=_MOST_PRESENT
    )
    shared = _CasePlan(diagnosis, worlds)
    offers = Offers(catalogue, case, findings, shared.worse).all()
    gate = _cheapest_supply_check(shared, offers) if gates.excluded < 1 else None
    buying = shared.buying(offers, gate, gates)
    useful = [offer for offer in offers.values() if shared.moves(offer.check)]
    first_look = choose(shared.situation(useful, buying), work_limit=0)
    short = _shortlist(useful, _check_values(first_look), gate)
    found = choose(shared.situation(short, buying), work_limit=work_limit)
    values = _check_values(found)
    alone = _check_values(first_look)
    buying_now = found.ecr_repairs_only
    priced = [
        PricedCheck(offer, buying_now - values[offer.check], buying_now - alone[offer.check])
        for offer in short
    ]
    return Planning(
        causes=causes,
        step=_step(diagnosis, found, gates),
        priced=_by_saving(priced),
        buying_now=buying_now,
        workshop=found.values[-1].value,
        offers=offers,
        gate=gate,
        may_repair=found.open,
        held=_held(worlds, buying),
    )


def _step(diagnosis: Diagnosis, found: Plan, gates: Gates) -> tuple[str, str]:
    """Return the step of least cost; a repair that a check confirmed wins a near tie.

    A result that confirms a cause has said what to do, and our numbers are no better than that.
    """
    if found.action is None:
        return "workshop", ""
    if found.action.kind == "check":
        causes, most = diagnosis.catalogue.causes, found.value * (1 + CLOSE)
        confirmed = [
            (round(one.value, 9), one.id)
            for one in found.values
            if one.kind == "repair"
            and one.value <= most
            and diagnosis.posteriors[one.id] >= gates.sure
            and confirmation(diagnosis, causes[one.id]) is not None
        ]
        if confirmed:
            return "repair", min(confirmed)[1]
    return found.action.kind, found.action.id


def _by_saving(priced: Sequence[PricedCheck]) -> tuple[PricedCheck, ...]:
    """Sort by saving; in a near tie for the first place leads what saves most by itself.

    Two checks planned one after the other come to the same in either order.
    """
    most = max((one.saving for one in priced), default=0.0)
    least = most - max(1.0, CLOSE * most)
    return tuple(
        sorted(
            priced,
            key=lambda one: (
                one.saving < least,
                -round(one.saving if one.saving < least else one.alone, 9),
                one.offer.check,
            ),
        )
    )


def _held(worlds: Worlds, buying: Buying) -> tuple[str, ...]:
    """Return the causes outside the supply whose part waits for it now."""
    part = 0.0
    for weight, share in zip(worlds.weights, buying.supply_share, strict=True):
        part += weight * share
    if part < buying.excluded:
        return ()
    waiting = zip(worlds.causes, buying.waits, buying.on_supply, strict=True)
    return tuple(name for name, waits, on_supply in waiting if waits and not on_supply)


def _check_values(found: Plan) -> dict[str, float]:
    return {one.id: one.value for one in found.values if one.kind == "check"}


def _cheapest_supply_check(shared: _CasePlan, offers: Mapping[str, Offer]) -> Offer | None:
    """Return the open supply check that costs least (ties by id), or None.

    Only one that can move a supply cause of the complaint; once the supply is proven, none.
    """
    if shared.diagnosis.supply.state == "sound":
        return None
    checks = shared.diagnosis.catalogue.checks
    found = [
        offer
        for offer in offers.values()
        if checks[offer.check].aspects and shared.moves(offer.check, supply=True)
    ]
    return min(found, key=lambda one: (one.cost, one.check), default=None)


def _shortlist(
    useful: Sequence[Offer], one_step: Mapping[str, float], gate: Offer | None
) -> list[Offer]:
    """Keep the checks with the least one-step value; the gate is always among them."""
    ranked = sorted(useful, key=lambda one: (round(one_step[one.check], 9), one.check))
    short = ranked[:MOST_CHECKS]
    if gate is not None and gate in ranked and gate not in short:
        short[-1] = gate
    return sorted(short, key=lambda one: one.check)
