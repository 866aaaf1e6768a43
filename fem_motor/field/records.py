"""What the field room hands out besides its solutions: pictures, and the field in magnets."""

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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MagnetField:
    """B along the magnetisation in the s magnets of the whole rotor, m elements in each.

    Attributes
    ----------
    flux_density : (s, m, q) T
        At the q quadrature points of each element; positive with the magnetisation, which in a
        magnet of negative remanence is the other way round.
    area : (m, q) m²
        That belongs to each point; the same in all magnets.
    points : (s, 2, m, q) m
    corners : (s, 2, 3, m) m
        Of the elements, counter-clockwise, for pictures.
    """

    flux_density: FloatArray
    area: FloatArray
    points: FloatArray
    corners: FloatArray

    def __post_init__(self) -> None:
        for name in ("flux_density", "area", "points", "corners"):
            object.__setattr__(self, name, frozen(getattr(self, name)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MagnetVariations:
    """Readings as forms in c = (strengths 1 + δ of all m magnets, their shifts in rad), (2 m,).

    Whole machine, per metre of length.

    Attributes
    ----------
    angle : (n,) rad
    torque : (n, 2 m, 2 m) N
        cᵀ Q c is the torque.
    pull : (n, 2, 2 m, 2 m) N/m
        Force on the rotor along x and y.
    half_slot_mean : (n, slots, 2, 2 m) Wb/m
    """

    angle: FloatArray
    torque: FloatArray
    pull: FloatArray
    half_slot_mean: FloatArray

    def __post_init__(self) -> None:
        for name in ("angle", "torque", "pull", "half_slot_mean"):
            object.__setattr__(self, name, frozen(getattr(self, name)))
