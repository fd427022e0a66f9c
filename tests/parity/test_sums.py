"""Sums and gauges of the browser against Python: same figures, same sentences."""

import math
import random

from build_tools.measure.gauges import interpret
from build_tools.measure.gauges_numbers import ReadingRefused
from build_tools.measure.sum_document import sum_document
from build_tools.measure.sums import work_out
from tests.embedded import embedded
from tests.reasoning.readings import GAUGES, SCALES, SOURCES, SUMS, UNITS, random_inputs
from tests.sweeps import SWEEP

TOLERANCE = 1e-9
MODULES = {
    "sums": "measure/sums",
    "words": "measure/sum-document",
    "gauges": "measure/gauges",
    "numbers": "measure/gauges-numbers",
}


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


BROWSER = """
  const { units, contexts, sources, asked } = input;
  return asked.map(({ sum, gauge, given, reading, conditions }) => {
    if (sum) {
      const result = sums.workOut(input.sums[sum], given, units);
      return words.sumDocument(input.sums[sum], result, units, sources);
    }
    try {
      const found = gauges.interpret(input.gauges[gauge], reading, conditions, { units, contexts });
      return {
        value: found.value, sigma: found.sigma, weights: found.band_weights, band: found.band,
        near: found.near_edge, certainty: found.certainty,
        asked: found.question && [found.question.field, found.question.why],
        sources: found.sources,
      };
    } catch (problem) {
      if (!(problem instanceof numbers.ReadingRefused)) throw problem;
      return { refused: [problem.field, problem.reason, problem.options] };
    }
  });
"""


@SWEEP
def test_five_thousand_readings_agree(share):
    readings_agree(embedded, 5_000 // share)


def readings_agree(run, count):
    rng = random.Random(20261125)
    names = [("sum", name) for name in sorted(SUMS)] + [("gauge", name) for name in sorted(GAUGES)]
    asked, wanted = [], []
    for number in range(count):
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
    answers = run(MODULES, BROWSER, given)
    for found, want, what in zip(answers, wanted, asked, strict=True):
        close(found, want, str(what))
    # The draw holds answers, refusals, questions and open edges, not one of them alone.
    told = [one for one in wanted if one.get("kind") == "sum"]
    assert sum(one["refused"] is None for one in told) > len(told) / 2
    assert sum(one["question"] is not None for one in told) > count / 250
    assert sum(one["to_case"] is not None for one in told) > count / 50
    read = [one for one in wanted if "weights" in one]
    assert sum(one["near"] for one in read) > count / 50
    assert sum(one["asked"] is not None for one in read) > count / 50
