"""Room 5: lay out the page of a place's inspection rule about readiness.

It shows the rule, how each part of it was seen, and what to ask. It applies no rule.
"""

from collections.abc import Iterator, Sequence

from build_tools.knowledge.markup import listed
from build_tools.knowledge.readiness_entries import ForcedReady, Inspection, YearBand
from build_tools.knowledge.sentences import forms, say
from build_tools.site.page_press import Page, Press, View
from build_tools.site.readiness_names import PLACE_PARTS, STANDINGS, in_sentence, years_words


def inspection_page(press: Press, rule: Inspection) -> Page:
    """Render the page of a place."""
    return press.page(
        "inspection.html.j2",
        f"inspections/{rule.id}",
        title=f"Monitors at inspection: {rule.title}",
        description=rule.summary,
        rule=rule,
        standing=STANDINGS[rule.standing],
        bands=[_band(press, one) for one in rule.bands],
        forced=list(_forced(press, rule)),
        outcome=say("inspection-result", result=rule.not_ready.result) if rule.not_ready else None,
        permanent=_permanent(rule),
        place_parts=[
            {
                "id": name.replace("_", "-"),
                "title": title,
                "said": getattr(rule, name),
                "gap": say("inspection-gap", gap=name),
            }
            for name, title in PLACE_PARTS.items()
        ],
        mark_words=forms("inspection-mark"),
    )


def _titles(press: Press, ids: Sequence[str]) -> list[str]:
    monitors = press.readiness.monitors
    return [
        in_sentence(monitors[one].title) if one in monitors else one.replace("-", " ")
        for one in ids
    ]


def _band(press: Press, band: YearBand) -> View:
    only = band.allowed_only
    names = None if only is None else listed(_titles(press, only), "or") or "none"
    return {
        "years": years_words(band.from_year, band.to_year),
        "fuels": listed(list(band.fuels)),
        "allowed": str(band.allowed) if band.allowed else "none",
        "only": names,
        "note": band.note,
        "mark": band.mark,
    }


def _forced(press: Press, rule: Inspection) -> Iterator[View]:
    for one in rule.forced_ready:
        yield {"says": _forced_words(press, one), "mark": one.mark}


def _forced_words(press: Press, forced: ForcedReady) -> str:
    names = listed(_titles(press, forced.monitors))
    if forced.when == "always":
        return f"At every test, if the car has them: {names}."
    if forced.when == "lamp-code":
        each = listed(_titles(press, forced.monitors)) if forced.monitors else "each monitor"
        return f"At a retest: {each}, if its code had lit the lamp."
    if forced.when == "repair":
        return f"At a retest after its repair: {names}."
    first, last = forced.first_code, forced.last_code
    span = first if first == last else f"{first} to {last}"
    return f"At a retest after a code from {span}: {names}."


def _permanent(rule: Inspection) -> View | None:
    policy = rule.permanent_code
    if policy is None or policy.policy == "not-seen":
        return None
    exempt = policy.exemption
    exemption = None
    if exempt:
        exemption = {
            "says": f"By another account it is left out after {exempt.warm_ups} warm-ups and "
            f"{exempt.distance_km:g} km since codes were cleared, from model year "
            f"{exempt.from_year}.",
            "mark": exempt.mark,
        }
    return {
        "says": "A permanent code counts, even with the lamp off.",
        "mark": policy.mark,
        "exemption": exemption,
    }
