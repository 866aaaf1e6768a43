"""Motors of the example designs with their supply and load, solved once at draft quality."""

import functools
from dataclasses import replace

import fem_motor as fm
from fem_motor.mesh import mesh_motor
from fem_motor.powered import PoweredMotor, powered_motor
from fem_motor.quantities import motor_model
from fem_motor.winding import wind

PRINTED, STEEL = "printed_18s16p", "steel_9s12p"


@functools.cache
def powered(name: str = PRINTED, **changes: object) -> PoweredMotor:
    """Return a powered motor, some keys of its design changed."""
    motor = fm.load_design(f"geometries/{name}.toml").replace(**changes).motor
    winding = wind(motor)
    model = motor_model(motor, winding, mesh_motor(motor, quality="draft"))
    return powered_motor(motor, winding, model, end_factor=1.0)


def without_wires(motor: PoweredMotor) -> PoweredMotor:
    """Return the motor with leads, supply and controller that have no resistance."""
    winding = replace(motor.winding, lead_resistance=0.0)
    bridge = replace(
        motor.bridge, supply_resistance=0.0, controller_resistance=0.0, lead_resistance=0.0
    )
    return replace(motor, winding=winding, bridge=bridge)
