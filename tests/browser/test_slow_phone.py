"""What the modules take in Chromium slowed to a phone: printed beside what they should take.

Run by `make bench`. Nothing fails by the time taken.
"""

import random
from contextlib import contextmanager

import pytest

from build_tools.engine.cases import case_document
from build_tools.engine.planner import WORK_LIMIT
from tests.browser.phone import knowledge
from tests.browser.test_cases_list import fill_shelf
from tests.embedded import in_page
from tests.parity.test_readiness import TABLES
from tests.reasoning.samples import random_situation, situation_for_browser

pytestmark = pytest.mark.bench


@contextmanager
def slowed(page):
    """Slow the processor to a quarter, as of a cheap phone."""
    session = page.context.new_cdp_session(page)
    session.send("Emulation.setCPUThrottlingRate", {"rate": 4})
    yield
    session.send("Emulation.setCPUThrottlingRate", {"rate": 1})


def test_one_decision(module_page):
    situations = [
        situation_for_browser(
            random_situation(random.Random(seed), causes=12, checks=12, multi=multi)
        )
        for multi in (False, True)
        for seed in range(9)
    ]
    times = in_page(module_page)(
        {"planner": "engine/planner"},
        """return input.situations.map((situation) => {
          const start = performance.now();
          const plan = planner.choose(situation, input.workLimit);
          return { ms: performance.now() - start, horizon: plan.horizon };
        });""",
        {"situations": situations, "workLimit": WORK_LIMIT},
    )
    for name, part in (("one cause", times[:9]), ("up to two causes", times[9:])):
        middle = sorted(t["ms"] for t in part)[4]
        depths = sorted({t["horizon"] for t in part})
        print(f"12 causes x 12 checks, {name}: {middle:.1f} ms of 150, depth {depths}")
        assert min(depths) >= 2


def trace(legs):
    speeds = [speed for seconds, speed in legs for _ in range(seconds)] + [legs[-1][1]]
    lines = ["Time (s),RPM,Vehicle speed (km/h),Ambient (degC),Baro (kPa),Coolant (degC)"]
    for number, speed in enumerate(speeds):
        heat = 15 + 77 * number / (len(speeds) - 1)
        lines.append(f"{number},{800 if speed == 0 else 2000},{speed},14,100,{heat}")
    return "\n".join(lines)


def test_a_trip_log_of_an_hour(module_page):
    hour = trace([(180, 0), (600, 50), (1200, 90), (900, 30), (719, 60)])
    assert hour.count("\n") == 3_600
    with slowed(module_page):
        times = in_page(module_page)(
            {"csv": "logs/csv-reader", "columns": "logs/triplog-columns", "trip": "logs/triplog"},
            """const names = Object.keys(input.monitors);
            const once = () => {
              const begin = performance.now();
              const table = csv.readTable(input.text);
              const read = performance.now();
              const report = trip.analyseTrip(columns.readTrip(table), input.monitors, names);
              return [read - begin, performance.now() - read, report.state, table.rows.length];
            };
            return [once(), once(), once()];""",
            {"text": hour, "monitors": TABLES["monitors"]},
        )
    for reading, analysing, state, rows in times:
        print(f"one hour at 1 Hz: read {reading:.0f} ms, analyse {analysing:.0f} ms, both of 1000")
        assert (state, rows) == ("ok", 3_600)


LONG_LOG = """const count = 200000;
const times = new Float64Array(count);
const volts = new Float64Array(count);
let state = 7;
const noise = () => {
  state = (state * 1103515245 + 12345) % 2147483648;
  return state / 2147483648 - 0.5;
};
for (let i = 0; i < count; i += 1) {
  times[i] = i;
  const at = i % 50000;
  let level = 12.5 - i * 1e-6;
  if (at > 100 && at < 104) level = 9.6;
  else if (at >= 104 && at < 4000) level = 14.2;
  volts[i] = level + noise() * 0.02;
}
const started = performance.now();
const log = voltlog.analyse(times, volts, limits.capacityOf(null), 0.0076);
return { ms: performance.now() - started, cranks: log.cranks.length, rests: log.rests.length };
"""


def test_two_hundred_thousand_rows_of_volts(module_page):
    modules = {"voltlog": "logs/voltlog", "limits": "logs/voltlog-limits"}
    with slowed(module_page):
        told = in_page(module_page)(modules, LONG_LOG)
    print(f"200000 rows analysed at 4x throttling: {told['ms']:.0f} ms of 2000")
    assert told["cranks"] == 4
    assert told["rests"] == 4


ROOMS = {
    "triage": "engine/triage",
    "diagnosis": "engine/diagnosis",
    "planning": "engine/planning",
    "policy": "engine/policy",
}
TIME = """const k = input.knowledge;
return input.documents.map((document) => {
  const best = { plan: Infinity, triage: Infinity };
  for (let round = 0; round < input.rounds; round += 1) {
    const start = performance.now();
    planning.plan(diagnosis.diagnose(k, document), policy.GATES);
    const middle = performance.now();
    triage.triage(k, document);
    best.plan = Math.min(best.plan, middle - start);
    best.triage = Math.min(best.triage, performance.now() - middle);
  }
  return best;
});"""


def test_the_largest_and_the_slowest_worked_case(module_page):
    catalogue, compiled, _ = knowledge()
    documents = {name: case_document(one) for name, one in catalogue.cases.items()}
    asked = {"knowledge": compiled, "documents": list(documents.values()), "rounds": 1}
    in_page(module_page)(ROOMS, TIME, asked)
    with slowed(module_page):
        times = in_page(module_page)(ROOMS, TIME, {**asked, "rounds": 5})
    figures = dict(zip(documents, times, strict=True))
    cases = catalogue.cases
    largest = max(
        cases,
        key=lambda one: (
            len(cases[one].outcomes) + len(cases[one].readings) + len(cases[one].symptoms)
        ),
    )
    for name in (largest, max(figures, key=lambda one: figures[one]["plan"])):
        found = figures[name]
        print(f"{name}: {found['plan']:.1f} ms posterior and plan, {found['triage']:.1f} ms advice")
        assert found["triage"] > 0


LIST = """const opened = { open() {}, remove() {} };
const start = performance.now();
const cases = shelf.allCases();
document.body.replaceChildren(list.listView(cases, opened, ""));
const drawn = performance.now();
document.body.getBoundingClientRect();
return { rows: cases.length, ms: drawn - start, laid: performance.now() - start };"""


def test_a_list_of_two_hundred_cases(module_page):
    rooms = {"shelf": "case/shelf", "list": "pages/cases/list-view"}
    fill_shelf(module_page, 200)
    in_page(module_page)(rooms, LIST)
    with slowed(module_page):
        times = [in_page(module_page)(rooms, LIST) for _ in range(5)]
    best = min(times, key=lambda one: one["ms"])
    print(f"list of 200 cases: {best['ms']:.1f} ms script of 100, {best['laid']:.1f} ms laid out")
    assert best["rows"] == 200
