"""Room 5: hold our odds and first steps against closed cases, and propose changes of odds.

Closed cases are no sample of all cars: they are those that somebody wrote about, followed and
closed. So a proposal starts from our estimate, as if it were WEIGHT cars seen already, and moves
only as far as the cases pull it. Nothing here changes a file.

The scores are the usual ones: the mean of -ln p of what it was (Good, 1952) and the sum of squared
differences (Brier, 1950), of shares that add up to 1 over the causes.

In words the report is a table and a plot of signs; the diff is for a reviewer to judge and apply by
hand.
"""

import difflib
import math
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from build_tools.engine.cases import CarCase
from build_tools.engine.diagnosis import diagnose
from build_tools.engine.network import Network
from build_tools.engine.noisy_max import ContradictoryEvidence, FrontierTooWide
from build_tools.knowledge.catalogue import Catalogue
from build_tools.knowledge.folders import PROJECT, entry_path, knowledge_folder
from build_tools.knowledge.yaml_reader import Document, read
from build_tools.reports.advice_rows import advice_row
from build_tools.reports.closed_cases import ClosedCase
from build_tools.reports.robust import regret

WEIGHT: Final = 20.0
"""Cars that our own estimate counts for; our choice."""
LEAST: Final = 5
"""Cases that must speak of a number before a change of it is proposed; our choice."""
NOTABLE: Final = 1.15
"""A smaller change than this factor is not worth a line; our choice."""
EDGES: Final = (0.0, 0.02, 0.05, 0.1, 0.2, 0.4, 0.6, 0.8, 1.0)
_FLOOR: Final = 1e-6
_MOST_ODDS: Final = 0.95

Shares = dict[str, float]

_WIDTH: Final = 40
_SCALAR = re.compile(r"\{[^}]*\}|[^,}\]\s]+")

Path_ = tuple[str | int, ...]


def learn_text(report: Mapping[str, Any], diff: str) -> str:
    """Write the report for a terminal."""
    count = report["with_cause"]
    lines = [
        f"Closed cases: {report['cases']}, with a cause that can be judged: {count}.",
        "Closed cases are no sample of all cars: who writes, follows and closes is not everyone.",
    ]
    if count == 0:
        return "\n".join([*lines, "There is nothing to compare yet."])
    lines += ["", *_score_lines(report["scores"], count), "", *_plot_lines(report["calibration"])]
    step = report["first_step"]
    lines += [
        "",
        f"First step: the proposed odds advise the same in {step['kept']} of {count} cases;",
        f"by them ours costs {step['mean_regret']:.1%} more, {step['worst_regret']:.1%} at worst.",
        "",
        *_proposal_lines(report["proposals"]),
    ]
    if report["proposals"]:
        effect = report["effect"]
        halves = effect["halves"]
        lines += [
            f"Effect on these cases: log score {_moved(effect)}.",
            f"Learned from one half, scored on the other: {_moved(halves)}.",
            "Nothing was changed. Look at the diff, then `effect` after applying it:",
            "",
            diff.rstrip("\n"),
        ]
    return "\n".join(lines)


def _moved(effect: Mapping[str, float]) -> str:
    return f"{effect['log_before']:.3f} -> {effect['log_after']:.3f}"


def _score_lines(scores: Mapping[str, Any], count: int) -> Iterator[str]:
    yield f"{'':<18} log score  Brier  first  first three  (lower scores are better)"
    for name, one in scores.items():
        places = f"{one['first']:>3}/{count:<3} {one['first_three']:>6}/{count}"
        yield f"{name:<18} {one['log']:>9.3f}  {one['brier']:>5.3f}  {places}"


def _plot_lines(rows: Iterable[Mapping[str, float]]) -> Iterator[str]:
    yield "Calibration, with all results: o what we said, x how often it was, - where that may lie"
    for row in rows:
        line = [" "] * (_WIDTH + 1)
        for place in range(_at(row["low"]), _at(row["high"]) + 1):
            line[place] = "-"
        line[_at(row["was"])] = "x"
        line[_at(row["said"])] = "*" if _at(row["said"]) == _at(row["was"]) else "o"
        span = f"{row['from']:.2f} to {row['to']:.2f}"
        told = f"said {row['said']:.3f}, was {row['was']:.3f} of {int(row['count'])}"
        yield f"  {span} |{''.join(line)}| {told}"


def _at(share: float) -> int:
    return round(share * _WIDTH)


def _proposal_lines(given: Iterable[Mapping[str, Any]]) -> list[str]:
    lines = []
    for one in given:
        what = "how common" if one["check"] is None else f"{one['check']} at least {one['level']}"
        seen = (
            f"found {one['seen']:.0f} times, {one['cases']:.1f} expected"
            if one["check"] is None
            else f"{one['seen']:.0f} of {one['cases']:.0f}"
        )
        lines.append(f"  {one['cause']}, {what}: {one['old']:.3g} -> {one['new']:.3g} ({seen})")
    return (
        ["Proposed:", *lines]
        if lines
        else ["Nothing to propose: the odds fit, or too few cases speak."]
    )


def proposed_diff(root: Path, given: Iterable[Mapping[str, Any]]) -> str:
    """Return the proposals as one unified diff of the knowledge's files."""
    knowledge = knowledge_folder(root)
    edits: dict[Path, list[Mapping[str, Any]]] = {}
    for one in given:
        kind, name = ("cause", one["cause"]) if one["check"] is None else ("check", one["check"])
        edits.setdefault(entry_path(knowledge, kind, name), []).append(one)
    parts: list[str] = []
    for path, inside in sorted(edits.items()):
        before = path.read_text(encoding="utf-8")
        document, _ = read(before, path.name)
        if document is None:
            continue
        after = before
        # The last place first, so that the others stay where they are.
        places = sorted(((_place(document, one), one["new"]) for one in inside), reverse=True)
        for place, new in places:
            after = _written(after, place, new)
        shown = path.relative_to(root if path.is_relative_to(root) else PROJECT).as_posix()
        parts += difflib.unified_diff(
            before.splitlines(keepends=True),
            after.splitlines(keepends=True),
            f"a/{shown}",
            f"b/{shown}",
            n=1,
        )
    return "".join(parts)


def _place(document: Document, one: Mapping[str, Any]) -> tuple[int, int]:
    path: Path_ = ("how_common",)
    if one["check"] is not None:
        shifts = document.value["shifts"]
        number = next(at for at, shift in enumerate(shifts) if shift["cause"] == one["cause"])
        path = ("shifts", number, "at_least", one["level"])
    span = document.span(*path)
    return span.line, span.column


def _written(text: str, place: tuple[int, int], new: float) -> str:
    """Put a number with its mark where a likelihood stands."""
    lines = text.splitlines(keepends=True)
    line, column = place[0] - 1, place[1] - 1
    head, rest = lines[line][:column], lines[line][column:]
    lines[line] = head + _SCALAR.sub(f"{{value: {new:g}, source: our-estimate}}", rest, count=1)
    return "".join(lines)


@dataclass(frozen=True)
class Forecast:
    """What was said of one case, and its cause: at first, with all results, and by priors alone."""

    cause: str
    first: Shares
    last: Shares
    base: Shares


@dataclass(frozen=True)
class Proposal:
    """One changed number: a cause's `how_common`, or a level of a check in a cause's shift.

    `seen` of `cases` speak for it; `check` and `level` are None for `how_common`.
    """

    cause: str
    check: str | None
    level: str | None
    old: float
    new: float
    seen: float
    cases: float


def told_at_first(case: CarCase) -> CarCase:
    """Return a case as it was before anything was measured, tried or repaired."""
    return replace(case, readings={}, outcomes={}, mended=(), helped={}, again=(), not_possible=())


def shares(odds: Mapping[str, float]) -> Shares:
    """Return chances as shares that add up to 1; a closed case has one cause."""
    total = sum(odds.values()) or 1.0
    return {name: one / total for name, one in odds.items()}


def forecast(catalogue: Catalogue, network: Network, closed: ClosedCase) -> Forecast | None:
    """Say what the network says of one case; None where it has no cause or cannot be worked out."""
    if closed.cause is None:
        return None
    try:
        first = diagnose(catalogue, network, told_at_first(closed.case))
        last = diagnose(catalogue, network, closed.case)
    except (ContradictoryEvidence, FrontierTooWide):
        return None
    # Only what can bring about what was noticed competes; the rest is there or not, unasked.
    linked = {
        link.cause for name in closed.case.symptoms for link in catalogue.symptoms[name].causes
    }
    linked.add(closed.cause)
    parts = (
        shares({name: one for name, one in odds.items() if name in linked})
        for odds in (
            first.posteriors,
            last.posteriors,
            {one.id: one.prior for one in network.causes},
        )
    )
    return Forecast(closed.cause, *parts)


def log_score(said: Sequence[tuple[Shares, str]]) -> float:
    """Return the mean of -ln of the share given to what it was; 0 is perfect. 0 for no case."""
    losses = [-math.log(max(share.get(cause, 0.0), _FLOOR)) for share, cause in said]
    return sum(losses) / len(losses) if losses else 0.0


def brier_score(said: Sequence[tuple[Shares, str]]) -> float:
    """Return the mean over cases of the squared differences summed over causes: 0 to 2."""
    sums = [
        sum((one - (name == cause)) ** 2 for name, one in share.items()) + (cause not in share)
        for share, cause in said
    ]
    return sum(sums) / len(sums) if sums else 0.0


def rank_of(share: Shares, cause: str) -> int:
    """Return the place of a cause among all by their shares, from 1; equals go by id."""
    order = sorted(share, key=lambda name: (-share[name], name))
    return order.index(cause) + 1 if cause in share else len(order) + 1


def calibration(said: Iterable[tuple[Shares, str]]) -> list[dict[str, float]]:
    """Return for each span of shares: how many were given, their mean, and how often it was so.

    `low` and `high` are where the true frequency may well lie (Wilson's interval, 95 %).
    """
    bins: list[list[tuple[float, bool]]] = [[] for _ in EDGES[1:]]
    for share, cause in said:
        for name, one in share.items():
            place = next(
                at for at, edge in enumerate(EDGES[1:]) if one <= edge or edge == EDGES[-1]
            )
            bins[place].append((one, name == cause))
    rows = []
    for low, high, inside in zip(EDGES, EDGES[1:], bins, strict=False):
        if not inside:
            continue
        count, hits = len(inside), sum(was for _, was in inside)
        least, most = wilson(hits, count)
        mean = sum(one for one, _ in inside) / count
        rows.append(
            {"from": low, "to": high, "count": count, "said": mean, "was": hits / count,
             "low": least, "high": most}
        )  # fmt: skip
    return rows


def wilson(hits: float, count: float) -> tuple[float, float]:
    """Return Wilson's 95 % interval of a frequency (Wilson, 1927)."""
    z, share = 1.96, hits / count
    middle = share + z * z / (2 * count)
    half = z * math.sqrt(share * (1 - share) / count + z * z / (4 * count * count))
    whole = 1 + z * z / count
    return max(0.0, (middle - half) / whole), min(1.0, (middle + half) / whole)


def proposals(
    catalogue: Catalogue, network: Network, cases: Sequence[ClosedCase]
) -> list[Proposal]:
    """Propose changes of odds, the largest first; none where too few cases speak.

    What was complained of is left alone: a symptom that nobody named may still have been there.
    """
    said = [each for one in cases if (each := forecast(catalogue, network, one))]
    found = [*_priors(network, said), *_results(catalogue, network, cases)]
    return sorted(
        found, key=lambda one: (-abs(math.log(one.new / one.old)), one.cause, one.check or "")
    )


def _priors(network: Network, said: Sequence[Forecast]) -> Iterable[Proposal]:
    """Compare how often each cause was found with how often it was to be expected."""
    found = Counter(one.cause for one in said)
    for cause in network.causes:
        expected = sum(one.first.get(cause.id, 0.0) for one in said)
        if max(found[cause.id], expected) < LEAST:
            continue
        odds = cause.prior / (1 - cause.prior)
        odds *= (found[cause.id] + WEIGHT) / (expected + WEIGHT)
        new = _two_digits(odds / (1 + odds))
        if _is_notable(cause.prior, new):
            yield Proposal(cause.id, None, None, cause.prior, new, found[cause.id], expected)


def _results(
    catalogue: Catalogue, network: Network, cases: Sequence[ClosedCase]
) -> Iterable[Proposal]:
    """Compare what checks showed on cars of a cause with what they were to show."""
    outcomes: dict[tuple[str, str], list[str]] = {}
    for one in cases:
        for check, level in one.case.outcomes.items() if one.cause else ():
            outcomes.setdefault((check, one.cause or ""), []).append(level)
    for (check, cause), shown in sorted(outcomes.items()):
        finding = network.finding_by_id.get(check)
        row = finding.links.get(cause) if finding else None
        if finding is None or row is None or len(shown) < LEAST:
            continue
        given = next(one for one in catalogue.checks[check].shifts if one.cause == cause).at_least
        for place, level in enumerate(finding.levels[1:]):
            if level not in given:
                continue
            at_least = sum(finding.levels.index(one) > place for one in shown)
            # What else may bring the level about is no work of this cause.
            old = 1 - row[place] * finding.leak[place]
            pulled = (at_least + WEIGHT * old) / (len(shown) + WEIGHT)
            new = _two_digits(1 - (1 - pulled) / max(finding.leak[place], _FLOOR))
            if _is_notable(1 - row[place], new):
                yield Proposal(cause, check, level, 1 - row[place], new, at_least, len(shown))


def _two_digits(number: float) -> float:
    return float(f"{min(max(number, 0.0005), _MOST_ODDS):.2g}")


def _is_notable(old: float, new: float) -> bool:
    return max(old, new) > NOTABLE * min(old, new)


def changed(network: Network, given: Iterable[Proposal]) -> Network:
    """Return the network with the proposed numbers in it; rows are kept in order."""
    priors = {one.cause: one.new for one in given if one.check is None}
    rows: dict[str, dict[str, dict[str, float]]] = {}
    for one in given:
        if one.check and one.level:
            rows.setdefault(one.check, {}).setdefault(one.cause, {})[one.level] = one.new
    causes = tuple(replace(one, prior=priors.get(one.id, one.prior)) for one in network.causes)
    findings = []
    for finding in network.findings:
        links = {**finding.links}
        for cause, levels in rows.get(finding.id, {}).items():
            row = list(links[cause])
            for place, level in enumerate(finding.levels[1:]):
                row[place] = 1 - levels[level] if level in levels else row[place]
            links[cause] = tuple(max(row[: place + 1]) for place in range(len(row)))
        findings.append(replace(finding, links=links))
    return replace(network, causes=causes, findings=tuple(findings))


def learn_report(
    catalogue: Catalogue, network: Network, cases: Sequence[ClosedCase]
) -> dict[str, Any]:
    """Say how far our odds and first steps fit closed cases, and what changes would do.

    `effect.halves` is the fair figure: proposals from one half, scored on the other, both ways.
    """
    told = [(one, each) for one in cases if (each := forecast(catalogue, network, one))]
    said = [each for _, each in told]
    given = proposals(catalogue, network, cases)
    moved = changed(network, given)
    report: dict[str, Any] = {
        "format": "1.0.0",
        "cases": len(cases),
        "with_cause": len(said),
        "scores": {
            name: {
                "log": log_score([(getattr(one, part), one.cause) for one in said]),
                "brier": brier_score([(getattr(one, part), one.cause) for one in said]),
                "first": sum(rank_of(getattr(one, part), one.cause) == 1 for one in said),
                "first_three": sum(rank_of(getattr(one, part), one.cause) <= 3 for one in said),  # noqa: PLR2004 - its name
            }
            for name, part in (
                ("at first", "first"),
                ("with all results", "last"),
                ("base rates alone", "base"),
            )
        },
        "calibration": calibration((one.last, one.cause) for one in said),
        "first_step": _first_steps(catalogue, (network, moved), [one for one, _ in told]),
        "proposals": [vars(one) for one in given],
    }
    report["effect"] = {
        "log_before": report["scores"]["with all results"]["log"],
        "log_after": _score_of(catalogue, moved, cases),
        "halves": _halves(catalogue, network, cases),
    }
    return report


def _score_of(catalogue: Catalogue, network: Network, cases: Sequence[ClosedCase]) -> float:
    said = [one for case in cases if (one := forecast(catalogue, network, case))]
    return log_score([(one.last, one.cause) for one in said])


def _halves(
    catalogue: Catalogue, network: Network, cases: Sequence[ClosedCase]
) -> dict[str, float]:
    parts = (cases[::2], cases[1::2])
    before = sum(_score_of(catalogue, network, part) * len(part) for part in parts)
    after = 0.0
    for learned, other in (parts, parts[::-1]):
        moved = changed(network, proposals(catalogue, network, learned))
        after += _score_of(catalogue, moved, other) * len(other)
    count = max(len(cases), 1)
    return {"log_before": before / count, "log_after": after / count}


def _first_steps(
    catalogue: Catalogue, networks: tuple[Network, Network], cases: Sequence[ClosedCase]
) -> dict[str, Any]:
    """Say how much dearer our first step is by the proposed odds than the step they advise."""
    ours, moved = networks
    rows: dict[str, tuple[str, str, float]] = {}
    for one in cases:
        first = told_at_first(one.case)
        key = repr(first)
        if key not in rows:
            mine, theirs = (advice_row(catalogue, each, first) for each in (ours, moved))
            rows[key] = (mine.step_name, theirs.step_name, regret(mine.step_name, theirs))
    all_rows = [rows[repr(told_at_first(one.case))] for one in cases]
    regrets = [one[2] for one in all_rows]
    return {
        "kept": sum(mine == theirs for mine, theirs, _ in all_rows),
        "mean_regret": sum(regrets) / len(regrets) if regrets else 0.0,
        "worst_regret": max(regrets, default=0.0),
    }
