"""Sums, gauges and volt logs in real Chromium against Python: same figures, same sentences."""

from __future__ import annotations

import math
import random

import pytest

from build_tools.logs.voltlog_command import voltlog_document
from build_tools.measure.gauges import interpret
from build_tools.measure.gauges_numbers import ReadingRefused
from build_tools.measure.sum_document import sum_document
from build_tools.measure.sums import work_out
from tests.reasoning.readings import (
    GAUGES,
    SCALES,
    SOURCES,
    SUMS,
    UNITS,
    random_inputs,
)

TOLERANCE = 1e-9
HOW_MANY = 5000


def close(found, wanted, where=""):
    """Compare two plain documents: numbers within the tolerance, the rest exactly."""
    if isinstance(wanted, dict):
        assert set(found) == set(wanted), where
        for key in wanted:
            close(found[key], wanted[key], f"{where}.{key}")
    elif isinstance(wanted, (list, tuple)):
        assert len(found) == len(wanted), where
        for place, one in enumerate(wanted):
            close(found[place], one, f"{where}[{place}]")
    elif isinstance(wanted, float) or (isinstance(wanted, int) and not isinstance(wanted, bool)):
        assert math.isclose(found, wanted, rel_tol=TOLERANCE, abs_tol=TOLERANCE), where
    else:
        assert found == wanted, where


def random_conditions(rng, gauge):
    known = {}
    for condition in gauge["conditions"]:
        context = SCALES.contexts[condition["id"]]
        if rng.random() < 0.3:
            continue
        if context["type"] == "choice":
            known[condition["id"]] = rng.choice([one["id"] for one in context["options"]])
            continue
        unit = rng.choice(context["accepts"])
        limits = context["plausible"]
        value = rng.uniform(limits["low"] - 5, limits["high"] + 5)
        known[condition["id"]] = {"value": round(value, 1), "unit": unit}
    return known


def random_reading(rng, gauge):
    low, high = gauge["plausible"]["low"], gauge["plausible"]["high"]
    value = rng.uniform(low, high)
    if rng.random() < 0.4:
        edges = [
            edge if isinstance(edge, (int, float)) else edge["points"][0][1]
            for table in gauge["tables"]
            for band in table["bands"]
            for edge in (band.get("from"), band.get("below"))
            if edge is not None
        ]
        value = rng.choice(edges) * rng.choice([1, 1, 1, 10, 0.1, 0.001])
    reading = {"value": round(value, 4), "unit": rng.choice(gauge["accepts"])}
    if rng.random() < 0.3:
        reading["confirmed"] = True
    return reading


def python_gauge(gauge, reading, conditions):
    try:
        found = interpret(gauge, reading, conditions, SCALES)
    except ReadingRefused as refused:
        return {"refused": [refused.field, refused.reason, list(refused.options)]}
    return {
        "value": found.value,
        "sigma": found.sigma,
        "weights": dict(found.band_weights),
        "band": found.band,
        "near": found.near_edge,
        "certainty": found.certainty,
        "asked": found.question and [found.question.field, found.question.why],
        "sources": list(found.sources),
    }


BROWSER = """async ({ sums, gauges, units, contexts, sources, asked }) => {
  const { workOut } = await import('/measure/sums.js');
  const { sumDocument } = await import('/measure/sum-document.js');
  const { interpret } = await import('/measure/gauges.js');
  const { ReadingRefused } = await import('/measure/gauges-numbers.js');
  return asked.map(({ sum, gauge, given, reading, conditions }) => {
    if (sum) {
      const result = workOut(sums[sum], given, units);
      return sumDocument(sums[sum], result, units, sources);
    }
    try {
      const found = interpret(gauges[gauge], reading, conditions, { units, contexts });
      return {
        value: found.value, sigma: found.sigma, weights: found.band_weights, band: found.band,
        near: found.near_edge, certainty: found.certainty,
        asked: found.question && [found.question.field, found.question.why],
        sources: found.sources,
      };
    } catch (problem) {
      if (!(problem instanceof ReadingRefused)) throw problem;
      return { refused: [problem.field, problem.reason, problem.options] };
    }
  });
}"""


def test_five_thousand_readings_agree(module_page):
    rng = random.Random(20261125)
    names = [("sum", name) for name in sorted(SUMS)] + [("gauge", name) for name in sorted(GAUGES)]
    asked, wanted = [], []
    for number in range(HOW_MANY):
        kind, name = names[number % len(names)]
        if kind == "sum":
            given = random_inputs(rng, SUMS[name])
            asked.append({"sum": name, "given": given})
            result = work_out(SUMS[name], given, UNITS)
            wanted.append(sum_document(SUMS[name], result, UNITS, SOURCES))
            continue
        gauge = GAUGES[name]
        reading, conditions = random_reading(rng, gauge), random_conditions(rng, gauge)
        asked.append({"gauge": name, "reading": reading, "conditions": conditions})
        wanted.append(python_gauge(gauge, reading, conditions))
    given = {
        "sums": SUMS,
        "gauges": GAUGES,
        "units": UNITS,
        "contexts": SCALES.contexts,
        "sources": SOURCES,
        "asked": asked,
    }
    answers = module_page.evaluate(BROWSER, given)
    for found, want, what in zip(answers, wanted, asked, strict=True):
        close(found, want, str(what))
    # The draw holds answers, refusals, questions and open edges, not one of them alone.
    told = [one for one in wanted if one.get("kind") == "sum"]
    assert sum(one["refused"] is None for one in told) > len(told) / 2
    assert sum(one["question"] is not None for one in told) > 20
    assert sum(one["to_case"] is not None for one in told) > 100
    read = [one for one in wanted if "weights" in one]
    assert sum(one["near"] for one in read) > 100
    assert sum(one["asked"] is not None for one in read) > 100


# ---- Volt logs.


def made_rows(rng):
    """Make rows of rest, starts, driving and a night, each of them by chance."""
    rows, now = [], rng.choice([0.0, 1000.5])
    parts = [(rng.uniform(30, 200), 1, lambda _: 12.5)]
    for _ in range(rng.randint(0, 3)):
        lowest = rng.uniform(8, 10)
        parts += [(2, 0.2, lambda _, lowest=lowest: lowest), (20, 1, lambda _: 12.1)]
    if rng.random() < 0.8:
        driving = rng.uniform(100, 1500)
        parts.append((driving, 2, lambda at: 14.2 - (2.5 if 300 < at < 304 else 0)))
    if rng.random() < 0.8:
        hours, drop = rng.choice([0.5, 2, 5, 9, 30]), rng.uniform(0, 0.01)
        night = lambda at: 12.6 + 0.2 * math.exp(-at / 5000) - drop * at / 3600  # noqa: E731
        parts.append((hours * 3600, 60, night))
    for seconds, step, level in parts:
        for row in range(int(seconds / step)):
            rows.append((now, level(row * step) + rng.gauss(0, 0.01)))
            now += step
    if rng.random() < 0.3:
        rows[10], rows[25] = rows[25], rows[10]
    return rows


def made_log(seed):
    """Write such rows in one of the usual shapes, some spoiled, with some options."""
    rng = random.Random(seed)
    delimiter, comma = rng.choice([(";", True), (",", False), ("\t", False), ("\t", True)])
    lines = [rng.choice(["time (s)", "elapsed", "t"]) + delimiter + rng.choice(["volts", "U (V)"])]
    for at, level in made_rows(rng):
        line = f"{at:.1f}{delimiter}{level:.{rng.choice([2, 3])}f}"
        lines.append(line.replace(".", ",") if comma else line)
    for bad in ("x", "", f"7{delimiter}", f"8{delimiter}99", f"9{delimiter}1{delimiter}2"):
        if rng.random() < 0.3:
            lines.insert(rng.randint(2, len(lines)), bad)
    some = {
        "battery-type": rng.choice(["flooded", "efb", "agm", "gel"]),
        "capacity": 70,
        "temperature": {"value": 5, "unit": "degC"},
    }
    return "\n".join(lines), {name: one for name, one in some.items() if rng.random() < 0.5}


VOLTLOG = """async (logs) => {
  const { voltLogDocument } = await import('/logs/voltlog-document.js');
  return logs.map(([text, options]) => voltLogDocument(text, options));
}"""


def test_volt_logs_agree(module_page):
    logs = [made_log(seed) for seed in range(60)]
    logs += [
        (text, {})
        for text in ("", "\x00\x01" * 99, "hello", "t;v", "t;v\n1;12.5", "a,b\nx,y\nz,w", "1;2\n")
    ]
    logs += [("t,v,w\n0,12.5,3\n1,12.5,3\n", {"volts": one}) for one in ("w", "3", 2, "u", "9")]
    wrong = ({"capacity": "big"}, {"capacity": 5}, {"battery-type": "wet"}, {"capacity": "60"})
    logs += [("t,v\n0,12.5\n1,12.5\n", one) for one in wrong]
    answers = module_page.evaluate(VOLTLOG, [list(one) for one in logs])
    kinds = set()
    for found, (text, options) in zip(answers, logs, strict=True):
        want = voltlog_document(text, options)
        close(found, want, text[:60])
        kinds |= {one["kind"] for one in want["findings"]}
    assert kinds == {"crank", "charging", "rest", "draw"}


MEASURE = """async (seed) => {
  const { analyse } = await import('/logs/voltlog.js');
  const { capacityOf } = await import('/logs/voltlog-limits.js');
  const count = 200000;
  const times = new Float64Array(count);
  const volts = new Float64Array(count);
  let state = seed;
  const noise = () => { state = (state * 1103515245 + 12345) % 2147483648; return state / 2147483648 - 0.5; };
  for (let i = 0; i < count; i += 1) {
    times[i] = i;
    const at = i % 50000;
    let level = 12.5 - i * 1e-6;
    if (at > 100 && at < 104) level = 9.6;
    else if (at >= 104 && at < 4000) level = 14.2;
    volts[i] = level + noise() * 0.02;
  }
  const started = performance.now();
  const log = analyse(times, volts, capacityOf(null), 0.0076);
  return { ms: performance.now() - started, cranks: log.cranks.length, rests: log.rests.length };
}"""


@pytest.mark.bench
def test_two_hundred_thousand_rows_on_a_slow_phone(module_page):
    session = module_page.context.new_cdp_session(module_page)
    session.send("Emulation.setCPUThrottlingRate", {"rate": 4})
    told = module_page.evaluate(MEASURE, 7)
    print(f"200000 rows analysed at 4x throttling: {told['ms']:.0f} ms")
    assert told["cranks"] == 4
    assert told["rests"] == 4
    assert told["ms"] < 2000
