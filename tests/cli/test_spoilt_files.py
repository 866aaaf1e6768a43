"""Spoilt files are refused with a reason, or read: a few of those of `benchmarks.mutations`."""

import pytest

from benchmarks.mutations import KINDS, faults_of, spoilt

A_FEW = 60


@pytest.mark.parametrize("kind", KINDS)
def test_spoilt_files_are_read_or_refused_with_advice(kind: str) -> None:
    # The long run is `python -m benchmarks.mutations`; these are its first files.
    for number in range(A_FEW):
        assert list(faults_of(KINDS[kind], *spoilt(KINDS[kind], number))) == [], number
