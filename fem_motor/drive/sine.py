"""Sine drive in steady state, by the d and q axes of a branch.

With γ the angle by which the current leads the back-EMF, i_q = I cos γ and i_d = −I sin γ (peak
branch values; ψ_d, ψ_q of a map, or ψ + L_d i_d and L_q i_q):

    v_d = R i_d − ω ψ_q        v_q = R i_q + ω ψ_d        T = (3/2) p (ψ_d i_q − ψ_q i_d)

R holds the lines too: once in star, three times in delta, whose line current is √3 I. A bus V_b
gives branches V_b/√3 in star and V_b in delta (space-vector modulation, linear range). The supply
gives V_b from V_b² − V V_b + R_s P = 0 with P the power into the bridge. Source: R. Krishnan,
Permanent Magnet Synchronous and Brushless DC Motor Drives (2010), from memory; derived again here.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq, minimize_scalar

from fem_motor.drive.machine import BRANCHES_OF_TERMINALS, Bridge, ElectricalMachine
from fem_motor.drive.six_step import torque_wave
from fem_motor.drive.state import SAMPLES, SteadyState
from fem_motor.drive.waves import EmfWaves, series_values
from fem_motor.errors import InputError

WIDEST_ANGLE = math.radians(89)
SCAN = np.linspace(-WIDEST_ANGLE, WIDEST_ANGLE, 60)
"""Current angles among which the best is looked for, then located."""

SHARES = np.linspace(0, 1, 41) ** 2
"""Currents among which the largest one within the voltage is looked for, then located."""

ROUNDING = 1e-9
"""By how much a solved state may pass a limit."""


@dataclass(frozen=True, kw_only=True)
class SineDrive:
    """One machine on one bridge, ready for any speed and torque."""

    waves: EmfWaves
    bridge: Bridge

    @property
    def _lines(self) -> float:
        return math.sqrt(3) if self.waves.is_delta else 1.0

    @property
    def resistance(self) -> float:
        """Of a branch and its lines, ohm."""
        return self.waves.machine.resistance + self._lines**2 * self.bridge.line_resistance

    @property
    def limit(self) -> float:
        """Largest peak branch current, A; may be infinite."""
        return self.bridge.current_limit / self._lines

    @property
    def machine(self) -> ElectricalMachine:
        """What it drives."""
        return self.waves.machine

    @property
    def ideal_speed(self) -> float:
        """Speed at which the back-EMF alone needs all of the voltage, rad/s."""
        voltage = self.bridge.throttle * self.bridge.supply_voltage
        return voltage * self._lines / (math.sqrt(3) * self._back_emf)

    @property
    def _back_emf(self) -> float:
        return abs(self.waves.branch_fundamental)

    def fluxes(self, i_d: float, i_q: float) -> tuple[float, float]:
        """Return (ψ_d, ψ_q), Wb."""
        machine = self.waves.machine
        linkage = self._back_emf / machine.pole_pairs
        if machine.flux_map is not None:
            psi_d, psi_q = machine.flux_map(i_d, i_q)
            return linkage + psi_d, psi_q
        return linkage + machine.inductance_d * i_d, machine.inductance_q * i_q

    def torque(self, current: float, angle: float) -> float:
        """Return the mean torque of a peak branch current that leads by `angle`, N m."""
        i_d, i_q = -current * math.sin(angle), current * math.cos(angle)
        psi_d, psi_q = self.fluxes(i_d, i_q)
        return 1.5 * self.waves.machine.pole_pairs * (psi_d * i_q - psi_q * i_d)

    def bus(self, speed: float, current: float, angle: float) -> tuple[float, float]:
        """Return bus voltage (V, NaN where the supply cannot give the power) and power (W)."""
        i_d, i_q = -current * math.sin(angle), current * math.cos(angle)
        v_d, v_q = self._voltages(speed, i_d, i_q)
        power = 1.5 * (v_d * i_d + v_q * i_q)
        open_circuit = self.bridge.supply_voltage
        rest = open_circuit**2 - 4 * self.bridge.supply_resistance * power
        return (open_circuit + math.sqrt(rest)) / 2 if rest >= 0 else math.nan, power

    def _voltages(self, speed: float, i_d: float, i_q: float) -> tuple[float, float]:
        electrical = self.waves.machine.pole_pairs * speed
        psi_d, psi_q = self.fluxes(i_d, i_q)
        return (
            self.resistance * i_d - electrical * psi_q,
            self.resistance * i_q + electrical * psi_d,
        )

    def modulation(self, speed: float, current: float, angle: float) -> float:
        """Return branch voltage over what throttle and bus allow; infinite where the bus fails."""
        bus, _ = self.bus(speed, current, angle)
        if math.isnan(bus):
            return math.inf
        v_d, v_q = self._voltages(speed, -current * math.sin(angle), current * math.cos(angle))
        most = self.bridge.throttle * bus * self._lines / math.sqrt(3)
        return math.hypot(v_d, v_q) / most

    def most_current(self, speed: float, angle: float) -> float | None:
        """Return the largest peak branch current within voltage and current limit; None if none."""
        bound = min(self.limit, self._bound(speed))
        within = [c for c in bound * SHARES if self.modulation(speed, c, angle) <= 1 + ROUNDING]
        if not within:
            return None
        last = float(within[-1])
        following = bound * SHARES[bound * SHARES > last]
        if not following.size:
            return bound
        return _last_below_one(
            lambda current: self.modulation(speed, current, angle), last, float(following[0])
        )

    def _bound(self, speed: float) -> float:
        """Return a current that no voltage of this bus can drive, A."""
        machine, bridge = self.waves.machine, self.bridge
        voltage = bridge.supply_voltage * self._lines / math.sqrt(3) + speed * self._back_emf
        least = min(machine.inductance_d, machine.inductance_q)
        reactance = machine.pole_pairs * speed * least
        return math.sqrt(2) * voltage / max(self.resistance, reactance)

    def current_for(self, torque: float, angle: float) -> float:
        """Return the peak branch current that gives `torque`; infinite where none does."""
        if torque == 0:
            return 0.0
        top = abs(torque) / (1.5 * self._back_emf * math.cos(angle))
        sign = math.copysign(1.0, torque)
        for _ in range(12):
            if sign * self.torque(sign * top, angle) >= abs(torque):
                found = brentq(
                    lambda c: self.torque(sign * c, angle) - torque, 0, top, xtol=1e-13, rtol=1e-13
                )
                return sign * float(found)
            top *= 1.5
        return math.inf

    def strain(self, speed: float, torque: float, angle: float) -> float:
        """Return the larger of voltage and current over their limits; above 1 it cannot be."""
        current = self.current_for(torque, angle)
        if math.isinf(current):
            return math.inf
        return max(self.modulation(speed, current, angle), abs(current) / self.limit)

    def rough_torque(self, speed: float) -> float:  # noqa: ARG002  (as of the steps)
        """Return 0: its points are found without a first guess."""
        return 0.0

    def spare(self, speed: float, torque: float) -> float:
        """Return 1 less the strain of `torque` at `speed`: positive where the drive can do more."""
        torque = torque - self._circulating_torque(speed)
        if self.bridge.sine_angle == "advance":
            return 1 - self.strain(speed, torque, self.bridge.timing_advance)
        return 1 - _least(lambda angle: self.strain(speed, torque, angle))[1]

    def torque_state(self, speed: float, torque: float) -> SteadyState:
        """Return the state with that mean torque.

        Raises
        ------
        InputError
            Beyond the voltage or the current limit.
        """
        torque = torque - self._circulating_torque(speed)
        angle = self.bridge.timing_advance
        if self.bridge.sine_angle == "best":
            angle = self._best_angle(speed, torque)
        strain = self.strain(speed, torque, angle)
        if strain > 1 + 1e-6:
            raise InputError(
                f"= {torque:.4g} N m cannot be had at {speed:.4g} rad/s.",
                why=f"it would take {strain:.3g} times the voltage or the current that there is.",
                do="ask for less torque or speed, or raise supply_voltage or current_limit.",
                place="torque",
            )
        return self.state(speed, self.current_for(torque, angle), angle)

    def full_state(self, speed: float, torque: float) -> SteadyState:
        """Return the state where `torque` is all there is."""
        return self.torque_state(speed, torque)

    def _best_angle(self, speed: float, torque: float) -> float:
        """Return the angle of least current within the voltage; of least strain where none is."""
        free, _ = _least(lambda angle: abs(self.current_for(torque, angle)))
        if self.modulation(speed, self.current_for(torque, free), free) <= 1:
            return free
        eased, strain = _least(lambda angle: self.strain(speed, torque, angle))
        if strain > 1:
            return eased
        return float(
            brentq(
                lambda a: self.modulation(speed, self.current_for(torque, a), a) - 1, free, eased
            )
        )

    def limit_state(self, speed: float) -> SteadyState:
        """Return the state of largest torque within voltage and current limit.

        Raises
        ------
        InputError
            The back-EMF is above the voltage, whatever the current.
        """
        angle = self.bridge.timing_advance
        if self.bridge.sine_angle == "best":
            angle, _ = _least(lambda trial: -self._most_torque(speed, trial))
        current = self.most_current(speed, angle)
        if current is None:
            raise InputError(
                f"= {speed:.4g} rad/s is above what this supply reaches.",
                why="the back-EMF exceeds the bus, and no current helps.",
                do='raise supply_voltage, or let the current lead (sine_angle = "best").',
                place="speed",
            )
        return self.state(speed, current, angle)

    def _most_torque(self, speed: float, angle: float) -> float:
        current = self.most_current(speed, angle)
        return -math.inf if current is None else self.torque(current, angle)

    def top_speed_at_limit(self) -> float | None:
        """Return the speed up to which the voltage suffices for the current limit; None if none."""
        if math.isinf(self.limit):
            return None
        angle = self.bridge.timing_advance
        if self.bridge.sine_angle == "best":
            angle, _ = _least(lambda trial: -self.torque(self.limit, trial))
        if self.modulation(0.0, self.limit, angle) > 1:
            return None
        top = self.ideal_speed
        while self.modulation(top, self.limit, angle) <= 1:
            top *= 2
        return _last_below_one(lambda speed: self.modulation(speed, self.limit, angle), 0.0, top)

    def _circulating_torque(self, speed: float) -> float:
        waves = self.waves
        return 1.5 * float(np.sum(np.real(np.conj(waves.common) * waves.circulating(speed))))

    def state(self, speed: float, current: float, angle: float) -> SteadyState:
        """Return the state of a peak branch current that leads the back-EMF by `angle`."""
        waves, bridge = self.waves, self.bridge
        machine = waves.machine
        electrical = 2 * math.pi / SAMPLES * np.arange(SAMPLES)
        peak = electrical + np.angle(waves.branch_fundamental) + angle
        inside = current * np.cos(peak - 2 * math.pi / 3 * np.arange(3)[:, None])
        lines = BRANCHES_OF_TERMINALS.T @ inside if waves.is_delta else inside
        circulating = waves.circulating(speed)
        branches = waves.branches(lines, series_values(waves.orders, circulating, electrical))
        bus, power = self.bus(speed, current, angle)
        square = current**2 / 2
        branch_square = square + float(np.sum(np.abs(circulating) ** 2) / 2)
        line_square = square * self._lines**2
        supply_current = power / bus
        duty = self.bridge.throttle * self.modulation(speed, current, angle)
        voltage = duty * bus * self._lines / math.sqrt(3)
        mean = self.torque(current, angle)
        # What is not back-EMF times current: saliency, or a map that saturates.
        other = mean - 1.5 * self._back_emf * current * math.cos(angle)
        return SteadyState(
            controller="sine",
            speed=speed,
            duty=duty,
            supply_voltage=bridge.supply_voltage,
            bus_voltage=bus,
            torque=mean + self._circulating_torque(speed),
            angle=electrical / machine.pole_pairs,
            branch_current=branches,
            line_current=waves.named(lines),
            torque_wave=torque_wave(machine, branches) + other,
            branch_current_rms=math.sqrt(branch_square),
            line_current_rms=math.sqrt(line_square),
            line_current_peak=abs(current) * self._lines,
            supply_current=supply_current,
            losses={
                "copper": 3 * machine.resistance * branch_square,
                "leads": 3 * bridge.lead_resistance * line_square,
                "controller": 1.5 * bridge.controller_resistance * line_square,
                "diodes": 0.0,
                "supply": bridge.supply_resistance * supply_current**2,
            },
            freewheel_share=None,
            current_angle=angle,
            first_order_torque=1.5
            * self._back_emf
            * (voltage - self._back_emf * speed)
            / self.resistance,
        )


def _last_below_one(function: Callable[[float], float], low: float, high: float) -> float:
    """Return where `function` passes 1 between `low`, where it is not above, and `high`."""
    value = function(low)
    if value >= 1:
        return low
    return float(brentq(lambda x: min(function(x), 2.0) - 1, low, high, xtol=1e-12, rtol=1e-13))


def _least(function: Callable[[float], float]) -> tuple[float, float]:
    """Return the current angle of the least `function`, and that value."""
    values = [function(float(angle)) for angle in SCAN]
    best = int(np.argmin(values))
    low, high = SCAN[max(best - 1, 0)], SCAN[min(best + 1, SCAN.size - 1)]
    found = minimize_scalar(
        lambda a: min(function(a), 1e300), bounds=(low, high), method="bounded",
        options={"xatol": 1e-10},
    )  # fmt: skip
    if found.fun < values[best]:
        return float(found.x), float(found.fun)
    return float(SCAN[best]), float(values[best])
