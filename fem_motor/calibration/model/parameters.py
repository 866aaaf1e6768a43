"""What may differ between the motor and its design: each parameter, its prior and its spread."""

import math
from collections.abc import Mapping

from fem_motor.calibration.model.response import FieldResponse
from fem_motor.calibration.records import Evidence, Parameter
from fem_motor.findings import Headline
from fem_motor.powered import PoweredMotor
from fem_motor.units import MM

REMANENCE_SPREAD = 0.02
"""Standard; the bands of the trade grades are ±3 % (from memory)."""

LEAST_PERMEABILITY_SPREAD = 0.03
"""Standard; the filling of a filament and of a print is not known better: common practice."""

GAP_SPREAD = 0.1 * MM
"""Standard, of a printed air gap; common practice, no source."""

RESISTANCE_SPREAD = 0.05
"""Hand winding against the computed resistance; common practice, no source."""

CONTROLLER_SPREAD, FRICTION_SPREAD, EDDY_SPREAD = 0.3, 0.6, 0.3
"""Of the logarithms; friction within a factor of 3 (bearing handbooks, from memory), the others
common practice, no source."""

WARMTH, WARMTH_SPREAD = 15.0, 10.0
"""Rise of the copper where it was not logged, and its standard uncertainty, K; an assumption."""

LEAST_END_SPREAD = 0.005

SPANS = ("torque", "voltage", "current")

FIGURES = (
    "remanence_T", "core_relative_permeability", "air_gap_mm", "end_factor",
    "winding_resistance_20C_ohm", "controller_resistance_mohm", "friction_torque_mNm",
    "eddy_loss_factor", "winding_temperature_C", "torque_reading_factor",
    "voltage_reading_factor", "current_reading_factor",
)  # fmt: skip


def line_line_resistance(powered: PoweredMotor) -> float:
    """Return that of the design between two leads at 20 °C, ohm, leads included."""
    branches = 2 / 3 if powered.motor.winding.connection == "delta" else 2.0
    return branches * powered.losses.branch_resistance + 2 * powered.losses.lead_resistance


def parameters_of(
    powered: PoweredMotor, response: FieldResponse, evidence: Evidence, *, ends: Headline
) -> tuple[Parameter, ...]:
    """Return the parameters that the evidence can speak about, in the order of `FIGURES`."""
    motor = powered.motor
    gap = motor.air_gap
    factor = ends.value or 1.0
    end_spread = LEAST_END_SPREAD
    if ends.low and ends.high:
        end_spread = max(end_spread, math.log(ends.high / ends.low) / 4)
    found = [
        Parameter(
            name="remanence_T", prior=motor.rotor.magnet.remanence, spread=REMANENCE_SPREAD,
            because="grade of the magnets, 20 °C",
        ),
        *_permeability(powered, response),
        Parameter(
            name="air_gap_mm", prior=gap / MM, spread=GAP_SPREAD / gap,
            because="as drawn; printed parts ±0.1 mm",
        ),
        Parameter(name="end_factor", prior=factor, spread=end_spread, because=ends.because),
        Parameter(
            name="winding_resistance_20C_ohm", prior=line_line_resistance(powered),
            spread=RESISTANCE_SPREAD, because="computed, between two leads; hand winding ±5 %",
        ),
        *_controller(powered),
        Parameter(
            name="friction_torque_mNm", prior=1e3 * powered.losses.bearings.torque(),
            spread=FRICTION_SPREAD, because="two small sealed ball bearings",
        ),
        Parameter(
            name="eddy_loss_factor", prior=1.0, spread=EDDY_SPREAD,
            because="drag of the field in wire, core, magnets and ring over its estimate",
        ),
    ]  # fmt: skip
    if evidence.points and any(point.winding_C is None for point in evidence.points):
        found.append(
            Parameter(
                name="winding_temperature_C", prior=evidence.ambient_C + WARMTH,
                spread=WARMTH_SPREAD, because="not logged; assumed", scale="difference",
            )
        )  # fmt: skip
    if evidence.points:
        found += [_reading(name, evidence.spans) for name in SPANS]
    return tuple(found)


def _permeability(powered: PoweredMotor, response: FieldResponse) -> list[Parameter]:
    if response.permeability is None:
        return []
    spread = LEAST_PERMEABILITY_SPREAD
    stated = powered.motor.stator.core.relative_permeability_range
    if stated is not None:
        spread = max(spread, math.log(stated[1] / stated[0]) / 4)
    return [
        Parameter(
            name="core_relative_permeability", prior=response.permeability, spread=spread,
            because="material of the core and its range",
        )
    ]  # fmt: skip


def _controller(powered: PoweredMotor) -> list[Parameter]:
    ohm = powered.bridge.controller_resistance
    if ohm <= 0:
        return []
    return [
        Parameter(
            name="controller_resistance_mohm", prior=1e3 * ohm, spread=CONTROLLER_SPREAD,
            because="as the design states it",
        )
    ]  # fmt: skip


def _reading(channel: str, spans: Mapping[str, float]) -> Parameter:
    return Parameter(
        name=f"{channel}_reading_factor", prior=1.0, spread=spans.get(channel, 0.01),
        because=f"span of the {channel} instrument",
    )  # fmt: skip
