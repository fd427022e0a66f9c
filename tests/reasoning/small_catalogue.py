"""A catalogue of a few causes and checks, small enough to work out by hand."""

from build_tools.knowledge.catalogue import Catalogue
from build_tools.knowledge.entries import (
    Band,
    Cause,
    CauseLink,
    Check,
    Confirmation,
    Context,
    ContextBand,
    ContextFactor,
    Effort,
    Gauge,
    GaugeCondition,
    GaugeTable,
    Level,
    Likelihood,
    LookAlike,
    Meter,
    Need,
    Option,
    Plausible,
    Price,
    Repair,
    Shift,
    Symptom,
    TableBand,
)
from build_tools.knowledge.quantities import Unit
from build_tools.knowledge.vocabulary import Group, StopLine, Tool, Vocabulary

ABOUT = {"summary": "Made for a test.", "status": "stable", "reviewed": "2026-11-25"}


def likely(value):
    return Likelihood(value=value, word=None, source="our-estimate")


def cause(
    name,
    *,
    group,
    prior=0.05,
    part=None,
    price=0.0,
    minutes=10,
    confirmed_by=(),
    context=(),
    alike=(),
    who="owner",
):
    return Cause(
        **ABOUT,
        id=name,
        title=name.replace("-", " ").capitalize(),
        group=group,
        how_common=likely(prior),
        context=tuple(
            ContextFactor(when=when, equals=equals, times=times, why="")
            for when, equals, times in context
        ),
        repair=Repair(
            action=f"Mend {name}",
            part=part,
            price=Price(low=price, high=price, currency="USD", year=2026, source="our-estimate"),
            minutes=minutes,
            who=who,
            cautions=(),
        ),
        confirmed_by=tuple(Confirmation(check=check, level=level) for check, level in confirmed_by),
        unconfirmable_because=None,
        confused_with=tuple(LookAlike(cause=other, told_apart_by=by) for other, by in alike),
    )


def symptom(name, links, *, role="complaint", leak=0.01, stop_now=()):
    return Symptom(
        **ABOUT,
        id=name,
        title=name.replace("-", " ").capitalize(),
        role=role,
        family="will-not-start",
        says=(),
        looks_like="",
        stop_now=tuple(stop_now),
        ask_first=(),
        supply_note="",
        unprompted=likely(leak),
        causes=tuple(
            CauseLink(cause=one, how_often=likely(often), why="", checks=())
            for one, often in links.items()
        ),
    )


def check(
    name,
    levels,
    shifts,
    *,
    aspects=(),
    minutes=2,
    money=0,
    tools=(),
    needs=(),
    gauge=None,
    bands=None,
    leak=0.02,
    proves=True,
    stop_now=None,
):
    """Make a check; `shifts` maps a cause to P(at least this level) for levels 1 and up."""
    return Check(
        **ABOUT,
        id=name,
        title=name.replace("-", " ").capitalize(),
        aspects=tuple(aspects),
        tools=tuple(tools),
        effort=Effort(
            minutes=minutes,
            money=money,
            currency="USD",
            skill="easy",
            needs_helper=False,
            source="our-estimate",
        ),
        cautions=(),
        needs=tuple(Need(check=one, at_most=most, otherwise=other) for one, most, other in needs),
        steps=(),
        drawing=None,
        gauge=gauge,
        conditions=(),
        levels=tuple(
            Level(
                id=level,
                label=level.capitalize(),
                means="",
                bands=tuple((bands or {}).get(level, ())),
                proves=proves and place == 0,
                stop_now=tuple((stop_now or {}).get(level, ())),
            )
            for place, level in enumerate(levels)
        ),
        cannot_tell="",
        unprompted={level: likely(leak / (place + 1)) for place, level in enumerate(levels[1:])},
        shifts=tuple(
            Shift(
                cause=one, at_least=dict(zip(levels[1:], map(likely, row), strict=True)), why=None
            )
            for one, row in shifts.items()
        ),
    )


def by_id(*entries):
    return {one.id: one for one in sorted(entries, key=lambda one: one.id)}


VOCABULARY = Vocabulary(
    groups={
        name: Group(id=name, title=name, supply=supply, fallback="")
        for supply, names in [
            (True, ("battery", "connection", "charging", "drain")),
            (False, ("module", "wiring")),
        ]
        for name in names
    },
    tools={name: Tool(id=name, title=name, hint="") for name in ("multimeter", "charger")},
    stop_lines={
        name: StopLine(id=name, text=f"{name}.", why="", source="common-practice")
        for name in ("first-line", "second-line")
    },
    units={
        "V": Unit(id="V", symbol="V", quantity="voltage", canonical="V", factor=1, offset=0),
        "mV": Unit(id="mV", symbol="mV", quantity="voltage", canonical="V", factor=0.001, offset=0),
        "degC": Unit(
            id="degC", symbol="C", quantity="temperature", canonical="degC", factor=1, offset=0
        ),
    },
)

REST_GAUGE = Gauge(
    **ABOUT,
    id="rest",
    title="Rest",
    quantity="voltage",
    unit="V",
    accepts=("V", "mV"),
    plausible=Plausible(low=0, high=16.5, source="our-estimate"),
    decimals=2,
    conditions=(
        GaugeCondition(id="meter", weights={"cheap": 1.0}, points=(), source="our-estimate"),
    ),
    bands=tuple(Band(id=one, label=one, says="") for one in ("flat", "half", "full")),
    tables=(
        GaugeTable(
            fits={},
            source="our-estimate",
            bands=(
                TableBand(band="flat", start=None, below=12.0, source=None),
                TableBand(band="half", start=12.0, below=12.4, source=None),
                TableBand(band="full", start=12.4, below=None, source=None),
            ),
        ),
    ),
    spread=(),
    meters={"cheap": Meter(percent=0, plus=0.1), "good": Meter(percent=0, plus=0.02)},
    meters_source="our-estimate",
    does_not_tell="",
)


def context(name, role, **fields):
    """Make something that is asked: a choice of nothing, where no fields say otherwise."""
    asked = {"type": "choice", "options": (), "unit": None, "accepts": (), "plausible": None}
    words = {"id": name, "title": name.capitalize(), "question": "?", "role": role}
    return Context(**ABOUT, **words, **{**asked, "bands": (), **fields})


def options(*names):
    return tuple(Option(id=one, label=one.capitalize()) for one in names)


CONTEXTS = by_id(
    context("meter", "condition", options=options("cheap", "good")),
    context("age", "likelihood", options=options("old", "young")),
    context(
        "warmth",
        "both",
        type="number",
        unit="degC",
        accepts=("degC",),
        plausible=Plausible(low=-40, high=60, source="our-estimate"),
        bands=(
            ContextBand(id="frost", start=None, below=0),
            ContextBand(id="mild", start=0, below=None),
        ),
    ),
)


def small_catalogue():
    """Five causes: three of the supply, a dear module and a cheap wire."""
    shop = {"minutes": 60, "who": "workshop"}
    battery = {
        "part": "battery",
        "price": 150,
        "minutes": 30,
        "confirmed_by": [("load-test", "fails")],
    }
    battery |= {"context": [("age", "old", 5), ("warmth", "frost", 2)]}
    alternator = {**shop, "part": "alternator", "price": 400, "alike": [("clamp-loose", "twist")]}
    module = {**shop, "part": "module", "price": 900, "context": [("age", "old", 0.5)]}
    wire = {"part": "wire", "price": 10, "minutes": 30, "confirmed_by": [("wiggle", "reacts")]}
    causes = by_id(
        cause("battery-weak", group="battery", prior=0.1, **battery),
        cause("clamp-loose", group="connection", confirmed_by=[("twist", "loose")]),
        cause(
            "alternator-tired",
            group="charging",
            confirmed_by=[("charge-volts", "low")],
            **alternator,
        ),
        cause(
            "module-broken", group="module", prior=0.01, confirmed_by=[("codes", "one")], **module
        ),
        cause("wire-chafed", group="wiring", prior=0.03, **wire),
    )
    lamps = dict.fromkeys(["battery-weak", "clamp-loose", "alternator-tired"], 0.6)
    lamps |= {"module-broken": 0.9, "wire-chafed": 0.35}
    symptoms = by_id(
        symptom("lamps", lamps, stop_now=["second-line"]),
        symptom("slow-crank", {"battery-weak": 0.8, "clamp-loose": 0.35}),
        symptom("after-rain", {"wire-chafed": 0.6}, role="circumstance", leak=0.05),
    )
    rest = {"tools": ["multimeter"], "gauge": "rest", "stop_now": {"flat": ["first-line"]}}
    rest |= {"aspects": ["battery"], "bands": {one: [one] for one in ("full", "half", "flat")}}
    rest_shifts = {"battery-weak": [0.6, 0.35], "alternator-tired": [0.8, 0.35]}
    charge = {"aspects": ["battery"], "tools": ["charger"], "minutes": 30}
    load = {"aspects": ["battery"], "minutes": 10, "needs": [("rest-volts", "full", "charge-up")]}
    volts = {"aspects": ["charging"], "tools": ["multimeter"], "minutes": 5}
    checks = by_id(
        check("rest-volts", ["full", "half", "flat"], rest_shifts, proves=False, **rest),
        check("charge-up", ["takes", "stays"], {"battery-weak": [0.35]}, proves=False, **charge),
        check("load-test", ["holds", "fails"], {"battery-weak": [0.95]}, **load),
        check("twist", ["tight", "loose"], {"clamp-loose": [0.95]}, aspects=["connection"]),
        check("charge-volts", ["normal", "low"], {"alternator-tired": [0.95]}, **volts),
        check("codes", ["none", "one"], {"module-broken": [0.95]}, minutes=10, proves=False),
        check("wiggle", ["same", "reacts"], {"wire-chafed": [0.8]}, minutes=15, proves=False),
    )
    return Catalogue(
        symptoms=symptoms,
        causes=causes,
        checks=checks,
        gauges=by_id(REST_GAUGE),
        contexts=CONTEXTS,
        vocabulary=VOCABULARY,
    )
