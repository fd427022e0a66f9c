"""Bench of the hardest input: the slowest text of each parser, and the slowest advice.

Every parser of what people type, paste or open gets texts of 64,000 signs that are hard to cut,
and cut and spoilt pieces of such as it takes. How the time grows with the length is told as an
exponent: 1 is linear. Advice is asked on cases with far more noticed and measured than anybody
brings.
"""

import contextlib
import json
import random
import time
from collections import Counter
from functools import partial

from build_tools.browser.embedded import ModuleFailedError, browser_modules
from build_tools.cli.answer_documents import MessageReader
from build_tools.cli.log_documents import triplog_document, voltlog_document
from build_tools.cli.symptom_search import SymptomSearch
from build_tools.engine.cases import read_case
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.noisy_max import FrontierTooWide
from build_tools.engine.trace import trace
from build_tools.engine.triage import triage
from build_tools.knowledge.assemble import load_catalogue, load_readiness
from build_tools.knowledge.document_reader import read_document
from build_tools.knowledge.link_words import link_document
from build_tools.knowledge.yaml_reader import read
from build_tools.obd.readout import read_text
from build_tools.site.compile_json import compile_catalogue
from build_tools.site.search import search_document
from tests.bench.chromium import THROTTLE, chromium, served
from tests.bench.figures import Figure, Target, fit_exponent
from tests.bench.synthetic import ROOT
from tests.reasoning.samples import drawn_case

PART = "limits"
LONG, SPOILT = 64_000, 60
COARSE, GROWTH = 20, 1.4
MODULES = ("case/link-document", "case/case-file", "kit/numbers", "obd/codes")
BEFORE = "251 s before it was bounded, 3.3 s in a browser and 17 s at a quarter of its speed"
RUNS = ("a", " ", "1", "(", '"', "\t", "1;", "a b ", "41 ", "- ", "a: ", "1,5\n", "x" * 40 + "\n")
SAMPLES = {
    "trip log": "time (s),speed (km/h),rpm\n" + "".join(f"{n},{n % 90},900\n" for n in range(900)),
    "volt log": "time,volts\n" + "".join(f"{n * 60},12.{n % 90:02}\n" for n in range(900)),
    "readout": "7E8 06 41 01 00 07 65 00\n7E9 06 41 01 00 07 65 65\n" * 40,
    "message": "it clicks once and reads 12.1 with the engine off, 14.2 at idle. " * 12,
    "search": "cranks slowly on a cold morning " * 6,
    "case link": "#c=AAECAwQFBgcICQ" * 20,
    "case file": json.dumps(
        {"format": "before-parts-cases", "version": 1, "cases": [{"sheet": {}, "state": {}}] * 40}
    ),
    "case document": '{"symptoms": ["flat-overnight"], "mileage": 90000, "tools": ["meter"]}\n',
    "number": "12,345.6 ",
    "code": "P0456 ",
    "YAML file": (ROOT / "symptoms" / "checks" / "measure-resting-voltage.yml").read_text("utf-8"),
}
SHAPES = ((12, 25), (12, 8), (20, 10), (3, 14), (102, 140))
DRAWS = 20
ADVISE = """async (document) => {
  const { triage } = await import('/engine/triage.js');
  const { trace } = await import('/engine/trace.js');
  try {
    const advice = triage(window.knowledge, document);
    const chances = Object.fromEntries(advice.causes.map((one) => [one.id, one.probability]));
    trace(window.knowledge, document, advice.findings, chances);
  } catch (error) {
    if (error.name !== 'FrontierTooWide') throw error;
  }
}"""


def measure(say):
    """Yield the figures of this part; `say` is told how far it is."""
    catalogue, _ = load_catalogue(ROOT)
    for name, parse in _parsers(catalogue).items():
        say(f"limits: {name}")
        texts = _texts(SAMPLES[name])
        taken = [_seconds(partial(parse, text)) * 1000 for text in texts]
        slowest = texts[taken.index(max(taken))]
        note = f"of {len(taken)} texts tried, {LONG:,} signs at most"
        yield Figure(PART, f"slowest text, {name}", "ms", max(taken), note=note)
        # Below this the clock is too coarse to tell how the time grows.
        if max(taken) > COARSE:
            sizes = [len(slowest) // 4, len(slowest) // 2, len(slowest)]
            grown = [_seconds(partial(parse, slowest[:size])) for size in sizes]
            yield Figure(
                PART, f"growth with length, {name}", "power", fit_exponent(sizes, grown),
                target=Target(GROWTH, of="ours"), note=f"of the slowest: {slowest[:12]!r}...",
            )  # fmt: skip
    say("limits: advice")
    yield from _advice(catalogue)


def _parsers(catalogue):
    readiness, knowledge = load_readiness(ROOT)[0], compile_catalogue(catalogue)
    search, words = SymptomSearch(search_document(catalogue)), link_document(catalogue)
    rooms = browser_modules(*MODULES)
    return {
        "trip log": partial(triplog_document, readiness),
        "volt log": lambda text: voltlog_document(text, {}),
        "readout": read_text,
        "message": MessageReader(catalogue).read,
        "search": lambda text: search.find(text, 10),
        "case link": partial(rooms.call, "case/link-document", "openedLink", knowledge, words),
        "case file": lambda text: _refused(rooms, "case/case-file", "casesIn", text),
        "case document": lambda text: read_document(text, "case.json"),
        "number": partial(rooms.call, "kit/numbers", "readTyped"),
        "code": partial(rooms.call, "obd/codes", "recogniseCode"),
        "YAML file": lambda text: read(text, "x.yml"),
    }


def _refused(rooms, module, name, text):
    """Read a text that the module may refuse in words."""
    with contextlib.suppress(ModuleFailedError):
        rooms.call(module, name, text)


def _texts(sample):
    """Return long runs of one piece, and the sample cut and spoilt anywhere."""
    draw = random.Random(17)
    found = [(run * LONG)[:LONG] for run in RUNS] + [(sample * LONG)[:LONG]]
    for _ in range(SPOILT):
        place = draw.randrange(len(sample))
        piece = draw.choice(RUNS) * draw.randrange(1, 400)
        found.append(sample[:place] + piece + sample[draw.randrange(len(sample)) :])
    return found


def _advice(catalogue):
    network = network_from_catalogue(catalogue)
    documents = [
        drawn_case(
            catalogue,
            random.Random(seed),
            min(symptoms, len(catalogue.symptoms)),
            min(results, len(catalogue.checks)),
        )
        for symptoms, results in SHAPES
        for seed in range(DRAWS)
    ]

    planned = Counter()

    def advise(document):
        case, _ = read_case(document, catalogue)
        try:
            advice = triage(catalogue, network, case)
        except FrontierTooWide:
            planned["refused"] += 1
            return
        planned[advice.planned] += 1
        trace(
            catalogue, network, case, advice.findings,
            {one.id: one.probability for one in advice.causes},
        )  # fmt: skip

    ours = max(_seconds(partial(advise, one)) for one in documents)
    counts = ", ".join(f"{count} {name}" for name, count in sorted(planned.items()))
    note = f"of {len(documents)} cases, up to all symptoms and checks: {counts}; {BEFORE}"
    yield Figure(PART, "slowest advice, Python", "s", ours, target=Target(2, of="ours"), note=note)
    with chromium() as browser, served(ROOT / "site_overrides" / "assets") as address:
        page = browser.new_page()
        page.goto(address)
        page.evaluate("(given) => { window.knowledge = given; }", compile_catalogue(catalogue))
        client = page.context.new_cdp_session(page)
        # What the page's own thread works; other work of the machine does not count.
        client.send("Performance.enable", {"timeDomain": "threadTicks"})
        client.send("Emulation.setCPUThrottlingRate", {"rate": THROTTLE})
        taken = []
        for one in documents:
            before = _worked(client)
            page.evaluate(ADVISE, one)
            taken.append(_worked(client) - before)
    yield Figure(
        PART, f"slowest advice, Chromium {THROTTLE} times slower", "s", max(taken),
        target=Target(1, of="ours"), note=note,
    )  # fmt: skip


def _worked(client):
    """Return the seconds the page's thread has worked so far."""
    told = client.send("Performance.getMetrics")["metrics"]
    return next(one["value"] for one in told if one["name"] == "TaskDuration")


def _seconds(work):
    start = time.process_time()
    work()
    return time.process_time() - start
