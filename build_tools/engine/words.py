"""Room 5: say what the reasoning found, in plain sentences.

Takes the data that triage, trace and gauges give and the compiled knowledge, and makes the
same sentences as `assets/engine/words.js`. It decides nothing and calls nothing
certain.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from build_tools.knowledge.markup import fraction_words, lower_first

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from build_tools.engine.trace import EvidenceWeight

    Document = Mapping[str, Any]

_SIDES: Final = {
    "battery": ("battery", "is"),
    "connection": ("connections", "are"),
    "charging": ("charging", "is"),
    "drain": ("parked draw", "is"),
}
_FIRST: Final = {
    "unproven": "The supply is not proven yet, so a check on it comes before any part.",
    "doubtful": "The supply is in doubt, and settling that comes before any part.",
}
_STATES: Final = {
    "unproven": "The supply is not proven yet.",
    "doubtful": "The supply is in doubt.",
    "failing": "The supply is failing: something in it is very likely not as it should be.",
    "sound": "The supply is sound.",
}
_MOST_NAMED: Final = 3
_WORTH_SAYING: Final = 0.1
_LEAST_MONEY: Final = 1.0


def listed(words: Iterable[str], joint: str = "and") -> str:
    """Join words the way one says them: a, b and c."""
    found = list(words)
    if len(found) < 2:  # noqa: PLR2004 - one word needs no joint
        return "".join(found)
    return f"{', '.join(found[:-1])} {joint} {found[-1]}"


def _title(knowledge: Document, kind: str, name: str) -> str:
    entry = knowledge[kind].get(name)
    return name if entry is None else str(entry["title"])


def _cause(knowledge: Document, name: str) -> str:
    return lower_first(_title(knowledge, "causes", name))


def _label(knowledge: Document, check: str, level: str) -> str:
    for one in knowledge["checks"].get(check, {}).get("levels", []):
        if one["id"] == level:
            return lower_first(str(one["label"]))
    return level


def _found(knowledge: Document, reason: Document) -> str:
    title = _title(knowledge, "checks", reason["check"])
    return f"“{title}” came out “{_label(knowledge, reason['check'], reason['level'])}”"


def reason_words(knowledge: Document, reason: Document) -> str:
    """Say one reason of an advice as a sentence; an unknown kind gives an empty text."""
    return _check_reason(knowledge, reason) or _supply_reason(knowledge, reason)


def _supply_reason(knowledge: Document, reason: Document) -> str:
    match reason["kind"]:
        case "symptom":
            return f"You noticed: {lower_first(_title(knowledge, 'symptoms', reason['symptom']))}."
        case "level" | "abnormal":
            return f"{_found(knowledge, reason)}."
        case "proven":
            side, verb = _SIDES[reason["aspect"]]
            by = listed(f"“{_title(knowledge, 'checks', one)}”" for one in reason["checks"])
            return f"The {side} {verb} proven by {by}."
        case "open":
            side, verb = _SIDES[reason["aspect"]]
            return f"The {side} {verb} not proven yet."
        case "supply-probability":
            odds = fraction_words(reason["probability"])
            return f"Something in the supply plays a part in {odds} cars with these findings."
        case "confirmed":
            return f"{_found(knowledge, reason)}, which confirms it."
        case "worth-trying":
            return (
                "No check left would tell more for its price. "
                "This is the cheapest to try for its chance, and it is not proven."
            )
        case "probability":
            odds = fraction_words(reason["probability"])
            cause = _title(knowledge, "causes", reason["cause"])
            return f"{cause}: {odds} cars with these findings."
    return ""


def _check_reason(knowledge: Document, reason: Document) -> str:
    match reason["kind"]:
        case "instead":
            title = _title(knowledge, "checks", reason["check"])
            return f"“{title}” would mislead as things stand, so this comes first."
        case "needed-before":
            return f"“{_title(knowledge, 'checks', reason['check'])}” needs its result."
        case "supply-first":
            return _FIRST[reason["state"]]
        case "proves":
            sides = listed(f"the {_SIDES[one][0]}" for one in reason["aspects"])
            return f"A normal result proves {sides}."
        case "confirms":
            return f"It can confirm the likeliest cause: {_cause(knowledge, reason['cause'])}."
        case "quick-look":
            cause = _cause(knowledge, reason["cause"])
            return f"A quick look here can confirm what is cheapest to put right: {cause}."
        case "look-alike":
            one, other = _cause(knowledge, reason["cause"]), _cause(knowledge, reason["other"])
            return f"It tells “{one}” from its look-alike “{other}”."
        case "tells-apart":
            named = [f"“{_cause(knowledge, one)}”" for one in reason["causes"][:_MOST_NAMED]]
            return f"Its result decides which is likeliest: {listed(named, 'or')}."
    return ""


def reasons_words(knowledge: Document, reasons: Iterable[Document]) -> list[str]:
    """Say each reason as a sentence, leaving out what has no words."""
    return [words for words in (reason_words(knowledge, one) for one in reasons) if words]


def supply_words(state: str) -> str:
    """Say the state of the supply in one sentence."""
    return _STATES[state]


def until_words(knowledge: Document, until: Document) -> str:
    """Say how long to hold off on a part."""
    match until["kind"]:
        case "supply-sound":
            return "Hold off until the supply is sound."
        case "check":
            title = _title(knowledge, "checks", until["check"])
            level = _label(knowledge, until["check"], until["level"])
            return f"Hold off until “{title}” shows “{level}” or worse."
    return "Hold off until a workshop has confirmed it."


def saving_words(amount: float, currency: str) -> str:
    """Say what a check is expected to save, or nothing when it is too little to speak of."""
    if amount < _LEAST_MONEY:
        return ""
    return f"Expected to save about {round_money(amount)} {currency} against buying by guess."


def round_money(amount: float) -> int:
    """Round to whole units, and to tens from 100 up: our estimates carry no more digits."""
    step = 10 if amount >= 100 else 1  # noqa: PLR2004 - where single units stop meaning anything
    return int(amount / step + 0.5) * step


def outcome_words(knowledge: Document, check: str, outcome: Document) -> str:
    """Say how likely an outcome is and which cause would then lead."""
    label = _label(knowledge, check, outcome["level"])
    odds = fraction_words(outcome["probability"])
    if outcome["top_cause"] is None:
        return f"If “{label}”, the next check can follow."
    cause = _cause(knowledge, outcome["top_cause"])
    return f"If “{label}” ({odds}), “{cause}” is likeliest."


def push_words(knowledge: Document, push: EvidenceWeight, case: Document) -> str:
    """Name what pushed a cause, as part of a list: a symptom, a result, an answer."""
    match push.kind:
        case "symptom":
            return lower_first(_title(knowledge, "symptoms", push.id))
        case "absent":
            return f"not so: {lower_first(_title(knowledge, 'symptoms', push.id))}"
        case "context":
            return _answer_words(knowledge, push.id, case.get("answers", {}).get(push.id))
    title = lower_first(_title(knowledge, "checks", push.id))
    level = case.get("levels", {}).get(push.id)
    return title if level is None else f"{title} ({_label(knowledge, push.id, level)})"


def _answer_words(knowledge: Document, name: str, answer: str | None) -> str:
    context = knowledge["contexts"].get(name, {})
    title = lower_first(str(context.get("title", name)))
    for option in context.get("options", []):
        if option["id"] == answer:
            return f"{title} ({lower_first(str(option['label']))})"
    return title if answer is None else f"{title} ({answer})"


def pushes_words(
    knowledge: Document, pushes: Iterable[EvidenceWeight], case: Document
) -> tuple[list[str], list[str]]:
    """Return what raised and what lowered a cause, up to three each, strongest first."""
    raised: list[str] = []
    lowered: list[str] = []
    for push in pushes:
        if abs(push.change) < _WORTH_SAYING:
            continue
        side = raised if push.change > 0 else lowered
        if len(side) < _MOST_NAMED:
            side.append(push_words(knowledge, push, case))
    return raised, lowered
