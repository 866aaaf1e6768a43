"""Temperatures over time with films and losses that follow them all the time.

C dθ/dt = p(θ) + D(θ) θ − G(θ) θ: by scipy's stiff integrator LSODA (A. Hindmarsh, L. Petzold), with
G(θ) − D(θ) over C in place of the true derivative, which only its iteration sees. Where neither
films nor losses follow anything the solution is the matrix exponential, and exact.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.integrate import solve_ivp

from fem_motor.arrays import FloatArray, frozen
from fem_motor.errors import InputError, SolverError
from fem_motor.findings import Finding
from fem_motor.heat.parts.network import HOTTEST_RISE, Assembly, Heating, ThermalNetwork, assemble
from fem_motor.heat.states.steady import speed_of
from fem_motor.heat.states.stepping import march

Method = Literal["integrator", "exponentials"]
"""Exponentials: exact ones in steps of up to 20 K, with films of the middle of each step; within
1e-4 of the hottest rise (the air inside 1e-3), and some twenty times as fast."""

Losses = Callable[[FloatArray], Heating]
"""Losses at the temperatures of parts and walls (m,), °C."""

RELATIVE, ABSOLUTE = 1e-7, 1e-7
"""Error of a step against the rise and in K: less than 1e-6 of the rises is lost in the end."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ThermalHistory:
    """Temperatures over time.

    Attributes
    ----------
    parts : tuple of str
        Parts and walls.
    time : (k,)
        s, from 0.
    temperatures_C : (m, k)
    findings : tuple of Finding
        Says so where the history ends early, above what any winding survives.
    """

    parts: tuple[str, ...]
    time: FloatArray
    temperatures_C: FloatArray
    findings: tuple[Finding, ...] = ()

    def __post_init__(self) -> None:
        for name in ("time", "temperatures_C"):
            object.__setattr__(self, name, frozen(getattr(self, name)))

    def of(self, part: str) -> FloatArray:
        """Return the temperatures of a part over time (k,), °C."""
        return np.asarray(self.temperatures_C[self.parts.index(part)])


def transient(
    network: ThermalNetwork,
    phases: Sequence[tuple[float, Heating | Losses]],
    *,
    start_C: FloatArray | None = None,
    method: Method = "integrator",
) -> ThermalHistory:
    """Return the temperatures over phases, one after the other.

    Parameters
    ----------
    network : ThermalNetwork
    phases : sequence of (seconds, Heating or callable)
        Losses that stay, or that follow the temperatures: of parts and walls, °C, in the order of
        `network.readings`.
    start_C : (n,) or None
        Temperatures of the parts (walls left out); None: all as the surroundings.
    method : "integrator" or "exponentials"
        The second for losses that stay, where a history is one of many.

    Raises
    ------
    InputError
        A phase without length, or a start with another number of parts.
    SolverError
        Losses that jump about.
    """
    assembly = assemble(network)
    rise = _start(network, start_C)
    times: list[FloatArray] = [np.zeros(1)]
    rises, begun = [rise[:, None]], 0.0
    for seconds, losses in phases:
        _refuse_no_length(seconds)
        time, path = _phase(assembly, losses, rise, seconds, method)
        times.append(begun + time)
        rises.append(path)
        begun, rise = begun + seconds, path[:, -1]
        if rise.max() >= HOTTEST_RISE:
            break
    time = np.concatenate(times)
    return ThermalHistory(
        parts=network.readings,
        time=time,
        temperatures_C=network.surroundings_C + network.reading_matrix @ np.hstack(rises),
        findings=_ended_early(float(time[-1])) if rise.max() >= HOTTEST_RISE else (),
    )


def _phase(
    assembly: Assembly,
    losses: Heating | Losses,
    start: FloatArray,
    seconds: float,
    method: Method,
) -> tuple[FloatArray, FloatArray]:
    """Return times (k,) of the steps, the first left out, and rises (n, k)."""
    is_exact = not assembly.filmed
    if isinstance(losses, Heating) and (is_exact or method == "exponentials"):
        steps = list(march(assembly, losses, start=start, seconds=seconds))
        ends = [step.time + step.seconds for step in steps]
        return np.array(ends), np.transpose([step.end for step in steps])
    flows = _Flows(assembly, losses)

    def burnt(_time: float, rise: FloatArray) -> float:
        return float(rise.max()) - HOTTEST_RISE

    burnt.terminal = True  # type: ignore[attr-defined]  # as solve_ivp wants it
    found = solve_ivp(
        flows.slope, (0.0, seconds), start,
        method="LSODA", jac=flows.derivative, events=burnt, rtol=RELATIVE, atol=ABSOLUTE,
    )  # fmt: skip
    if found.status < 0:
        raise SolverError(
            "could not be followed.",
            why=f"the integrator says: {found.message}",
            do="check that the losses change steadily with the temperatures.",
            place="temperatures over time",
        )
    return np.asarray(found.t[1:]), np.asarray(found.y[:, 1:])


class _Flows:
    """The right-hand side of the network's equation."""

    def __init__(self, assembly: Assembly, losses: Heating | Losses) -> None:
        self._assembly, self._losses = assembly, losses
        self._network, self._matrix = assembly.network, assembly.network.reading_matrix

    def _at(self, rise: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return p (n,) and G − D (n, n)."""
        network, losses = self._network, self._losses
        if not isinstance(losses, Heating):
            losses = losses(network.surroundings_C + self._matrix @ rise)
        power, gain = network.sources(losses)
        matrix = self._assembly.conductances(rise, speed_of(network, losses))
        matrix.flat[:: power.size + 1] -= gain
        return power, matrix

    def slope(self, _time: float, rise: FloatArray) -> FloatArray:
        """Return dθ/dt (n,), K/s."""
        power, matrix = self._at(rise)
        return np.asarray((power - matrix @ rise) / self._network.capacities)

    def derivative(self, _time: float, rise: FloatArray) -> FloatArray:
        """Return that of the slope (n, n) with films and losses held, 1/s."""
        return np.asarray(-self._at(rise)[1] / self._network.capacities[:, None])


def _start(network: ThermalNetwork, start_C: FloatArray | None) -> FloatArray:
    if start_C is None:
        return np.zeros(len(network.parts))
    rise = np.asarray(start_C, dtype=np.float64) - network.surroundings_C
    if rise.shape != (len(network.parts),) or not np.isfinite(rise).all():
        raise InputError(
            f"has shape {rise.shape} or a value that is no number.",
            why=f"there are {len(network.parts)} parts: {', '.join(network.parts)}.",
            do="give one temperature for each.",
            place="start_C",
        )
    return rise


def _refuse_no_length(seconds: float) -> None:
    if not (np.isfinite(seconds) and seconds > 0):
        raise InputError(
            f"= {seconds} s is impossible.",
            why="a phase lasts.",
            do="give seconds above 0.",
            place="phases",
        )


def _ended_early(seconds: float) -> tuple[Finding, ...]:
    return (
        Finding(
            name="seconds until a part has risen by 400 K",
            status="stop",
            value=seconds,
            why="nothing in the motor survives that; the history ends here.",
            do="lower the current.",
        ),
    )
