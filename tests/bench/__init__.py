"""Benches: figures beside others' figures, printed in one run; no part of the tests."""
