"""Every loss inside the motor heats one of its parts."""

import pytest
from powered_machines import PRINTED, STEEL, powered

from fem_motor.powered import heating_at
from fem_motor.units import ROOM_C

OUTSIDE = ("leads", "controller", "diodes", "supply")
"""Kinds that heat wires and boxes beside the motor."""


@pytest.mark.parametrize("name", [PRINTED, STEEL])
def test_the_heat_of_the_parts_is_all_loss_but_what_lies_outside_and_the_wind(name: str) -> None:
    # Balance of power: a loss that heats nothing was forgotten in `_heating`. Of the windage only
    # what the gap takes stays inside.
    motor = powered(name)
    point = motor.at_load()
    assert point.state is not None
    heating = heating_at(motor, point, copper_C=ROOM_C, magnet_C=ROOM_C)
    parts = (
        heating.copper + heating.copper_eddy + heating.teeth + heating.yoke + heating.magnets
        + heating.ring + heating.housing + heating.windage + heating.bearings
    )  # fmt: skip
    drag = motor.drag_losses(point.state.speed)
    electrical = {
        kind: watts
        for kind, watts in point.state.losses.items()
        if kind not in drag and kind not in OUTSIDE
    }
    in_gap = motor.losses.windage.in_gap(point.state.speed)
    inside = sum(electrical.values()) + sum(drag.values()) - drag["windage"] + in_gap
    assert set(electrical) == {"copper"}
    assert parts == pytest.approx(inside, rel=1e-12)
