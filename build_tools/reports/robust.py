"""Room 5: measure how far the advice rests on our estimates.

Every prior, leak and link is moved by noise on its log-odds, with fixed seeds, and the same
questions are asked again. The report says how often the likeliest cause, the next step and
the supply verdict stay, and the regret: how much dearer the step advised today is, by the moved
numbers, than the step that would be advised by them. Which of two equals comes first may change
freely; that costs nothing. The noise is ours and stands for doubt about numbers, not for cars. It
is handed to what moves a network, so that nothing there is random.
"""

import json
import random
from collections import Counter
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from math import exp, log
from typing import Any, Final

from build_tools.engine.cases import CarCase
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.network import Network, NetworkCause, NetworkFinding
from build_tools.knowledge.catalogue import Catalogue
from build_tools.reports.advice_rows import AdviceRow, Key, advice_row, questions

FORMAT: Final = "1.0.0"
STEADY: Final = 0.9
"""Share of draws from which we say that advice hardly depends on our estimates."""

Report = dict[str, Any]
_FOLDERS: Final = {"symptom": "symptoms", "case": "cases"}


def perturb(network: Network, sigma: float, draw: Callable[[], float]) -> Network:
    """Move the log-odds of every prior, leak and link by `sigma` times a draw.

    `draw` gives the next standard normal number. A finding's row of P(F <= k) moves as a
    whole by one draw, so it stays in order; what is 0 or 1 stays so. Draws are taken for the
    causes first, then for each finding its leak and its links by id.
    """
    causes = tuple(
        NetworkCause(one.id, shifted(one.prior, sigma * draw())) for one in network.causes
    )
    return Network(causes, tuple(_finding(one, sigma, draw) for one in network.findings))


def shifted(probability: float, shift: float) -> float:
    """Return a probability with its log-odds moved by `shift`; 0 and 1 do not move."""
    if probability <= 0 or probability >= 1:
        return probability
    moved = log(probability / (1 - probability)) + shift
    return 1 / (1 + exp(-moved))


def _finding(finding: NetworkFinding, sigma: float, draw: Callable[[], float]) -> NetworkFinding:
    leak = _moved_row(finding.leak, sigma * draw())
    links = {
        name: _moved_row(finding.links[name], sigma * draw()) for name in sorted(finding.links)
    }
    return NetworkFinding(finding.id, finding.levels, leak, links)


def _moved_row(row: Sequence[float], shift: float) -> tuple[float, ...]:
    return tuple(shifted(value, shift) for value in row)


@dataclass(frozen=True)
class Noise:
    """Say how to disturb: standard deviations on the log-odds, draws of each, and the seed."""

    sigmas: tuple[float, ...] = (0.5, 1.0)
    draws: int = 40
    seed: int = 20261125


def robust_report(
    catalogue: Catalogue,
    version: str,
    noise: Noise,
    *,
    only: Collection[Key] | None = None,
    progress: Callable[[int, int], None] = lambda _done, _all: None,
) -> Report:
    """Ask about every symptom and case under noise; `only` limits it to some of them.

    For each sigma a row holds the shares of draws in which the likeliest cause, the next step
    (check or repair) and the supply verdict stayed. `rival` is the cause that most often
    came first instead, `other_step` the step; None when nothing did. `regret` holds the mean
    and the worst over the draws, as shares of the expected cost.
    """
    network = network_from_catalogue(catalogue)
    asked = {key: one for key, one in questions(catalogue).items() if only is None or key in only}
    plain = {key: advice_row(catalogue, network, case) for key, case in asked.items()}
    total = len(noise.sigmas) * noise.draws
    drawn: dict[float, list[dict[Key, AdviceRow]]] = {}
    for place, sigma in enumerate(noise.sigmas):
        rounds = []
        for draw in range(noise.draws):
            rounds.append(_draw(catalogue, network, asked, (sigma, f"{noise.seed}:{draw}")))
            progress(place * noise.draws + draw + 1, total)
        drawn[sigma] = rounds
    report: Report = {
        "format": FORMAT,
        "version": version,
        "seed": noise.seed,
        "draws": noise.draws,
        "sigmas": list(noise.sigmas),
        "symptoms": {},
        "cases": {},
    }
    for key, row in plain.items():
        kept = {f"{sigma:g}": [one[key] for one in rounds] for sigma, rounds in drawn.items()}
        report[_FOLDERS[key[0]]][key[1]] = _row(row, kept)
    return report


def _draw(
    catalogue: Catalogue, network: Network, asked: Mapping[Key, CarCase], amount: tuple[float, str]
) -> dict[Key, AdviceRow]:
    sigma, seed = amount
    # The same normal numbers for every sigma: only their size differs.
    generator = random.Random(seed)  # noqa: S311 - repeatable noise, no secret
    moved = perturb(network, sigma, lambda: generator.gauss(0.0, 1.0))
    return {key: advice_row(catalogue, moved, case) for key, case in asked.items()}


def _row(plain: AdviceRow, drawn: Mapping[str, Sequence[AdviceRow]]) -> dict[str, Any]:
    first = next(iter(drawn.values()), [])
    rivals = Counter(one.first_cause for one in first if one.first_cause != plain.first_cause)
    steps = Counter(one.step_name for one in first if one.step != plain.step)
    return {
        "cause": plain.first_cause,
        "step": plain.step_name,
        "supply": plain.supply,
        "kept": {
            sigma: [
                _share(one.first_cause == plain.first_cause for one in rows),
                _share(one.step == plain.step for one in rows),
                _share(one.supply == plain.supply for one in rows),
            ]
            for sigma, rows in drawn.items()
        },
        "rival": _commonest(rivals),
        "other_step": _commonest(steps),
        "regret": {sigma: _mean_and_worst(plain, rows) for sigma, rows in drawn.items()},
    }


def _mean_and_worst(plain: AdviceRow, rows: Sequence[AdviceRow]) -> list[float]:
    regrets = [regret(plain.step_name, row) for row in rows]
    return [round(sum(regrets) / len(regrets), 4), round(max(regrets), 4)] if regrets else [0, 0]


def regret(step: str, row: AdviceRow) -> float:
    """Return how much dearer a step is than the one advised in a row, as a share of its cost.

    A step that is not there any more has the cost of the dearest that is.
    """
    if step == row.step_name or not row.costs:
        return 0.0
    least = row.costs.get(row.step_name, min(row.costs.values()))
    dear = row.costs.get(step, max(row.costs.values()))
    return max(0.0, dear / least - 1) if least > 0 else 0.0


def _share(held: Any) -> float:  # noqa: ANN401 - any run of truths
    found = list(held)
    return round(sum(found) / len(found), 3) if found else 1.0


def _commonest(found: Counter[str]) -> str | None:
    return min(found, key=lambda one: (-found[one], one)) if found else None


def stale_entries(
    catalogue: Catalogue, report: Report, *, edited: Collection[str] = ()
) -> list[Key]:
    """List symptoms and cases whose row is missing or speaks of other advice than today's.

    Drafts may be missing, but for those in an `edited` file. A row measured on an earlier version
    that still has today's advice counts as current: a few words mended elsewhere do not spoil it.
    """
    network = network_from_catalogue(catalogue)
    stale = []
    for key, case in questions(catalogue).items():
        kind, name = key
        known = report[_FOLDERS[kind]].get(name)
        if known is None:
            entry = catalogue.symptoms[name] if kind == "symptom" else catalogue.cases[name]
            if entry.status == "stable" or catalogue.place(kind, name).file in edited:
                stale.append(key)
            continue
        row = advice_row(catalogue, network, case)
        now = [row.first_cause, row.step_name, row.supply]
        if now != [known["cause"], known["step"], known["supply"]]:
            stale.append(key)
    return stale


def left_over(catalogue: Catalogue, report: Report) -> list[Key]:
    """List rows of symptoms and cases that are no longer there."""
    return [
        (kind, name)
        for kind, folder in _FOLDERS.items()
        for name in report[folder]
        if name not in catalogue.of_kind(kind)
    ]


def merged(catalogue: Catalogue, report: Report, fresh: Report) -> Report:
    """Put fresh rows into a report and drop rows of entries that are gone.

    The version stays that of the last full run; `refreshed` names the version of the fresh rows.
    """
    joined: Report = {**report, "refreshed": fresh["version"]}
    for kind, folder in _FOLDERS.items():
        rows = {**report[folder], **fresh[folder]}
        joined[folder] = {one: rows[one] for one in catalogue.of_kind(kind) if one in rows}
    return joined


def report_text(report: Report) -> str:
    """Write a report as JSON with one line for each row, so that changes read well."""
    head = {key: value for key, value in report.items() if key not in _FOLDERS.values()}
    lines = [f" {json.dumps(key)}: {json.dumps(value)}" for key, value in head.items()]
    for folder in _FOLDERS.values():
        rows = [f"  {json.dumps(name)}: {json.dumps(row)}" for name, row in report[folder].items()]
        lines.append(f' "{folder}": {{\n' + ",\n".join(rows) + "\n }")
    return "{\n" + ",\n".join(lines) + "\n}\n"
