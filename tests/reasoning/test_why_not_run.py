"""Checks of the blockers: what counts as evidence, the order, and exact ranking.

The ranking is checked against a brute-force sum over all sets of causes of a small network. The
clue of the counters (15 warm-ups, 200 miles) is common practice.
"""

from itertools import product
from pathlib import Path

import pytest

from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.network import Network, NetworkCause, NetworkFinding
from build_tools.knowledge.assemble import load_catalogue, load_readiness
from build_tools.obd.drive_words import CAUTION_WORDS
from build_tools.obd.readout import read_text
from build_tools.obd.why_not_run import RunFacts, outcomes, run_facts_from, why_not_run

ROOT = Path(__file__).resolve().parents[2]
READINESS, _ = load_readiness(ROOT)
CATALOGUE, _ = load_catalogue(ROOT)
NETWORK = network_from_catalogue(CATALOGUE)
# All of catalyst, vapor, sensor and heater incomplete; 3 warm-ups and 40 km since clear.
RECENT = "7E8 06 41 01 00 07 65 65\n7E8 03 41 30 03\n7E8 04 41 31 00 28"
# Only the vapor monitor incomplete; 60 warm-ups, 2000 km, fuel 94 %.
BLOCKED = "7E8 06 41 01 00 07 65 04\n7E8 03 41 30 3C\n7E8 04 41 31 07 D0\n7E8 03 41 2F F0"


def ask(text, **facts):
    return why_not_run(NETWORK, {}, READINESS.monitors, read_text(text), run_facts_from(facts))


def test_monitors_when_they_name_blockers_then_the_causes_exist():
    for monitor in READINESS.monitors.values():
        for blocker in monitor.blockers:
            assert blocker.cause in CATALOGUE.causes, (monitor.id, blocker.cause)


@pytest.mark.parametrize(
    ("text", "facts", "expected"),
    [
        (RECENT, {}, {"read-monitors": 2, "read-counters-since-clear": 1}),
        (BLOCKED, {}, {"read-monitors": 1, "read-counters-since-clear": 0, "check-fuel-level": 1}),
        ("41 01 00 07 65 00", {}, {"read-monitors": 0}),
        ("41 01 00 07 65 04\n41 42 36 B0", {}, {"read-monitors": 1}),  # 14.0 V once: no evidence
        ("41 01 00 07 65 04\n41 42 28 00", {}, {"read-monitors": 1, "watch-module-voltage": 1}),
        (
            "41 01 00 07 65 04",
            {"voltage": "none-seen"},
            {"read-monitors": 1, "watch-module-voltage": 0},
        ),
        ("41 01 00 07 65 04", {"warmed_up": False}, {"read-monitors": 1, "watch-warm-up": 1}),
        (
            "41 01 00 07 65 04",
            {"counters_fell": True},
            {"read-monitors": 1, "read-counters-since-clear": 2},
        ),
        ("7E8 06 41 01 00 07 65 04\n7E8 02 43 00", {}, {"read-monitors": 1}),  # pending not asked
        (
            "7E8 06 41 01 00 07 65 04\n7E8 02 43 00\n7E8 02 47 00",
            {},
            {"read-monitors": 1, "read-and-write-down-codes": 0},
        ),
        (
            "7E8 06 41 01 00 07 65 04\n7E8 04 47 01 05 62",
            {},
            {"read-monitors": 1, "read-and-write-down-codes": 1},
        ),
        (
            "7E8 06 41 01 00 07 65 04\n7E8 04 47 01 01 33",
            {},
            {"read-monitors": 1, "read-and-write-down-codes": 2},
        ),
    ],
)
def test_outcomes_when_something_was_read_then_only_that_counts(text, facts, expected):
    assert outcomes(read_text(text), run_facts_from(facts)) == expected


def test_why_not_run_when_reset_lately_then_the_reset_leads():
    told = ask(RECENT)
    assert (told.state, told.hint) == ("ok", "recent-reset")
    top = told.monitors[0].blockers[0]
    assert top.cause in {"codes-cleared-lately", "memory-lost-by-disconnection"}
    assert top.probability > top.prior
    assert set(top.raised_by) == {"read-monitors", "read-counters-since-clear"}


def test_why_not_run_when_long_since_clear_and_the_tank_is_full_then_fuel_leads():
    told = ask(BLOCKED)
    assert told.hint == "blocked"
    assert [one.id for one in told.monitors] == ["evaporative-system"]
    ranked = {one.cause: one for one in told.monitors[0].blockers}
    assert told.monitors[0].blockers[0].cause == "fuel-level-out-of-range"
    assert ranked["codes-cleared-lately"].probability < ranked["codes-cleared-lately"].prior
    assert "read-counters-since-clear" in ranked["codes-cleared-lately"].lowered_by


def test_why_not_run_when_the_engine_stays_cool_then_the_thermostat_rises():
    cool = {
        one.cause: one
        for one in ask(BLOCKED.replace("04\n", "01\n", 1), warmed_up=False).monitors[0].blockers
    }
    warm = {
        one.cause: one
        for one in ask(BLOCKED.replace("04\n", "01\n", 1), warmed_up=True).monitors[0].blockers
    }
    assert cool["thermostat-stuck-open"].probability > 5 * warm["thermostat-stuck-open"].probability


def test_why_not_run_when_the_counters_keep_falling_then_the_memory_supply_rises():
    told = ask(RECENT, counters_fell=True)
    assert told.hint == "keeps-resetting"
    assert told.monitors[0].blockers[0].cause == "memory-supply-interrupted"


def test_why_not_run_when_the_readout_is_unusable_then_nothing_is_ranked():
    assert ask("41 01 00 00 00 00").state == "no-readout"
    assert ask("NO DATA").monitors == ()


def test_why_not_run_when_all_is_complete_then_no_monitor_is_listed():
    assert ask("41 01 00 07 65 00").monitors == ()


SMALL = Network(
    (
        NetworkCause("codes-cleared-lately", 0.02),
        NetworkCause("monitor-conditions-not-met", 0.05),
        NetworkCause("fuel-level-out-of-range", 0.03),
    ),
    (
        NetworkFinding(
            "read-monitors",
            ("all-complete", "some-incomplete", "all-incomplete"),
            (0.9, 0.99),
            {
                "codes-cleared-lately": (0.05, 0.2),
                "monitor-conditions-not-met": (0.1, 0.9),
                "fuel-level-out-of-range": (0.2, 1.0),
            },
        ),
        NetworkFinding(
            "check-fuel-level",
            ("in-range", "out-of-range"),
            (0.95,),
            {"fuel-level-out-of-range": (0.05,)},
        ),
        NetworkFinding(
            "read-counters-since-clear",
            ("long-ago", "recent", "keeps-restarting"),
            (0.9, 0.99),
            {"codes-cleared-lately": (0.05, 1.0)},
        ),
    ),
)


def brute_force(network, levels):
    """Sum over every set of causes, straight from the definition of noisy-MAX."""
    total, present = 0.0, dict.fromkeys((cause.id for cause in network.causes), 0.0)
    for world in product((0, 1), repeat=len(network.causes)):
        names = [cause.id for cause, on in zip(network.causes, world, strict=True) if on]
        weight = 1.0
        for cause, on in zip(network.causes, world, strict=True):
            weight *= cause.prior if on else 1 - cause.prior
        for finding in network.findings:
            if finding.id not in levels:
                continue
            below = [
                1.0 if k == len(finding.levels) - 1 else finding.leak[k]
                for k in range(len(finding.levels))
            ]
            for name in names:
                row = finding.links.get(name)
                if row:
                    below = [b * (row[k] if k < len(row) else 1.0) for k, b in enumerate(below)]
            level = levels[finding.id]
            weight *= below[level] - (below[level - 1] if level else 0.0)
        total += weight
        for name in names:
            present[name] += weight
    return {name: weight / total for name, weight in present.items()}


@pytest.mark.parametrize("text", [RECENT, BLOCKED])
def test_why_not_run_when_the_network_is_small_then_it_equals_brute_force(text):
    readout = read_text(text)
    expected = brute_force(SMALL, outcomes(readout, RunFacts()))
    told = why_not_run(SMALL, {}, READINESS.monitors, readout, RunFacts())
    seen = {one.cause: one.probability for monitor in told.monitors for one in monitor.blockers}
    assert len(seen) >= 2
    for cause, probability in seen.items():
        assert probability == pytest.approx(expected[cause], abs=1e-12)


def test_run_facts_from_when_told_nonsense_then_it_counts_as_not_told():
    assert run_facts_from({"voltage": [], "warmed_up": 1, "counters_fell": "yes"}) == RunFacts()


@pytest.mark.parametrize(
    ("warm_ups", "km", "hint"),
    # Either counter alone may be small after weeks of short trips or one long journey.
    [
        (3, 50, "recent-reset"),
        (3, 900, "counters-mixed"),
        (40, 100, "counters-mixed"),
        (14, 321, "recent-reset"),
        (15, 322, "blocked"),
        (40, 900, "blocked"),
    ],
)
def test_why_not_run_when_the_counters_disagree_then_neither_reset_nor_block_is_claimed(
    warm_ups, km, hint
):
    text = f"7E8 06 41 01 00 07 65 04\n7E8 03 41 30 {warm_ups:02X}\n7E8 04 41 31 {km:04X}"
    told = ask(text)
    assert told.hint == hint
    assert ("read-counters-since-clear" in told.evidence) is (hint != "counters-mixed")


@pytest.mark.parametrize(
    ("status", "hint"),
    [
        ("00 07 E5 E4", "nearly-all-open"),
        ("00 07 E5 E5", "nearly-all-open"),
        ("00 07 E5 24", None),
        ("00 07 21 01", None),
        ("00 07 E5 00", None),
    ],
)
def test_why_not_run_when_nearly_all_is_incomplete_then_that_is_a_clue(status, hint):
    assert ask(f"41 01 {status}").hint == hint


def test_caution_words_when_clearing_then_it_says_what_is_lost_and_what_is_apart():
    words = CAUTION_WORDS["do-not-clear"]
    assert "fuel trims" in words
    cleared, apart = words.split("Lost power")
    assert "idle" in apart
    assert "gearbox" in apart
    assert "idle" not in cleared
