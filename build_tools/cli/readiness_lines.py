"""Command line: readouts, reasons and verdicts as lines of text, the parts the pages show.

What a readout holds beside its monitors, and why they have not run, is worked out by the browser's
modules, so that a command says what the page shows.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, Final

from build_tools.browser.embedded import browser_modules
from build_tools.knowledge.catalogue import Catalogue
from build_tools.knowledge.markup import fraction_words
from build_tools.knowledge.readiness_entries import Inspection
from build_tools.knowledge.sentences import forms, say
from build_tools.obd.drive_words import PLAN_LOAD_WORDS, TRIP_WORDS
from build_tools.obd.readiness_commands import readiness_tables, readout_document
from build_tools.site.compile_json import compile_catalogue
from build_tools.site.readiness_names import ASK_ANYWHERE, PLACE_PARTS, STANDINGS, years_words

_KINDS: Final = {"confirmed": "stored", "pending": "pending", "permanent": "permanent"}
_ENGINES: Final = {"spark": "gasoline or other spark engine", "compression": "diesel"}
_UNITS: Final = {
    "percent": "%",
    "count": "",
    "degC": "\N{DEGREE SIGN}C",
    "degree": "\N{DEGREE SIGN}",
}
_SHOWN: Final = 4
_HOUR: Final = 60
# What a driver can tell where the log has no column, with its unit.
_CONSTANTS: Final = {"ambient": "DEGC", "fuel": "PERCENT", "pressure": "KPA"}
# With these results nothing is judged yet, so nothing is sure or unsure.
_OPEN: Final = ("indeterminate", "no-rule", "no-band")

Document = dict[str, Any]
_ENTRIES = ("obd/readout-more", "obd/code-about", "obd/why-told")


def whole_readout_document(catalogue: Catalogue, told: str | Mapping[str, object]) -> Document:
    """Return the readout with freeze frames, test results, counts of past runs, and its codes.

    Each code has its family, what it means, the monitors it belongs to and the checks that tell
    its causes apart.
    """
    read = readout_document(told)
    knowledge, tables = compile_catalogue(catalogue), readiness_tables(catalogue.readiness)
    engine = browser_modules(*_ENTRIES)
    more = engine.call(_ENTRIES[0], "readMore", told if isinstance(told, str) else "")
    codes = [
        {**code, **engine.call(_ENTRIES[1], "codeAbout", knowledge, tables, code["code"])}
        for code in read["codes"]
    ]
    return {**read, **more, "codes": codes}


def why_document(catalogue: Catalogue, given: Mapping[str, Any]) -> Document:
    """Rank what may hold the incomplete monitors, by the checker's own engine.

    `given` has the `readout` (text or ticked boxes), `told` (what was typed beside it), `facts`
    and `car` (a case, or None).
    """
    knowledge, tables = compile_catalogue(catalogue), readiness_tables(catalogue.readiness)
    found: Document = browser_modules(*_ENTRIES).call(
        _ENTRIES[2], "whyDocument", knowledge, tables, given
    )
    return found


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
            yield f"module {unit['ecu']} ({unit['bytes'] or 'told'}): {_unit_words(unit)}"
    for code in read["codes"]:
        yield from code_lines(code)
    for kind in read["code_services"]:
        if all(code["kind"] != kind for code in read["codes"]):
            yield f"{_KINDS[kind]} codes: none"
    yield from value_lines(read["values"])
    yield from _more_lines(read)
    for warned in read["warnings"]:
        yield f"note: {warned['says']}"


def _unit_words(unit: Mapping[str, Any]) -> str:
    has = [one for one in unit["monitors"] if one["supported"]]
    still = [one["id"] for one in has if one["complete"] is False and not one["apart"]]
    if not has:
        return "reports no monitors"
    return f"incomplete: {', '.join(still)}" if still else "all complete"


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


def go_lines(rule: Inspection, found: Mapping[str, Any]) -> Iterator[str]:
    """Yield a verdict, and apart from it the rule's limits, what it costs, and what to ask."""
    sure = "" if found["result"] in _OPEN else f" How sure: {found['confidence_says']}."
    yield f"{found['place']}: {found['says']}"
    yield f"{STANDINGS[rule.standing]}{sure}"
    change = "what would undo it" if found["result"] == "pass" else "what would change it"
    yield from _under("why", map(_seen_line, found["why"]))
    yield from _under(change, (one["says"] for one in found["would_change"]))
    yield from (f"note: {one['says']}" for one in found["flags"])
    yield from _under("the rule", _limits(rule))
    for name, title in PLACE_PARTS.items():
        told = [_seen_line(one) for one in found[name]]
        yield from _under(title.lower(), told or [say("inspection-gap", gap=name)])
    questions = found["ask"]["questions"]
    if found["result"] == "no-rule":
        questions = list(dict.fromkeys((*questions, *ASK_ANYWHERE)))
    yield from _under(f"what to ask ({found['ask']['authority']})", questions)
    yield f"check the live text before you go; the copy was seen {found['seen']}"


def _under(title: str, lines: Iterable[str]) -> Iterator[str]:
    """Yield lines below their heading; without lines no heading."""
    for place, line in enumerate(lines):
        if place == 0:
            yield f"{title}:"
        yield f"- {line}"


def _seen_line(said: Mapping[str, Any]) -> str:
    mark = forms("inspection-mark").get(said["mark"] or "")
    return f"{said['says']} ({mark})" if mark else str(said["says"])


def _limits(rule: Inspection) -> Iterator[str]:
    if rule.transition:
        newer = rule.transition
        yield _seen_line({"says": f"Since {newer.since}: {newer.says}", "mark": newer.mark})
    for band in rule.bands:
        only = f", and only: {', '.join(band.allowed_only)}" if band.allowed_only else ""
        may = f"{band.allowed or 'none'} may be incomplete{only}."
        years = years_words(band.from_year, band.to_year)
        words = f"{years}, {' and '.join(band.fuels)}: {may}"
        note = f" {band.note.says}" if band.note else ""
        yield _seen_line({"says": words + note, "mark": band.mark})
    for said in (rule.not_tested, rule.not_ready, rule.extension, rule.no_answer):
        if said:
            yield _seen_line({"says": said.says, "mark": said.mark})
    yield _seen_line({"says": f"For: {rule.scope.says}", "mark": rule.scope.mark})
    yield f"text of {rule.text_date or 'no date'}"


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
        gone = forms("inspection-reason")["permanent-code-gone"]
        more = f". {gone}" if code["kind"] == "permanent" else ""
        yield f"  it holds: {', '.join(code['monitors'])}{more}"
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
    if not found["monitors"]:
        yield found["says"]
        return
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
            yield from _blocker_lines(catalogue.causes[one["cause"]].title, one)
    if found["supply"]:
        supply = found["supply"]
        yield f"battery and charging: {supply['name']}. {supply['says']}"
    yield "Chances, minutes and prices are our estimates."


def _blocker_lines(title: str, one: Mapping[str, Any]) -> Iterator[str]:
    yield f"- {title}, {fraction_words(one['probability'])}: {one['why']}"
    told = (
        ("more likely because of", one["raised_says"]),
        ("less likely because of", one["lowered_says"]),
        ("check", one["check"]),
    )
    yield from (f"  {name}: {words}" for name, words in told if words)


def plan_lines(catalogue: Catalogue, plan: Mapping[str, Any]) -> Iterator[str]:
    """Yield a drive plan: what comes before it, the trip, when to stop, and what to know."""
    yield plan["says"]
    if not plan["days"]:
        yield from (one["says"] for one in (*plan["first"], *plan["notes"]))
        return
    hazard = catalogue.vocabulary.hazards["road-drive"]
    yield f"! {hazard.title}. {hazard.text}"
    yield from (f"! {one['says']}" for one in plan["cautions"])
    yield from _under("settle first", (one["says"] for one in plan["first"]))
    yield "the trip:"
    yield from _part_lines(plan)
    late = [day for day in plan["days"] if day["late"]]
    if late:
        yield f"from day {late[0]['day']} on may finish: {', '.join(late[0]['late'])}"
    if plan["unserved"]:
        yield f"no drive is known for: {', '.join(plan['unserved'])}"
    yield from _under("when to stop", (one["says"] for one in plan["stops"]))
    yield from _under("good to know", (one["says"] for one in plan["notes"]))
    if not plan["own"]:
        yield "Parts and minutes are common practice, no source."


def _part_lines(plan: Mapping[str, Any]) -> Iterator[str]:
    said: set[str] = set()
    for part in plan["days"][0]["parts"]:
        for caution in part["cautions"]:
            if caution["id"] not in said:
                said.add(caution["id"])
                yield f"! {caution['says']}"
        loads = f" {PLAN_LOAD_WORDS[part['loads']]}" if part["loads"] else ""
        minutes = f" About {_length(part['minutes'])}." if part["minutes"] else ""
        serves = f" (for {', '.join(part['serves'])})" if part["serves"] else ""
        yield f"- {part['title']}: {part['do']}{loads}{minutes} {part['why']}{serves}"
    yield from (f"- {step}" for step in plan["own"])


def _length(minutes: int) -> str:
    return f"{minutes} min" if minutes < _HOUR else f"{minutes / _HOUR:g} h"


def trip_lines(found: Mapping[str, Any]) -> Iterator[str]:
    """Yield what a log of a drive held, what could not be seen, and how to have it seen."""
    yield found["says"]
    told = found["in_words"]
    if found["state"] == "ok":
        gaps = f"; pauses of {told['gaps']} are not counted" if told["gaps"] else ""
        yield f"{told['length']}{gaps}"
        yield from _missing_lines(told["missing"])
        proxy = TRIP_WORDS["proxy"]
        yield f"a drive that counts: {found['general_strict']}. {proxy}"
        yield from map(_judged, told["general"])
        yield f"for the vapor test, besides: {found['evap_verdict']}"
        yield from map(_judged, told["evap"])
        warm = found["warm_up"]
        yield f"a full warm-up: gasoline {warm['spark_strict']}, diesel {warm['diesel']}"
        verdict = found["voltage"]["verdict"]
        yield TRIP_WORDS["voltage-unknown" if verdict == "unknown" else verdict]
        chances = (f"{one['id']}: {one['chance']}" for one in found["monitors"])
        yield from _under("which monitors it could have served", chances)
        shared = (
            f"{one['says']}: {one['verdict']} (for {', '.join(one['monitors'])})"
            for one in told["conditions"]
        )
        yield from _under("what they ask of a drive, each once", shared)
        yield from _under("stretches", told["stretches"])
    for role in found["asked"]:
        yield f"which unit? --map {role}=NAME:UNIT; until then {role} is left out"
    yield from (TRIP_WORDS[note] for note in found["notes"])
    yield from (f"no such column: {role}" for role in found["not_found"])


def _judged(one: Mapping[str, Any]) -> str:
    return f"- {one['says']}: {one['verdict']}"


def _missing_lines(missing: Sequence[Mapping[str, str]]) -> Iterator[str]:
    """Say which columns the log has not got, and which option tells or names each."""
    if not missing:
        return
    names = ", ".join(one["name"] for one in missing)
    yield f"not in the log: {names}. {TRIP_WORDS['columns-missing']}"
    for one in missing:
        if one["role"] in _CONSTANTS:
            told = f"{one['role']}={_CONSTANTS[one['role']]}"
            yield f"- {one['name']}: tell it with --constant {told}"
        else:
            yield f"- {one['name']}: name its column with --map {one['role']}=COLUMN:UNIT"
