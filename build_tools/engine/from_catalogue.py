"""Make the network of causes and findings from a catalogue.

Pure arithmetic on frozen objects. It does not judge the catalogue: links to a cause that
is not there are left out, and the problems told while loading say so.
"""

from collections.abc import Mapping

from build_tools.engine.network import Network, NetworkCause, NetworkFinding
from build_tools.knowledge.catalogue import Catalogue
from build_tools.knowledge.entries import Check, Likelihood, Symptom

SYMPTOM_LEVELS = ("no", "yes")


def network_from_catalogue(catalogue: Catalogue) -> Network:
    """Return the network of a catalogue: causes, then symptoms and checks, each by id.

    Every symptom is a finding with the levels no and yes, also a circumstance. A check
    with a single level says nothing about causes and is left out. Cumulatives are
    P(F <= k) = round(1 - P(at least level k + 1), 6).
    """
    causes = tuple(NetworkCause(one.id, one.how_common.value) for one in catalogue.causes.values())
    present = frozenset(catalogue.causes)
    findings = [_symptom_finding(one, present) for one in catalogue.symptoms.values()]
    findings += [
        _check_finding(one, present) for one in catalogue.checks.values() if len(one.levels) > 1
    ]
    return Network(causes, tuple(findings))


def _symptom_finding(symptom: Symptom, present: frozenset[str]) -> NetworkFinding:
    links = {
        link.cause: (_below(link.how_often.value),)
        for link in symptom.causes
        if link.cause in present
    }
    return NetworkFinding(symptom.id, SYMPTOM_LEVELS, (_below(symptom.unprompted.value),), links)


def _check_finding(check: Check, present: frozenset[str]) -> NetworkFinding:
    links = {
        shift.cause: _cumulative(check, shift.at_least)
        for shift in check.shifts
        if shift.cause in present
    }
    levels = tuple(level.id for level in check.levels)
    return NetworkFinding(check.id, levels, _cumulative(check, check.unprompted), links)


def _cumulative(check: Check, at_least: Mapping[str, Likelihood]) -> tuple[float, ...]:
    """Return P(F <= k); a level that is not named is one never reached."""
    reached = (at_least.get(level.id) for level in check.levels[1:])
    return tuple(1.0 if one is None else _below(one.value) for one in reached)


def _below(at_least: float) -> float:
    return round(1 - at_least, 6)
