"""All losses of one machine, built once from the solved fields, evaluated at any speed.

Left out: what currents change in the field (core, magnets and strands see the field without
them), harmonics and ripple of the current, currents that circulate between parallel strands,
iron in shaft and housing.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from fem_motor.design import Motor
from fem_motor.findings import Finding
from fem_motor.losses.copper import AlternatingResistance, strand_eddy_coefficient
from fem_motor.losses.core import CoreLoss, core_loss
from fem_motor.losses.doubts import loss_ranges, unknown_losses
from fem_motor.losses.drag import Bearings, Windage
from fem_motor.losses.records import Losses, LossRange
from fem_motor.losses.rotor import RingLoss, magnet_eddy_coefficient, ring_loss
from fem_motor.materials import Conductor, Magnet
from fem_motor.quantities import MotorModel
from fem_motor.units import ROOM_C
from fem_motor.winding import Winding

CREEP = 1e-3
"""Speed, rad/s, at which drag is taken where the rotor stands: only friction and hysteresis are
left there."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LossModel:
    """Coefficients of all losses of a machine, SI, at 20 °C where temperature matters.

    Attributes
    ----------
    pole_pairs : int
    branch_resistance : float
        To direct current, mean of the three branches, ohm.
    lead_resistance : float
        Of one lead, ohm; it stays at 20 °C.
    controller_resistance : float
        Of a whole path, both switches, ohm.
    supply_resistance : float
        Ohm.
    wire : AlternatingResistance
    conductor : Conductor
    magnet : Magnet
        Its remanence over temperature scales what the field drives.
    strand_eddy : float
        W over (electrical rad/s)².
    core_teeth, core_yoke : CoreLoss or None
        None: the loss of the material is not known.
    magnet_eddy : float or None
        W over (mechanical rad/s)²; None: the resistivity is not known.
    ring_eddy : RingLoss or None
        None: not known, or there is no ring.
    windage : Windage
    bearings : Bearings
    ranges : mapping of kind to LossRange
        Of the estimates.
    findings : tuple of Finding
        What is not known.
    """

    pole_pairs: int
    branch_resistance: float
    lead_resistance: float
    controller_resistance: float
    supply_resistance: float
    wire: AlternatingResistance
    conductor: Conductor
    magnet: Magnet
    strand_eddy: float
    core_teeth: CoreLoss | None
    core_yoke: CoreLoss | None
    magnet_eddy: float | None
    ring_eddy: RingLoss | None
    windage: Windage
    bearings: Bearings
    ranges: Mapping[str, LossRange]
    findings: tuple[Finding, ...]

    def __post_init__(self) -> None:
        object.__setattr__(self, "ranges", MappingProxyType(dict(self.ranges)))

    def branch_resistance_at(self, speed: float, copper_C: float = ROOM_C) -> float:
        """Return the resistance of a branch to the fundamental, ohm, skin and proximity included.

        Parameters
        ----------
        speed : float
            Mechanical rad/s.
        copper_C : float
        """
        resistivity = self.conductor.resistivity_at(copper_C)
        direct = self.branch_resistance * resistivity / self.conductor.resistivity
        return direct * self.wire.factor(self.pole_pairs * abs(speed), resistivity)

    def rewound(self, motor: Motor, *, before: Winding, after: Winding) -> "LossModel":
        """Return the losses of the same fields with another wire in the slots.

        Parameters
        ----------
        motor : Motor
            Rewound.
        before, after : Winding
            Whose losses these are, and the rewound one.
        """
        copper_volumes = [sum(one.coil_turns) * one.copper_area for one in (before, after)]
        thickness = motor.winding.wire_diameter / self.wire.diameter
        return replace(
            self,
            branch_resistance=float(after.phase_resistances.mean()),
            lead_resistance=after.lead_resistance,
            wire=AlternatingResistance.of(motor, after),
            # Goes with the square of the diameter, and with the copper.
            strand_eddy=self.strand_eddy * thickness**2 * copper_volumes[1] / copper_volumes[0],
            ranges=loss_ranges(motor, after),
        )

    def drag(
        self,
        speed: float,
        *,
        copper_C: float = ROOM_C,
        magnet_C: float = ROOM_C,
        bearing_load: float = 0.0,
    ) -> dict[str, float]:
        """Return the power that holds the rotor back, W by kind.

        Parameters
        ----------
        speed : float
            Mechanical rad/s, either way.
        copper_C, magnet_C : float
            °C.
        bearing_load : float
            Force on the bearings, N.
        """
        turning = abs(speed)
        electrical = self.pole_pairs * turning
        frequency = electrical / (2 * math.pi)
        strength = self.magnet.remanence_at(magnet_C) / self.magnet.remanence_at(ROOM_C)
        cold = self.conductor.resistivity / self.conductor.resistivity_at(copper_C)
        watts = {"strand_eddy": self.strand_eddy * cold * (strength * electrical) ** 2}
        if self.core_teeth is not None and self.core_yoke is not None:
            watts["core_teeth"] = self.core_teeth.power(frequency, strength)
            watts["core_yoke"] = self.core_yoke.power(frequency, strength)
        if self.magnet_eddy is not None:
            watts["magnet_eddy"] = self.magnet_eddy * (strength * turning) ** 2
        if self.ring_eddy is not None:
            watts["ring_eddy"] = self.ring_eddy.power(turning) * strength**2
        watts["windage"] = self.windage.power(turning)
        watts["bearing"] = self.bearings.torque(bearing_load) * turning
        return watts

    def drag_torque(
        self,
        speed: float,
        *,
        copper_C: float = ROOM_C,
        magnet_C: float = ROOM_C,
        bearing_load: float = 0.0,
    ) -> float:
        """Return the torque that holds the rotor back, N m; at 0 what it takes to break away.

        Parameters as in `drag`.
        """
        turning = max(abs(speed), CREEP)
        watts = self.drag(turning, copper_C=copper_C, magnet_C=magnet_C, bearing_load=bearing_load)
        return sum(watts.values()) / turning

    def losses(
        self,
        speed: float,
        *,
        branch_current_rms: float = 0.0,
        line_current_rms: float = 0.0,
        supply_current: float = 0.0,
        copper_C: float = ROOM_C,
        magnet_C: float = ROOM_C,
        bearing_load: float = 0.0,
    ) -> Losses:
        """Return all losses at a speed.

        Parameters
        ----------
        speed : float
            Mechanical rad/s.
        branch_current_rms, line_current_rms : float
            Over the three phases, A; in a star they are the same.
        supply_current : float
            Mean, A.
        copper_C, magnet_C : float
            °C.
        bearing_load : float
            Force on the bearings, N.
        """
        resistivity = self.conductor.resistivity_at(copper_C)
        direct = self.branch_resistance * resistivity / self.conductor.resistivity
        direct_loss = 3 * direct * branch_current_rms**2
        extra = self.wire.factor(self.pole_pairs * abs(speed), resistivity) - 1
        line_square = line_current_rms**2
        watts = {
            "copper": direct_loss,
            "copper_ac": extra * direct_loss,
            "leads": 3 * self.lead_resistance * line_square,
            # A path is two switches, one in each of two lines: half of it in every line.
            "controller": 1.5 * self.controller_resistance * line_square,
            "supply": self.supply_resistance * supply_current**2,
            **self.drag(speed, copper_C=copper_C, magnet_C=magnet_C, bearing_load=bearing_load),
        }
        return Losses(speed=speed, watts=watts, ranges=self.ranges)


def loss_model(
    motor: Motor, winding: Winding, model: MotorModel, *, flux_factor: float = 1.0
) -> LossModel:
    """Return the losses of a solved machine.

    Parameters
    ----------
    motor, winding, model
    flux_factor : float
        The end factor: by it all flux densities of the section are multiplied.

    Examples
    --------
    >>> from fem_motor.design import load_design
    >>> from fem_motor.mesh import mesh_motor
    >>> from fem_motor.quantities import motor_model
    >>> from fem_motor.winding import wind
    >>> motor = load_design("geometries/printed_18s16p.toml").motor
    >>> winding = wind(motor)
    >>> model = motor_model(motor, winding, mesh_motor(motor, quality="draft"))
    >>> found = loss_model(motor, winding, model).losses(600.0, branch_current_rms=10.0)
    >>> bool(found.watts["copper"] > found.watts["strand_eddy"] > 0)
    True
    """
    parts = core_loss(motor, model, flux_factor=flux_factor)
    teeth, yoke = (None, None) if parts is None else parts
    has_ring = motor.rotor.ring is not None
    return LossModel(
        pole_pairs=motor.rotor.pole_pairs,
        branch_resistance=float(winding.phase_resistances.mean()),
        lead_resistance=winding.lead_resistance,
        controller_resistance=motor.drive.controller_resistance,
        supply_resistance=motor.drive.supply_resistance,
        wire=AlternatingResistance.of(motor, winding),
        conductor=winding.conductor,
        magnet=motor.rotor.magnet,
        strand_eddy=strand_eddy_coefficient(motor, winding, model, flux_factor=flux_factor),
        core_teeth=teeth,
        core_yoke=yoke,
        magnet_eddy=magnet_eddy_coefficient(motor, model, flux_factor=flux_factor),
        ring_eddy=ring_loss(motor, model, flux_factor=flux_factor) if has_ring else None,
        windage=Windage.of(motor, winding),
        bearings=Bearings.of(motor),
        ranges=loss_ranges(motor, winding),
        findings=unknown_losses(motor, model),
    )
