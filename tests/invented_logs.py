"""Invented test-stand logs with known truth: a first-order motor, or this program's own simulator.

The first-order motor is V = I R + ω/Kv, Q = (I − I0)/Kv (Drela, First-order DC electric motor
model, 2007), on a propeller with constant coefficients, at a duty d: V → d V, I → I/d at the input.
"""

import dataclasses
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from scipy.optimize import brentq

from fem_motor.design import load_design
from fem_motor.drive import operating_point
from fem_motor.heat import Heating, thermal_network, transient
from fem_motor.performance import solve_powered
from fem_motor.powered import heating_at

RPM = 2 * math.pi / 60
GRAVITY = 9.80665
RESISTANCE_PER_K = 0.00393  # copper at 20 °C, IEC 60028
AMBIENT_C = 21.0

Columns = dict[str, Any]
"""SI columns of a log by channel, ``time`` first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Propeller:
    """Constant coefficients; 254 mm as on the reed-bed airboat."""

    diameter: float = 0.254
    thrust_coefficient: float = 0.12
    power_coefficient: float = 0.048
    air_density: float = 1.2

    def torque(self, speed: float) -> float:
        """N m at rad/s."""
        turns = speed / (2 * math.pi)
        return (
            self.power_coefficient * self.air_density * turns**2 * self.diameter**5 / (2 * math.pi)
        )

    def thrust(self, speed: float) -> float:
        """N at rad/s."""
        turns = speed / (2 * math.pi)
        return self.thrust_coefficient * self.air_density * turns**2 * self.diameter**4


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstOrderMotor:
    """Kv in rad/s per V, R in ohm at 20 °C (two leads and controller), drag a + b ω in N m."""

    speed_constant: float = 600 * RPM
    resistance: float = 0.10
    drag_a: float = 4e-3
    drag_b: float = 1.5e-5
    supply_voltage: float = 14.8
    supply_resistance: float = 0.03
    inertia: float = 1.2e-4
    load: Propeller | None = Propeller()
    warms: bool = True

    def drag(self, speed: float) -> float:
        """N m at rad/s."""
        return self.drag_a + self.drag_b * speed

    def load_torque(self, speed: float) -> float:
        """N m at rad/s."""
        return 0.0 if self.load is None else self.load.torque(speed)

    def steady(self, duty: float, winding_C: float) -> dict[str, float]:
        """Return speed, torque, thrust, voltage and current at the controller's input."""
        hot = 1 + RESISTANCE_PER_K * (winding_C - 20) if self.warms else 1.0
        resistance, kv = self.resistance * hot, self.speed_constant

        def current(speed: float) -> float:
            return kv * (self.load_torque(speed) + self.drag(speed))

        def missing(speed: float) -> float:
            bus = self.supply_voltage - self.supply_resistance * duty * current(speed)
            return duty * bus - speed / kv - resistance * current(speed)

        speed = float(brentq(missing, 0, duty * self.supply_voltage * kv))
        motor = current(speed)
        return {
            "speed": speed,
            "torque": self.load_torque(speed),
            "thrust": 0.0 if self.load is None else self.load.thrust(speed),
            "voltage": self.supply_voltage - self.supply_resistance * duty * motor,
            "current": duty * motor,
        }


NOISE: Mapping[str, tuple[float, float]] = {
    "thrust": (0.02, 0.02),
    "torque": (0.02, 4e-4),
    "speed": (0.002, 0.5),
    "voltage": (0.0, 0.01),
    "current": (0.01, 0.02),
    "winding_C": (0.0, 0.2),
}
"""Standard deviation of one sample: share of the reading, and in SI."""

Motor = Any
STEPS = tuple((duty, 15.0) for duty in (0.3, 0.45, 0.6, 0.75, 0.9, 1.0))


def stand_log(
    motor: Motor,
    *,
    rng: np.random.Generator,
    steps: Sequence[tuple[float, float]] = STEPS,
    rate: float = 80.0,
    rest: float = 10.0,
    noise: Mapping[str, tuple[float, float]] = NOISE,
    heat: Callable[[float], float] = lambda current: 0.3 * current**2,
    heat_time: float = 90.0,
    winding_C: Callable[[float], float] | None = None,
    slowness: float = 0.4,
) -> Columns:
    """Return a log: rest, throttle steps (duty, s), coast-down, rest.

    The winding is `winding_C` warm at a time, or else warms towards ambient + heat(current) K with
    `heat_time` s; the speed follows each
    step exponentially with `slowness` s, and coasts by drag and load.
    """
    dt = 1 / rate
    rows: list[tuple[float, ...]] = []
    warm, speed = AMBIENT_C, 0.0
    tables = {
        duty: (motor.steady(duty, AMBIENT_C), motor.steady(duty, 120.0)) for duty, _ in set(steps)
    }
    at_rest = (0.0, 0.0, 0.0, 0.0, motor.supply_voltage, 0.0)
    rows += [(*at_rest, warm)] * round(rest * rate)
    for duty, seconds in steps:
        cold, hot = tables[duty]
        for _ in range(round(seconds * rate)):
            share = (warm - AMBIENT_C) / (120.0 - AMBIENT_C)
            now = {key: cold[key] + share * (hot[key] - cold[key]) for key in cold}
            speed += (now["speed"] - speed) * dt / slowness
            part = min(speed / now["speed"], 2.0)
            rows.append(
                (duty, now["thrust"] * part**2, now["torque"] * part**2, speed, now["voltage"],
                 now["current"] * (1 + 2 * (1 - part)), warm)
            )  # fmt: skip
            if winding_C is None:
                warm += (AMBIENT_C + heat(now["current"]) - warm) * dt / heat_time
            else:
                warm = winding_C(len(rows) * dt)
    while speed > 1.0:
        for _ in range(20):
            speed -= (motor.drag(speed) + motor.load_torque(speed)) / motor.inertia * dt / 20
        speed = max(speed, 0.0)
        load = motor.load_torque(speed)
        push = 0.0 if motor.load is None else motor.load.thrust(speed)
        rows.append((0.0, push, load, speed, motor.supply_voltage, 0.0, warm))
    rows += [(*at_rest, warm)] * round(rest * rate)
    table = np.array(rows).T
    if winding_C is not None:
        table[-1] = [winding_C(at * dt) for at in range(len(rows))]
    names = ("throttle", "thrust", "torque", "speed", "voltage", "current", "winding_C")
    log: Columns = {"time": np.arange(len(rows)) * dt}
    for name, values in zip(names, table, strict=True):
        share, floor = noise.get(name, (0.0, 0.0))
        sigma = np.hypot(share * values, floor * (values != 0) if name == "speed" else floor)
        log[name] = values + sigma * rng.standard_normal(len(values))
    return log


UNITS: Mapping[str, tuple[str, float, int]] = {
    "time": ("time [s]", 1.0, 4),
    "throttle": ("throttle [%]", 0.01, 1),
    "thrust": ("thrust [gf]", 1e-3 * GRAVITY, 1),
    "torque": ("torque [mN m]", 1e-3, 2),
    "speed": ("speed [rpm]", RPM, 1),
    "voltage": ("voltage [V]", 1.0, 3),
    "current": ("current [A]", 1.0, 3),
    "winding_C": ("winding temperature [°C]", 1.0, 1),
    "line_voltage_rms": ("back EMF rms [V]", 1.0, 4),
}
"""Heading, SI in one unit, and decimals."""


def csv_text(log: Columns, *, first_lines: str = "", names: Sequence[str] | None = None) -> str:
    """Return a log as CSV text with the usual headings and units."""
    chosen = list(names or log)
    heads = ",".join(UNITS[name][0] for name in chosen)
    columns = [
        [f"{value:.{UNITS[name][2]}f}" for value in np.asarray(log[name]) / UNITS[name][1]]
        for name in chosen
    ]
    rows = "\n".join(map(",".join, zip(*columns, strict=True)))
    return f"{first_lines}{heads}\n{rows}\n"


def write_log(
    path: Path, log: Columns, *, first_lines: str = "", names: Sequence[str] | None = None
) -> Path:
    """Write a log and return its path."""
    path.write_text(csv_text(log, first_lines=first_lines, names=names), encoding="utf-8")
    return path


HALVES = 2


class SimulatedMotor:
    """The same by this program's own simulator: six-step drive, losses, a propeller."""

    def __init__(self, design_file: str | Path, *, inertia: float = 2.5e-4) -> None:

        self.powered = solve_powered(load_design(design_file), quality="draft").powered
        self.load = self
        self.inertia = inertia
        self.supply_voltage = self.powered.bridge.supply_voltage

    def thrust(self, speed: float) -> float:
        """N at rad/s."""
        return self.powered.thrust(speed)

    def drag(self, speed: float) -> float:
        """N m at rad/s."""
        return self.powered.drag(max(speed, 1.0))

    def load_torque(self, speed: float) -> float:
        """N m at rad/s."""
        return 0.0 if self.powered.load is None else self.powered.load(speed)

    def steady(self, duty: float, winding_C: float) -> dict[str, float]:
        """Return speed, torque, thrust, voltage and current at the controller's input."""
        point = operating_point(
            self.powered.machine(copper_C=winding_C),
            dataclasses.replace(self.powered.bridge, throttle=duty),
            load=self.load_torque,
            drag=lambda speed: self.powered.drag(speed, copper_C=winding_C),
        )
        state = point.state
        return {
            "speed": state.speed,
            "torque": point.shaft_torque,
            "thrust": self.thrust(state.speed),
            "voltage": state.bus_voltage,
            "current": state.supply_current,
        }

    def winding_C(
        self, steps: Sequence[tuple[float, float]], *, rest: float
    ) -> Callable[[float], float]:
        """Return °C over time by the thermal network: rest, throttle steps (duty, s), rest.

        Each step in halves, the motor as warm in each as it is at its beginning.
        """
        powered = self.powered
        network = dataclasses.replace(
            thermal_network(powered.motor, powered.winding), surroundings_C=AMBIENT_C
        )
        phases = [(rest, Heating(speed=0.0))]
        warm = AMBIENT_C
        for duty, seconds in steps:
            for _ in range(HALVES):
                point = powered.at_load(copper_C=warm, throttle=duty)
                heating = heating_at(powered, point, copper_C=warm, magnet_C=20.0)
                phases.append((seconds / HALVES, heating))
                warm = float(transient(network, phases).of("copper")[-1])
        coast = [(0.4 * rest, Heating(speed=200.0)), (10 * rest, Heating(speed=0.0))]
        found = transient(network, [*phases, *coast])
        return lambda at: float(np.interp(at, found.time, found.of("copper")))


DEMO_LINES = """\
# Invented: made by fem_motor's own simulator for printed_18s16p.toml, with noise added.
# No motor was measured. Reed-bed airboat drive, 254 mm propeller, throttle in steps.
# Zero of the thrust cell +35 gf, of the torque cell -4 mN m; standard noise of one sample 2 % of
# thrust and torque, 0.2 % of the speed, 1 % of the current; inertia of all that turns 2.5e-4 kg m2.
# Temperature of the winding by the thermal network, 0.2 K of noise; the air has 21 degrees Celsius.
"""


def demo_text(design_file: str | Path) -> str:
    """Return the demo log that stands beside the designs."""
    rng = np.random.default_rng(20_260)
    # The more current the shorter: this winding gains 3 K in a second of full throttle.
    steps = ((0.3, 12.0), (0.45, 12.0), (0.6, 12.0), (0.75, 10.0), (0.9, 8.0), (1.0, 6.0))
    motor = SimulatedMotor(design_file)
    winding_C = motor.winding_C(steps, rest=10.0)
    log = stand_log(motor, rng=rng, steps=steps, rate=40.0, rest=10.0, winding_C=winding_C)
    log["thrust"] = log["thrust"] + 0.035 * GRAVITY
    log["torque"] = log["torque"] - 4e-3
    return csv_text(log, first_lines=DEMO_LINES)
