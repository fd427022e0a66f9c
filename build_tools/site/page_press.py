"""Room 5: hold what every page needs: the catalogue, the templates and who points to whom.

Pages ask it for references, marks, cautions and rendering. A reference to nothing stays a
plain name without a link; the catalogue's own problems already say so. It builds no page.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path
from typing import Any

import jinja2
from markupsafe import Markup

from build_tools.engine.network import Network
from build_tools.knowledge import markup
from build_tools.knowledge.catalogue import Catalogue
from build_tools.knowledge.entries import UNSOURCED_MARKS, Check, ColdStop
from build_tools.knowledge.readiness_entries import Readiness
from build_tools.knowledge.sentences import say
from build_tools.measure.sums_parts import to_fahrenheit
from build_tools.site import scale_drawing

TEMPLATES = Path(__file__).parent / "templates"
SECTIONS = {
    "symptom": "symptoms",
    "cause": "causes",
    "check": "checks",
    "gauge": "gauges",
    "sum": "sums",
    "source": "sources",
    "monitor": "monitors",
}
View = dict[str, Any]


@dataclass(frozen=True)
class Page:
    """One page to publish; `address` has no slash at its ends, "" is not allowed."""

    address: str
    title: str
    description: str
    html: str

    @property
    def up(self) -> str:
        """Return the relative way from the page to the root of the site."""
        return "../" * (self.address.count("/") + 1)


@dataclass(frozen=True)
class Reference:
    """Name another page: its title, and its address from the root, None if it has no page."""

    id: str
    title: str
    summary: str
    address: str | None


@dataclass(frozen=True)
class Mark:
    """Say where a number comes from, with the source's address if there is one."""

    words: str
    address: str | None
    title: str


@dataclass(frozen=True)
class Press:
    """Render pages of one catalogue with one set of templates.

    `version` names the state of the knowledge, `site_url` the address the site will have,
    with a slash at its end; "" when they are not known.
    """

    catalogue: Catalogue
    network: Network
    drawings: Path | None = None
    version: str = ""
    site_url: str = ""

    @property
    def readiness(self) -> Readiness:
        """Return the monitors and inspection rules."""
        return self.catalogue.readiness

    @property
    def env(self) -> jinja2.Environment:
        """Return the template environment."""
        return environment()

    @cached_property
    def symptoms_by_check(self) -> dict[str, list[str]]:
        """Give the symptoms, in order, that name each check as one that settles a cause."""
        found: dict[str, list[str]] = {}
        for symptom in self.catalogue.symptoms.values():
            for check in {one for link in symptom.causes for one in link.checks}:
                found.setdefault(check, []).append(symptom.id)
        return found

    def page(self, template: str, address: str, **view: object) -> Page:
        """Render a template into a page; `view` must hold `title` and `description`."""
        blank = Page(address, str(view["title"]), markup.plain(str(view["description"])), "")
        html = self.env.get_template(template).render(up=blank.up, **view)
        return Page(blank.address, blank.title, blank.description, html)

    def refer(self, kind: str, entry_id: str) -> Reference:
        """Return a reference to an entry, without an address if there is no such page."""
        if kind in {"hazards", "stop_lines"}:
            return self._caution_reference(kind, entry_id)
        entry: Any = self.catalogue.of_kind(kind).get(entry_id)
        if entry is None:
            return Reference(entry_id, entry_id.replace("-", " "), "", None)
        summary = getattr(entry, "summary", "")
        return Reference(entry_id, entry.title, summary, f"{SECTIONS[kind]}/{entry_id}/")

    def _caution_reference(self, kind: str, word_id: str) -> Reference:
        """Refer to a caution or stop-now line where the page about safety lists them all."""
        if kind == "hazards":
            hazard = self.catalogue.vocabulary.hazards[word_id]
            return Reference(word_id, f"Caution: {hazard.title}", "", f"stay-safe/#{word_id}")
        line = self.catalogue.vocabulary.stop_lines[word_id]
        return Reference(word_id, f"Stop now: {line.text}", "", "stay-safe/")

    def mark(self, source: str) -> Mark:
        """Return the words and the address of a mark."""
        if source in UNSOURCED_MARKS:
            return Mark(say("mark", mark=source), "guide/our-numbers/", "")
        entry = self.catalogue.sources.get(source)
        if entry is None:
            return Mark(source.replace("-", " "), None, "")
        title = f"{entry.title}, {entry.section}" if entry.section else entry.title
        return Mark(say("mark", mark=entry.mark), f"sources/{source}/", title)

    def marks(self, sources: Iterable[str]) -> list[Mark]:
        """Return each mark once, publications first, in order of first use."""
        once = list(dict.fromkeys(sources))
        once.sort(key=lambda source: source in UNSOURCED_MARKS)
        return [self.mark(source) for source in once]

    def cautions(self, ids: Iterable[str]) -> list[View]:
        """Return the cautions of some hazards, in the order given, each once."""
        return [self.caution(one) for one in dict.fromkeys(ids)]

    def caution(self, hazard_id: str) -> View:
        """Return one caution; an unknown hazard still warns, by its name."""
        hazard = self.catalogue.vocabulary.hazards.get(hazard_id)
        if hazard is None:
            return {"id": hazard_id, "title": hazard_id.replace("-", " "), "short": "", "text": ""}
        return {"id": hazard_id, "title": hazard.title, "short": hazard.short, "text": hazard.text}

    def stop_lines(self, ids: Iterable[str]) -> list[View]:
        """Return stop-now lines with their reasons."""
        lines = self.catalogue.vocabulary.stop_lines
        return [
            {"text": lines[one].text, "why": lines[one].why}
            if one in lines
            else {"text": one.replace("-", " "), "why": ""}
            for one in dict.fromkeys(ids)
        ]

    def cold_stop(self, cold: ColdStop | None) -> View | None:
        """Return a stop line that holds in the cold, and below which temperature."""
        if cold is None:
            return None
        (line,) = self.stop_lines((cold.line,))
        below = f"{to_fahrenheit(cold.than):.0f} °F ({cold.than:g} °C)"
        return {**line, "below": below, "mark": self.mark(cold.source)}

    def fact_title(self, context_id: str) -> str:
        """Return the title of a fact; an unknown one stays readable."""
        context = self.catalogue.contexts.get(context_id)
        return context.title if context else context_id.replace("-", " ")

    def option_label(self, context_id: str, option_id: str) -> str:
        """Return the label of an answer to a question about the car."""
        context = self.catalogue.contexts.get(context_id)
        labels = {option.id: option.label for option in context.options} if context else {}
        return labels.get(option_id, option_id.replace("-", " "))

    def level_label(self, check_id: str, level_id: str) -> str:
        """Return the label of a result of a check."""
        check = self.catalogue.checks.get(check_id)
        labels = {level.id: level.label for level in check.levels} if check else {}
        return labels.get(level_id, level_id.replace("-", " "))

    def tools(self, ids: Sequence[str]) -> list[str]:
        """Return the names of tools in lower case, for use inside a sentence."""
        known = self.catalogue.vocabulary.tools
        return [
            markup.lower_first(known[one].title if one in known else one.replace("-", " "))
            for one in ids
        ]

    def effort(self, check: Check) -> View:
        """Return what a check costs, in words, with the mark of these figures."""
        return {
            "minutes": markup.time_words(check.effort.minutes, check.effort.wait_hours),
            "own": markup.time_words(check.effort.minutes, 0),
            "wait": f"about {check.effort.wait_hours:g} h" if check.effort.wait_hours else "",
            "money": markup.money_words(check.effort.money, check.effort.currency),
            "skill": markup.SKILL_WORDS.get(check.effort.skill, check.effort.skill),
            "needs_helper": check.effort.needs_helper,
            "tools": self.tools(check.tools),
            "mark": self.mark(check.effort.source),
        }

    @cached_property
    def symptoms_of_cause(self) -> Mapping[str, list[str]]:
        """Return, for each cause, the symptoms that list it, most often first."""
        found: dict[str, list[tuple[float, str]]] = defaultdict(list)
        for symptom in self.catalogue.symptoms.values():
            for link in symptom.causes:
                found[link.cause].append((-link.how_often.value, symptom.id))
        return {cause: [one for _, one in sorted(rows)] for cause, rows in found.items()}

    @cached_property
    def checks_of_gauge(self) -> Mapping[str, list[str]]:
        """Return, for each gauge, the checks read on it."""
        return _group(self.catalogue.checks.values(), lambda c: [c.gauge] if c.gauge else [])

    @cached_property
    def checks_of_cause(self) -> Mapping[str, list[str]]:
        """Return, for each cause, the checks whose outcome it moves."""
        return _group(self.catalogue.checks.values(), lambda c: [s.cause for s in c.shifts])


@cache
def environment() -> jinja2.Environment:
    """Return the template environment; a missing name is an error, not a blank.

    There is one for all presses: it compiles a template again only when its file has changed.
    """
    env = jinja2.Environment(
        loader=jinja2.FileSystemLoader(TEMPLATES),
        undefined=jinja2.StrictUndefined,
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    env.filters.update(
        prose=markup.prose,
        fraction=markup.fraction_words,
        minutes=markup.minutes_words,
        lower_first=markup.lower_first,
        upper_first=markup.upper_first,
    )
    env.globals.update(swatch=lambda density: Markup(scale_drawing.swatch(density)))  # noqa: S704 - numbers only
    return env


def _group(checks: Iterable[Check], keys: Callable[[Check], list[str]]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = defaultdict(list)
    for check in checks:
        for key in dict.fromkeys(keys(check)):
            found[key].append(check.id)
    return dict(found)
