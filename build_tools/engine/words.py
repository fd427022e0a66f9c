"""Room 5: say what the reasoning found, in plain sentences.

Takes the data that triage, trace and gauges give and the compiled knowledge, and makes the
same sentences as `assets/engine/words.js`. It decides nothing and calls nothing
certain.
"""

from __future__ import annotations

from itertools import islice
from typing import TYPE_CHECKING, Any, Final

from build_tools.knowledge.markup import fraction_words, listed, lower_first
from build_tools.knowledge.sentences import say

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from build_tools.engine.trace import EvidenceWeight

    Document = Mapping[str, Any]

_MOST_NAMED: Final = 3
_WORTH_SAYING: Final = 0.1


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


def reason_words(knowledge: Document, reason: Document) -> str:
    """Say one reason of an advice as a sentence; an unknown kind gives an empty text."""
    told, check = reason.get, reason.get("check", "")
    causes = [f"“{_cause(knowledge, one)}”" for one in told("causes", ())[:_MOST_NAMED]]
    checks = [f"“{_title(knowledge, 'checks', one)}”" for one in told("checks", ())]
    return say(
        "reason",
        kind=reason["kind"],
        free=told("free"),
        state=told("state"),
        known=told("known"),
        aspect=told("aspect"),
        side=say("side", aspect=told("aspect")),
        sides=listed(f"the {say('side', aspect=one)}" for one in told("aspects", ())),
        check=_title(knowledge, "checks", check),
        level=_label(knowledge, check, told("level", "")),
        checks=listed(checks),
        context=lower_first(_title(knowledge, "contexts", told("context", ""))),
        symptom=lower_first(_title(knowledge, "symptoms", told("symptom", ""))),
        cause=_cause(knowledge, told("cause", "")),
        causes=listed(causes, "or"),
        title=_title(knowledge, "causes", told("cause", "")),
        odds=fraction_words(told("probability", 0.0)),
    )


def reasons_words(knowledge: Document, reasons: Iterable[Document]) -> list[str]:
    """Say each reason as a sentence, leaving out what has no words."""
    return [words for words in (reason_words(knowledge, one) for one in reasons) if words]


def supply_words(state: str) -> str:
    """Say the state of the supply in one sentence."""
    return say("supply-state", state=state)


def supply_name(supply: Document) -> str:
    """Name the state of battery and charging in everyday words."""
    known = "some" if supply.get("proven") else None
    return say("supply-name", state=supply["state"], known=known)


def fit_words(knowledge: Document, least: str | None) -> str:
    """Say that the results hardly fit together, and which fits least."""
    return say("hardly-fit", check="" if least is None else _title(knowledge, "checks", least))


def watch_words(knowledge: Document, watch: Document) -> str:
    """Say that the trouble is over, and that the car is only to be watched."""
    return say("watch", kind=watch["kind"], cause=_cause(knowledge, watch.get("cause", "")))


def set_aside_words(knowledge: Document, one: Document) -> str:
    """Say why a result no longer counts."""
    return say(
        "set-aside",
        check=_title(knowledge, "checks", one["check"]),
        by=_title(knowledge, "checks", one["by"]),
    )


def until_words(knowledge: Document, until: Document) -> str:
    """Say how long to wait before buying a part."""
    check = until.get("check", "")
    level = until.get("level", "")
    entry = knowledge["checks"].get(check, {})
    # Only a scale has a "worse"; what is seen or not seen has none.
    more = entry.get("gauge") and entry["levels"][-1]["id"] != level
    return say(
        "hold-off-until",
        kind=until["kind"],
        check=_title(knowledge, "checks", check),
        level=_label(knowledge, check, level),
        worse="yes" if more else "no",
    )


def round_money(amount: float) -> int:
    """Round to whole units, and to tens from 100 up: our estimates carry no more digits."""
    step = 10 if amount >= 100 else 1  # noqa: PLR2004 - where single units stop meaning anything
    return int(amount / step + 0.5) * step


def outcome_words(knowledge: Document, check: str, outcome: Document) -> str:
    """Say how likely an outcome is and which cause would then lead."""
    level = _label(knowledge, check, outcome["level"])
    if outcome["top_cause"] is None:
        return say("outcome-open", level=level)
    odds = fraction_words(outcome["probability"])
    cause = _cause(knowledge, outcome["top_cause"])
    return say("outcome-leads", level=level, odds=odds, cause=cause)


def push_words(knowledge: Document, push: EvidenceWeight, case: Document) -> str:
    """Name what pushed a cause, as part of a list: a symptom, a result, an answer."""
    match push.kind:
        case "symptom":
            return lower_first(_title(knowledge, "symptoms", push.id))
        case "absent":
            symptom = lower_first(_title(knowledge, "symptoms", push.id))
            return say("was-not-so", symptom=symptom)
        case "past":
            symptom = lower_first(_title(knowledge, "symptoms", push.id))
            return say("was-there", symptom=symptom)
        case "repair":
            how = case.get("repairs", {}).get(push.id)
            return say("repair-made", cause=_cause(knowledge, push.id), how=how)
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


def named_causes(causes: Iterable[Document], most: int) -> list[Document]:
    """Return the ranked causes to name to a reader: up to `most` that explain something found."""
    return list(islice((one for one in causes if one["explains"]), most))
