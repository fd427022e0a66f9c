"""Room 2: turn the document of a symptom, cause or check into its frozen object.

Expects a document that fits its schema. Words of the scale become numbers here; an
unknown word is told as a problem and gets the value not-a-number, and the caller drops
the entry.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from build_tools.knowledge.entries import (
    Answer,
    Cause,
    CauseLink,
    Check,
    Confirmation,
    ContextFactor,
    Effort,
    Level,
    Likelihood,
    LookAlike,
    Need,
    Price,
    Question,
    Repair,
    Shift,
    Step,
    Symptom,
)
from build_tools.knowledge.nearest import did_you_mean
from build_tools.knowledge.problems import Complaint, Problem, Severity

if TYPE_CHECKING:
    from collections.abc import Mapping

    from build_tools.knowledge.vocabulary import Scale
    from build_tools.knowledge.yaml_reader import Document, KeyPath

UNKNOWN_WORD = Complaint(
    "REF206",
    "word-not-in-list",
    Severity.ERROR,
    "the site explains only words that stand in its lists",
)


class Reader:
    """Read likelihoods of one document against the scale, collecting problems."""

    def __init__(self, document: Document, scale: Scale) -> None:
        self.document = document
        self.value: dict[str, Any] = document.value
        self.scale = scale
        self.problems: list[Problem] = []

    def likelihood(self, words: Mapping[str, float], raw: Any, *path: str | int) -> Likelihood:  # noqa: ANN401 - a word or a group
        """Return the likelihood written at a path as a scale word or a marked number."""
        if isinstance(raw, dict):
            return Likelihood(value=float(raw["value"]), word=None, source=raw["source"])
        if raw in words:
            return Likelihood(value=words[raw], word=raw, source=self.scale.source)
        known = did_you_mean(str(raw), words, where="see symptoms/vocabulary/scale.yml")
        what = f'"{raw}" is no word of the scale'
        self.problems.append(UNKNOWN_WORD.at(self.document.span(*path), what, known))
        return Likelihood(value=math.nan, word=str(raw), source=self.scale.source)

    def at_least(self, raw: Mapping[str, Any], path: KeyPath, *, leak: bool = False) -> Any:  # noqa: ANN401 - a mapping of likelihoods
        """Return level id -> likelihood for a group of levels at a path."""
        words = self.scale.leak if leak else self.scale.frequency
        return {key: self.likelihood(words, one, *path, key) for key, one in raw.items()}


def named(value: Mapping[str, Any]) -> dict[str, Any]:
    """Return the five keys every entry shares."""
    return {key: value[key] for key in ("id", "title", "summary", "status", "reviewed")}


def listed(value: Mapping[str, Any], key: str) -> tuple[Any, ...]:
    """Return a list as a tuple; a missing or empty one is an empty tuple."""
    return tuple(value.get(key) or ())


def symptom(reader: Reader) -> Symptom:
    """Build a symptom."""
    value = reader.value
    links = []
    for number, link in enumerate(listed(value, "causes")):
        path = ("causes", number, "how_often")
        how_often = reader.likelihood(reader.scale.frequency, link["how_often"], *path)
        links.append(
            CauseLink(
                cause=link["cause"],
                how_often=how_often,
                why=link["why"],
                checks=listed(link, "checks"),
            )
        )
    return Symptom(
        **named(value),
        role=value["role"],
        family=value["family"],
        says=listed(value, "says"),
        looks_like=value["looks_like"],
        stop_now=listed(value, "stop_now"),
        ask_first=tuple(_question(one) for one in listed(value, "ask_first")),
        supply_note=value.get("supply_note") or "",
        unprompted=reader.likelihood(reader.scale.leak, value["unprompted"], "unprompted"),
        causes=tuple(links),
    )


def _question(value: Mapping[str, Any]) -> Question:
    answers = tuple(Answer(says=one["says"], symptom=one["symptom"]) for one in value["answers"])
    return Question(question=value["question"], answers=answers)


def cause(reader: Reader) -> Cause:
    """Build a cause."""
    value = reader.value
    factors = tuple(
        ContextFactor(
            when=one["when"], equals=one["is"], times=float(one["times"]), why=one.get("why") or ""
        )
        for one in listed(value, "context")
    )
    return Cause(
        **named(value),
        group=value["group"],
        how_common=reader.likelihood(reader.scale.prior, value["how_common"], "how_common"),
        context=factors,
        repair=_repair(value["repair"]),
        confirmed_by=tuple(
            Confirmation(check=one["check"], level=one["level"])
            for one in listed(value, "confirmed_by")
        ),
        unconfirmable_because=value.get("unconfirmable_because"),
        confused_with=tuple(
            LookAlike(cause=one["cause"], told_apart_by=one.get("told_apart_by"))
            for one in listed(value, "confused_with")
        ),
    )


def _repair(value: Mapping[str, Any]) -> Repair:
    price = value["price"]
    return Repair(
        action=value["action"],
        part=value.get("part"),
        price=Price(
            low=float(price["low"]),
            high=float(price["high"]),
            currency=price["currency"],
            year=price["year"],
            source=price["source"],
        ),
        minutes=float(value["minutes"]),
        who=value["who"],
        cautions=listed(value, "cautions"),
    )


def check(reader: Reader) -> Check:
    """Build a check."""
    value = reader.value
    return Check(
        **named(value),
        aspects=listed(value, "aspects"),
        tools=listed(value, "tools"),
        effort=_effort(value["effort"]),
        cautions=listed(value, "cautions"),
        needs=tuple(
            Need(check=one["check"], at_most=one.get("at_most"), otherwise=one.get("otherwise"))
            for one in listed(value, "needs")
        ),
        only_for=listed(value, "only_for"),
        steps=tuple(
            Step(do=one["do"], caution=one.get("caution"), source=one.get("source"))
            for one in value["steps"]
        ),
        drawing=value.get("drawing"),
        gauge=value.get("gauge"),
        conditions=listed(value, "conditions"),
        levels=tuple(_level(one) for one in value["levels"]),
        cannot_tell=value["cannot_tell"],
        sources=listed(value, "sources"),
        note=value.get("note"),
        unprompted=reader.at_least(value.get("unprompted") or {}, ("unprompted",), leak=True),
        shifts=tuple(
            Shift(
                cause=one["cause"],
                at_least=reader.at_least(one["at_least"], ("shifts", number, "at_least")),
                why=one.get("why"),
            )
            for number, one in enumerate(listed(value, "shifts"))
        ),
    )


def _effort(value: Mapping[str, Any]) -> Effort:
    return Effort(
        minutes=float(value["minutes"]),
        money=float(value["money"]),
        currency=value["currency"],
        skill=value["skill"],
        needs_helper=value["needs_helper"],
        source=value["source"],
    )


def _level(value: Mapping[str, Any]) -> Level:
    return Level(
        id=value["id"],
        label=value["label"],
        means=value["means"],
        bands=listed(value, "bands"),
        proves=bool(value.get("proves")),
        stop_now=listed(value, "stop_now"),
    )
