"""Command line: open a case link as a document for programs and as text for people.

Links exist once, in the browser's modules; the commands run those.
"""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from build_tools.browser.embedded import browser_modules
from build_tools.cli.triage_command import CaseRefused, advice_text, triage_document
from build_tools.engine.cases import read_case
from build_tools.engine.findings import find
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.knowledge.catalogue import Catalogue
from build_tools.knowledge.link_words import link_document
from build_tools.site.compile_json import compile_catalogue

_LINKS, _TEXT = "case/link-document", "case/case-text"


class LinkRefusedError(ValueError):
    """Say why a link cannot be opened; `reason` is the key of that sentence."""

    def __init__(self, reason: str, says: str) -> None:
        """Keep the reason beside the sentence."""
        self.reason = reason
        super().__init__(says)


def link_for(catalogue: Catalogue, document: Mapping[str, Any]) -> str:
    """Write a case as the fragment of an address, `#c=` included.

    Raises:
        CaseRefused: with every field that cannot be used and what to write instead.
    """
    _, problems = read_case(document, catalogue)
    if problems:
        raise CaseRefused(problems)
    version = compile_catalogue(catalogue)["version"]
    link: str = browser_modules(_LINKS).call(
        _LINKS, "linkFor", link_document(catalogue), document, version
    )
    return link


def read_link(catalogue: Catalogue, text: str) -> dict[str, Any]:
    """Open a case link: the case as it can be used today, and what that changed.

    Raises:
        LinkRefusedError: with the reason, if the link cannot be opened.
    """
    opened: dict[str, Any] = browser_modules(_LINKS).call(
        _LINKS, "openedLink", compile_catalogue(catalogue), link_document(catalogue), text
    )
    if "refused" in opened:
        raise LinkRefusedError(opened["refused"], opened["says"])
    return opened


def link_text(catalogue: Catalogue, opened: Mapping[str, Any]) -> str:
    """Write an opened link for people: changes, the case, the advice.

    Raises:
        ContradictoryEvidence: if no set of causes can show what was found.
    """
    knowledge = compile_catalogue(catalogue)
    case, _ = read_case(opened["case"], catalogue)
    readings = find(catalogue, network_from_catalogue(catalogue), case).readings
    told = {name: asdict(one) for name, one in readings.items()}
    parts = [
        "\n".join(change["words"] for change in opened["changes"]),
        browser_modules(_TEXT).call(_TEXT, "caseText", knowledge, opened["case"], told),
        advice_text(triage_document(catalogue, opened["case"])),
    ]
    return "\n\n".join(part for part in parts if part)
