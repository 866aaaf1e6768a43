"""Both half cells of a motor, with the gap circles between them."""

from dataclasses import dataclass

from fem_motor.design import Motor
from fem_motor.section.rotor import rotor_cell
from fem_motor.section.shapes import HalfCellOutline
from fem_motor.section.stator import stator_cell

GAP_POSITION = 0.25
"""Distance of the gap circles from tooth tips and rotor, as a part of the air gap: far enough
that corners do not stand on them, near enough that the annulus keeps most of the harmonics."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CrossSection:
    """The half cells of both bodies."""

    stator: HalfCellOutline
    rotor: HalfCellOutline


def cross_section(motor: Motor, *, gap_position: float = GAP_POSITION) -> CrossSection:
    """Return the half cells of `motor`.

    Parameters
    ----------
    motor : Motor
    gap_position : float
        Where the two gap circles stand, as a part of the air gap from either side.
    """
    depth = gap_position * motor.air_gap
    surface = motor.stator.outer_radius + motor.air_gap
    return CrossSection(
        stator=stator_cell(motor.stator, motor.stator.outer_radius + depth),
        rotor=rotor_cell(motor.rotor, surface, surface - depth),
    )
