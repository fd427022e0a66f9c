"""What many tests ask, made once a run for all of them."""

import pickle

import pytest

from build_tools.engine.cases import case_document, read_case
from build_tools.engine.from_catalogue import network_from_catalogue
from build_tools.engine.triage import triage
from build_tools.knowledge.assemble import load_catalogue
from tests.shared_folder import ROOT, digest_of, made_once


@pytest.fixture(scope="session")
def worked_advice(tmp_path_factory):
    """Return Python's advice on every worked case, by the case's id."""

    def make(place):
        catalogue, _ = load_catalogue(ROOT)
        network = network_from_catalogue(catalogue)
        found = {}
        for name, one in catalogue.cases.items():
            case, problems = read_case(case_document(one), catalogue)
            assert problems == (), name
            found[name] = triage(catalogue, network, case)
        (place / "advice").write_bytes(pickle.dumps(found))
        return len(found)

    place, number = made_once(tmp_path_factory, f"advice-{digest_of(ROOT)}", make)
    found = pickle.loads((place / "advice").read_bytes())
    assert len(found) == number > 0
    return found
