"""Room 5: names for what readiness rests on: conditions of a drive, how a text was seen.

Shared by the generated pages and, through the compiled data, by the browser. It decides
nothing and holds no figure.
"""

from typing import Final

from build_tools.knowledge import markup
from build_tools.knowledge.readiness_entries import Condition

# metric of a trip: (what it is, canonical unit)
METRICS: Final = {
    "start-coolant": ("Coolant at the start", "degC"),
    "start-coolant-over-ambient": ("Coolant above the air at the start", "degree"),
    "peak-coolant": ("Highest coolant temperature", "degC"),
    "ambient-low": ("Coldest air on the way", "degC"),
    "ambient-high": ("Warmest air on the way", "degC"),
    "longest-idle": ("Longest unbroken idle", "s"),
    "first-idle": ("Idle right after the start", "s"),
    "longest-cruise": ("Longest steady stretch", "s"),
    "cruise-total": ("Steady speed in all", "s"),
    "coast-downs": ("Slowing down by itself", "times"),
    "stops": ("Stops", "times"),
    "driving-time": ("Time moving", "s"),
    "running-time": ("Time with the engine running", "s"),
    "fuel-level": ("Fuel in the tank", "percent"),
}
STANDINGS: Final = {
    "sourced": "We found the limit in this place's own text.",
    "in-transition": "The rule is changing. Ask the authority which one holds for your car.",
    "guidance": "This is guidance. A state may do otherwise.",
    "historic": "As far as we know, this program has ended.",
    "no-sourced-rule": "We found no limit in this place's own text. Ask the authority.",
}
ENGINES: Final = {"spark": "gasoline and other spark engines", "compression": "diesel engines"}
ASK_ANYWHERE: Final = (
    "Is the car's own computer read in the test, or is the exhaust measured instead?",
    "How many monitors may be incomplete for my model year and fuel?",
    "Which monitors must be complete at a retest?",
    "Do permanent codes count?",
    "What happens, and what does it cost, if too many are incomplete?",
    "How do people here get their monitors done?",
    "Is there a waiver, more time, or an exception for a car that is driven little?",
)
# What each place's text may say beside its rule, with the head it stands under.
PLACE_PARTS: Final = {
    "costs": "What not ready costs here",
    "get_ready": "How to get ready here",
    "ways_out": "Waiver, more time, little use",
}


def degrees_words(celsius: float, *, is_difference: bool = False) -> str:
    """Say a temperature, or a difference of two, in both scales."""
    fahrenheit = celsius * 9 / 5 + (0 if is_difference else 32)
    return f"{round(celsius)} \N{DEGREE SIGN}C ({round(fahrenheit)} \N{DEGREE SIGN}F)".replace(
        "-", "\N{MINUS SIGN}"
    )


def amount_words(value: float, unit: str) -> str:
    """Say an amount of a metric in its unit."""
    if unit == "degC":
        return degrees_words(value)
    if unit == "degree":
        return degrees_words(value, is_difference=True)
    if unit == "s":
        return f"{value:g} s" if value < 120 else f"{value / 60:g} min"  # noqa: PLR2004 - two minutes
    if unit == "percent":
        return f"{value:g} %"
    return "once" if value == 1 else f"{value:g} times"


def condition_words(condition: Condition) -> str:
    """Say what a condition asks for, without its mark."""
    name, unit = METRICS[condition.metric]
    least, most = condition.at_least, condition.at_most
    if least is not None and most is not None:
        low, high = amount_words(least, unit), amount_words(most, unit)
        return f"{name}: from {low} to {high}"
    if least is not None:
        return f"{name}: at least {amount_words(least, unit)}"
    return f"{name}: at most {amount_words(most or 0, unit)}"


def years_words(first: int | None, last: int | None) -> str:
    """Say a range of model years."""
    if first is None and last is None:
        return "all years"
    if last is None:
        return f"{first} and newer"
    if first is None:
        return f"{last} and older"
    return str(first) if first == last else f"{first} to {last}"


def in_sentence(title: str) -> str:
    """Return a title as it stands inside a sentence; names like EGR keep their capitals."""
    return title if title[1:2].isupper() else markup.lower_first(title)
