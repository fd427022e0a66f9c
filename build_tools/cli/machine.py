"""Command line: answers for machines, from the plain documents of the vectors.

The documents take lists as read from JSON and give lists ready for JSON; what cannot be used is
refused with the entry and the field named.
"""

import math
from collections.abc import Callable, Mapping

from build_tools.cli.words import CLEAN, RefusedError, command, file_argument, read_input, show_json
from build_tools.engine.network import (
    as_list,
    as_mapping,
    as_number,
    as_row,
    as_text,
    evidence_from_document,
    network_from_document,
    odds_from_document,
)
from build_tools.engine.noisy_max import WIDTH_LIMIT, infer
from build_tools.engine.planner import (
    STATE_LIMIT,
    WORK_LIMIT,
    optimal_value,
    policy_value,
    repairs_only_value,
)
from build_tools.engine.situation import Gate, PlanCheck, Situation

_SUM_SLACK = 1e-6


def posterior_document(
    document: object, *, width_limit: int = WIDTH_LIMIT
) -> list[dict[str, object]]:
    """Give the posteriors of every network in the document.

    Each entry is `{name, causes, findings, context, evidence}`; the answer to each is
    `{name, posteriors, log_evidence}`, in the same order.

    Raises:
        ValueError: naming the entry and the field, also when the evidence contradicts
            itself or the exact sum would need too wide a table.
    """

    def answer(entry: Mapping[str, object]) -> dict[str, object]:
        network = network_from_document(entry)
        context = as_mapping(entry.get("context", {}), "context")
        evidence = as_mapping(entry.get("evidence", {}), "evidence")
        result = infer(
            network,
            odds_from_document(network, context),
            evidence_from_document(network, evidence),
            width_limit=width_limit,
        )
        return {"posteriors": result.posteriors, "log_evidence": result.log_evidence}

    return _answers(document, answer)


def plan_document(
    document: object, *, work_limit: int = WORK_LIMIT, state_limit: int = STATE_LIMIT
) -> list[dict[str, object]]:
    """Give the expected costs of repair of every problem in the document.

    Each entry is `{name, causes, checks, rule}` with exactly one cause present; the answer
    to each is `{name, ecr_repairs_only, ecr_policy, ecr_optimal}`: repairs in p/c order,
    the planner played to the end, and the optimum (null when too large to compute).

    Raises:
        ValueError: naming the entry and the field.
    """

    def answer(entry: Mapping[str, object]) -> dict[str, object]:
        situation = situation_from_document(entry)
        return {
            "ecr_repairs_only": repairs_only_value(situation),
            "ecr_policy": policy_value(situation, work_limit=work_limit),
            "ecr_optimal": optimal_value(situation, state_limit=state_limit),
        }

    return _answers(document, answer)


def _answers(
    document: object, answer: Callable[[Mapping[str, object]], dict[str, object]]
) -> list[dict[str, object]]:
    answers = []
    for place, item in enumerate(as_list(document, "document")):
        where = f"entry {place + 1}"
        entry = as_mapping(item, where)
        name = as_text(entry.get("name"), f"{where}: name")
        try:
            answers.append({"name": name, **answer(entry)})
        except ValueError as error:
            raise ValueError(f'entry {place + 1} ("{name}"): {error}') from error
    return answers


def situation_from_document(entry: Mapping[str, object]) -> Situation:
    """Read one single-cause problem in the form of the plan vectors.

    Raises:
        ValueError: naming the field.
    """
    ids, chances, costs = _causes(as_list(entry.get("causes"), "causes"))
    checks = as_list(entry.get("checks"), "checks")
    return Situation(
        cause_ids=tuple(ids),
        repair_costs=tuple(costs),
        masks=tuple(1 << place for place in range(len(ids))),
        weights=tuple(chances),
        checks=tuple(_check(item, f"checks[{place}]", ids) for place, item in enumerate(checks)),
        rule=_rule(entry.get("rule")),
    )


def _causes(items: object) -> tuple[list[str], list[float], list[float]]:
    ids, chances, costs = [], [], []
    for place, item in enumerate(as_list(items, "causes")):
        where = f"causes[{place}]"
        cause = as_mapping(item, where)
        ids.append(as_text(cause.get("id"), f"{where}.id"))
        chances.append(as_number(cause.get("probability"), f"{where}.probability"))
        costs.append(as_number(cause.get("repair_cost"), f"{where}.repair_cost"))
        for name, value in (("probability", chances[-1]), ("repair_cost", costs[-1])):
            if value < 0:
                raise ValueError(f"{where}.{name}: {value} is below 0")
    if abs(math.fsum(chances) - 1) > _SUM_SLACK:
        raise ValueError(f"causes: the probabilities add up to {math.fsum(chances)}, not 1")
    return ids, chances, costs


def _check(item: object, where: str, causes: list[str]) -> PlanCheck:
    check = as_mapping(item, where)
    table = as_mapping(check.get("table"), f"{where}.table")
    levels = check.get("levels")
    if isinstance(levels, bool) or not isinstance(levels, int) or levels < 1:
        raise ValueError(f"{where}.levels: a whole number from 1 up is wanted")
    for cause in table:
        if cause not in causes:
            raise ValueError(f'{where}.table: "{cause}" is no cause of this entry')
    return PlanCheck(
        id=as_text(check.get("id"), f"{where}.id"),
        cost=as_number(check.get("cost"), f"{where}.cost"),
        levels=levels,
        table=tuple(as_row(table.get(cause), f"{where}.table.{cause}") for cause in causes),
    )


def _rule(value: object) -> Gate | None:
    if value is None:
        return None
    rule = as_mapping(value, "rule")
    return Gate(
        check=as_text(rule.get("check"), "rule.check"),
        dearer_than=as_number(rule.get("repairs_dearer_than"), "rule.repairs_dearer_than"),
    )


@command("posterior tests/vectors/posteriors.json", short_help="Exact posteriors of networks.")
@file_argument
def posterior_command(file: str) -> int:
    """Give the exact posteriors of networks, as JSON.

    FILE is a JSON or YAML list of {name, causes, findings, context, evidence}, "-" for standard
    input; tests/vectors/README.md says what stands in each.
    """
    return _show_answers(file, posterior_document)


@command("plan tests/vectors/plans.json", short_help="Best next check or repair of situations.")
@file_argument
def plan_command(file: str) -> int:
    """Give the best next check or repair of situations, as JSON.

    FILE is a JSON or YAML list of {name, causes, checks, rule}, "-" for standard input;
    tests/vectors/README.md says what stands in each.
    """
    return _show_answers(file, plan_document)


def _show_answers(name: str, answer: Callable[[object], object]) -> int:
    value, shown = read_input(name)
    try:
        show_json(answer(value))
    except (ValueError, OverflowError) as error:
        raise RefusedError(f"{shown}: {error}") from None
    return CLEAN
