"""Room 5: lay out the page of a cause: what it makes, what confirms it, what cures it."""

from collections.abc import Iterator

from build_tools.knowledge import markup
from build_tools.knowledge.entries import Cause, ContextFactor
from build_tools.site.page_press import Page, Press, View


def cause_page(press: Press, cause: Cause) -> Page:
    """Render the page of a cause."""
    group = press.catalogue.vocabulary.groups.get(cause.group)
    return press.page(
        "cause.html.j2",
        f"causes/{cause.id}",
        title=cause.title,
        description=cause.summary,
        cause=cause,
        group_title=group.title if group else cause.group,
        is_supply=bool(group and group.supply),
        common=markup.fraction_words(cause.how_common.value),
        common_mark=press.mark(cause.how_common.source),
        symptoms=[_symptom(press, cause, one) for one in _symptom_ids(press, cause)],
        confirmed_by=[
            {
                "to": press.refer("check", one.check),
                "label": press.level_label(one.check, one.level),
            }
            for one in cause.confirmed_by
        ],
        checks=[press.refer("check", one) for one in press.checks_of_cause.get(cause.id, [])],
        look_alikes=[
            {
                "to": press.refer("cause", one.cause),
                "check": press.refer("check", one.told_apart_by) if one.told_apart_by else None,
            }
            for one in cause.confused_with
        ],
        context=[_factor(press, factor) for factor in cause.context],
        repair=_repair(press, cause),
        estimate=press.mark("our-estimate"),
        sources=press.marks(_sources(press, cause)),
    )


def _symptom_ids(press: Press, cause: Cause) -> list[str]:
    return press.symptoms_of_cause.get(cause.id, [])


def _symptom(press: Press, cause: Cause, symptom_id: str) -> View:
    symptom = press.catalogue.symptoms[symptom_id]
    link = next(one for one in symptom.causes if one.cause == cause.id)
    return {
        "to": press.refer("symptom", symptom_id),
        "odds": markup.fraction_words(link.how_often.value),
        "mark": press.mark(link.how_often.source),
        "why": link.why,
    }


def _factor(press: Press, factor: ContextFactor) -> View:
    more = factor.times >= 1
    return {
        "context": press.fact_title(factor.when),
        "label": press.option_label(factor.when, factor.equals),
        "words": f"{factor.times:g} times the odds"
        if more
        else f"the odds divided by {1 / factor.times:g}",
        "why": factor.why,
    }


def _repair(press: Press, cause: Cause) -> View:
    repair = cause.repair
    return {
        "action": repair.action,
        "part": repair.part,
        "price": markup.price_words(repair.price),
        "year": repair.price.year,
        "mark": press.mark(repair.price.source),
        "minutes": markup.minutes_words(repair.minutes),
        "who": markup.WHO_WORDS.get(repair.who, repair.who),
        "cautions": press.cautions(repair.cautions),
    }


def _sources(press: Press, cause: Cause) -> Iterator[str]:
    yield from (cause.how_common.source, cause.repair.price.source)
    yield from (factor.source for factor in cause.context if factor.source)
    for symptom_id in _symptom_ids(press, cause):
        for link in press.catalogue.symptoms[symptom_id].causes:
            if link.cause == cause.id:
                yield link.how_often.source
    for check_id in press.checks_of_cause.get(cause.id, []):
        for shift in press.catalogue.checks[check_id].shifts:
            if shift.cause == cause.id:
                yield from (one.source for one in shift.at_least.values())
