"""Steady state: where losses and cooling balance, or the answer that they never do."""

from dataclasses import dataclass

import numpy as np

from fem_motor.arrays import FloatArray, frozen
from fem_motor.errors import SolverError
from fem_motor.findings import Finding, Status
from fem_motor.heat.parts.network import HOTTEST_RISE, Assembly, Heating, ThermalNetwork, assemble

PRECISION = 1e-9
"""K between the temperatures and those of the films."""

MOST_ROUNDS = 200

START_RISE, FIRST_SHARE, LEAST_SHARE = 30.0, 0.85, 0.01
"""K to begin with; films grow with about the fifth root of the rise, so 1/1.2 of a step is best."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ThermalState:
    """Temperatures in steady state, with the range of unknown films and contacts.

    Attributes
    ----------
    parts : tuple of str
        Parts and walls.
    temperatures_C, low_C, high_C : (m,) or None
        None where the copper runs away: its loss rises faster than the cooling.
    limits_C : tuple of float or None
    limiting_part : str or None
        The one that comes closest to its limit, or passes it most; None: no limit known, or
        no steady state.
    findings : tuple of Finding
    """

    parts: tuple[str, ...]
    temperatures_C: FloatArray | None
    low_C: FloatArray | None
    high_C: FloatArray | None
    limits_C: tuple[float | None, ...]
    limiting_part: str | None
    findings: tuple[Finding, ...]

    def of(self, part: str) -> float | None:
        """Return the temperature of a part, °C."""
        if self.temperatures_C is None:
            return None
        return float(self.temperatures_C[self.parts.index(part)])


def steady(network: ThermalNetwork, heating: Heating) -> ThermalState:
    """Return the temperatures at which `heating` balances the cooling, copper loss included.

    Where no balance exists the temperatures are None and a finding says so: runaway is an answer.

    Parameters
    ----------
    network : ThermalNetwork
    heating : Heating
        Its copper loss belongs to a current that stays whatever the resistance does.
    """
    read = [steady_readings(one, heating) for one in (network, *network.variants())]
    likely, found = read[0], [readings for readings in read if readings is not None]
    all_found = len(found) == len(read)
    return ThermalState(
        parts=network.readings,
        temperatures_C=None if likely is None else frozen(likely),
        low_C=frozen(np.min(found, axis=0)) if found else None,
        high_C=frozen(np.max(found, axis=0)) if all_found else None,
        limits_C=network.limits_C or (None,) * len(network.readings),
        limiting_part=None if likely is None else closest_part(network, likely),
        findings=(
            *_runaway(heating, is_certain=likely is None, is_possible=not all_found),
            *limit_findings(network, likely),
        ),
    )


def steady_readings(network: ThermalNetwork, heating: Heating) -> FloatArray | None:
    """Return the temperatures of parts and walls (m,), °C; None where the copper runs away."""
    rise = steady_rise(assemble(network), heating)
    return None if rise is None else network.surroundings_C + network.reading_matrix @ rise


def steady_rise(
    assembly: Assembly,
    heating: Heating,
    *,
    precision: float = PRECISION,
    near: FloatArray | None = None,
) -> FloatArray | None:
    """Return the rises (n,) in steady state, K; None where the copper runs away.

    `near` are rises (n,) of a like heating, to begin with.

    (G − D) θ = p has a solution that nature stays in only while G − D is positive definite. G is
    renewed with the films at θ. Films get better with θ and pull it down again, so the share of
    each step that is taken follows from the last two: B. Irons and R. Tuck, Int. J. Numer.
    Methods Eng. 1 (1969) 275, from memory. Where the films of θ let the copper run away, the
    answer is sought further up, as far as films are trusted.

    Raises
    ------
    SolverError
        Films and temperatures do not settle.
    """
    speed = speed_of(assembly.network, heating)
    power, gain = assembly.network.sources(heating)
    hottest = np.full(power.size, HOTTEST_RISE)
    rise = np.full(power.size, START_RISE) if near is None else near
    share, last = FIRST_SHARE, np.zeros(power.size)
    for _ in range(MOST_ROUNDS):
        solved = _balance(assembly.conductances(rise, speed), power, gain)
        if solved is None and _balance(assembly.conductances(hottest, speed), power, gain) is None:
            return None
        change = (hottest if solved is None else np.minimum(solved, hottest)) - rise
        if solved is not None and np.abs(change).max() <= precision:
            return solved
        share = _next_share(share, last, change)
        rise, last = rise + share * change, change
    raise SolverError(
        "did not settle.",
        why=f"films and temperatures still differ by {np.abs(last).max():.2g} K after "
        f"{MOST_ROUNDS} rounds.",
        do="check the losses and sizes that were given.",
        place="steady state of the thermal network",
    )


def _next_share(share: float, last: FloatArray, change: FloatArray) -> float:
    """Return ω = −ω₀ r₀·(r − r₀)/|r − r₀|², kept between a hundredth and all of the step."""
    turn = change - last
    if not last.any() or not turn.any():
        return share
    return float(np.clip(-share * (last @ turn) / (turn @ turn), LEAST_SHARE, 1.0))


def speed_of(network: ThermalNetwork, heating: Heating) -> float:
    """Return the speed for the films, rad/s."""
    return network.speed if heating.speed is None else heating.speed


def closest_part(network: ThermalNetwork, readings: FloatArray) -> str | None:
    """Return the part whose rise is the largest share of what it may rise; None: no limits.

    Rises grow together with the load, so that this part passes its limit first.
    """
    allowed = network.limit_array - network.surroundings_C
    if not np.isfinite(allowed).any():
        return None
    if (allowed <= 0).any():
        return network.readings[int(np.argmin(allowed))]
    return network.readings[int(np.argmax((readings - network.surroundings_C) / allowed))]


def limit_findings(network: ThermalNetwork, readings: FloatArray | None) -> tuple[Finding, ...]:
    """Return each part's temperature against its limit, °C; none without temperatures."""
    if readings is None:
        return ()
    return tuple(
        _held_against(part, float(value), limit)
        for part, value, limit in zip(
            network.readings, readings, network.limits_C or (None,) * readings.size, strict=True
        )
        if limit is not None
    )


def _held_against(part: str, value: float, limit: float) -> Finding:
    status: Status = "ok" if value <= limit else "stop"
    return Finding(
        name=f"steady temperature of the {part}, °C",
        status=status,
        value=value,
        limit=limit,
        why="plastics give way before they melt, magnets weaken, enamel ages: each limit has its "
        "margin (deflection temperature less 10 K, enamel class less 20 K; common practice).",
        do="" if status == "ok" else "lower the current, cool better, or use a tougher material.",
    )


def _runaway(heating: Heating, *, is_certain: bool, is_possible: bool) -> tuple[Finding, ...]:
    if not is_possible:
        return ()
    return (
        Finding(
            name="steady state of the copper",
            status="stop" if is_certain else "watch",
            why=f"at this current ({heating.copper:.3g} W in copper of {heating.copper_C:.0f} °C) "
            "the loss rises faster with the temperature than the cooling"
            + (
                ": there is no steady state, the winding burns."
                if is_certain
                else " if films and contacts are poor: then there is no steady state."
            ),
            do="lower the current, or do not run longer than the seconds that are given.",
        ),
    )


def _balance(matrix: FloatArray, power: FloatArray, gain: FloatArray) -> FloatArray | None:
    system = matrix.copy()
    system.flat[:: power.size + 1] -= gain
    try:
        np.linalg.cholesky(system)
    except np.linalg.LinAlgError:  # not positive definite
        return None
    return np.asarray(np.linalg.solve(system, power))
