"""Room 5: lay out the page of a gauge: its rulers, its bands, and where they come from."""

from collections.abc import Iterator, Mapping

from build_tools.knowledge import markup
from build_tools.knowledge.entries import Gauge, GaugeCondition
from build_tools.knowledge.references import carried
from build_tools.site.gauge_pictures import table_views
from build_tools.site.page_press import Page, Press, View


def gauge_page(press: Press, gauge: Gauge) -> Page:
    """Render the page of a gauge."""
    units = press.catalogue.vocabulary.units
    symbol = markup.unit_symbol(gauge.unit, units)
    checks = press.checks_of_gauge.get(gauge.id, [])
    check = press.catalogue.checks[checks[0]] if checks else None
    return press.page(
        "gauge.html.j2",
        f"gauges/{gauge.id}",
        title=gauge.title,
        description=gauge.summary,
        gauge=gauge,
        symbol=symbol,
        accepts=[markup.unit_symbol(one, units) for one in gauge.accepts],
        checks=[press.refer("check", one) for one in checks],
        tables=table_views(press, gauge, check),
        conditions=[_condition(press, one) for one in gauge.conditions],
        plausible=_reach(gauge, symbol),
        plausible_mark=press.mark(gauge.plausible.source),
        spread=[
            {
                "when": _when(press, row.when),
                "plus": markup.with_unit(row.plus, symbol),
                "mark": press.mark(row.source),
            }
            for row in gauge.spread
        ],
        meters=[_meter(gauge, name, symbol) for name in gauge.meters],
        meters_mark=press.mark(gauge.meters_source or "our-estimate"),
        sources=press.marks(carried(gauge)),
        notes=list(_notes(press, gauge)),
    )


def _reach(gauge: Gauge, symbol: str) -> str:
    low = markup.number_words(gauge.plausible.low)
    return f"{low} to {markup.with_unit(gauge.plausible.high, symbol)}"


def _condition(press: Press, condition: GaugeCondition) -> View:
    context = press.catalogue.contexts.get(condition.id)
    assumed = [
        f"{markup.lower_first(press.option_label(condition.id, option))} "
        f"{100 * weight:.0f}\N{NO-BREAK SPACE}%"
        for option, weight in condition.weights.items()
    ]
    unit = context.unit if context and context.unit else ""
    symbol = markup.unit_symbol(unit, press.catalogue.vocabulary.units) if unit else ""
    assumed += [
        f"{markup.with_unit(value, symbol)} {100 * weight:.0f}\N{NO-BREAK SPACE}%"
        for value, weight in condition.points
    ]
    return {
        "title": press.fact_title(condition.id),
        "assumed": ", ".join(assumed),
        "mark": press.mark(condition.source or "our-estimate"),
    }


def _when(press: Press, when: Mapping[str, str]) -> str:
    return ", ".join(
        f"{press.fact_title(name)}: {markup.lower_first(press.option_label(name, option))}"
        for name, option in when.items()
    )


def _meter(gauge: Gauge, name: str, symbol: str) -> View:
    meter = gauge.meters[name]
    plus = markup.with_unit(meter.plus, symbol)
    return {
        "name": name,
        "limits": f"{meter.percent:g}\N{NO-BREAK SPACE}% of the reading plus {plus}",
    }


def _notes(press: Press, gauge: Gauge) -> Iterator[View]:
    """Yield what each publication says about its own limits; that is where they differ."""
    for source in dict.fromkeys(carried(gauge)):
        entry = press.catalogue.sources.get(source)
        if entry and entry.note:
            yield {
                "to": press.refer("source", source),
                "note": entry.note,
                "mark": press.mark(source),
            }
