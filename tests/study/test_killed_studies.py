"""A study that is killed again and again ends with the table of one that is not."""

from pathlib import Path

import numpy as np
import pytest

from benchmarks.endurance import endure


@pytest.mark.slow
def test_three_kills_change_no_byte(tmp_path: Path) -> None:
    # The long run is `python -m benchmarks.endurance --kills 100`.
    lives: list[str] = []
    killed, whole = endure(
        tmp_path,
        kills=3,
        designs=4,
        rng=np.random.default_rng(7),
        say=lives.append,
        longest=6.0,
    )
    assert sum("killed" in life for life in lives) >= 1
    assert killed == whole
    assert len(whole[1]) == 4
