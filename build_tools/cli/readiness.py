"""Command line: readiness monitors: what was read, may it go, what holds them, what to drive."""

import json
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import click

from build_tools.cli.words import (
    CLEAN,
    PROBLEMS,
    CommandError,
    Number,
    catalogue_at,
    command,
    file_argument,
    json_option,
    read_input,
    read_text,
    readiness_at,
    root_option,
    show,
)
from build_tools.knowledge.readiness_entries import Readiness
from build_tools.obd.inspection import FUELS

_TRUTH = {"yes": True, "no": False}
_YES_NO = click.Choice(sorted(_TRUTH))
_LONGEST_NAME = 200
_MOST = 10**6
# Spellings of old answers and of code readers; they are understood and never written.
_OTHER_NAMES = {"evaporative": "evaporative-system", "particulate-filter": "pm-filter"}
_told_argument = click.argument("told", metavar="READOUT")


def _rule_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Add what an inspection rule may ask about the car."""
    number: dict[str, Any] = {"type": click.IntRange(0, _MOST), "metavar": "N"}
    for one in reversed(
        (
            click.option(
                "--year", type=click.IntRange(1900, 2200), metavar="N", help="Model year."
            ),
            click.option("--fuel", type=click.Choice(FUELS)),
            click.option(
                "--pounds", type=Number(1, _MOST), metavar="LB", help="Gross weight rating."
            ),
            click.option(
                "--retest-code", multiple=True, metavar="CODE", help="Code of an earlier failure."
            ),
            click.option(
                "--repaired", multiple=True, metavar="ID", help="Monitor whose part was repaired."
            ),
            click.option("--permanent", **number, help="Permanent codes stored."),
            click.option("--pending", **number, help="Pending codes stored."),
            click.option("--warm-ups", **number, help="Warm-ups since clear."),
            click.option(
                "--distance-km", type=Number(0, _MOST), metavar="KM", help="Distance since clear."
            ),
            click.option("--no-answer", is_flag=True, help="The car does not answer a reader."),
            click.option("--connector-dead", is_flag=True, help="The connector has no supply."),
            click.option("--lamp-dark", is_flag=True, help="The lamp stays dark with the key on."),
            click.option("--all-else-passes", type=_YES_NO),
            click.option("--certificate-expired", type=_YES_NO),
            click.option("--extension-used", type=_YES_NO),
        )
    ):
        function = one(function)
    return function


def _told(word: str) -> str | dict[str, object]:
    """Take the argument as a file if there is one, else as the text itself."""
    text = word
    is_file = len(word) < _LONGEST_NAME and "\0" not in word and Path(word).is_file()
    if word == "-" or is_file:
        text = read_text(word)
    if text.lstrip().startswith("{"):
        try:
            ticks = json.loads(text)
        except (ValueError, RecursionError):
            return text
        if isinstance(ticks, dict):
            return ticks
    return text


def _facts(asked: dict[str, Any]) -> tuple[dict[str, object], dict[str, object]]:
    """Return what is asked about the vehicle, and about its state."""
    facts: dict[str, object] = {
        name: asked[name]
        for name in ("no_answer", "connector_dead", "lamp_dark", "warm_ups", "distance_km")
    }
    facts["retest_codes"] = list(asked["retest_code"])
    facts["repaired"] = [_OTHER_NAMES.get(name, name) for name in asked["repaired"]]
    facts["permanent_codes"], facts["pending_codes"] = asked["permanent"], asked["pending"]
    for name in ("all_else_passes", "certificate_expired", "extension_used"):
        facts[name] = _TRUTH.get(asked[name])
    vehicle = {name: asked[name] for name in ("year", "fuel", "pounds")}
    # Some places take only cars of a certain age.
    return {**vehicle, "now": datetime.now(tz=UTC).year}, facts


def _known_rule(readiness: Readiness, name: str) -> str:
    from build_tools.knowledge.nearest import did_you_mean

    if name not in readiness.inspections:
        hint = did_you_mean(name, readiness.inspections, where="see `list inspections`")
        raise CommandError(f'we have no sourced rule for "{name}"; ask the authority there; {hint}')
    return name


@command('readout "41 01 00 07 65 04"', short_help="Say what a code reader shows.")
@_told_argument
@json_option
@root_option
def readout_command(told: str, root: Path, *, as_json: bool) -> int:
    """Say what a code reader shows about the monitors, and all that came with it.

    READOUT is text as a code reader shows it, a file, or "-" for standard input; a JSON object
    is ticked boxes.
    """
    from build_tools.cli.readiness_lines import readout_lines, whole_readout_document

    read = whole_readout_document(catalogue_at(root), _told(told))
    show(read, readout_lines(read), as_json=as_json)
    return CLEAN if read["usable"] else PROBLEMS


@command(
    'may-it-go "41 01 00 07 65 04" --place us-ca --year 2005 --fuel gasoline',
    short_help="Apply a place's inspection rule to a readout.",
)
@_told_argument
@click.option("--place", required=True, metavar="ID", help="See `list inspections`.")
@_rule_options
@json_option
@root_option
def may_it_go_command(
    told: str,
    place: str,
    root: Path,
    *,
    as_json: bool,
    **asked: Any,  # noqa: ANN401 - values of options
) -> int:
    """Apply a place's inspection rule to a readout.

    READOUT is text as a code reader shows it, a file, or "-" for standard input; a JSON object
    is ticked boxes.
    """
    from build_tools.cli.readiness_lines import go_lines
    from build_tools.obd.readiness_commands import eligibility_document, readout_of

    readiness = readiness_at(root)
    rule = readiness.inspections[_known_rule(readiness, place)]
    vehicle, facts = _facts(asked)
    found = eligibility_document(rule, readiness, readout_of(_told(told)), vehicle, facts)
    show(found, go_lines(rule, found), as_json=as_json)
    return CLEAN


@command('why "41 01 00 07 65 04" --warmed-up no', short_help="Rank what may hold the monitors.")
@_told_argument
@click.option(
    "--voltage", type=click.Choice(["low-seen", "none-seen"]), help="Verdict of a log of volts."
)
@click.option("--warmed-up", type=_YES_NO, help="It reached its usual warmth.")
@click.option("--counters-fell", type=_YES_NO, help="Though nobody cleared.")
@click.option("--stored", metavar="CODES", help='Stored codes, or "none".')
@click.option("--pending", metavar="CODES", help='Pending codes, or "none".')
@click.option("--fuel-percent", type=Number(0, 100), metavar="N", help="Fuel on most drives.")
@click.option("--ambient", type=Number(-40, 60), metavar="DEGC", help="Air temperature.")
@click.option("--volts", type=Number(4, 18), metavar="V", help="Lowest while it ran.")
@click.option("--warm-ups", type=Number(0, 255), metavar="N", help="Warm-ups since clear.")
@click.option("--distance-km", type=Number(0, 70_000), metavar="KM", help="Driven since clear.")
@click.option("--case", metavar="FILE", help="JSON or YAML case, for what it says apart.")
@json_option
@root_option
def why_command(
    told: str,
    case: str | None,
    root: Path,
    *,
    as_json: bool,
    **seen: Any,  # noqa: ANN401 - values of options
) -> int:
    """Say what to do next about the incomplete monitors, and rank what may hold them.

    READOUT is text as a code reader shows it, a file, or "-" for standard input; a JSON object
    is ticked boxes. The advice is that of `triage` on the same evidence.
    """
    from build_tools.cli.readiness_lines import why_document, why_lines

    catalogue = catalogue_at(root)
    facts = {
        "voltage": seen["voltage"],
        "warmed_up": _TRUTH.get(seen["warmed_up"]),
        "counters_fell": _TRUTH.get(seen["counters_fell"]),
    }
    given = {
        "readout": _told(told),
        "told": _typed(seen),
        "facts": facts,
        "car": _car(case, catalogue) if case else None,
    }
    found = why_document(catalogue, given)
    show(found, why_lines(catalogue, found), as_json=as_json)
    return CLEAN if found["state"] == "ok" else PROBLEMS


def _typed(seen: dict[str, Any]) -> dict[str, str]:
    """Name typed values as the page's own fields do."""
    fields = {
        "fuel": seen["fuel_percent"],
        "ambient": seen["ambient"],
        "volts": seen["volts"],
        "warm-ups": seen["warm_ups"],
        "distance": seen["distance_km"],
    }
    typed = {name: f"{value:g}" for name, value in fields.items() if value is not None}
    for kind, words in (("confirmed", seen["stored"]), ("pending", seen["pending"])):
        if words == "none":
            typed[f"codes-{kind}-none"] = "yes"
        elif words:
            typed[f"codes-{kind}"] = words
    return typed


def _car(name: str, catalogue: Any) -> dict[str, Any]:  # noqa: ANN401 - loaded late
    """Read a case for the engine of the pages, with every field it knows."""
    from build_tools.cli.triage_command import plain_case
    from build_tools.engine.cases import read_case

    value, shown = read_input(name)
    plain = plain_case(value, shown)
    _, problems = read_case(plain, catalogue)
    if problems:
        first = problems[0]
        raise CommandError(f"{shown}: {first.path}: {first.what}; {first.mend}")
    car: dict[str, Any] = {"symptoms": [], "context": {}, "readings": {}, "outcomes": {}}
    car |= {"not_possible": []}
    return {**car, **{key: one for key, one in plain.items() if one is not None}}


@command(
    "driveplan --incomplete catalyst,oxygen-sensor --fuel-percent 50",
    short_help="Plan the drives for incomplete monitors.",
)
@click.option("--readout", metavar="READOUT", help="As for `readout`.")
@click.option("--incomplete", metavar="IDS", help="Monitors, with commas between.")
@click.option("--supply", type=click.Choice(["unproven", "doubtful", "failing", "sound"]))
@click.option("--fuel-percent", type=Number(0, 100), metavar="N")
@click.option("--ambient", type=Number(-80, 70), metavar="DEGC", help="Air temperature.")
@click.option("--lamp-on", is_flag=True, help="The lamp is on.")
@click.option("--pending-code", is_flag=True, help="A pending code is stored.")
@click.option(
    "--own", metavar="FILE", help="The owner's manual's own drive, a line a step; it wins."
)
@json_option
@root_option
def driveplan_command(
    readout: str | None,
    incomplete: str | None,
    own: str | None,
    root: Path,
    *,
    as_json: bool,
    **facts: Any,  # noqa: ANN401 - values of options
) -> int:
    """Plan the drives for incomplete monitors: give --readout or --incomplete.

    Fuel, weather, the lamp and pending codes are taken from the readout where they are not told.
    """
    from build_tools.cli.log_documents import driveplan_document
    from build_tools.cli.readiness_lines import plan_lines

    if (readout is None) == (incomplete is None):
        raise CommandError("give one of --readout and --incomplete")
    catalogue = catalogue_at(root)
    if readout is None:
        wanted = _ids(catalogue.readiness, incomplete or "")
    else:
        wanted, read = _of_readout(readout)
        facts = {**read, **{name: one for name, one in facts.items() if one not in {None, False}}}
    if own:
        facts["own"] = read_text(own)
    plan = driveplan_document(catalogue.readiness, wanted, facts)
    show(plan, plan_lines(catalogue, plan), as_json=as_json)
    return CLEAN


def _of_readout(word: str) -> tuple[list[str], dict[str, Any]]:
    """Return what is incomplete by a readout, and what it tells of fuel, weather and codes."""
    from build_tools.obd.readiness_commands import readout_of
    from build_tools.obd.readout import codes_of, value_of

    read = readout_of(_told(word))
    if not read.usable or read.merged is None:
        raise CommandError("this readout cannot be used; see `readout`")
    facts = {
        "fuel_percent": value_of(read, "fuel-level"),
        "ambient": value_of(read, "ambient-temperature"),
        "lamp_on": read.merged.mil,
        "pending_code": bool(codes_of(read, "pending")),
    }
    return list(read.merged.incomplete), facts


def _ids(readiness: Readiness, words: str) -> list[str]:
    from build_tools.knowledge.nearest import did_you_mean

    given = [word.strip() for word in words.split(",") if word.strip()]
    names = [_OTHER_NAMES.get(name, name) for name in given]
    for name in names:
        if name not in readiness.monitors:
            hint = did_you_mean(name, readiness.monitors, where="see symptoms/monitors")
            raise CommandError(f'no monitor is called "{name}"; {hint}')
    return names


def _pairs(words: tuple[str, ...], what: str) -> dict[str, str]:
    pairs = {}
    for word in words:
        role, sign, value = word.partition("=")
        if not sign or not role or not value:
            raise CommandError(f'"{word}" is no {what}')
        pairs[role] = value
    return pairs


def _mapping(words: tuple[str, ...]) -> dict[str, dict[str, object]]:
    mapping: dict[str, dict[str, object]] = {}
    for role, value in _pairs(words, "ROLE=COLUMN[:UNIT]").items():
        column, _, unit = value.partition(":")
        mapping[role] = {
            "column": int(column) if column.isascii() and column.isdigit() else column,
            "unit": unit or None,
        }
    return mapping


def _constants(words: tuple[str, ...]) -> dict[str, float]:
    constants = {}
    for role, value in _pairs(words, "ROLE=VALUE").items():
        try:
            constants[role] = float(value)
        except ValueError:
            raise CommandError(f'"{value}" is no number for {role}') from None
        if not abs(constants[role]) <= _MOST:
            raise CommandError(f'"{value}" is no number for {role}')
    return constants


@command(
    "printf 't,v,n\\n0,0,900\\n1,0,900\\n2,0,900\\n' | triplog - --map time=t:s --map speed=v:km/h "
    "--map rpm=n:rpm",
    short_help="Say what a log of a drive held.",
)
@file_argument
@click.option(
    "--map",
    "columns",
    multiple=True,
    metavar="ROLE=COLUMN[:UNIT]",
    help="Column of a role, by name or number from 1.",
)
@click.option(
    "--constant",
    "constants",
    multiple=True,
    metavar="ROLE=VALUE",
    help="Value of a channel the log has not got, in degC, percent, kPa.",
)
@click.option("--incomplete", metavar="IDS", help="Monitors, with commas between.")
@json_option
@root_option
def triplog_command(
    file: str, incomplete: str | None, root: Path, *, as_json: bool, **told: tuple[str, ...]
) -> int:
    """Say what a log of a drive held. FILE is CSV, "-" for standard input."""
    from build_tools.cli.log_documents import triplog_document
    from build_tools.cli.readiness_lines import trip_lines

    readiness = readiness_at(root)
    wanted = None if incomplete is None else _ids(readiness, incomplete)
    found = triplog_document(
        readiness,
        read_text(file),
        _mapping(told["columns"]),
        incomplete=wanted,
        constants=_constants(told["constants"]),
    )
    show(found, trip_lines(found), as_json=as_json)
    return CLEAN if found["state"] == "ok" and not found["not_found"] else PROBLEMS


@command(
    'readiness --pid01 "00 07 65 04" --rules us-il --year 2001 --fuel gasoline',
    short_help="Decode PID 01 and judge it, in short form.",
)
@click.option("--pid01", required=True, metavar="HEX", help="The four bytes, or a reply.")
@click.option("--rules", metavar="ID", help="Rule of a place, see `list inspections`.")
@_rule_options
@json_option
@root_option
def readiness_command(
    pid01: str,
    rules: str | None,
    root: Path,
    *,
    as_json: bool,
    **asked: Any,  # noqa: ANN401 - values of options
) -> int:
    """Decode PID 01 and judge it, in short form.

    JSON: {lamp_on, codes_counted, engine: "spark" or "compression", monitors: [{id, supported,
    complete}], incomplete: [id], incomplete_continuous: [id], usable, verdict}, with the ids of
    `list monitors`.
    """
    from build_tools.obd.readiness_brief import brief_document

    readiness = readiness_at(root)
    rule = None if rules is None else _known_rule(readiness, rules)
    vehicle, facts = _facts(asked)
    found = brief_document(pid01, readiness, rule, vehicle, facts)
    still = found["incomplete_continuous"] + found["incomplete"]
    lines = [found["says"], f"incomplete: {', '.join(still) or 'none'}"]
    if found["verdict"]:
        lines.append(f"{found['verdict']['rule']}: {found['verdict']['says']}")
    show(found, lines, as_json=as_json)
    return CLEAN if found["usable"] else PROBLEMS
