import pytest

from tests.shared_folder import whole_site


@pytest.fixture(scope="session")
def site(tmp_path_factory):
    return whole_site(tmp_path_factory)
