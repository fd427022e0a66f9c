"""Room reasoning: what a place's rule makes of a readout.

The vehicle, the facts an owner can tell, one rule (data of symptoms/inspections) applied to them
and to a readout, and the verdict, which keeps how sure every figure is. A readout that cannot be
used never passes. It knows no rule by heart. `inspection.js` does the same in the same order.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from build_tools.knowledge.readiness_entries import (
    INSPECTION_MARKS,
    ForcedReady,
    Inspection,
    Monitor,
    Taken,
    YearBand,
)
from build_tools.obd.codes import in_range, recognise_code
from build_tools.obd.readout import Merged, Readout, codes_of, value_of

FUELS: Final = ("gasoline", "diesel", "hybrid", "other")
FIRST_YEAR, LAST_YEAR = 1960, 2100


@dataclass(frozen=True)
class Vehicle:
    """Model year, fuel, gross weight rating (pounds) and the year of the test; None: not told."""

    year: int | None = None
    fuel: str | None = None
    pounds: float | None = None
    now: int | None = None

    @property
    def age(self) -> int | None:
        """Years from the model year to the year of the test, if both are told."""
        return None if self.year is None or self.now is None else self.now - self.year


@dataclass(frozen=True)
class Facts:
    """What the owner knows besides the readout; None means not told.

    `retest_codes`: codes of the earlier failure; `unread_codes` what was typed for one and is
    none. `repaired`: monitors whose part was repaired
    since. `permanent_codes`: how many are stored. Distances in km.
    """

    no_answer: bool = False
    connector_dead: bool = False
    lamp_dark: bool = False
    retest_codes: tuple[str, ...] = ()
    unread_codes: tuple[str, ...] = ()
    repaired: tuple[str, ...] = ()
    permanent_codes: int | None = None
    pending_codes: int | None = None
    warm_ups: float | None = None
    distance_km: float | None = None
    all_else_passes: bool | None = None
    certificate_expired: bool | None = None
    extension_used: bool | None = None


@dataclass(frozen=True)
class Reason:
    """One reason; its sentence stands in inspection_words, with these parts filled in."""

    id: str
    mark: str | None = None
    monitors: tuple[str, ...] = ()
    number: float | None = None
    limit: float | None = None


@dataclass(frozen=True)
class Verdict:
    """Say what a rule makes of a readout.

    `result`: pass, interim-pass, pass-on-this-item, fail, reject, not-ready, tailpipe,
    communication-failure, undecided, indeterminate, out-of-scope, no-band or no-rule.
    `confidence` is the worst mark the result rests on. `flags` name what the reader must be
    told beside it.
    """

    rule: str
    result: str
    confidence: str
    why: tuple[Reason, ...]
    would_change: tuple[Reason, ...] = ()
    flags: tuple[str, ...] = ()
    allowed: int | None = None
    allowed_only: tuple[str, ...] | None = None
    incomplete: tuple[str, ...] = ()
    forced: tuple[str, ...] = ()


def vehicle_from(told: Mapping[str, object]) -> Vehicle:
    """Read a vehicle from plain data; what is out of range counts as not told."""
    fuel = told.get("fuel")
    return Vehicle(
        _year(told.get("year")),
        fuel if isinstance(fuel, str) and fuel in FUELS else None,
        _number(told.get("pounds"), 1, 1_000_000),
        _year(told.get("now")),
    )


def facts_from(told: Mapping[str, object]) -> Facts:
    """Read facts from plain data; what is not understood counts as not told."""
    typed = _texts(told.get("retest_codes"))
    codes = [recognise_code(code).code for code in typed]
    return Facts(
        no_answer=told.get("no_answer") is True,
        connector_dead=told.get("connector_dead") is True,
        lamp_dark=told.get("lamp_dark") is True,
        retest_codes=tuple(code for code in codes if code),
        unread_codes=tuple(text for text, code in zip(typed, codes, strict=True) if not code),
        repaired=tuple(_texts(told.get("repaired"))),
        permanent_codes=_count_told(told.get("permanent_codes")),
        pending_codes=_count_told(told.get("pending_codes")),
        warm_ups=_number(told.get("warm_ups"), 0, 65535),
        distance_km=_number(told.get("distance_km"), 0, 10_000_000),
        all_else_passes=_truth(told.get("all_else_passes")),
        certificate_expired=_truth(told.get("certificate_expired")),
        extension_used=_truth(told.get("extension_used")),
    )


def with_readout(facts: Facts, readout: Readout) -> Facts:
    """Fill in from the readout what the owner did not tell himself."""
    permanent, pending = codes_of(readout, "permanent"), codes_of(readout, "pending")
    warm_ups = value_of(readout, "warm-ups-since-clear")
    distance = value_of(readout, "distance-since-clear")
    return replace(
        facts,
        permanent_codes=_told(facts.permanent_codes, None if permanent is None else len(permanent)),
        pending_codes=_told(facts.pending_codes, None if pending is None else len(pending)),
        warm_ups=warm_ups if facts.warm_ups is None else facts.warm_ups,
        distance_km=distance if facts.distance_km is None else facts.distance_km,
    )


def _told(first: int | None, second: int | None) -> int | None:
    return second if first is None else first


def _number(value: object, low: float, high: float) -> float | None:
    plain = isinstance(value, int | float) and not isinstance(value, bool)
    if not plain or not isinstance(value, int | float):
        return None
    return value if low <= value <= high else None


def _year(value: object) -> int | None:
    year = _number(value, FIRST_YEAR, LAST_YEAR)
    return int(year) if year is not None and year == int(year) else None


def _count_told(value: object) -> int | None:
    number = _number(value, 0, 1000)
    return int(number) if number is not None and number == int(number) else None


def _truth(value: object) -> bool | None:
    return value if isinstance(value, bool) else None


def _texts(value: object) -> list[str]:
    return [one for one in value if isinstance(one, str)] if isinstance(value, list | tuple) else []


# With these states the lamp and the codes are known, though the monitors are not.
_LAMP_KNOWN: Final = ("usable", "nothing-supported", "continuous-only")


@dataclass
class _Case:
    """Gather what the verdict needs while the rule is applied."""

    rule: Inspection
    vehicle: Vehicle
    facts: Facts
    monitors: Mapping[str, Monitor]
    flags: list[str] = field(default_factory=list)
    marks: list[str] = field(default_factory=list)


def decide(
    rule: Inspection,
    vehicle: Vehicle,
    readout: Readout,
    facts: Facts,
    monitors: Mapping[str, Monitor],
) -> Verdict:
    """Apply a rule and say the result, why, what would change it and how sure it is.

    The order is: scope, no answer, the lamp, stored codes, forced monitors, the count, permanent
    codes. Only supported, non-continuous monitors are counted; the bit of two meanings is not.
    Codes and counters of the readout fill in what the facts leave out.
    """
    case = _Case(rule, vehicle, with_readout(facts, readout), monitors)
    if rule.standing in {"historic", "guidance", "in-transition"}:
        case.flags.append(rule.standing)
    verdict = (
        _outside(case) or _before_monitors(case, readout) or _by_monitors(case, readout.merged)
    )
    return replace(verdict, flags=tuple(dict.fromkeys((*verdict.flags, *case.flags))))


def worst_mark(marks: Sequence[str]) -> str:
    """Return the least sure of the marks; with none of them, "from-memory"."""
    places = [INSPECTION_MARKS.index(mark) for mark in marks if mark in INSPECTION_MARKS]
    return INSPECTION_MARKS[max(places)] if places else "from-memory"


def _verdict(case: _Case, result: str, *why: Reason) -> Verdict:
    marks = [*case.marks, *(reason.mark for reason in why if reason.mark)]
    return Verdict(case.rule.id, result, worst_mark(marks), why)


def _outside(case: _Case) -> Verdict | None:
    """Say that the program does not take this vehicle; what is not told may fit."""
    scope, vehicle = case.rule.scope, case.vehicle
    if not scope.takes:
        return None
    fuels = {vehicle.fuel, "gasoline"} if vehicle.fuel == "hybrid" else {vehicle.fuel}
    fitting = [
        taken
        for taken in scope.takes
        if (vehicle.fuel is None or not taken.fuels or fuels & set(taken.fuels))
        and (vehicle.year is None or (taken.from_year or 0) <= vehicle.year)
        and (vehicle.pounds is None or vehicle.pounds <= (taken.most_pounds or vehicle.pounds))
        and _of_age(taken, vehicle.age)
    ]
    if not fitting:
        return _changed(_verdict(case, "out-of-scope", Reason("outside", scope.mark)), "ask-scope")
    if vehicle.pounds is None and all(taken.most_pounds for taken in fitting):
        case.flags.append("weight-not-told")
    return None


def _of_age(taken: Taken, age: int | None) -> bool:
    least, most = taken.from_age, taken.to_age
    return age is None or ((least is None or least <= age) and (most is None or age <= most))


def _before_monitors(case: _Case, readout: Readout) -> Verdict | None:
    """Decide what needs no monitors: connector, answer, lamp, stored codes."""
    rule, facts, merged = case.rule, case.facts, readout.merged
    if facts.connector_dead and (rule.lamp.federal or rule.standing != "no-sourced-rule"):
        return _verdict(case, "fail", Reason("connector-dead", rule.lamp.mark))
    if (facts.no_answer or readout.state == "no-answer") and rule.no_answer:
        case.flags.append("their-tool-may-differ")
        return _verdict(case, rule.no_answer.result, Reason("no-answer", rule.no_answer.mark))
    if facts.no_answer:
        return _verdict(case, "communication-failure", Reason("no-answer"))
    if merged is not None and readout.state in _LAMP_KNOWN:
        return _lamp(case, merged) or _no_count(case, merged) or _unusable(case, readout)
    return _no_count(case, None) or _verdict(
        case, "indeterminate", Reason(f"readout-{readout.state}")
    )


def _no_count(case: _Case, merged: Merged | None) -> Verdict | None:
    """Say that no count was seen, and what is known of what this place counts."""
    rule = case.rule
    if rule.standing != "no-sourced-rule" or rule.not_tested:
        return None
    lacking = tuple(m.id for m in merged.monitors if not m.supported) if merged else ()
    if rule.counts_unsupported and lacking:
        return _verdict(
            case, "no-rule", Reason("no-rule"), Reason("unsupported-counts", None, lacking)
        )
    return _verdict(case, "no-rule", Reason("no-rule"))


def _unusable(case: _Case, readout: Readout) -> Verdict | None:
    if readout.usable:
        return None
    return _verdict(case, "indeterminate", Reason(f"readout-{readout.state}"))


def _lamp(case: _Case, merged: Merged) -> Verdict | None:
    lamp, facts, rule = case.rule.lamp, case.facts, case.rule
    if rule.standing == "no-sourced-rule" and not (lamp.federal or rule.not_tested):
        return None
    if merged.mil and lamp.federal:
        case.flags.append("federal-lamp")
    if merged.mil and facts.lamp_dark:
        return _changed(_verdict(case, "fail", Reason("lamp-dark", lamp.mark)), "lamp-repair")
    if merged.mil and merged.count > 0:
        why = Reason("lamp-on", lamp.mark, number=merged.count)
        return _changed(_verdict(case, "fail", why), "lamp-off")
    if merged.mil:
        why = Reason("lamp-without-code", lamp.mark)
        return _changed(_verdict(case, lamp.without_code, why), "read-again")
    if merged.count > 0:
        case.flags.append("code-without-lamp")
    return None


def _changed(verdict: Verdict, *ids: str) -> Verdict:
    return replace(
        verdict, would_change=(*verdict.would_change, *(Reason(change) for change in ids))
    )


def _by_monitors(case: _Case, merged: Merged | None) -> Verdict:
    if merged is None:
        return _verdict(case, "indeterminate", Reason("readout-no-status"))
    if case.rule.not_tested:
        case.flags.append("unverified")
        return _verdict(case, "pass-on-this-item", Reason("not-tested", case.rule.not_tested.mark))
    if case.vehicle.year is None or case.vehicle.fuel is None:
        return _verdict(case, "indeterminate", Reason("vehicle-needed"))
    band = _band(case)
    if band is None:
        return _verdict(case, "no-band", Reason("no-band", number=case.vehicle.year))
    if merged.incomplete_continuous:
        case.flags.append("continuous-not-counted")
    if band.note:
        case.flags.append("band-note")
    forced = _forced(case, merged)
    verdict = _count(case, band, merged, forced)
    return replace(
        verdict,
        allowed=band.allowed,
        allowed_only=band.allowed_only,
        incomplete=merged.incomplete,
        forced=forced,
    )


def _band(case: _Case) -> YearBand | None:
    fuel = case.vehicle.fuel
    found = _band_of(case, fuel)
    if found is None and fuel == "hybrid":
        found = _band_of(case, "gasoline")
        if found:
            case.flags.append("hybrid-as-gasoline")
            case.marks.append("from-memory")
    return found


def _band_of(case: _Case, fuel: str | None) -> YearBand | None:
    year = case.vehicle.year or 0
    for band in case.rule.bands:
        late = band.from_year is None or band.from_year <= year
        early = band.to_year is None or year <= band.to_year
        if fuel in band.fuels and late and early:
            return band
    return None


def _forced(case: _Case, merged: Merged) -> tuple[str, ...]:
    """List incomplete monitors that must be complete, and keep the marks of those rules."""
    names: list[str] = []
    for forced in case.rule.forced_ready:
        wanted = _wanted(case, forced)
        hit = [name for name in merged.incomplete if name in wanted and name not in names]
        names.extend(hit)
        if hit:
            case.marks.append(forced.mark)
    return tuple(names)


def _wanted(case: _Case, forced: ForcedReady) -> tuple[str, ...]:
    codes = case.facts.retest_codes
    if forced.when == "always":
        return forced.monitors
    if forced.when == "repair":
        return tuple(name for name in forced.monitors if name in case.facts.repaired)
    if forced.when == "lamp-code":
        named = [name for code in codes for name in monitors_of(code, case.monitors)]
        return tuple(name for name in named if not forced.monitors or name in forced.monitors)
    first, last = forced.first_code or "", forced.last_code or ""
    hit = any(in_range(code, first, last) for code in codes)
    return forced.monitors if hit else ()


def monitors_of(code: str, monitors: Mapping[str, Monitor]) -> tuple[str, ...]:
    """Name the monitors a code belongs to, by the ranges of symptoms/monitors (from memory)."""
    return tuple(
        name
        for name, monitor in monitors.items()
        if any(in_range(code, span.first, span.last) for span in monitor.codes)
    )


def _count(case: _Case, band: YearBand, merged: Merged, forced: Sequence[str]) -> Verdict:
    rule, missing = case.rule, merged.incomplete
    by_code = any(one.when in {"code", "lamp-code"} for one in rule.forced_ready)
    only = band.allowed_only
    strange = tuple(name for name in missing if only is not None and name not in only)
    if forced:
        why = Reason("forced", monitors=tuple(forced))
        return _not_ready(case, why, Reason("complete-these", monitors=tuple(forced)))
    if strange or len(missing) > band.allowed:
        return _too_many(case, band, missing, strange)
    if by_code and case.facts.unread_codes:
        return _changed(_verdict(case, "indeterminate", Reason("unread-code")), "mend-code")
    if missing:
        why = Reason("within-limit", band.mark, missing, len(missing), band.allowed)
    else:
        mark = rule.transition.mark if rule.transition else band.mark
        why = Reason("all-complete", mark, number=0, limit=band.allowed)
    permanent = _permanent(case)
    if permanent:
        return permanent
    if merged.count > 0 and rule.lamp.stored_code_unclear:
        stored = Reason("stored-code", rule.lamp.mark, number=merged.count)
        return _changed(_verdict(case, "undecided", stored, why), "code-gone", "ask-stored-code")
    if missing and rule.transition and len(missing) > rule.transition.allowed:
        case.flags.append("fails-by-new-rule")
        change = Reason("complete-these", monitors=missing)
        verdict = _verdict(case, "interim-pass", why)
        return replace(verdict, would_change=(change,))
    _pending(case)
    return _changed(_verdict(case, "pass", why), "power-loss-undoes")


def _too_many(
    case: _Case, band: YearBand, missing: tuple[str, ...], strange: tuple[str, ...]
) -> Verdict:
    over = len(missing) - band.allowed
    if strange:
        why = Reason("not-the-allowed-ones", band.mark, strange, len(missing), band.allowed)
        change = Reason("complete-these", monitors=strange)
    else:
        why = Reason("too-many", band.mark, missing, len(missing), band.allowed)
        change = Reason("complete-any", monitors=missing, number=over)
    if band.also_allowed is not None and len(missing) <= band.also_allowed:
        case.flags.append("accounts-differ")
    newer = case.rule.transition
    if newer is None or len(missing) <= newer.allowed:
        return _not_ready(case, why, change)
    # Both the older limit and the newer rule say no: the newer one is the surer ground, and
    # the older limit stands beside it with its own mark.
    ground = Reason("new-rule", newer.mark, missing, len(missing), newer.allowed)
    verdict = _not_ready(case, ground, change)
    return replace(verdict, why=(*verdict.why, why))


def _not_ready(case: _Case, why: Reason, change: Reason) -> Verdict:
    outcome = case.rule.not_ready
    if outcome is None:
        return _verdict(case, "indeterminate", why)
    if case.rule.extension:
        case.flags.append(_extension(case.facts))
    verdict = _verdict(case, outcome.result, why, Reason("outcome", outcome.mark))
    return replace(verdict, would_change=(change, Reason("drive-plan")))


def _extension(facts: Facts) -> str:
    """Name what is known of an extension: possible, not given, or depending on what is not told."""
    told = (facts.all_else_passes, facts.certificate_expired)
    if False in told or facts.extension_used is True:
        return "no-extension"
    return "extension-unknown" if None in told else "extension-possible"


def _permanent(case: _Case) -> Verdict | None:
    policy, facts = case.rule.permanent_code, case.facts
    if not facts.permanent_codes:
        return None
    if policy is None or policy.policy == "not-seen":
        case.flags.append("permanent-code-unknown")
        return None
    why = Reason("permanent-code", policy.mark, number=facts.permanent_codes)
    exempt = policy.exemption
    if exempt is None:
        return _changed(_verdict(case, "fail", why), "permanent-code-gone")
    if case.vehicle.year is not None and case.vehicle.year < exempt.from_year:
        case.flags.append("permanent-code-not-looked-at")
        case.marks.append(exempt.mark)
        return None
    if facts.warm_ups is None or facts.distance_km is None:
        case.flags.append("exemption-unknown")
        return _changed(_verdict(case, "fail", why), "permanent-code-gone", "tell-counters")
    short = facts.warm_ups < exempt.warm_ups or facts.distance_km < exempt.distance_km
    if short:
        changes = (
            Reason("warm-ups", exempt.mark, (), facts.warm_ups, exempt.warm_ups),
            Reason("distance", exempt.mark, (), facts.distance_km, exempt.distance_km),
        )
        verdict = _changed(_verdict(case, "fail", why), "permanent-code-gone")
        return replace(verdict, would_change=(*verdict.would_change, *changes))
    case.flags.append("accounts-differ")
    allows = Reason("exemption", exempt.mark, (), facts.distance_km, exempt.distance_km)
    return _changed(_verdict(case, "undecided", why, allows), "ask-authority")


def _pending(case: _Case) -> None:
    """Lower the sureness where a code in waiting might count as a code."""
    if case.facts.pending_codes and case.rule.lamp.stored_code_unclear:
        case.flags.append("pending-code-unclear")
        case.marks.append("from-memory")
