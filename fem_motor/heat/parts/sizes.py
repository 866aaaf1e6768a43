"""Sizes and materials of a motor as heat sees them: areas, volumes, conductivities, masses."""

import math
from dataclasses import dataclass, field
from typing import Literal

from fem_motor.design import Motor, coil_side_area
from fem_motor.heat.parts.copper import winding_conductivity
from fem_motor.heat.parts.films import Surroundings
from fem_motor.materials import Core, Magnet, Structure
from fem_motor.units import MM
from fem_motor.winding import Winding

Mount = Literal["printed", "metal"]
Part = Core | Magnet | Structure

ACROSS_SHEETS = 3.0
"""W/(m K) across a stack of sheets, 2 to 4; from memory."""

METALLIC = 5.0
"""W/(m K) above which a core counts as metal."""

LINER = 0.2
"""W/(m K) of slot liner: paper, film or plastic, 0.15 to 0.25; from memory."""

FILM_C = 40.0
"""°C at which what is between the wires and in the gap is taken for its conductivity."""

SHAFT_RADIUS = 2.5 * MM
TUBE = {"printed": 3 * MM, "metal": 2 * MM}
"""Wall of the bearing tube in the bore, by the kind of mount. Our assumption."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatSizes:
    """What paths and capacities are computed from, SI.

    Attributes
    ----------
    motor, winding
    mount : "printed" or "metal"
    assumed : list of str
        Grows by one entry for each material value that had to be assumed.
    """

    motor: Motor
    winding: Winding
    mount: Mount
    assumed: list[str] = field(default_factory=list)

    @property
    def surroundings(self) -> Surroundings:
        """Return the medium around the motor."""
        cooling = self.motor.cooling
        return Surroundings(
            medium=cooling.medium,
            ambient_C=cooling.ambient_C,
            airflow=cooling.airflow,
            air_density=cooling.air_density,
        )

    def conductivity(self, part: Part) -> float:
        """Return W/(m K), assumed where the material does not tell."""
        default = 0.2 if part.deflection_temperature_C is not None else 25.0
        return self._known(part, "thermal_conductivity", 8.0 if part.kind == "magnet" else default)

    def volumetric_heat(self, part: Part) -> float:
        """Return ρ c, J/(m³ K), assumed where the material does not tell."""
        soft = part.deflection_temperature_C is not None
        density = self._known(
            part, "density", Structure.usual_density["plastic" if soft else "magnet"]
        )
        return density * self._known(part, "heat_capacity", 1500.0 if soft else 460.0)

    def _known(self, part: Part, name: str, default: float) -> float:
        value = getattr(part, name)
        if value is not None:
            return float(value)
        self.assumed.append(f"{name.replace('_', ' ')} of {part.name}: {default:g}")
        return default

    @property
    def core_conductivity(self) -> float:
        """In the section, W/(m K), what is not core taken as nothing."""
        stator = self.motor.stator
        return self.conductivity(stator.core) * stator.core_fraction

    @property
    def axial_conductivity(self) -> float:
        """Along the stack, W/(m K)."""
        inside = self.core_conductivity
        return min(inside, ACROSS_SHEETS) if inside > METALLIC else inside

    @property
    def tooth_length(self) -> float:
        """From the yoke to the tip, m."""
        return self.motor.stator.outer_radius - self.motor.stator.yoke_radius

    @property
    def coil_height(self) -> float:
        """Of a coil side along the tooth, m."""
        stator = self.motor.stator
        return stator.tip_corner_radius - stator.yoke_radius - 2 * stator.slot_liner

    @property
    def coil_thickness(self) -> float:
        """Mean, of a coil side in half a slot, m."""
        return coil_side_area(self.motor.stator) / self.coil_height

    @property
    def coils(self) -> int:
        """Number of coils."""
        return sum(1 for turns in self.winding.coil_turns if turns)

    @property
    def overhang(self) -> float:
        """Of the end turns beyond the stack at each end, m: the thickness of the coil."""
        return self.coil_thickness * (2 if self.winding.layers == 1 else 1)

    @property
    def end_length(self) -> float:
        """Of one end turn, m."""
        return self.winding.turn_length / 2 - self.motor.stack_length

    @property
    def end_surface(self) -> float:
        """Of the end turns at one end, m²: outside, top and bottom of each."""
        return self.coils * self.end_length * (self.coil_height + 2 * self.overhang)

    @property
    def across_wires(self) -> float:
        """Conductivity of the coil across its wires, W/(m K), the medium between them."""
        filler = self.surroundings.fluid(FILM_C).conductivity
        return winding_conductivity(
            min(self.winding.fill_factor, 0.9),
            filler=filler,
            wire=self.winding.conductor.thermal_conductivity or 395.0,
        )

    @property
    def tooth_section(self) -> float:
        """Of all teeth across the flow of heat to the yoke, m²."""
        stator = self.motor.stator
        return stator.slots * stator.tooth_width * self.motor.stack_length

    @property
    def tooth_sides(self) -> float:
        """Of all teeth along the coils, m²; two for each tooth, with one layer of coils as well."""
        return 2 * self.motor.stator.slots * self.coil_height * self.motor.stack_length

    @property
    def slot_bottoms(self) -> float:
        """Of all slots, m²."""
        stator = self.motor.stator
        width = 2 * math.pi * stator.yoke_radius - stator.slots * stator.tooth_width
        return max(width, 0.0) * self.motor.stack_length

    @property
    def tooth_tips(self) -> float:
        """Faces of all teeth in the gap, m²."""
        stator = self.motor.stator
        width = 2 * math.pi * stator.outer_radius - stator.slots * stator.slot_opening
        return width * self.motor.stack_length

    @property
    def slot_openings(self) -> float:
        """Of all slots, m²."""
        stator = self.motor.stator
        return stator.slots * stator.slot_opening * self.motor.stack_length

    @property
    def yoke_end(self) -> float:
        """Area of one end of the yoke, m²."""
        stator = self.motor.stator
        return math.pi * (stator.yoke_radius**2 - stator.inner_radius**2)

    @property
    def yoke_middle(self) -> float:
        """Cylinder half-way through the yoke, m²."""
        stator = self.motor.stator
        radius = (stator.yoke_radius + stator.inner_radius) / 2
        return 2 * math.pi * radius * self.motor.stack_length

    @property
    def bore(self) -> float:
        """Seat of the mount, m²; of a shaft of 5 mm where the core is solid."""
        radius = self.motor.stator.inner_radius or SHAFT_RADIUS
        return 2 * math.pi * radius * self.motor.stack_length

    @property
    def can_length(self) -> float:
        """Of the housing along the shaft, m: stack and both ends of the coils."""
        return self.motor.stack_length + 2 * self.overhang

    @property
    def magnet_section(self) -> float:
        """Area of all magnets in the section, m²."""
        rotor = self.motor.rotor
        if rotor.magnet_width is not None:
            return rotor.segments * rotor.magnet_width * rotor.magnet_thickness
        outer = rotor.magnet_inner_radius + rotor.magnet_thickness
        annulus = math.pi * (outer**2 - rotor.magnet_inner_radius**2)
        return (rotor.magnet_arc_fraction or 1.0) * annulus

    @property
    def magnet_backs(self) -> float:
        """Outer faces of all magnets, m²."""
        return self.magnet_section / self.motor.rotor.magnet_thickness * self.motor.stack_length


def capacities(sizes: HeatSizes) -> dict[str, float]:
    """Return J/K of every part, by name, in the order of the network."""
    motor, winding = sizes.motor, sizes.winding
    stator, rotor, length = motor.stator, motor.rotor, motor.stack_length
    wire = winding.copper_mass * (winding.conductor.heat_capacity or 385.0)
    active = 2 * length / winding.turn_length
    core = sizes.volumetric_heat(stator.core) * stator.core_fraction * length
    tips = stator.tip_thickness * max(
        0.0, sizes.tooth_tips / length - stator.slots * stator.tooth_width
    )
    teeth = sizes.tooth_section / length * sizes.tooth_length + tips
    magnets = sizes.magnet_section
    pockets = _annulus(rotor.magnet_inner_radius - rotor.pocket_skin, rotor.magnet_outer_radius)
    shell = _annulus(rotor.ring_outer_radius, rotor.housing_outer_radius) * sizes.can_length
    between = sizes.volumetric_heat(rotor.housing) * max(pockets - magnets, 0.0) * length
    found = {
        "copper": wire * active,
        "end turns": wire * (1 - active),
        "teeth": core * teeth,
        "yoke": core * sizes.yoke_end,
        "mount": _mount_capacity(sizes),
        "magnets": sizes.volumetric_heat(rotor.magnet) * magnets * length,
    }
    if rotor.ring is not None and rotor.ring_thickness > 0:
        ring = _annulus(rotor.magnet_outer_radius, rotor.ring_outer_radius) * length
        found["ring"] = sizes.volumetric_heat(rotor.ring) * ring
    if shell > 0:
        found["housing"] = sizes.volumetric_heat(rotor.housing) * shell + between
    else:
        found["magnets"] += between
    return {**found, **_fluid_capacities(sizes)}


def _annulus(inner: float, outer: float) -> float:
    return math.pi * max(outer**2 - inner**2, 0.0)


def _mount_capacity(sizes: HeatSizes) -> float:
    """Tube in the bore and shaft in it, both as long as the stack: our assumption."""
    bore = sizes.motor.stator.inner_radius
    wall = min(TUBE[sizes.mount], bore)
    plastic, steel = Structure.usual_density["plastic"], Structure.usual_density["steel"]
    tube = plastic * 1600.0 if sizes.mount == "printed" else 2700.0 * 900.0
    section = tube * _annulus(bore - wall, bore) + steel * 475.0 * math.pi * SHAFT_RADIUS**2
    return section * sizes.motor.stack_length


def _fluid_capacities(sizes: HeatSizes) -> dict[str, float]:
    motor, fluid = sizes.motor, sizes.surroundings.fluid(FILM_C)
    inner = motor.stator.outer_radius
    gap = _annulus(inner, inner + motor.air_gap) * motor.stack_length
    ends = math.pi * inner**2 * sizes.overhang
    heat = fluid.density * fluid.heat_capacity
    return {"gap air": heat * gap, "inner air": heat * ends}


def known_limit(material: Part, *, margin: float) -> float | None:
    """Return deflection temperature less `margin`, or the highest continuous one, °C."""
    if material.deflection_temperature_C is not None:
        return material.deflection_temperature_C - margin
    return material.maximum_temperature_C
