"""Room 5: keep the addresses of former ids alive: each leads on, or says what became of it.

The pages stand outside the site generator, so that they lead on before anything is loaded.
"""

from collections.abc import Iterator, Mapping
from typing import Any

from markupsafe import escape

from build_tools.knowledge.catalogue import Catalogue
from build_tools.site.page_press import SECTIONS
from build_tools.site.security import policy_tag

# A symptom has a class sheet too, at an address of its own.
_PLACES: dict[str, tuple[str, ...]] = {kind: (section,) for kind, section in SECTIONS.items()}
_PLACES["symptom"] = (SECTIONS["symptom"], "teach")
_PAGE = """\
<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
{policy}
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="robots" content="noindex">
{onward}<title>{title} - Before Parts</title>
<link rel="icon" href="../../assets/icons/icon.svg" type="image/svg+xml">
<link rel="stylesheet" href="../../assets/site.css">
</head>
<body class="bare">
<main class="sheet" id="main">
<h1>{title}</h1>
{text}
</main>
</body>
</html>
"""


def redirect_files(catalogue: Catalogue) -> Iterator[tuple[str, str]]:
    """Yield (file, HTML) for every former id of an entry that has, or had, a page.

    A former id whose successor was renamed in turn leads straight to the last one. What
    kind a retired entry was is not recorded, so its page stands in every section.
    """
    for former in sorted(catalogue.redirects):
        last = _last(former, catalogue.redirects)
        if last is None:
            yield from _retired(former, _reason(catalogue, former))
            continue
        for kind, places in _PLACES.items():
            entry: Any = catalogue.of_kind(kind).get(last)
            if entry is not None:
                for place in places:
                    yield f"{place}/{former}/index.html", _moved(last, str(entry.title))


def _last(former: str, redirects: Mapping[str, str | None]) -> str | None:
    """Return the id at the end of a chain, None if it was retired or leads in a circle."""
    seen = {former}
    now = redirects[former]
    while now is not None and now in redirects:
        if now in seen:
            return None
        seen.add(now)
        now = redirects[now]
    return now


def _moved(new: str, title: str) -> str:
    text = f'<p>This page has a new address: <a href="../{new}/">{escape(title)}</a>.</p>'
    onward = f'<meta http-equiv="refresh" content="0; url=../{new}/">\n'
    return _PAGE.format(policy=policy_tag(), onward=onward, title="Moved", text=text)


def _retired(former: str, reason: str) -> Iterator[tuple[str, str]]:
    text = (
        f"<p>{escape(reason)}</p>\n"
        '<p><a href="../../symptoms/">All symptoms</a>, or <a href="../../">start again</a>.</p>'
    )
    html = _PAGE.format(policy=policy_tag(), onward="", title="Taken away", text=text)
    for section in dict.fromkeys(place for places in _PLACES.values() for place in places):
        yield f"{section}/{former}/index.html", html


def _reason(catalogue: Catalogue, former: str) -> str:
    document = catalogue.documents.get(("redirects", "redirects"))
    said = (document.value["items"] if document else {}).get(former)
    return said["retired"] if isinstance(said, dict) else "This entry was taken away."
