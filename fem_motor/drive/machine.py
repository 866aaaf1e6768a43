"""The machine and the bridge as the drive sees them: back-EMF, R, L, and what feeds them."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from fem_motor.arrays import FloatArray, frozen
from fem_motor.design import Connection
from fem_motor.errors import InputError, Problem

Controller = Literal["six-step", "sine"]

FluxMap = Callable[[float, float], tuple[float, float]]
"""What branch currents (i_d, i_q), peak A, add to the branch linkages (ψ_d, ψ_q), Wb."""

BRANCHES_OF_TERMINALS = np.array([[1.0, -1.0, 0.0], [0.0, 1.0, -1.0], [-1.0, 0.0, 1.0]])
"""B: voltage of delta branches U, V, W from the voltages of terminals U, V, W."""

FEWEST_SAMPLES = 12
"""Two per 60°: fewer do not tell one interval from the next."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ElectricalMachine:
    """Three equal branches with a back-EMF of any shape, whole machine, SI.

    Attributes
    ----------
    pole_pairs : int
    back_emf : (3, n)
        dψ/dθ of branches U, V, W over one electrical period, equally spaced from rotor angle 0,
        end excluded; V per mechanical rad/s.
    resistance : float
        Of a branch at its temperature, without leads, ohm.
    inductance_d, inductance_q : float
        Self less mutual inductance of a branch along both axes, end turns included, H. Six-step
        takes their mean, the same at every angle.
    inductance_zero : float or None
        Self plus twice the mutual inductance, H: what a current around the delta meets. None: the
        mean of d and q, as where branches are not coupled.
    connection : "star" or "delta"
        A branch runs from terminal to star point, or from U to V, V to W, W to U.
    cogging_torque : (n,) or None
        At the same rotor angles, N m.
    flux_map : callable or None
        What (i_d, i_q), peak branch values, add to (ψ_d, ψ_q), for the sine drive; None: constant
        inductances. The magnets' linkage is that of the fundamental of `back_emf` either way.
    """

    pole_pairs: int
    back_emf: FloatArray
    resistance: float
    inductance_d: float
    inductance_q: float
    inductance_zero: float | None = None
    connection: Connection = "star"
    cogging_torque: FloatArray | None = None
    flux_map: FluxMap | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "back_emf", frozen(self.back_emf))
        if self.cogging_torque is not None:
            object.__setattr__(self, "cogging_torque", frozen(self.cogging_torque))
        problems = [*_machine_numbers(self), *_machine_waves(self)]
        if problems:
            raise InputError.from_problems(problems)

    @property
    def inductance(self) -> float:
        """Self less mutual inductance, mean over the rotor angle, H."""
        return (self.inductance_d + self.inductance_q) / 2

    @property
    def zero_inductance(self) -> float:
        """Inductance of a branch to the current around the delta, H."""
        return self.inductance if self.inductance_zero is None else self.inductance_zero

    def step_torques(self, current: float) -> FloatArray:
        """Return the torque (6, n) of the states U−V, U−W, V−W, V−U, W−U, W−V at standstill, N m.

        By back-EMF alone, at its rotor angles; `current` (A) goes in at the first terminal and out
        at the second. In a delta two thirds take the branch between them, a third the others.
        """
        pairs = ((0, 1), (0, 2), (1, 2), (1, 0), (2, 0), (2, 1))
        lines = np.zeros((3, 6))
        for state, (source, sink) in enumerate(pairs):
            lines[source, state], lines[sink, state] = current, -current
        branches = BRANCHES_OF_TERMINALS @ lines / 3 if self.connection == "delta" else lines
        return frozen(branches.T @ self.back_emf)

    def line_voltages(
        self, branch_current: FloatArray, *, speed: float
    ) -> tuple[FloatArray, FloatArray]:
        """Return the voltages U-V, V-W, W-U at the terminals, and of the back-EMF alone, (3, n) V.

        R i + L di/dt + e by branches. Currents and slopes between samples are means: steps of the
        voltage at a commutation look one sample wide.

        Parameters
        ----------
        branch_current : (3, n) A
            Over one electrical period, equally spaced from rotor angle 0, end excluded.
        speed : float
            Mechanical rad/s.
        """
        number = branch_current.shape[1]
        ahead, behind = (np.roll(branch_current, way, axis=1) for way in (-1, 1))
        rate = self.pole_pairs * speed * number / (2 * math.pi)
        slope = rate * (ahead - behind) / 2
        series = np.fft.rfft(self.back_emf, axis=1)[:, : number // 2 + 1]
        emf = speed * np.fft.irfft(series, number, axis=1) * number / self.back_emf.shape[1]
        branches = self.resistance * branch_current + self.inductance * slope + emf
        if self.connection == "delta":
            # Around the delta the voltages add up to nothing, whatever flows around it.
            return branches - branches.mean(axis=0), emf - emf.mean(axis=0)
        return branches - np.roll(branches, -1, axis=0), emf - np.roll(emf, -1, axis=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bridge:
    """Supply, controller and leads, SI.

    Attributes
    ----------
    supply_voltage : float
        Open circuit, V.
    supply_resistance : float
        Up to the controller, ohm. The controller's capacitors hold the bus at its mean voltage.
    controller_resistance : float
        Of the whole path, both switches, ohm.
    lead_resistance : float
        Of one lead, ohm.
    diode_drop : float
        Of one freewheeling diode beside half the controller's resistance, V.
    current_limit : float
        Peak line current, A.
    controller : "six-step" or "sine"
    timing_advance : float
        Electrical rad, positive leading: of the steps, or of the sine current before the back-EMF.
    sine_angle : "advance" or "best"
        Sine drive: whether the current leads by `timing_advance`, or by the angle that needs the
        least current within the voltage.
    maximum_electrical_speed : float or None
        Electrical rad/s.
    throttle : float
        Share of the bus voltage that may be used, above 0 to 1.
    """

    supply_voltage: float
    supply_resistance: float = 0.0
    controller_resistance: float = 0.0
    lead_resistance: float = 0.0
    diode_drop: float = 0.0
    current_limit: float = math.inf
    controller: Controller = "six-step"
    timing_advance: float = 0.0
    sine_angle: Literal["advance", "best"] = "advance"
    maximum_electrical_speed: float | None = None
    throttle: float = 1.0

    def __post_init__(self) -> None:
        problems = _bridge_problems(self)
        if problems:
            raise InputError.from_problems(problems)

    @property
    def line_resistance(self) -> float:
        """Resistance in each line: one lead and one of the two switches of a path, ohm."""
        return self.lead_resistance + self.controller_resistance / 2


def _wrong(place: str, value: object, why: str) -> Problem:
    return Problem(what=f"= {value} is impossible.", why=why, do="correct the value.", place=place)


def _is_above(value: float, least: float) -> bool:
    return math.isfinite(value) and value > least


def _machine_numbers(machine: ElectricalMachine) -> list[Problem]:
    found = []
    if machine.pole_pairs < 1:
        found.append(_wrong("pole_pairs", machine.pole_pairs, "a rotor has at least one."))
    for name in ("resistance", "inductance_d", "inductance_q", "zero_inductance"):
        value = getattr(machine, name)
        if not _is_above(value, 0):
            found.append(_wrong(name, value, "it must be above 0 for a steady state to exist."))
    if machine.connection not in {"star", "delta"}:
        found.append(_wrong("connection", machine.connection, "it is star or delta."))
    return found


def _machine_waves(machine: ElectricalMachine) -> list[Problem]:
    emf, cogging = machine.back_emf, machine.cogging_torque
    found = []
    is_shaped = emf.ndim == 2 and emf.shape[0] == 3 and emf.shape[1] >= FEWEST_SAMPLES  # noqa: PLR2004  (phases by samples)
    if not is_shaped:
        why = f"three branches with {FEWEST_SAMPLES} or more samples are needed."
        found.append(_wrong("shape of back_emf", emf.shape, why))
    elif not (np.isfinite(emf).all() and np.ptp(emf) > 0):
        found.append(_wrong("back_emf", "constant or not finite", "it must alternate."))
    if cogging is not None and (cogging.shape != emf.shape[-1:] or not np.isfinite(cogging).all()):
        why = "it needs one finite sample for each sample of back_emf."
        found.append(_wrong("shape of cogging_torque", cogging.shape, why))
    return found


def _bridge_problems(bridge: Bridge) -> list[Problem]:
    found = []
    if not _is_above(bridge.supply_voltage, 0):
        found.append(_wrong("supply_voltage", bridge.supply_voltage, "it must be above 0."))
    for name in ("supply_resistance", "controller_resistance", "lead_resistance", "diode_drop"):
        value = getattr(bridge, name)
        if not (math.isfinite(value) and value >= 0):
            found.append(_wrong(name, value, "it must be 0 or more."))
    for name in ("current_limit", "maximum_electrical_speed"):
        value = getattr(bridge, name)
        if not (value is None or value > 0):
            found.append(_wrong(name, value, "it must be above 0."))
    if not 0 < bridge.throttle <= 1:
        found.append(_wrong("throttle", bridge.throttle, "it is above 0, up to 1."))
    return found + _bridge_words(bridge)


def _bridge_words(bridge: Bridge) -> list[Problem]:
    found = []
    if not abs(bridge.timing_advance) <= math.pi / 2:
        why = "beyond 90° electrical either way the drive would brake."
        found.append(_wrong("timing_advance", bridge.timing_advance, why))
    if bridge.controller not in {"six-step", "sine"}:
        found.append(_wrong("controller", bridge.controller, "it is six-step or sine."))
    if bridge.sine_angle not in {"advance", "best"}:
        found.append(_wrong("sine_angle", bridge.sine_angle, "it is advance or best."))
    return found
