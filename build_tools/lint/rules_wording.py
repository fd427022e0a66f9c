"""Room 4: judge titles, sentences and single words: what no owner would say, and what to write.

Our own sentences of advice are judged by the code that says them.
"""

import ast
import re
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from build_tools.knowledge.entries import Check, Entry, Source
from build_tools.knowledge.folders import KINDS, LED_WHY, TEMPLATES
from build_tools.knowledge.problems import Severity, Span
from build_tools.knowledge.references import matches
from build_tools.knowledge.schema_check import quote
from build_tools.knowledge.sentences import PLACE, forms_of
from build_tools.knowledge.yaml_reader import Document, KeyPath, read
from build_tools.lint.prose import SHOWN, count_words, passages, prose_of, sentences, spot
from build_tools.lint.rule import WRITTEN, Judged, Told, rule

LONGEST_TITLE = 60
MOST_WORDS = 25
_PLAIN_LETTERS = "V A AC DC CO ID OK USD COM US SAE LED USB TM SG MIN MAX STOP FIRST"
_UNITS_AND_PLAIN = frozenset(_PLAIN_LETTERS.split())
# Words that keep their capital in plain English; none of them names a maker or a person.
_PLAIN_CAPITALS = (
    "I Celsius Fahrenheit Ohm Markdown Monday Tuesday Wednesday Thursday Friday Saturday Sunday "
    "January February March April May June July August September October November December "
    "English Christmas"
)
_PROPER = frozenset(_PLAIN_CAPITALS.split())
_LETTERS = re.compile(r"\b[A-Z]{2,6}\b")
_CAPITAL = re.compile(r"(?<=[a-z0-9,;] )[A-Z][a-z]{2,}\b")
_TWO_ACTIONS = re.compile(r", (?:and )?then (?!.*\?)|; (?:then )?[a-z]+ the\b")
_CERTAIN = re.compile(
    r"\b(?:is (?:certainly|definitely|surely|undoubtedly|dead)"
    r"|must be a (?:bad|dead|broken)|has to be the|cannot be anything else"
    r"|without (?:a )?doubt|for sure|always means|is to blame|guaranteed?|bound to be"
    r"|it(?:'s| is) (?:always (?:the|your|a)|definitely|certainly)|no question|hundred percent"
    r"|(?:nine|ninety|9|90|99) (?:times )?(?:in|of|out of) (?:ten|10|a hundred|100)|can only be)\b",
    re.IGNORECASE,
)
_LINK = re.compile(r"\]\(([^)\s]*)\)")

_LIST = ("vocabulary", "plain_words")
# The list itself holds the words; what owners say, and words they search by, may be any dialect.
_LEFT_ALONE = frozenset({"plain_words", "synonyms", "dangers", "link_words"})


class PlainWords:
    """Find the phrases of a word list in a text; case and line breaks make no difference.

    What was found is remembered: most texts stay as they are from run to run.
    """

    def __init__(self, items: Sequence[dict[str, Any]]) -> None:
        """Read the rows of the list: `avoid`, `use`, and `unless`, phrases in which it is right."""
        self.items = items
        self._met: dict[str, tuple[tuple[int, str, str], ...]] = {}
        self._rows = [
            (_phrases(row["avoid"]), _phrases(row.get("unless", ())), row["use"]) for row in items
        ]

    def find(self, text: str) -> tuple[tuple[int, str, str], ...]:
        """Return the place in the text, the phrase as it is written, and what to write instead."""
        if text not in self._met:
            self._met[text] = tuple(self._find(text))
        return self._met[text]

    def _find(self, text: str) -> Iterator[tuple[int, str, str]]:
        for avoid, unless, use in self._rows:
            right = [found.span() for found in unless.finditer(text)] if unless else []
            for found in avoid.finditer(text) if avoid else ():
                if not any(start <= found.start() < end for start, end in right):
                    yield found.start(), " ".join(found.group().split()), use


# The finder of the list as it was last.
_latest: list[PlainWords] = []


@cache
def _compiled(phrases: tuple[str, ...]) -> re.Pattern[str]:
    each = (r"\s+".join(re.escape(word) for word in one.split()) for one in phrases)
    return re.compile(rf"(?<![\w-])(?:{'|'.join(each)})(?![\w-])", re.IGNORECASE)


def _phrases(phrases: Sequence[str]) -> re.Pattern[str] | None:
    return _compiled(tuple(phrases)) if phrases else None


@rule(Severity.WARNING)
def check_plain_words(judged: Judged) -> Iterator[Told]:
    """WRD651 plain-word: no word that an owner in the US would not say.

    The words, and what to write instead, are in symptoms/vocabulary/plain_words.yml. Judged are
    titles, labels, prose and sentences, the pages in content/ that a reader meets, and what the
    browser's modules and the drawings say. What owners say of their car may be any dialect.

    Why: a worried reader has to translate it first.
    Mend: write what the list says, or what you would say to a friend over the hood.
    Bad:   The gearbox lamp burns on.
    Good:  The transmission light stays on.
    """
    document = judged.catalogue.documents.get(_LIST)
    if document is None or any(one.span.file == document.file for one in judged.reading):
        return
    if not _latest or _latest[0].items != document.value["items"]:
        _latest[:] = [PlainWords(document.value["items"])]
    words = _latest[0]
    for kind, key, path, text in _shown(judged):
        for _, phrase, use in words.find(text):
            yield (kind, key, path), f'"{phrase}" is no word an owner would say', f"write {use}"
    for name, text in (*judged.pages, *judged.screens):
        for at, phrase, use in words.find(text):
            place = Span(name, text.count("\n", 0, at) + 1)
            yield place, f'"{phrase}" is no word an owner would say', f"write {use}"


def _shown(judged: Judged) -> Iterator[tuple[str, str, KeyPath, str]]:
    for kind, key, path, text in passages(judged, beside=True):
        if key not in _LEFT_ALONE:
            yield kind, key, path, text
    for (kind, key), document in judged.catalogue.documents.items():
        for pattern in SHOWN.get(kind, ()):
            for path, shown in matches(document.value, pattern):
                if isinstance(shown, str) and key not in _LEFT_ALONE:
                    yield kind, key, path, shown


_TOOLS = Path(__file__).resolve().parents[1]
_ASSETS = _TOOLS.parent / "site_overrides" / "assets"
# How the browser's modules say a sentence that only they say.
_SAID_THERE = re.compile(
    r'\bsay(?:Of\(\s*[\w.]+,|\()\s*"(?P<name>[a-z-]+)"(?:,\s*\{(?P<places>[^}]*)\})?'
)
# Where a module says what a list of its own names, each name of the list is said.
_SAID_BY_LIST = re.compile(r"\bsay\((?!\s*\")")
_NAMED = re.compile(r'"([a-z-]+)"\]')
_KEY = re.compile(r"(?:^|,)\s*(\w+)")


@cache
def _code() -> tuple[str, dict[str, set[str]]]:
    """Return the text of the code, and the places it fills of each sentence that it says."""
    texts = [path.read_text("utf-8") for path in sorted(_TOOLS.rglob("*.py"))]
    said: dict[str, set[str]] = {}
    for text in texts:
        if "say(" not in text and "forms(" not in text:
            continue
        for node in ast.walk(ast.parse(text)):
            if not isinstance(node, ast.Call) or not node.args:
                continue
            name = node.args[0]
            called = getattr(node.func, "id", "")
            if called in {"say", "forms"} and isinstance(name, ast.Constant):
                places = {one.arg for one in node.keywords if one.arg is not None}
                said.setdefault(str(name.value), set()).update(places)
    said_here = frozenset(said)
    for path in sorted(_ASSETS.rglob("*.js")):
        text = path.read_text("utf-8")
        for name in _NAMED.findall(text) if _SAID_BY_LIST.search(text) else ():
            said.setdefault(name, set())
        for found in _SAID_THERE.finditer(text):
            if found["name"] in said_here:
                continue
            places = set(_KEY.findall(found["places"] or ""))
            said.setdefault(found["name"], set()).update(places)
        # What exists once, as a module of the browser, knows words that no code here does.
        texts.append(text)
    return "\n".join(texts), said


@rule(Severity.ERROR)
def check_sentences_said(judged: Judged) -> Iterator[Told]:
    """TXT508 sentence-not-said: the code says each sentence and form, and fills each place.

    Why: a reader gets no sentence, or the code ends at the place that nobody fills.
    Mend: write the place as the code calls it, or take out what is no longer said.
    Bad:   text: Did you mean {maent}?
    Good:  text: Did you mean {meant}?
    """
    _, said = _code()
    for (kind, key), document in judged.catalogue.documents.items():
        items = document.value.get("items") if isinstance(document.value, dict) else None
        for number, sentence in enumerate(items or () if kind == "sentences" else ()):
            at, name = ("items", number), sentence.get("id")
            if name not in said:
                mend = "say it, or take it out"
                yield (kind, key, (*at, "id")), f'no code says "{name}"', mend
                continue
            for path, what, mend in _slips(sentence, said[name]):
                yield (kind, key, (*at, *path)), what, mend


def _slips(
    sentence: dict[str, Any], given: set[str]
) -> Iterator[tuple[tuple[str | int, ...], str, str]]:
    """Yield the path inside a sentence, what is wrong there and how to mend it."""
    code, _ = _code()
    used: set[str] = set()
    earlier: list[set[tuple[str, str]]] = []
    for number, (when, text) in enumerate(forms_of(sentence)):
        path = ("forms", number) if sentence.get("forms") else ()
        named = PLACE.findall(text)
        used.update(named, when)
        for place in named:
            # A sentence of which only the texts are taken is filled where it is shown.
            if given and place not in given:
                yield (
                    (*path, "text"),
                    f"nobody fills {{{place}}}",
                    f"use {', '.join(sorted(given))}",
                )
        for value in when.values():
            if f'"{value}"' not in code:
                yield (*path, "when"), f'no code knows "{value}"', "correct it, or take it out"
        wanted = set(when.items())
        if any(before <= wanted for before in earlier):
            yield (*path, "text"), "a form before it is taken first", "put this one before it"
        earlier.append(wanted)
    for place in sorted(given - used):
        yield (
            ("id",),
            f'the code gives "{place}", and no text names it',
            "name it, or stop giving it",
        )


def _kind_of(entry: Entry) -> str:
    return type(entry).__name__.lower()


@rule(Severity.WARNING, each=WRITTEN)
def check_title_form(entry: Entry) -> Iterator[Told]:
    """TXT501 title-form: sentence case, no full stop, no shouting, at most 60 characters.

    Why: titles stand in lists side by side, on small screens.
    Mend: one capital at the beginning; leave out what the summary says anyway.
    Bad:   title: Battery Clamp Makes Poor Contact.
    Good:  title: Battery clamp makes poor contact
    """
    title, place = entry.title, ("title",)
    if len(title) > LONGEST_TITLE:
        yield place, f"the title has {len(title)} characters", f"keep it within {LONGEST_TITLE}"
    if title.endswith("."):
        yield place, "the title ends with a full stop", "take it out"
    if title[:1].islower():
        what = "the title begins with a small letter"
        yield place, what, f"write {title[:1].upper()}{title[1:]}"
    if title.isupper() or "!" in title:
        yield place, f'"{title}" shouts', "write it in small letters, without an exclamation mark"
    for word in _CAPITAL.findall(title):
        if word not in _PROPER:
            yield place, f'"{word}" has a capital inside the title', f"write {word.lower()}"


@rule(Severity.ERROR, each=WRITTEN)
def check_summary_form(entry: Entry) -> Iterator[Told]:
    """TXT502 summary-form: the summary is one full sentence.

    Why: the summary stands alone in lists and search results.
    Mend: begin with a capital, end with one full stop, and move the second sentence down
    into the text.
    Bad:   summary: shows charge. Not strength
    Good:  summary: The volts at the posts show charge, not strength.
    """
    if isinstance(entry, Source) or not hasattr(entry, "summary"):
        return
    text = " ".join(entry.summary.split())
    place = ("summary",)
    if not text.endswith((".", "?", "!")):
        yield place, "the summary has no full stop", "end it with one"
    elif len(sentences(text)) > 1:
        what = f"the summary has {len(sentences(text))} sentences"
        yield place, what, "keep the one that matters most"
    if text[:1].islower():
        yield place, "the summary begins with a small letter", "begin it with a capital"


@rule(Severity.WARNING)
def check_terms_explained(judged: Judged) -> Iterator[Told]:
    """TXT503 unexplained-term: letters such as EGR stand in the glossary or are explained.

    Why: a reader who does not know the letters is lost here.
    Mend: add the term to symptoms/vocabulary/glossary.yml, or say it in plain words with the
    letters in brackets.
    Bad:   Watch the ECT while it warms up.
    Good:  Watch the coolant temperature while it warms up.
    """
    known = _known_letters(judged)
    told: set[tuple[str, str, str]] = set()
    for kind, key, path, text in passages(judged):
        for letters in _LETTERS.findall(text):
            explained = letters in known or f"({letters})" in text
            if explained or (kind, key, letters) in told:
                continue
            told.add((kind, key, letters))
            mend = "add it to the glossary, or say it in plain words"
            yield (kind, key, path), f'"{letters}" is not explained', mend


def _known_letters(judged: Judged) -> frozenset[str]:
    glossary = judged.catalogue.vocabulary.glossary
    said = " ".join([*glossary, *glossary.values()])
    units = {unit.symbol for unit in judged.catalogue.vocabulary.units.values()}
    return frozenset(_LETTERS.findall(said)) | _UNITS_AND_PLAIN | units


_NO_NAME = "say what kind of thing it is, or write it small"


@rule(Severity.ERROR)
def check_no_names(judged: Judged) -> Iterator[Told]:
    """TXT504 proper-name: no maker, product or person is named outside a citation.

    What is found is a word with a capital in the middle of a sentence. Sources may name
    publishers and titles.

    Why: names of makers, products and people belong in citations alone.
    Mend: say what kind of thing it is. A word that keeps its capital in plain English can
    be put into the glossary.
    Bad:   Some Examplecars keep a module awake.
    Good:  Some cars keep a module awake.
    """
    allowed = _PROPER | _capitals_of_glossary(judged)
    for kind, key, path, text in passages(judged):
        for sentence in sentences(text):
            for word in _CAPITAL.findall(sentence):
                if word not in allowed:
                    place = spot(judged.catalogue.documents[kind, key], path, word)
                    yield place, f'"{word}" reads like a name', _NO_NAME
    for key, symptom in judged.catalogue.symptoms.items():
        for number, saying in enumerate(symptom.says):
            for word in _CAPITAL.findall(saying):
                if word not in allowed:
                    yield (
                        ("symptom", key, ("says", number)),
                        f'"{word}" reads like a name',
                        _NO_NAME,
                    )


def _capitals_of_glossary(judged: Judged) -> frozenset[str]:
    return frozenset(
        re.findall(r"\b[A-Z][a-z]{2,}\b", " ".join(judged.catalogue.vocabulary.glossary))
    )


@rule(Severity.WARNING)
def check_sentences_short(judged: Judged) -> Iterator[Told]:
    """TXT505 long-sentence: at most 25 words, and one action in a step.

    Common practice, no source.

    Why: it is read at the car, perhaps in the dark.
    Mend: cut it in two; give the second action a step of its own.
    Bad:   - do: Loosen the clamp, then lift it off.
    Good:  - do: Loosen the clamp.
           - do: Lift it off.
    """
    for kind, key, path, text in passages(judged):
        for sentence in sentences(text):
            number = count_words(sentence)
            if number > MOST_WORDS:
                what = f'{number} words in one sentence: "{sentence[:40]}..."'
                yield (kind, key, path), what, "cut it in two"
    for key, check in judged.catalogue.checks.items():
        yield from _judge_steps(key, check)


def _judge_steps(key: str, check: Check) -> Iterator[Told]:
    for number, step in enumerate(check.steps):
        if _TWO_ACTIONS.search(step.do):
            mend = "give the second one a step of its own"
            yield ("check", key, ("steps", number, "do")), "this step holds two actions", mend


@rule(Severity.WARNING)
def check_no_certainty(judged: Judged) -> Iterator[Told]:
    """TXT506 certainty-word: a cause is likely, not certain.

    Why: a likely cause is not a certain one, and a part is bought on the strength of it.
    Mend: say how likely it is, or what would settle it.
    Bad:   Then the battery is dead.
    Good:  Then the battery is likely worn out; a load test settles it.
    """
    for kind, key, path, text in passages(judged):
        found = _CERTAIN.search(" ".join(text.split()))
        if found:
            words = found.group().strip()
            mend = "say how likely it is, or what would settle it"
            place = spot(judged.catalogue.documents[kind, key], path, words)
            yield place, f'"{words}" leaves no room for doubt', mend


_NOTE_TO_SELF = re.compile(
    r"\b(?:TODO|FIXME|TBD|XXX|lorem ipsum)\b|\?\?\?|<[a-z][a-z ]+>|\bfill in here\b"
)


@rule(Severity.ERROR)
def check_finished(judged: Judged) -> Iterator[Told]:
    """TXT509 unfinished-text: no note to oneself and no placeholder is left in a text.

    Why: the reader sees it on the page.
    Mend: write the sentence, or leave the place out until you can.
    Bad:   why: TODO ask at the shop
    Good:  why: A wet socket blows the fuse of the rear lights.
    """
    for kind, key, path, text in passages(judged, beside=True):
        found = _NOTE_TO_SELF.search(text) if key != "dangers" else None
        if found:
            place = spot(judged.catalogue.documents[kind, key], path, found.group())
            mend = "write the sentence, or leave the place out until you can"
            yield place, f'"{found.group()}" is a note to yourself, an unfinished text', mend


@cache
def _of_templates() -> frozenset[str]:
    """Return what the templates say where an entry's own words belong."""
    told = {LED_WHY}
    for path in TEMPLATES.glob("*.yml"):
        document, _ = read(path.read_bytes(), path.name)
        if document:
            told.update(" ".join(text.split()) for _, text in _own_words(path.stem, document))
    return frozenset(told)


def _own_words(kind: str, document: Document) -> Iterator[tuple[KeyPath, str]]:
    yield from prose_of(kind, document)
    for path, text in list(matches(document.value, ("says", "*")))[:1]:
        yield path, str(text)  # one saying stands for all of them


@rule(Severity.NOTE, each=WRITTEN)
def check_template_left(entry: Entry, judged: Judged) -> Iterator[Told]:
    """TXT510 template-left: no sentence of a template is left where the entry's own belongs.

    Of a draft it is a note, so that all notes together list what is still to be written. Of a
    stable entry it is an error.

    Why: the reader would be told of another car's trouble.
    Mend: write your own words in its place
    Bad:   looks_like: One to three short paragraphs. Say what is seen and heard, and when.
    Good:  looks_like: At a stop the horn is thin and hoarse.
    """
    if isinstance(entry, Source):
        return
    grave = Severity.ERROR if entry.status == "stable" else Severity.NOTE
    kind = _kind_of(entry)
    for path, text in _own_words(kind, judged.catalogue.documents[kind, entry.id]):
        if " ".join(text.split()) in _of_templates():
            what = f"{quote(text)} is still the template's"
            yield path, what, "write your own words in its place", grave


@rule(Severity.ERROR)
def check_links_lead(judged: Judged) -> Iterator[Told]:
    """TXT507 dead-link: a link in prose leads to an entry that exists.

    Links are written `[words](kind:id)`, as an address beginning with https://, or as
    `../../guide/name/` to another page of the site; of those the build looks whether they
    are there.

    Why: the reader who follows it finds nothing.
    Mend: correct the kind or the id.
    Bad:   see [the load test](check:load-test)
    Good:  see [the load test](check:load-test-battery)
    """
    for kind, key, path, text in passages(judged):
        for target in _LINK.findall(text):
            if target.startswith(("https://", "../../")):
                continue
            what_kind, _, name = target.partition(":")
            if what_kind not in KINDS or (what_kind, name) not in judged.catalogue.documents:
                mend = "write kind:id of an entry, such as check:measure-resting-voltage"
                yield (kind, key, path), f'link "{target}" leads to no entry', mend


_TITLED = ("symptom", "cause", "check", "gauge", "context", "sum", "case")
