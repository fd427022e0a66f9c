"""Sentences of sums: every verdict can be reached, every figure is filled in and sourced."""

import random
import re

import pytest

from build_tools.cli.reading_command import sum_command
from build_tools.knowledge.folders import TEMPLATES
from build_tools.knowledge.sentences import forms
from build_tools.knowledge.yaml_reader import read
from build_tools.measure.sum_document import sum_document
from build_tools.measure.sums import work_out
from build_tools.measure.words import fixed, marks_used, unit_words
from tests.reasoning.readings import CATALOGUE, SOURCES, SUMS, UNITS, random_inputs
from tests.shipped import PROBLEMS

_NUMBER = re.compile(r"(?<![\w.])\d+(?:\.\d+)?")
# Figures in prose that are no constant of the sum and stand in no note of its sources:
# sum, figure -> the mark it is shown under.
EXPLAINED = {
    ("alternator-output", 41): "tm-10-3930-charging-tests",
    ("alternator-output", 45): "tm-10-3930-charging-tests",
    ("alternator-output", 91): "tm-10-3930-charging-tests",  # 41 of 45
    ("alternator-output", 100): "tm-10-3930-charging-tests",
    ("alternator-output", 2000): "common-practice",
    ("charge-time", 20): "charger-manual",  # the name of the rating
    ("freezing-point", 19): "trade-state-of-charge-table",
    ("freezing-point", 25): "trade-state-of-charge-table",
    ("fuse-drop-current", 15): "parasitic-service-report",
    ("fuse-drop-current", 22): "parasitic-service-report",
    ("hand-tester", 10): "common-practice",
    ("internal-resistance", 18): "rating-lexicon",
    ("own-loss", 2): "charging-knowledge-base",
    ("own-loss", 15): "deep-cycle-data-sheet",
    ("rating-ratio", 60): "common-practice",
    ("reserve-capacity", 20): "charger-manual",
    ("slow-charge-rate", 24): "tm-5-4210-load-table",
}
# An example of how to write a reading, the number of a cell, the name of the system.
NO_FIGURES = {("gravity-corrected", 1.245), ("volts-from-cell", 12), ("cold-margin", 1)}


MARKS = forms("mark")


def prose(definition):
    yield from (definition.get(key) or "" for key in ("summary", "does_not_tell", "next", "note"))
    yield from definition["verdicts"].values()
    yield from (definition.get("refusals") or {}).values()
    yield from (one["label"] for one in definition["outputs"])
    for entry in definition["inputs"]:
        if not re.fullmatch(r"Cell \d", entry["label"]):
            yield entry["label"]
        yield entry.get("hint", "")
        yield (entry.get("if_left_out") or {}).get("says", "")


# A temperature in the reader's scale, with the figure it stands for behind it.
_BOTH_SCALES = re.compile(r"(?:(-?\d+) to )?(-?\d+) °F \((?:(-?\d+) to )?(-?\d+) °C\)")


def in_one_scale(text):
    """Leave the figure in degC, once the one in degF is found to be the same, or the same step."""

    def one(match):
        low, high, *celsius = (None if part is None else int(part) for part in match.groups())
        for fahrenheit, known in zip((low, high), celsius, strict=True):
            if known is None:
                assert fahrenheit is None, text
                continue
            assert fahrenheit in {round(known * 1.8 + 32), round(known * 1.8)}, text
        return " ".join(part for part in match.groups()[2:] if part)

    return _BOTH_SCALES.sub(one, text)


def printed(definition):
    """Every figure that carries a mark in the sum's file or stands in a note it cites."""
    figures = set()
    for constant in (definition.get("constants") or {}).values():
        figures |= {round(abs(constant["value"]) * factor, 9) for factor in (1, 100)}
    for table in (definition.get("tables") or {}).values():
        figures |= {abs(number) for point in table["points"] for number in point}
    for mark in definition["sources"]:
        if mark not in MARKS:
            source = CATALOGUE.sources[mark]
            figures |= {float(one) for one in _NUMBER.findall(f"{source.note} {source.section}")}
    return figures


def test_the_shipped_knowledge_has_no_problem_with_sums():
    assert [one for one in PROBLEMS if "sums/" in str(one.span)] == []
    assert len(SUMS) == 24


@pytest.mark.parametrize("sum_id", sorted(SUMS))
def test_every_constant_and_table_has_a_source_or_a_mark(sum_id):
    definition = SUMS[sum_id]
    constants, tables = definition.get("constants") or {}, definition.get("tables") or {}
    # Both are cited together, so a name must not stand for two things.
    assert not set(constants) & set(tables)
    for entry in (*constants.values(), *tables.values()):
        assert entry["source"] in MARKS or entry["source"] in CATALOGUE.sources
    used = marks_used(definition)
    assert used
    assert len(used) == len(set(used))
    assert all(mark in MARKS or mark in CATALOGUE.sources for mark in used)


@pytest.mark.parametrize("sum_id", sorted(SUMS))
def test_every_figure_in_prose_is_marked(sum_id):
    definition = SUMS[sum_id]
    known = printed(definition)
    for text in prose(definition):
        for word in _NUMBER.findall(in_one_scale(text.replace("\u2212", "-"))):
            number = float(word)
            if number in known or (sum_id, number) in NO_FIGURES:
                continue
            mark = EXPLAINED.get((sum_id, number))
            assert mark in marks_used(definition), f"{word} in: {text}"


def test_no_explanation_is_left_over():
    said = {
        (sum_id, float(word))
        for sum_id, definition in SUMS.items()
        for text in prose(definition)
        for word in _NUMBER.findall(text.replace("\u2212", "-"))
    }
    assert set(EXPLAINED) | NO_FIGURES <= said


@pytest.mark.parametrize("sum_id", sorted(SUMS))
def test_every_verdict_is_reachable_and_every_place_filled(sum_id):
    definition = SUMS[sum_id]
    rng = random.Random(sum_id)
    own = set(definition.get("refusals") or {})
    missing = set(definition["verdicts"]) | own
    for _ in range(20_000):
        result = work_out(definition, random_inputs(rng, definition), UNITS)
        told = sum_document(definition, result, UNITS, SOURCES)
        missing -= {result.verdict, result.refused and result.refused.reason}
        if result.verdict is not None:
            assert result.verdict in definition["verdicts"]
            assert not re.search(r"[{}]|nan|None", told["sentence"])
        elif result.refused.reason not in own:
            assert told["refused"]["why"].endswith(".")
            assert "{" not in told["refused"]["why"]
        if not missing:
            break
    assert missing == set()


@pytest.mark.parametrize("sum_id", sorted(SUMS))
def test_every_output_is_shown_somewhere(sum_id):
    definition = SUMS[sum_id]
    rng = random.Random(sum_id)
    shown = set()
    for _ in range(3000):
        result = work_out(definition, random_inputs(rng, definition), UNITS)
        shown |= {one["id"] for one in sum_document(definition, result, UNITS, SOURCES)["outputs"]}
    assert shown == {one["id"] for one in definition["outputs"]}


@pytest.mark.parametrize("sum_id", sorted(SUMS))
def test_a_reading_for_a_check_fits_its_gauge(sum_id):
    definition = SUMS[sum_id]
    ways = definition.get("to_case") or ()
    rng = random.Random(sum_id)
    offered = set()
    for _ in range(4000 if ways else 0):
        result = work_out(definition, random_inputs(rng, definition), UNITS)
        reading = sum_document(definition, result, UNITS, SOURCES)["to_case"]
        if reading is None:
            continue
        offered.add(reading["check"])
        gauge = CATALOGUE.gauges[CATALOGUE.checks[reading["check"]].gauge]
        assert reading["unit"] in gauge.accepts
        assert set(reading["conditions"]) <= {one.id for one in gauge.conditions}
    assert offered == {one["check"] for one in ways}


@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [
        (12.345, 2, "12.35"),
        (-0.004, 2, "0.00"),
        (-5.5, 0, "\u22126"),
        (0.0005, 3, "0.001"),
        (99.95, 1, "100.0"),
    ],
)
def test_figures_are_rounded_away_from_zero(value, decimals, text):
    assert fixed(value, decimals) == text


def test_units_after_figures():
    assert unit_words("percent", UNITS) == "%"
    assert unit_words("day", UNITS) == "\u00a0days"
    assert unit_words("A-min", UNITS) == "\u00a0A\u00b7min"
    assert unit_words("sg", UNITS) == ""


# ---- The command.


def test_units_glued_and_spaced():
    # Maker's bulletin: RC 100 at 50 mA stands 20.0 days.
    told = sum_command(CATALOGUE, "days-until-no-start", ["draw=50mA", "reserve=100 min"])
    assert told["outputs"][0]["value"] == pytest.approx(20.0, abs=0.1)
    assert told["to_case"] == {
        "check": "measure-parasitic-draw",
        "value": pytest.approx(0.05),
        "unit": "A",
        "conditions": {},
    }
    for text in ("temperature=-5degC", "temperature=-5 \u00b0C", "temperature=23degF"):
        told = sum_command(CATALOGUE, "freezing-point", ["charge=50%", text])
        assert told["inputs"]["temperature"]["value"] == pytest.approx(-5)
        assert told["verdict"] == "keep-charged"


def test_a_unit_left_out_is_said():
    told = sum_command(CATALOGUE, "volts-from-cell", ["cell-voltage=2.12"])
    assert told["assumptions"] == ["Volts per cell: no unit given, so we use V."]
    assert told["sentence"] == "That is 12.72\u00a0V for the whole battery."


def test_what_cannot_be_used_is_named():
    told = sum_command(CATALOGUE, "charge-from-voltage", ["voltage=1.25V"])
    assert told["refused"]["field"] == "voltage"
    assert told["refused"]["mend"] == "Did you mean 12.5\u00a0V?"
    assert told["question"]["likely_value"] == pytest.approx(12.5)
    told = sum_command(CATALOGUE, "charge-from-voltage", ["voltage=twelve"])
    assert told["refused"]["reason"] == "not-a-number"
    with pytest.raises(ValueError, match="KEY=VALUE"):
        sum_command(CATALOGUE, "charge-from-voltage", ["12.5"])
    with pytest.raises(ValueError, match="twice"):
        sum_command(CATALOGUE, "charge-from-voltage", ["voltage=12.5", "voltage=12.6"])
    with pytest.raises(LookupError, match="load-test"):
        sum_command(CATALOGUE, "loadtest", [])


def test_the_template_works_as_it_stands():
    text = (TEMPLATES / "sum.yml").read_text(encoding="utf-8")
    definition = read(text, "sum.yml")[0].value
    given = {"current": {"value": 2, "unit": "A"}, "minutes": {"value": 3, "unit": "h"}}
    told = sum_document(definition, work_out(definition, given, UNITS), UNITS, SOURCES)
    # 2 A for 3 h: the definition of the ampere-hour.
    assert told["sentence"] == "That moves 6.00\u00a0Ah."
