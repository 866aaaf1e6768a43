"""Six-step currents by marching through time: an independent second method.

Written from the bridge up, in branch currents and terminal voltages, with no star equivalent, no
common decay and no symmetry: full 3×3 inductance of self and mutual parts, terminals tied to the
bus through their resistances or left open, `scipy.integrate.solve_ivp` (DOP853) from zero current
until the periods repeat, an event wherever a diode begins or ceases to conduct.
"""

import math
from dataclasses import dataclass

import numpy as np
from scipy.integrate import solve_ivp, trapezoid

from fem_motor.arrays import FloatArray

LINES_OF = {
    "star": np.eye(3),
    "delta": np.array([[1.0, 0, -1], [-1, 1, 0], [0, -1, 1]]),  # line U: branch U out, W in
}


SAMPLES_PER_RADIAN = 115
"""Two a degree: trapezoids between them are good to 1e-4 and better."""


@dataclass(frozen=True, kw_only=True)
class Marched:
    """One settled period: electrical angle (n,), currents (3, n), torque (n,)."""

    angle: FloatArray
    branch: FloatArray
    line: FloatArray
    torque: FloatArray

    def mean(self, values: FloatArray) -> float:
        """Return the mean over the period."""
        return float(trapezoid(values, self.angle) / (2 * math.pi))

    def rms(self, currents: FloatArray) -> float:
        """Return the root mean square over period and phases."""
        return math.sqrt(self.mean((currents**2).mean(axis=0)))


@dataclass(frozen=True, kw_only=True)
class March:
    """One machine on one bus; all SI."""

    connection: str
    waves: tuple[tuple[int, float], ...]  # (order, amplitude) of sin(order·x), V s/rad
    pole_pairs: int
    resistance: float
    self_inductance: float
    mutual_inductance: float
    line_resistance: float
    bus: float
    duty: float
    drop: float
    advance: float
    speed: float
    scales: tuple[float, float, float] = (1.0, 1.0, 1.0)  # of the three branches' back-EMF

    def emf(self, electrical: float) -> FloatArray:
        """Return the back-EMF of the branches, V."""
        x = electrical - 2 * math.pi / 3 * np.arange(3)
        wave = np.sum([a * np.sin(h * x) for h, a in self.waves], axis=0)
        return np.asarray(self.speed * np.array(self.scales) * wave)

    def sides(self, electrical: float) -> FloatArray:
        """Return +1, 0, −1 of the terminals; a delta's terminal EMF lags its branch by 30°."""
        lag = math.radians(30) if self.connection == "delta" else 0.0
        x = electrical - lag + self.advance - 2 * math.pi / 3 * np.arange(3)
        # Symmetric about the peak of sin x: upper from 30° to 150°.
        return np.asarray(np.sign(np.sin(x)) * (np.abs(np.sin(x)) > 0.5))

    def rates(self, electrical: float, branch: FloatArray, tied: FloatArray) -> FloatArray:
        """Return di/dt of the branches; `tied` (3,) is a terminal's source or NaN where open."""
        inductance = np.full((3, 3), self.mutual_inductance)
        np.fill_diagonal(inductance, self.self_inductance)
        lines = LINES_OF[self.connection]
        to_branches = lines.T  # v_branch = linesᵀ v_terminal (− star point)
        # Unknowns: di/dt of 3 branches, 3 terminal voltages, 1 star point.
        matrix, right = np.zeros((7, 7)), np.zeros(7)
        matrix[:3, :3] = inductance
        matrix[:3, 3:6] = -to_branches
        right[:3] = -self.resistance * branch - self.emf(electrical)
        if self.connection == "star":
            matrix[:3, 6] = 1.0
            matrix[6, :3] = 1.0  # currents meet
        else:
            matrix[6, 6] = 1.0
            # The level of all terminals is fixed by the tied ones.
        current = lines @ branch
        for k in range(3):
            if math.isnan(tied[k]):
                matrix[3 + k, :3] = lines[k]  # no change of a current that is zero
            else:
                matrix[3 + k, 3 + k] = 1.0
                right[3 + k] = tied[k] - self.line_resistance * current[k]
        return np.linalg.solve(matrix, right)

    def tied(self, sides: FloatArray, clamp: int) -> FloatArray:
        """Return the source at each terminal, NaN where it is open."""
        rail = self.bus / 2 + self.drop
        voltage = sides * self.duty * self.bus / 2
        voltage[sides == 0] = clamp * rail if clamp else math.nan
        return voltage

    def piece(
        self, begin: float, end: float, branch: FloatArray, sides: FloatArray, clamp: int
    ) -> tuple[FloatArray, FloatArray, bool]:
        """March until the open phase changes its mind or `end`; say whether it did."""
        tied = self.tied(sides, clamp)
        rail = self.bus / 2 + self.drop
        open_one = int(np.flatnonzero(sides == 0)[0])
        per_second = self.pole_pairs * self.speed

        def slope(angle: float, i: FloatArray) -> FloatArray:
            return self.rates(angle, i, tied)[:3] / per_second

        def change(angle: float, i: FloatArray) -> float:
            if clamp:
                return -clamp * float((LINES_OF[self.connection] @ i)[open_one])
            return rail - abs(float(self.rates(angle, i, tied)[3 + open_one]))

        change.terminal = True  # type: ignore[attr-defined]
        change.direction = -1  # type: ignore[attr-defined]
        points = 2 + math.ceil((end - begin) * SAMPLES_PER_RADIAN)
        found = solve_ivp(
            slope, (begin, end), branch, method="DOP853", rtol=1e-9, atol=1e-10, events=change,
            t_eval=np.linspace(begin, end, points),
        )  # fmt: skip
        if not found.t_events[0].size:
            return found.t, found.y, False
        last = found.y_events[0][0][:, None]
        return (
            np.append(found.t, found.t_events[0][0]),
            np.concatenate((found.y, last), axis=1),
            True,
        )

    def interval(
        self, begin: float, branch: FloatArray
    ) -> tuple[list[FloatArray], list[FloatArray]]:
        """March through 60° from `begin`; angles and branch currents of the pieces."""
        end = begin + math.pi / 3
        sides = self.sides(begin + math.pi / 6)
        open_one = int(np.flatnonzero(sides == 0)[0])
        current = float((LINES_OF[self.connection] @ branch)[open_one])
        clamp = 0 if abs(current) < 1e-9 else -int(np.sign(current))
        angles, currents = [], []
        while begin < end - 1e-9:
            angle, inside, has_changed = self.piece(begin, end, branch, sides, clamp)
            angles.append(angle)
            currents.append(inside)
            begin, branch = float(angle[-1]), inside[:, -1]
            if has_changed and clamp == 0:
                voltage = self.rates(begin, branch, self.tied(sides, 0))[3 + open_one]
                clamp = int(np.sign(voltage))
            elif has_changed:
                clamp = 0
        return angles, currents

    def settle(self) -> Marched:
        """Return the last period, after the start has faded by e⁻¹⁴."""
        fade = (self.self_inductance + 2 * abs(self.mutual_inductance)) / self.resistance
        period = 2 * math.pi / (self.pole_pairs * self.speed)
        periods = 2 + math.ceil(14 * fade / period)
        lag = math.radians(30) if self.connection == "delta" else 0.0
        begin = math.radians(30) + lag - self.advance  # terminal U goes to the upper rail
        branch = np.zeros(3)
        angles: list[FloatArray] = []
        currents: list[FloatArray] = []
        for number in range(6 * periods):
            if number == 6 * (periods - 1):
                angles, currents = [], []
            more_angles, more_currents = self.interval(begin, branch)
            angles += more_angles
            currents += more_currents
            begin, branch = begin + math.pi / 3, more_currents[-1][:, -1]
        angle, inside = np.concatenate(angles), np.concatenate(currents, axis=1)
        emf = np.array([self.emf(float(x)) for x in angle]).T
        return Marched(
            angle=angle,
            branch=inside,
            line=LINES_OF[self.connection] @ inside,
            torque=np.sum(emf * inside, axis=0) / self.speed,
        )
