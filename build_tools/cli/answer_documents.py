"""Command line: strangers' messages as documents, read by the browser's modules."""

from collections.abc import Mapping
from typing import Any

from build_tools.browser.embedded import ModuleFailedError, browser_modules
from build_tools.cli.triage_command import CaseRefused
from build_tools.cli.words import RefusedError
from build_tools.engine.cases import read_case
from build_tools.knowledge.catalogue import Catalogue
from build_tools.knowledge.link_words import link_document
from build_tools.site.answer_words import answer_words
from build_tools.site.compile_json import compile_catalogue
from build_tools.site.search import search_document

_READ, _REPLY = "answer/message-document", "answer/reply-document"


class MessageReader:
    """Reads messages with one catalogue; what it needs is handed over once."""

    def __init__(self, catalogue: Catalogue) -> None:
        """Hand the words of the catalogue to the modules."""
        self._modules = browser_modules(_READ)
        words, knowledge = answer_words(catalogue), compile_catalogue(catalogue)
        self._modules.call(_READ, "prepare", search_document(catalogue), words, knowledge)

    def read(self, message: str) -> dict[str, Any]:
        """Return what a message says, and what has to be asked."""
        found: dict[str, Any] = self._modules.call(_READ, "messageDocument", message)
        return found

    def case(self, message: str) -> dict[str, Any]:
        """Return the case that a message makes, as `triage` takes it: what is sure in it."""
        case: dict[str, Any] = self._modules.call(_READ, "messageCase", message)
        return {name: told for name, told in case.items() if told}


def reply_document(
    catalogue: Catalogue, case: Mapping[str, Any], frame: Mapping[str, str]
) -> dict[str, Any]:
    """Return the reply to a case, short and long, and the link that opens the case.

    Raises:
        CaseRefused: with every field that cannot be used.
        RefusedError: if no advice can be given on the case.
    """
    _, problems = read_case(case, catalogue)
    if problems:
        raise CaseRefused(problems)
    whole = dict[str, Any](symptoms=[], context={}, readings={}, outcomes={}, not_possible=[])
    words = {"book": link_document(catalogue), "sentences": answer_words(catalogue)["sentences"]}
    knowledge = compile_catalogue(catalogue)
    try:
        reply: dict[str, Any] = browser_modules(_REPLY).call(
            _REPLY, "replyDocument", knowledge, words, {**whole, **case}, dict(frame)
        )
    except ModuleFailedError as error:
        raise RefusedError(f"no advice can be given on this case: {error}") from None
    return reply


def understood_text(found: Mapping[str, Any]) -> str:
    """Write what was understood as lines, each with the words that led to it."""
    lines = [f"symptom       {one['id']}: {_quoted(one)}" for one in found["symptoms"]]
    lines += [f"circumstance  {one['id']}: {_quoted(one)}" for one in found["circumstances"]]
    for one in found["readings"]:
        sure = "" if one["certain"] else ", condition not told"
        value = f"{one['value']:g} {one['unit']}"
        lines.append(f"reading       {value}, {one['quantity']}{sure}: {_quoted(one)}")
    lines += [f"fact          {name}: {answer}" for name, answer in found["facts"].items()]
    lines += [f"result        {one['id']}: {one['answer']}" for one in found["results"]]
    lines += [f"code          {one['code']}" for one in found["codes"]]
    lines += [f"tool          {one['id']}" for one in found["tools"]]
    lines += [f"monitor       {name}: {state}" for name, state in found["monitors"].items()]
    helped = {True: "it helped", False: "it did not help", None: "not told whether it helped"}
    lines += [f"replaced      {one['what']}, {helped[one['helped']]}" for one in found["replaced"]]
    lines += [f"past          {_quoted(one)}" for one in found["past"]]
    lines += [f"is over       {one['id']}: {_quoted(one)}" for one in found["past_symptoms"]]
    lines += [f"not so        {_quoted(one)}" for one in found["negated"]]
    lines += [f"to ask        {one}" for one in found["questions"]]
    lines += [f"not read      {one}" for one in found["not_understood"]]
    return "\n".join(lines)


def _quoted(one: Mapping[str, Any]) -> str:
    return '"' + " ".join(one["words"].split()) + '"'
