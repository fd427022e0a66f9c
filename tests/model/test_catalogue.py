"""The catalogue holds what the files say, and the network its numbers.

The base catalogue in tests/fixtures is small enough to know by heart; expected numbers are
worked out by hand from the scale (1 - 0.8 = 0.2). Unit conversions are held against Pint.
"""

import shutil

import pint
import pytest

from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.knowledge.assemble import load_catalogue
from build_tools.knowledge.entries import EdgeCurve
from build_tools.knowledge.folders import KINDS, PROJECT
from build_tools.knowledge.quantities import Quantity, UnitMismatchError, convert

BASE = PROJECT / "tests" / "fixtures" / "base"


@pytest.fixture(scope="module")
def base():
    catalogue, problems = load_catalogue(BASE)
    assert problems == []
    return catalogue


@pytest.fixture(scope="module")
def shipped():
    return load_catalogue(PROJECT)


def test_entries_are_read_as_written(base):
    symptom = base.symptoms["will-not-crank"]
    assert [link.cause for link in symptom.causes] == ["battery-empty", "starter-stuck"]
    assert symptom.causes[0].how_often.value == 0.8
    assert symptom.causes[0].how_often.word == "usually"
    assert symptom.causes[0].how_often.source == "our-estimate"
    cause = base.causes["starter-stuck"]
    assert cause.repair.price.middle == 275
    assert cause.confirmed_by[0].level == "clicks"
    check = base.checks["measure-volts"]
    assert check.level_index("low") == 2
    assert check.levels[0].proves
    assert not check.levels[1].proves
    gauge = base.gauges["resting-volts"]
    assert gauge.conditions[0].points == ((-5.0, 0.25), (15.0, 0.75))
    assert gauge.tables[0].bands[1].start == 12.0
    case = base.cases["flat-in-the-frost"]
    assert case.context["warmth"] == Quantity(value=-5.0, unit="degC")
    assert case.expect.checks_next
    assert case.expect.next is None
    bare = base.cases["clicks-and-full"].readings["measure-volts"].conditions["warmth"]
    assert bare == Quantity(value=20.0, unit="degC")  # the context's own unit


def test_network_holds_the_numbers_of_the_files(base):
    network = network_from_catalogue(base)
    assert [(one.id, one.prior) for one in network.causes] == [
        ("battery-empty", 0.1),
        ("starter-stuck", 0.007),
    ]
    findings = {one.id: one for one in network.findings}
    assert list(findings) == ["will-not-crank", "listen-while-cranking", "measure-volts"]
    symptom = findings["will-not-crank"]
    assert symptom.levels == ("no", "yes")
    assert symptom.leak == (0.998,)
    assert symptom.links == {"battery-empty": (0.2,), "starter-stuck": (0.05,)}
    check = findings["measure-volts"]
    assert check.levels == ("full", "fair", "low")
    assert check.leak == (0.95, 0.99)
    assert check.links == {"battery-empty": (0.05, 0.2)}


def test_equal_files_give_equal_catalogues_in_one_order(base):
    again, _ = load_catalogue(BASE)
    assert again == base
    for kind in KINDS:
        assert list(again.of_kind(kind)) == sorted(again.of_kind(kind))


def test_a_broken_file_takes_out_only_itself(tmp_path):
    knowledge = tmp_path / "symptoms"
    shutil.copytree(BASE, knowledge)
    path = knowledge / "causes" / "starter-stuck.yml"
    path.write_text(path.read_text().replace("minutes: 90", "minutes: soon"))
    catalogue, problems = load_catalogue(tmp_path)
    assert [one.code for one in problems] == ["SHP004"]  # references to it are not dangling
    assert "starter-stuck" not in catalogue.causes
    assert "battery-empty" in catalogue.causes
    network = network_from_catalogue(catalogue)
    assert [one.id for one in network.causes] == ["battery-empty"]
    assert all("starter-stuck" not in one.links for one in network.findings)


@pytest.mark.parametrize(
    ("file", "old", "new", "words"),
    [
        ("causes/starter-stuck.yml", "level: clicks", "level: cliks", 'has no "cliks"'),
        ("causes/battery-empty.yml", "is: frost", "is: frosty", 'context "warmth" has no "frosty"'),
        ("checks/measure-volts.yml", "bands: [fair]", "bands: [fare]", 'has no "fare"'),
        ("checks/measure-volts.yml", "low: usually}", "lower: usually}", 'has no "lower"'),
        ("checks/listen-while-cranking.yml", "at_most: fair", "at_most: far", 'has no "far"'),
        ("gauges/resting-volts.yml", "band: low, b", "band: lo, b", 'has no "lo"'),
        ("gauges/resting-volts.yml", "cheap: 0.75", "poor: 0.75", 'has no "poor"'),
        ("gauges/resting-volts.yml", "for: {}", "for: {meter: bad}", 'has no "bad"'),
        ("cases/clicks-and-full.yml", "cranking: clicks", "cranking: clack", 'has no "clack"'),
        ("cases/clicks-and-full.yml", "meter: good", "metre: good", 'has no "metre"'),
        ("cases/clicks-and-full.yml", "measure-volts:", "listen-while-cranking:", "has no gauge"),
    ],
)
def test_names_of_parts_are_followed(tmp_path, file, old, new, words):
    knowledge = tmp_path / "symptoms"
    shutil.copytree(BASE, knowledge)
    path = knowledge / file
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new, 1))
    _, problems = load_catalogue(tmp_path)
    told = [one for one in problems if one.code == "REF201" and words in one.what]
    assert told, problems
    assert told[0].span.file == f"symptoms/{file}"
    line = path.read_text().splitlines()[told[0].span.line - 1]
    assert new.split(": ")[-1].strip("{}[]").split(",")[0].split(":")[0] in line


def test_edge_may_be_a_curve(tmp_path):
    knowledge = tmp_path / "symptoms"
    shutil.copytree(BASE, knowledge)
    path = knowledge / "gauges" / "resting-volts.yml"
    curve = "{by: warmth, unit: degF, points: [[0, 11.8], [70, 12]]}"
    text = path.read_text().replace("below: 12}", f"below: {curve}}}")
    path.write_text(text.replace("from: 12,", f"from: {curve},"))
    catalogue, problems = load_catalogue(tmp_path)
    assert problems == []
    edge = catalogue.gauges["resting-volts"].tables[0].bands[0].below
    assert edge == EdgeCurve(by="warmth", unit="degF", points=((0.0, 11.8), (70.0, 12.0)))


def test_units_convert_as_with_pint(shipped):
    units = shipped[0].vocabulary.units
    registry = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
    pairs = [
        ("V", "mV"),
        ("A", "mA"),
        ("degC", "degF"),
        ("ohm", "mohm"),
        ("Ah", "mAh"),
        ("h", "min"),
    ]
    names = {"mohm": "milliohm", "Ah": "ampere_hour", "mAh": "milliampere_hour", "min": "minute"}
    for one, other in pairs:
        for unit, to in ((one, other), (other, one)):
            for value in (-40.0, 0.0, 12.6, 350.0):
                there = registry.Quantity(value, names.get(unit, unit)).to(names.get(to, to))
                assert convert(value, unit, to, units) == pytest.approx(there.magnitude, abs=1e-9)
    with pytest.raises(UnitMismatchError):
        convert(1, "V", "A", units)
    with pytest.raises(UnitMismatchError):
        convert(1, "V", "furlong", units)


def test_shipped_knowledge_reads_without_an_error(shipped):
    catalogue, problems = shipped
    assert [one for one in problems if one.severity.value == "error"] == []
    assert len(catalogue.symptoms) >= 20
    network = network_from_catalogue(catalogue)
    assert len(network.causes) == len(catalogue.causes)
