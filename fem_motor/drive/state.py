"""One steady state of a drive at one speed, whichever controller."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from fem_motor.arrays import FloatArray, frozen
from fem_motor.drive.machine import Controller

SAMPLES = 360
"""Angles of the waveforms: one per electrical degree."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SteadyState:
    """Currents, torque and power over one electrical period at constant speed, SI.

    Attributes
    ----------
    controller : "six-step" or "sine"
    speed : float
        Mechanical rad/s.
    duty : float
        Share of the bus voltage in use: duty cycle of the steps, or amplitude of the sine over
        what the bus allows.
    supply_voltage, bus_voltage : float
        Open circuit, and at the controller, V.
    torque : float
        Mean on the rotor from currents, N m; cogging and drag not included.
    angle : (n,)
        Rotor angle, mechanical rad, equally spaced from 0.
    branch_current, line_current : (3, n) A
        Into terminals U, V, W; branches of a delta run U to V, V to W, W to U.
    torque_wave : (n,) N m
        With cogging where the machine has it.
    branch_current_rms, line_current_rms : float
        Over the three phases, A.
    line_current_peak : float
    supply_current : float
        Mean, A.
    losses : mapping of kind to W
        "copper", "leads", "controller", "diodes", "supply".
    freewheel_share : float or None
        Six-step: share of its 60° after which the current of the phase left open is gone, the
        longest of the intervals; 1 where it never is.
    current_angle : float or None
        Sine: by how much the current leads the back-EMF, electrical rad.
    first_order_torque : float
        What the first-order formula gives here: back-EMF and resistance only, N m.
    """

    controller: Controller
    speed: float
    duty: float
    supply_voltage: float
    bus_voltage: float
    torque: float
    angle: FloatArray
    branch_current: FloatArray
    line_current: FloatArray
    torque_wave: FloatArray
    branch_current_rms: float
    line_current_rms: float
    line_current_peak: float
    supply_current: float
    losses: Mapping[str, float]
    freewheel_share: float | None
    current_angle: float | None
    first_order_torque: float

    def __post_init__(self) -> None:
        for name in ("angle", "branch_current", "line_current", "torque_wave"):
            object.__setattr__(self, name, frozen(getattr(self, name)))
        object.__setattr__(self, "losses", MappingProxyType(dict(self.losses)))

    @property
    def supply_power(self) -> float:
        """From the ideal voltage, W."""
        return self.supply_voltage * self.supply_current

    @property
    def rotor_power(self) -> float:
        """Mean torque times speed, before drag, W."""
        return self.torque * self.speed

    @property
    def torque_peak_to_peak(self) -> float:
        """Largest less smallest torque of the samples, N m."""
        return float(np.ptp(self.torque_wave))
