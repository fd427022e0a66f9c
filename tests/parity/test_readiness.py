"""The browser's readiness modules, against Python.

Every result must be equal to the last bit: the arithmetic is the same in the same order. What
Python says is itself checked against other sources in tests/reasoning.
"""

import json
import random
from dataclasses import asdict

from build_tools.obd.codes import CODE_TABLE, classify_code, recognise_code
from build_tools.obd.inspection import decide, facts_from, vehicle_from
from build_tools.obd.pids import MONITOR_IDS
from build_tools.obd.readiness_commands import readiness_tables
from build_tools.obd.readout import read_text, read_ticks
from tests.embedded import embedded
from tests.shipped import READINESS
from tests.sweeps import SWEEP

TABLES = json.loads(json.dumps(readiness_tables(READINESS)))
MODULES = {
    "readout": "obd/readout",
    "codes": "obd/codes",
    "inspection": "obd/inspection",
    "facts": "obd/inspection",
}
FORMS = (
    "41 01 {4}",
    "4101{4}",
    "7E8 06 41 01 {4}\n7E9 06 41 01 {4}",
    "18 DA F1 10 06 41 01 {4}",
    "48 6B 10 41 01 {4} 33",
    "86 F1 10 41 01 {4} 44",
    "014\n0: 41 01 {4}\n1: 30 0F 31 01 42 1F 00\n2: 20 42 2A F8 4E 04 B0",
    "7E8 10 0C 41 01 {4}\n7E8 21 30 {1} 31 {2} AA AA",
    "NO DATA",
    "0101\r41 01 {4}\r\r>",
    "43 {4} 00 00",
    "7E8 04 43 01 {2}",
    "7E8 06 47 02 {2} {2}",
    "4A {2} {2} {2}",
    "41 41 {4}",
    "7E8 06 41 01 {4}\n7E8 06 41 41 {4}",
    "41 {1} {4}",
    "{4}",
    "junk {1} zz",
    "\u00e941 01 {4}",
    "STOPPED",
    "{4} {4}",
    "Stored: P0420, P0171",
    "P0442 pending, U0100 permanent",
)


def plain(value):
    return json.loads(json.dumps(value))


def some_bytes(rng, count):
    chosen = (rng.choice((0, 0, 7, 0x65, 0x0F, rng.randrange(256))) for _ in range(count))
    return " ".join(f"{byte:02X}" for byte in chosen)


def some_text(rng):
    parts = []
    for _ in range(rng.randrange(1, 4)):
        part = rng.choice(FORMS)
        for count in (4, 2, 1):
            while f"{{{count}}}" in part:
                part = part.replace(f"{{{count}}}", some_bytes(rng, count), 1)
        if rng.random() < 0.1:
            part = part.replace(" ", "")
        if rng.random() < 0.15:
            at = rng.randrange(len(part))
            part = part[:at] + rng.choice(("", " ", "X", "\n", "0", "\U0001f697")) + part[at + 1 :]
        parts.append(part)
    return rng.choice(("\n", "\r", "\r\n>")).join(parts)


@SWEEP
def test_read_text_when_5000_random_texts_then_the_browser_equals_python(share):
    readouts_agree(embedded, 5_000 // share)


def readouts_agree(run, count):
    rng = random.Random(11)
    texts = [some_text(rng) for _ in range(count)]
    theirs = run(MODULES, "return input.map(readout.readText);", texts)
    ours = [plain(asdict(read_text(text))) for text in texts]
    assert theirs == ours
    states = {one["state"] for one in ours}
    assert len(states) >= 8
    assert sum(one["state"] == "usable" for one in ours) > count / 5


def test_read_ticks_and_codes_when_random_then_the_browser_equals_python():
    rng = random.Random(12)
    words = ("complete", "incomplete", "none", 3)
    told = [
        {
            "ignition": rng.choice(("spark", "compression", "steam")),
            "mil": rng.choice((True, False, None)),
            "count": rng.choice((0, 1, 127, 128, None, "x")),
            "monitors": {n: rng.choice(words) for n in rng.sample(MONITOR_IDS, rng.randrange(9))},
        }
        for _ in range(500)
    ]
    assert embedded(MODULES, "return input.map(readout.readTicks);", told) == [
        plain(asdict(read_ticks(one))) for one in told
    ]
    typed = [
        *CODE_TABLE,
        "p0420",
        "PO42O",
        "04 20",
        "P0420-00",
        "x",
        "",
        "\u0130",
        "P4420",
        "U 3003",
    ]
    typed += ["".join(rng.choice("PCBU0O19AFaf -") for _ in range(6)) for _ in range(500)]
    theirs = embedded(
        MODULES,
        """return input.typed.map((text) => {
          const found = codes.recogniseCode(text);
          return [found, found.code && codes.classifyCode(found.code, input.table)];
        });""",
        {"typed": typed, "table": TABLES["codes"]},
    )
    found = [recognise_code(text) for text in typed]
    assert theirs == plain(
        [[asdict(one), one.code and asdict(classify_code(one.code))] for one in found]
    )


def some_facts(rng):
    told = {
        "retest_codes": rng.sample(["P0420", "P0442", "P0135", "P0301"], rng.randrange(3)),
        "repaired": rng.sample(["catalyst"], rng.randrange(2)),
        "permanent_codes": rng.choice((None, 0, 1, 2.5)),
        "pending_codes": rng.choice((None, 0, 1)),
        "warm_ups": rng.choice((None, 3, 15, 40)),
        "distance_km": rng.choice((None, 100, 322, 900.5)),
        "no_answer": rng.random() < 0.05,
        "connector_dead": rng.random() < 0.05,
        "lamp_dark": rng.random() < 0.1,
        "all_else_passes": rng.choice((None, True, False)),
        "certificate_expired": rng.choice((None, True, False)),
        "extension_used": rng.choice((None, True, False)),
    }
    return {key: value for key, value in told.items() if rng.random() < 0.6}


@SWEEP
def test_decide_when_5000_random_cases_then_the_browser_equals_python(share):
    decisions_agree(embedded, 5_000 // share)


def decisions_agree(run, count):
    rng = random.Random(13)
    cases = []
    for _ in range(count):
        vehicle = {
            "year": rng.choice((None, *range(1994, 2026))),
            "fuel": rng.choice(("gasoline", "gasoline", "diesel", "hybrid", "other", None)),
            "now": rng.choice((None, 2020, 2026, "x")),
        }
        status = bytes((rng.choice((0, 0, 0, 1, 0x80, 0x81)), rng.choice((7, 7, 15, 0x17)), 0, 0))
        status = status[:2] + bytes((rng.randrange(256), rng.randrange(256) & rng.randrange(256)))
        text = f"41 01 {status.hex(' ')}" if rng.random() < 0.9 else some_text(rng)
        rule = rng.choice(sorted(READINESS.inspections))
        cases.append([rule, vehicle, text, some_facts(rng)])
    theirs = run(
        MODULES,
        """return input.cases.map(([rule, vehicle, text, told]) => inspection.decide(
          input.tables.inspections[rule], facts.vehicleFrom(vehicle), readout.readText(text),
          facts.factsFrom(told), input.tables.monitors));""",
        {"cases": cases, "tables": TABLES},
    )
    ours = [
        decide(
            READINESS.inspections[rule],
            vehicle_from(vehicle),
            read_text(text),
            facts_from(told),
            READINESS.monitors,
        )
        for rule, vehicle, text, told in cases
    ]
    assert theirs == [plain(asdict(one)) for one in ours]
    assert len({one.result for one in ours}) >= 9
