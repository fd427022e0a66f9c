"""Room reasoning: what may keep a monitor from finishing, most probable first.

Turns a readout and a few facts into outcomes of the catalogue's own checks and lets the exact
inference rank the causes that symptoms/monitors names as blockers. It blames nothing: every
probability is the model's, and what was not read is no evidence. `why-not-run.js` does the
same in the same order.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from build_tools.engine.noisy_max import ContradictoryEvidence, FrontierTooWide, infer
from build_tools.obd.codes import classify_code
from build_tools.obd.readout import codes_of, value_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from build_tools.engine.network import Network
    from build_tools.knowledge.readiness_entries import Monitor
    from build_tools.obd.readout import Readout

MANY_WARM_UPS: Final = 15  # common practice: with the distance below, monitors had their chance
MANY_KM: Final = 322.0  # 200 miles
NEARLY_ALL: Final = 3  # our estimate
_COUNTER_LEVELS: Final = ("blocked", "recent-reset", "keeps-resetting")
LOW_FUEL: Final = 15.0  # from memory
HIGH_FUEL: Final = 85.0  # 13 CCR 1968.2(e)(4.3.3)
LOW_VOLTAGE: Final = 11.0  # from memory: makers may hold self-tests below this; text not seen


@dataclass(frozen=True)
class RunFacts:
    """Hold what bears on the monitors besides the readout; None means not told.

    `voltage` is the trip log's verdict (low-seen, none-seen), `warmed_up` whether the engine
    reached its usual warmth on a full drive, `counters_fell` whether PID 30 or 31 fell back
    though nobody cleared anything.
    """

    voltage: str | None = None
    warmed_up: bool | None = None
    counters_fell: bool | None = None


@dataclass(frozen=True)
class BlockerChance:
    """Hold one possible blocker, its probability, and which outcomes speak for or against it."""

    cause: str
    probability: float
    prior: float
    why: str
    raised_by: tuple[str, ...]
    lowered_by: tuple[str, ...]


@dataclass(frozen=True)
class BlockedMonitor:
    """Hold one incomplete monitor with its possible blockers, most probable first."""

    id: str
    blockers: tuple[BlockerChance, ...]


@dataclass(frozen=True)
class WhyNotRun:
    """Hold the whole answer.

    `state`: "ok", "no-readout" or "contradictory". `hint`: "recent-reset" (few warm-ups and
    little distance), "blocked" (plenty of both, still incomplete), "counters-mixed" (plenty of
    one and little of the other), "nearly-all-open" (no counters, but nearly every monitor is
    incomplete), "keeps-resetting" or None.
    `evidence` gives the outcome used for each check.
    """

    state: str
    hint: str | None = None
    evidence: dict[str, str] | None = None
    monitors: tuple[BlockedMonitor, ...] = ()


def run_facts_from(told: Mapping[str, object]) -> RunFacts:
    """Read facts from plain data; what is not understood counts as not told."""
    voltage = told.get("voltage")
    warm, fell = told.get("warmed_up"), told.get("counters_fell")
    return RunFacts(
        voltage if voltage in ("low-seen", "none-seen") else None,
        warm if isinstance(warm, bool) else None,
        fell if isinstance(fell, bool) else None,
    )


def why_not_run(
    network: Network,
    odds: Mapping[str, float],
    monitors: Mapping[str, Monitor],
    readout: Readout,
    facts: RunFacts,
) -> WhyNotRun:
    """Rank the possible blockers of every incomplete monitor.

    `odds` are prior odds with context multiplied in, as for the checker. Blockers that the
    network does not know are left out.
    """
    if not readout.usable or readout.merged is None:
        return WhyNotRun("no-readout")
    levels = outcomes(readout, facts)
    known = {
        name: level
        for name, level in levels.items()
        if name in network.finding_by_id and level < len(network.finding_by_id[name].levels)
    }
    evidence = {
        name: tuple(float(place == level) for place in range(_size(network, name)))
        for name, level in known.items()
    }
    try:
        posteriors = infer(network, odds, evidence).posteriors
    except (ContradictoryEvidence, FrontierTooWide):
        return WhyNotRun("contradictory", _hint(readout, facts))
    priors = {cause.id: cause.prior for cause in network.causes}
    blocked = [
        BlockedMonitor(name, _rank(network, monitors[name], known, (posteriors, priors)))
        for name in readout.merged.incomplete
        if name in monitors
    ]
    told = {name: network.finding_by_id[name].levels[level] for name, level in known.items()}
    return WhyNotRun("ok", _hint(readout, facts), told, tuple(blocked))


def outcomes(readout: Readout, facts: RunFacts) -> dict[str, int]:
    """Say which level of the catalogue's checks the readout and facts amount to.

    Only what was read counts: a voltage read once and not low says nothing about dips, and
    codes count as none only if both stored and pending ones were asked for.
    """
    found: dict[str, int] = {}
    merged = readout.merged
    if merged is not None and merged.countable:
        missing = len(merged.incomplete)
        every = missing > 1 and missing == len(merged.countable)
        found["read-monitors"] = 2 if every else min(missing, 1)
    counters = _counters(readout, facts)
    if counters in _COUNTER_LEVELS:
        found["read-counters-since-clear"] = _COUNTER_LEVELS.index(counters)
    fuel = value_of(readout, "fuel-level")
    if fuel is not None:
        found["check-fuel-level"] = 0 if LOW_FUEL <= fuel <= HIGH_FUEL else 1
    volts = value_of(readout, "module-voltage")
    if facts.voltage is not None:
        found["watch-module-voltage"] = 1 if facts.voltage == "low-seen" else 0
    elif volts is not None and volts < LOW_VOLTAGE:
        found["watch-module-voltage"] = 1
    if facts.warmed_up is not None:
        found["watch-warm-up"] = 0 if facts.warmed_up else 1
    codes = _codes(readout)
    if codes is not None:
        found["read-and-write-down-codes"] = codes
    return found


def _counters(readout: Readout, facts: RunFacts) -> str | None:
    """Name what the counters say; mixed ones are no evidence of a reset nor against it."""
    if facts.counters_fell:
        return "keeps-resetting"
    warm_ups = value_of(readout, "warm-ups-since-clear")
    distance = value_of(readout, "distance-since-clear")
    if warm_ups is None or distance is None:
        return None
    many = (warm_ups >= MANY_WARM_UPS, distance >= MANY_KM)
    return "blocked" if all(many) else "counters-mixed" if any(many) else "recent-reset"


def _codes(readout: Readout) -> int | None:
    stored, pending = codes_of(readout, "confirmed"), codes_of(readout, "pending")
    listed = [*(stored or ()), *(pending or ())]
    if any(classify_code(code).relation != "supply" for code in listed):
        return 2
    if listed:
        return 1
    return None if stored is None or pending is None else 0


def _hint(readout: Readout, facts: RunFacts) -> str | None:
    """Read the counters' clue, or without counters that of nearly all being incomplete."""
    merged = readout.merged
    if merged is None or not merged.incomplete:
        return None
    counters = _counters(readout, facts)
    missing = len(merged.incomplete)
    nearly_all = missing >= NEARLY_ALL and missing >= len(merged.countable) - 1
    return counters or ("nearly-all-open" if nearly_all else None)


def _size(network: Network, name: str) -> int:
    return len(network.finding_by_id[name].levels)


def _rank(
    network: Network,
    monitor: Monitor,
    known: Mapping[str, int],
    chances: tuple[Mapping[str, float], Mapping[str, float]],
) -> tuple[BlockerChance, ...]:
    posteriors, priors = chances
    found = []
    for blocker in monitor.blockers:
        if blocker.cause not in posteriors:
            continue
        linked = [name for name in known if blocker.cause in network.finding_by_id[name].links]
        found.append(
            BlockerChance(
                blocker.cause,
                posteriors[blocker.cause],
                priors[blocker.cause],
                blocker.why,
                _at(known, linked, above=True),
                _at(known, linked, above=False),
            )
        )
    return tuple(sorted(found, key=lambda one: (-one.probability, one.cause)))


def _at(known: Mapping[str, int], names: Sequence[str], *, above: bool) -> tuple[str, ...]:
    return tuple(name for name in names if (known[name] > 0) == above)
