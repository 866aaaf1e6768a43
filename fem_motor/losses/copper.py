"""Copper: what alternating current and the magnets' field add to the resistance.

Two things that are often confused: the field of the current itself crowds it together (skin and
proximity, ∝ I²), and the field of the magnets drives eddy currents in every strand, with or
without current (∝ speed², a drag on the rotor).
"""

import math
from dataclasses import dataclass

import numpy as np
from scipy.special import jv

from fem_motor.design import Motor, coil_side_area
from fem_motor.losses.waves import rates, square
from fem_motor.quantities import MotorModel
from fem_motor.units import MU_0
from fem_motor.winding import Winding

THIN = 1e-3
"""Thickness over skin depth below which alternating current flows as direct current."""


def skin_depth(*, angular_frequency: float, resistivity: float, permeability: float = 1.0) -> float:
    """Return √(2 ρ/(ω μ)), m; the permeability is relative.

    >>> round(1e3 * skin_depth(angular_frequency=2e3 * math.pi, resistivity=1.7241e-8), 2)
    2.09
    """
    return math.sqrt(2 * resistivity / (angular_frequency * MU_0 * permeability))


def isolated_wire_factor(diameter_over_depth: float) -> float:
    """Return R_ac/R_dc of a round wire far from others.

    Re[k a J₀(k a)/(2 J₁(k a))] with k a = (1 − j) d/(2 δ); for thin wires 1 + (d/δ)⁴/768.
    Source: Lord Kelvin's solution, as in text books, from memory.
    """
    if diameter_over_depth < THIN:
        return 1.0
    ka = (1 - 1j) * diameter_over_depth / 2
    return float((ka * jv(0, ka) / (2 * jv(1, ka))).real)


def layers_factor(thickness_over_depth: float, layers: float) -> float:
    """Return R_ac/R_dc of conductors in layers across a slot.

    ξ [(sinh 2ξ + sin 2ξ)/(cosh 2ξ − cos 2ξ) + ⅔ (m² − 1) (sinh ξ − sin ξ)/(cosh ξ + cos ξ)],
    for thin layers 1 + (5 m² − 1)/45 ξ⁴. Source: P. L. Dowell, Proc. IEE 113 (1966) 1387, from
    memory.

    Parameters
    ----------
    thickness_over_depth : float
        ξ; of round wire (√π/2) (d/δ) √(share of the layer's width that is wire).
    layers : float
        m, one upon the other.
    """
    x = thickness_over_depth
    if x < THIN:
        return 1.0
    own = (math.sinh(2 * x) + math.sin(2 * x)) / (math.cosh(2 * x) - math.cos(2 * x))
    others = (math.sinh(x) - math.sin(x)) / (math.cosh(x) + math.cos(x))
    return x * (own + 2 / 3 * (layers**2 - 1) * others)


@dataclass(frozen=True, slots=True, kw_only=True)
class AlternatingResistance:
    """How the resistance of a winding grows with frequency.

    Attributes
    ----------
    diameter : float
        Bare, of a strand, m.
    layers : float
        Strands upon each other over the depth of the slot.
    layer_fill : float
        Share of a layer's width that is wire.
    slot_share : float
        Of the wire's length that lies in slots; the ends count as isolated wire.
    """

    diameter: float
    layers: float
    layer_fill: float
    slot_share: float

    @classmethod
    def of(cls, motor: Motor, winding: Winding) -> "AlternatingResistance":
        """Return that of a wound machine: strands in a square lattice that fills the coil side.

        Both sides in a slot are taken to carry the same current, which is a little too much where
        they belong to different phases.
        """
        stator = motor.stator
        side = coil_side_area(stator) * (2 if winding.layers == 1 else 1)
        wires = max(winding.coil_turns) * winding.strands
        pitch = math.sqrt(side / wires)
        depth = stator.tip_corner_radius - stator.yoke_radius - 2 * stator.slot_liner
        diameter = motor.winding.wire_diameter
        return cls(
            diameter=diameter,
            layers=max(1.0, depth / pitch),
            layer_fill=min(1.0, diameter / pitch),
            slot_share=2 * motor.stack_length / winding.turn_length,
        )

    def factor(self, angular_frequency: float, resistivity: float) -> float:
        """Return R_ac/R_dc at an electrical frequency, rad/s, and a resistivity, Ω m."""
        if angular_frequency <= 0:
            return 1.0
        ratio = self.diameter / skin_depth(
            angular_frequency=angular_frequency, resistivity=resistivity
        )
        in_slot = layers_factor(math.sqrt(math.pi * self.layer_fill) / 2 * ratio, self.layers)
        return self.slot_share * in_slot + (1 - self.slot_share) * isolated_wire_factor(ratio)


def strand_loss_density(
    *, mean_square_rate: float, angular_frequency: float, diameter: float, resistivity: float
) -> float:
    """Return the eddy loss of round wire in a field across it, W/m³: ω² d² ⟨|dB/dϑ|²⟩/(16 ρ).

    Of an alternating field of amplitude B the mean square of dB/dϑ is B²/2 and this is
    ω² B² d²/(32 ρ); of a turning one twice that. The wire is thin against the skin depth.
    Source: round wire in a uniform field, e.g. C. R. Sullivan, IEEE Trans. Power Electron. 16
    (2001) 142, from memory.
    """
    return angular_frequency**2 * diameter**2 * mean_square_rate / (16 * resistivity)


def coil_mean_square_rate(motor: Motor, model: MotorModel) -> float:
    """Return ⟨|dB/dϑ|²⟩ over coil sides and an electrical period, T²; both components."""
    waves = model.element_waves("stator", ("coil",))
    change = rates(
        waves.flux_density, step=motor.rotor.pole_pairs * waves.step, is_closed=waves.is_closed
    )
    by_element = np.mean(square(change), axis=(0, 2))
    return float(by_element @ waves.area / waves.area.sum())


def strand_eddy_coefficient(
    motor: Motor, winding: Winding, model: MotorModel, *, flux_factor: float = 1.0
) -> float:
    """Return the strands' eddy loss over (electrical rad/s)² at 20 °C, W s².

    Of the wire inside the stack; the end turns lie outside the field. It goes with the square of
    the strand's diameter at the same copper.
    """
    wire = 2 * motor.stack_length * sum(winding.coil_turns)
    density = strand_loss_density(
        mean_square_rate=flux_factor**2 * coil_mean_square_rate(motor, model),
        angular_frequency=1.0,
        diameter=motor.winding.wire_diameter,
        resistivity=winding.conductor.resistivity,
    )
    return density * wire * winding.copper_area
