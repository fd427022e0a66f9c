"""Pure parts of the benches: medians, ratios, the exponent of growth, and the table.

Nothing here measures, so all of it can be held against worked figures.
"""

import math
from dataclasses import asdict, dataclass
from statistics import median


@dataclass(frozen=True)
class Target:
    """What a figure should reach: `limit` for the `ratio`, or for `ours` itself."""

    limit: float
    at_least: bool = False
    of: str = "ratio"

    def words(self):
        sign = ">=" if self.at_least else "<="
        return f"{sign} {self.limit:g}{'x' if self.of == 'ratio' else ''}"

    def is_met(self, value):
        return value >= self.limit if self.at_least else value <= self.limit


@dataclass(frozen=True)
class Figure:
    """One line: what was measured, ours, what stands beside it, and what it should be.

    `speed_up` turns the ratio round: how many times faster ours is.
    """

    part: str
    what: str
    unit: str
    ours: float
    beside: float | None = None
    beside_name: str = ""
    speed_up: bool = False
    target: Target | None = None
    note: str = ""

    @property
    def ratio(self):
        return (
            None if self.beside is None else ratio(self.ours, self.beside, speed_up=self.speed_up)
        )

    @property
    def met(self):
        """Tell whether the target is reached; None without one, or without a figure for it."""
        value = self.ratio if self.target and self.target.of == "ratio" else self.ours
        return None if self.target is None or value is None else self.target.is_met(value)


def ratio(ours, beside, *, speed_up=False):
    """Divide ours by the other, or the other by ours; infinite when nothing is divided by."""
    top, bottom = (beside, ours) if speed_up else (ours, beside)
    return math.inf if bottom == 0 else top / bottom


def fit_exponent(sizes, times):
    """Return b of the least-squares line log(time) = a + b log(size); 1 is proportional."""
    if len(sizes) != len(times) or len(set(sizes)) < 2:
        raise ValueError("an exponent needs two sizes at least, and a time for each")
    x, y = [[math.log(value) for value in row] for row in (sizes, times)]
    middle_x, middle_y = sum(x) / len(x), sum(y) / len(y)
    top = sum((a - middle_x) * (b - middle_y) for a, b in zip(x, y, strict=True))
    return top / sum((a - middle_x) ** 2 for a in x)


def interleaved(ways, rounds):
    """Measure several ways in turn (A, B, A, B ...) and return the median of each.

    `ways` is name to a function that measures once; what slows the machine for a while so
    falls on all of them alike.
    """
    taken = {name: [] for name in ways}
    for _ in range(rounds):
        for name, measure in ways.items():
            taken[name].append(measure())
    return {name: median(values) for name, values in taken.items()}


def number(value):
    """Write a figure with three digits that count."""
    if value is None:
        return "-"
    if value == 0 or not math.isfinite(value):
        return f"{value:g}"
    places = max(0, 2 - math.floor(math.log10(abs(value))))
    return f"{value:.{places}f}"


def table(figures):
    """Lay the figures out as text, a heading for each part."""
    head = ("what", "unit", "ours", "beside", "ratio", "target", "met")
    rows = [(figure.part, _row(figure)) for figure in figures]
    wide = [max(len(row[i]) for row in [head, *(row for _, row in rows)]) for i in range(len(head))]
    lines, part = [], None
    for named, row in rows:
        if named != part:
            part = named
            lines += ["", named, _line(head, wide), _line(["-" * width for width in wide], wide)]
        lines.append(_line(row, wide))
    notes = [f"{figure.what}: {figure.note}" for figure in figures if figure.note]
    return "\n".join([*lines, *([""] if notes else []), *notes]) + "\n"


def _row(figure):
    beside = number(figure.beside)
    if figure.beside_name:
        beside = f"{beside} {figure.beside_name}"
    share = "-" if figure.ratio is None else f"{number(figure.ratio)}x"
    met = {None: "-", True: "yes", False: "NO"}[figure.met]
    target = figure.target.words() if figure.target else "-"
    return (figure.what, figure.unit, number(figure.ours), beside, share, target, met)


def _line(row, wide):
    return "  ".join(cell.ljust(width) for cell, width in zip(row, wide, strict=True)).rstrip()


def document(figures):
    """Return the figures as plain values, for `--json`."""
    return [
        {
            **{key: value for key, value in asdict(one).items() if key != "target"},
            "target": one.target.words() if one.target else None,
            "ratio": one.ratio if one.ratio is None or math.isfinite(one.ratio) else None,
            "met": one.met,
        }
        for one in figures
    ]
