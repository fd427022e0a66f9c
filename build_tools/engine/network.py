"""The network of causes and findings.

The two-layer model that inference and planning work on, and how it is read from the plain
form used by the vectors. It does not know the knowledge files, and it infers nothing.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property


@dataclass(frozen=True)
class NetworkCause:
    """One cause and how likely it is before anything is seen.

    `prior` is a probability, at least 0 and below 1.
    """

    id: str
    prior: float


@dataclass(frozen=True)
class NetworkFinding:
    """One finding: a symptom noticed or the outcome of a check.

    `levels` are ordered, level 0 is normal. `leak` and each row of `links` hold
    P(F <= k) for k = 0 .. len(levels) - 2: `leak` with no modelled cause present,
    a link with only that cause present and no leak. Rows never fall with the level.
    """

    id: str
    levels: tuple[str, ...]
    leak: tuple[float, ...]
    links: Mapping[str, tuple[float, ...]]


@dataclass(frozen=True)
class Network:
    """Causes and findings: causes first, effects second, nothing between.

    Raises:
        ValueError: if an id repeats, a link names no cause, or a number is out of range;
            the message names the cause or finding.
    """

    causes: tuple[NetworkCause, ...]
    findings: tuple[NetworkFinding, ...]

    def __post_init__(self) -> None:
        for cause in self.causes:
            if not 0 <= cause.prior < 1:
                raise ValueError(f'cause "{cause.id}": prior {cause.prior} is not in 0 .. 1')
        if len(self.cause_index) != len(self.causes):
            raise ValueError("two causes share an id")
        if len(self.finding_by_id) != len(self.findings):
            raise ValueError("two findings share an id")
        for finding in self.findings:
            _check_finding(finding, self.cause_index)

    @cached_property
    def cause_index(self) -> dict[str, int]:
        """Give the place of each cause id in `causes`."""
        return {cause.id: place for place, cause in enumerate(self.causes)}

    @cached_property
    def finding_by_id(self) -> dict[str, NetworkFinding]:
        """Give each finding under its id."""
        return {finding.id: finding for finding in self.findings}

    @cached_property
    def finding_index(self) -> dict[str, int]:
        """Give the place of each finding id in `findings`."""
        return {finding.id: place for place, finding in enumerate(self.findings)}

    @cached_property
    def prior_weights(self) -> tuple[tuple[float, ...], tuple[float, ...]]:
        """Give the weights of presence and absence of every cause by its prior, in their order."""
        odds = [cause.prior / (1 - cause.prior) for cause in self.causes]
        return tuple(own / (1 + own) for own in odds), tuple(1 / (1 + own) for own in odds)


def _check_finding(finding: NetworkFinding, cause_index: Mapping[str, int]) -> None:
    if not finding.levels:
        raise ValueError(f'finding "{finding.id}": it has no levels')
    rows = {"leak": finding.leak, **{f"link {key}": row for key, row in finding.links.items()}}
    for name, row in rows.items():
        _check_row(f'finding "{finding.id}", {name}', row, len(finding.levels))
    for cause in finding.links:
        if cause not in cause_index:
            raise ValueError(f'finding "{finding.id}": link to "{cause}", which is no cause')


def _check_row(where: str, row: Sequence[float], levels: int) -> None:
    if len(row) != levels - 1:
        raise ValueError(f"{where}: {len(row)} numbers for {levels} levels, {levels - 1} wanted")
    before = 0.0
    for number in row:
        if not 0 <= number <= 1:
            raise ValueError(f"{where}: {number} is not between 0 and 1")
        if number < before:
            raise ValueError(f"{where}: the row falls from {before} to {number}")
        before = number


def network_from_document(document: Mapping[str, object]) -> Network:
    """Read a network from the plain form of the vectors.

    The form is `{causes: [{id, prior}], findings: [{id, levels, leak, links}]}`. Other
    keys are left alone.

    Raises:
        ValueError: if something is missing, of the wrong type or out of range; the
            message names the place.
    """
    causes = []
    for place, item in enumerate(as_list(document.get("causes"), "causes")):
        where = f"causes[{place}]"
        entry = as_mapping(item, where)
        prior = as_number(entry.get("prior"), f"{where}.prior")
        causes.append(NetworkCause(as_text(entry.get("id"), f"{where}.id"), prior))
    findings = [
        _finding_from_document(item, f"findings[{place}]")
        for place, item in enumerate(as_list(document.get("findings"), "findings"))
    ]
    return Network(tuple(causes), tuple(findings))


def _finding_from_document(item: object, where: str) -> NetworkFinding:
    entry = as_mapping(item, where)
    levels = as_list(entry.get("levels"), f"{where}.levels")
    links = as_mapping(entry.get("links"), f"{where}.links")
    return NetworkFinding(
        id=as_text(entry.get("id"), f"{where}.id"),
        levels=tuple(as_text(level, f"{where}.levels") for level in levels),
        leak=as_row(entry.get("leak"), f"{where}.leak"),
        links={cause: as_row(row, f"{where}.links.{cause}") for cause, row in links.items()},
    )


def odds_from_document(network: Network, context: Mapping[str, object]) -> dict[str, float]:
    """Multiply the prior odds of each cause by its context multiplier, if it has one.

    Raises:
        ValueError: if the context names no cause or a multiplier is not a number above 0.
    """
    odds = prior_odds(network)
    for cause, value in context.items():
        if cause not in odds:
            raise ValueError(f'context: "{cause}" is no cause of this network')
        multiplier = as_number(value, f"context.{cause}")
        if multiplier <= 0:
            raise ValueError(f"context.{cause}: the multiplier {multiplier} is not above 0")
        odds[cause] *= multiplier
    return odds


def prior_odds(network: Network) -> dict[str, float]:
    """Give p / (1 - p) for every cause, before any context."""
    return {cause.id: cause.prior / (1 - cause.prior) for cause in network.causes}


def evidence_from_document(
    network: Network, evidence: Mapping[str, object]
) -> dict[str, tuple[float, ...]]:
    """Turn level names and named weights into one weight per level.

    A level name means weight 1 there and 0 elsewhere; a mapping gives the weight of the
    levels it names, the others get 0.

    Raises:
        ValueError: if a finding or level does not exist, or a weight is no number.
    """
    weights: dict[str, tuple[float, ...]] = {}
    for name, value in evidence.items():
        finding = network.finding_by_id.get(name)
        if finding is None:
            raise ValueError(f'evidence: "{name}" is no finding of this network')
        named = value if isinstance(value, Mapping) else {value: 1.0}
        for level in named:
            if level not in finding.levels:
                raise ValueError(f'evidence.{name}: "{level}" is not one of its levels')
        weights[name] = tuple(
            as_number(named.get(level, 0.0), f"evidence.{name}.{level}") for level in finding.levels
        )
    return weights


def as_mapping(value: object, where: str) -> Mapping[str, object]:
    """Take a mapping, or refuse with a message that names the place."""
    if not isinstance(value, Mapping):
        raise ValueError(f"{where}: a mapping is wanted")  # noqa: TRY004 - one error type for bad documents
    return value


def as_list(value: object, where: str) -> Sequence[object]:
    """Take a list, or refuse with a message that names the place."""
    if not isinstance(value, list | tuple):
        raise ValueError(f"{where}: a list is wanted")  # noqa: TRY004 - one error type for bad documents
    return value


def as_text(value: object, where: str) -> str:
    """Take a text that is not empty, or refuse with a message that names the place."""
    if not isinstance(value, str) or not value:
        raise ValueError(f"{where}: a text is wanted")
    return value


def as_number(value: object, where: str) -> float:
    """Take a finite number (never true or false), or refuse naming the place."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(f"{where}: a number is wanted")  # noqa: TRY004 - as above
    if not math.isfinite(value):
        raise ValueError(f"{where}: {value} is not a finite number")
    return float(value)


def as_row(value: object, where: str) -> tuple[float, ...]:
    """Take a list of finite numbers, or refuse naming the place."""
    return tuple(as_number(item, where) for item in as_list(value, where))
