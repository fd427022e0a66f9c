"""Command line: readiness monitors: what was read, may it go, what holds them, what to drive."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from build_tools.cli.case import catalogue_at, read_text, show_json
from build_tools.cli.words import CLEAN, PROBLEMS, CommandError, add_root, read_input
from build_tools.obd.inspection_facts import FUELS

if TYPE_CHECKING:
    import argparse

    from build_tools.cli.words import Commands
    from build_tools.knowledge.readiness_entries import Readiness


_TRUTH = {"yes": True, "no": False}
_LONGEST_NAME = 200
_READOUT = 'readout as text, a file, or "-" for standard input; a JSON object is ticked boxes'


def register(commands: Commands) -> None:
    """Add readout, may-it-go, why, driveplan, triplog and readiness."""
    _register_readout(commands)
    _register_may_it_go(commands)
    _register_why(commands)
    _register_driveplan(commands)
    _register_triplog(commands)
    _register_brief(commands)


def readiness_at(root: Path) -> Readiness:
    """Load monitors and inspection rules, or say that they have to be mended first.

    Raises:
        CommandError: if there is no such folder, or the rules have errors.

    """
    from build_tools.knowledge.assemble import load_readiness  # noqa: PLC0415

    if not root.is_dir():
        raise CommandError(f'there is no folder "{root}"')
    readiness, problems = load_readiness(root)
    if problems:
        raise CommandError(f"{len(problems)} problems; run `python -m build_tools lint`")
    return readiness


def _parser(commands: Commands, name: str, text: str) -> argparse.ArgumentParser:
    parser = commands.add_parser(name, help=text, description=f"{text[:1].upper()}{text[1:]}.")
    parser.add_argument("--json", action="store_true", help="write JSON (the whole answer)")
    add_root(parser)
    return parser


def _register_readout(commands: Commands) -> None:
    parser = _parser(commands, "readout", "say what a code reader shows about the monitors")
    parser.add_argument("told", metavar="READOUT", help=_READOUT)
    parser.set_defaults(run=_readout)


def _add_rule_facts(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--year", type=int, metavar="N", help="model year")
    parser.add_argument("--fuel", choices=FUELS)
    for name, text in (
        ("retest-code", "code of an earlier failure"),
        ("repaired", "monitor whose part was repaired"),
    ):
        parser.add_argument(f"--{name}", action="append", default=[], metavar="ID", help=text)
    parser.add_argument("--permanent", type=int, metavar="N", help="permanent codes stored")
    parser.add_argument("--pending", type=int, metavar="N", help="pending codes stored")
    parser.add_argument("--warm-ups", type=int, metavar="N", help="warm-ups since clear")
    parser.add_argument("--distance-km", type=float, metavar="KM", help="distance since clear")
    for name in ("no-answer", "connector-dead", "lamp-dark"):
        parser.add_argument(f"--{name}", action="store_true")
    for name in ("all-else-passes", "certificate-expired", "extension-used"):
        parser.add_argument(f"--{name}", choices=sorted(_TRUTH))


def _register_may_it_go(commands: Commands) -> None:
    parser = _parser(commands, "may-it-go", "apply a place's inspection rule to a readout")
    parser.add_argument("told", metavar="READOUT", help=_READOUT)
    parser.add_argument("--place", required=True, metavar="ID", help="see `list inspections`")
    _add_rule_facts(parser)
    parser.set_defaults(run=_may_it_go)


def _register_why(commands: Commands) -> None:
    parser = _parser(commands, "why", "rank what may hold the incomplete monitors")
    parser.add_argument("told", metavar="READOUT", help=_READOUT)
    parser.add_argument("--voltage", choices=("low-seen", "none-seen"), help="verdict of a log")
    parser.add_argument("--warmed-up", choices=sorted(_TRUTH), help="it reached its usual warmth")
    parser.add_argument("--counters-fell", choices=sorted(_TRUTH), help="though nobody cleared")
    parser.add_argument("--case", metavar="FILE", help="JSON or YAML case, for what it says apart")
    parser.set_defaults(run=_why)


def _register_driveplan(commands: Commands) -> None:
    parser = _parser(commands, "driveplan", "plan the drives for incomplete monitors")
    given = parser.add_mutually_exclusive_group(required=True)
    given.add_argument("--readout", metavar="READOUT", help=_READOUT)
    given.add_argument("--incomplete", metavar="IDS", help="monitors, with commas between")
    parser.add_argument("--supply", choices=("unproven", "doubtful", "failing", "sound"))
    parser.add_argument("--fuel-percent", type=float, metavar="N")
    parser.add_argument("--ambient", type=float, metavar="DEGC", help="air temperature")
    parser.add_argument("--lamp-on", action="store_true")
    parser.add_argument("--pending-code", action="store_true")
    parser.set_defaults(run=_driveplan)


def _register_triplog(commands: Commands) -> None:
    parser = _parser(commands, "triplog", "say what a log of a drive held")
    parser.add_argument("file", metavar="FILE", help='CSV file, "-" for standard input')
    parser.add_argument(
        "--map",
        action="append",
        default=[],
        metavar="ROLE=COLUMN[:UNIT]",
        help="column of a role, by name or number from 1",
    )
    parser.add_argument(
        "--constant",
        action="append",
        default=[],
        metavar="ROLE=VALUE",
        help="value of a channel the log has not got, in degC, percent, kPa",
    )
    parser.add_argument("--incomplete", metavar="IDS", help="monitors, with commas between")
    parser.set_defaults(run=_triplog)


def _register_brief(commands: Commands) -> None:
    parser = _parser(commands, "readiness", "decode PID 01 and judge it, in short form")
    parser.add_argument("--pid01", required=True, metavar="HEX", help="the four bytes, or a reply")
    parser.add_argument("--rules", metavar="ID", help="rule of a place, see `list inspections`")
    _add_rule_facts(parser)
    parser.set_defaults(run=_brief)


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


def _facts(arguments: argparse.Namespace) -> tuple[dict[str, object], dict[str, object]]:
    facts: dict[str, object] = {
        "no_answer": arguments.no_answer,
        "connector_dead": arguments.connector_dead,
        "lamp_dark": arguments.lamp_dark,
        "retest_codes": arguments.retest_code,
        "repaired": arguments.repaired,
        "permanent_codes": arguments.permanent,
        "pending_codes": arguments.pending,
        "warm_ups": arguments.warm_ups,
        "distance_km": arguments.distance_km,
    }
    for name in ("all_else_passes", "certificate_expired", "extension_used"):
        facts[name] = _TRUTH.get(getattr(arguments, name))
    return {"year": arguments.year, "fuel": arguments.fuel}, facts


def _known_rule(readiness: Readiness, name: str) -> str:
    from build_tools.knowledge.nearest import did_you_mean  # noqa: PLC0415

    if name not in readiness.inspections:
        hint = did_you_mean(name, readiness.inspections, where="see `list inspections`")
        raise CommandError(f'we have no sourced rule for "{name}"; ask the authority there; {hint}')
    return name


def _readout(arguments: argparse.Namespace) -> int:
    from build_tools.obd.readiness_commands import readout_document  # noqa: PLC0415

    told = readout_document(_told(arguments.told))
    if arguments.json:
        show_json(told)
    else:
        print(told["says"])
        merged = told["merged"]
        if told["usable"]:
            open_ones = ", ".join(merged["incomplete"]) or "none"
            print(f"incomplete: {open_ones} (of {len(merged['countable'])} counted)")
        for warned in told["warnings"]:
            print(f"- {warned['says']}")
        for code in told["codes"]:
            print(f"- {code['code']} ({code['kind']}): {code['title'] or 'nothing is guessed'}")
    return CLEAN if told["usable"] else PROBLEMS


def _may_it_go(arguments: argparse.Namespace) -> int:
    from build_tools.obd.readiness_commands import (  # noqa: PLC0415
        eligibility_document,
        readout_of,
    )

    readiness = readiness_at(arguments.root)
    rule = readiness.inspections[_known_rule(readiness, arguments.place)]
    vehicle, facts = _facts(arguments)
    found = eligibility_document(rule, readiness, readout_of(_told(arguments.told)), vehicle, facts)
    if arguments.json:
        show_json(found)
        return CLEAN
    print(f"{found['place']}: {found['says']} ({found['confidence_says']})")
    for line in (*found["why"], *found["would_change"], *found["flags"]):
        print(f"- {line['says']}")
    print(f"check the live text; the copy was seen {found['seen']}")
    return CLEAN


def _why(arguments: argparse.Namespace) -> int:
    from build_tools.engine.from_catalogue import network_from_catalogue  # noqa: PLC0415
    from build_tools.obd.readiness_commands import (  # noqa: PLC0415
        readout_of,
        why_not_run_document,
    )

    readiness, catalogue = readiness_at(arguments.root), catalogue_at(arguments.root)
    network = network_from_catalogue(catalogue)
    facts = {
        "voltage": arguments.voltage,
        "warmed_up": _TRUTH.get(arguments.warmed_up),
        "counters_fell": _TRUTH.get(arguments.counters_fell),
    }
    odds = _case_odds(arguments.case, catalogue, network) if arguments.case else None
    readout = readout_of(_told(arguments.told))
    found = why_not_run_document(readiness, network, readout, facts, odds)
    if arguments.json:
        show_json(found)
    else:
        print(found["hint_says"] or found["says"])
        for monitor in found["monitors"]:
            print(f"{monitor['id']}:")
            for one in monitor["blockers"][:3]:
                print(f"- {one['cause']} {one['probability']:.2f}: {one['why']}")
    return CLEAN if found["state"] == "ok" else PROBLEMS


def _case_odds(name: str, catalogue: Any, network: Any) -> dict[str, float]:  # noqa: ANN401 - loaded late
    from build_tools.engine.cases import read_case  # noqa: PLC0415
    from build_tools.engine.findings import find  # noqa: PLC0415

    document, shown = read_input(name)
    if document is None:
        raise CommandError(f"{shown}: cannot be used")
    case, problems = read_case(document.value, catalogue)
    if problems:
        first = problems[0]
        raise CommandError(f"{shown}: {first.path}: {first.what}; {first.mend}")
    return dict(find(catalogue, network, case).odds)


def _driveplan(arguments: argparse.Namespace) -> int:
    from build_tools.obd.readiness_commands import (  # noqa: PLC0415
        driveplan_document,
        readout_of,
    )

    readiness = readiness_at(arguments.root)
    lamp = arguments.lamp_on
    if arguments.readout is None:
        incomplete = _ids(readiness, arguments.incomplete)
    else:
        readout = readout_of(_told(arguments.readout))
        if not readout.usable or readout.merged is None:
            raise CommandError("this readout cannot be used; see `readout`")
        incomplete, lamp = list(readout.merged.incomplete), lamp or readout.merged.mil
    facts = {
        "supply": arguments.supply,
        "fuel_percent": arguments.fuel_percent,
        "ambient": arguments.ambient,
        "lamp_on": lamp,
        "pending_code": arguments.pending_code,
    }
    plan = driveplan_document(readiness, incomplete, facts)
    if arguments.json:
        show_json(plan)
        return CLEAN
    for line in (*plan["cautions"], *plan["first"]):
        print(f"! {line['says']}")
    for part in plan["days"][0]["parts"] if plan["days"] else ():
        for caution in part["cautions"]:
            print(f"! {caution['says']}")
        print(f"- {part['title']}: {part['do']}")
    if plan["days"]:
        print(f"on {len(plan['days'])} days")
    return CLEAN


def _ids(readiness: Readiness, words: str) -> list[str]:
    from build_tools.knowledge.nearest import did_you_mean  # noqa: PLC0415

    names = [word.strip() for word in words.split(",") if word.strip()]
    for name in names:
        if name not in readiness.monitors:
            hint = did_you_mean(name, readiness.monitors, where="see symptoms/monitors")
            raise CommandError(f'no monitor is called "{name}"; {hint}')
    return names


def _pairs(words: list[str], what: str) -> dict[str, str]:
    pairs = {}
    for word in words:
        role, sign, value = word.partition("=")
        if not sign or not role or not value:
            raise CommandError(f'"{word}" is no {what}')
        pairs[role] = value
    return pairs


def _mapping(words: list[str]) -> dict[str, dict[str, object]]:
    mapping: dict[str, dict[str, object]] = {}
    for role, value in _pairs(words, "ROLE=COLUMN[:UNIT]").items():
        column, _, unit = value.partition(":")
        mapping[role] = {
            "column": int(column) if column.isascii() and column.isdigit() else column,
            "unit": unit or None,
        }
    return mapping


def _constants(words: list[str]) -> dict[str, float]:
    constants = {}
    for role, value in _pairs(words, "ROLE=VALUE").items():
        try:
            constants[role] = float(value)
        except ValueError:
            raise CommandError(f'"{value}" is no number for {role}') from None
    return constants


def _triplog(arguments: argparse.Namespace) -> int:
    from build_tools.obd.readiness_commands import triplog_document  # noqa: PLC0415

    readiness = readiness_at(arguments.root)
    wanted = None if arguments.incomplete is None else _ids(readiness, arguments.incomplete)
    found = triplog_document(
        readiness,
        read_text(arguments.file),
        _mapping(arguments.map),
        incomplete=wanted,
        constants=_constants(arguments.constant),
    )
    if arguments.json:
        show_json(found)
    else:
        print(found["says"])
        if found["state"] == "ok":
            print(f"a drive that counts: {found['general_strict']} (limits from memory)")
            for one in found["monitors"]:
                lacking = ", ".join(item["metric"] for item in one["missing"])
                print(f"- {one['id']}: {one['chance']}{f' ({lacking})' if lacking else ''}")
        for role in found["not_found"]:
            print(f"no such column: {role}")
    return CLEAN if found["state"] == "ok" and not found["not_found"] else PROBLEMS


def _brief(arguments: argparse.Namespace) -> int:
    from build_tools.obd.readiness_brief import brief_document  # noqa: PLC0415

    readiness = readiness_at(arguments.root)
    rule = None if arguments.rules is None else _known_rule(readiness, arguments.rules)
    vehicle, facts = _facts(arguments)
    found = brief_document(arguments.pid01, readiness, rule, vehicle, facts)
    if arguments.json:
        show_json(found)
    else:
        print(found["says"])
        print(f"incomplete: {', '.join(found['incomplete']) or 'none'}")
        if found["verdict"]:
            print(f"{found['verdict']['rule']}: {found['verdict']['says']}")
    return CLEAN if found["usable"] else PROBLEMS
