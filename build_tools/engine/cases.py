"""Read a case against the catalogue, naming every field that cannot be used.

A case is everything told and measured about one car. What comes in is a plain document, as
from a file or a link; what goes out is a frozen value and the list of problems. Nothing is
weighed here.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from build_tools.engine.mended import HOW_IT_HELPED
from build_tools.knowledge.catalogue import Catalogue
from build_tools.knowledge.entries import Case
from build_tools.knowledge.nearest import did_you_mean
from build_tools.knowledge.quantities import Quantity
from build_tools.measure.gauges import Scales, interpret, read_condition
from build_tools.measure.gauges_documents import gauge_document, scales_of
from build_tools.measure.gauges_numbers import ReadingRefused

_KEYS: Final = (
    "symptoms",
    "absent",
    "context",
    "readings",
    "outcomes",
    "tools",
    "not_possible",
    "mended",
    "helped",
    "past",
    "again",
    "hour_value",
)
_DEAREST_HOUR: Final = 1000


@dataclass(frozen=True)
class CaseProblem:
    """One thing in a case that cannot be used.

    `path` names the field (`readings.measure-resting-voltage.unit`), `what` says what is
    wrong in the writer's own words, `mend` what to write instead.
    """

    path: str
    what: str
    mend: str


@dataclass(frozen=True)
class CarCase:
    """Everything told and measured about one car.

    `symptoms` were noticed, `absent` were asked about and are not so. `context` holds an
    option, a number in the context's unit, or `{value, unit}`. `readings` hold `value`,
    `unit`, conditions by id and perhaps `confirmed`. `tools` None means every tool is at
    hand. `mended` are causes put right already, without an end of the trouble; results stand
    for the car after that (see `mended.mend`). `helped` says, by cause, that its repair made it
    "better" or that the trouble is "gone". `past` are symptoms that were there and are over.
    `again` are checks and contexts told after what changes them (see `mended.set_aside`).
    `hour_value` is the reader's own price of an hour, None for the usual one.
    """

    symptoms: tuple[str, ...] = ()
    absent: tuple[str, ...] = ()
    context: Mapping[str, Any] = field(default_factory=dict)
    readings: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    outcomes: Mapping[str, str] = field(default_factory=dict)
    tools: tuple[str, ...] | None = None
    not_possible: tuple[str, ...] = ()
    mended: tuple[str, ...] = ()
    helped: Mapping[str, str] = field(default_factory=dict)
    past: tuple[str, ...] = ()
    again: tuple[str, ...] = ()
    hour_value: float | None = None


class _CaseReader:
    """Reads one document; problems gather in the order of the fields."""

    def __init__(self, catalogue: Catalogue) -> None:
        self.catalogue = catalogue
        self.problems: list[CaseProblem] = []

    def say(self, path: str, what: str, mend: str) -> None:
        self.problems.append(CaseProblem(path, what, mend))

    def known(self, path: str, word: object, options: Iterable[str], kind: str) -> bool:
        choices = list(options)
        if isinstance(word, str) and word in choices:
            return True
        self.say(path, f'{kind} "{word}" does not exist', _did_you_mean(str(word), choices))
        return False

    def ids(
        self, document: Mapping[str, Any], key: str, options: Iterable[str], kind: str
    ) -> tuple[str, ...]:
        given = document.get(key) or []
        if isinstance(given, str) or not isinstance(given, Sequence):
            self.say(key, f"{key} is not a list", f"write {key}: [id, id]")
            return ()
        choices = list(options)
        kept: list[str] = []
        for place, word in enumerate(given):
            if self.known(f"{key}[{place}]", word, choices, kind) and word not in kept:
                kept.append(word)
        return tuple(kept)

    def mapping(self, document: Mapping[str, Any], key: str) -> Mapping[str, Any]:
        given = document.get(key) or {}
        if isinstance(given, Mapping):
            return given
        self.say(key, f"{key} is not a set of named values", f"write {key}: {{id: value}}")
        return {}


def _did_you_mean(word: str, options: Iterable[str]) -> str:
    choices = list(options)
    return did_you_mean(word, choices, where=f"choose one of the {len(choices)} known ids")


def read_case(
    document: Mapping[str, Any], catalogue: Catalogue
) -> tuple[CarCase, tuple[CaseProblem, ...]]:
    """Read a case document against the catalogue.

    Everything that can be used is in the case; everything else is in the problems, each
    with the path of the field and what to write instead. A reading that is only likely to
    be a slip is no problem here: it stays in the case and is asked about later.
    """
    reader = _CaseReader(catalogue)
    for key in document:
        if key not in _KEYS:
            reader.say(str(key), f'"{key}" is not part of a case', _did_you_mean(str(key), _KEYS))
    symptoms = reader.ids(document, "symptoms", catalogue.symptoms, "symptom")
    past = _besides(reader, document, "past", {"noticed": symptoms})
    absent = _besides(reader, document, "absent", {"noticed": symptoms, "past": past})
    readings = _read_readings(reader, document)
    tools = None
    if document.get("tools") is not None:
        tools = reader.ids(document, "tools", catalogue.vocabulary.tools, "tool")
    mended = reader.ids(document, "mended", catalogue.causes, "cause")
    case = CarCase(
        symptoms=symptoms,
        absent=absent,
        context=_read_context(reader, document),
        readings=readings,
        outcomes=_read_outcomes(reader, document, readings),
        tools=tools,
        not_possible=reader.ids(document, "not_possible", catalogue.checks, "check"),
        mended=mended,
        helped=_read_helped(reader, document, mended),
        past=past,
        again=reader.ids(
            document, "again", (*catalogue.checks, *catalogue.contexts), "check or context"
        ),
        hour_value=_read_hour_value(reader, document),
    )
    return case, tuple(reader.problems)


def _besides(
    reader: _CaseReader,
    document: Mapping[str, Any],
    key: str,
    others: Mapping[str, tuple[str, ...]],
) -> tuple[str, ...]:
    """Read a list of symptoms of which none stands in another list."""
    kept = []
    for name in reader.ids(document, key, reader.catalogue.symptoms, "symptom"):
        both = [told for told, names in others.items() if name in names]
        if both:
            reader.say(key, f'"{name}" is both {both[0]} and {key}', "keep it in one list")
        else:
            kept.append(name)
    return tuple(kept)


def _read_helped(
    reader: _CaseReader, document: Mapping[str, Any], mended: tuple[str, ...]
) -> dict[str, str]:
    kept: dict[str, str] = {}
    for name, how in reader.mapping(document, "helped").items():
        path = f"helped.{name}"
        if not reader.known(path, name, reader.catalogue.causes, "cause"):
            continue
        if name in mended:
            reader.say(path, f'"{name}" is both mended and helped', "keep it in one of them")
        elif reader.known(path, how, HOW_IT_HELPED, "answer"):
            kept[name] = how
    return kept


def _read_context(reader: _CaseReader, document: Mapping[str, Any]) -> dict[str, Any]:
    scales = scales_of(reader.catalogue)
    kept: dict[str, Any] = {}
    for name, given in reader.mapping(document, "context").items():
        path = f"context.{name}"
        if not reader.known(path, name, reader.catalogue.contexts, "context"):
            continue
        try:
            read_condition(name, given, scales)
        except ReadingRefused as refused:
            reader.say(path, *_refusal(refused))
            continue
        kept[name] = given
    return kept


def _read_readings(
    reader: _CaseReader, document: Mapping[str, Any]
) -> dict[str, Mapping[str, Any]]:
    catalogue = reader.catalogue
    measured = [name for name, check in catalogue.checks.items() if check.gauge]
    kept: dict[str, Mapping[str, Any]] = {}
    for name, given in reader.mapping(document, "readings").items():
        path = f"readings.{name}"
        check = catalogue.checks.get(name)
        if check is not None and check.gauge is None:
            mend = f'write its level under outcomes: "{check.levels[0].id}" or another'
            reader.say(path, f'check "{name}" has no gauge to read', mend)
        elif not reader.known(path, name, measured, "check"):
            continue
        elif not isinstance(given, Mapping):
            reader.say(path, "a reading needs a value and a unit", "write {value: 12.4, unit: V}")
        elif check is not None and _usable(reader, path, check.gauge or "", given):
            kept[name] = given
    return kept


def _usable(reader: _CaseReader, path: str, gauge_id: str, given: Mapping[str, Any]) -> bool:
    gauge = reader.catalogue.gauges.get(gauge_id)
    if gauge is None:
        return False
    conditions = [one.id for one in gauge.conditions]
    for key in given:
        if key not in ("value", "unit", "confirmed", *conditions, *reader.catalogue.contexts):
            known = ["value", "unit", "confirmed", *conditions]
            reader.say(
                f"{path}.{key}",
                f'"{key}" is not a condition of this reading',
                _did_you_mean(str(key), known),
            )
    scales: Scales = scales_of(reader.catalogue)
    try:
        interpret(gauge_document(gauge), given, given, scales)
    except ReadingRefused as refused:
        reader.say(f"{path}.{refused.field}", *_refusal(refused))
        return False
    return True


def _refusal(refused: ReadingRefused) -> tuple[str, str]:
    """Word a refusal: what is wrong and what to write instead."""
    given = f'"{refused.given}"'
    options = " or ".join(f'"{one}"' for one in refused.options)
    words = {
        "not-a-number": (f"{given} is not a number", "write a number such as 12.4"),
        "not-finite": (f"{given} is not a number one can measure", "write a number such as 12.4"),
        "comma-or-thousands": (
            f"{given} could mean a decimal point or thousands",
            "write 12.5 or 12500, without a comma",
        ),
        "unknown-unit": (f"unit {given} is not accepted here", f"write {options}"),
        "unknown-option": (f"{given} is not one of the answers", f"write {options}"),
        "outside-plausible": (f"{given} is outside what can be measured here", "measure again"),
        "condition-needed": ("this reading needs a condition that is missing", "add it"),
        "not-judged": ("a reading taken that way is too coarse to judge", "use another meter"),
        "no-table": ("no table covers these conditions", "leave a condition out"),
    }
    return words[refused.reason]


def _read_outcomes(
    reader: _CaseReader, document: Mapping[str, Any], readings: Mapping[str, Any]
) -> dict[str, str]:
    kept: dict[str, str] = {}
    for name, level in reader.mapping(document, "outcomes").items():
        path = f"outcomes.{name}"
        if not reader.known(path, name, reader.catalogue.checks, "check"):
            continue
        levels = [one.id for one in reader.catalogue.checks[name].levels]
        if not reader.known(path, level, levels, "level"):
            continue
        if name in readings:
            reader.say(path, "this check has a reading and a level", "keep the reading")
            continue
        kept[name] = level
    return kept


def _read_hour_value(reader: _CaseReader, document: Mapping[str, Any]) -> float | None:
    given = document.get("hour_value")
    if given is None:
        return None
    plain = isinstance(given, int | float) and not isinstance(given, bool)
    if plain and 0 <= given <= _DEAREST_HOUR:
        return float(given)
    reader.say(
        "hour_value", f'"{given}" is not a price of an hour', "write a number from 0 to 1000"
    )
    return None


def case_document(case: Case) -> dict[str, Any]:
    """Write a worked case of the catalogue as the document that `read_case` takes."""
    document: dict[str, Any] = {
        "symptoms": list(case.symptoms),
        "absent": list(case.absent),
        "context": {name: _plain(value) for name, value in case.context.items()},
        "readings": {
            name: {
                "value": reading.quantity.value,
                "unit": reading.quantity.unit,
                **{key: _plain(value) for key, value in reading.conditions.items()},
            }
            for name, reading in case.readings.items()
        },
        "outcomes": dict(case.outcomes),
        "not_possible": list(case.not_possible),
        "mended": list(case.mended),
        "helped": dict(case.helped),
        "past": list(case.past),
        "again": list(case.again),
    }
    if case.tools is not None:
        document["tools"] = list(case.tools)
    return document


def _plain(value: str | Quantity) -> str | dict[str, Any]:
    return value if isinstance(value, str) else {"value": value.value, "unit": value.unit}
