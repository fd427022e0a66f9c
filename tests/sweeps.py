"""Whole sweeps, and the tenth of them that stands for the whole in the default run."""

import hashlib

import pytest

# A test that takes `share` looks at one of so many; `make test-long` looks at all.
SWEEP = pytest.mark.parametrize(
    "share", [10, pytest.param(1, marks=pytest.mark.long)], ids=["a-tenth", "whole"]
)


def drawn(names, share):
    """Return one of `share` names, the same ones on every machine and in every run."""
    return [
        name for name in names if int(hashlib.sha256(name.encode()).hexdigest(), 16) % share == 0
    ]
