"""What a repair that was made changes about a case.

A case has no clock, so its findings describe the car as it is now. Mending a cause therefore
takes away the results of every check that the cause shifts: they were made on the car before
it. What is measured again counts as usual. The cause itself is taken as good as ruled out, but
not wholly: a new part can be bad, and a repair can miss.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from build_tools.engine.cases import CarCase
    from build_tools.engine.network import Network
    from build_tools.knowledge.catalogue import Catalogue

# About one repair in fifty does not hold: our estimate, kept far below any other multiplier.
MENDED_TIMES: Final = 0.02


def lower_mended(odds: Mapping[str, float], mended: Iterable[str]) -> dict[str, float]:
    """Return the prior odds with every mended cause multiplied by MENDED_TIMES."""
    done = set(mended)
    return {cause: one * (MENDED_TIMES if cause in done else 1.0) for cause, one in odds.items()}


def checks_shifted_by(catalogue: Catalogue, network: Network, cause: str) -> tuple[str, ...]:
    """List, by id, the checks whose results say something about a cause.

    Those with a link from the cause, and those that confirm it.
    """
    confirming = {one.check for one in catalogue.causes[cause].confirmed_by}
    return tuple(
        name
        for name in sorted(catalogue.checks)
        if name in confirming
        or (name in network.finding_by_id and cause in network.finding_by_id[name].links)
    )


def mend(catalogue: Catalogue, network: Network, case: CarCase, cause: str) -> CarCase:
    """Return the case after a repair that did not end the trouble.

    The cause is added to `mended`; results of checks it shifts are taken away.

    Raises:
        KeyError: if there is no such cause.

    """
    gone = set(checks_shifted_by(catalogue, network, cause))
    return replace(
        case,
        readings={name: one for name, one in case.readings.items() if name not in gone},
        outcomes={name: one for name, one in case.outcomes.items() if name not in gone},
        mended=(*(one for one in case.mended if one != cause), cause),
    )
