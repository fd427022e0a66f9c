"""Room 5: write the advice on a case as plain text, for a terminal or a message.

Takes the JSON of `triage_command`; it reasons about nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from build_tools.knowledge.markup import fraction_words

if TYPE_CHECKING:
    from collections.abc import Mapping

    Document = Mapping[str, Any]

_MOST_CAUSES = 5


def advice_text(advice: Document) -> str:
    """Return the advice as paragraphs: stop now, next check, supply, causes, hold off."""
    parts = [
        _stop(advice),
        _next(advice),
        _repair(advice),
        _supply(advice),
        _causes(advice),
        _hold(advice),
    ]
    return "\n\n".join("\n".join(part) for part in parts if part)


def _stop(advice: Document) -> list[str]:
    return [f"Stop now: {one['text']}" for one in advice["stop_now"]]


def _next(advice: Document) -> list[str]:
    if not advice["next"]:
        return []
    first, *others = advice["next"]
    lines = [f"Next check: {first['title']} ({first['minutes']:g} min)"]
    lines += [f"  {reason}" for reason in first["because"]]
    if others:
        lines.append("Or instead: " + ", ".join(one["title"] for one in others))
    return lines


def _repair(advice: Document) -> list[str]:
    repair = advice["repair"]
    if repair is None:
        return []
    return [f"Now: {repair['action']}", *(f"  {reason}" for reason in repair["because"])]


def _supply(advice: Document) -> list[str]:
    supply = advice["supply"]
    return [f"Supply: {supply['state']}", *(f"  {reason}" for reason in supply["because"])]


def _causes(advice: Document) -> list[str]:
    return ["Likeliest causes:"] + [
        f"  {one['title']}: {fraction_words(one['probability'])}"
        for one in advice["causes"][:_MOST_CAUSES]
    ]


def _hold(advice: Document) -> list[str]:
    if not advice["hold_off"]:
        return []
    return ["Hold off buying:"] + [
        f"  {one['part']}, {_price(one)}: at fault "
        f"in {fraction_words(one['probability_at_fault'])}. {one['until']}"
        for one in advice["hold_off"]
    ]


def _price(one: Document) -> str:
    return f"{one['price_low']:g} to {one['price_high']:g} {one['currency']}"
