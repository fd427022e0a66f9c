"""Command line: readouts, reasons and verdicts as lines of text, the parts the pages show."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from build_tools.knowledge.markup import fraction_words
from build_tools.knowledge.sentences import forms

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from build_tools.knowledge.catalogue import Catalogue

_KINDS: Final = {"confirmed": "stored", "pending": "pending", "permanent": "permanent"}
_ENGINES: Final = {"spark": "gasoline or other spark engine", "compression": "diesel"}
_UNITS: Final = {
    "percent": "%",
    "count": "",
    "degC": "\N{DEGREE SIGN}C",
    "degree": "\N{DEGREE SIGN}",
}
_SHOWN: Final = 4


def readout_lines(read: Mapping[str, Any]) -> Iterator[str]:
    """Yield what a readout says: the verdict, lamp, monitors, codes, values, modules, notes."""
    yield read["says"]
    merged = read["merged"]
    if merged:
        lamp = "on" if merged["mil"] else "off"
        yield f"lamp: {lamp}, codes counted: {merged['count']}"
        yield f"engine: {_ENGINES.get(merged['ignition'], 'the units do not agree')}"
        yield from _monitor_lines(read, merged)
    for one in read["understood"]:
        yield f"line {one['line']}: {one['monitor']}, {one['state'] or 'unclear: say which'}"
    if len(read["units"]) > 1:
        for unit in read["units"]:
            yield f"module {unit['ecu']}: {unit['bytes'] or 'told'}"
    for code in read["codes"]:
        yield from code_lines(code)
    for kind in read["code_services"]:
        if all(code["kind"] != kind for code in read["codes"]):
            yield f"{_KINDS[kind]} codes: none"
    yield from value_lines(read["values"])
    yield from _more_lines(read)
    for warned in read["warnings"]:
        yield f"note: {warned['says']}"


def _monitor_lines(read: Mapping[str, Any], merged: Mapping[str, Any]) -> Iterator[str]:
    if read["usable"]:
        open_ones = ", ".join(merged["incomplete"]) or "none"
        yield f"incomplete: {open_ones} (of {len(merged['countable'])} counted)"
    done = [one["id"] for one in merged["monitors"] if one["complete"] and not one["continuous"]]
    lacking = [one["id"] for one in merged["monitors"] if not one["supported"]]
    groups = (
        ("complete", done),
        ("always running, yet incomplete", merged["incomplete_continuous"]),
        ("not on this car", lacking),
    )
    for name, ids in groups:
        if ids:
            yield f"{name}: {', '.join(ids)}"
    trip = [one["id"] for one in merged["monitors"] if one["this_trip"] == "disabled"]
    if trip and (barred := [one for one in trip if one in merged["incomplete"]]):
        yield f"cannot run on this trip: {', '.join(barred)}"


def code_lines(code: Mapping[str, Any]) -> Iterator[str]:
    """Yield what a code says: its list, family, meaning, monitors, and the checks behind it."""
    family = forms("code-family").get(code["family"] or "", "unknown")
    title = f": {code['title']}" if code["title"] else ""
    yield f"{code['code']} ({_KINDS.get(code['kind'], code['kind'])}){title}; family: {family}"
    for one in code["means"]:
        yield f"  {one['says']}"
    if not code["means"] or code["relation"] != "not-listed":
        yield f"  {forms('code-relation')[code['relation']]} {code['note'] or ''}".rstrip()
    if code["monitors"]:
        yield f"  it holds: {', '.join(code['monitors'])}"
    if code["checks"]:
        yield f"  tells apart: {', '.join(code['checks'])}"


def value_lines(values: Iterable[Mapping[str, Any]], start: str = "") -> Iterator[str]:
    """Yield each value with its name and unit."""
    names = forms("readout-value")
    for one in values:
        unit = _UNITS.get(one["unit"], one["unit"])
        shown = one["text"] if one["value"] is None else f"{one['value']:.4g} {unit}".rstrip()
        more = " or more" if one["at_limit"] else ""
        yield f"{start}{names.get(one['name'], one['name'])}: {shown}{more}"


def _more_lines(read: Mapping[str, Any]) -> Iterator[str]:
    for frame in read["freeze"]:
        yield f"freeze frame {frame['frame']}, for {frame['code'] or 'no code named'}:"
        yield from value_lines(frame["values"], "  ")
        for raw in frame["raw"]:
            yield f"  {raw} (raw: we know no scale for it)"
    yield from map(_test_line, read["tests"])
    for one in read["ratios"]:
        part = f" ({one['part']})" if one["part"] else ""
        yield f"{one['monitor']}{part}: finished {one['runs']} times, of {one['trips']} drives"


def _test_line(test: Mapping[str, Any]) -> str:
    unit = "(raw)" if test["unit"] is None else test["unit"]
    shown = ["-" if one is None else f"{one:.4g}" for one in (test["least"], test["most"])]
    result = {True: "passed", False: "failed", None: "not run"}[test["passed"]]
    value = f"{test['value']:.4g} {unit}".rstrip()
    about = f"test {test['test']} of {test['about']}"
    return f"{about}: {value}, limits {' to '.join(shown)}: {result}"


def why_lines(catalogue: Catalogue, found: Mapping[str, Any]) -> Iterator[str]:
    """Yield the next step, the clue, and the likeliest reasons for each open monitor."""
    step = found["step"]
    if step:
        yield f"next: {step['says']} {step['title']}".rstrip()
    yield found["hint_says"] or found["says"]
    if found["ratio"]:
        yield forms("ratio-says")[found["ratio"]]
    for monitor in found["monitors"]:
        if not monitor["blockers"]:
            continue
        yield f"{monitor['id']}:"
        for one in monitor["blockers"][:_SHOWN]:
            title = catalogue.causes[one["cause"]].title
            yield f"- {title}, {fraction_words(one['probability'])}: {one['why']}"
    if found["supply"]:
        supply = found["supply"]
        yield f"battery and charging: {supply['name']}. {supply['says']}"
