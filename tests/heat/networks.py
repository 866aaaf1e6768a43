"""Small networks with written-down conductances, and the demo motors."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np

from fem_motor.design import Motor, load_design
from fem_motor.heat import ThermalNetwork, thermal_network
from fem_motor.heat.parts.network import SURROUNDINGS, Wall
from fem_motor.heat.parts.network import Path as Way
from fem_motor.winding import wind

GEOMETRIES = Path(__file__).parents[2] / "geometries"
FASTEST = 600.0
"""rad/s."""


def adiabatic_seconds(current_density: float, *, from_C: float, to_C: float) -> float:
    """Return the seconds in which a current (RMS, A/m²) heats its copper if no heat leaves.

    t = c ρ_d/(ρ₂₀ α J²) · ln{[1 + α (T₂ − 20)]/[1 + α (T₁ − 20)]}: the resistance rises with the
    temperature, the current stays. Source: the adiabatic form of IEC 60724 and IEC 60364-5-54,
    from memory; IEC 60028 for copper at 20 °C, 385 J/(kg K) and 8890 kg/m³.
    """
    alpha = 0.00393
    rise = math.log((1 + alpha * (to_C - 20)) / (1 + alpha * (from_C - 20)))
    return 385 * 8890 / (1.7241e-8 * alpha * current_density**2) * rise


def motor_of(name: str) -> Motor:
    return load_design(GEOMETRIES / f"{name}.toml").motor


def network_of(name: str, *, speed: float = FASTEST) -> ThermalNetwork:
    motor = motor_of(name)
    return thermal_network(motor, wind(motor), speed=speed)


def two_parts(
    *,
    first: float = 20.0,
    second: float = 80.0,
    between: float = 0.5,
    outside: float = 0.3,
    alpha: float = 0.0,
    limits: tuple[float | None, ...] = (),
) -> ThermalNetwork:
    """Return copper (J/K `first`) that heats teeth (`second`) that heat the surroundings, W/K."""
    return ThermalNetwork(
        parts=("copper", "teeth"),
        capacities=np.array([first, second]),
        paths=(
            Way(start=0, end=1, resistance=1 / between),
            Way(start=1, end=SURROUNDINGS, resistance=1 / outside),
        ),
        surroundings_C=20.0,
        copper_share=np.array([1.0, 0.0]),
        temperature_coefficient=alpha,
        core_readings=("teeth",),
        softening_C=60.0,
        limits_C=limits,
    )


def one_part(
    *, capacity: float = 10.0, outside: float = 0.5, alpha: float = 0.00393
) -> ThermalNetwork:
    """Return copper alone against surroundings of 20 °C."""
    return ThermalNetwork(
        parts=("copper",),
        capacities=np.array([capacity]),
        paths=(Way(start=0, end=SURROUNDINGS, resistance=1 / outside),),
        surroundings_C=20.0,
        copper_share=np.array([1.0]),
        temperature_coefficient=alpha,
        core_readings=("copper",),
        limits_C=(135.0,),
    )


def with_wall(network: ThermalNetwork) -> ThermalNetwork:
    """Return the two parts with a wall between them at a known place."""
    wall = Wall(name="slot walls", hot=0, cold=1, to_cold=0.5, to_hot=1.0, contact_area=1 / 50.0)
    return replace(network, walls=(wall,), core_readings=("teeth", "slot walls"))
