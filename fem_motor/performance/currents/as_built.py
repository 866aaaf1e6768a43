"""What odd magnets and coils do: phases apart, loop currents, pull, vibration, a probe's view."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from fem_motor.arrays import ComplexArray, FloatArray
from fem_motor.design import Motor
from fem_motor.findings import Finding
from fem_motor.performance.answers.as_built_records import AsBuiltFigures
from fem_motor.performance.currents.loop_currents import circuits_of, loop_currents
from fem_motor.quantities import MotorModel
from fem_motor.units import DEG, MM, MU_0
from fem_motor.winding import Winding

PROBE_DISTANCE = 2 * MM
"""From the housing to where the field outside is told: a viewing film and its tape."""

ROUNDING = 1e-6
MOST_ORDERS = 8
ODD = 0.1
"""Part of the usual field by which a magnet must differ to be named; teeth behind the gap make
equal magnets differ by less."""

SPREAD_LIMIT = 0.02
"""Of the phases' back-EMF; common practice for resistances of phases, no source for EMF."""

LOOP_LIMIT = 0.05
"""Circulating current over that of the load from which it is worth a look; a choice of this
project: its heat is then a four-hundredth of the copper loss and grows with the square."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Waves:
    """Coefficients of dψ/dθ by mechanical order, (…, k), V s per rad."""

    order: FloatArray
    phases: ComplexArray
    teeth: ComplexArray


def fill_as_built(
    motor: Motor, winding: Winding, model: MotorModel, *, speed: float, current: float
) -> tuple[AsBuiltFigures | None, tuple[Finding, ...]]:
    """Return the consequences and their findings; None and nothing as designed.

    Parameters
    ----------
    motor, winding, model
    speed : float
        At which loops are looked at, mechanical rad/s.
    current : float
        RMS of a branch that loop currents are held against, A.
    """
    built = motor.as_built
    if not (built.magnets or built.coils or built.rotor_offset):
        return None, ()
    waves = _waves(model)
    pole_pairs = motor.rotor.pole_pairs
    fundamental = waves.phases[:, np.flatnonzero(waves.order == pole_pairs)[0]]
    amplitude = np.abs(fundamental)
    torque = model.cogging_torque if model.turn is None else model.turn.torque
    first = pole_pairs if model.turn is None else 1
    pull = np.zeros((2, 1)) if model.turn is None else model.turn.pull
    gap = model.gap_flux_density
    outside = _outside(motor, model)
    figures = AsBuiltFigures(
        back_emf_V_per_rad_per_s=amplitude,
        back_emf_spread_fraction=float(np.ptp(amplitude) / amplitude.mean()),
        back_emf_angle_error_deg=np.round(_angle_errors(fundamental) / DEG, 6),
        cogging_peak_to_peak_Nm=float(np.ptp(torque)),
        **dict(zip(("torque_order", "torque_amplitude_Nm"), _orders(torque, first), strict=True)),
        circulating_current_A=_loops(winding, model, waves, speed),
        **_pressures(model),
        pull_N=float(np.hypot(*pull).max()),
        pull_mean_N=_rounded(float(np.hypot(*pull.mean(axis=1))), float(np.hypot(*pull).max())),
        probe_angle_deg=model.gap_angle / DEG,
        probe_gap_T=gap,
        probe_outside_T=outside,
        probe_distance_mm=PROBE_DISTANCE / MM,
        odd_magnets=_odd_magnets(motor, outside if outside is not None and _leaks(motor) else gap),
    )
    return figures, tuple(_findings(figures, current))


def _waves(model: MotorModel) -> _Waves:
    if model.turn is not None:
        turn = model.turn
        phases = turn.back_emf(turn.linkage)
        order = np.arange(phases.shape[1], dtype=np.float64)
        return _Waves(order=order, phases=phases, teeth=turn.back_emf(turn.tooth_linkage))
    phases = np.fft.rfft(model.back_emf, axis=1) * 2 / model.angle.size
    order = model.phases.pole_pairs * np.arange(phases.shape[1], dtype=np.float64)
    teeth = 1j * order * np.fft.rfft(model.tooth_linkage, axis=1) * 2 / model.angle.size
    teeth[:, -1] = 0  # the sawtooth has no derivative on the samples
    return _Waves(order=order, phases=phases, teeth=teeth)


def _angle_errors(fundamental: ComplexArray) -> FloatArray:
    """Return by how much the phases are off 120° from each other, rad, whichever way they turn."""
    errors = []
    for way in (1, -1):
        turned = fundamental * np.exp(way * 2j * math.pi / 3 * np.arange(3))
        errors.append(np.angle(turned / turned.mean()))
    return np.asarray(min(errors, key=lambda one: float(np.abs(one).max())))


def _orders(wave: FloatArray, first: int) -> tuple[FloatArray, FloatArray]:
    """Return the largest orders of one period, rising, and their amplitudes."""
    amplitude = 2 / wave.size * np.abs(np.fft.rfft(wave))[1:]
    largest = np.sort(np.argsort(-amplitude)[:MOST_ORDERS])
    return first * (largest + 1.0), amplitude[largest]


def _pressures(model: MotorModel) -> dict[str, FloatArray]:
    """Return the largest orders of both parts of the stress on the rotor, and their amplitudes.

    Maxwell's stress in mid-gap: (B_r² − B_θ²)/(2 μ₀) outward, B_r B_θ/μ₀ along the surface, of
    which the mean around is torque and not an order.
    """
    radial, tangential = model.gap_flux_density, model.gap_tangential_density
    found: dict[str, FloatArray] = {}
    for name, stress in (
        ("pressure", (radial**2 - tangential**2) / (2 * MU_0)),
        ("shear", radial * tangential / MU_0),
    ):
        amplitude = 2 / stress.size * np.abs(np.fft.rfft(stress))
        others = np.argsort(-amplitude[2:])[: MOST_ORDERS - 1] + 2
        shown = np.sort([1, *others])  # order 1 shakes the axis, however small
        found[f"{name}_order"] = shown.astype(np.float64)
        found[f"{name}_amplitude_Pa"] = amplitude[shown]
    return found


def _loops(winding: Winding, model: MotorModel, waves: _Waves, speed: float) -> Mapping[str, float]:
    """Return the RMS currents that flow around closed loops by their EMF alone, A."""
    if winding.connection == "star" and winding.parallel_circuits == 1:
        return {}
    return loop_currents(circuits_of(winding, model), speed * waves.teeth, speed * waves.order)


def _rounded(value: float, scale: float) -> float:
    """Return 0 where a value is only the rounding of others of size `scale`."""
    return value if value > ROUNDING * scale else 0.0


def _outside(motor: Motor, model: MotorModel) -> FloatArray | None:
    """Return B_r outside the housing, at the angles of the gap field; None where not solved."""
    if model.field_at_zero is None:
        return None
    radius = motor.rotor.housing_outer_radius + PROBE_DISTANCE
    rotor = model.field_at_zero[1]
    return model.problem.density_outside(rotor, radius, model.gap_angle.size)


def _leaks(motor: Motor) -> bool:
    """Return whether the magnets show outside: no ring, or one that is nearly air."""
    ring = motor.rotor.ring
    return ring is None or ring.curve.is_nearly_air


def _odd_magnets(motor: Motor, radial: FloatArray) -> tuple[int, ...]:
    """Return magnets whose mean radial field, with the sign that belongs there, is not as usual.

    Alternating magnets only: in a Halbach ring neighbours share the field.
    """
    rotor = motor.rotor
    if rotor.magnet_layout != "alternating":
        return ()
    number = radial.size
    centre = np.round(number * np.arange(rotor.poles) / rotor.poles).astype(int)
    width = max(1, number // rotor.poles // 4)
    around = np.arange(-width, width + 1)
    mean = radial[(centre[:, None] + around) % number].mean(axis=1)
    signed = mean * (-1.0) ** np.arange(rotor.poles)
    usual = float(np.median(signed))
    apart = np.abs(signed - usual)
    # The neighbours share its field: they differ too, but less than half as much.
    odd = apart > max(ODD * abs(usual), float(apart.max()) / 2)
    return tuple(int(place) + 1 for place in np.flatnonzero(odd))


def _findings(figures: AsBuiltFigures, usual: float) -> list[Finding]:
    spread = figures.back_emf_spread_fraction
    found = [
        Finding(
            name="as built: back-EMF of the phases, largest less smallest over the mean",
            status="ok" if spread <= SPREAD_LIMIT else "watch",
            value=spread,
            limit=SPREAD_LIMIT,
            why="unequal phases make torque ripple at twice the electrical frequency and confuse "
            "controllers without sensors.",
            do=""
            if spread <= SPREAD_LIMIT
            else "look for a coil that is reversed, on the wrong "
            "phase or short of turns: fem-motor check --resistance ... --spin-voltage ...",
        )
    ]
    for loop, current in figures.circulating_current_A.items():
        share = current / usual
        name = "around the delta" if loop == "delta" else f"between the circuits of phase {loop}"
        found.append(
            Finding(
                name=f"as built: current {name} by the EMF alone, over that of the load",
                status="ok" if share <= LOOP_LIMIT else "watch",
                value=share,
                limit=LOOP_LIMIT,
                why=f"{current:.3g} A RMS flow in a closed loop as soon as the rotor turns, brake "
                "it and heat the copper; by the EMF around the loop over its impedance.",
                do=""
                if share <= LOOP_LIMIT
                else "make the coils of the loop equal, connect in "
                "star, or put the circuits in series.",
            )
        )
    if figures.odd_magnets:
        numbers = ", ".join(map(str, figures.odd_magnets))
        found.append(
            Finding(
                name="as built: magnets whose field is not like the others'",
                status="watch",
                value=float(len(figures.odd_magnets)),
                limit=0.0,
                why=f"magnet {numbers} (counter-clockwise from pole 1) would show on a viewing "
                f"film {figures.probe_distance_mm:g} mm off the housing or to a probe in the gap; "
                "neighbours show a little too.",
                do="turn, replace or re-seat it before looking for other faults.",
            )
        )
    return found
