"""Which way each magnet of the section is magnetised."""

import math
from pathlib import Path

import numpy as np
import pytest

from fem_motor.charts.drawing.shapes import magnetisation
from fem_motor.design import Motor, load_design
from fem_motor.quantities.fields.machine import magnets_of

GEOMETRIES = Path(__file__).resolve().parents[2] / "geometries"


def halbach(segments: int, strong_side: str = "stator") -> Motor:
    return (
        load_design(GEOMETRIES / "halbach_18s16p.toml")
        .replace(
            rotor__segments_per_pole=segments,
            rotor__magnet_width_mm=10.0 / segments,
            rotor__strong_side=strong_side,
        )
        .motor
    )


def unit(angle: object) -> np.ndarray:
    return np.exp(1j * np.asarray(angle, dtype=float))


def in_the_plane(motor: Motor) -> np.ndarray:
    """Return the unit vector of each magnet at rotor angle 0, as complex numbers."""
    magnets = magnets_of(motor)
    axis = motor.rotor.segment_pitch * np.arange(motor.rotor.segments)
    outward = np.zeros_like(axis) if magnets.is_radial else magnets.direction
    return np.sign(magnets.remanence) * unit(axis + outward)


@pytest.mark.parametrize("segments", [2, 3, 4])
@pytest.mark.parametrize(("strong_side", "sense"), [("stator", 1), ("outside", -1)])
def test_halbach_segments_follow_the_angle_rule(
    segments: int, strong_side: str, sense: int
) -> None:
    # Closed form: magnetisation at angle θ points to (1 ± p) θ, + for a strong bore, − for a
    # strong outside; K. Halbach, Nucl. Instrum. Methods 169 (1980) 1, from memory. Pole 1, on +x,
    # is magnetised towards the shaft, which adds half a turn. p = 8 pole pairs.
    theta = 2 * math.pi / (16 * segments) * np.arange(16 * segments)
    wanted = unit(math.pi + (1 + sense * 8) * theta)
    assert in_the_plane(halbach(segments, strong_side)) == pytest.approx(wanted, abs=1e-12)


@pytest.mark.parametrize("segments", [2, 3, 4])
def test_one_segment_of_each_pole_lies_along_its_axis_inwards_and_outwards_by_turns(
    segments: int,
) -> None:
    motor = halbach(segments)
    axis = motor.rotor.segment_pitch * np.arange(motor.rotor.segments)
    outward = (in_the_plane(motor) / unit(axis))[::segments]
    assert outward == pytest.approx(np.tile([-1, 1], 8), abs=1e-12)


@pytest.mark.parametrize("segments", [2, 3, 4])
def test_the_others_turn_by_equal_steps_of_half_a_turn_over_the_segments(segments: int) -> None:
    turn = magnets_of(halbach(segments)).direction
    assert np.diff(turn) == pytest.approx(math.pi / segments, abs=1e-12)


@pytest.mark.parametrize("magnetisation", ["parallel", "radial"])
def test_alternating_poles_begin_inwards_and_alternate(magnetisation: str) -> None:
    design = load_design(GEOMETRIES / "steel_12s14p.toml")
    motor = design.replace("rotor.magnetisation", magnetisation).motor
    axis = motor.rotor.segment_pitch * np.arange(14)
    outward = in_the_plane(motor) / unit(axis)
    assert outward == pytest.approx(np.tile([-1, 1], 7), abs=1e-12)


@pytest.mark.parametrize("segments", [2, 3, 4])
@pytest.mark.parametrize("strong_side", ["stator", "outside"])
def test_the_drawing_shows_the_directions_that_are_solved(segments: int, strong_side: str) -> None:
    motor = halbach(segments, strong_side)
    drawn = unit([direction for _, direction in magnetisation(motor)])
    assert drawn == pytest.approx(in_the_plane(motor), abs=1e-12)


def test_a_magnet_put_in_the_wrong_way_round_is_turned_alone() -> None:
    design = load_design(GEOMETRIES / "halbach_18s16p.toml")
    built = design.replace("as_built.magnets", [{"index": 2, "remanence_factor": -1.0}]).motor
    ratio = in_the_plane(built) / in_the_plane(design.motor)
    assert ratio[1] == pytest.approx(-1, abs=1e-12)
    assert np.delete(ratio, 1) == pytest.approx(1, abs=1e-12)
