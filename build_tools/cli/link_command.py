"""Room 5: open a case link as a document for programs and as text for people."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from build_tools.cli.triage_command import CaseRefused, advice_text, triage_document
from build_tools.engine.cases import read_case
from build_tools.engine.findings import find
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.knowledge.link_words import link_document, link_words
from build_tools.logs.case_adopt import adopt_case, change_words
from build_tools.logs.case_link import decode_case, encode_case, link_in
from build_tools.logs.case_text import case_text
from build_tools.site.compile_json import compile_catalogue

if TYPE_CHECKING:
    from collections.abc import Mapping

    from build_tools.knowledge.catalogue import Catalogue


def link_for(catalogue: Catalogue, document: Mapping[str, Any]) -> str:
    """Write a case as the fragment of an address, `#c=` included.

    Raises:
        CaseRefused: with every field that cannot be used and what to write instead.

    """
    _, problems = read_case(document, catalogue)
    if problems:
        raise CaseRefused(problems)
    version = compile_catalogue(catalogue)["version"]
    return f"#c={encode_case(document, link_words(catalogue), version)}"


def read_link(catalogue: Catalogue, text: str) -> dict[str, Any]:
    """Open a case link: the case as it can be used today, and what that changed.

    Raises:
        LinkRefused: with the reason, if the link cannot be opened.

    """
    knowledge = compile_catalogue(catalogue)
    document, made_with = decode_case(link_in(text), link_words(catalogue))
    case, changes = adopt_case(knowledge, link_document(catalogue)["redirects"], document)
    for change in changes:
        change["words"] = change_words(knowledge, change)
    return {
        "case": case,
        "changes": changes,
        "made_with": made_with,
        "same_knowledge": knowledge["version"].startswith(made_with),
    }


def link_text(catalogue: Catalogue, opened: Mapping[str, Any]) -> str:
    """Write an opened link for people: changes, the case, the advice.

    Raises:
        ContradictoryEvidence: if no set of causes can show what was found.

    """
    knowledge = compile_catalogue(catalogue)
    case, _ = read_case(opened["case"], catalogue)
    findings = find(catalogue, network_from_catalogue(catalogue), case)
    parts = [
        "\n".join(change["words"] for change in opened["changes"]),
        case_text(knowledge, opened["case"], findings.readings),
        advice_text(triage_document(catalogue, opened["case"])),
    ]
    return "\n\n".join(part for part in parts if part)
