"""Room 5: retell a worked case on a page: what was told, what was measured, what follows."""

from build_tools.knowledge import markup
from build_tools.knowledge.entries import Case
from build_tools.knowledge.quantities import Quantity
from build_tools.measure.sums_parts import to_fahrenheit
from build_tools.site.page_press import Press, View

_SUPPLY_WORDS = {
    "unproven": "Battery and charging: not checked yet.",
    "doubtful": "Battery and charging: unclear.",
    "failing": "Battery and charging: bad.",
    "sound": "Battery and charging: good.",
}


def describe_case(press: Press, case: Case) -> View:
    """Return a case as words and references, readings with their conditions."""
    expect = case.expect
    group = press.catalogue.vocabulary.groups.get(expect.group_in_first_three or "")
    cause = expect.cause_in_first_three
    return {
        "title": case.title,
        "story": case.story,
        "noticed": [press.refer("symptom", one) for one in case.symptoms],
        "readings": [
            {
                "to": press.refer("check", check_id),
                "value": _quantity(press, reading.quantity),
                "under": _conditions(press, dict(reading.conditions)),
            }
            for check_id, reading in case.readings.items()
        ],
        "outcomes": [
            {"to": press.refer("check", check_id), "label": press.level_label(check_id, level)}
            for check_id, level in case.outcomes.items()
            if not _is_normal(press, check_id, level)
        ],
        "normal": [
            press.refer("check", check_id)
            for check_id, level in case.outcomes.items()
            if _is_normal(press, check_id, level)
        ],
        "supply": _SUPPLY_WORDS.get(expect.supply or "", ""),
        "group": group.title if group else "",
        "cause": press.refer("cause", cause) if cause else None,
        "next": press.refer("check", expect.next) if expect.next else None,
    }


def _quantity(press: Press, quantity: Quantity) -> str:
    """Write a number with its unit; degrees in the reader's scale first."""
    if quantity.unit == "degC":
        both = f"{to_fahrenheit(quantity.value):.0f} °F ({quantity.value:g} °C)"
        return both.replace("-", "\N{MINUS SIGN}").replace(" °", "\N{NO-BREAK SPACE}°")
    symbol = markup.unit_symbol(quantity.unit, press.catalogue.vocabulary.units)
    return f"{quantity.value:g}\N{NO-BREAK SPACE}{symbol}".replace("-", "\N{MINUS SIGN}").strip()


def _conditions(press: Press, conditions: dict[str, str | Quantity]) -> list[str]:
    words = []
    for context_id, value in conditions.items():
        if isinstance(value, str):
            shown = markup.lower_first(press.option_label(context_id, value))
        else:
            shown = _quantity(press, value)
        words.append(f"{press.fact_title(context_id)}: {shown}")
    return words


def _is_normal(press: Press, check_id: str, level_id: str) -> bool:
    check = press.catalogue.checks.get(check_id)
    return check is not None and check.levels[0].id == level_id
