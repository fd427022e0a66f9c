"""Checks of the blockers: what counts as evidence, the order, exact ranking, and one mind.

The ranking is checked against a brute-force sum over all sets of causes of a small network, and
the advice against `triage` on the same case told by hand, which is Python's own. The clue of the
counters (15 warm-ups, 200 miles) is common practice.
"""

import json
from itertools import product

import pytest

from build_tools.cli.triage_command import triage_document
from build_tools.knowledge.sentences import forms
from build_tools.obd.codes import in_range
from build_tools.obd.readiness_commands import readiness_tables
from build_tools.site.checker_parts import first_part, later_part
from tests.embedded import embedded, told
from tests.shipped import CATALOGUE, knowledge

READINESS = CATALOGUE.readiness
TABLES = json.loads(json.dumps(readiness_tables(READINESS)))
WHOLE = knowledge()
# What the page loads and joins; all that is asked here is asked of that alone.
KNOWLEDGE = {**first_part(WHOLE), **{k: v for k, v in later_part(WHOLE).items() if k != "symptoms"}}
for _id, _more in later_part(WHOLE)["symptoms"].items():
    KNOWLEDGE["symptoms"][_id].update(_more)
EMPTY = {"symptoms": [], "context": {}, "readings": {}, "outcomes": {}, "not_possible": []}
MODULES = {"why": "obd/why-not-run", "evidence": "obd/evidence", "more": "obd/readout-more"}
# All of catalyst, vapor, sensor and heater incomplete; 3 warm-ups and 40 km since clear.
RECENT = "7E8 06 41 01 00 07 65 65\n7E8 03 41 30 03\n7E8 04 41 31 00 28"
# Only the vapor monitor incomplete; 60 warm-ups, 2000 km, fuel 94 %.
BLOCKED = "7E8 06 41 01 00 07 65 04\n7E8 03 41 30 3C\n7E8 04 41 31 07 D0\n7E8 03 41 2F F0"
NO_CODES = "\n7E8 02 43 00\n7E8 02 47 00"
CLEAR = BLOCKED.replace("2F F0", "2F 80") + NO_CODES


def ask(text, car=None, **facts):
    body = """return why.whyNotRun(input.knowledge, input.tables, {
      readout: more.readWhole(input.text), facts: evidence.runFactsFrom(input.facts),
      car: input.car });"""
    given = {"knowledge": KNOWLEDGE, "tables": TABLES, "text": text, "facts": facts}
    return told(embedded(MODULES, body, {**given, "car": {**EMPTY, **(car or {})}}))


def outcomes(text, **facts):
    body = """return evidence.outcomesOf(input.knowledge, input.tables,
      more.readWhole(input.text), evidence.runFactsFrom(input.facts));"""
    given = {"knowledge": KNOWLEDGE, "tables": TABLES, "text": text, "facts": facts}
    return embedded(MODULES, body, given)


def chances(answer, monitor=0):
    return {one.cause: one.probability for one in answer.monitors[monitor].blockers}


def test_monitors_when_they_name_blockers_then_the_causes_exist():
    for monitor in READINESS.monitors.values():
        for blocker in monitor.blockers:
            assert blocker.cause in CATALOGUE.causes, (monitor.id, blocker.cause)


@pytest.mark.parametrize(
    ("text", "facts", "expected"),
    [
        (RECENT, {}, {"read-monitors": "all-incomplete", "read-counters-since-clear": "recent"}),
        (
            BLOCKED,
            {},
            {
                "read-monitors": "some-incomplete",
                "read-counters-since-clear": "long-ago",
                "check-fuel-level": "out-of-range",
            },
        ),
        ("41 01 00 07 65 00", {}, {"read-monitors": "all-complete"}),
        ("41 01 00 07 65 04\n41 42 36 B0", {}, {"read-monitors": "some-incomplete"}),
        ("41 01 00 07 65 04", {"voltage": "none-seen"}, {"read-monitors": "some-incomplete", "watch-module-voltage": "steady"}),
        ("41 01 00 07 65 04", {"warmed_up": False}, {"read-monitors": "some-incomplete", "watch-warm-up": "stays-cool"}),
        (
            "41 01 00 07 65 04",
            {"counters_fell": True},
            {
                "read-monitors": "some-incomplete",
                "read-counters-since-clear": "keeps-restarting",
            },
        ),
        # Pending codes were not asked for, so there may be some.
        ("7E8 06 41 01 00 07 65 04\n7E8 02 43 00", {}, {"read-monitors": "some-incomplete"}),
        (
            "7E8 06 41 01 00 07 65 04" + NO_CODES,
            {},
            {"read-monitors": "some-incomplete", "read-and-write-down-codes": "none-stored"},
        ),
    ],
)  # fmt: skip
def test_outcomes_when_something_was_read_then_only_that_counts(text, facts, expected):
    assert outcomes(text, **facts) == expected


@pytest.mark.parametrize(
    ("code", "reading", "named"),
    [
        ("05 62", "supply-codes-only", {}),
        ("01 35", "specific-code", {"code-names-an-oxygen-sensor": "names-a-heater"}),
        ("01 33", "specific-code", {"code-names-an-oxygen-sensor": "names-it"}),
        ("04 20", "specific-code", {"code-names-the-catalyst": "names-it"}),
        ("04 56", "specific-code", {"code-names-the-vapor-system": "names-it", "match-the-vapor-code": "leak"}),
        ("04 46", "specific-code", {"code-names-the-vapor-system": "names-it", "match-the-vapor-code": "vent"}),
        ("03 01", "specific-code", {"code-names-a-cylinder": "names-it"}),
    ],
)  # fmt: skip
def test_outcomes_when_a_code_was_read_then_its_family_is_named_and_no_other(code, reading, named):
    found = outcomes(f"7E8 06 41 01 00 07 65 04\n7E8 04 47 01 {code}")
    assert found.pop("read-and-write-down-codes") == reading
    assert found.pop("read-monitors") == "some-incomplete"
    for check, level in found.items():
        assert level == named.get(check, KNOWLEDGE["checks"][check]["levels"][0]["id"])
    assert set(named) <= set(found)


def test_codes_when_a_monitor_lists_them_then_a_check_that_reads_codes_names_them_too():
    spans = [
        (code[:5], code[-5:])
        for check in CATALOGUE.checks.values()
        for level in check.levels
        for code in level.codes
    ]
    assert len(spans) > 40
    for monitor in READINESS.monitors.values():
        for span in monitor.codes:
            for end in (span.first, span.last):
                assert any(in_range(end, *one) for one in spans), (monitor.id, end)


def test_why_not_run_when_a_voltage_is_low_then_it_counts_as_a_reading():
    once = ask("41 01 00 07 65 20\n41 42 28 00")  # 10.24 V, the engine's speed unknown
    assert once.evidence["watch-module-voltage"] == "dips"
    running = ask("41 01 00 07 65 20\n41 0C 0B B8\n41 42 2D 50" + NO_CODES)  # 11.6 V at 750 rpm
    still = ask("41 01 00 07 65 20\n41 0C 00 00\n41 42 2D 50" + NO_CODES)
    assert running.evidence["watch-module-voltage"] == "dips"
    assert "watch-module-voltage" not in still.evidence
    assert running.advice.supply.state == "doubtful"
    assert chances(running)["alternator-weak"] > 2 * chances(still)["alternator-weak"]
    assert (running.step.kind, still.step.kind) == ("supply-first", "plan")


def test_why_not_run_when_reset_lately_then_the_reset_leads_and_the_plan_is_next():
    found = ask(RECENT)
    assert (found.state, found.hint, found.step.kind) == ("ok", "recent-reset", "plan")
    top = found.monitors[0].blockers[0]
    assert top.cause in {"codes-cleared-lately", "memory-lost-by-disconnection"}
    assert top.probability > top.prior
    assert {"read-monitors", "read-counters-since-clear"} <= set(top.raised_by)


def test_why_not_run_when_long_since_clear_and_the_tank_is_full_then_fuel_leads():
    found = ask(BLOCKED)
    assert found.hint == "blocked"
    assert [one.id for one in found.monitors] == ["evaporative-system"]
    ranked = {one.cause: one for one in found.monitors[0].blockers}
    assert found.monitors[0].blockers[0].cause == "fuel-level-out-of-range"
    assert found.step == {"kind": "repair", "id": "fuel-level-out-of-range"}
    assert ranked["codes-cleared-lately"].probability < ranked["codes-cleared-lately"].prior
    assert "read-counters-since-clear" in ranked["codes-cleared-lately"].lowered_by


def test_why_not_run_when_the_engine_stays_cool_then_the_thermostat_comes_before_driving():
    text = CLEAR.replace("65 04", "65 01")
    cool, warm = ask(text, warmed_up=False), ask(text, warmed_up=True)
    assert chances(cool)["thermostat-stuck-open"] > 5 * chances(warm)["thermostat-stuck-open"]
    assert cool.step == {"kind": "repair", "id": "thermostat-stuck-open"}
    assert warm.step.kind == "plan"


def test_why_not_run_when_the_counters_keep_falling_then_the_memory_supply_rises():
    found = ask(RECENT, counters_fell=True)
    assert found.hint == "keeps-resetting"
    assert found.monitors[0].blockers[0].cause == "memory-supply-interrupted"


@pytest.mark.parametrize(
    ("code", "monitor", "cause"),
    [
        ("01 35", "40", "oxygen-sensor-heater-open"),  # P0135 pending, the heater's monitor open
        ("04 56", "04", "fuel-cap-not-sealing"),  # P0456 pending: cap and hoses
    ],
)
def test_why_not_run_when_a_code_is_pending_then_what_it_names_leads(code, monitor, cause):
    before = f"7E8 06 41 01 00 07 65 {monitor}"
    found = ask(f"{before}\n7E8 04 47 01 {code}\n7E8 02 43 00")
    assert found.monitors[0].blockers[0].cause == cause
    assert chances(found)[cause] > 3 * chances(ask(before + NO_CODES))[cause]


def test_why_not_run_when_the_lamp_is_on_then_no_drive_is_the_next_step():
    for code in ("04 20", "03 00", "05 62"):
        text = f"7E8 06 41 01 81 07 65 04\n7E8 04 43 01 {code}\n7E8 02 47 00"
        assert ask(text).step.kind != "plan"


@pytest.mark.parametrize(
    ("runs", "trips", "level"),
    [(0, 60, "never"), (2, 60, "seldom"), (40, 60, "usual"), (0, 4, None)],
)
def test_why_not_run_when_past_runs_are_counted_then_they_tell_blocked_from_no_chance(
    runs, trips, level
):
    items = f"00 50 01 00 {'00 00 00 00 ' * 6}00 {runs:02X} 00 {trips:02X}"
    found = ask(f"{CLEAR}\n49 08 10 {items}")
    assert found.evidence.get("read-in-use-ratios") == level
    if level in {"never", "usual"}:
        plain = ask(CLEAR)
        raised = chances(found)["software-update-due"] > chances(plain)["software-update-due"]
        assert raised is (level == "never")


def test_why_not_run_when_the_readout_is_unusable_then_nothing_is_ranked():
    assert ask("41 01 00 00 00 00").state == "no-readout"
    assert ask("NO DATA").monitors == []


def test_why_not_run_when_all_is_complete_then_no_monitor_is_listed():
    assert ask("41 01 00 07 65 00").monitors == []


ONE_MIND = [
    ("evaporative-system", CLEAR, ["evap-monitor-never-completes"], {}),
    ("evaporative-system", BLOCKED, ["evap-monitor-never-completes"], {"check-fuel-level": "out-of-range"}),
    ("catalyst", CLEAR.replace("65 04", "65 01"), ["catalyst-monitor-never-completes"], {}),
    ("oxygen-sensor-heater", CLEAR.replace("65 04", "65 40"), ["oxygen-heater-monitor-never-completes"], {}),
]  # fmt: skip


@pytest.mark.parametrize(("monitor", "text", "symptoms", "more"), ONE_MIND)
def test_why_not_run_when_the_same_is_told_to_the_checker_then_both_say_the_same(
    monitor, text, symptoms, more
):
    typed = {
        "read-monitors": "some-incomplete",
        "read-counters-since-clear": "long-ago",
        "check-fuel-level": "in-range",
        **more,
    }
    lookups = []
    if "43 00" in text:
        typed["read-and-write-down-codes"] = "none-stored"
        lookups = [
            name
            for name, check in CATALOGUE.checks.items()
            if any(level.codes for level in check.levels)
        ]
    checker = triage_document(
        CATALOGUE, {"symptoms": symptoms, "outcomes": typed, "not_possible": lookups}
    )
    theirs = {one["id"]: one["probability"] for one in checker["causes"]}
    page = ask(text)
    assert page.monitors[0].id == monitor
    for cause, probability in chances(page).items():
        assert probability == pytest.approx(theirs[cause], abs=1e-9)
    assert [one.check for one in page.advice.next] == [one["check"] for one in checker["next"]]
    assert (page.advice.repair or {}).get("cause") == (checker["repair"] or {}).get("cause")


SMALL = {
    "causes": [
        {"id": "codes-cleared-lately", "prior": 0.02},
        {"id": "monitor-conditions-not-met", "prior": 0.05},
        {"id": "fuel-level-out-of-range", "prior": 0.03},
    ],
    "findings": [
        {
            "id": "read-monitors",
            "levels": ["all-complete", "some-incomplete", "all-incomplete"],
            "leak": [0.9, 0.99],
            "links": {
                "codes-cleared-lately": [0.05, 0.2],
                "monitor-conditions-not-met": [0.1, 0.9],
                "fuel-level-out-of-range": [0.2, 1.0],
            },
        },
        {
            "id": "check-fuel-level",
            "levels": ["in-range", "out-of-range"],
            "leak": [0.95],
            "links": {"fuel-level-out-of-range": [0.05]},
        },
        {
            "id": "read-counters-since-clear",
            "levels": ["long-ago", "recent", "keeps-restarting"],
            "leak": [0.9, 0.99],
            "links": {"codes-cleared-lately": [0.05, 1.0]},
        },
    ],
}


def brute_force(network, levels):
    """Sum over every set of causes, straight from the definition of noisy-MAX."""
    ids = [cause["id"] for cause in network["causes"]]
    total, present = 0.0, dict.fromkeys(ids, 0.0)
    for world in product((0, 1), repeat=len(ids)):
        names = [name for name, on in zip(ids, world, strict=True) if on]
        weight = 1.0
        for cause, on in zip(network["causes"], world, strict=True):
            weight *= cause["prior"] if on else 1 - cause["prior"]
        for finding in network["findings"]:
            if finding["id"] not in levels:
                continue
            below = [*finding["leak"], 1.0]
            for name in names:
                row = finding["links"].get(name)
                if row:
                    below = [b * (row[k] if k < len(row) else 1.0) for k, b in enumerate(below)]
            level = finding["levels"].index(levels[finding["id"]])
            weight *= below[level] - (below[level - 1] if level else 0.0)
        total += weight
        for name in names:
            present[name] += weight
    return {name: weight / total for name, weight in present.items()}


@pytest.mark.parametrize("text", [RECENT, BLOCKED])
def test_why_not_run_when_the_network_is_small_then_it_equals_brute_force(text):
    body = """const { why, evidence, more } = { why: w, evidence: e, more: m };
      const kept = input.network.causes.map(({ id }) => id);
      const only = (kind) => Object.fromEntries(
        Object.entries(input.knowledge[kind]).filter(([id]) => kept.includes(id)));
      const checks = Object.fromEntries(
        Object.entries(input.knowledge.checks)
          .filter(([id]) => input.network.findings.some((one) => one.id === id)));
      const small = { ...input.knowledge, network: input.network, causes: only("causes"), checks };
      return why.whyNotRun(small, input.tables, { readout: more.readWhole(input.text),
        facts: evidence.runFactsFrom({}), car: input.car });"""
    names = {"w": MODULES["why"], "e": MODULES["evidence"], "m": MODULES["more"]}
    given = {"knowledge": KNOWLEDGE, "tables": TABLES, "text": text, "car": EMPTY}
    found = told(embedded(names, body, {**given, "network": SMALL}))
    expected = brute_force(SMALL, outcomes(text))
    seen = {one.cause: one.probability for monitor in found.monitors for one in monitor.blockers}
    assert len(seen) >= 2
    for cause, probability in seen.items():
        assert probability == pytest.approx(expected[cause], abs=1e-12)


def test_run_facts_from_when_told_nonsense_then_it_counts_as_not_told():
    facts = {"voltage": [], "warmed_up": 1, "counters_fell": "yes"}
    read = embedded(MODULES, "return evidence.runFactsFrom(input);", facts)
    assert set(read.values()) == {None}


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
    found = ask(text)
    assert found.hint == hint
    assert ("read-counters-since-clear" in found.evidence) is (hint != "counters-mixed")


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
    words = forms("plan-caution")["do-not-clear"]
    assert "fuel settings" in words
    cleared, apart = words.split("Lost power")
    assert "idle" in apart
    assert "shifting" in apart
    assert "idle" not in cleared


def test_page_part_when_asked_then_it_answers_as_the_whole_knowledge_does():
    cases = [
        {**EMPTY, "symptoms": list(one.symptoms), "outcomes": dict(one.outcomes)}
        for one in CATALOGUE.cases.values()
    ][::6]
    body = """return input.cases.filter((car) => {
      const [one, other] = [input.whole, input.part].map((known) => {
        try { return JSON.stringify(t.triage(known, car)); } catch (error) { return String(error); }
      });
      return one !== other;
    });"""
    given = {"cases": cases, "whole": WHOLE, "part": KNOWLEDGE}
    assert len(cases) > 30
    assert embedded({"t": "engine/triage"}, body, given) == []
