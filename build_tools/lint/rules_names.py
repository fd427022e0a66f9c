"""Room 4: explain what reading has told of files, and judge ids, titles and names of entries."""

import re
from collections.abc import Iterator, Mapping

from build_tools.knowledge.assemble import BAD_ID, ID_DIFFERS, USED_TWICE
from build_tools.knowledge.folders import REDIRECTS
from build_tools.knowledge.nearest import did_you_mean
from build_tools.knowledge.problems import Severity, Span
from build_tools.knowledge.references import (
    DANGLING,
    REFERENCES,
    UNKNOWN_WORD,
    WRONG_KIND,
    marks,
    named_things,
)
from build_tools.knowledge.schema_check import MISFIT, UNKNOWN_KEY
from build_tools.knowledge.yaml_reader import DUPLICATE, LOOKALIKE, MACHINERY, UNREADABLE, KeyPath
from build_tools.lint.fixes import tidy_places
from build_tools.lint.rule import Judged, Told, reports, rule


@reports(UNREADABLE, "each file")
def check_readable() -> None:
    """SHP001 unreadable-file: a file must be readable YAML in UTF-8, in the right folder.

    Why: a file that cannot be read is missing from the site, and a file whose name does
    not end in .yml is never looked at.
    Mend: look at the line named and the one above. Most often it is indentation, a quote
    that is not closed, or a colon followed by a space inside unquoted text.
    Bad:   title: Clicks: nothing else
    Good:  title: "Clicks: nothing else"
    """


@reports(DUPLICATE, "each file")
def check_duplicate_keys() -> None:
    """SHP002 duplicate-key: a key may stand only once in its group.

    Why: YAML readers keep the last one and drop the others without a word.
    Mend: keep one of the two.
    Bad:   tools: [multimeter]
           tools: [torch]
    Good:  tools: [multimeter, torch]
    """


@reports(LOOKALIKE, "each file")
def check_lookalikes() -> None:
    """SHP003 unquoted-lookalike: words that some readers turn into other values need quotes.

    Why: yes, no, on and off become true or false, 1:20 becomes 80, 010 becomes 8, a date
    becomes something else than text, and 1.10 loses its nought.
    Mend: put quotes round it; for a number write it plainly, such as 1.1.
    Bad:   reviewed: 2026-11-25
    Good:  reviewed: "2026-11-25"
    """


@reports(MISFIT, "each file")
def check_shape() -> None:
    """SHP004 schema-misfit: every value must have the shape its kind asks for.

    Why: pages and checker read fixed places; a list where text is expected shows nothing.
    Mend: follow the message; the commented template of each kind is in symptoms/_template.
    Bad:   minutes: "5"
    Good:  minutes: 5
    """


@reports(UNKNOWN_KEY, "each file")
def check_known_keys() -> None:
    """SHP005 unknown-key: only the keys of the kind may be used.

    Why: nothing reads an unknown key, so what stands under it vanishes.
    Mend: correct the spelling, or remove the key.
    Bad:   summry: Volts at the posts.
    Good:  summary: Volts at the posts.
    """


@reports(MACHINERY, "each file")
def check_plain_yaml() -> None:
    """SHP006 yaml-machinery: no anchors, aliases, merge keys, tags or second documents.

    Why: one must be able to read a file from top to bottom and see what it says.
    Mend: write the text out in full where it is needed.
    Bad:   cautions: &battery [hydrogen, acid]
    Good:  cautions: [hydrogen, acid]
    """


@rule(Severity.WARNING)
def check_tidy(judged: Judged) -> Iterator[Told]:
    """SHP007 untidy-file: keys stand in the template's order, without stray white space.

    Why: two files of a kind are easier to compare when their keys stand in one order.
    Mend: run `python -m build_tools fix`; it changes nothing but order and white space.
    Bad:   id: resting-voltage
           kind: gauge
    Good:  kind: gauge
           id: resting-voltage
    """
    mend = "run: python -m build_tools fix"
    for span, what in tidy_places(judged.catalogue.documents):
        yield span, what, mend


_SMALL_WORDS = frozenset({"a", "an", "the", "of", "to", "and", "or", "in", "on", "at", "is"})


@reports(ID_DIFFERS, "each file")
def check_id_matches_file() -> None:
    """IDN101 id-differs: `id` equals the file's name, `kind` fits the folder.

    Why: addresses and links are made from the id; with two names an entry is found twice
    or never.
    Mend: write the file's name without .yml as `id`, and move the file to its kind's folder.
    Bad:   causes/drive-belt-slipping.yml with id: belt-slips
    Good:  causes/drive-belt-slipping.yml with id: drive-belt-slipping
    """


@reports(BAD_ID, "each file")
def check_id_grammar() -> None:
    """IDN102 id-grammar: lower-case words joined by hyphens, a letter first, 48 signs at most.

    Why: the id becomes part of an address, and case links keep it for years.
    Mend: rename the file and the id.
    Bad:   checks/Measure_Volts.yml
    Good:  checks/measure-resting-voltage.yml
    """


@reports(USED_TWICE, "the whole catalogue")
def check_id_is_unique() -> None:
    """IDN103 id-used-twice: symptoms, causes and checks share one set of ids, for ever.

    Why: findings are looked up by id alone, and a former id still stands in old case links.
    Mend: choose another id for the newer entry.
    Bad:   entries/lamp-left-on.yml beside causes/lamp-left-on.yml
    Good:  entries/lamp-stays-lit.yml beside causes/lamp-left-on.yml
    """


@rule(Severity.ERROR, asks="base")
def check_ids_stay(judged: Judged) -> Iterator[Told]:
    """IDN104 id-vanished: an entry of the base revision is still there, or has a redirect.

    Runs with `--base REV` only. Worked cases may go: no address is made from them.

    Why: addresses and case links that people kept lead nowhere from one day to the next.
    Mend: bring the file back, or name its new id, or why it was retired, in redirects.yml.
    Bad:   causes/belt-slips.yml renamed, and redirects.yml as it was
    Good:  items: {belt-slips: drive-belt-slipping}
    """
    present = judged.catalogue.documents
    folder = knowledge_name(judged)
    for kind, key in sorted(judged.former or ()):
        gone = (kind, key) not in present and key not in judged.catalogue.redirects
        if gone and kind != "case":
            span = Span(f"{folder}/{REDIRECTS}")
            mend = f"bring the file back, or add `  {key}: NEW-ID` to items in {REDIRECTS}"
            yield span, f'{kind} "{key}" was there at the base revision and is gone', mend


def knowledge_name(judged: Judged) -> str:
    """Return the name of the knowledge folder as messages show it."""
    shown = next(iter(judged.catalogue.documents.values()), None)
    return shown.file.split("/")[0] if shown else "symptoms"


@rule(Severity.ERROR)
def check_title_is_unique(judged: Judged) -> Iterator[Told]:
    """IDN105 title-used-twice: no two entries of a kind have the same title.

    Equal titles are an error; titles made of the same words in another order are a warning, and
    so is a summary that another entry of the kind has word for word.

    Why: a reader who searches cannot tell the two apart.
    Mend: say in the title what sets this entry apart.
    Bad:   title: Battery voltage        (in two checks)
    Good:  title: Measure the resting voltage
    """
    for kind in ("symptom", "cause", "check", "gauge", "context", "sum", "case"):
        titles: dict[str, str] = {}
        words: dict[frozenset[str], str] = {}
        summaries: dict[str, str] = {}
        for key, entry in judged.catalogue.of_kind(kind).items():
            title = entry.title.casefold()
            spoken = (
                frozenset(word.removesuffix("s") for word in re.findall(r"[a-z0-9]+", title))
                - _SMALL_WORDS
            )
            place = (kind, key, ("title",))
            mend = "say what sets this one apart"
            if title in titles:
                yield place, f'title "{entry.title}" is also the title of "{titles[title]}"', mend
            elif spoken in words:
                what = f'title "{entry.title}" has the words of "{words[spoken]}"'
                yield place, what, mend, Severity.WARNING
            summary = getattr(entry, "summary", "")
            if summary and summary in summaries:
                what = f'the summary is also that of "{summaries[summary]}", word for word'
                mend = "say what this entry is, in its own words"
                yield (kind, key, ("summary",)), what, mend, Severity.WARNING
            summaries.setdefault(summary, key)
            titles.setdefault(title, key)
            words.setdefault(spoken, key)


# Lists in which each thing stands once, and the key that names it; none for plain texts.
_ONCE: Mapping[str, tuple[tuple[str, str | None], ...]] = {
    "symptom": (("causes", "cause"), ("says", None)),
    "cause": (("confused_with", "cause"),),
    "check": (("shifts", "cause"), ("levels", "id"), ("cautions", None), ("tools", None)),
    "gauge": (("bands", "id"),),
    "case": (("symptoms", None),),
}


@rule(Severity.ERROR)
def check_named_once(judged: Judged) -> Iterator[Told]:
    """REF208 named-twice: each thing stands once in its list, and no cause is confused with itself.

    Why: of two likelihoods for one thing only one can hold, and a reader cannot know which.
    Mend: join the two, or name what was meant.
    Bad:   causes: [{cause: coolant-low, ...}, {cause: coolant-low, ...}]
    Good:  causes: [{cause: coolant-low, ...}, {cause: thermostat-stuck-open, ...}]
    """
    for (kind, key), document in judged.catalogue.documents.items():
        for name, part in _ONCE.get(kind, ()) if isinstance(document.value, dict) else ():
            rows = document.value.get(name)
            yield from _twice(kind, key, name, part, rows if isinstance(rows, list) else [])


def _twice(kind: str, key: str, name: str, part: str | None, rows: list[object]) -> Iterator[Told]:
    met: set[str] = set()
    for number, row in enumerate(rows):
        named = row.get(part) if part and isinstance(row, dict) else row
        place = (kind, key, (name, number) if part is None else (name, number, part))
        if not isinstance(named, str):
            continue
        if named.casefold() in met:
            yield place, f'"{named}" stands twice in `{name}`', "take one out, or join the two"
        met.add(named.casefold())
        if name == "confused_with" and named == key:
            yield place, f'"{key}" is said to be confused with itself', "name the other cause"


@reports(DANGLING, "the whole catalogue")
def check_names_exist() -> None:
    """REF201 dangling-reference: what an entry names must exist.

    Entries, sources, levels of a check, bands of a gauge and options of a context.

    Why: the page would point to nothing, and the checker would rank what has no page.
    Mend: correct the id, or write the missing entry first.
    Bad:   cause: loose-groundstrap
    Good:  cause: ground-strap-poor
    """


@reports(WRONG_KIND, "the whole catalogue")
def check_names_have_kind() -> None:
    """REF202 reference-of-wrong-kind: a name must be of the kind the place asks for.

    Why: a symptom in the place of a cause leads the reader in a circle.
    Mend: name an entry of the kind the message asks for.
    Bad:   causes: [{cause: cranks-slowly-when-cold, ...}]
    Good:  causes: [{cause: battery-worn-out, ...}]
    """


@reports(UNKNOWN_WORD, "the whole catalogue")
def check_words_listed() -> None:
    """REF206 word-not-in-list: tools, hazards, stop lines, families and units come from lists.

    Why: the site explains and draws only what stands in symptoms/vocabulary.
    Mend: use a word of the list, or add the word there with its text.
    Bad:   tools: [voltmeter]
    Good:  tools: [multimeter]
    """


@rule(Severity.WARNING)
def check_entry_is_reached(judged: Judged) -> Iterator[Told]:
    """REF203 orphan: something points to every cause, check, gauge and source.

    Why: no reader would be led to this entry by another.
    Mend: name it where it belongs, or remove it.
    Bad:   a check that no symptom, cause, check or case names
    Good:  checks: [measure-resting-voltage] under a cause of a symptom
    """
    cited = {
        mark
        for document in judged.catalogue.documents.values()
        for _, mark in marks(document.value)
    }
    for kind in ("cause", "check", "gauge"):
        for key in judged.catalogue.of_kind(kind):
            if (kind, key) not in judged.pointed_to:
                mend = "name it in the entry that leads to it, or remove the file"
                yield (kind, key, ("id",)), f'nothing points to {kind} "{key}"', mend
    for key in judged.catalogue.sources:
        if key not in cited:
            mend = "cite it with `source:`, or remove the file"
            yield ("source", key, ("id",)), f'nothing cites source "{key}"', mend


@rule(Severity.ERROR)
def check_prerequisites_end(judged: Judged) -> Iterator[Told]:
    """REF204 prerequisite-cycle: prerequisites of checks must not run in a circle.

    Why: the checker would send the reader round in a circle.
    Mend: take one of the needs out.
    Bad:   a load test that needs a resting voltage that needs a load test
    Good:  a load test that needs a resting voltage
    """
    needs = {
        key: [need.check for need in check.needs] for key, check in judged.catalogue.checks.items()
    }
    for key in needs:
        circle = _circle(key, needs)
        if circle and key == min(circle):
            what = "these checks need each other: " + " needs ".join([*circle, key])
            yield ("check", key, ("needs",)), what, "take one of these needs out"


def _circle(start: str, needs: Mapping[str, list[str]]) -> list[str]:
    """Return the shortest chain of needs from a check back to itself, empty if none."""
    chains = [[start]]
    seen = set()
    while chains:
        chain = chains.pop(0)
        for following in needs.get(chain[-1], ()):
            if following == start:
                return chain
            if following not in seen:
                seen.add(following)
                chains.append([*chain, following])
    return []


@rule(Severity.WARNING)
def check_names_current(judged: Judged) -> Iterator[Told]:
    """REF205 reference-to-former-id: name the new id, not the one it had before.

    Why: the page shows an id that is no longer kept.
    Mend: write the id that took its place; it stands in symptoms/redirects.yml.
    Bad:   cause: dead-battery
    Good:  cause: battery-worn-out
    """
    former = judged.catalogue.redirects
    for (kind, key), document in judged.catalogue.documents.items():
        if kind not in REFERENCES:
            continue
        for path, _, name in named_things(kind, document):
            if name in former and (kind, name) not in judged.catalogue.documents:
                new = former[name]
                mend = f'write "{new}"' if new else "take it out, or name another entry"
                yield (kind, key, path), f'"{name}" is a former id', mend


@rule(Severity.ERROR)
def check_redirects_lead(judged: Judged) -> Iterator[Told]:
    """REF207 redirect-to-nothing: a former id leads to an entry that is there.

    Why: the reader of an old note or link is sent to a page that does not exist.
    Mend: name an entry, or write null with the reason as a comment.
    Bad:   items: {belt-slips: drive-belt-slipin}
    Good:  items: {belt-slips: drive-belt-slipping}
    """
    ids = {key for _, key in judged.catalogue.documents}
    for former, new in judged.catalogue.redirects.items():
        if new is not None and new not in ids:
            what = f'"{former}" leads to "{new}", which does not exist'
            place = ("redirects", "redirects", ("items", former))
            yield place, what, did_you_mean(new, sorted(ids), where="name an entry, or write null")


_SIGNS = {
    **dict.fromkeys("\u201c\u201d\u201e\u00ab\u00bb", '"'),
    **dict.fromkeys("\u2018\u2019\u201a\u00b4", "'"),
    **dict.fromkeys("\u2010\u2011\u2212", "-"),
    **dict.fromkeys("\u00a0\u202f\u2009\u3000", "a plain space"),
    "\uff1a": ":",
    "\uff0c": ",",
}
# Greek and Cyrillic letters that look like ours, beside one of ours; the sign of the ohm is none.
_OTHERS = (
    "[\u0391\u0392\u0395-\u0397\u0399\u039a\u039c\u039d\u039f"
    "\u03a1\u03a4\u03a5\u03a7\u03bf\u0400-\u04ff]"
)
_LOOKALIKE = re.compile(f"[{''.join(_SIGNS)}]|{_OTHERS}(?=[a-zA-Z])|(?<=[a-zA-Z]){_OTHERS}")
_UNSEEN = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u00ad\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff]"
)


@rule(Severity.ERROR)
def check_signs_plain(judged: Judged) -> Iterator[Told]:
    """SHP008 odd-sign: no smart quotes, look-alike letters or signs that cannot be seen.

    Why: such a sign breaks a search or a name unseen, and one that turns the direction of
    writing shows a reader other words than the file holds.
    Mend: type the plain sign over it.
    Bad:   title: Won\u2019t crank
    Good:  title: Won't crank
    """
    for (kind, _), document in judged.catalogue.documents.items():
        # What the tools say quotes titles in such marks, and no search reads it.
        text = re.sub("[“”]", '"', document.text) if kind == "sentences" else document.text
        for number, line in enumerate(text.split("\n"), start=1):
            found = _UNSEEN.search(line.rstrip("\r")) or _LOOKALIKE.search(line)
            if found:
                sign = found.group()
                name = f"U+{ord(sign):04X}"
                seen = f'"{sign}" ({name})' if sign.isprintable() else f"the unseen sign {name}"
                mend = f"write {_SIGNS[sign]}" if sign in _SIGNS else "type the word again"
                span = Span(document.file, number, found.start() + 1)
                yield span, f"{seen} stands here", mend


@rule(Severity.ERROR)
def check_no_line_swallowed(judged: Judged) -> Iterator[Told]:
    """SHP009 swallowed-line: a list item is not read as part of the text above it.

    Why: a saying that is swallowed by the one above is never found by a search.
    Mend: give its dash the same indent as the dash above.
    Bad:   - lamps go dim
             - lamps flicker
    Good:  - lamps go dim
           - lamps flicker
    """
    for document in judged.catalogue.documents.values():
        lines = document.text.split("\n")
        for path in document.values:
            text = _value_at(document.value, path)
            if not isinstance(text, str) or (" - " not in text and path[0] != "says"):
                continue
            span = document.span(*path)
            if lines[span.line - 1][span.column - 1 :][:1] in {"|", ">", '"', "'"}:
                continue
            for number in range(span.line, len(lines)):
                if not lines[number].strip() or not lines[number].startswith(" "):
                    break
                below = lines[number].split(" #")[0].strip()
                if path[0] == "says" and below and f" {below}" in text:
                    yield Span(document.file, number + 1), *_undashed(below)
                elif below.startswith("- ") and f" {below}" in f" {text}":
                    what = f'"{below}" is read as part of the text above'
                    column = lines[number].index("-") + 1
                    mend = "give its dash the same indent as the dash above"
                    yield Span(document.file, number + 1, column), what, mend


def _undashed(below: str) -> tuple[str, str]:
    """Word a saying that runs on in a second line: nearly always its dash was forgotten."""
    what = f'"{below}" is read as part of the text above'
    return what, "put a dash before it, or write the saying in one line"


def _value_at(value: object, path: KeyPath) -> object:
    for step in path:
        if isinstance(value, dict):
            value = value.get(step)
        elif isinstance(value, list) and isinstance(step, int) and step < len(value):
            value = value[step]
    return value
