"""Room 5: put every gauge and every sum on one shelf, in an owner's words.

The readings page shows this list without a script, and with one it reads the same list from
the page. It says where a thing stands; it interprets nothing.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any, Final

from build_tools.knowledge.entries import Gauge
from build_tools.measure.words import marks_used
from build_tools.site.page_press import Press, View

GROUPS: Final = (
    ("rest", "At rest"),
    ("load", "Under load"),
    ("cranking", "While cranking"),
    ("charging", "Engine running"),
    ("parked", "Parked"),
    ("charge", "Charging and cold"),
    ("ratings", "Ratings on the label"),
    ("readout", "From a code reader"),
)
# Two groups of the sums' files that an owner looks for in one place.
_SAME: Final = {"cold": "charge"}
# Where a gauge stands, and the question it answers. A gauge that is not here stands with the
# aspect its check can prove, under its own title.
_GAUGES: Final = {
    "resting-voltage": ("rest", "What do the volts at rest mean?"),
    "specific-gravity": ("rest", "What does the float in the acid mean?"),
    "load-test-voltage": ("load", "What do the volts under a load test mean?"),
    "conductance-ratio": ("load", "What does an electronic battery tester's result mean?"),
    "cranking-voltage": ("cranking", "How far may the volts fall while cranking?"),
    "cable-drop-positive": ("cranking", "Is the voltage drop on the positive cable too high?"),
    "cable-drop-ground": ("cranking", "Is the voltage drop on the ground side too high?"),
    "clamp-drop": ("cranking", "Is the joint between post and clamp good?"),
    "charging-voltage": ("charging", "Is the battery being charged?"),
    "charging-voltage-loaded": ("charging", "Does charging keep up with the lamps on?"),
    "charging-cable-drop": ("charging", "Is the voltage drop on the charging cable too high?"),
    "ac-ripple": ("charging", "Is there too much AC voltage?"),
    "parasitic-draw": ("parked", "Is this parked draw too much?"),
    "module-voltage": ("readout", "What does the computer's own voltage mean?"),
    "warm-up-temperature": ("readout", "Does the engine get warm enough?"),
}
_BY_ASPECT: Final = {
    "battery": "rest",
    "connection": "cranking",
    "charging": "charging",
    "drain": "parked",
}


# Words an owner types with a number, beyond those the page itself says.
_TYPED: Final = {
    "resting-voltage": "engine off overnight morning parked battery sitting key out",
    "cranking-voltage": "cranking crank starting start while",
    "charging-voltage": "engine on running idle alternator revs",
    "charging-voltage-loaded": "engine running lights heater blower alternator",
    "parasitic-draw": "parked overnight key off engine off asleep drain amps milliamps",
    "load-test-voltage": "load tester",
}


@dataclass(frozen=True)
class Place:
    """Say where one gauge or sum stands on the shelf, and what it is asked for.

    `marks` are the words of the marks behind `about`, none where it holds no figure.
    """

    group: str
    kind: str
    id: str
    ask: str
    about: str
    address: str
    marks: tuple[str, ...]


def shelf(press: Press) -> list[View]:
    """Return the groups in their order, each with its places; empty ones left out.

    Gauges come before sums, each kind in the order of its files.
    """
    places = [*_gauge_places(press), *_sum_places(press)]
    rows = [
        {"id": group, "title": title, "places": [one for one in places if one.group == group]}
        for group, title in GROUPS
    ]
    return [row for row in rows if row["places"]]


def reading_texts(press: Press) -> list[dict[str, Any]]:
    """Return what a search needs to lead a typed number to its gauge, in the shelf's order."""
    gauges = press.catalogue.gauges
    return [
        {
            "id": one.id,
            "ask": one.ask,
            "words": f"{row['title']} {one.ask} {one.about}".lower(),
            "typed": _TYPED.get(one.id, ""),
            "units": list(gauges[one.id].accepts),
            "low": gauges[one.id].plausible.low,
            "high": gauges[one.id].plausible.high,
        }
        for row in shelf(press)
        for one in row["places"]
        if one.kind == "gauge"
    ]


def readings_fragment(press: Press, up: str) -> str:
    """Render the shelf for the readings page, `up` levels below the root."""
    return press.env.get_template("readings.html.j2").render(groups=shelf(press), up=up)


def _gauge_places(press: Press) -> Iterator[Place]:
    for gauge in press.catalogue.gauges.values():
        group, ask = _GAUGES.get(gauge.id, (_group_of(press, gauge), gauge.title))
        about = f"{gauge.title}. {gauge.summary}" if ask != gauge.title else gauge.summary
        marks = _marks(press, about, (table.source for table in gauge.tables))
        yield Place(group, "gauge", gauge.id, ask, about, f"gauges/{gauge.id}/", marks)


def _sum_places(press: Press) -> Iterator[Place]:
    for one in press.catalogue.sums.values():
        group = _SAME.get(one.group, one.group)
        about = f"{one.title}. {one.summary}"
        marks = _marks(press, about, marks_used(one.document))
        yield Place(group, "sum", one.id, one.question, about, f"sums/{one.id}/", marks)


def _marks(press: Press, about: str, sources: Iterable[str]) -> tuple[str, ...]:
    if not any(sign.isdigit() for sign in about):
        return ()
    return tuple(dict.fromkeys(press.mark(source).words for source in sources))


def _group_of(press: Press, gauge: Gauge) -> str:
    for check in press.checks_of_gauge.get(gauge.id, []):
        for aspect in press.catalogue.checks[check].aspects:
            return _BY_ASPECT.get(aspect, "readout")
    return "readout"
