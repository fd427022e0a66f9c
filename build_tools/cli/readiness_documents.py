"""Command line: what a readout holds beside its monitors, and why they have not run.

The pages work it out in the browser's modules, and the commands run those, so that a command
says what the page shows.
"""

from collections.abc import Mapping
from typing import Any

from build_tools.browser.embedded import browser_modules
from build_tools.knowledge.catalogue import Catalogue
from build_tools.obd.readiness_commands import readiness_tables, readout_document
from build_tools.site.compile_json import compile_catalogue

Document = dict[str, Any]
_ENTRIES = ("obd/readout-more", "obd/code-about", "obd/why-told")


def whole_readout_document(catalogue: Catalogue, told: str | Mapping[str, object]) -> Document:
    """Return the readout with freeze frames, test results, counts of past runs, and its codes.

    Each code has its family, what it means, the monitors it belongs to and the checks that tell
    its causes apart.
    """
    read = readout_document(told)
    knowledge, tables = compile_catalogue(catalogue), readiness_tables(catalogue.readiness)
    engine = browser_modules(*_ENTRIES)
    more = engine.call(_ENTRIES[0], "readMore", told if isinstance(told, str) else "")
    codes = [
        {**code, **engine.call(_ENTRIES[1], "codeAbout", knowledge, tables, code["code"])}
        for code in read["codes"]
    ]
    return {**read, **more, "codes": codes}


def why_document(catalogue: Catalogue, given: Mapping[str, Any]) -> Document:
    """Rank what may hold the incomplete monitors, by the checker's own engine.

    `given` has the `readout` (text or ticked boxes), `told` (what was typed beside it), `facts`
    and `car` (a case, or None).
    """
    knowledge, tables = compile_catalogue(catalogue), readiness_tables(catalogue.readiness)
    found: Document = browser_modules(*_ENTRIES).call(
        _ENTRIES[2], "whyDocument", knowledge, tables, given
    )
    return found
