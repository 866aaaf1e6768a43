"""A motor with other turns and wire in the same slots, from the same fields.

N turns of N₀ carry N/N₀ of the linkage and (N/N₀)² of the inductance; the resistance follows from
wire and length. With equal copper area (N strands · wire area kept) resistance goes as N² too, so
that torque over the root of the copper loss, the motor constant, stays whatever the turns: only
volts and amperes change places.
"""

from dataclasses import replace

from fem_motor.powered.motor import PoweredMotor
from fem_motor.quantities import Phases


def rewound(
    powered: PoweredMotor, *, turns: int, strands: int, wire_diameter: float
) -> PoweredMotor:
    """Return the motor with other turns and wire, on the same supply and load; no new fields.

    Parameters
    ----------
    powered : PoweredMotor
    turns : int
        Of one coil.
    strands : int
    wire_diameter : float
        Bare, m.
    """
    winding = powered.winding.rewound(turns=turns, strands=strands, wire_diameter=wire_diameter)
    specification = replace(
        powered.motor.winding,
        turns_per_tooth=turns,
        strands=strands,
        wire_diameter=wire_diameter,
    )
    motor = replace(powered.motor, winding=specification)
    more, model = turns / powered.winding.turns_per_tooth, powered.model
    return replace(
        powered,
        motor=motor,
        winding=winding,
        model=replace(
            model,
            flux_linkage=more * model.flux_linkage,
            back_emf=more * model.back_emf,
            inductances=replace(model.inductances, matrix=more**2 * model.inductances.matrix),
            inductance_end=more**2 * model.inductance_end,
            inductance_slot=more**2 * model.inductance_slot,
            phases=Phases.of(winding, motor),
        ),
        losses=powered.losses.rewound(motor, before=powered.winding, after=winding),
        saturation=None if powered.saturation is None else powered.saturation.rewound(more),
        bridge=replace(powered.bridge, lead_resistance=winding.lead_resistance),
    )
