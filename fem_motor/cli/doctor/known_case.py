"""A machine whose field has a closed form: what `doctor` solves to see that the solver is sound.

The magnets stand in free space: core and ring have the permeability of vacuum, the magnets a
recoil permeability of 1, so the field in the gap is that of a radially magnetised tube of p pole
pairs. In the gap the radial component of order p is

    B_p(r) = (2/π) Br p/(p − 1) r^(p−1) (R_i^(1−p) − R_o^(1−p)),   p > 1,

from ∇²A = (μ0/r) ∂M/∂θ, of which M takes the fundamental 4/π of a square wave; the solution is
the integral over the tube of (r/r')^p / (2 p) times that source.
"""

import math

POLE_PAIRS = 2
STATOR_RADIUS_MM, GAP_MM, MAGNET_THICKNESS_MM = 10.0, 2.0, 3.0
REMANENCE_T = 1.2
TOLERANCE = 0.01
DESIGN = f"""
title = "Installation test: magnets in free space"
[machine]
slots = 3
poles = {2 * POLE_PAIRS}
stack_length_mm = 10.0
air_gap_mm = {GAP_MM}
[stator]
outer_diameter_mm = {2 * STATOR_RADIUS_MM}
inner_diameter_mm = 4.0
yoke_thickness_mm = 2.0
tooth_width_mm = 3.0
slot_opening_mm = 3.0
tip_thickness_mm = 1.0
core = "vacuum-core"
[rotor]
magnet_shape = "arc"
magnet_arc_fraction = 1.0
magnet_thickness_mm = {MAGNET_THICKNESS_MM}
magnetisation = "radial"
magnet = "ideal-magnet"
[winding]
turns_per_tooth = 10
wire_diameter_mm = 0.3
[materials.vacuum-core]
kind = "core"
relative_permeability = 1.0
source = "vacuum"
[materials.ideal-magnet]
kind = "magnet"
remanence_T = {REMANENCE_T}
recoil_permeability = 1.0
source = "ideal"
"""


def expected_gap_fundamental() -> float:
    """Return the amplitude of order p of the radial flux density in the middle of the gap, in T."""
    p = POLE_PAIRS
    inner = STATOR_RADIUS_MM + GAP_MM
    outer = inner + MAGNET_THICKNESS_MM
    radius = STATOR_RADIUS_MM + GAP_MM / 2
    reach = radius ** (p - 1) * (inner ** (1 - p) - outer ** (1 - p))
    return 2 / math.pi * REMANENCE_T * p / (p - 1) * reach
