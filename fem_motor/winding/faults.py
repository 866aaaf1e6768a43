"""Winding faults ranked by how well they explain what was measured at the terminals.

Each suspect predicts three resistances and three voltages. The unknowns that all share, the
resistance of the wire and the flux of the magnets, are fitted with it. What is left over is
weighed by the uncertainty of the readings. Tests of this kind: IEEE Std 1812, from memory; the
predictions are derived from the phasors of the coils.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fem_motor.arrays import FloatArray, frozen
from fem_motor.errors import InputError
from fem_motor.units import ROOM_C
from fem_motor.winding.fault_words import cause_words, next_measurement, why_words
from fem_motor.winding.suspects import FaultKind, Suspect, suspects
from fem_motor.winding.wound import Winding, library_copper

WIRE_SPREAD = 0.05
"""Relative uncertainty of the computed resistance, alike for all phases: the length of a turn and
the diameter of the wire; common practice, no source."""

FLUX_SPREAD = 0.10
"""Relative uncertainty of the computed voltage, alike for all phases; common practice."""

SMALLEST = 0.05
"""Readings below this share of the largest one are as uncertain as if they had it."""

HARMLESS: frozenset[FaultKind] = frozenset({"as described", "swapped leads"})

OPEN_SIGMAS = 50.0
"""Standard deviations that an open pair counts where a connected one was expected, and back."""

FITTED = 2.0
"""What a fitted size costs: H. Akaike, IEEE Trans. Autom. Control 19 (1974) 716, from memory."""

FAULTY = 4.0
"""What any fault costs beside a sound winding: it must explain the readings better by two standard
deviations, or the noise of a sound winding would be taken for one of the many faults tried."""

CANNOT_TELL = 9.0
"""Misfit between two predictions up to which readings do not surely tell them: three standard
deviations. More than `FAULTY` and `FITTED` together, so that what these hold back is named."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WindingFault:
    """One explanation of the readings.

    Attributes
    ----------
    kind : FaultKind
    cause : str
        In words, with the tooth or phase and the size.
    teeth : tuple of int
        From 1; where there are several, any one of them: no reading at the terminals tells them.
    phase : str
        U, V or W, or "".
    size : float or None
        Turns, ohm or strands that fit best; None where the fault has no size.
    score : float
        From 0 to 1, all together 1: the weight of this explanation beside the others.
    misfit : float
        Sum of squared deviations over their uncertainty.
    predicted_resistance_ohm : (3,) or None
        U-V, V-W, W-U at the temperature of the readings; infinite where open.
    predicted_voltage_V : (3,) or None
        None where no voltage was read.
    cannot_tell : tuple of str
        Causes that would show the same within three standard deviations of the readings.
    why : str
    next_measurement : str
    """

    kind: FaultKind
    cause: str
    teeth: tuple[int, ...]
    phase: str
    size: float | None
    score: float
    misfit: float
    predicted_resistance_ohm: FloatArray | None
    predicted_voltage_V: FloatArray | None
    cannot_tell: tuple[str, ...]
    why: str
    next_measurement: str

    def __post_init__(self) -> None:
        for name in ("predicted_resistance_ohm", "predicted_voltage_V"):
            values = getattr(self, name)
            object.__setattr__(self, name, None if values is None else frozen(values))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Readings:
    """Readings of one kind (3,), their relative uncertainty, and the scale of the predictions."""

    values: FloatArray
    uncertainty: float
    scale: float
    scale_spread: float

    def misfit(self, predicted: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return misfit and best scale of predictions (3, n), each (n,).

        Least squares for the scale, with `scale_spread` (infinite: free) around `scale`.
        """
        values = self.values[:, None]
        closed = np.isfinite(values) & np.isfinite(predicted)
        wanted = np.where(closed, values, 0.0)
        offered = self.scale * np.where(closed, predicted, 0.0)
        sigma = self.uncertainty * np.maximum(wanted, SMALLEST * wanted.max(initial=0.0))
        weight = np.where(closed, 1 / np.where(sigma > 0, sigma, math.inf), 0.0) ** 2
        prior = 1 / self.scale_spread**2
        factor = (np.sum(weight * wanted * offered, axis=0) + prior) / np.maximum(
            np.sum(weight * offered**2, axis=0) + prior, np.finfo(float).tiny
        )
        left = np.sum(weight * (wanted - factor * offered) ** 2, axis=0)
        differ = np.sum(np.isfinite(values) != np.isfinite(predicted), axis=0)
        total = left + prior * (factor - 1) ** 2 + differ * OPEN_SIGMAS**2
        return total, self.scale * factor


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Fit:
    """A suspect in its best size."""

    suspect: Suspect
    best: int
    misfit: float
    resistances: FloatArray
    voltages: FloatArray | None
    fitting_sizes: tuple[float, float]

    @property
    def has_size(self) -> bool:
        return bool(np.any(self.suspect.size > 0))

    @property
    def cost(self) -> float:
        is_fault = self.suspect.kind not in HARMLESS
        return self.misfit + FAULTY * is_fault + FITTED * self.has_size


def rank_winding_faults(
    winding: Winding,
    *,
    resistance_line_line_ohm: Sequence[float],
    line_voltage_V: Sequence[float] | None = None,
    expected_line_voltage_V: float | None = None,
    temperature_C: float = ROOM_C,
    resistance_uncertainty: float = 0.02,
    voltage_uncertainty: float = 0.01,
) -> tuple[WindingFault, ...]:
    """Return what may be wrong with a wound stator, the likeliest first.

    One fault at a time is tried; "something else" ranks first where none of them fits.

    Parameters
    ----------
    winding : Winding
        As it is meant to be, at 20 °C; leads named as in its file.
    resistance_line_line_ohm : (3,)
        Read at U-V, V-W and W-U with four wires; infinite where there is no connection.
    line_voltage_V : (3,) or None
        Read in the same order with the leads open and the rotor turned at one speed: amplitudes
        or RMS values of the fundamental, all alike.
    expected_line_voltage_V : float or None
        Computed for the winding as described, of the same kind and speed; None: only the ratios
        of the voltages count.
    temperature_C : float
        Of the copper while its resistance was read.
    resistance_uncertainty, voltage_uncertainty : float
        Relative, one standard deviation; the defaults are common practice.

    Raises
    ------
    InputError
        Where there are not three readings, or one of them cannot be.

    Examples
    --------
    >>> import fem_motor as fm
    >>> from fem_motor.winding import wind
    >>> winding = wind(fm.load_design("geometries/steel_12s14p.toml").motor)
    >>> reading = winding.line_line_resistances
    >>> ranked = rank_winding_faults(
    ...     winding, resistance_line_line_ohm=reading, line_voltage_V=(1.0, 3**0.5, 1.0)
    ... )
    >>> ranked[0].cause
    'phase U with its two ends swapped'
    """
    _refuse_impossible(resistance_line_line_ohm, line_voltage_V)
    tried = tuple(suspects(winding))
    ohms = _Readings(
        values=np.asarray(resistance_line_line_ohm, dtype=np.float64),
        uncertainty=resistance_uncertainty,
        scale=_copper_factor(temperature_C),
        scale_spread=WIRE_SPREAD,
    )
    volts = _voltages(line_voltage_V, tried[0], expected_line_voltage_V, voltage_uncertainty)
    return _records(winding, [_fit(suspect, ohms, volts) for suspect in tried], ohms, volts)


def _voltages(
    read: Sequence[float] | None, sound: Suspect, expected: float | None, uncertainty: float
) -> _Readings | None:
    """Return the voltages, scaled so that the sound winding has the expected one."""
    if read is None:
        return None
    volts = np.asarray(read, dtype=np.float64)
    in_turns = float(sound.voltages.mean()) or 1.0
    return _Readings(
        values=volts,
        uncertainty=uncertainty,
        scale=(expected or float(volts.mean())) / in_turns,
        scale_spread=FLUX_SPREAD if expected else math.inf,
    )


def _fit(suspect: Suspect, resistances: _Readings, voltages: _Readings | None) -> _Fit:
    misfit, ohms = resistances.misfit(suspect.resistances)
    volts = np.ones_like(ohms)
    if voltages is not None:
        more, volts = voltages.misfit(suspect.voltages)
        misfit = misfit + more
    best = int(np.argmin(misfit))
    near = suspect.size[misfit <= misfit[best] + 1]
    return _Fit(
        suspect=suspect,
        best=best,
        misfit=float(misfit[best]),
        resistances=ohms[best] * suspect.resistances[:, best],
        voltages=None if voltages is None else volts[best] * suspect.voltages[:, best],
        fitting_sizes=(float(near.min()), float(near.max())),
    )


def _records(
    winding: Winding,
    fits: Sequence[_Fit],
    resistances: _Readings,
    voltages: _Readings | None,
) -> tuple[WindingFault, ...]:
    readings = 3 if voltages is None else 6
    nothing_fits = _chance_in_a_hundred(readings)
    costs = np.array([fit.cost for fit in fits] + [nothing_fits + FAULTY])
    weights = np.exp(-(costs - costs.min()) / 2)
    scores = weights / weights.sum()
    causes = [
        cause_words(
            fit.suspect,
            winding,
            size=float(fit.suspect.size[fit.best]),
            fitting_sizes=fit.fitting_sizes,
        )
        for fit in fits
    ]
    alike = _alike(fits, resistances, voltages)
    records = [
        WindingFault(
            kind=fit.suspect.kind,
            cause=causes[i],
            teeth=fit.suspect.teeth,
            phase=fit.suspect.phase,
            size=float(fit.suspect.size[fit.best]) if fit.has_size else None,
            score=float(scores[i]),
            misfit=fit.misfit,
            predicted_resistance_ohm=fit.resistances,
            predicted_voltage_V=fit.voltages,
            cannot_tell=tuple(causes[j] for j in range(len(fits)) if alike[i, j]),
            why=why_words(
                fit.suspect.kind, fit.resistances, fit.voltages, misfit=fit.misfit, of=readings
            ),
            next_measurement=next_measurement(fit.suspect.kind, has_voltages=voltages is not None),
        )
        for i, fit in enumerate(fits)
    ]
    records.append(_something_else(float(scores[-1]), nothing_fits))
    # Rounded, so that equal ones keep their order: sound first.
    return tuple(sorted(records, key=lambda record: -round(record.score, 9)))


def _alike(fits: Sequence[_Fit], resistances: _Readings, voltages: _Readings | None) -> FloatArray:
    """Return which fits (rows) predict what others (columns) would show too, (n, n) of 0 and 1."""
    ohms = np.stack([fit.suspect.resistances[:, fit.best] for fit in fits], axis=1)
    volts = np.stack([fit.suspect.voltages[:, fit.best] for fit in fits], axis=1)
    table = np.zeros((len(fits), len(fits)))
    for i, fit in enumerate(fits):
        misfit = _instead(resistances, fit.resistances).misfit(ohms)[0]
        if voltages is not None and fit.voltages is not None:
            misfit = misfit + _instead(voltages, fit.voltages).misfit(volts)[0]
        # Less what the fit itself leaves: the prior of its scale.
        table[i] = misfit - misfit[i] <= CANNOT_TELL
        table[i, i] = 0
    return table


def _instead(readings: _Readings, values: FloatArray) -> _Readings:
    return _Readings(
        values=values,
        uncertainty=readings.uncertainty,
        scale=readings.scale,
        scale_spread=readings.scale_spread,
    )


def _something_else(score: float, misfit: float) -> WindingFault:
    return WindingFault(
        kind="something else",
        cause="none of the single faults tried here",
        teeth=(),
        phase="",
        size=None,
        score=score,
        misfit=misfit,
        predicted_resistance_ohm=None,
        predicted_voltage_V=None,
        cannot_tell=(),
        why="a right explanation leaves a larger misfit than this one time in a hundred only; "
        "two faults at once, magnets or wire far from the design, other leads than named, or a "
        "wrong reading are not tried.",
        next_measurement="read all three resistances and voltages again, with the leads named as "
        "in the file.",
    )


def _chance_in_a_hundred(readings: int) -> float:
    """Return the misfit that is exceeded one time in a hundred: E. Wilson and M. Hilferty, 1931.

    >>> round(_chance_in_a_hundred(6), 1)
    16.8
    """
    spread = 2 / (9 * readings)
    normal = 2.3263
    return float(readings * (1 - spread + normal * math.sqrt(spread)) ** 3)


def _copper_factor(temperature_C: float) -> float:
    copper = library_copper()
    return copper.resistivity_at(temperature_C) / copper.resistivity_at(ROOM_C)


def _refuse_impossible(resistances: Sequence[float], voltages: Sequence[float] | None) -> None:
    ohms = np.asarray(resistances, dtype=np.float64)
    if ohms.shape != (3,) or not np.all(ohms > 0):
        raise _impossible(
            "resistance_line_line_ohm", ohms, "none of them zero; an open pair is infinite"
        )
    if voltages is None:
        return
    volts = np.asarray(voltages, dtype=np.float64)
    if volts.shape != (3,) or not np.all(volts >= 0) or not 0 < np.max(volts) < math.inf:
        raise _impossible("line_voltage_V", volts, "none of them negative and not all zero")


def _impossible(place: str, values: FloatArray, rule: str) -> InputError:
    return InputError(
        f"= {', '.join(f'{value:g}' for value in values.ravel())} cannot be.",
        why=f"three readings are wanted, {rule}.",
        do="give the readings at U-V, V-W and W-U.",
        place=place,
    )
