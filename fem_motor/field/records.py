"""What the field room hands out for pictures."""

from dataclasses import dataclass

from fem_motor.arrays import FloatArray, IntArray, frozen, frozen_integers


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FieldMap:
    """The field of the whole machine on flat triangles, for drawing.

    Covers the meshed bodies, the annulus in the air gap, the hub bore and a ring of the open
    outside: wherever the field is known.

    Attributes
    ----------
    points : (2, n) m
    triangles : (3, m)
    vector_potential : (n,) Wb/m
        Its contours are flux lines.
    flux_density : (m,) T
        |B|, mean of each triangle.
    rotor_angle : float
        rad.
    """

    points: FloatArray
    triangles: IntArray
    vector_potential: FloatArray
    flux_density: FloatArray
    rotor_angle: float

    def __post_init__(self) -> None:
        for name in ("points", "vector_potential", "flux_density"):
            object.__setattr__(self, name, frozen(getattr(self, name)))
        object.__setattr__(self, "triangles", frozen_integers(self.triangles))
