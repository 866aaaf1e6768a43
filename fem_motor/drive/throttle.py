"""Six-step drive that is asked for a torque or held at a current limit: the duty that does it."""

import math
from dataclasses import dataclass
from functools import cache, cached_property

from scipy.optimize import brentq, minimize_scalar

from fem_motor.drive.machine import Bridge, ElectricalMachine
from fem_motor.drive.orbit import step_waves
from fem_motor.drive.sine import SineDrive
from fem_motor.drive.six_step import Means, SixStep
from fem_motor.drive.state import SteadyState
from fem_motor.drive.waves import emf_waves
from fem_motor.errors import InputError

DUTY_ROUNDING = 1e-9


@dataclass(frozen=True, kw_only=True)
class SixStepDrive:
    """One machine on one bridge, ready for any speed and torque."""

    steps: SixStep

    @property
    def bridge(self) -> Bridge:
        """What feeds it."""
        return self.steps.bridge

    @property
    def machine(self) -> ElectricalMachine:
        """What it drives."""
        return self.steps.waves.waves.machine

    @cached_property
    def ideal_speed(self) -> float:
        """Speed at which the mean line back-EMF equals the voltage, rad/s."""
        voltage = self.bridge.throttle * self.bridge.supply_voltage
        return voltage / self.steps.waves.waves.dc_constant

    def rough_torque(self, speed: float) -> float:
        """Return the largest torque by the first-order formula, N m."""
        waves, limit = self.steps.waves.waves, self.bridge.current_limit
        full = self.steps.first_order_torque(speed, self.bridge.throttle)
        return min(full, waves.dc_constant * limit)

    def spare(self, speed: float, torque: float) -> float:
        """Return the largest torque at `speed` less `torque`, N m."""
        full = self.steps.means(speed, self.bridge.throttle)
        if full.torque <= torque or full.line_peak <= self.bridge.current_limit:
            return full.torque - torque
        return self.steps.means(speed, self._limit_duty(speed)).torque - torque

    def torque_state(self, speed: float, torque: float) -> SteadyState:
        """Return the state with that mean torque.

        Raises
        ------
        InputError
            Beyond the voltage or the current limit.
        """
        low, high = 0.0, self.bridge.throttle
        least, most = self._torque(speed, low), self._torque(speed, high)
        if not least <= torque <= most:
            raise InputError(
                f"= {torque:.4g} N m cannot be had at {speed:.4g} rad/s.",
                why=f"this supply reaches {least:.4g} to {most:.4g} N m there.",
                do="ask for less torque or speed, or raise supply_voltage.",
                place="torque",
            )
        duty = high if torque == most else self._duty_for(speed, torque)
        state = self.steps.state(speed, duty)
        if state.line_current_peak > self.bridge.current_limit * (1 + 1e-6):
            raise InputError(
                f"= {torque:.4g} N m at {speed:.4g} rad/s exceeds the current limit.",
                why=f"it takes {state.line_current_peak:.4g} A at the peak of a line, "
                f"the limit is {self.bridge.current_limit:.4g} A.",
                do="ask for less torque, or raise current_limit.",
                place="torque",
            )
        return state

    def full_state(self, speed: float, torque: float) -> SteadyState:  # noqa: ARG002  (as of sine)
        """Return the state where `torque` is all there is: the largest there."""
        return self.limit_state(speed)

    def limit_state(self, speed: float) -> SteadyState:
        """Return the state of largest torque: all of the throttle, or at the current limit.

        Raises
        ------
        InputError
            Ripple alone exceeds the limit.
        """
        full = self.steps.means(speed, self.bridge.throttle)
        if full.line_peak <= self.bridge.current_limit:
            return self.steps.state(speed, self.bridge.throttle)
        return self.steps.state(speed, self._limit_duty(speed))

    def top_speed_at_limit(self) -> float | None:
        """Return the speed above which all of the throttle stays below the limit; None if none."""
        limit = self.bridge.current_limit

        @cache
        def excess(speed: float) -> float:
            return self._at_full(speed).line_peak - limit

        if math.isinf(limit) or excess(0.0) <= 0:
            return None
        if excess(self.ideal_speed) >= 0:
            return self.ideal_speed
        return float(brentq(excess, 0, self.ideal_speed, xtol=1e-9 * self.ideal_speed))

    def _at_full(self, speed: float) -> Means:
        return self.steps.means(speed, self.bridge.throttle)

    def _torque(self, speed: float, duty: float) -> float:
        return self.steps.means(speed, duty).torque

    def _duty_for(self, speed: float, torque: float) -> float:
        missing = cache(lambda duty: self._torque(speed, duty) - torque)
        return float(
            brentq(
                missing,
                0, self.bridge.throttle, xtol=DUTY_ROUNDING,
            )
        )  # fmt: skip

    def _limit_duty(self, speed: float) -> float:
        """Return the largest duty with line currents up to the limit."""
        limit, most = self.bridge.current_limit, self.bridge.throttle

        @cache
        def excess(duty: float) -> float:
            return self.steps.means(speed, duty).line_peak - limit

        idle = most * min(speed / self.ideal_speed, 1.0)
        if excess(idle) > 0:
            idle = float(minimize_scalar(excess, bounds=(0, most), method="bounded").x)
        if excess(idle) > 0:
            raise InputError(
                f"= {limit:.4g} A cannot be held at {speed:.4g} rad/s.",
                why="ripple from the back-EMF alone drives more through so little inductance.",
                do="raise current_limit, or put chokes into the leads.",
                place="current_limit",
            )
        return float(brentq(excess, idle, most, xtol=DUTY_ROUNDING))


Drive = SixStepDrive | SineDrive


def drive_of(machine: ElectricalMachine, bridge: Bridge) -> Drive:
    """Return the machine on its bridge, with the controller that the bridge names."""
    waves = emf_waves(machine)
    if bridge.controller == "sine":
        return SineDrive(waves=waves, bridge=bridge)
    steps = SixStep(waves=step_waves(waves, bridge.timing_advance), bridge=bridge)
    return SixStepDrive(steps=steps)


def torque_state(
    machine: ElectricalMachine, bridge: Bridge, *, speed: float, torque: float
) -> SteadyState:
    """Return the steady state that gives a mean torque at a speed, drag not taken off.

    Parameters
    ----------
    machine, bridge
    speed : float
        Mechanical rad/s, 0 or more.
    torque : float
        N m, of the currents.

    Raises
    ------
    InputError
        The voltage or the current limit does not allow it.
    """
    return drive_of(machine, bridge).torque_state(_checked(speed), torque)


def limit_state(machine: ElectricalMachine, bridge: Bridge, *, speed: float) -> SteadyState:
    """Return the steady state of largest torque at a speed, by throttle and current limit.

    Parameters
    ----------
    machine, bridge
    speed : float
        Mechanical rad/s, 0 or more.

    Raises
    ------
    InputError
        Sine: the back-EMF is above the voltage. Six-step: ripple alone exceeds the limit.
    """
    return drive_of(machine, bridge).limit_state(_checked(speed))


def _checked(speed: float) -> float:
    if not (math.isfinite(speed) and speed >= 0):
        raise InputError(
            f"= {speed} is impossible.",
            why="the drive turns forward or stands.",
            do="give 0 or more rad/s.",
            place="speed",
        )
    return speed
