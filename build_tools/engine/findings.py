"""Turn a case into odds, evidence and stop-now lines.

Context multiplies the prior odds of causes, symptoms and outcomes become hard evidence, and
a reading becomes a weight per level through its gauge. What cannot be used is handed back as
data, never guessed. It infers nothing.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any, Final

from build_tools.engine.abilities import Abilities, abilities_left, reached
from build_tools.engine.cases import CarCase
from build_tools.engine.mended import (
    ENDED,
    GONE,
    SetAside,
    answers_after,
    checks_shifted_by,
    repaired_odds,
    repairs_told,
    set_aside,
)
from build_tools.engine.network import Network, NetworkFinding
from build_tools.engine.one_look import reads_codes
from build_tools.knowledge.catalogue import Catalogue
from build_tools.knowledge.entries import Cause, Check, Context, Level, Symptom
from build_tools.measure.gauges import (
    Interpretation,
    Scales,
    band_of_number,
    degrees_told,
    interpret,
    read_condition,
)
from build_tools.measure.gauges_documents import gauge_document, scales_of
from build_tools.measure.gauges_numbers import ReadingRefused

MOST_TIMES: Final = 20.0
REACHED: Final = 0.5
"""Weight from which a level or a worse one counts as reached."""
_SYMPTOM_YES: Final = (0.0, 1.0)
_SYMPTOM_NO: Final = (1.0, 0.0)
STILL_THERE: Final = 0.5
"""How often what caused something that is over by itself is there still: our estimate."""
UNSAID: Final = 0.3
"""How often a second kind of code on the list goes untold: our estimate."""


@dataclass(frozen=True)
class StopNow:
    """A stop-now line and what called for it: symptoms, answers, or checks with their level.

    `until_looked` says that a look at what it is about may end it.
    """

    id: str
    because: tuple[dict[str, Any], ...]
    until_looked: bool = False


@dataclass(frozen=True)
class Findings:
    """A case made ready for inference.

    `answers` has the option, or the band of the number, for each context that was told.
    `odds` are prior odds times context, mended causes lowered, by cause; `times` the
    multipliers alone, where not 1. `evidence` has a weight per level for each finding of the
    network. `results` has the same, adding up to 1, for every check that was made,
    preparations included and those in `set_aside` left out, which no longer stand. `repairs`
    says, by cause, what became of the trouble after its repair, and `settled` is the one whose
    repair ended all of it. `readings` are the interpretations behind the results. `refused` and
    `questions` list readings that carry no weight and why. `abilities` is what the car can and
    may still do. `unnamed` are the questions to a list of codes that nobody answered, while one
    they have nothing to do with was.
    """

    answers: dict[str, str]
    odds: dict[str, float]
    times: dict[str, float]
    evidence: dict[str, tuple[float, ...]]
    results: dict[str, tuple[float, ...]]
    set_aside: tuple[SetAside, ...]
    repairs: dict[str, str]
    settled: str | None
    readings: dict[str, Interpretation]
    stop_now: tuple[StopNow, ...]
    abilities: Abilities
    unnamed: tuple[str, ...]
    refused: tuple[dict[str, Any], ...]
    questions: tuple[dict[str, Any], ...]

    @property
    def amiss(self) -> tuple[str, ...]:
        """Return the checks whose result is not normal."""
        return _amiss(self.results)


def find(catalogue: Catalogue, network: Network, case: CarCase) -> Findings:
    """Turn a case into findings.

    Ids that the catalogue does not have are left out; `read_case` names them. A check with
    both a reading and a level keeps the reading, which carries its uncertainty.
    """
    scales = scales_of(catalogue)
    answers, refused, questions = _read_context(case, scales)
    results: dict[str, tuple[float, ...]] = {}
    readings: dict[str, Interpretation] = {}
    for name, check in catalogue.checks.items():
        read = _read_check(catalogue, case, check, scales) if name in case.readings else None
        if isinstance(read, ReadingRefused):
            refused.append(_refusal(name, read))
        elif read is not None and read.question is not None:
            questions.append({"check": name, **asdict(read.question)})
        elif read is not None:
            readings[name] = read
            results[name] = _level_weights(check, read)
        if name not in results and (hard := _hard_level(check, case.outcomes.get(name))):
            results[name] = hard
    overtaken = set_aside(catalogue, case, results := results | _lists_read(catalogue, results))
    for one in overtaken:
        del results[one.check]
    repairs = repairs_told(catalogue, case, results)
    answers = answers_after(catalogue, case, repairs, _noticed(catalogue, case) | answers)
    times = context_times(catalogue, answers)
    odds = repaired_odds(catalogue, context_odds(network, times), repairs)
    settled = _settled(catalogue, network, case, repairs, results)
    over = () if settled is None else checks_shifted_by(catalogue, network, settled)
    now = case if settled is None else replace(case, symptoms=())
    results_now = {name: one for name, one in results.items() if name not in over}
    stop_now = _stop_now(catalogue, now, answers, results_now, scales)
    unnamed = _unnamed(catalogue, results)
    return Findings(
        answers=answers,
        odds=odds,
        times=times,
        evidence=_evidence(network, case, odds, {**_unsaid(catalogue, unnamed), **results}),
        results=results,
        set_aside=overtaken,
        repairs=repairs,
        settled=settled,
        readings=readings,
        stop_now=stop_now,
        abilities=abilities_left(catalogue, now, results_now, [one.id for one in stop_now]),
        unnamed=unnamed,
        refused=tuple(refused),
        questions=tuple(questions),
    )


def _read_context(
    case: CarCase, scales: Scales
) -> tuple[dict[str, str], list[dict[str, Any]], list[dict[str, Any]]]:
    """Return each context's word: the option chosen, or the band a number lies in."""
    answers: dict[str, str] = {}
    refused: list[dict[str, Any]] = []
    questions: list[dict[str, Any]] = []
    for name in sorted(case.context):
        context = scales.contexts.get(name)
        if context is None:
            continue
        try:
            value, question = read_condition(name, case.context[name], scales)
        except ReadingRefused as problem:
            refused.append(_refusal(None, problem))
            continue
        if question is not None:
            questions.append({"check": None, **asdict(question)})
            continue
        word = band_of_number(value, context) if isinstance(value, float) else value
        if word is not None:
            answers[name] = word
    return answers, refused, questions


def _noticed(catalogue: Catalogue, case: CarCase) -> dict[str, str]:
    """Return the answers about the car that follow from what is noticed, where they agree."""
    words: dict[str, set[str]] = {}
    for name in (*case.symptoms, *case.past):
        symptom = catalogue.symptoms.get(name)
        for context, word in symptom.sets.items() if symptom else ():
            words.setdefault(context, set()).add(word)
    return {context: found.pop() for context, found in words.items() if len(found) == 1}


def _refusal(check: str | None, refused: ReadingRefused) -> dict[str, Any]:
    return {
        "check": check,
        "field": refused.field,
        "reason": refused.reason,
        "given": refused.given,
        "options": list(refused.options),
    }


def context_times(catalogue: Catalogue, answers: Mapping[str, str]) -> dict[str, float]:
    """Return what context multiplies each cause's odds by, kept within 1/20 and 20.

    A question with shares that nobody has answered counts by them: most cars are no diesels.
    """
    times: dict[str, float] = {}
    shared = [
        one
        for one in catalogue.contexts.values()
        if one.id not in answers and any(option.share for option in one.options)
    ]
    for name, cause in catalogue.causes.items():
        product = 1.0
        for factor in cause.context:
            if answers.get(factor.when) == factor.equals:
                product *= factor.times
        for context in shared:
            product *= _mean_times(cause, context)
        product = min(MOST_TIMES, max(1 / MOST_TIMES, product))
        if product != 1.0:
            times[name] = product
    return times


def _mean_times(cause: Cause, context: Context) -> float:
    mean = 0.0
    for option in context.options:
        times = option.share or 0.0
        for factor in cause.context:
            if (factor.when, factor.equals) == (context.id, option.id):
                times *= factor.times
        mean += times
    return mean


def context_odds(network: Network, times: Mapping[str, float]) -> dict[str, float]:
    """Return the prior odds of every cause times its context."""
    return {
        cause.id: cause.prior / (1 - cause.prior) * times.get(cause.id, 1.0)
        for cause in network.causes
    }


def _read_check(
    catalogue: Catalogue, case: CarCase, check: Check, scales: Scales
) -> Interpretation | ReadingRefused | None:
    """Read one check's number under the case's context, overlaid by its own conditions.

    A check without a gauge takes none.
    """
    if check.gauge is None:
        return None
    gauge = catalogue.gauges.get(check.gauge)
    if gauge is None:
        return ReadingRefused("value", "no-gauge", check.gauge)
    reading = case.readings[check.id]
    try:
        return interpret(gauge_document(gauge), reading, {**case.context, **reading}, scales)
    except ReadingRefused as refused:
        return refused


def _level_weights(check: Check, found: Interpretation) -> tuple[float, ...]:
    sums = []
    for level in check.levels:
        total = 0.0
        for band in level.bands:
            total += found.band_weights.get(band, 0.0)
        sums.append(total)
    return tuple(sums)


def _hard_level(check: Check, level: str | None) -> tuple[float, ...] | None:
    weights = tuple(1.0 if one.id == level else 0.0 for one in check.levels)
    return weights if any(weights) else None


def _lists_read(
    catalogue: Catalogue, results: Mapping[str, tuple[float, ...]]
) -> dict[str, tuple[float, ...]]:
    """Return the results of lists of codes nobody told of, though a code in them was named."""
    found = {}
    for name in _amiss(results):
        check = catalogue.checks[name]
        for reading in [one.check for one in check.needs] if reads_codes(check) else ():
            if reading in catalogue.checks and reading not in results:
                last = len(catalogue.checks[reading].levels) - 1
                found[reading] = (*(0.0 for _ in range(last)), 1.0)
    return found


def _unnamed(catalogue: Catalogue, results: Mapping[str, tuple[float, ...]]) -> tuple[str, ...]:
    """Return the questions that a list of codes has answered by naming something else.

    Whoever reads the list and tells of one code would have told of another. Questions that share a
    cause with what was named go on from it.
    """
    asked = {name: check for name, check in catalogue.checks.items() if reads_codes(check)}
    linked = {name: {one.cause for one in check.shifts} for name, check in asked.items()}
    named: set[str] = set()
    for name in asked:
        if name in results and sum(results[name][1:]) >= REACHED:
            named |= linked[name]
    return tuple(
        name
        for name in sorted(asked)
        if named and name not in results and named.isdisjoint(linked[name])
    )


def _unsaid(catalogue: Catalogue, unnamed: tuple[str, ...]) -> dict[str, tuple[float, ...]]:
    levels = {name: len(catalogue.checks[name].levels) for name in unnamed}
    return {name: (1.0, *(UNSAID for _ in range(count - 1))) for name, count in levels.items()}


def _evidence(
    network: Network,
    case: CarCase,
    odds: Mapping[str, float],
    results: Mapping[str, tuple[float, ...]],
) -> dict[str, tuple[float, ...]]:
    """List the evidence in the network's order, so that no telling order matters."""
    evidence: dict[str, tuple[float, ...]] = {}
    for finding in network.findings:
        if finding.id in results:
            evidence[finding.id] = results[finding.id]
        elif finding.id in case.symptoms:
            evidence[finding.id] = _SYMPTOM_YES
        elif finding.id in case.past:
            evidence[finding.id] = _past_weights(finding, odds)
        elif finding.id in case.absent:
            evidence[finding.id] = _SYMPTOM_NO
    return evidence


def _past_weights(finding: NetworkFinding, odds: Mapping[str, float]) -> tuple[float, float]:
    """Weigh a symptom that is over: its cause is there still, or it says nothing about the car.

    In the second case it is as likely as in any car, whatever is present now.
    """
    quiet = finding.leak[0]
    for cause, row in finding.links.items():
        quiet *= 1 - odds[cause] / (1 + odds[cause]) * (1 - row[0])
    by_chance = (1 - STILL_THERE) * (1 - quiet)
    return by_chance, STILL_THERE + by_chance


def _amiss(results: Mapping[str, tuple[float, ...]]) -> tuple[str, ...]:
    return tuple(name for name, weights in results.items() if sum(weights[1:]) >= REACHED)


def _settled(
    catalogue: Catalogue,
    network: Network,
    case: CarCase,
    repairs: Mapping[str, str],
    results: Mapping[str, tuple[float, ...]],
) -> str | None:
    """Return the cause whose repair ended the trouble, None while some of it may be left.

    What the owner says holds for every result, and for the complaints its cause can have made: one
    still told beside them goes on. A result that shows an end does so only where its cause can have
    made every complaint and every result that is not normal.
    """
    noticed = [
        name
        for name in case.symptoms
        if name in catalogue.symptoms and catalogue.symptoms[name].role == "complaint"
    ]
    for told, names in ((GONE, noticed), (ENDED, [*noticed, *_amiss(results)])):
        links = [network.finding_by_id[one].links for one in names if one in network.finding_by_id]
        for cause, how in repairs.items():
            if how == told and all(cause in one for one in links):
                return cause
    return None


def _stop_now(
    catalogue: Catalogue,
    case: CarCase,
    answers: Mapping[str, str],
    results: Mapping[str, tuple[float, ...]],
    scales: Scales,
) -> tuple[StopNow, ...]:
    """Gather the lines that symptoms, answers and reached levels call for, in vocabulary order."""
    found: list[tuple[str, dict[str, Any], bool]] = []
    cold = _Cold(catalogue, case, answers, results, scales)
    for name in case.symptoms:
        symptom = catalogue.symptoms.get(name)
        if symptom is not None:
            because = {"kind": "symptom", "symptom": name}
            found += [(line, because, False) for line in symptom.stop_now]
            found += [(line, because, True) for line in cold.calls_for(symptom)]
    for name, answer in answers.items():
        because = {"kind": "answer", "context": name, "answer": answer}
        for option in catalogue.contexts[name].options:
            found += [(one, because, False) for one in option.stop_now if option.id == answer]
    for name, weights in results.items():
        levels = catalogue.checks[name].levels
        for place, level in enumerate(levels):
            if sum(weights[place:]) >= REACHED:
                because = {"kind": "level", "check": name, "level": level.id}
                words_only = cold.told(name) is None
                found += [(line, because, False) for line in _called_for(levels, weights, place)]
                found += [(line, because, words_only) for line in cold.calls_for(level, name)]
    return tuple(
        StopNow(line, tuple(one[1] for one in called), all(one[2] for one in called))
        for line in catalogue.vocabulary.stop_lines
        if (called := [one for one in found if one[0] == line])
    )


def _called_for(levels: Sequence[Level], weights: tuple[float, ...], place: int) -> tuple[str, ...]:
    """Return the lines of a level; half of the weight lies at it or at a worse one.

    Better stopped once too often. A worse level with lines of its own, and half of the weight,
    speaks for itself and alone, unless the level has as much.
    """
    worse = next(
        (one for one in range(place + 1, len(levels)) if levels[one].stop_now), len(levels)
    )
    reached, beyond = sum(weights[place:]), sum(weights[worse:])
    return levels[place].stop_now if reached >= 2 * beyond or beyond < REACHED else ()


@dataclass(frozen=True)
class _Cold:
    """Whether it is cold enough for the lines that hold in the cold only."""

    catalogue: Catalogue
    case: CarCase
    answers: Mapping[str, str]
    results: Mapping[str, tuple[float, ...]]
    scales: Scales

    def calls_for(self, one: Symptom | Level, check: str = "") -> tuple[str, ...]:
        """Return the line that a symptom, or a level of a check, calls for in this cold.

        A look that found all well ends it, except where a reading and degrees both say so.
        """
        cold = one.stop_colder
        if cold is None:
            return ()
        told = self.told(check)
        if (told is None or not check) and self._is_found_well(cold.line):
            return ()
        return (cold.line,) if (self._in_words() if told is None else told) < cold.than else ()

    def told(self, check: str) -> float | None:
        """Return the degrees told at a reading, or of the car."""
        told = {**self.case.context, **self.case.readings.get(check, {})}
        return degrees_told(told, self.scales)

    def _in_words(self) -> float:
        """Return how cold the answers may mean in degC; without a word of it, no cold at all."""
        options = (
            option
            for name, answer in self.answers.items()
            for option in self.catalogue.contexts[name].options
            if option.id == answer
        )
        degrees = (one.as_cold_as for one in options if one.as_cold_as is not None)
        return min(degrees, default=math.inf)

    def _is_found_well(self, line: str) -> bool:
        """Say whether a result gives back the first thing that the line takes away."""
        taken = self.catalogue.vocabulary.stop_lines[line].takes_away[:1]
        for name, weights in self.results.items():
            check = self.catalogue.checks[name]
            allowed = reached([level.allows for level in check.levels], check, weights)
            if any(one in taken for one, _ in allowed):
                return True
        return False
