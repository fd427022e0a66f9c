"""Room 4: judge cautions, urgency, and parts bought without proof."""

import re
from collections.abc import Iterator

from build_tools.knowledge.entries import Cause, Check, Sum, Symptom
from build_tools.knowledge.problems import Severity, Span
from build_tools.knowledge.references import matches
from build_tools.knowledge.yaml_reader import KeyPath
from build_tools.lint.prose import SHOWN, passages, prose_of, sentences, spot
from build_tools.lint.rule import Judged, Told, rule

_RISKY = re.compile(
    r"\b(?:red brake|brake (?:lamp|warning)|brake pedal|steering (?:lamp|light|help|wheel)"
    r"|heavy wheel|flashing|smoke|smell of|overheat)",
    re.IGNORECASE,
)
# What a step mentions, and the tools one of which must then be listed.
_TOOLS: tuple[tuple[re.Pattern[str], frozenset[str]], ...] = tuple(
    (re.compile(pattern, re.IGNORECASE), frozenset(tools))
    for pattern, tools in (
        (r"\b(?:red|black) (?:probe|lead of the meter)\b|\bmultimeter\b", ["multimeter"]),
        (r"\bclamp meter\b", ["clamp-meter"]),
        (r"\bset the charger\b|\bconnect the charger\b", ["battery-charger"]),
        (r"\bcode reader\b|\bplug the reader in\b", ["code-reader"]),
        (r"\bhydrometer\b", ["hydrometer"]),
        (r"\bsecond key\b|\bspare key\b", ["second-key"]),
    )
)
# Common practice, no source: a check is dearer when it costs more than twice as much, and
# more than what a quarter of an hour counts.
_DEARER = 2.0
_WORTH_SAYING = 4.0
_HOUR_VALUE = 15.0


@rule(Severity.ERROR, each=("check", "cause", "sum"))
def check_hazards_warned(entry: Check | Cause | Sum, judged: Judged) -> Iterator[Told]:
    """SAF601 hazard-without-warning: the caution stands before the step it belongs to.

    Every hazard named at a step also stands in `cautions` and has a text. An act of
    symptoms/vocabulary/dangers.yml, in a step or in any other sentence of a check, a cause or
    a sum, has one of its hazards there.

    Why: the reader meets the danger before the caution, or without it. One that is missing
    there is met too late.
    Mend: add the hazard's id to `cautions`, and to the step as `caution`.
    Bad:   - do: Connect the charger and switch it on.      (cautions: [])
    Good:  - do: Connect the charger and switch it on.
             caution: hydrogen                              (cautions: [hydrogen])
    """
    kind, cautions = _cautions(entry)
    for path, text in prose_of(kind, judged.catalogue.documents[kind, entry.id], beside=True):
        step = path[0] == "steps"
        for danger, act in judged.acts.told_in(text, step=step):
            if danger.hazards and not set(danger.hazards) & set(cautions):
                mend = "add one of these to `cautions`: " + ", ".join(sorted(danger.hazards))
                yield path[:2] if step else path, f'"{act}" asks for a caution before it', mend
    if isinstance(entry, Check):
        yield from _judge_cautions(entry, judged)


def _cautions(entry: Check | Cause | Sum) -> tuple[str, tuple[str, ...]]:
    """Return the kind of an entry and the hazards it warns of."""
    kind = type(entry).__name__.lower()
    return kind, entry.repair.cautions if isinstance(entry, Cause) else entry.cautions


def _judge_cautions(check: Check, judged: Judged) -> Iterator[Told]:
    hazards = judged.catalogue.vocabulary.hazards
    for number, step in enumerate(check.steps):
        if step.caution and step.caution not in check.cautions:
            what = f'hazard "{step.caution}" stands at this step and not in `cautions`'
            yield ("steps", number), what, f"add {step.caution} to `cautions`"
    for number, name in enumerate(check.cautions):
        hazard = hazards.get(name)
        if hazard is not None and not hazard.text.strip():
            mend = "write its text in symptoms/vocabulary/hazards.yml"
            yield ("cautions", number), f'hazard "{name}" has no text', mend


@rule(Severity.ERROR, each=("symptom",))
def check_urgency_given(symptom: Symptom) -> Iterator[Told]:
    """SAF602 urgency-missing: where driving on may be unsafe, a stop line comes first.

    Looked at are complaints whose title or summary speaks of brakes, steering, flashing,
    smoke or heat.

    Why: someone may drive on who should have stopped.
    Mend: add `stop_now` with ids from symptoms/vocabulary/stop_lines.yml.
    Bad:   title: Red brake lamp              (no stop_now)
    Good:  stop_now: [red-brake-lamp-on]
    """
    if symptom.role != "complaint" or symptom.stop_now:
        return
    found = _RISKY.search(f"{symptom.title}. {symptom.summary}")
    if found:
        what = f'"{found.group()}" may make driving on unsafe, and there is no `stop_now`'
        yield ("title",), what, "add `stop_now:` with a stop line, such as smell-or-smoke"


@rule(Severity.ERROR, each=("cause",))
def check_part_proven(cause: Cause, judged: Judged) -> Iterator[Told]:
    """SAF603 part-without-proof: no part is named without a check that confirms the cause.

    The confirming check must also be moved by the cause to that level.

    Why: the reader would buy a part on a guess.
    Mend: add `confirmed_by`, or say under `unconfirmable_because` who can confirm it.
    Bad:   confirmed_by: []
    Good:  confirmed_by: [{check: load-test-battery, level: fails}]
    """
    if not cause.confirmed_by and not cause.unconfirmable_because:
        mend = "add a check under `confirmed_by`, or `unconfirmable_because: ...`"
        yield ("confirmed_by",), "nothing confirms this cause, and no reason is given", mend
    for number, one in enumerate(cause.confirmed_by):
        check = judged.catalogue.checks.get(one.check)
        if check is None:
            continue
        shift = next((each for each in check.shifts if each.cause == cause.id), None)
        if shift is None or one.level not in shift.at_least:
            what = f'check "{one.check}" is not moved to "{one.level}" by this cause'
            mend = f"add `{cause.id}` to `shifts` of {one.check}, or name another level"
            yield ("confirmed_by", number, "check"), what, mend


@rule(Severity.WARNING, each=("symptom",))
def check_cheap_first(symptom: Symptom, judged: Judged) -> Iterator[Told]:
    """SAF604 costly-check-first: of the checks listed for a cause the cheap one comes first.

    A cheaper check that needs a tool the first does not may well come later.

    Why: the reader pays for what a cheaper check might have settled.
    Mend: put the cheaper check first.
    Bad:   checks: [load-test-battery, twist-battery-clamps]
    Good:  checks: [twist-battery-clamps, load-test-battery]
    """
    for number, link in enumerate(symptom.causes):
        listed = [
            judged.catalogue.checks[name] for name in link.checks if name in judged.catalogue.checks
        ]
        for place, check in enumerate(listed):
            name = check.id
            cheaper = [other.id for other in listed[place + 1 :] if _is_cheaper(other, check)]
            if cheaper:
                what = f'"{name}" comes before "{cheaper[0]}", which costs less than half'
                yield ("causes", number, "checks", place), what, f"put {cheaper[0]} before it"


def _is_cheaper(other: Check, check: Check) -> bool:
    """Tell whether a check costs clearly less and needs no tool the dearer one does not."""
    cost, less = _cost(check), _cost(other)
    same_tools = set(other.tools) <= set(check.tools)
    return same_tools and cost > _DEARER * less and cost - less > _WORTH_SAYING


def _cost(check: Check) -> float:
    return check.effort.money + check.effort.minutes * _HOUR_VALUE / 60


@rule(Severity.WARNING, each=("check",))
def check_effort_given(check: Check) -> Iterator[Told]:
    """SAF605 effort-missing: a check says which tools and how many minutes it takes.

    Why: the reader stands at the car without what the check needs.
    Mend: give the minutes, and list every tool a step mentions.
    Bad:   tools: []                 (and a step says "hold the red probe")
    Good:  tools: [multimeter]
    """
    if check.effort.minutes <= 0:
        what = f"`minutes` is {check.effort.minutes:g}"
        yield ("effort", "minutes"), what, "write how many minutes it takes"
    told = set()
    for number, step in enumerate(check.steps):
        for mention, tools in _TOOLS:
            found = mention.search(step.do)
            if found and not tools & set(check.tools) and tools not in told:
                told.add(tools)
                what = f'"{found.group()}" needs a tool that is not listed'
                yield ("steps", number, "do"), what, f"add {min(tools)} to `tools`"


@rule(Severity.ERROR, each=("check",))
def check_no_caution_explained(check: Check, judged: Judged) -> Iterator[Told]:
    """SAF606 no-caution-unexplained: a check without cautions says why it needs none.

    Why: a check nobody thought about looks the same as one that is harmless.
    Mend: add the hazard to `cautions`, or one sentence as `no_caution_because`; with a caution
    there is nothing to explain.
    Bad:   cautions: []
    Good:  cautions: []
           no_caution_because: One only reads a gauge with the engine off.
    """
    explained = "no_caution_because" in judged.catalogue.documents["check", check.id].value
    if not check.cautions and not explained:
        what = "there is no caution, and nothing says why none is needed"
        yield ("cautions",), what, "add a hazard, or `no_caution_because:` with one sentence"
    if check.cautions and explained:
        what = "this says why no caution is needed, and `cautions` names one"
        yield ("no_caution_because",), what, "take it out"


@rule(Severity.ERROR)
def check_dangerous_acts_untold(judged: Judged) -> Iterator[Told]:
    """SAF607 dangerous-act-told: no sentence tells an act that its page cannot warn of.

    Some acts of symptoms/vocabulary/dangers.yml no caution makes fit to be told. The others
    need a page with cautions: a check, a cause or a sum. What forbids an act is fine. In pages of
    content/ and in texts of readiness only acts of the first kind count.

    Why: a reader does what the page tells or shows, a worked case too, and is hurt.
    Mend: take the act out, forbid it, or move it into a check with its caution.
    Bad:   story: She bridged the starter terminals with a screwdriver and it turned.
    Good:  story: Nobody bridged anything; the second key started it.
    """
    checks = judged.catalogue.documents.keys()
    for kind, key, path, text in _all_said(judged):
        if kind == "vocabulary" and key in {"hazards", "stop_lines", "dangers"}:
            continue
        for danger, act in judged.acts.told_in(text, step=path[0] == "steps"):
            if danger.hazards and kind in {"monitor", "inspection"}:
                continue  # what a monitor or a place needs, told as a fact
            warned = kind in {"check", "cause", "sum"} or ("check", danger.told_in) in checks
            if not (danger.hazards and warned):
                place = spot(judged.catalogue.documents[kind, key], path, act)
                yield place, f'"{act}" is told, and nothing here can warn of it', _NOT_HERE
    for name, page in judged.pages:
        told = _outside_cautions(page)
        for danger, act in judged.acts.told_in(told, step=False):
            if danger.hazards:
                continue  # a page says in its own words what to mind
            words = r"\s+".join(re.escape(word) for word in act.split())
            found = re.search(words, told)
            line = told.count("\n", 0, found.start() if found else 0) + 1
            yield Span(name, line), f'"{act}" is told, and nothing here can warn of it', _NOT_HERE


_NOT_HERE = "take it out, forbid it, or move it into a check with its caution"


def _all_said(judged: Judged) -> Iterator[tuple[str, str, KeyPath, str]]:
    """Yield prose, short texts beside it, and the texts of readiness."""
    yield from passages(judged, beside=True)
    for (kind, key), document in judged.catalogue.documents.items():
        for pattern in SHOWN.get(kind, ()) if kind in {"monitor", "inspection"} else ():
            for path, text in matches(document.value, pattern):
                if isinstance(text, str):
                    yield kind, key, path, text


_FORBIDDING = re.compile(
    r'<div class="caution".*?</div>|^#+ [^\n]*\b(?:not|never)\b[^\n]*\n.*?(?=^#|\Z)',
    re.DOTALL | re.MULTILINE,
)


def _outside_cautions(page: str) -> str:
    """Return a page without its cautions, and without what stands under a heading that forbids."""
    return _FORBIDDING.sub(lambda part: "\n" * part.group().count("\n"), page)


@rule(Severity.ERROR)
def check_danger_words_hold(judged: Judged) -> Iterator[Told]:
    """SAF608 danger-words-fail: danger words find each of their bad examples and no good one.

    Why: an act that the words no longer find reaches readers without its caution.
    Mend: add the missing form to `verbs`, `things` or `also`, or narrow them.
    Bad:   verbs: [bridge] with bad: [She shorted the posts.]
    Good:  verbs: [bridge, short], also: [shorted]
    """
    document = judged.catalogue.documents.get(("vocabulary", "dangers"))
    for number, danger in enumerate(judged.dangers):
        one = document.value["items"][number] if document else {}
        for side, wanted in (("bad", True), ("good", False)):
            for place, text in enumerate(one[side]):
                if (danger.find(sentences(text), step=True) is not None) is not wanted:
                    what = f'the {side} example "{text}" is {"not " if wanted else ""}found'
                    mend = "add the missing form" if wanted else "narrow the words"
                    path = ("items", number, side, place)
                    yield ("vocabulary", "dangers", path), what, mend


@rule(Severity.ERROR, each=("check",))
def check_caution_at_step(check: Check, judged: Judged) -> Iterator[Told]:
    """SAF609 caution-not-at-step: a grave act has its caution at the step that tells it.

    Acts of symptoms/vocabulary/dangers.yml marked `at_step` have one of their hazards as the
    `caution` of that very step. An act with `along` has each of those in `cautions`.

    Why: a caution at the top of the page is forgotten by the step where the hand slips.
    Mend: give the step the caution, and cut it in two if it has another already.
    Bad:   - do: Take the clips off in reverse order.
    Good:  - do: Take the clips off in reverse order.
             caution: leads-off
    """
    for number, step in enumerate(check.steps):
        for danger, act in judged.acts.told_in(step.do, step=True):
            if danger.only_with and danger.only_with not in check.cautions:
                continue
            if danger.at_step and step.caution not in danger.hazards:
                mend = "give this step one of these as `caution`: " + ", ".join(danger.hazards)
                yield ("steps", number), f'"{act}" asks for a caution at this very step', mend
            missing = [name for name in danger.along if name not in check.cautions]
            if missing:
                what = f'"{act}" asks for every one of its cautions'
                yield ("steps", number), what, "add to `cautions`: " + ", ".join(missing)
