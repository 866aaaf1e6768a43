"""Torque with currents over rotor angle: its mean, its ripple, and where it comes from."""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from fem_motor.arrays import FloatArray, frozen
from fem_motor.field import solve
from fem_motor.quantities import MotorModel

Waveform = Literal["sine", "six-step"]

LOADED_TOLERANCE = 1e-4
"""Residual over load at which Newton's method stops; against a loaded torque that is 1e-4 of it."""

FEWEST_ANGLES = 16
"""In one period of the ripple; sixth and twelfth electrical orders are then well resolved."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LoadedTorque:
    """Torque over one period of its ripple, currents turning with the rotor.

    In the plane, whole machine, magnets at 20 °C, N m. The parts add up to `torque`.

    Attributes
    ----------
    waveform : "sine" or "six-step"
    peak : float
        Of the branch currents, A.
    current_angle : float
        Lead over the back-EMF, electrical rad.
    period_electrical : float
        Of the ripple, rad.
    angle : (n,) rad
        Of the rotor, equally spaced over that period, end excluded.
    currents : (3, n) A
    flux_linkage : (3, n) Wb
    cogging : (n,)
        Without current.
    magnet : (n,)
        Currents times the back-EMF of the machine without current.
    reluctance : (n,)
        The rest: what position and saturation make of the inductances.
    """

    waveform: Waveform
    peak: float
    current_angle: float
    period_electrical: float
    angle: FloatArray
    currents: FloatArray
    flux_linkage: FloatArray
    cogging: FloatArray
    magnet: FloatArray
    reluctance: FloatArray

    def __post_init__(self) -> None:
        for name in ("angle", "currents", "flux_linkage", "cogging", "magnet", "reluctance"):
            object.__setattr__(self, name, frozen(getattr(self, name)))

    @property
    def torque(self) -> FloatArray:
        """All parts together, (n,)."""
        return np.asarray(self.cogging + self.magnet + self.reluctance)

    @property
    def mean(self) -> float:
        """Mean torque."""
        return float(self.torque.mean())

    @property
    def ripple(self) -> float:
        """Largest less smallest torque over the mean."""
        return float(np.ptp(self.torque) / abs(self.mean))

    @property
    def spectrum(self) -> tuple[FloatArray, FloatArray]:
        """Electrical orders, (k,), and amplitudes, (k,) N m, of the ripple."""
        amplitude = 2 / self.angle.size * np.abs(np.fft.rfft(self.torque))
        if self.angle.size % 2 == 0:
            amplitude[-1] /= 2
        order = np.arange(amplitude.size) * 2 * math.pi / self.period_electrical
        return order[1:], amplitude[1:]


def loaded_torque(
    model: MotorModel,
    *,
    peak: float,
    current_angle: float = 0.0,
    waveform: Waveform = "sine",
) -> LoadedTorque:
    """Solve the machine with currents over one period of its ripple.

    A machine as designed repeats after a few cogging periods with its phases exchanged, mostly
    after 60 electrical degrees; one with defects is solved over a whole electrical period.

    Parameters
    ----------
    model : MotorModel
    peak : float
        Of the branch currents, A.
    current_angle : float
        Lead over the back-EMF, electrical rad.
    waveform : "sine" or "six-step"
    """
    phases = model.phases
    number = _angles_in_period(model)
    step = _stride(number)
    chosen = slice(0, number, step)
    angle = model.angle[chosen]
    wave = phases.sine if waveform == "sine" else phases.six_step
    currents = wave(angle, peak=peak, current_angle=current_angle)
    solved = solve(
        model.problem,
        angles=angle,
        ampere_turns=phases.ampere_turns(currents),
        keep="readings",
        tolerance=LOADED_TOLERANCE,
        start=model.field_at_zero,
    )
    # Both on one mesh, so that what it misses of the cogging does not count as reluctance.
    by_currents = solved.torque * phases.length - model.idle_torque[chosen]
    magnet = np.sum(currents * model.back_emf[:, chosen], axis=0)
    return LoadedTorque(
        waveform=waveform,
        peak=peak,
        current_angle=current_angle,
        period_electrical=2 * math.pi * number / model.angle.size,
        angle=angle,
        currents=currents,
        flux_linkage=phases.linkage(solved.half_slot_mean),
        cogging=model.cogging_torque[chosen],
        magnet=magnet,
        reluctance=by_currents - magnet,
    )


def _angles_in_period(model: MotorModel) -> int:
    """Return how many of the model's angles one period of the loaded torque has."""
    number = model.angle.size
    if not model.is_as_designed:
        return number
    slots, pole_pairs = model.problem.slots, model.phases.pole_pairs
    periods = math.lcm(slots, 2 * pole_pairs) // pole_pairs  # cogging periods, electrical period
    m, s = model.cogging_shift
    for count in range(1, periods):
        if periods % count == 0 and model.phases.repeats_after(
            sign=(-1) ** (m * count),
            slots=-s * count,
            angle=2 * math.pi * count / (periods * pole_pairs),
        ):
            return number * count // periods
    return number


def _stride(number: int) -> int:
    """Return the largest divisor of `number` that leaves at least `FEWEST_ANGLES` of it."""
    steps = (step for step in range(1, number + 1) if number % step == 0)
    return max(step for step in steps if step == 1 or number // step >= FEWEST_ANGLES)
