"""Room 5: show readers how sure the advice is, and what it is worth inside our own model.

Takes the kept reports. A sentence about a symptom is shown only while the report speaks of
the advice the page gives; figures are shown with what they do not tell. It measures nothing.
"""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING, Any, Final

from markupsafe import Markup

from build_tools.engine.play import WORKSHOP_REASONS
from build_tools.knowledge.reports import read_report
from build_tools.reports.base_rates import MARKS, VERDICTS, base_rates, comparable
from build_tools.reports.robust_words import reader_sentence
from build_tools.reports.value import POLICIES
from build_tools.site.scale_drawing import WIDTH, hatch_path, tick_step

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from build_tools.engine.triage import Advice
    from build_tools.site.page_press import Press, View

    Figures = Mapping[str, Any]

_ROW: Final = 38.0
_BAR: Final = 14.0
_SIDE: Final = 6.0
_TIME_DENSITY: Final = 3


def how_sure(press: Press, symptom: str, advice: Advice) -> str:
    """Say in one sentence how far the advice on a page rests on our estimates.

    Empty without a report, or when the report was measured on other advice.
    """
    report = read_report("robust")
    row = report["symptoms"].get(symptom) if report else None
    if report is None or row is None or not advice.causes:
        return ""
    first = advice.next[0].check if advice.next else "none"
    if advice.repair is not None:
        first = f"repair:{advice.repair.cause}"
    same = row["cause"] == advice.causes[0].id and row["step"] == first
    return reader_sentence(press.catalogue, report, symptom) if same else ""


def value_fragment(press: Press, up: str) -> str:
    """Render the value report: a plot over all families, then figures for each."""
    report = read_report("value")
    template = press.env.get_template("value.html.j2")
    if report is None:
        return template.render(report=None, up=up)
    families = press.catalogue.vocabulary.families
    rows = [{"title": "All families", "figures": _figures(report["all"])}]
    rows += [
        {
            "title": families[name].title if name in families else name.replace("-", " "),
            "figures": _figures(figures),
        }
        for name, figures in report["families"].items()
    ]
    small = report["small"]
    return template.render(
        report=report,
        cars=report["all"]["ours"]["cars"],
        plot=Markup(draw_costs(report["all"], report["hour_value"])),  # noqa: S704 - numbers and our own words
        rows=rows,
        workshop=[
            (report["all"]["ours"]["workshop_for"][why], words)
            for why, words in WORKSHOP_REASONS.items()
        ],
        excess=_percent(small["two_steps"]["mean_excess"]),
        worst=_percent(small["two_steps"]["worst_excess"]),
        estimate=press.mark("our-estimate"),
        up=up,
    )


def base_rates_fragment(press: Press, up: str) -> str:
    """Render the comparison with published counts; empty for knowledge without its entries."""
    if not comparable(press.catalogue):
        return ""
    rows = [
        {
            "what": row.compared.what,
            "theirs": f"{row.compared.low:.2g} to {row.compared.high:.2g}",
            "ours": f"{row.ours:.2g}",
            "verdict": VERDICTS[row.verdict],
            "how": f"{row.compared.how} {row.compared.why}".strip(),
            "seen": " and ".join(
                words
                for mark, words in MARKS.items()
                if any(one.mark == mark for one in row.compared.published)
            ),
            "sources": press.marks(one.source for one in row.compared.published),
        }
        for row in base_rates(press.catalogue)
    ]
    template = press.env.get_template("base-rates.html.j2")
    return template.render(rows=rows, estimate=press.mark("our-estimate"), up=up)


def _percent(share: float) -> str:
    return f"{100 * share:.1f} %"


def _figures(rows: Figures) -> list[View]:
    found = []
    for name, words in POLICIES.items():
        one = rows[name]
        found.append(
            {
                "words": words,
                "money": f"{one['money']['mean']:.0f} ({one['money']['spread']:.0f})",
                "minutes": f"{one['minutes']['mean']:.0f} ({one['minutes']['spread']:.0f})",
                "in_vain": f"{one['parts_in_vain']:.1f}",
                "alone": f"{100 * one['without_workshop']:.0f} of 100",
            }
        )
    return found


def draw_costs(rows: Figures, hour_value: float) -> str:
    """Draw the mean cost of each way of choosing as a bar, the owner's time hatched.

    A thin line goes one standard deviation to both sides; cars differ that much.
    """
    most = max(_reach(rows[name]) for name in POLICIES)
    scale = (WIDTH - 2 * _SIDE) / most
    body = "".join(
        _bar(words, rows[name], (place * _ROW, scale, hour_value))
        for place, (name, words) in enumerate(POLICIES.items())
    )
    bottom = len(POLICIES) * _ROW
    axis, height = _axis(most, scale, bottom)
    title = "Mean cost until cured, in dollars: " + "; ".join(
        f"{words} {rows[name]['cost']['mean']:.0f}" for name, words in POLICIES.items()
    )
    return (
        f'<svg viewBox="0 0 {WIDTH:g} {height:g}" role="img" '
        f'aria-label="{escape(title, quote=True)}">{body}{axis}</svg>'
    )


def _reach(figures: Figures) -> float:
    return float(figures["cost"]["mean"]) + float(figures["cost"]["spread"])


def _bar(words: str, figures: Figures, at: Sequence[float]) -> str:
    top, scale, hour_value = at
    mean, spread = figures["cost"]["mean"], figures["cost"]["spread"]
    money = figures["money"]["mean"] * scale
    time = figures["minutes"]["mean"] * hour_value / 60 * scale
    bar_top, middle = top + 16, top + 16 + _BAR / 2
    low, high = max(0.0, mean - spread) * scale, (mean + spread) * scale
    hatch = hatch_path(_SIDE + money, bar_top, time, _BAR, _TIME_DENSITY)
    line = 'class="scale__line"'
    return (
        f'<text x="{_SIDE:g}" y="{top + 12:g}">{escape(words)}: {mean:.0f}</text>'
        f'<rect {line} x="{_SIDE:g}" y="{bar_top:g}" width="{money + time:.1f}" height="{_BAR:g}"/>'
        f'<path class="hatch" d="{hatch}"/>'
        f'<line {line} x1="{_SIDE + money:.1f}" y1="{bar_top:g}" x2="{_SIDE + money:.1f}" '
        f'y2="{bar_top + _BAR:g}"/>'
        f'<line {line} x1="{_SIDE + low:.1f}" y1="{middle:g}" x2="{_SIDE + high:.1f}" '
        f'y2="{middle:g}"/>'
    )


def _axis(most: float, scale: float, top: float) -> tuple[str, float]:
    step = tick_step(most)
    right = WIDTH - _SIDE
    parts = [f'<line class="scale__line" x1="{_SIDE:g}" y1="{top:g}" x2="{right:g}" y2="{top:g}"/>']
    for number in range(int(most / step) + 1):
        x = _SIDE + number * step * scale
        anchor = "start" if number == 0 else "end" if x > WIDTH - 3 * _SIDE else "middle"
        parts.append(
            f'<line class="scale__line" x1="{x:.1f}" y1="{top:g}" x2="{x:.1f}" y2="{top + 5:g}"/>'
            f'<text class="scale__tick-text" x="{x:.1f}" y="{top + 18:g}" '
            f'text-anchor="{anchor}">{number * step:g}</text>'
        )
    return "".join(parts), top + 24
