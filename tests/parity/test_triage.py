"""Advice of the browser's modules against Python: the same numbers, the same order, the same words.

Python is held to the vectors, to brute force and to published tables elsewhere; here the
browser is held to Python over generated cases and every worked case of the knowledge.
"""

import json
import math
import random
from dataclasses import asdict
from functools import cache

import pytest

from build_tools.cli.triage_command import advice_text, said_of, triage_document
from build_tools.engine import words
from build_tools.engine.cases import case_document, read_case
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.mended import checks_shifted_by, mend
from build_tools.engine.normal import normal_between
from build_tools.engine.trace import trace
from build_tools.engine.triage import triage
from build_tools.measure.gauges import interpret
from build_tools.measure.gauges_documents import gauge_document, scales_of
from build_tools.measure.gauges_numbers import ReadingRefused
from build_tools.measure.words import (
    assumptions_words,
    question_words,
    reading_words,
    refusal_words,
)
from tests.embedded import embedded
from tests.reasoning.samples import drawn_case, entangled_cases
from tests.shipped import CATALOGUE, knowledge
from tests.sweeps import SWEEP, drawn

TOLERANCE = 1e-9

NETWORK = network_from_catalogue(CATALOGUE)
KNOWLEDGE = knowledge()
COMPLAINTS = [name for name, one in CATALOGUE.symptoms.items() if one.role == "complaint"]

ROOMS = {
    "abilities": "engine/abilities",
    "triage": "engine/triage",
    "trace": "engine/trace",
    "mended": "engine/mended",
    "normal": "measure/normal",
    "words": "engine/words",
    "gauges": "measure/gauges",
    "reading": "measure/words",
    "plain": "pages/checker/advice-text",
}

ADVISE = """return input.asked.map((document) => {
  try {
    return { advice: triage.triage(input.knowledge, document) };
  } catch (error) {
    return { error: error.name };
  }
})"""


def ask(body, asked, run=embedded):
    """Run a body over what is asked, with the knowledge beside it."""
    return run(ROOMS, body, {"knowledge": KNOWLEDGE, "asked": asked})


# Generated cases --------------------------------------------------------------------------


def random_reading(draw, gauge):
    low, high = gauge.plausible.low, gauge.plausible.high
    value = draw.uniform(low, high) if draw.random() < 0.3 else near_an_edge(draw, gauge)
    reading = {"value": round(value, 3), "unit": gauge.unit}
    for condition in gauge.conditions:
        context = CATALOGUE.contexts.get(condition.id)
        if context is not None and draw.random() < 0.6:
            reading[condition.id] = random_answer(draw, context)
    if draw.random() < 0.2:
        reading["confirmed"] = True
    return reading


def near_an_edge(draw, gauge):
    edges = [
        edge
        for table in gauge.tables
        for band in table.bands
        for edge in (band.start, band.below)
        if isinstance(edge, float | int)
    ]
    middle = draw.choice(edges) if edges else (gauge.plausible.low + gauge.plausible.high) / 2
    return middle * draw.uniform(0.95, 1.05)


def random_answer(draw, context):
    if context.type == "choice":
        return draw.choice(context.options).id
    return round(draw.uniform(context.plausible.low, context.plausible.high), 1)


def random_case(draw):
    document = {
        "symptoms": draw.sample(list(CATALOGUE.symptoms), draw.randint(1, 3)),
        "context": {
            name: random_answer(draw, one)
            for name, one in CATALOGUE.contexts.items()
            if draw.random() < 0.3
        },
        "readings": {},
        "outcomes": {},
        "not_possible": draw.sample(list(CATALOGUE.checks), draw.randint(0, 2)),
    }
    others = [name for name in CATALOGUE.symptoms if name not in document["symptoms"]]
    document["absent"] = draw.sample(others, draw.randint(0, 2))
    for name in draw.sample(list(CATALOGUE.checks), draw.randint(0, 7)):
        check = CATALOGUE.checks[name]
        if check.gauge and draw.random() < 0.6:
            document["readings"][name] = random_reading(draw, CATALOGUE.gauges[check.gauge])
        else:
            document["outcomes"][name] = draw.choice(check.levels).id
    if draw.random() < 0.3:
        tools = list(CATALOGUE.vocabulary.tools)
        document["tools"] = draw.sample(tools, draw.randint(0, len(tools)))
    if draw.random() < 0.2:
        document["mended"] = draw.sample(list(CATALOGUE.causes), draw.randint(1, 2))
    tell_what_changed(draw, document)
    if draw.random() < 0.2:
        document["hour_value"] = draw.choice([0, 5, 40])
    return document


def tell_what_changed(draw, document):
    """Add repairs that helped, symptoms that are over, and results that overtake others."""
    if draw.random() < 0.2:
        others = [one for one in CATALOGUE.causes if one not in document.get("mended", ())]
        document["helped"] = {draw.choice(others): draw.choice(["better", "better", "gone"])}
    if draw.random() < 0.3:
        told = (*document["symptoms"], *document["absent"])
        others = [name for name in COMPLAINTS if name not in told]
        document["past"] = draw.sample(others, draw.randint(1, 2))
        document["symptoms"] = document["symptoms"][: draw.randint(0, 3)]
    if draw.random() < 0.3:
        changing = ["charge-battery-fully", "rest-overnight", "replace-fob-cell"]
        overtaken = CATALOGUE.checks["charge-battery-fully"].levels[0].resets
        for name in (draw.choice(changing), *draw.sample(overtaken, 2)):
            if name not in document["readings"]:
                levels = CATALOGUE.checks[name].levels
                document["outcomes"][name] = levels[0 if name in changing else -1].id
        document["again"] = draw.sample([*overtaken, "battery-age"], draw.randint(0, 3))


def differences(python, browser, path=""):
    """Yield where two advices differ by more than the tolerance, in words."""
    if isinstance(python, dict):
        for key in python.keys() | browser.keys():
            yield from differences(python.get(key), browser.get(key), f"{path}.{key}")
    elif isinstance(python, list | tuple):
        if len(python) != len(browser):
            yield f"{path}: {len(python)} entries, {len(browser)} in the browser"
        for place, (one, other) in enumerate(zip(python, browser, strict=False)):
            yield from differences(one, other, f"{path}[{place}]")
    elif isinstance(python, float) or isinstance(browser, float):
        if python is None or browser is None or abs(python - browser) > TOLERANCE:
            yield f"{path}: {python}, {browser} in the browser"
    elif python != browser:
        yield f"{path}: {python!r}, {browser!r} in the browser"


def python_advice(document):
    case, _ = read_case(document, CATALOGUE)
    try:
        return asdict(triage(CATALOGUE, NETWORK, case))
    except ValueError as error:
        return type(error).__name__


@SWEEP
def test_a_thousand_generated_cases(share):
    generated_cases_agree(embedded, 1_000 // share)


def generated_cases_agree(run, count):
    draw = random.Random(20261125)
    cases = []
    while len(cases) < count:
        document = random_case(draw)
        # Only what the reader accepts: the page never sends anything else.
        if read_case(document, CATALOGUE)[1] == ():
            cases.append(document)
    wrong = []
    contradictions = 0
    for place, (asked, answer) in enumerate(zip(cases, ask(ADVISE, cases, run), strict=True)):
        want = python_advice(asked)
        if isinstance(want, str):
            contradictions += 1
            assert answer == {"error": want}
        else:
            assert "advice" in answer, (asked, answer)
            wrong += [f"case {place}{one}" for one in differences(want, answer["advice"])]
    assert wrong == []
    assert contradictions < count / 20


@cache
def worked_answers():
    asked = [case_document(one) for one in CATALOGUE.cases.values()]
    return dict(zip(CATALOGUE.cases, ask(ADVISE, asked), strict=True))


@pytest.mark.parametrize("name", CATALOGUE.cases)
def test_every_worked_case(name, worked_advice):
    want = asdict(worked_advice[name])
    assert list(differences(want, worked_answers()[name]["advice"])) == []


MEND = """return input.asked.map(([document, cause]) => [
  mended.mendCase(input.knowledge, document, cause),
  mended.checksShiftedBy(input.knowledge, cause),
])"""


def test_a_repair_changes_a_case_alike():
    draw = random.Random(6)
    asked = []
    for one in CATALOGUE.cases.values():
        document = {**case_document(one), "mended": draw.sample(list(CATALOGUE.causes), 2)}
        asked += [(document, cause) for cause in draw.sample(list(CATALOGUE.causes), 2)]
        asked += [(document, document["mended"][0])]
    for (document, cause), (theirs, gone) in zip(asked, ask(MEND, asked), strict=True):
        case, _ = read_case(document, CATALOGUE)
        ours = mend(CATALOGUE, NETWORK, case, cause)
        assert list(checks_shifted_by(CATALOGUE, NETWORK, cause)) == gone
        assert theirs["mended"] == list(ours.mended)
        assert theirs["readings"].keys() == ours.readings.keys()
        assert theirs["outcomes"] == ours.outcomes


def test_past_the_bound_of_work_both_say_so_alike():
    cases = entangled_cases(CATALOGUE, NETWORK, 12, 2)
    documents = [document for _, document in (cases[0], cases[len(cases) // 2], cases[-1])]
    documents.append(entangled_cases(CATALOGUE, NETWORK, 12, 25)[-1][1])
    documents += [drawn_case(CATALOGUE, random.Random(seed), 12, 25) for seed in (0, 2, 7)]
    planned = set()
    for one, answer in zip(documents, ask(ADVISE, documents), strict=True):
        want = python_advice(one)
        if isinstance(want, str):
            assert answer == {"error": want}
            continue
        assert list(differences(want, answer["advice"])) == []
        planned.add(want["planned"])
    assert planned == {"full", "shorter", "roughly"}


# Reasons and words ------------------------------------------------------------------------

SAY = """const r = { ...words, ...trace, ...triage };
const { knowledge } = input;
return input.asked.map((document) => {
  const advice = r.triage(knowledge, document);
  const posteriors = Object.fromEntries(advice.causes.map((one) => [one.id, one.probability]));
  const pushes = r.trace(knowledge, document, advice.findings, posteriors);
  const said = r.saidOf(knowledge, advice.findings);
  return {
    text: plain.adviceText(knowledge, advice),
    pushes,
    named: [3, 5].map((most) => r.namedCauses(advice, most)),
    reasons: Object.values(pushes).map((one) => Object.values(r.pushesWords(knowledge, one, said))),
    supply: r.reasonsWords(knowledge, advice.supply.because),
    next: advice.next.map((one) => r.reasonsWords(knowledge, one.because)),
    repair: advice.repair && r.reasonsWords(knowledge, advice.repair.because),
    held: advice.hold_off.map((one) => r.untilWords(knowledge, one.until)),
    stop: advice.stop_now.map((one) => r.reasonsWords(knowledge, one.because)),
  };
})"""


def python_words(document):
    case, _ = read_case(document, CATALOGUE)
    advice = triage(CATALOGUE, NETWORK, case)
    posteriors = {one.id: one.probability for one in advice.causes}
    pushes = trace(CATALOGUE, NETWORK, case, advice.findings, posteriors)
    said = said_of(CATALOGUE, advice.findings)
    return {
        "text": advice_text(triage_document(CATALOGUE, document)),
        "pushes": {name: [asdict(one) for one in found] for name, found in pushes.items()},
        "named": [words.named_causes(map(asdict, advice.causes), most) for most in (3, 5)],
        "reasons": [words.pushes_words(KNOWLEDGE, one, said) for one in pushes.values()],
        "supply": words.reasons_words(KNOWLEDGE, advice.supply.because),
        "next": [words.reasons_words(KNOWLEDGE, one.because) for one in advice.next],
        "repair": advice.repair and words.reasons_words(KNOWLEDGE, advice.repair.because),
        "held": [words.until_words(KNOWLEDGE, one["until"]) for one in advice.hold_off],
        "stop": [words.reasons_words(KNOWLEDGE, one["because"]) for one in advice.stop_now],
    }


@SWEEP
def test_the_same_reasons_in_the_same_words(share):
    reasons_agree(embedded, share)


def reasons_agree(run, every):
    documents = [case_document(one) for one in CATALOGUE.cases.values()][::every]
    for document, answer in zip(documents, ask(SAY, documents, run), strict=True):
        want = python_words(document)
        assert list(differences(want, answer)) == []
        everything = json.dumps([want["supply"], want["next"], want["held"]])
        assert "undefined" not in everything
        assert '""' not in json.dumps([want["supply"], want["held"]])


# Readings ---------------------------------------------------------------------------------

READ = """const r = { ...gauges, ...reading };
const { knowledge } = input;
const { units, contexts } = knowledge;
return input.asked.map(({ gauge, reading }) => {
  try {
    const found = r.interpret(knowledge.gauges[gauge], reading, reading, { units, contexts });
    return {
      found,
      words: r.readingWords(knowledge, found),
      assumed: r.assumptionsWords(knowledge, found.assumptions),
      asked: found.question && r.questionWords(knowledge, found.question),
    };
  } catch (error) {
    const { field, reason, given, options } = error;
    return { refused: { field, reason, given, options }, words: r.refusalWords(error) };
  }
})"""


def python_reading(gauge, reading):
    scales = scales_of(CATALOGUE)
    try:
        found = interpret(gauge_document(CATALOGUE.gauges[gauge]), reading, reading, scales)
    except ReadingRefused as refused:
        return {
            "refused": {
                "field": refused.field,
                "reason": refused.reason,
                "given": refused.given,
                "options": list(refused.options),
            },
            "words": refusal_words(refused),
        }
    return {
        "found": asdict(found),
        "words": reading_words(KNOWLEDGE, found),
        "assumed": assumptions_words(KNOWLEDGE, found.assumptions),
        "asked": found.question and question_words(KNOWLEDGE, found.question),
    }


def test_every_gauge_reads_alike():
    draw = random.Random(7)
    odd = ["12,5", "12,500", "x", "", None, True, "\N{MINUS SIGN}3", 1e9, -40]
    readings = []
    for name, gauge in CATALOGUE.gauges.items():
        for place in range(40):
            reading = random_reading(draw, gauge)
            if place % 4 == 0:
                reading["unit"] = draw.choice([*gauge.accepts, "volt", "", "MV"])
            if place % 8 == 1:
                reading["value"] = draw.choice(odd)
            if place % 8 == 2:
                reading["value"] *= draw.choice([0.1, 10, 1000])
            if place % 8 == 3 and gauge.conditions:
                reading[draw.choice(gauge.conditions).id] = draw.choice(["gle", 75, "unknown"])
            readings.append({"gauge": name, "reading": reading})
    answers = ask(READ, readings)
    kinds = set()
    for asked, answer in zip(readings, answers, strict=True):
        want = python_reading(asked["gauge"], asked["reading"])
        assert list(differences(want, answer)) == [], asked
        kinds.add("refused" if "refused" in want else "asked" if want["asked"] else "read")
    assert kinds == {"refused", "asked", "read"}


def test_the_normal_curve_is_the_same_to_the_last_digits():
    points = [-30.0, -5.5, -1.0, -0.3, 0.0, 1e-9, 0.47, 1.0, 2.5, 3.999, 4.0, 8.0, 26.0, 28.0]
    got = embedded(ROOMS, "return input.map((x) => normal.erfc(x))", points)
    assert got == pytest.approx([math.erfc(x) for x in points], rel=1e-14)
    slices = [(-1.0, 2.0), (3.0, 3.5), (-9.0, -8.0), (2.0, 1.0)]
    got = embedded(ROOMS, "return input.map(([a, b]) => normal.normalBetween(a, b))", slices)
    assert got == pytest.approx([normal_between(a, b) for a, b in slices], rel=1e-13)


# Policy over all pairs --------------------------------------------------------------------

FOLLOW = """const { complaints, answers } = input.asked;
  const k = input.knowledge;
  const supplyCause = (name) => k.groups[k.causes[name].group].supply;
  const tooBad = (name, outcomes) => k.checks[name].needs.some((need) => {
    const levels = k.checks[need.check].levels.map((one) => one.id);
    const level = outcomes[need.check];
    return level && need.at_most && levels.indexOf(level) > levels.indexOf(need.at_most);
  });
  const wrong = [];
  let states = 0;
  for (const symptoms of complaints) {
    const waiting = [{}];
    while (waiting.length > 0) {
      const outcomes = waiting.pop();
      let advice;
      try {
        advice = triage.triage(k, { symptoms, context: {}, readings: {}, outcomes, not_possible: [] });
      } catch (error) {
        if (error.name === 'ContradictoryEvidence') continue;
        throw error;
      }
      states += 1;
      const say = (what) => wrong.push(`${symptoms} ${JSON.stringify(outcomes)}: ${what}`);
      const { state } = advice.supply;
      const reached = ({ check, level }) => outcomes[check] === level;
      const confirmed = (cause) => k.causes[cause].confirmed_by.some(reached);
      // What a stop line forbids, such as to look at a swollen battery, can confirm nothing.
      const lost = (check) =>
        abilities.missing(advice.findings.abilities, abilities.checkRequires(k.checks[check])) !== null;
      if (advice.repair) {
        const { cause, part } = advice.repair;
        if (advice.next.length > 0) say('a repair and a check at once');
        const open = k.causes[cause].confirmed_by.some(({ check }) =>
          !(check in outcomes) && !tooBad(check, outcomes) && !lost(check));
        const own = supplyCause(cause) && state !== 'sound' && open;
        if (part !== null && own && !confirmed(cause) && k.causes[cause].repair.price.low > 100) {
          say(`${part} without the check that would confirm it`);
        }
      }
      for (const { cause, until } of advice.hold_off) {
        if (confirmed(cause) && until.kind !== 'supply-sound') say(`${cause} is confirmed and held`);
        if (until.check in outcomes) say(`${cause} waits for ${until.check}, which was made`);
        if (until.kind === 'supply-sound' && state === 'sound') say(`${cause} waits for nothing`);
      }
      for (const one of advice.next) {
        if (one.because.length === 0) say(`${one.check} without a reason`);
        const overtaken = advice.findings.set_aside.some(({ check }) => check === one.check);
        if (one.check in outcomes && !overtaken) say(`${one.check} once more`);
      }
      if (advice.next.length === 0 && !advice.repair && !advice.workshop && !advice.watch) say('nothing to do');
      const lines = new Set(advice.stop_now.map((one) => one.id));
      // What a result has shown to be over stops nothing any more.
      for (const name of advice.findings.settled === null ? symptoms : []) {
        for (const line of k.symptoms[name].stop_now) if (!lines.has(line)) say(`no ${line}`);
      }
      const [first] = advice.next;
      if (first && first.expected_saving <= 0
        && (advice.next.length > 1 || !first.because.some(({ kind }) => kind === 'only-one'))) {
        say(`${first.check} is not worth making`);
      }
      if (first && !(first.check in outcomes) && Object.keys(outcomes).length < answers) {
        for (const { id } of k.checks[first.check].levels) {
          waiting.push({ ...outcomes, [first.check]: id });
        }
      }
    }
  }
  return { wrong, states };"""


@SWEEP
def test_every_answer_path_of_three_checks_keeps_the_policy(share):
    pairs = [[one, other] for one in COMPLAINTS for other in COMPLAINTS if one < other]
    # Of the many pairs every twentieth at most.
    chosen = [[one] for one in drawn(COMPLAINTS, share)] + pairs[:: 20 * share]
    follow_all(chosen, 3)
    # Every complaint alone, at least as far as its first check leads.
    if share > 1:
        follow_all([[one] for one in COMPLAINTS if [one] not in chosen], 1)


def follow_all(complaints, answers):
    answer = ask(FOLLOW, {"complaints": complaints, "answers": answers})
    assert answer["wrong"] == []
    # One state for nothing answered, and mostly at least two levels for each check.
    assert answer["states"] > (2 * answers - 1) * len(complaints)
