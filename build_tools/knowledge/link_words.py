"""Room knowledge: the numbers that stand for ids in case links.

`vocabulary/link_words.yml` gives every id a number once and for ever: links made years ago must
still be read. New ids get new numbers at the end; until then they stand in links as letters.
"""

from typing import Any

from build_tools.knowledge.catalogue import Catalogue


def words_in_use(catalogue: Catalogue) -> list[str]:
    """List every word a case can hold, those that stand in links most often first."""
    words: list[str] = ["value", "unit", "confirmed"]
    words += catalogue.contexts
    words += [option.id for one in catalogue.contexts.values() for option in one.options]
    words += [unit for one in catalogue.gauges.values() for unit in one.accepts]
    words += [unit for one in catalogue.contexts.values() for unit in one.accepts]
    words += [name for name, one in catalogue.checks.items() if one.gauge]
    words += catalogue.symptoms
    words += catalogue.checks
    words += [level.id for one in catalogue.checks.values() for level in one.levels]
    words += catalogue.vocabulary.tools
    words += catalogue.causes
    return list(dict.fromkeys(words))


def words_without_number(catalogue: Catalogue) -> list[str]:
    """List the words that have no number yet, in the order they would get one."""
    return [word for word in words_in_use(catalogue) if word not in catalogue.vocabulary.link_words]


def new_lines(catalogue: Catalogue) -> str:
    """Write the lines that give the words without a number the next free ones."""
    first = max(catalogue.vocabulary.link_words.values(), default=-1) + 1
    rows = enumerate(words_without_number(catalogue), first)
    return "".join(f'  - {{number: {number}, word: "{word}"}}\n' for number, word in rows)


def link_document(catalogue: Catalogue) -> dict[str, Any]:
    """Write what the browser needs to read and write links.

    `words` by number, an empty text for a number nobody has; `redirects` from a former id to
    the new one, or to `{"retired": reason}`.
    """
    redirects = catalogue.documents.get(("redirects", "redirects"))
    former = (redirects.value.get("items") or {}) if redirects is not None else {}
    numbers = catalogue.vocabulary.link_words
    words = [""] * (max(numbers.values(), default=-1) + 1)
    for word, number in numbers.items():
        words[number] = word
    return {"words": words, "redirects": dict(former)}
