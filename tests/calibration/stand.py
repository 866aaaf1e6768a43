"""A test stand that is calculated: six throttle steps of the printed motor, with planted faults."""

from dataclasses import replace
from functools import cache

import numpy as np

from fem_motor.calibration.model.forward import ForwardModel, prior_figures
from fem_motor.calibration.model.response import FieldResponse, field_response
from fem_motor.calibration.records import BenchCheck, Evidence, SteadyPoint
from fem_motor.design import load_design
from fem_motor.drive import Bridge, operating_point
from fem_motor.performance import solve_powered
from fem_motor.performance.solved import SolvedDesign

SPANS = {"torque": 0.01, "voltage": 0.005, "current": 0.01}
THROTTLES = (0.45, 0.6, 0.8, 1.0)
AMBIENT_C = 20.0
NOISE = 0.002


@cache
def solved() -> SolvedDesign:
    return solve_powered(load_design("geometries/printed_18s16p.toml"), quality="draft")


@cache
def response() -> FieldResponse:
    return field_response(solved().design)


def model_of(evidence: Evidence) -> ForwardModel:
    prior = prior_figures(solved().powered, response(), end_factor=solved().end_factor.value or 1.0)
    return ForwardModel(
        powered=solved().powered, response=response(), evidence=evidence, prior=prior
    )


def simulated(
    *, flux: float = 1.0, resistance: float = 1.0, speed: float = 1.0, torque: float = 1.0,
    rng: np.random.Generator | None = None, checks: tuple[BenchCheck, ...] = (),
) -> Evidence:  # fmt: skip
    """Return steady points of the motor on its propeller, by the drive room alone.

    `flux` and `resistance` are planted in the motor, `speed` and `torque` in the readings. The
    copper is as warm as its loss makes it, the magnets warm up too, which the fit does not know.
    """
    powered = solved().powered
    points = []
    for throttle in THROTTLES:
        copper_C, magnet_C = AMBIENT_C + 12 * throttle**3, AMBIENT_C + 4 * throttle**3
        base = powered.machine(copper_C=copper_C, magnet_C=magnet_C)
        machine = replace(
            base, back_emf=flux * base.back_emf, resistance=resistance * base.resistance
        )
        bridge: Bridge = replace(powered.bridge, throttle=throttle)
        state = operating_point(machine, bridge, load=powered.load, drag=powered.drag).state
        assert state is not None
        noise = np.ones(4) if rng is None else 1 + NOISE * rng.standard_normal(4)
        at = state.speed * speed * noise[0]
        load = powered.load(state.speed) * torque * noise[1]
        points.append(
            SteadyPoint(
                speed=at, torque=load, voltage=state.bus_voltage * noise[2],
                current=state.supply_current * noise[3], speed_scatter=NOISE * at,
                torque_scatter=NOISE * load, voltage_scatter=NOISE * state.bus_voltage,
                current_scatter=NOISE * state.supply_current,
                throttle="full" if throttle == 1 else "part", winding_C=copper_C,
            )
        )  # fmt: skip
    return Evidence(points=tuple(points), spans=SPANS, checks=checks, ambient_C=AMBIENT_C)
