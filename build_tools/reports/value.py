"""Room 5: measure what the advice is worth inside our own model.

Draws cars from the knowledge with fixed seeds, plays ways of choosing in the same cars, and
reports money and minutes until cured, by family. It says nothing about real cars: the model
that makes the cars is the one that advises.
"""

import random
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Any, Final

from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.play import (
    WORKSHOP_REASONS,
    Bill,
    Car,
    CarModel,
    draw_car,
    play,
    small_loss,
)
from build_tools.engine.pricing import HOUR_VALUE
from build_tools.engine.ways import policies
from build_tools.knowledge.catalogue import Catalogue

FORMAT: Final = "1.1.0"
POLICIES: Final = {
    "ours": "our advice",
    "no-supply-gate": "ours without the supply gate",
    "no-gates": "ours without both gates on buying",
    "supply-first": "the rules of the first edition",
    "likeliest-part": "buy the likeliest part",
    "battery-first": "buy a battery first",
    "every-check": "make every check",
}
Report = dict[str, Any]


@dataclass(frozen=True)
class Draws:
    """Say how many cars each family gets, and the seed."""

    worlds: int = 60
    seed: int = 20261125


def families(catalogue: Catalogue) -> dict[str, list[str]]:
    """Return the complaints of each family that has any, families in their own order."""
    order = sorted(catalogue.vocabulary.families.values(), key=lambda one: (one.order, one.id))
    found = {}
    for family in order:
        inside = [
            name
            for name, one in catalogue.symptoms.items()
            if one.family == family.id and one.role == "complaint"
        ]
        if inside:
            found[family.id] = inside
    return found


def cars_of(model: CarModel, complaints: Sequence[str], draws: Draws, family: str) -> list[Car]:
    """Draw the cars of a family; its complaints take turns."""
    cars = []
    for number in range(draws.worlds):
        generator = random.Random(f"{draws.seed}:{family}:{number}")  # noqa: S311 - no secret
        cars.append(draw_car(model, complaints[number % len(complaints)], generator.random))
    return cars


def value_report(
    catalogue: Catalogue,
    version: str,
    draws: Draws,
    *,
    progress: Callable[[int, int], None] = lambda _done, _all: None,
) -> Report:
    """Play every way of choosing in every car; see the module for what it means."""
    model = CarModel(catalogue, network_from_catalogue(catalogue))
    chosen = policies(model)
    inside = families(catalogue)
    total, done = len(inside) * draws.worlds, 0
    bills: dict[str, dict[str, list[Bill]]] = {}
    for family, complaints in inside.items():
        bills[family] = {name: [] for name in chosen}
        for car in cars_of(model, complaints, draws, family):
            for name, choose in chosen.items():
                bills[family][name].append(play(model, car, choose))
            done += 1
            progress(done, total)
    everything = {name: [bill for rows in bills.values() for bill in rows[name]] for name in chosen}
    return {
        "format": FORMAT,
        "version": version,
        "seed": draws.seed,
        "worlds_per_family": draws.worlds,
        "hour_value": HOUR_VALUE,
        "all": _summary(everything),
        "families": {family: _summary(rows) for family, rows in bills.items()},
        "small": small_report(model),
    }


def _summary(rows: Mapping[str, Sequence[Bill]]) -> dict[str, Any]:
    """Sum up each way of choosing, and ours against each other one, car by car."""
    summed = {name: _figures(bills) for name, bills in rows.items()}
    ours = [bill.cost(HOUR_VALUE) for bill in rows["ours"]]
    for name, bills in rows.items():
        if name != "ours":
            more = [bill.cost(HOUR_VALUE) - own for bill, own in zip(bills, ours, strict=True)]
            mean, spread = _mean_and_spread(more)
            summed[name]["more_than_ours"] = {
                "mean": round(mean, 1),
                "standard_error": round(spread / sqrt(len(more)), 1),
            }
    least = [min(one) for one in zip(*(_costs(bills) for bills in rows.values()), strict=True)]
    summed["ours"]["more_than_best_seen"] = round(
        sum(ours) / len(ours) - sum(least) / len(least), 1
    )
    return summed


def _costs(bills: Sequence[Bill]) -> list[float]:
    return [bill.cost(HOUR_VALUE) for bill in bills]


def _figures(bills: Sequence[Bill]) -> dict[str, Any]:
    count = len(bills)
    figures: dict[str, Any] = {"cars": count}
    for name, values in (
        ("money", [bill.money for bill in bills]),
        ("minutes", [bill.minutes for bill in bills]),
        ("waiting", [bill.waiting for bill in bills]),
        ("cost", _costs(bills)),
    ):
        mean, spread = _mean_and_spread(values)
        figures[name] = {"mean": round(mean, 1), "spread": round(spread, 1)}
    figures["checks"] = round(sum(bill.checks for bill in bills) / count, 2)
    figures["parts"] = round(sum(bill.parts for bill in bills) / count, 2)
    figures["parts_in_vain"] = round(sum(bill.in_vain for bill in bills) / count, 2)
    figures["without_workshop"] = round(sum(bill.helped for bill in bills) / count, 3)
    figures["workshop_for"] = {
        why: sum(bill.why == why for bill in bills) for why in WORKSHOP_REASONS
    }
    return figures


def _mean_and_spread(values: Sequence[float]) -> tuple[float, float]:
    mean = sum(values) / len(values)
    return mean, sqrt(sum((one - mean) ** 2 for one in values) / len(values))


def small_report(model: CarModel) -> dict[str, Any]:
    """Compare the planner with the best policy on complaints cut down to a few causes.

    Excess is the share by which a look-ahead costs more than the best policy.
    """
    complaints = [one.id for one in model.catalogue.symptoms.values() if one.role == "complaint"]
    losses = [one for one in (small_loss(model, name) for name in complaints) if one]
    report: dict[str, Any] = {"complaints": len(losses)}
    for name in ("one_step", "two_steps"):
        excess = [(getattr(one, name) / one.best - 1, one.complaint) for one in losses]
        worst = max(excess, default=(0.0, None))
        mean = sum(one for one, _ in excess) / len(excess) if excess else 0.0
        report[name] = {
            "mean_excess": round(mean, 5),
            "worst_excess": round(worst[0], 5),
            "worst_complaint": worst[1],
        }
    return report


def value_text(report: Report) -> str:
    """Write the report as a table for a terminal."""
    title = f"{report['worlds_per_family']} made-up cars a family, seed {report['seed']}; "
    lines = [title + "mean (spread) until cured, inside our own model"]
    rows = {"all families": report["all"], **report["families"]}
    for family, figures in rows.items():
        lines.append(family)
        for name, words in POLICIES.items():
            one = figures[name]
            more = one.get("more_than_ours")
            against = f", {more['mean']:+.0f} +- {more['standard_error']:.0f}" if more else ""
            lines.append(
                f"  {words:<34} money {_pair(one['money'])}  minutes {_pair(one['minutes'])}  "
                f"in vain {one['parts_in_vain']:.2f}  cost {one['cost']['mean']:.0f}{against}"
            )
    return "\n".join([*lines, *_workshop_text(report["all"]), *_small_text(report["small"])])


def _workshop_text(rows: Mapping[str, Any]) -> list[str]:
    return [
        f"{POLICIES[name]}: of {figures['cars']} cars a workshop ends "
        + ", ".join(
            f"{figures['workshop_for'][why]} with {words}"
            for why, words in WORKSHOP_REASONS.items()
        )
        for name, figures in rows.items()
    ]


def _small_text(small: Mapping[str, Any]) -> list[str]:
    return [
        f"{words} against the best policy, {small['complaints']} small complaints: mean excess "
        f"{100 * small[name]['mean_excess']:.2f} %, worst "
        f"{100 * small[name]['worst_excess']:.2f} % ({small[name]['worst_complaint']})"
        for name, words in (("one_step", "one step ahead"), ("two_steps", "two steps ahead"))
    ]


def _pair(figure: Mapping[str, float]) -> str:
    return f"{figure['mean']:4.0f} ({figure['spread']:4.0f})"
