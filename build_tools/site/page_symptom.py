"""Room 5: lay out the page of a symptom.

The odds, the first checks and the parts not to buy yet come from the same reasoning as the
checker, asked about this symptom alone. The page adds no opinion of its own.
"""

from collections.abc import Iterator

from build_tools.engine.triage import Advice, NextCheck
from build_tools.knowledge import markup
from build_tools.knowledge.entries import Case, Symptom
from build_tools.site.case_words import describe_case
from build_tools.site.page_advice import advice_for
from build_tools.site.page_how_well import how_sure
from build_tools.site.page_press import Page, Press, View
from build_tools.site.qr import qr_code

MOST_BARS = 7
FIRST_CHECKS = 3
MOST_HELD_OFF = 4
_TOO_SMALL_TO_DRAW = 0.01


def symptom_page(press: Press, symptom: Symptom) -> Page:
    """Render the page of a symptom."""
    advice = advice_for(press, symptom.id)
    family = press.catalogue.vocabulary.families.get(symptom.family)
    return press.page(
        "symptom.html.j2",
        f"symptoms/{symptom.id}",
        title=symptom.title,
        description=symptom.summary,
        symptom=symptom,
        family_title=family.title if family else symptom.family,
        stop_now=press.stop_lines(symptom.stop_now),
        cold=press.cold_stop(symptom.stop_colder),
        ask_first=_questions(press, symptom),
        bars=list(_bars(press, symptom, advice)),
        how_sure=how_sure(press, symptom.id, advice),
        checks=[_first_check(press, row) for row in advice.next[:FIRST_CHECKS]],
        hold_off=[_held_off(press, row) for row in advice.hold_off[:MOST_HELD_OFF]],
        cases=[describe_case(press, case) for case in cases_of(press, symptom.id)],
        estimate=press.mark("our-estimate"),
        send=send_view(press, symptom),
        sources=press.marks(_sources(press, symptom)),
    )


def send_view(press: Press, symptom: Symptom) -> View:
    """Return the note to send along with the address of a page, the address and its picture.

    Address and picture are "" where the site does not know its own address; the browser
    then puts in the one it shows.
    """
    known = bool(press.site_url)
    address = f"{press.site_url}symptoms/{symptom.id}/" if known else ""
    when = "when to stop driving, " if symptom.stop_now else ""
    return {
        "note": (
            f"Does this sound like your car: {markup.lower_first(symptom.title)}? "
            f"This page says {when}what can be behind it, and which cheap checks "
            "come first. Please make those before you buy a part. It works on a phone and needs "
            "no account."
        ),
        "address": address,
        "qr": qr_code(address) if known else "",
    }


def cases_of(press: Press, symptom_id: str) -> list[Case]:
    """Return the exercises in which a symptom was noticed, those that begin with it first."""
    cases = press.catalogue.cases.values()
    found = [case for case in cases if symptom_id in case.symptoms and case.is_exercise]
    return sorted(found, key=lambda case: (case.symptoms[0] != symptom_id, case.id))[:2]


def _questions(press: Press, symptom: Symptom) -> list[View]:
    return [
        {
            "question": one.question,
            "answers": [
                {
                    "says": answer.says,
                    "to": press.refer("symptom", answer.symptom),
                    "here": answer.symptom == symptom.id,
                }
                for answer in one.answers
            ],
        }
        for one in symptom.ask_first
    ]


def _bars(press: Press, symptom: Symptom, advice: Advice) -> Iterator[View]:
    """Yield the causes that can make this symptom, likeliest first, with their odds."""
    links = {link.cause: link for link in symptom.causes}
    rows = [row for row in advice.causes if row.id in links]
    for row in rows[:MOST_BARS]:
        share = row.probability
        yield {
            "to": press.refer("cause", row.id),
            "width": f"{100 * share:.1f}%",
            "drawn": share >= _TOO_SMALL_TO_DRAW,
            "odds": markup.fraction_words(share),
            "why": links[row.id].why,
        }


def _first_check(press: Press, row: NextCheck) -> View:
    check = press.catalogue.checks[row.check]
    return {"to": press.refer("check", check.id), "summary": check.summary, **press.effort(check)}


def _held_off(press: Press, row: View) -> View:
    return {
        "part": row["part"],
        "price": markup.range_words(row["price_low"], row["price_high"], row["currency"]),
        "odds": markup.fraction_words(float(row["probability_at_fault"])),
        "until": _until(press, row["until"]),
        "mark": press.mark("our-estimate"),
    }


def _until(press: Press, until: View) -> View:
    """Say what would settle whether to buy: the supply, a check's result, or more odds."""
    if until["kind"] == "supply-sound":
        return {"words": "Wait until battery and charging are shown to be good", "to": None}
    if until["kind"] == "check":
        check = press.catalogue.checks[until["check"]]
        level = check.levels[check.level_index(until["level"])]
        words = f"Buy only if this finds \u201c{markup.lower_first(level.label)}\u201d: "
        return {"words": words, "to": press.refer("check", check.id)}
    return {"words": "Wait until other checks have made it much likelier", "to": None}


def _sources(press: Press, symptom: Symptom) -> Iterator[str]:
    yield symptom.unprompted.source
    for link in symptom.causes:
        yield link.how_often.source
        cause = press.catalogue.causes.get(link.cause)
        if cause:
            yield from (cause.how_common.source, cause.repair.price.source)
        for check_id in link.checks:
            check = press.catalogue.checks.get(check_id)
            gauge = press.catalogue.gauges.get(check.gauge or "") if check else None
            if gauge:
                yield from (table.source for table in gauge.tables)
