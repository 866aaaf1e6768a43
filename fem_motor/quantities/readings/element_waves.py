"""What every element of a body sees while the rotor turns: waves of A and B without currents.

Of a machine as designed half a cogging period is solved. With d that period and m pole pitches −
s slot pitches = d, turning by d shows a tooth (−1)^m times what the tooth s further on saw before,
and a pole what the pole m further on saw. The mirror turns the order of the copies round:
A of copy c at −θ is −A of copy −1 − c at θ. So all teeth see the same wave one after the other,
and so do all poles.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from fem_motor.arrays import FloatArray, IntArray, frozen, frozen_integers
from fem_motor.field import FieldSweep
from fem_motor.mesh import Region
from fem_motor.quantities.fields.no_load import slot_shift

Part = Literal["stator", "rotor"]

FEWEST_ANGLES = 96
"""Of a wave that is joined from shifted parts: harmonics up to the 47th then count."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ElementWaves:
    """A and B of m elements in k copies of the half cell, in axes that turn with their body.

    Attributes
    ----------
    step : float
        Between two samples, rad of the rotor.
    is_closed : bool
        Whether the n samples are one period, equally spaced, end excluded. A machine that is not
        as designed repeats after a turn only; its samples are an electrical period, in all copies.
    share : float
        Copies of the whole machine that each of the k stands for.
    potential : (k, m, n) Wb/m
    flux_density : (k, 2, m, n) T
        Along the axis of the copy's tooth or magnet, and across it.
    area, radius : (m,) m², m
        Of an element and its centre.
    region : (m,)
        Index into `REGIONS` of the mesh.
    """

    step: float
    is_closed: bool
    share: float
    potential: FloatArray
    flux_density: FloatArray
    area: FloatArray
    radius: FloatArray
    region: IntArray

    def __post_init__(self) -> None:
        for name in ("potential", "flux_density", "area", "radius"):
            object.__setattr__(self, name, frozen(getattr(self, name)))
        object.__setattr__(self, "region", frozen_integers(self.region))


def element_waves(
    solved: FieldSweep,
    part: Part,
    regions: Sequence[Region],
    *,
    poles: int,
    is_as_designed: bool,
) -> ElementWaves:
    """Return what the elements of `regions` see.

    In the stator over an electrical period, in the rotor over a slot pitch.

    Parameters
    ----------
    solved : FieldSweep
        Half a cogging period, both ends included, of a machine as designed; else equal steps over
        an electrical period of the whole circle.
    part : "stator" or "rotor"
    regions : sequence of Region
    poles : int
    is_as_designed : bool
    """
    found = solved.element_fields(part, regions)
    body = solved.problem.stator if part == "stator" else solved.problem.rotor
    copies, flux_density = body.copies * body.sectors, found.flux_density
    potential = found.potential
    if is_as_designed:
        joint = _Joint.of(solved, part, poles)
        potential, flux_density = joint.join(potential, -1), joint.join(flux_density, 1)
        copies_kept = len(joint.first)
        step = joint.stride * float(solved.angle[1] - solved.angle[0])
    else:
        potential, flux_density = np.moveaxis(potential, 0, -1), np.moveaxis(flux_density, 0, -1)
        copies_kept = copies
        step = float(solved.angle[1] - solved.angle[0])
    return ElementWaves(
        step=step,
        is_closed=is_as_designed,
        share=copies / copies_kept,
        potential=potential,
        flux_density=flux_density,
        area=found.area,
        radius=found.radius,
        region=found.region,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Joint:
    """How the wave of a few copies is joined from what others saw in half a cogging period.

    Attributes
    ----------
    first : (k,)
        The copies whose waves are wanted: one tooth's half, or one pole's, beginning with the
        clockwise half of its first magnet.
    ahead : int
        Copies further on after every cogging period.
    sign : 1 or -1
        With which the field repeats there.
    periods : int
        Cogging periods in the wave.
    stride : int
        Of the solved angles, every one so many is taken.
    copies, sectors, sector_sign : int
        Of the body.
    """

    first: IntArray
    ahead: int
    sign: int
    periods: int
    stride: int
    copies: int
    sectors: int
    sector_sign: int

    @classmethod
    def of(cls, solved: FieldSweep, part: Part, poles: int) -> "_Joint":
        slots = solved.problem.slots
        m, s = slot_shift(slots, poles)
        in_all = math.lcm(slots, poles)
        if part == "stator":
            body = solved.problem.stator
            first, ahead, periods = np.array([0]), 2 * s, 2 * in_all // poles
        else:
            body = solved.problem.rotor
            per_pole = body.copies * body.sectors // poles
            first = np.arange(per_pole) - 1
            ahead, periods = m * per_pole, in_all // slots
        half = len(solved.angle) - 1
        strides = [n for n in range(1, half + 1) if half % n == 0]
        enough = [n for n in strides if 2 * half * periods // n >= FEWEST_ANGLES]
        return cls(
            first=first,
            ahead=ahead,
            sign=(-1) ** m,
            periods=periods,
            stride=max(enough, default=1),
            copies=body.copies,
            sectors=body.sectors,
            sector_sign=body.sign,
        )

    def join(self, values: FloatArray, mirror: int) -> FloatArray:
        """Return the waves, (k, …, n), of values of the solved angles, (h + 1, copies, …).

        `mirror` is the sign with which the value of a mirrored copy comes back.
        """
        kept = values[:: self.stride]
        parts = []
        for j in range(self.periods + 1):
            sign, copy = self.sign**j, self.first + j * self.ahead
            if j:
                parts.append(sign * mirror * self._at(kept[-2:0:-1], -1 - copy))
            if j < self.periods:
                parts.append(sign * self._at(kept, copy))
        return np.moveaxis(np.concatenate(parts), 0, -1)

    def _at(self, values: FloatArray, copy: IntArray) -> FloatArray:
        """Return the values of copies of the whole circle, (…, k, …)."""
        copy = copy % (self.copies * self.sectors)
        sign = self.sector_sign ** (copy // self.copies)
        shape = (1, -1) + (1,) * (values.ndim - 2)
        return np.asarray(values[:, copy % self.copies] * sign.reshape(shape))
