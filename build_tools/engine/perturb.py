"""The same network with every estimate moved a little.

Our priors and links are estimates. Moving all of them by noise and asking again shows which
advice rests on them. The noise is handed in, so that nothing here is random; no advice is
asked for here.
"""

from collections.abc import Callable, Sequence
from math import exp, log

from build_tools.engine.network import Network, NetworkCause, NetworkFinding


def perturb(network: Network, sigma: float, draw: Callable[[], float]) -> Network:
    """Move the log-odds of every prior, leak and link by `sigma` times a draw.

    `draw` gives the next standard normal number. A finding's row of P(F <= k) moves as a
    whole by one draw, so it stays in order; what is 0 or 1 stays so. Draws are taken for the
    causes first, then for each finding its leak and its links by id.
    """
    causes = tuple(
        NetworkCause(one.id, shifted(one.prior, sigma * draw())) for one in network.causes
    )
    return Network(causes, tuple(_finding(one, sigma, draw) for one in network.findings))


def shifted(probability: float, shift: float) -> float:
    """Return a probability with its log-odds moved by `shift`; 0 and 1 do not move."""
    if probability <= 0 or probability >= 1:
        return probability
    moved = log(probability / (1 - probability)) + shift
    return 1 / (1 + exp(-moved))


def _finding(finding: NetworkFinding, sigma: float, draw: Callable[[], float]) -> NetworkFinding:
    leak = _row(finding.leak, sigma * draw())
    links = {name: _row(finding.links[name], sigma * draw()) for name in sorted(finding.links)}
    return NetworkFinding(finding.id, finding.levels, leak, links)


def _row(row: Sequence[float], shift: float) -> tuple[float, ...]:
    return tuple(shifted(value, shift) for value in row)
