"""Torque and speed constants in every convention, from one flux linkage.

ψ is the amplitude of the fundamental flux linkage of a branch, p the pole pairs; in star the
branch is terminal to star point, in delta it lies between two terminals. Source of the
conventions: power balance; R. Krishnan, Permanent Magnet Synchronous and Brushless DC Motor
Drives (2010), from memory.
"""

import math
from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineConstants:
    """Torque per ampere and speed per volt.

    Attributes
    ----------
    torque_per_peak_phase, torque_per_rms_phase, torque_per_peak_line, torque_per_dc : float
        N m/A; sine currents in phase with the back-EMF, the last one six-step on a DC supply.
    speed_per_line_peak, speed_per_line_rms, speed_per_phase_peak, speed_per_dc : float
        rad/s per V.
    motor_constant : float
        N m/√W: torque over the root of the copper loss, sine currents.
    """

    torque_per_peak_phase: float
    torque_per_rms_phase: float
    torque_per_peak_line: float
    torque_per_dc: float
    speed_per_line_peak: float
    speed_per_line_rms: float
    speed_per_phase_peak: float
    speed_per_dc: float
    motor_constant: float


def machine_constants(
    *,
    flux_linkage: float,
    pole_pairs: int,
    connection: Literal["star", "delta"],
    resistance: float,
) -> MachineConstants:
    """Return the constants of a machine with sine back-EMF.

    Parameters
    ----------
    flux_linkage : float
        Amplitude of the fundamental of one branch, Wb.
    pole_pairs : int
    connection : "star" or "delta"
    resistance : float
        Of one branch, without leads, ohm.

    Examples
    --------
    >>> constants = machine_constants(
    ...     flux_linkage=2e-3, pole_pairs=7, connection="star", resistance=0.1)
    >>> round(constants.torque_per_peak_phase, 6)
    0.021
    """
    branch = pole_pairs * flux_linkage  # back-EMF amplitude of a branch, V s/rad
    line = branch * math.sqrt(3) if connection == "star" else branch
    line_current = 1.0 if connection == "star" else math.sqrt(3)
    torque = 1.5 * branch
    dc = 3 / math.pi * line  # mean line back-EMF over its 60° top
    return MachineConstants(
        torque_per_peak_phase=torque,
        torque_per_rms_phase=torque * math.sqrt(2),
        torque_per_peak_line=torque / line_current,
        torque_per_dc=dc,
        speed_per_line_peak=1 / line,
        speed_per_line_rms=math.sqrt(2) / line,
        speed_per_phase_peak=1 / branch,
        speed_per_dc=1 / dc,
        motor_constant=torque / math.sqrt(1.5 * resistance),
    )
