"""The qualities are the classes that the errors of reference machines are held against."""

import typing

import pytest

from fem_motor import mesh
from fem_motor.performance.doubts.quality import SETTINGS, Quality


def test_a_quality_of_the_run_is_one_of_the_mesh() -> None:
    assert list(SETTINGS) == list(typing.get_args(Quality))
    # The mesh has one more, for what currents do; no result is called by its name.
    assert ["flux", *SETTINGS] == list(typing.get_args(mesh.Quality))
    assert {one.mesh_with_currents for one in SETTINGS.values()} <= set(
        typing.get_args(mesh.Quality)
    )
    assert set(mesh.FINENESS) == set(typing.get_args(mesh.Quality))


@pytest.mark.parametrize(
    ("quality", "cogging"), [("draft", 0.05), ("standard", 0.01), ("fine", 0.001)]
)
def test_cogging_is_good_to_5_1_and_a_tenth_of_a_percent_and_flux_ten_times_better(
    quality: Quality, cogging: float
) -> None:
    # The promise of the quality classes; verification/test_slotted.py holds meshes to it.
    assert SETTINGS[quality].cogging_error == cogging
    assert SETTINGS[quality].flux_error == pytest.approx(cogging / 10, rel=1e-12)


def test_angles_of_a_period_are_even_and_grow_with_the_quality() -> None:
    # Half of them are solved; the mirror gives the rest.
    angles = [settings.angles_per_period for settings in SETTINGS.values()]
    assert angles == sorted(set(angles))
    assert not [number for number in angles if number % 2]
