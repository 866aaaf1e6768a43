"""Curves over rotor angle or gap angle, drawn into axes that are given."""

import numpy as np
from matplotlib.axes import Axes

from fem_motor.arrays import FloatArray
from fem_motor.numbers import digits, scale_of
from fem_motor.performance import NoLoad
from fem_motor.quantities import RotorSweep

PHASES = ("U", "V", "W")
# Told apart without colour: by line style, by marker and by a letter at the line.
_PHASE_STYLES = (
    {"color": "#0b3c6f", "linestyle": "-", "marker": "o"},
    {"color": "#c8500a", "linestyle": "--", "marker": "s"},
    {"color": "#2f8f5b", "linestyle": "-.", "marker": "^"},
)
_MARKERS_ON_A_CURVE = 12
_DOTS_UP_TO = 100
_COGGING_PERIODS = 4
_BARS = 25
_HARDLY_SEEN = 0.1  # per cent
_ROTOR_ANGLE = "rotor angle, mechanical, °"


def draw_torque(curves: RotorSweep | NoLoad, axes: Axes) -> None:
    """Draw torque over rotor angle: of a sweep, or cogging of the no-load curves."""
    torque = curves.torque_Nm if isinstance(curves, RotorSweep) else curves.cogging_torque_Nm
    factor, unit = scale_of(_largest(torque), "N m")
    angle = curves.angle_deg
    if isinstance(curves, NoLoad):
        angle, torque = _few_periods(*_closed(angle, torque), curves.cogging_period_deg)
    marker = "o" if torque.size <= _DOTS_UP_TO else ""
    axes.plot(angle, torque / factor, color="#0b3c6f", marker=marker, markersize=3)
    _fit_torque(axes, torque / factor)
    words = "torque on the rotor" if isinstance(curves, RotorSweep) else "cogging torque"
    axes.set(xlabel=_ROTOR_ANGLE, ylabel=f"{words}, {unit}")
    _fit_angles(axes, angle)
    if isinstance(curves, NoLoad):
        _mark_period(axes, curves.cogging_period_deg)


def draw_flux_linkage(curves: RotorSweep | NoLoad, axes: Axes) -> None:
    """Draw the flux linkage of the three phases over rotor angle."""
    _draw_phases(axes, curves.angle_deg, curves.flux_linkage_Wb, "Wb", "flux linkage")


def draw_back_emf(no_load: NoLoad, axes: Axes) -> None:
    """Draw the back-EMF of the three phases, volts for each rad/s, over rotor angle."""
    waves = no_load.back_emf_V_per_rad_per_s
    _draw_phases(axes, *_closed(no_load.angle_deg, waves), "V s/rad", "back-EMF")


def draw_spectrum(no_load: NoLoad, axes: Axes) -> None:
    """Draw the harmonics of the back-EMF, phase and line, in per cent of the fundamental.

    The line is U to V; its harmonics are in per cent of its own fundamental, so the orders that
    are alike in all phases (3, 9, 15 …) are gone.
    """
    waves = no_load.back_emf_V_per_rad_per_s
    series = (
        ("phase", waves[0], "#0b3c6f", "", -0.2),
        ("line to line", waves[0] - waves[1], "white", "////", 0.2),
    )
    largest = 0.0
    for label, wave, color, hatch, shift in series:
        percent = harmonics_percent(wave)
        orders = np.arange(2, percent.size)
        largest = max(largest, float(np.max(percent[2:], initial=0.0)))
        axes.bar(
            orders + shift,
            percent[2:],
            0.4,
            label=label,
            color=color,
            hatch=hatch,
            edgecolor="black",
            linewidth=0.5,
        )
    axes.set(
        xlabel="harmonic order, electrical (the fundamental, order 1, is 100 %)",
        ylabel="% of the fundamental",
        xlim=(1, _BARS),
        # A wave as good as sinusoidal must look so: what the mesh leaves is no harmonic.
        ylim=(0, max(1.15 * largest, 1.0)),
    )
    if largest < _HARDLY_SEEN:
        axes.text(0.5, 0.5, f"none above {digits(largest, 2)} %", ha="center",
                  transform=axes.transAxes)  # fmt: skip
    axes.set_xticks(range(3, _BARS, 2))
    axes.legend(loc="upper right")


def harmonics_percent(wave: FloatArray) -> FloatArray:
    """Return the amplitudes of orders 0 to at most 24 in per cent of order 1, wave over one period.

    Orders from half the number of samples up are not resolved and left out.
    """
    amplitude = np.abs(np.fft.rfft(wave))[: (wave.size + 1) // 2][:_BARS]
    fundamental = amplitude[1] if amplitude.size > 1 else 0.0
    return 100 * amplitude / fundamental if fundamental > 0 else np.zeros_like(amplitude)


def draw_gap_field(no_load: NoLoad, axes: Axes) -> None:
    """Draw the radial flux density in the middle of the air gap around the stator, rotor at 0."""
    axes.plot(no_load.gap_angle_deg, no_load.gap_flux_density_T, color="#0b3c6f", linewidth=1.0)
    axes.axhline(0.0, color="black", linewidth=0.6)
    axes.set(
        xlabel="angle around the gap, mechanical, ° (tooth 1 at 0)",
        ylabel="radial flux density, T",
        xlim=(0, 360),
    )
    axes.set_xticks(range(0, 361, 45))


def _draw_phases(axes: Axes, angle: FloatArray, waves: FloatArray, unit: str, words: str) -> None:
    factor, label = scale_of(_largest(waves), unit)
    step = max(1, angle.size // _MARKERS_ON_A_CURVE)
    for place, (phase, wave, style) in enumerate(zip(PHASES, waves, _PHASE_STYLES, strict=True)):
        # Markers of the three phases stand at different angles, so that none hides another.
        marks = (place * step // len(PHASES), step)
        axes.plot(angle, wave / factor, label=phase, markevery=marks, **style)  # type: ignore[arg-type]  # markers by name
    axes.axhline(0.0, color="black", linewidth=0.6)
    axes.set(xlabel=_ROTOR_ANGLE, ylabel=f"{words}, {label}")
    _fit_angles(axes, angle)
    axes.legend(loc="lower center", bbox_to_anchor=(0.5, 1.0), ncols=3, handlelength=3.5)


def _closed(angle: FloatArray, curves: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return equally spaced curves over one period with its end, which repeats the start."""
    if angle.size < 2:  # noqa: PLR2004  (a step needs two points)
        return angle, curves
    end = 2 * angle[-1] - angle[-2]
    return np.append(angle, end), np.concatenate([curves, curves[..., :1]], axis=-1)


def _few_periods(
    angle: FloatArray, torque: FloatArray, period_deg: float
) -> tuple[FloatArray, FloatArray]:
    """Return the first few cogging periods; all of the curve where a few are all there is."""
    shown = angle <= angle[0] + _COGGING_PERIODS * period_deg * (1 + 1e-9)
    return angle[shown], torque[shown]


def _largest(values: FloatArray) -> float:
    return float(np.max(np.abs(values), initial=0.0))


def _fit_angles(axes: Axes, angle: FloatArray) -> None:
    if angle.size > 1 and angle[-1] > angle[0]:
        axes.set_xlim(float(angle[0]), float(angle[-1]))


def _fit_torque(axes: Axes, torque: FloatArray) -> None:
    """Show zero where the torque changes sign, else a band in which a ripple can be seen.

    The band is at least a fifth of the mean, so that a ripple too small to feel looks small.
    """
    low, high = float(np.min(torque)), float(np.max(torque))
    if low <= 0.0 <= high:
        axes.axhline(0.0, color="black", linewidth=0.6)
        return
    middle = (low + high) / 2
    half = max(0.6 * (high - low), 0.1 * abs(middle))
    axes.set_ylim(middle - half, middle + half)


def _mark_period(axes: Axes, period_deg: float) -> None:
    """Mark one cogging period by a dimension line below the curve."""
    low, high = axes.get_ylim()
    level = low - 0.08 * (high - low)
    axes.set_ylim(low - 0.2 * (high - low), high)
    axes.annotate(
        "",
        xy=(0, level),
        xytext=(period_deg, level),
        arrowprops={"arrowstyle": "<->", "linewidth": 0.8, "shrinkA": 0, "shrinkB": 0},
    )
    axes.text(1.1 * period_deg, level, f"period {digits(period_deg)}°", va="center", fontsize=8)
