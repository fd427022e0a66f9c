"""Room 5: say how far advice rests on our estimates, to maintainers and to readers.

Takes the report of `robust`; it measures nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from build_tools.knowledge.markup import lower_first
from build_tools.reports.robust import STEADY

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from build_tools.knowledge.catalogue import Catalogue

    Report = Mapping[str, Any]

_READERS_SIGMA: Final = "0.5"
_MEASURED: Final = ("likeliest cause", "next step", "supply verdict")


def reader_sentence(catalogue: Catalogue, report: Report, symptom: str) -> str:
    """Say in one sentence how sure the order of causes and the first check are.

    Empty when the symptom has no row, or was not measured at the readers' noise of 0.5.
    """
    row = report["symptoms"].get(symptom)
    if row is None or _READERS_SIGMA not in row["kept"]:
        return ""
    cause, step, _ = row["kept"][_READERS_SIGMA]
    causes, checks = catalogue.causes, catalogue.checks
    if cause < STEADY and row["cause"] in causes and row["rival"] in causes:
        one, other = (lower_first(causes[row[key]].title) for key in ("cause", "rival"))
        return f"Which is likeliest is a close call between “{one}” and “{other}”."
    if step < STEADY and row["step"] in checks and row["other_step"] in checks:
        one, other = (lower_first(checks[row[key]].title) for key in ("step", "other_step"))
        return f"Which check comes first is a close call between “{one}” and “{other}”."
    if min(cause, step) < STEADY:
        return "What to do first depends on our estimates; a few others would change it."
    return "What is likeliest and what to check first hardly depend on our estimates."


def summary(report: Report) -> list[str]:
    """Say, for each noise and kind, what share of entries keeps its advice in 9 of 10 draws."""
    lines = []
    for folder in ("symptoms", "cases"):
        rows = list(report[folder].values())
        for sigma in report["sigmas"]:
            parts = []
            for place, name in enumerate(_MEASURED):
                steady = sum(1 for row in rows if row["kept"][f"{sigma:g}"][place] >= STEADY)
                parts.append(f"{name} {steady} of {len(rows)}")
            regrets = [row["regret"][f"{sigma:g}"] for row in rows if "regret" in row]
            if regrets:
                mean = sum(one for one, _ in regrets) / len(regrets)
                parts.append(f"regret {100 * mean:.1f} % in the mean")
            lines.append(f"{folder}, noise {sigma:g}: " + ", ".join(parts))
    return lines


def table(report: Report) -> Iterator[str]:
    """Yield a line for each entry, the most fragile first: shares at each noise, and rivals."""
    sigmas = [f"{sigma:g}" for sigma in report["sigmas"]]
    rows = [
        (row["kept"][sigmas[0]][1], row["kept"][sigmas[0]][0], folder, name, row)
        for folder in ("symptoms", "cases")
        for name, row in report[folder].items()
    ]
    yield f"{'':<50}" + "".join(f"  cause/step/supply at {sigma}" for sigma in sigmas)
    for _, _, folder, name, row in sorted(rows, key=lambda one: one[:4]):
        shares = "".join(
            "  " + " / ".join(f"{100 * one:3.0f} %" for one in row["kept"][sigma]) + "   "
            for sigma in sigmas
        )
        rivals = [
            f"{row[one]} -> {row[other]}"
            for one, other in (("cause", "rival"), ("step", "other_step"))
            if row[other] is not None
        ]
        yield f"{folder[:-1] + ' ' + name:<50}{shares}  {'; '.join(rivals)}"
