"""Room 5: lay out the page of a source, with every place that leans on it."""

from collections.abc import Mapping

from build_tools.knowledge.entries import Source
from build_tools.knowledge.sentences import say
from build_tools.site.page_press import Page, Press

_SEEN_WORDS = {
    "full": "We read the whole text.",
    "excerpt": "We read an excerpt.",
    "second-hand": "We have it from another text that quotes it.",
}


def source_page(press: Press, source: Source, uses: Mapping[str, list[tuple[str, str]]]) -> Page:
    """Render the page of a source; `uses` comes from `references.uses`."""
    return press.page(
        "source.html.j2",
        f"sources/{source.id}",
        title=source.title,
        description=f"{source.title}, {source.section}",
        source=source,
        mark_words=say("mark", mark=source.mark),
        seen=_SEEN_WORDS.get(source.seen, source.seen),
        uses=[press.refer(kind, one) for kind, one in uses.get(source.id, [])],
    )
