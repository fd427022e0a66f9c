from __future__ import annotations

from pathlib import Path

import pytest

from build_tools.site.build_site import build

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="session")
def site(tmp_path_factory):
    out = tmp_path_factory.mktemp("built") / "site"
    problems = build(ROOT, out)
    assert problems == []
    return out
