"""The machine's documents: answers in order, refusals with entry and field named."""

import copy
import json
from pathlib import Path

import pytest

from build_tools.cli.machine import plan_document, posterior_document

VECTORS = Path(__file__).parents[1] / "vectors"


def load(name):
    return json.loads((VECTORS / name).read_text(encoding="utf-8"))


def test_posterior_document_answers_every_entry_in_order():
    entries = load("posteriors.json")
    answers = posterior_document(entries)
    assert [a["name"] for a in answers] == [e["name"] for e in entries]
    for answer, entry in zip(answers, entries, strict=True):
        assert set(answer) == {"name", "posteriors", "log_evidence"}
        assert answer["posteriors"] == pytest.approx(entry["posteriors"], abs=1e-9)
        assert answer["log_evidence"] == pytest.approx(entry["log_evidence"], abs=1e-9)
    json.dumps(answers, allow_nan=False)


@pytest.mark.parametrize("name", ["plans.json", "plans_supply_first.json"])
def test_plan_document_answers_every_entry_in_order(name):
    entries = load(name)
    answers = plan_document(entries)
    assert [a["name"] for a in answers] == [e["name"] for e in entries]
    for answer, entry in zip(answers, entries, strict=True):
        assert set(answer) == {"name", "ecr_repairs_only", "ecr_policy", "ecr_optimal"}
        assert answer["ecr_optimal"] == pytest.approx(entry["ecr_optimal"], abs=1e-9)
        assert answer["ecr_policy"] <= entry["ecr_optimal"] * 1.03
    json.dumps(answers, allow_nan=False)


def test_plan_document_gives_null_where_the_optimum_is_too_large():
    answer = plan_document(load("plans.json")[:1], state_limit=10)[0]
    assert answer["ecr_optimal"] is None
    assert answer["ecr_policy"] > 0


@pytest.mark.parametrize("document", [{}, "text", None, 3])
def test_a_document_that_is_no_list_is_refused(document):
    for function in (posterior_document, plan_document):
        with pytest.raises(ValueError, match="document: a list is wanted"):
            function(document)


POSTERIOR_FAULTS = [
    (("name",), None, "entry 1: name: a text is wanted"),
    (("causes",), None, r'entry 1 \("net-1"\): causes: a list is wanted'),
    (("causes", 0, "prior"), "much", r'"net-1"\): causes\[0\].prior: a number is wanted'),
    (("causes", 0, "prior"), 1.0, r'"net-1"\): cause "c0": prior 1.0'),
    (("causes", 0, "prior"), float("nan"), r"causes\[0\].prior: nan is not a finite number"),
    (("causes", 1, "id"), "c0", "two causes share an id"),
    (("findings", 0, "leak"), [2], r'finding "f0", leak: 2'),
    (("findings", 0, "links"), [], r"findings\[0\].links: a mapping is wanted"),
    (("context",), {"ghost": 2}, r'"net-1"\): context: "ghost" is no cause'),
    (("context",), {"c0": 0}, "context.c0: the multiplier 0"),
    (("evidence",), {"ghost": "yes"}, 'evidence: "ghost" is no finding'),
    (("evidence",), {"f0": "ghost"}, 'evidence.f0: "ghost" is not one of its levels'),
    (("evidence",), {"f0": {"normal": "x"}}, "evidence.f0.normal: a number is wanted"),
    (("evidence",), {"f0": {"normal": -1}}, 'evidence on "f0": weight -1'),
    (("evidence",), {"f0": {}}, "can show these findings together: f0"),
]


@pytest.mark.parametrize(("path", "value", "said"), POSTERIOR_FAULTS)
def test_posterior_document_names_entry_and_field(path, value, said):
    with pytest.raises(ValueError, match=said):
        posterior_document([changed(load("posteriors.json")[0], path, value)])


PLAN_FAULTS = [
    (("causes", 0, "probability"), -0.1, r'entry 1 \("E08"\): causes\[0\].probability: -0.1'),
    (("causes", 0, "probability"), 0.9, "the probabilities add up to"),
    (("causes", 0, "repair_cost"), True, r"causes\[0\].repair_cost: a number is wanted"),
    (("checks",), {}, "checks: a list is wanted"),
    (("checks", 0, "levels"), 2.5, r"checks\[0\].levels: a whole number"),
    (("checks", 0, "cost"), -3, 'check "K0", cost: -3'),
    (("checks", 0, "table"), {"ghost": [1, 0]}, r'checks\[0\].table: "ghost" is no cause'),
    (("checks", 0, "table", "C0"), [1.0], 'check "K0", table: one number per level'),
    (("checks", 0, "table", "C0"), [0.5, 0.6], 'check "K0", table: a row adds up to'),
    (("rule", "check"), "ghost", 'rule: "ghost" is not among the checks'),
    (("rule", "repairs_dearer_than"), None, "rule.repairs_dearer_than: a number is wanted"),
]


@pytest.mark.parametrize(("path", "value", "said"), PLAN_FAULTS)
def test_plan_document_names_entry_and_field(path, value, said):
    entry = next(e for e in load("plans_supply_first.json") if e["name"] == "E08")
    with pytest.raises(ValueError, match=said):
        plan_document([changed(entry, path, value)])


def changed(entry, path, value):
    entry = copy.deepcopy(entry)
    target = entry
    for step in path[:-1]:
        target = target[step]
    target[path[-1]] = value
    return entry
