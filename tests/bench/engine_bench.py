"""Bench of the engine: posteriors in Chromium and Python beside pyAgrum and pgmpy."""

import json
import multiprocessing
import time

from build_tools.engine.cases import read_case
from build_tools.engine.findings import find
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.network import (
    Network,
    NetworkCause,
    evidence_from_document,
    network_from_document,
    odds_from_document,
)
from build_tools.engine.noisy_max import infer
from build_tools.engine.triage import triage
from build_tools.knowledge.assemble import load_catalogue
from build_tools.site.compile_json import compile_catalogue, network_document
from tests.bench.chromium import chromium, served
from tests.bench.figures import Figure, Target, interleaved
from tests.bench.libraries import pgmpy_engine, pyagrum_engine
from tests.bench.synthetic import ROOT

PART = "engine"
TOLERANCE = 1e-9
LEAST_SPEED_UP = 20
# A call is repeated until a round lasts this long; the median of the rounds counts.
ROUND_SECONDS, ROUNDS = 0.2, 7
# The library that works through one cause after another may never end on a large network.
MOST_SECONDS = 120
TYPICAL = {
    "symptoms": ["red-charging-lamp"],
    "outcomes": {
        "twist-battery-clamps": "tight-and-clean",
        "look-at-drive-belt": "sound",
        "measure-charging-voltage": "low",
    },
}
SETUP = """async (knowledge) => {
  window.knowledge = knowledge;
  window.rooms = {
    ...await import('/engine/noisy-max.js'),
    ...await import('/engine/triage.js'),
  };
}"""
PREPARE = """({ work, input }) => {
  const { rooms, knowledge } = window;
  window.run = new Function('rooms', 'knowledge', 'input', work)(rooms, knowledge, input);
  return window.run();
}"""
ROUND = """(roundMs) => {
  const start = performance.now();
  let calls = 0;
  let now = start;
  for (; now - start < roundMs; now = performance.now()) { window.run(); calls += 1; }
  return (now - start) / calls;
}"""
INFER = """
return () => rooms.infer(input.network, {}, input.evidence).posteriors;
"""
ADVISE = "return () => rooms.triage(knowledge, input).next.map((one) => one.check);"


def measure(say):
    """Yield the figures of this part; `say` is told how far it is."""
    catalogue, _ = load_catalogue(ROOT)
    shipped = network_from_catalogue(catalogue)
    case, problems = read_case(TYPICAL, catalogue)
    if problems:
        raise RuntimeError(f"the typical case is out of date: {problems[0].what}")
    questions = {
        "typical case": (shipped, dict(find(catalogue, shipped, case).evidence)),
        "largest vector": _largest_vector(),
    }
    with chromium() as browser, served(ROOT / "site_overrides" / "assets") as address:
        page = browser.new_page()
        page.goto(address)
        page.evaluate(SETUP, json.loads(json.dumps(compile_catalogue(catalogue))))
        for name, (network, evidence) in questions.items():
            yield from _posteriors(page, say, name, network, evidence)
        say("engine: next check")
        advised = page.evaluate(PREPARE, {"work": ADVISE, "input": TYPICAL})
        if advised != [one.check for one in triage(catalogue, shipped, case).next]:
            raise RuntimeError("Chromium and Python advise differently")
        found = _in_turns(page, {"python": lambda: triage(catalogue, shipped, case)})
        yield Figure(
            PART,
            "advice with next checks, typical case",
            "ms",
            found["page"],
            found["python"],
            "ours in Python",
            speed_up=True,
        )


def _largest_vector():
    """Return the vector with the most findings looked at, its context worked into the priors."""
    entries = json.loads((ROOT / "tests" / "vectors" / "posteriors_big.json").read_text("utf-8"))
    entry = max(entries, key=lambda one: (len(one["causes"]), len(one["evidence"])))
    network = network_from_document(entry)
    odds = odds_from_document(network, entry["context"])
    priors = [odds.get(one.id, one.prior / (1 - one.prior)) for one in network.causes]
    causes = [
        NetworkCause(one.id, own / (1 + own))
        for one, own in zip(network.causes, priors, strict=True)
    ]
    return (
        Network(tuple(causes), network.findings),
        evidence_from_document(network, entry["evidence"]),
    )


def _posteriors(page, say, name, network, evidence):
    say(f"engine: posteriors, {name}")
    asked = {
        "network": network_document(network),
        "evidence": {key: list(row) for key, row in evidence.items()},
    }
    agrum = pyagrum_engine(network, evidence)
    expected = agrum()
    _same(page.evaluate(PREPARE, {"work": INFER, "input": asked}), expected, name)
    _same(infer(network, {}, evidence).posteriors, expected, name)
    found = _in_turns(page, {"python": lambda: infer(network, {}, evidence), "pyAgrum": agrum})
    ours = found["page"]
    size = f"{len(network.causes)} causes, {len(evidence)} findings"
    yield Figure(
        PART,
        f"posteriors in Chromium, {name}",
        "ms",
        ours,
        found["pyAgrum"],
        "pyAgrum",
        speed_up=True,
        target=Target(LEAST_SPEED_UP, at_least=True),
        note=f"{size}; the libraries' networks are built before the clock starts",
    )
    yield Figure(
        PART, f"posteriors in Python, {name}", "ms", found["python"], found["pyAgrum"], "pyAgrum",
        speed_up=True,
    )  # fmt: skip
    say(f"engine: pgmpy, {name} (at most {MOST_SECONDS} s)")
    seconds, other = _in_own_process(network, evidence)
    if other is not None:
        _same(other, expected, name)
    yield Figure(
        PART,
        f"posteriors in Chromium, {name}",
        "ms",
        ours,
        None if seconds is None else seconds * 1000,
        "pgmpy",
        speed_up=True,
        note="" if other is not None else f"pgmpy gave no answer in {MOST_SECONDS} s",
    )


def _in_turns(page, ways):
    """Return the median milliseconds of a call: of what the page has prepared, and of each way."""
    rounds = {"page": lambda: page.evaluate(ROUND, ROUND_SECONDS * 1000)}
    rounds |= {name: lambda work=work: _round(work) for name, work in ways.items()}
    return interleaved(rounds, ROUNDS)


def _round(work):
    """Repeat a call until a round is over and return the milliseconds a call takes."""
    start = now = time.perf_counter()
    calls = 0
    while now - start < ROUND_SECONDS:
        work()
        calls += 1
        now = time.perf_counter()
    return (now - start) / calls * 1000


def _in_own_process(network, evidence):
    """Time pgmpy where it can be ended; (None, None) when it gives no answer in time."""
    there, here = multiprocessing.Pipe()
    context = multiprocessing.get_context("spawn")
    worker = context.Process(target=_answer_pgmpy, args=(here, network, evidence), daemon=True)
    worker.start()
    answer = there.recv() if there.poll(MOST_SECONDS) else (None, None)
    worker.kill()
    worker.join()
    return answer


def _answer_pgmpy(pipe, network, evidence):
    work = pgmpy_engine(network, evidence)
    work()
    start = time.perf_counter()
    answer = work()
    pipe.send((time.perf_counter() - start, answer))


def _same(one, other, name):
    """Refuse to time what does not give the same posteriors."""
    apart = max(abs(one[cause] - other[cause]) for cause in other)
    if set(one) != set(other) or not apart <= TOLERANCE:
        raise RuntimeError(f"posteriors differ by {apart:.3g} in {name}")
