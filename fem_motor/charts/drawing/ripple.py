"""The ripple of the torque over rotor angle: its size, its orders, and its picture."""

import math
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes

from fem_motor.arrays import FloatArray, frozen
from fem_motor.charts.drawing.shapes import design_of
from fem_motor.design import MotorDesign
from fem_motor.numbers import digits, quantity, scale_of
from fem_motor.performance import PerformanceSheet
from fem_motor.quantities import RotorSweep

_COLOR = "#0b3c6f"
_DOTS_UP_TO = 200
_FEWEST_STEPS = 8
_CLOSES_WITHIN = 0.02  # of peak to peak; a whole period closes to rounding, a wrong one hardly ever
_SMALLEST_BAND = 0.01  # of the mean, up and down: a ripple below it looks as small as it is
_SHOWN_DOWN_TO = 0.01  # of the largest amplitude
_LABELLED_DOWN_TO = 0.1
_MOST_TICKS = 12
_WIDEST_BAR = 0.03  # of the axis
_FULL_TURN = 360.0
RIPPLE_LIMITS = {"sine": 0.05, "six-step": 0.15}
"""Peak to peak over mean torque that counts as good, by the waveform of the currents: choices of
this project, common practice, no source."""
_SIXTH = 6  # of an electrical period: three phases, both signs


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ripple:
    """Torque over rotor angle and what its ripple is made of.

    Attributes
    ----------
    angle_deg, torque_Nm : (n,)
        As computed; over whole periods with the end, which repeats the start.
    mean_Nm, peak_to_peak_Nm : float
    fraction : float or None
        Peak to peak over mean; None where the mean is no working torque.
    pole_pairs : int or None
        None where the machine is not known.
    order : (k,)
        Mechanical: periods in one turn of the rotor. Empty where there is no spectrum.
    amplitude_Nm : (k,)
    no_spectrum : str
        Why there is none; empty where there is one.
    limit : float or None
        Peak to peak over mean that counts as good; None where no limit applies.
    """

    angle_deg: FloatArray
    torque_Nm: FloatArray
    mean_Nm: float
    peak_to_peak_Nm: float
    fraction: float | None
    pole_pairs: int | None
    order: FloatArray
    amplitude_Nm: FloatArray
    no_spectrum: str = ""
    limit: float | None = None

    def __post_init__(self) -> None:
        for name in ("angle_deg", "torque_Nm", "order", "amplitude_Nm"):
            object.__setattr__(self, name, frozen(getattr(self, name)))

    @property
    def sentence(self) -> str:
        """Mean, peak to peak and per cent, in the unit that fits."""
        size = quantity(self.peak_to_peak_Nm, "N m", count=3)
        if self.fraction is None:
            return f"peak to peak {size}"
        mean = quantity(self.mean_Nm, "N m")
        return f"mean {mean}, peak to peak {size} ({digits(100 * self.fraction, 3)} % of the mean)"


def ripple_of_sweep(sweep: RotorSweep, design: MotorDesign | None = None) -> Ripple:
    """Return the ripple of a sweep; its spectrum where it covers whole periods of the torque.

    How long a period is follows from the design; without one the ends of the sweep must agree.
    """
    angle, torque = sweep.angle_deg, sweep.torque_Nm
    peak_to_peak = float(np.ptp(torque))
    no_spectrum = _why_no_spectrum(sweep, design)
    spectrum: tuple[FloatArray, FloatArray] = (np.zeros(0), np.zeros(0))
    mean = _mean_between_ends(angle, torque)
    if not no_spectrum:
        spectrum = _spectrum(torque[:-1], float(angle[-1] - angle[0]))
        mean = float(torque[:-1].mean())
    return Ripple(
        angle_deg=angle,
        torque_Nm=torque,
        mean_Nm=mean,
        peak_to_peak_Nm=peak_to_peak,
        fraction=peak_to_peak / abs(mean) if turns(sweep) and mean else None,
        pole_pairs=None if design is None else design.motor.rotor.pole_pairs,
        order=spectrum[0],
        amplitude_Nm=spectrum[1],
        no_spectrum=no_spectrum,
        limit=RIPPLE_LIMITS.get(sweep.waveform) if mean else None,
    )


def ripple_of_sheet(sheet: PerformanceSheet) -> Ripple:
    """Return the ripple at the rated current, over one of its periods."""
    curve = sheet.loaded.rated
    pole_pairs = design_of(sheet.design).motor.rotor.pole_pairs
    angle, torque = curve.angle_deg, curve.torque_Nm
    return Ripple(
        angle_deg=np.append(angle, 2 * angle[-1] - angle[-2]),
        torque_Nm=np.append(torque, torque[0]),
        mean_Nm=curve.mean_torque_Nm,
        peak_to_peak_Nm=float(np.ptp(torque)),
        fraction=curve.ripple_peak_to_peak_fraction,
        pole_pairs=pole_pairs,
        order=curve.ripple_order * pole_pairs,
        amplitude_Nm=curve.ripple_amplitude_Nm,
        limit=RIPPLE_LIMITS.get(curve.waveform) if curve.mean_torque_Nm else None,
    )


def turns_with_rotor(currents: FloatArray) -> bool:
    """Return whether the currents, (3, n), are of one size at all angles and change with them."""
    size = np.sqrt(np.sum(currents**2, axis=0))
    is_even = bool(np.ptp(size) <= 1e-9 * size.max(initial=0.0))
    return is_even and not is_held(currents)


def turns(sweep: RotorSweep) -> bool:
    """Return whether currents turn with the rotor, asked for so or given angle by angle."""
    return sweep.waveform in {"sine", "six-step"} or turns_with_rotor(sweep.currents_A)


def is_held(currents: FloatArray) -> bool:
    """Return whether the currents, (3, n), are the same at all angles."""
    return bool(np.all(currents == currents[:, :1]))


def draw_ripple(ripple: Ripple, above: Axes, below: Axes) -> None:
    """Draw the torque with its mean and its limits, and below it the orders."""
    factor, unit = scale_of(float(np.max(np.abs(ripple.torque_Nm), initial=0.0)), "N m")
    torque = ripple.torque_Nm / factor
    marker = "o" if torque.size <= _DOTS_UP_TO else ""
    above.plot(ripple.angle_deg, torque, color=_COLOR, marker=marker, markersize=2.5)
    mean = ripple.mean_Nm / factor
    above.axhline(mean, color="black", linewidth=0.9, linestyle="--")
    low, high = float(torque.min()), float(torque.max())
    if ripple.limit is not None:
        ends = mean * (1 - ripple.limit / 2), mean * (1 + ripple.limit / 2)
        for end in ends:
            above.axhline(end, color="#c8500a", linewidth=1.2, linestyle=":")
        low, high = min(low, *ends), max(high, *ends)
    half = max(0.55 * (high - low), _SMALLEST_BAND * abs(mean))
    middle = (low + high) / 2
    if half > 0:
        above.set_ylim(middle - 1.1 * half, middle + 1.1 * half)
    above.set(xlabel="rotor angle, mechanical, °", ylabel=f"torque, {unit}")
    if ripple.angle_deg[-1] > ripple.angle_deg[0]:
        above.set_xlim(float(ripple.angle_deg[0]), float(ripple.angle_deg[-1]))
    _draw_orders(ripple, below)


def write_ripple(ripple: Ripple, axes: Axes) -> None:
    """Write the size of a ripple over its curve, in room made for it: for a picture on its own."""
    words = f"{ripple.sentence}; dashed: the mean"
    words += "" if ripple.limit is None else f"\n{limit_words(ripple.limit)}"
    low, high = axes.get_ylim()
    axes.set_ylim(low, high + (0.3 if ripple.limit is None else 0.5) * (high - low))
    box = {"facecolor": "white", "edgecolor": "none", "pad": 2.0}
    axes.text(0.01, 0.97, words, transform=axes.transAxes, va="top", fontsize=9, bbox=box)


def limit_words(limit: float) -> str:
    """Return what the limit is and whose.

    >>> limit_words(0.05)
    'dotted: 5 % peak to peak, a choice of this project (common practice, no source)'
    """
    share = digits(100 * limit, 3)
    return f"dotted: {share} % peak to peak, a choice of this project (common practice, no source)"


def _draw_orders(ripple: Ripple, axes: Axes) -> None:
    if ripple.no_spectrum:
        axes.set_axis_off()
        axes.text(0.0, 0.9, ripple.no_spectrum, va="top", transform=axes.transAxes, fontsize=9)
        return
    factor, unit = scale_of(float(ripple.amplitude_Nm.max()), "N m")
    size = ripple.amplitude_Nm / factor
    largest = float(size.max())
    last = float(ripple.order[size >= _SHOWN_DOWN_TO * largest][-1]) + float(ripple.order[0])
    shown = ripple.order <= last
    step = float(ripple.order[0])
    width = min(0.6 * step, _WIDEST_BAR * last)
    axes.bar(ripple.order[shown], size[shown], width, color=_COLOR)
    for place in np.argsort(-size)[:3]:
        if size[place] >= _LABELLED_DOWN_TO * largest and largest > 0:
            axes.text(ripple.order[place], size[place], _share(ripple, place), ha="center",
                      va="bottom", fontsize=8)  # fmt: skip
    axes.set(
        ylabel=f"amplitude, {unit}",
        xlim=(0, last + step),
        ylim=(0, 1.25 * largest or 1.0),
    )
    # Curves over a whole period have orders between those that a motor makes: mark where bars are.
    seen = np.flatnonzero(size >= _SHOWN_DOWN_TO * largest) + 1
    _mark_orders(axes, step * math.gcd(*seen.tolist()), last, ripple.pole_pairs)


def _share(ripple: Ripple, place: int) -> str:
    amplitude = float(ripple.amplitude_Nm[place])
    if ripple.fraction is None:
        return quantity(amplitude, "N m", count=3)
    return f"{digits(100 * amplitude / abs(ripple.mean_Nm), 2)} %"


def _mark_orders(axes: Axes, first: float, last: float, pole_pairs: int | None) -> None:
    """Mark orders from `first` in even steps: electrical ones, and the mechanical ones below."""
    step = first * max(1, math.ceil(last / first / _MOST_TICKS))
    orders = step * np.arange(1, math.floor(last / step + 1e-9) + 1)
    if pole_pairs is None:
        axes.set_xticks(orders, [digits(order) for order in orders])
        axes.set_xlabel("order of the ripple, mechanical (periods in a turn)")
        return
    axes.set_xticks(orders, [f"{digits(order / pole_pairs)}\n{digits(order)}" for order in orders])
    axes.set_xlabel("order: electrical, and below it mechanical (periods in a turn)")


def _spectrum(torque: FloatArray, span_deg: float) -> tuple[FloatArray, FloatArray]:
    """Return mechanical orders and amplitudes of equally spaced samples, end excluded.

    >>> import numpy as np
    >>> x = np.radians(np.arange(16) * 45 / 16)
    >>> order, amplitude = _spectrum(5 + 0.2 * np.sin(24 * x), 45.0)
    >>> float(order[2]), round(float(amplitude[2]), 12)
    (24.0, 0.2)
    """
    amplitude = 2 / torque.size * np.abs(np.fft.rfft(torque))
    if torque.size % 2 == 0:
        amplitude[-1] /= 2
    order = np.arange(amplitude.size) * _FULL_TURN / span_deg
    return order[1:], amplitude[1:]


def _mean_between_ends(angle: FloatArray, torque: FloatArray) -> float:
    span = float(angle[-1] - angle[0])
    return float(np.trapezoid(torque, angle) / span) if span else float(torque.mean())


def _why_no_spectrum(sweep: RotorSweep, design: MotorDesign | None) -> str:
    """Return why a sweep says nothing about orders, empty where it does."""
    steps, torque = np.diff(sweep.angle_deg), sweep.torque_Nm
    if steps.size < _FEWEST_STEPS or np.ptp(steps) > 1e-6 * abs(steps).max() or steps[0] <= 0:
        return f"No spectrum: it takes {_FEWEST_STEPS} equal steps or more."
    period = None if design is None else _period_deg(sweep, design)
    count = 1.0 if period is None else float(sweep.angle_deg[-1] - sweep.angle_deg[0]) / period
    is_whole = round(count) >= 1 and abs(count - round(count)) < 1e-6 * count
    closes = abs(torque[-1] - torque[0]) <= _CLOSES_WITHIN * np.ptp(torque)
    if is_whole and closes:
        return ""
    advice = "" if period is None else f" of {digits(period, 6)}°"
    return f"No spectrum: it takes a sweep over whole periods of the torque{advice}."


def _period_deg(sweep: RotorSweep, design: MotorDesign) -> float:
    """Return a rotor angle after which the torque surely repeats."""
    motor = design.motor
    built = motor.as_built
    if built.magnets or built.rotor_offset:
        return _FULL_TURN
    electrical = _FULL_TURN / motor.rotor.pole_pairs
    if not np.any(sweep.currents_A):
        return _FULL_TURN / math.lcm(motor.stator.slots, motor.rotor.poles)
    if built.coils or not turns(sweep):
        return electrical
    return electrical / _SIXTH
