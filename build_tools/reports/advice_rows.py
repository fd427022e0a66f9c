"""Room 5: the advice in a few words that can be compared, for every symptom and every case.

Reports about changed or uncertain numbers ask the same questions over and over: which cause
comes first, what to do next, how the supply stands. It writes no sentences.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from build_tools.engine.cases import CarCase, case_document, read_case
from build_tools.engine.network import Network
from build_tools.engine.triage import Assessment, assess, ranked
from build_tools.knowledge.catalogue import Catalogue

FIRST = 3
Key = tuple[str, str]


@dataclass(frozen=True)
class AdviceRow:
    """What is advised: the first three causes with their odds, and the next step.

    `next` is a check, `repair` a cause; both are None when nothing is left to do. `costs` has
    what each step that can be made is expected to cost, by its name.
    """

    causes: tuple[tuple[str, float], ...]
    next: str | None
    repair: str | None
    supply: str
    stop_now: tuple[str, ...]
    costs: Mapping[str, float] = field(default_factory=dict)

    @property
    def first_cause(self) -> str:
        """Return the likeliest cause, "" in a catalogue without any."""
        return self.causes[0][0] if self.causes else ""

    @property
    def step(self) -> tuple[str | None, str | None]:
        """Return the next check and the repair: what the reader would do."""
        return self.next, self.repair

    @property
    def step_name(self) -> str:
        """Name the step in one word: a check's id, `repair:` and a cause's, or `none`."""
        return self.next or "none" if self.repair is None else f"repair:{self.repair}"


def questions(catalogue: Catalogue) -> dict[Key, CarCase]:
    """Return what is asked: each symptom alone, and each worked case that can be read."""
    asked: dict[Key, CarCase] = {
        ("symptom", name): CarCase(symptoms=(name,)) for name in catalogue.symptoms
    }
    for name, case in catalogue.cases.items():
        car, problems = read_case(case_document(case), catalogue)
        if not problems:
            asked["case", name] = car
    return asked


def advice_row(catalogue: Catalogue, network: Network, case: CarCase) -> AdviceRow:
    """Return the advice on a case in short.

    Raises:
        ContradictoryEvidence, FrontierTooWide: as triage.
    """
    return row_of(assess(catalogue, network, case))


def row_of(assessment: Assessment) -> AdviceRow:
    """Return the short form of what has been worked out."""
    first = ranked(assessment.diagnosis)[:FIRST]
    repair = assessment.decided.repair
    return AdviceRow(
        causes=tuple((one.id, one.probability) for one in first),
        next=assessment.offered[0].offer.first if assessment.offered else None,
        repair=None if repair is None else repair.cause,
        supply=assessment.diagnosis.supply.state,
        stop_now=tuple(one.id for one in assessment.diagnosis.findings.stop_now),
        costs=_costs(assessment),
    )


def _costs(assessment: Assessment) -> dict[str, float]:
    """Return the least expected cost of each step by its name; `none` is a workshop."""
    costs: dict[str, float] = {}
    for (kind, name), cost in assessment.planning.costs.items():
        step = "none"
        if kind == "check":
            step = assessment.planning.offers[name].first
        elif kind == "repair":
            step = f"repair:{name}"
        costs[step] = min(cost, costs.get(step, cost))
    return costs
