"""Each kind of answer in real Chromium against Python, a few of each.

The sweeps run the same modules in an embedded engine (tests/parity); here the same bodies run
in the browser that readers have, so that the two engines cannot differ unseen.
"""

from __future__ import annotations

import pytest

from tests.embedded import in_page
from tests.parity.test_engine import networks_agree, plans_agree
from tests.parity.test_readiness import decisions_agree, readouts_agree
from tests.parity.test_search import hits_agree, phrases
from tests.parity.test_sums import readings_agree
from tests.parity.test_triage import generated_cases_agree, reasons_agree


@pytest.mark.parametrize(
    ("agree", "size"),
    [
        (networks_agree, 50),
        (plans_agree, 15),
        (generated_cases_agree, 10),
        (reasons_agree, 60),
        (readings_agree, 500),
        (readouts_agree, 100),
        (decisions_agree, 100),
    ],
)
def test_chromium_answers_as_python_does(module_page, agree, size):
    agree(in_page(module_page), size)


def test_chromium_finds_what_python_finds(module_page):
    hits_agree(in_page(module_page), phrases(every=100))
