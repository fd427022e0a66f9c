"""Which of the causes that are there make the complaints.

A cause may be present and have no part in what is noticed: a weak battery in a car that
misfires. Then it needs no repair for a cure, and looking for it settles nothing. By the model
each present cause makes a complaint by itself, or does not; so every set of present causes
splits into the sets that could be to blame, and planning counts those.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from build_tools.engine.network import Network
from build_tools.engine.worlds import Worlds, level_table


@dataclass(frozen=True)
class Blamed:
    """Sets of causes that make the complaints: all of a set do, and nothing else does.

    `worlds` are those sets with their weights; the empty one stands for what no cause explains.
    `found_in` says, for each, in which of the `present` sets it is found, as a place and a
    share; the shares of one add up to 1.
    """

    worlds: Worlds
    present: Worlds
    found_in: tuple[tuple[tuple[int, float], ...], ...]

    def share(self, place: int) -> float:
        """Return P(the cause at a place is to blame)."""
        return self._share_within(1 << place)

    def share_of_any(self, names: frozenset[str]) -> float:
        """Return P(one of these causes at least is to blame)."""
        return self._share_within(
            sum(1 << place for place, name in enumerate(self.worlds.causes) if name in names)
        )

    def _share_within(self, wanted: int) -> float:
        total = 0.0
        for mask, weight in zip(self.worlds.masks, self.worlds.weights, strict=True):
            if mask & wanted:
                total += weight
        return total


def blame(network: Network, present: Worlds, complaints: Sequence[str]) -> Blamed:
    """Split every present set by which of its causes make the complaints, all of them seen.

    Without a complaint all that is present is to blame.
    """
    if not complaints:
        alone = tuple(((place, 1.0),) for place in range(len(present.masks)))
        return Blamed(present, present, alone)
    silence = _Silence(network, present.causes, complaints)
    places = {mask: place for place, mask in enumerate(present.masks)}
    sources: list[list[tuple[int, float]]] = [[] for _ in present.masks]
    for place, (mask, weight) in enumerate(zip(present.masks, present.weights, strict=True)):
        parts = [(part, silence.made_by(part, mask)) for part in _subsets(mask)]
        total = 0.0
        for _, chance in parts:
            total += chance
        for part, chance in parts:
            if chance > 0 and weight > 0:
                sources[places[part]].append((place, weight * chance / total))
    weights, found_in = [], []
    for place, found in enumerate(sources):
        total = 0.0
        for _, weight in found:
            total += weight
        weights.append(total)
        found_in.append(tuple((one, weight / total) for one, weight in found) or ((place, 1.0),))
    return Blamed(Worlds(present.masks, tuple(weights), present.causes), present, tuple(found_in))


def blamed_table(
    network: Network, blamed: Blamed, finding_id: str
) -> tuple[tuple[float, ...], ...]:
    """Give P(level) of one finding where each set is to blame, whatever else is present.

    Raises:
        ValueError: if the finding is unknown.
    """
    return in_blamed(blamed, level_table(network, blamed.present, finding_id))


def in_blamed(blamed: Blamed, table: Sequence[Sequence[float]]) -> tuple[tuple[float, ...], ...]:
    """Turn a table by what is present into one by what is to blame."""
    rows = []
    for sources in blamed.found_in:
        row = [0.0] * len(table[0])
        for place, share in sources:
            for level, chance in enumerate(table[place]):
                row[level] += share * chance
        rows.append(tuple(row))
    return tuple(rows)


def _subsets(mask: int) -> list[int]:
    found = [0]
    for bit in range(mask.bit_length()):
        if mask >> bit & 1:
            found += [one | 1 << bit for one in found]
    return found


class _Silence:
    """How likely causes are to make none of the complaints, or all of them."""

    def __init__(self, network: Network, causes: Sequence[str], complaints: Sequence[str]) -> None:
        findings = [network.finding_by_id[name] for name in complaints]
        self._leaks = [one.leak[0] for one in findings]
        self._each = [
            [one.links[cause][0] if cause in one.links else 1.0 for one in findings]
            for cause in causes
        ]

    def made_by(self, part: int, present: int) -> float:
        """Return P(of `present` exactly `part` make complaints, and all complaints are made).

        By inclusion and exclusion over the causes of the part that make none after all.
        """
        chance = 0.0
        for made in _subsets(part):
            sign = -1.0 if (part ^ made).bit_count() % 2 else 1.0
            chance += sign * self._silent(part ^ made) * self._shown(made)
        return max(0.0, chance) * self._silent(present ^ part)

    def _silent(self, mask: int) -> float:
        chance = 1.0
        for bit, row in enumerate(self._each):
            if mask >> bit & 1:
                for one in row:
                    chance *= one
        return chance

    def _shown(self, mask: int) -> float:
        chance = 1.0
        for place, leak in enumerate(self._leaks):
            quiet = leak
            for bit, row in enumerate(self._each):
                if mask >> bit & 1:
                    quiet *= row[place]
            chance *= 1 - quiet
        return chance
