"""The field without current at many rotor angles, from the picture of one."""

import math

from fem_motor.charts import canvas
from fem_motor.charts.drawing.flux_map import draw_bare_map
from fem_motor.charts.drawing.section_drawing import draw_borders
from fem_motor.charts.drawing.shapes import design_of
from fem_motor.charts.picture import Picture, Turned
from fem_motor.numbers import digits
from fem_motor.performance import PerformanceSheet

FEWEST_STEPS = 12
"""Of a slider that shows a motion; where one electrical period has fewer, it shows several."""

_FULL_TURN = 360.0


def turned_by_symmetry(slots: int, poles: int, steps: int) -> tuple[Turned, ...]:
    """Return by how much the field at rotor angle 0 has to be turned to be that of other angles.

    Of a machine as designed, rotor ahead by `steps` cogging periods d = 360° / lcm, from 0 on.
    With pole pitch p and slot pitch t, j d = s t − m p has whole solutions: the rotor at j d is
    the rotor at −m p, which looks as at 0 (its signs changed m times), turned by s slots, which
    turn the stator into itself. So the whole field is that of 0 turned by s t, and A changes its
    sign m times, which flux density and lines do not show.

    >>> [(one.rotor_deg, one.field_deg) for one in turned_by_symmetry(18, 16, 3)]
    [(0.0, 0.0), (2.5, 160.0), (5.0, 140.0)]
    """
    whole = math.lcm(slots, poles)
    slot, pole = whole // slots, whole // poles
    found = []
    for ahead in range(steps):
        turned = next(s for s in range(slots) if (s * slot - ahead) % pole == 0)
        found.append(
            Turned(
                rotor_deg=_FULL_TURN * ahead / whole,
                field_deg=_FULL_TURN * turned * slot / whole,
            )
        )
    return tuple(found)


def turning_picture(sheet: PerformanceSheet) -> Picture | None:
    """Return the field that turns with the rotor; None where a defect breaks the symmetry."""
    design = design_of(sheet.design)
    motor = design.motor
    built = motor.as_built
    if built.magnets or built.rotor_offset:
        return None
    period = math.lcm(motor.stator.slots, motor.rotor.poles) // motor.rotor.pole_pairs
    steps = period * math.ceil(FEWEST_STEPS / period)
    turned = turned_by_symmetry(motor.stator.slots, motor.rotor.poles, steps)
    step, last = (digits(one.rotor_deg, 4) for one in turned[1 :: len(turned) - 2])

    def draw(frame: canvas.Frame) -> None:
        (axes,) = frame.subplots()
        draw_bare_map(sheet.field_map, axes)
        draw_borders(design, axes)

    return Picture(
        name="turning",
        topic="field",
        title="The field while the rotor turns",
        caption=f"Tones and lines as in the map above, no current. The dot turns with pole 1; the "
        f"bar stands over tooth 1. Steps of {step}°, one cogging period each, in which a machine "
        "as designed shows the same field turned by whole slots: computed at 0, exact by symmetry "
        "at the others.",
        alt=f"Map of the flux density with flux lines at rotor angles from 0 to {last}°.",
        width=4.2,
        height=4.2,
        margins=(0.0, 0.0, 0.0, 0.0),
        page_form="png",
        turned=turned,
        draw=draw,
    )
