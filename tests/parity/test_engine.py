"""The browser's engine against the vectors and against Python."""

import json
import random
from pathlib import Path

import pytest

from build_tools.cli.machine import situation_from_document
from build_tools.engine.network import (
    evidence_from_document,
    network_from_document,
    odds_from_document,
)
from build_tools.engine.noisy_max import ContradictoryEvidence, infer
from build_tools.engine.planner import choose, repairs_only_value
from build_tools.engine.worlds import enumerate_worlds, level_table
from tests.embedded import embedded
from tests.reasoning.samples import (
    network_for_browser,
    random_evidence,
    random_network,
    random_odds,
    random_situation,
    situation_for_browser,
)
from tests.sweeps import SWEEP

VECTORS = Path(__file__).parents[1] / "vectors"
TOLERANCE = 1e-9

ENGINE = {"noisy": "engine/noisy-max", "worlds": "engine/worlds", "planner": "engine/planner"}


def load(name):
    return json.loads((VECTORS / name).read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", ["posteriors.json", "posteriors_big.json"])
def test_infer_agrees_with_the_vectors(name):
    entries = load(name)
    inputs = []
    for entry in entries:
        network = network_from_document(entry)
        inputs.append(
            {
                "network": network_for_browser(network),
                "odds": odds_from_document(network, entry["context"]),
                "evidence": evidence_from_document(network, entry["evidence"]),
            }
        )
    answers = embedded(
        ENGINE,
        "return input.map((one) => noisy.infer(one.network, one.odds, one.evidence));",
        inputs,
    )
    for answer, entry in zip(answers, entries, strict=True):
        assert answer["posteriors"] == pytest.approx(entry["posteriors"], abs=TOLERANCE)
        assert answer["logEvidence"] == pytest.approx(entry["log_evidence"], abs=TOLERANCE)


@pytest.mark.parametrize("name", ["plans.json", "plans_supply_first.json"])
def test_plans_agree_with_the_vectors(name):
    # How well fixed policies do is worked out, and held to the vectors, in Python only.
    entries = load(name)
    situations = [situation_from_document(entry) for entry in entries]
    answers = embedded(
        ENGINE,
        "return input.map((situation) => planner.choose(situation, 2 ** 50));",
        [situation_for_browser(situation) for situation in situations],
    )
    for plan, entry, situation in zip(answers, entries, situations, strict=True):
        assert plan["exact"]
        assert plan["value"] == pytest.approx(entry["ecr_optimal"], abs=TOLERANCE)
        repairs_only = plan["ecrRepairsOnly"]
        assert repairs_only == pytest.approx(repairs_only_value(situation), abs=TOLERANCE)
        if entry["ecr_repairs_only"] is not None:
            assert repairs_only == pytest.approx(entry["ecr_repairs_only"], abs=TOLERANCE)
        if "optimal_first" in entry:
            first = entry["optimal_first"]
            assert plan["action"] == {"kind": first["type"], "id": first["id"]}


def draw_network(seed):
    rng = random.Random(seed)
    network = random_network(
        rng,
        causes=rng.randint(1, 14),
        findings=rng.randint(1, 14),
        links=rng.randint(1, 5),
        dead_links=seed % 5 == 0,
    )
    if seed % 10 == 0:
        # Without leaks some evidence is impossible; both sides must say so.
        for finding in network.findings:
            object.__setattr__(finding, "leak", (1.0,) * len(finding.leak))
    return network, random_odds(rng, network), random_evidence(rng, network)


def python_side(network, odds, evidence):
    candidates = [c.id for c in network.causes][:5]
    try:
        result = infer(network, odds, evidence)
    except ContradictoryEvidence as error:
        return {"clash": list(error.findings)}
    answer = {
        "posteriors": result.posteriors,
        "logEvidence": result.log_evidence,
        "work": result.work,
        "apart": result.apart,
    }
    try:
        listed = enumerate_worlds(network, odds, evidence, candidates=candidates)
    except ContradictoryEvidence:
        return answer
    answer["masks"] = list(listed.masks)
    answer["weights"] = list(listed.weights)
    answer["tables"] = [level_table(network, listed, f.id) for f in network.findings]
    return answer


BROWSER_SIDE = """
return input.map(({ network, odds, evidence }) => {
  const candidates = network.causes.map((c) => c.id).slice(0, 5);
  let result;
  try {
    result = noisy.infer(network, odds, evidence);
  } catch (error) {
    if (!(error instanceof noisy.ContradictoryEvidence)) throw error;
    return { clash: error.findings };
  }
  const answer = { ...result };
  try {
    const listed = worlds.enumerateWorlds(network, odds, evidence, { candidates });
    answer.masks = listed.masks;
    answer.weights = listed.weights;
    answer.tables = network.findings.map((f) => worlds.levelTable(network, listed, f.id));
  } catch (error) {
    if (!(error instanceof noisy.ContradictoryEvidence)) throw error;
  }
  return answer;
});
"""


@SWEEP
def test_five_hundred_random_networks_agree_with_python(share):
    networks_agree(embedded, 500 // share)


def networks_agree(run, count):
    drawn = [draw_network(seed) for seed in range(count)]
    inputs = [
        {
            "network": network_for_browser(network),
            "odds": odds,
            "evidence": {name: list(weights) for name, weights in evidence.items()},
        }
        for network, odds, evidence in drawn
    ]
    answers = run(ENGINE, BROWSER_SIDE, inputs)
    expected = [python_side(*item) for item in drawn]
    assert sum("clash" in answer for answer in expected) >= count / 100
    for answer, wanted in zip(answers, expected, strict=True):
        assert set(answer) == set(wanted)
        if "clash" in wanted:
            assert answer["clash"] == wanted["clash"]
            continue
        assert answer["posteriors"] == pytest.approx(wanted["posteriors"], abs=TOLERANCE)
        assert answer["logEvidence"] == pytest.approx(wanted["logEvidence"], abs=TOLERANCE)
        assert (answer["work"], answer["apart"]) == (wanted["work"], wanted["apart"])
        assert answer.get("masks") == wanted.get("masks")
        assert answer.get("weights", []) == pytest.approx(wanted.get("weights", []), abs=TOLERANCE)
        for table, rows in zip(answer.get("tables", []), wanted.get("tables", []), strict=True):
            for row, chances in zip(table, rows, strict=True):
                assert row == pytest.approx(chances, abs=TOLERANCE)


def draw_situation(seed):
    rng = random.Random(seed)
    return random_situation(
        rng,
        causes=rng.randint(1, 6),
        checks=rng.randint(1, 5),
        multi=seed % 3 == 0,
        gate=seed % 2 == 0,
    )


@SWEEP
def test_random_plans_agree_with_python_step_by_step(share):
    plans_agree(embedded, 150 // share)


def plans_agree(run, count):
    drawn = [draw_situation(seed) for seed in range(count)]
    answers = run(
        ENGINE,
        "return input.map((situation) => planner.choose(situation, 20000));",
        [situation_for_browser(situation) for situation in drawn],
    )
    kinds = set()
    for plan, situation in zip(answers, drawn, strict=True):
        wanted = choose(situation, work_limit=20_000)
        assert (plan["horizon"], plan["exact"]) == (wanted.horizon, wanted.exact)
        assert plan["action"] == {"kind": wanted.action.kind, "id": wanted.action.id}
        assert plan["value"] == pytest.approx(wanted.value, abs=TOLERANCE)
        assert plan["ecrRepairsOnly"] == pytest.approx(wanted.ecr_repairs_only, abs=TOLERANCE)
        named = [(v["kind"], v["id"]) for v in plan["values"]]
        assert named == [(v.kind, v.id) for v in wanted.values]
        for value, expected in zip(plan["values"], wanted.values, strict=True):
            assert value["value"] == pytest.approx(expected.value, abs=TOLERANCE)
        kinds.add((plan["action"]["kind"], plan["exact"]))
    # The draw covers both kinds of step, and plans that are the optimum and that are not.
    assert {kind for kind, _ in kinds} == {"check", "repair"}
    assert {exact for _, exact in kinds} == {True, False}


def test_errors_carry_their_figures():
    answer = embedded(
        ENGINE,
        """
        const causes = [0, 1, 2].map((k) => ({ id: `c${k}`, prior: 0.1 }));
        const links = Object.fromEntries(causes.map((c) => [c.id, [0.5]]));
        const findings = [0, 1, 2, 3].map((k) => (
          { id: `f${k}`, levels: ['no', 'yes'], leak: [0.99], links }));
        const evidence = Object.fromEntries(findings.map((f) => [f.id, [0, 1]]));
        const said = [];
        for (const attempt of [
          () => noisy.infer({ causes, findings }, {}, evidence, { widthLimit: 15 }),
          () => noisy.infer({ causes, findings }, { ghost: 1 }, {}),
          () => planner.choose({ causeIds: ['a'], repairCosts: [1], masks: [1], weights: [0],
            checks: [] }, 0),
        ]) {
          try { attempt(); said.push(null); } catch (e) {
            said.push([e.name, e.message, e.width ?? null, e.limit ?? null]);
          }
        }
        return said;
        """,
    )
    assert answer[0][0] == "FrontierTooWide"
    assert answer[0][2:] == [16, 15]
    assert 'odds: "ghost" is no cause' in answer[1][1]
    assert "no world has any weight" in answer[2][1]
