"""Room 5: hold our odds against published counts of breakdowns and tests.

Published counts say what was wrong with cars that were called out or tested. Ours is worked
out from complaints: each complaint alone, the rise of each cause over any car, weighted by
how often the model expects the complaint. The two are not the same question, so a figure
counts as agreeing within a factor of two of the published range, and each row says what else
sets them apart. Shares are compared by their odds: 0.95 and 0.48 are not neighbors.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from build_tools.engine.cases import CarCase
from build_tools.engine.diagnosis import diagnose
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.network import Network
from build_tools.knowledge.catalogue import Catalogue

FACTOR: Final = 2.0
"""How far ours may lie from the published range before it needs an explanation."""

MARKS: Final = {"own": "publisher's own text, its opening only", "2nd": "told by others"}
VERDICTS: Final = {
    "within": "within the range",
    "near": "within a factor of two of it",
    "apart": "further apart",
}
COMPLAINTS: Final = (
    "rapid-clicks-no-crank",
    "single-click-no-crank",
    "silent-no-crank-lights-on",
    "starter-spins-or-grinds",
    "totally-dead-and-stays-dead",
    "flat-overnight",
    "red-charging-lamp",
)
"""What makes someone call for help with a car that does not crank or charge."""

FLAT: Final = ("rapid-clicks-no-crank", "totally-dead-and-stays-dead", "flat-overnight")
"""What a patrol writes down as a battery call."""

# Keys, immobilizers and interlocks are counted apart by those who count.
STARTER: Final = (
    "starter-worn",
    "starter-relay-poor",
    "start-signal-wire-poor",
    "starter-drive-slips",
    "starter-heat-soaked",
    "starter-contact-stuck",
)
WORN: Final = ("battery-worn-out", "battery-cell-dead", "battery-post-cracked")
_NOT_READY: Final = "not-ready-at-inspection"
_CAP: Final = "fuel-cap-not-sealing"
LEFT_ON: Final = ("lamp-left-on", "door-or-trunk-switch-poor", "key-left-near-car")


@dataclass(frozen=True)
class Published:
    """One published figure: its value, the source's id and how the text was seen (MARKS)."""

    value: float
    source: str
    mark: str


@dataclass(frozen=True)
class Compared:
    """What is compared: published figures, how ours is worked out, and what sets them apart.

    `why` is empty where nothing needs explaining beyond `how`.
    """

    id: str
    what: str
    how: str
    share: bool
    published: tuple[Published, ...]
    why: str = ""

    @property
    def low(self) -> float:
        """Return the lowest published figure."""
        return min(one.value for one in self.published)

    @property
    def high(self) -> float:
        """Return the highest published figure."""
        return max(one.value for one in self.published)


_MIX: Final = "all complaints of a car that does not crank or charge"
_BATTERY_CALLS: Final = "rapid clicks, a dead car that stays dead, and flat by morning"

COMPARED: Final = (
    Compared(
        "battery-among-three",
        "Battery, its connections and drains, among these, charging and starter",
        f"Share over {_MIX}. Call-out lists name no clamps or drains, so they are put with the"
        " battery.",
        share=True,
        published=(
            Published(0.91, "breakdown-counts-japan-2000", "own"),
            Published(0.93, "breakdown-counts-japan-1999", "own"),
            Published(0.95, "breakdown-counts-japan-2010", "2nd"),
            Published(0.78, "breakdown-review-britain-2008", "own"),
            Published(0.68, "breakdown-review-britain-2011", "2nd"),
            Published(0.78, "winter-breakdowns-britain-2016", "own"),
        ),
    ),
    Compared(
        "charging-to-starter",
        "Charging faults for each starter fault",
        f"Ratio over {_MIX}; keys, immobilizer and interlocks stay out, as in the counts.",
        share=False,
        published=(
            Published(2.1, "breakdown-counts-japan-2000", "own"),
            Published(2.1, "breakdown-counts-japan-1999", "own"),
            Published(1.1, "breakdown-counts-japan-2010", "2nd"),
            Published(1.0, "breakdown-review-britain-2008", "own"),
            Published(1.4, "breakdown-review-britain-2011", "2nd"),
            Published(1.5, "winter-breakdowns-britain-2016", "own"),
        ),
    ),
    Compared(
        "worn-among-battery",
        "Worn or broken batteries among battery calls",
        f"Share among battery and drain causes, over {_BATTERY_CALLS}. Counts of replaced"
        " batteries include what was merely sold, counts of flat ones include worn ones that"
        " were jumped and left.",
        share=True,
        published=(
            Published(0.09, "breakdown-counts-japan-2000", "own"),
            Published(0.18, "breakdown-counts-japan-2022", "2nd"),
            Published(0.314, "flat-battery-survey-japan-2011", "own"),
            Published(0.65, "winter-breakdowns-britain-2016", "own"),
            Published(0.19, "breakdown-review-britain-2008", "own"),
            Published(0.30, "breakdown-review-britain-2012", "own"),
            Published(0.24, "breakdown-counts-netherlands-2025", "2nd"),
            Published(0.39, "breakdown-counts-australia-2021", "2nd"),
        ),
    ),
    Compared(
        "left-on-among-battery",
        "Something left on or open, among battery calls",
        f"Share of lamps, doors and keys among battery and drain causes, over {_BATTERY_CALLS}."
        " The lowest and highest counts differ in what was asked: by make, or of each driver.",
        share=True,
        published=(
            Published(0.07, "breakdown-statistics-germany-2021", "2nd"),
            Published(0.25, "breakdown-statistics-germany-2021", "2nd"),
            Published(0.33, "breakdown-review-ireland-2011", "own"),
            Published(0.517, "flat-battery-survey-japan-2011", "own"),
        ),
    ),
    Compared(
        "cold-to-mild",
        "How much the cold raises the odds of a battery call",
        f"Odds of battery, connection and drain over {_MIX}, at -10 °C against 20 °C. The counts"
        " are odds of a battery call among all calls, or by how much such calls grew.",
        share=False,
        published=(
            Published(0.91, "breakdown-counts-japan-1997", "own"),
            Published(0.91, "breakdown-counts-japan-1998", "own"),
            Published(1.26, "cold-weather-note-britain-2016", "own"),
            Published(2.2, "breakdown-dispatches-korea-2022", "2nd"),
        ),
    ),
    Compared(
        "not-ready",
        "Cars that come to a test with monitors not ready",
        "How often the model expects that complaint in any car. The counts are of young cars of"
        " model years 1996 and 1998, with fewer monitors than today's.",
        share=True,
        published=(
            Published(0.014, "obd-wisconsin-lanes", "own"),
            Published(0.058, "obd-wisconsin-lanes", "own"),
        ),
    ),
    Compared(
        "cap-not-sealing",
        "Fuel caps that leak, in any car",
        "How common we take it to be. The counts are of caps brought to free tests, which find"
        " leaks too small to set a code; they are not the share of caps among vapor leak codes.",
        share=True,
        published=(
            Published(0.09, "gas-cap-testing-ohio-2018", "own"),
            Published(0.117, "gas-cap-testing-ohio-2018", "own"),
            Published(0.11, "gas-cap-testing-ohio-2018", "own"),
            Published(0.139, "gas-cap-testing-ohio-2018", "own"),
        ),
    ),
)


@dataclass(frozen=True)
class Row:
    """One comparison worked out: ours beside theirs.

    `ratio` is ours over the nearest published figure (1 inside the range), by odds for shares.
    `verdict` is "within" the range, "near" it (a factor of two) or "apart".
    """

    compared: Compared
    ours: float
    ratio: float
    verdict: str


def comparable(catalogue: Catalogue) -> bool:
    """Tell whether the catalogue has every complaint and cause that is compared."""
    causes = {*STARTER, *WORN, *LEFT_ON, _CAP}
    complaints = {*COMPLAINTS, *FLAT, _NOT_READY}
    return causes <= catalogue.causes.keys() and complaints <= catalogue.symptoms.keys()


def base_rates(catalogue: Catalogue) -> list[Row]:
    """Work out every comparison of COMPARED, for a catalogue that is `comparable`."""
    network = network_from_catalogue(catalogue)
    ours = _ours(catalogue, network)
    return [_row(one, ours[one.id]) for one in COMPARED]


def _row(compared: Compared, ours: float) -> Row:
    nearest = min(max(ours, compared.low), compared.high)
    ratio = _odds(ours) / _odds(nearest) if compared.share else ours / nearest
    verdict = "within"
    if ours != nearest:
        verdict = "near" if 1 / FACTOR <= ratio <= FACTOR else "apart"
    return Row(compared, ours, ratio, verdict)


def _odds(share: float) -> float:
    return share / (1 - share)


def _ours(catalogue: Catalogue, network: Network) -> dict[str, float]:
    groups = {name: cause.group for name, cause in catalogue.causes.items()}
    calls = _made(catalogue, network, COMPLAINTS)
    flat = _made(catalogue, network, FLAT)
    battery = _sum(calls, groups, "battery", "connection", "drain")
    charging = _sum(calls, groups, "charging")
    starter = sum(calls[name] for name in STARTER)
    flat_battery = _sum(flat, groups, "battery", "drain")
    odds = [_battery_odds(catalogue, network, degrees) for degrees in (-10.0, 20.0)]
    asked = diagnose(catalogue, network, CarCase(symptoms=(_NOT_READY,)))
    return {
        "battery-among-three": battery / (battery + charging + starter),
        "charging-to-starter": charging / starter,
        "worn-among-battery": sum(flat[name] for name in WORN) / flat_battery,
        "left-on-among-battery": sum(flat[name] for name in LEFT_ON) / flat_battery,
        "cold-to-mild": odds[0] / odds[1],
        "not-ready": math.exp(asked.log_evidence),
        "cap-not-sealing": diagnose(catalogue, network, CarCase()).posteriors[_CAP],
    }


def _battery_odds(catalogue: Catalogue, network: Network, degrees: float) -> float:
    made = _made(catalogue, network, COMPLAINTS, {"temperature": degrees})
    groups = {name: cause.group for name, cause in catalogue.causes.items()}
    battery = _sum(made, groups, "battery", "connection", "drain")
    return battery / (sum(made.values()) - battery)


def _sum(made: Mapping[str, float], groups: Mapping[str, str], *wanted: str) -> float:
    return sum(value for name, value in made.items() if groups[name] in wanted)


def _made(
    catalogue: Catalogue,
    network: Network,
    complaints: tuple[str, ...],
    context: Mapping[str, float] | None = None,
) -> dict[str, float]:
    """Return how often each cause comes with these complaints beyond its share of any car."""
    given = context or {}
    usual = diagnose(catalogue, network, CarCase(context=given)).posteriors
    total = dict.fromkeys(usual, 0.0)
    for name in complaints:
        found = diagnose(catalogue, network, CarCase(symptoms=(name,), context=given))
        weight = math.exp(found.log_evidence)
        for cause, posterior in found.posteriors.items():
            total[cause] += weight * max(0.0, posterior - usual[cause])
    return total


def rows_document(rows: list[Row]) -> list[dict[str, Any]]:
    """Give the rows as plain values, figures to three digits."""
    return [
        {
            "id": row.compared.id,
            "what": row.compared.what,
            "sources": sorted({one.source for one in row.compared.published}),
            "theirs": [row.compared.low, row.compared.high],
            "marks": sorted({one.mark for one in row.compared.published}),
            "ours": float(f"{row.ours:.3g}"),
            "ratio": float(f"{row.ratio:.3g}"),
            "verdict": row.verdict,
            "how": row.compared.how,
            "why": row.compared.why,
        }
        for row in rows
    ]


def base_rates_text(rows: list[Row]) -> str:
    """Write the comparison for a terminal: a line of figures, then how and why."""
    lines = []
    for row in rows:
        one = row.compared
        lines += [
            f"{one.what}: theirs {one.low:g}-{one.high:g}, ours {row.ours:.3g}, {row.verdict}",
            *(f"  {each.value:g}  {each.source}  [{MARKS[each.mark]}]" for each in one.published),
            f"  {one.how}",
        ]
        if one.why:
            lines.append(f"  {one.why}")
    return "\n".join(lines)
