"""What each step is expected to save: checks, repairs and a workshop, planned on one case.

The planner's situation is built from the posterior: the causes likeliest to be to blame for the
complaint, sets of them as worlds, checks and repairs with their costs, what a workshop asks in
each world, and the two gates on buying with the numbers that `policy` gives.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from build_tools.engine.abilities import NEAR, repair_requires
from build_tools.engine.diagnosis import (
    Diagnosis,
    confirmation,
    relevant_causes,
    reporting_symptoms,
)
from build_tools.engine.mended import SAME
from build_tools.engine.one_look import Question, joined, joined_confirms, questions
from build_tools.engine.planner import ActionValue, Plan, choose
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
from build_tools.engine.worlds import (
    Blamed,
    Worlds,
    blame,
    blamed_table,
    enumerate_worlds,
    in_blamed,
    level_table,
)
from build_tools.knowledge.entries import Cause, Confirmation

LEAST_LIKELY: Final = 0.01
MOST_CAUSES: Final = 12
CLOSE: Final = 0.2
"""Share of an expected cost within which two steps count as equal; our estimates carry no more."""

TRIED_FROM: Final = 1 / 3
"""What buys nothing may be tried before a look from this probability: a look that finds nothing
is less in vain than work that changes nothing. Where no look costs less than the work, from any."""

# Weight from which a result is the best its check knows.
_FOUND_GOOD: Final = 0.5
# Three causes at once where that makes no more than about a hundred sets, else two.
_FEW_CAUSES: Final = 8
_MOST_LOOKED_AT: Final = 20
# What beginning anything at all costs the owner beside its price, so that nothing is free.
_TROUBLE: Final = 1.0
# A check that saves less than this share of what another does is not as good as it.
_QUARTER: Final = 0.25
# A check must save more than this, so that rounding never decides for one.
_PAYS: Final = 1e-9


@dataclass(frozen=True)
class Gates:
    """The numbers of the two gates on buying; `policy` says why they are what they are."""

    sure: float
    excluded: float


@dataclass(frozen=True)
class PricedCheck:
    """A check with what making it first is expected to save, with what is best after it.

    Against going on without any check: repairs that may be made and pay, then a workshop.
    `settles` is P(it confirms a cause that is to blame). `answers` are the checks that one look
    answers with it, empty where it answers only itself.
    """

    offer: Offer
    saving: float
    settles: float
    answers: tuple[str, ...] = ()


@dataclass(frozen=True)
class Planning:
    """What planning found.

    `step` is the kind and id of the step advised: check, repair or workshop. `priced` begins
    with the checks that cost as good as least, those that settle most for their cost first;
    the others go by saving. `buying_now` is the expected cost of going on
    without any check, `workshop` that of going to one at once. `offers` has every check that
    can be made, `gate` the cheapest one on the supply that would tell, if any. `may_repair`
    are the causes whose repair may be made now; `held` those whose part waits for the supply.
    `costs` has what each step that can be made is expected to cost, by kind and id.
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
    costs: Mapping[tuple[str, str], float]


def likeliest(
    posteriors: Mapping[str, float], among: set[str], most: int = MOST_CAUSES
) -> tuple[str, ...]:
    """Return up to `most` causes of at least 1 in 100, most probable first (ties by id)."""
    kept = [name for name in among if posteriors[name] >= LEAST_LIKELY]
    return tuple(sorted(kept, key=lambda name: (-posteriors[name], name))[:most])


def blamed_causes(diagnosis: Diagnosis) -> Blamed:
    """Return the up to 12 causes likeliest to be to blame, each at least 1 in 100, with their sets.

    Chosen among the 20 likeliest to be there, likeliest first (ties by id).
    """
    catalogue, case = diagnosis.catalogue, diagnosis.case
    relevant = relevant_causes(catalogue, diagnosis.network, case, diagnosis.findings.amiss)
    first = _blamed(diagnosis, likeliest(diagnosis.posteriors, relevant, _MOST_LOOKED_AT))
    shares = {name: first.share(place) for place, name in enumerate(first.worlds.causes)}
    return _blamed(diagnosis, likeliest(shares, set(shares)))


def _blamed(diagnosis: Diagnosis, candidates: tuple[str, ...]) -> Blamed:
    network, findings = diagnosis.network, diagnosis.findings
    present = enumerate_worlds(
        network,
        findings.odds,
        findings.evidence,
        candidates=candidates,
        most_present=3 if len(candidates) <= _FEW_CAUSES else 2,
    )
    return blame(network, present, reporting_symptoms(diagnosis.catalogue, diagnosis.case))


@dataclass(frozen=True)
class _CasePlan:
    """What every pricing of one case shares."""

    diagnosis: Diagnosis
    blamed: Blamed
    tables: dict[str, tuple[tuple[float, ...], ...]] = field(default_factory=dict)

    @property
    def worlds(self) -> Worlds:
        """Return the sets of causes that may be to blame."""
        return self.blamed.worlds

    def table(self, check: str) -> tuple[tuple[float, ...], ...]:
        """Return P(level) of a check in each world, worked out once."""
        if check not in self.tables:
            self.tables[check] = blamed_table(self.diagnosis.network, self.blamed, check)
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

    def check(self, question: Question) -> PlanCheck:
        """Return a step that asks as the planner knows it."""
        offer, reading = question.offer, question.reading
        if question.answers:
            present, network = self.blamed.present, self.diagnosis.network
            own = None if reading is None else level_table(network, present, reading)
            tables = [level_table(network, present, name) for name in question.answers]
            table = in_blamed(self.blamed, joined(own, tables, len(present.masks)))
            confirms = joined_confirms(
                None if reading is None else self._confirms(reading),
                [self._confirms(name) for name in question.answers],
            )
        else:
            table, confirms = self.table(offer.check), self._confirms(offer.check)
        return PlanCheck(offer.check, offer.cost, len(table[0]), table, confirms)

    def situation(self, checks: Sequence[PlanCheck], buying: Buying) -> Situation:
        """Return the planner's situation with these checks."""
        catalogue, names = self.diagnosis.catalogue, self.worlds.causes
        hour = hour_value(self.diagnosis.case)
        entries = [catalogue.causes[name] for name in names]
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

    def settles(self, check: PlanCheck) -> float:
        """Return P(a check confirms a cause that is to blame), the likeliest at each level."""
        settled = 0.0
        for level, confirmed in enumerate(check.confirms):
            most = 0.0
            for place in confirmed:
                share = 0.0
                for mask, weight, row in zip(
                    self.worlds.masks, self.worlds.weights, check.table, strict=True
                ):
                    share += weight * row[level] if mask >> place & 1 else 0.0
                most = max(most, share)
            settled += most
        return settled

    def _confirms(self, check: str) -> tuple[tuple[int, ...], ...]:
        """Return, for each level of a check, the causes that it confirms."""
        causes = self.diagnosis.catalogue.causes
        return tuple(
            tuple(
                place
                for place, name in enumerate(self.worlds.causes)
                if Confirmation(check=check, level=level.id) in causes[name].confirmed_by
            )
            for level in self.diagnosis.catalogue.checks[check].levels
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

    def buying(self, offers: Mapping[str, Offer], useful: Sequence[Offer], gates: Gates) -> Buying:
        """Return the two gates on buying, for this case."""
        catalogue, names = self.diagnosis.catalogue, self.worlds.causes
        entries = [catalogue.causes[name] for name in names]
        bought = [one.repair.part is not None for one in entries]
        gate = _cheapest_supply_check(self, useful) if gates.excluded < 1 else None
        place_of = {offer.check: place for place, offer in enumerate(useful)}
        finding_out = tuple(
            tuple(
                (place_of.get(by.check, -1), offers[by.check].cost)
                for by in one.confirmed_by
                if by.check in offers
            )
            for one in entries
        )
        return Buying(
            possible=tuple(self._possible(one, offers, gates.sure) for one in entries),
            bought=tuple(bought),
            confirmed=tuple(confirmation(self.diagnosis, one) is not None for one in entries),
            confirmable=tuple(
                any(by.check in offers for by in one.confirmed_by) for one in entries
            ),
            finding_out=finding_out,
            waits=tuple(
                gate is not None and buys and one.repair.price.middle > gate.cost
                for one, buys in zip(entries, bought, strict=True)
            ),
            on_supply=tuple(is_supply_cause(catalogue, name) for name in names),
            supply_share=self._supply_share(),
            sure=gates.sure,
            excluded=gates.excluded,
            unresolved=UNRESOLVED_COST,
            gate=-1 if gate is None else useful.index(gate),
        )

    def _possible(self, cause: Cause, offers: Mapping[str, Offer], sure: float) -> bool:
        """Return whether a repair can be made.

        One made already is not made again, unless a check has confirmed its cause since; a check
        that ends the cause has made it. Only for a confirmed cause is a tool borrowed that is not
        there, or a part bought without the checks that its entry names before it. What its own
        check found good is put right only once its cause is more likely than not all the same.
        """
        diagnosis = self.diagnosis
        confirmed = confirmation(diagnosis, cause) is not None
        made_already = diagnosis.findings.repairs.get(cause.id)
        if made_already is not None and (made_already != SAME or not confirmed):
            return False
        if diagnosis.findings.abilities.missing(repair_requires(cause)) is not None:
            return False
        results, checks = diagnosis.findings.results, diagnosis.catalogue.checks
        if any(cause.id in level.ends for one in results for level in checks[one].levels):
            return confirmed
        tools = diagnosis.case.tools
        at_hand = tools is None or set(cause.repair.own_tools) <= set(tools)
        known = {*offers, *results}
        own = (results.get(by.check) for by in cause.confirmed_by)
        found_good = any(one is not None and one[0] >= _FOUND_GOOD for one in own)
        likely = not found_good or diagnosis.posteriors[cause.id] >= sure
        checked = cause.repair.part is None or known.issuperset(cause.repair.after_checks)
        return confirmed or (at_hand and checked and likely)

    def _supply_share(self) -> tuple[float, ...]:
        """Return, by world, whether the supply alone makes the complaints: 1 or 0.

        Where another cause has a part in them, its part is not bought in vain.
        """
        others = 0
        for place, name in enumerate(self.worlds.causes):
            if not is_supply_cause(self.diagnosis.catalogue, name):
                others |= 1 << place
        return tuple(1.0 if mask and not mask & others else 0.0 for mask in self.worlds.masks)


def plan(diagnosis: Diagnosis, gates: Gates) -> Planning:
    """Price the steps of a case, each with a fixed order after it; see `Planning`."""
    shared = _CasePlan(diagnosis, blamed_causes(diagnosis))
    offers = Offers(diagnosis.catalogue, diagnosis.case, diagnosis.findings, shared.worse).all()
    asked = questions(
        diagnosis.catalogue,
        offers,
        [offer for offer in offers.values() if shared.moves(offer.check)],
        lambda check: shared.worse(check, 0),
    )
    useful = [one.offer for one in asked]
    checks = [shared.check(one) for one in asked]
    buying = shared.buying(offers, useful, gates)
    # One step is looked ahead: the order after it knows what each look would settle.
    found = choose(shared.situation(checks, buying), work_limit=0)
    values = {one.id: one.value for one in found.values if one.kind == "check"}
    buying_now = found.ecr_repairs_only
    priced = [
        PricedCheck(one.offer, buying_now - values[check.id], shared.settles(check), one.answers)
        for one, check in zip(asked, checks, strict=True)
    ]
    least = _least_saving(found, priced)
    priced = _in_order(priced, least)
    step = _step(shared, found, [one for one in priced if one.saving >= least], buying)
    needed = _needed_before(diagnosis, step, [one.offer.check for one in priced])
    if needed is not None:
        step = ("check", needed)
        priced.sort(key=lambda one: one.offer.check != needed)
        # What comes after it is out of the planner's sight, so it is never said to lose.
        priced[0] = replace(priced[0], saving=max(priced[0].saving, 2 * _PAYS))
    return Planning(
        causes=shared.worlds.causes,
        step=step,
        priced=tuple(priced),
        buying_now=buying_now,
        workshop=found.values[-1].value,
        offers=offers,
        gate=None if buying.gate < 0 else useful[buying.gate],
        may_repair=found.open,
        held=_held(shared.worlds, buying),
        costs={(one.kind, one.id): one.value for one in found.values},
    )


def _per_cost(settles: float, cost: float) -> float:
    return round(settles / (cost + _TROUBLE), 9)


def _least_saving(found: Plan, priced: Sequence[PricedCheck]) -> float:
    """Return what a check saves at least to be as good as the best one."""
    most = max((one.saving for one in priced), default=0.0)
    return max(_PAYS, found.ecr_repairs_only - found.value * (1 + CLOSE), _QUARTER * most)


def _in_order(priced: Sequence[PricedCheck], least: float) -> list[PricedCheck]:
    """Sort as `Planning` says; `least` is the saving of the last that is as good as the best."""
    return sorted(
        priced,
        key=lambda one: (
            one.saving < least,
            -_per_cost(one.settles, one.offer.cost) if one.saving >= least else 0.0,
            -round(one.saving, 9),
            one.offer.check,
        ),
    )


def _step(
    shared: _CasePlan, found: Plan, checks: Sequence[PricedCheck], buying: Buying
) -> tuple[str, str]:
    """Choose the step; a repair that a check confirmed goes first, before others if it is free.

    A result has said what to do; only what saves a fifth of its cost comes before it, where it
    would not be little in vain. Else, among the steps that cost as good as least, what
    settles most for its cost: a check, or a repair likely to be it. A workshop must be cheaper
    than all of them.
    """
    looks = dict(zip(shared.worlds.causes, buying.finding_out, strict=True))
    tries = [
        _Try(shared, one, [cost for _, cost in looks[one.id]])
        for one in found.values
        if one.kind == "repair"
    ]
    most = found.value * (1 + CLOSE)
    little = CLOSE * found.value
    sure, least = buying.sure, found.value
    confirmed = [
        one
        for one in tries
        if one.confirmed
        and (
            one.value <= least
            or (one.in_vain <= little and one.posterior >= TRIED_FROM)
            or (one.value * (1 - CLOSE) <= least and one.posterior >= sure)
        )
    ]
    if confirmed:
        first = min(confirmed, key=lambda one: (one.bought, -round(one.posterior, 9), one.cause))
        return "repair", first.cause
    if found.action is None or found.action.kind == "workshop":
        return "workshop", ""
    best = _per_cost(checks[0].settles, checks[0].offer.cost) if checks else 0.0
    seen = checks[0].settles if checks else 0.0
    better = [
        one
        for one in tries
        if one.value <= most
        and one.share >= (sure if one.bought else one.tried_from)
        and (not one.bought or one.value <= least or one.in_vain <= little)
        and (one.ratio > best or one.needs_no_look(found.value, seen))
    ]
    if better:
        return "repair", min(better, key=lambda one: (-one.ratio, one.cause)).cause
    if checks:
        return "check", checks[0].offer.check
    return found.action.kind, found.action.id


def _needed_before(
    diagnosis: Diagnosis, step: tuple[str, str], checks: Sequence[str]
) -> str | None:
    """Return the check that comes before the step chosen and can be made, or None.

    One that opens the way, a look that may end a stop line or let somebody near again, the first
    of those the repair chosen names, or, where its tool must be borrowed, what helps the car with
    what is at hand.
    """
    lost, catalogue = diagnosis.findings.abilities.lost, diagnosis.catalogue
    lines = catalogue.vocabulary.stop_lines
    stops = [one.id for one in diagnosis.findings.stop_now if one.until_looked]
    taken = {ability for one in stops for ability in lines[one].takes_away[:1]}
    taken |= {NEAR} & lost.keys()
    for one in checks:
        levels = catalogue.checks[one].levels
        if any(not taken.isdisjoint(level.allows) for level in levels) or all(
            any(ability in lost for ability in level.shows) for level in levels
        ):
            return one
    kind, name = step
    if kind != "repair":
        return None
    repair, tools = catalogue.causes[name].repair, diagnosis.case.tools
    needs = repair.after_checks
    if tools is not None and not set(repair.own_tools) <= set(tools):
        words = catalogue.vocabulary.abilities
        helping = {check for ability in lost for check in words[ability].instead}
        needs = (*needs, *(one for one in checks if one in helping))
    return next((one for one in needs if one in checks), None)


class _Try:
    """A repair that may be made now, and what speaks for it."""

    def __init__(self, shared: _CasePlan, priced: ActionValue, looks: Sequence[float]) -> None:
        diagnosis = shared.diagnosis
        entry = diagnosis.catalogue.causes[priced.id]
        cost = repair_cost(entry, hour_value(diagnosis.case))
        self.cause, self.value = priced.id, priced.value
        self.bought = entry.repair.part is not None
        # The same part puts others right too: a dead cell or a worn one, it is one battery.
        fixed = puts_right(diagnosis.catalogue)[priced.id]
        self.share = shared.blamed.share_of_any(fixed)
        self.posterior = max(diagnosis.posteriors[priced.id], self.share)
        self.confirmed = confirmation(diagnosis, entry) is not None
        self.in_vain = (1 - self.posterior) * cost
        self.ratio = _per_cost(self.share, cost)
        self.tried_from = 0.0 if cost <= min(looks, default=-1.0) else TRIED_FROM

    def needs_no_look(self, least: float, settled: float) -> bool:
        """Say whether to try it before a look that settles it in a share of cars.

        So where nothing is bought, it is likely in two of three, and no way on costs less or the
        look would settle less than half as much.
        """
        plain = not self.bought and self.share >= 1 - TRIED_FROM
        return plain and (self.value <= least or self.share >= 2 * settled)


def _held(worlds: Worlds, buying: Buying) -> tuple[str, ...]:
    """Return the causes outside the supply whose part waits for it now."""
    part = 0.0
    for weight, share in zip(worlds.weights, buying.supply_share, strict=True):
        part += weight * share
    if part < buying.excluded:
        return ()
    waiting = zip(worlds.causes, buying.waits, buying.on_supply, strict=True)
    return tuple(name for name, waits, on_supply in waiting if waits and not on_supply)


def _cheapest_supply_check(shared: _CasePlan, offers: Sequence[Offer]) -> Offer | None:
    """Return the open supply check that costs least (ties by id), or None.

    Only one that can move a supply cause of the complaint; once the supply is proven, none.
    """
    if shared.diagnosis.supply.state == "sound":
        return None
    checks = shared.diagnosis.catalogue.checks
    found = [
        offer
        for offer in offers
        if checks[offer.check].aspects and shared.moves(offer.check, supply=True)
    ]
    return min(found, key=lambda one: (one.cost, one.check), default=None)
