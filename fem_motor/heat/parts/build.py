"""From a motor and its winding to its thermal network."""

import math
from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np

from fem_motor.design import Motor
from fem_motor.errors import InputError
from fem_motor.findings import Finding
from fem_motor.heat.parts.network import SURROUNDINGS, Path, ThermalNetwork, Wall
from fem_motor.heat.parts.sizes import LINER, HeatSizes, Mount, capacities, known_limit
from fem_motor.units import MM
from fem_motor.winding import Winding

PLASTIC_MARGIN = 10.0
"""K below the deflection temperature that plastic stays; common practice, no source."""

ENAMEL_MARGIN = 20.0
"""K below its thermal class that enamel stays; common practice, no source."""

MOUNT = {"printed": (45.0, (20.0, 100.0)), "metal": (4.5, (2.0, 10.0))}
"""K/W from the mount to the surroundings, likely and range; common practice, no source."""

GLUE = 0.1 * MM / 0.2
"""m² K/W of a glue line behind a magnet or ring: 0.1 mm of epoxy of 0.2 W/(m K)."""

PRESS_FIT = 1e-3
"""m² K/W between yoke and mount; an estimate from memory."""

SWIRL = 0.5
"""Share of the rotor's speed with which the fluid in it turns; our assumption."""

WET_INSULATION = 0.5 * MM / 0.2
"""m² K/W of potting or varnish between end turns and water."""

Ends = tuple[str, str]
Layer = tuple[Ends, Path]


def thermal_network(
    motor: Motor,
    winding: Winding,
    *,
    speed: float = 0.0,
    airflow: float | None = None,
    mount: Mount | None = None,
) -> ThermalNetwork:
    """Return the network of a motor: the parts a maker can touch and the paths between them.

    Parameters
    ----------
    motor, winding
    speed : float
        Mechanical rad/s.
    airflow : float or None
        Over the motor from outside, m/s: of a propeller, or of the way of the boat. None: that of
        the design.
    mount : "printed", "metal" or None
        What the motor sits on; None: printed where its core is plastic.

    Raises
    ------
    InputError
        Negative speed or airflow.
    """
    _refuse_negative(speed=speed, airflow=airflow or 0.0)
    if airflow is not None:
        motor = replace(motor, cooling=replace(motor.cooling, airflow=airflow))
    soft = motor.stator.core.deflection_temperature_C
    kind: Mount = mount or ("metal" if soft is None else "printed")
    sizes = HeatSizes(motor=motor, winding=winding, mount=kind)
    stored = capacities(sizes)
    names = tuple(stored)
    wall = _slot_wall(sizes, names)
    active = 2 * motor.stack_length / winding.turn_length
    return ThermalNetwork(
        parts=names,
        capacities=np.array(list(stored.values())),
        paths=tuple(_placed(ends, path, names) for ends, path in _paths(sizes, names)),
        walls=(wall,),
        limits_C=_limits(motor, winding, (*names, wall.name)),
        softening_C=soft,
        core_readings=("teeth", "yoke", wall.name),
        surroundings_C=motor.cooling.ambient_C,
        speed=speed,
        copper_share=np.array([active, 1 - active, *[0.0] * (len(names) - 2)]),
        copper_volume=winding.copper_mass / (winding.conductor.density or math.nan),
        resistivity=winding.conductor.resistivity,
        temperature_coefficient=winding.conductor.temperature_coefficient,
        mount_resistance=MOUNT[kind][0],
        mount_range=MOUNT[kind][1],
        findings=_assumptions(sizes),
    )


def _refuse_negative(**numbers: float) -> None:
    for name, value in numbers.items():
        if not (math.isfinite(value) and value >= 0):
            raise InputError(
                f"= {value} is impossible.",
                why="films need a number from 0 on.",
                do="give the amount; the direction does not matter.",
                place=name,
            )


def slab(thickness: float, conductivity: float, area: float) -> float:
    """Return the resistance of a layer, K/W.

    Examples
    --------
    A printed tooth 9 mm long, 3 mm by 10 mm, filled with a tenth of iron:

    >>> round(slab(9e-3, 0.27, 3e-3 * 10e-3))
    1111
    """
    return thickness / (conductivity * area)


def _placed(ends: Ends, path: Path, names: tuple[str, ...]) -> Path:
    start, end = ends
    place = SURROUNDINGS if end == "surroundings" else names.index(end)
    return replace(path, start=names.index(start), end=place)


def _path(**layers: object) -> Path:
    return replace(Path(start=0, end=0), **layers)  # type: ignore[arg-type]  # placed later


def _paths(sizes: HeatSizes, names: tuple[str, ...]) -> Iterator[Layer]:
    yield from _from_copper(sizes)
    yield from _from_end_turns(sizes)
    yield from _through_core(sizes)
    yield from _through_gap(sizes)
    yield from _through_rotor(sizes, names)


def _half_coil(sizes: HeatSizes, area: float) -> float:
    """From the mean of a coil to its face: a slab heated evenly, cooled on one side."""
    return slab(sizes.coil_thickness / 3, sizes.across_wires, area)


def _liner(sizes: HeatSizes, area: float) -> float:
    return slab(sizes.motor.stator.slot_liner, LINER, area)


def _slot_wall(sizes: HeatSizes, names: tuple[str, ...]) -> Wall:
    """Return the faces of the teeth under the coils.

    From the mean of a tooth to its sides half its width counts a third: heat that spreads from
    both sides.
    """
    area, stator = sizes.tooth_sides, sizes.motor.stator
    return Wall(
        name="slot walls",
        hot=names.index("copper"),
        cold=names.index("teeth"),
        to_cold=slab(stator.tooth_width / 6, sizes.core_conductivity, area),
        to_hot=_half_coil(sizes, area) + _liner(sizes, area),
        contact_area=area,
    )


def _from_copper(sizes: HeatSizes) -> Iterator[Layer]:
    wall = _slot_wall(sizes, ("copper", "teeth"))
    resistance = wall.to_cold + wall.to_hot
    yield (
        ("copper", "teeth"),
        _path(resistance=resistance, contact_area=wall.contact_area),
    )
    if sizes.slot_bottoms > 0:
        area, stator = sizes.slot_bottoms, sizes.motor.stator
        layers = (
            slab(sizes.coil_height / 3, sizes.across_wires, area)
            + _liner(sizes, area)
            + slab(stator.yoke_thickness / 3, sizes.core_conductivity, area)
        )
        yield ("copper", "yoke"), _path(resistance=layers, contact_area=area)
    wires = 4 * sum(sizes.winding.coil_turns) * sizes.winding.copper_area
    # Mean to mean of two evenly heated bars end to end, half of each: a third of either.
    along = (sizes.motor.stack_length + sizes.end_length) / 6
    conductivity = sizes.winding.conductor.thermal_conductivity or 395.0
    yield ("copper", "end turns"), _path(resistance=slab(along, conductivity, wires))


def _from_end_turns(sizes: HeatSizes) -> Iterator[Layer]:
    stator, motor = sizes.motor.stator, sizes.motor
    seat = sizes.coils * 2 * stator.tooth_width * sizes.coil_height
    layers = (
        _half_coil(sizes, seat)
        + _liner(sizes, seat)
        + slab(motor.stack_length / 6, sizes.axial_conductivity, seat)
    )
    yield ("end turns", "teeth"), _path(resistance=layers, contact_area=seat)
    area = sizes.end_surface
    inside = slab(sizes.overhang / 6, sizes.across_wires, area)
    if sizes.surroundings.is_water:
        inside += WET_INSULATION / area
    for end, film in _end_films(sizes):
        yield ("end turns", end), _path(resistance=inside, films=((film, area),))


def _end_films(sizes: HeatSizes) -> Iterator[tuple[str, Callable[[float, float, float], float]]]:
    """Yield the open end, which flow from outside reaches, and the end under the bell."""
    radius, airflow = sizes.motor.stator.outer_radius, sizes.motor.cooling.airflow
    around = sizes.surroundings
    yield "surroundings", around.end_film(radius, swirl=SWIRL, airflow=airflow)
    yield "inner air", around.end_film(radius, swirl=SWIRL, airflow=0.0)


def _through_core(sizes: HeatSizes) -> Iterator[Layer]:
    stator, inside = sizes.motor.stator, sizes.core_conductivity
    half_yoke = stator.yoke_thickness / 2
    # A tooth heated along its sides passes all its heat at the root and none at the tip: on the
    # mean a third of its length.
    root = slab(sizes.tooth_length / 3, inside, sizes.tooth_section)
    yield (
        ("teeth", "yoke"),
        _path(resistance=root + slab(half_yoke, inside, sizes.yoke_middle)),
    )
    seat = slab(half_yoke, inside, sizes.yoke_middle) + PRESS_FIT / sizes.bore
    yield ("yoke", "mount"), _path(resistance=seat)
    yield ("mount", "surroundings"), _path(is_mount=True)
    face = slab(sizes.motor.stack_length / 6, sizes.axial_conductivity, sizes.yoke_end)
    for end, film in _end_films(sizes):
        yield ("yoke", end), _path(resistance=face, films=((film, sizes.yoke_end),))


def _through_gap(sizes: HeatSizes) -> Iterator[Layer]:
    motor, film = sizes.motor, sizes.surroundings.gap_film(sizes.motor.air_gap)
    tip = slab(sizes.tooth_length / 3, sizes.core_conductivity, sizes.tooth_section)
    yield ("teeth", "gap air"), _path(resistance=tip, films=((film, sizes.tooth_tips),))
    top = slab(sizes.coil_height / 3, sizes.across_wires, sizes.slot_openings)
    yield ("copper", "gap air"), _path(resistance=top, films=((film, sizes.slot_openings),))
    rotor = motor.rotor
    bore = 2 * math.pi * (rotor.magnet_inner_radius - rotor.pocket_skin) * motor.stack_length
    skin = slab(rotor.pocket_skin, sizes.conductivity(rotor.housing), bore)
    yield ("magnets", "gap air"), _path(resistance=skin, films=((film, bore),))


def _through_rotor(sizes: HeatSizes, names: tuple[str, ...]) -> Iterator[Layer]:
    """Yield magnets to ring to housing to surroundings, each with what the motor has of it."""
    motor, rotor = sizes.motor, sizes.motor.rotor
    backs = sizes.magnet_backs
    inside = slab(rotor.magnet_thickness / 2, sizes.conductivity(rotor.magnet), backs)
    last, half = "magnets", inside + GLUE / backs
    if "ring" in names and rotor.ring is not None:
        area = 2 * math.pi * rotor.ring_outer_radius * motor.stack_length
        ring = slab(rotor.ring_thickness / 2, sizes.conductivity(rotor.ring), area)
        yield (last, "ring"), _path(resistance=half + ring)
        last, half = "ring", ring + GLUE / area
    outer = 2 * math.pi * rotor.housing_outer_radius * sizes.can_length
    if "housing" in names:
        middle = math.pi * (rotor.ring_outer_radius + rotor.housing_outer_radius)
        wall = sizes.conductivity(rotor.housing) * middle
        shell = rotor.housing_thickness / 2 / wall
        yield (last, "housing"), _path(resistance=half + shell / motor.stack_length)
        last, half = "housing", shell / sizes.can_length
    barrel = sizes.surroundings.barrel_film(2 * rotor.housing_outer_radius, sizes.can_length)
    yield (last, "surroundings"), _path(resistance=half, films=((barrel, outer),))
    yield _bell(sizes)


def _bell(sizes: HeatSizes) -> Layer:
    """Return the way from the inner air out through the closed end of the housing."""
    rotor = sizes.motor.rotor
    radius = rotor.housing_outer_radius
    area = math.pi * radius**2
    thickness = max(rotor.housing_thickness, 1 * MM)
    wall = slab(thickness, sizes.conductivity(rotor.housing), area)
    inner = sizes.surroundings.end_film(radius, swirl=SWIRL, airflow=0.0)
    outer = sizes.surroundings.disc_film(radius)
    return (
        ("inner air", "surroundings"),
        _path(resistance=wall, films=((inner, area), (outer, area))),
    )


def _limits(motor: Motor, winding: Winding, names: tuple[str, ...]) -> tuple[float | None, ...]:
    rotor = motor.rotor
    core = known_limit(motor.stator.core, margin=PLASTIC_MARGIN)
    enamel = winding.conductor.maximum_temperature_C
    wire = None if enamel is None else enamel - ENAMEL_MARGIN
    known = {
        "copper": wire,
        "end turns": wire,
        "teeth": core,
        "yoke": core,
        "slot walls": core,
        "magnets": known_limit(rotor.magnet, margin=PLASTIC_MARGIN),
        "ring": None if rotor.ring is None else known_limit(rotor.ring, margin=PLASTIC_MARGIN),
        "housing": known_limit(rotor.housing, margin=PLASTIC_MARGIN),
    }
    return tuple(known.get(name) for name in names)


def _assumptions(sizes: HeatSizes) -> tuple[Finding, ...]:
    low, high = MOUNT[sizes.mount][1]
    found = [
        Finding(
            name=f"mount of the motor: {sizes.mount}",
            status="watch",
            why=f"the file does not say what the motor sits on; {low:g} to {high:g} K/W to the "
            "surroundings are common practice, no source.",
            do="measure how warm the mount gets, or take the range of the answers.",
        )
    ]
    if sizes.surroundings.is_water:
        found.append(
            Finding(
                name="motor under water",
                status="watch",
                why="gap, bell and end turns are taken to be full of water: it cools well, drags "
                "hard, eats plated magnets and plain steel, and leaks current through the pinholes "
                "of bare enamel. Prints of PLA and nylon swell or decay in it.",
                do="pot or varnish the winding twice and test its insulation; coat magnets, ring "
                "and sheets; print in ASA or PETG; extra-low voltage from a battery only, and "
                "local code and licensed practice for any other supply.",
            )
        )
    missing = dict.fromkeys(sizes.assumed)
    if missing:
        found.append(
            Finding(
                name="thermal values of materials that were assumed",
                status="watch",
                why=f"the materials do not tell {'; '.join(missing)} (SI).",
                do="give them in [materials].",
            )
        )
    return tuple(found)
