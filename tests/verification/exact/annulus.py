"""Exact plane fields of concentric layers with magnets, one harmonic at a time.

Every quantity is Re[X exp(i n θ)] with complex X(r). In a layer of permeability μ (relative)
with remanence (J_r, J_θ), B = μ₀ μ H + J. Let s = ln r and take the two quantities that pass
an interface unchanged, A and h = μ₀ r H_θ. From B_θ = −∂A/∂r and curl H = 0:

    dA/ds = −μ h − r J_θ
    dh/ds = −(n²/μ) A − r i n J_r/μ

Over a layer the homogeneous part is turned by cosh n Δs and sinh n Δs, and the magnets add an
integral in closed form. What lies inside of a circle acts like h = Y A + q (Y an admittance, q a
source); so does what lies outside. Both are carried from the ends to the circle asked for, where
their balance gives A. All sums have terms of one sign, so thick layers and high n do no harm.

Derived here. The same problems are solved in Zhu, Howe, Bolte and Ackermann, IEEE Trans. Magn. 29
(1993) 124, and Zhu, Howe and Chan, IEEE Trans. Magn. 38 (2002) 229 (both from memory).
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

import numpy as np

MU_0 = 4e-7 * math.pi

Harmonics = Mapping[int, tuple[complex, complex]]
"""Order n to the amplitudes (J_r, J_θ) in T."""

End = Literal["open", "iron"]
"""Vacuum to the centre or to infinity, or infinitely permeable iron."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """Ring of one material; `remanence` does not vary with the radius.

    The permeability fills the whole ring, also between magnets that do not touch: a section in
    which only the magnets have it is the same only for touching magnets or a permeability of 1.
    An inner radius of 0 is a solid disc, without magnets.
    """

    inner_radius: float
    outer_radius: float
    relative_permeability: float = 1.0
    remanence: Harmonics = field(default_factory=dict)


class PlaneField(NamedTuple):
    """Complex amplitudes of one harmonic: A in Wb/m, B in T."""

    A: complex
    B_r: complex
    B_theta: complex


class _Side(NamedTuple):
    """h = admittance · A + source at a circle."""

    admittance: float
    source: complex


@dataclass(frozen=True, slots=True, kw_only=True)
class Annulus:
    """Touching layers from inside to outside, and what lies within and beyond them.

    Attributes
    ----------
    layers : sequence of Layer
    inside, outside : "open" or "iron"
    sheets : mapping
        Radius of an interface to {n: axial current density in A/m} of a thin sheet on it.
    """

    layers: Sequence[Layer]
    inside: End = "open"
    outside: End = "open"
    sheets: Mapping[float, Mapping[int, complex]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for below, above in zip(self.layers, self.layers[1:], strict=False):
            if below.outer_radius != above.inner_radius:
                raise ValueError(f"layers part at {below.outer_radius} and {above.inner_radius}")
        if self.layers[0].inner_radius == 0 and self.layers[0].remanence:
            raise ValueError("a magnet that reaches the centre is not solved here")

    def at(self, order: int, radius: float) -> PlaneField:
        """Return the field of harmonic `order` at `radius`, in the open ends too.

        On an interface B_θ is that of the layer inside of it.
        """
        first, last = self.layers[0].inner_radius, self.layers[-1].outer_radius
        if radius < first:
            edge = self._between(order, first).A
            return _decaying(edge * (radius / first) ** order, order, radius, growth=1)
        if radius > last:
            edge = self._between(order, last).A
            return _decaying(edge * (last / radius) ** order, order, radius, growth=-1)
        return self._between(order, radius)

    def _between(self, n: int, radius: float) -> PlaneField:
        home = next(layer for layer in self.layers if radius <= layer.outer_radius)
        inner = self._from_inside(n, home, radius)
        outer = self._from_outside(n, home, radius)
        A = (outer.source - inner.source) / (inner.admittance - outer.admittance)
        h = inner.admittance * A + inner.source
        J_theta = home.remanence.get(n, (0, 0))[1]
        return PlaneField(A, 1j * n * A / radius, home.relative_permeability * h / radius + J_theta)

    def _from_inside(self, n: int, home: Layer, radius: float) -> _Side:
        side = _Side(0.0 if self.inside == "iron" else -float(n), 0)
        for layer in self.layers:
            side = self._past_sheet(side, n, layer.inner_radius, sign=1)
            if layer is home:
                return _carried(side, layer, n, layer.inner_radius, radius)
            side = _carried(side, layer, n, layer.inner_radius, layer.outer_radius)
        raise AssertionError

    def _from_outside(self, n: int, home: Layer, radius: float) -> _Side:
        side = _Side(0.0 if self.outside == "iron" else float(n), 0)
        for layer in reversed(self.layers):
            side = self._past_sheet(side, n, layer.outer_radius, sign=-1)
            if layer is home:
                return _carried(side, layer, n, layer.outer_radius, radius)
            side = _carried(side, layer, n, layer.outer_radius, layer.inner_radius)
        raise AssertionError

    def _past_sheet(self, side: _Side, n: int, radius: float, sign: int) -> _Side:
        """H_θ rises by the sheet current on the way out."""
        current = self.sheets.get(radius, {}).get(n, 0)
        return _Side(side.admittance, side.source + sign * MU_0 * radius * current)


def _carried(side: _Side, layer: Layer, n: int, start: float, end: float) -> _Side:
    """Return what `side`, known at radius `start`, looks like from radius `end`."""
    mu = layer.relative_permeability
    if start == 0:  # a solid disc: A ~ r^n whatever its size
        return _Side(-n / mu, 0)
    span = n * math.log(end / start)
    tanh, inverse_cosh = math.tanh(span), 1 / math.cosh(span)
    Y = side.admittance
    spread = 1 - mu / n * tanh * Y  # A(end)/A(start)/cosh
    carried = (Y - n / mu * tanh) / spread
    gained_A, gained_h = _gained(layer, n, start, end)
    # The determinant of the propagator is 1, which leaves q/cosh/spread of the source.
    return _Side(carried, side.source * inverse_cosh / spread + gained_h - carried * gained_A)


def _gained(layer: Layer, n: int, start: float, end: float) -> tuple[complex, complex]:
    """Return what the magnets of the layer add to (A, h) between two radii."""
    J_r, J_theta = layer.remanence.get(n, (0, 0))
    if not (J_r or J_theta):
        return 0, 0
    mu, ratio = layer.relative_permeability, end / start
    # ∫ e^s e^{±n(s₁−s)} ds over the layer; the first has a limit at n = 1.
    growing = end * math.log(ratio) if n == 1 else end * (ratio ** (n - 1) - 1) / (n - 1)
    decaying = end * (1 - ratio ** -(n + 1)) / (n + 1)
    even, odd = (growing + decaying) / 2, (growing - decaying) / 2
    push_A, push_h = -J_theta, -1j * n * J_r / mu
    return even * push_A - mu / n * odd * push_h, even * push_h - n / mu * odd * push_A


def _decaying(A: complex, n: int, radius: float, growth: int) -> PlaneField:
    return PlaneField(A, 1j * n * A / radius, -growth * n * A / radius)


# -- magnets ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Segment:
    """Arc magnet of a pole pair.

    Attributes
    ----------
    centre, width : float
        rad.
    remanence : float
        T.
    direction : float
        Angle of the remanence at the centre against the radius there, rad; 0 is outward.
    magnetisation : "radial" or "parallel"
        Radial: the same against every radius. Parallel: the same against the x axis.
    """

    centre: float
    width: float
    remanence: float
    direction: float
    magnetisation: Literal["radial", "parallel"] = "parallel"


def segment_harmonics(
    segments: Sequence[Segment], pole_pairs: int, orders: Sequence[int]
) -> dict[int, tuple[complex, complex]]:
    """Return {n: (J_r, J_θ)} of a rotor whose every pole pair holds `segments`, turned with it."""
    amplitudes = {}
    for n in orders:
        if n % pole_pairs:
            continue
        # J_r + i J_θ is J e^{i direction} (radial) or that times e^{−i(θ − centre)} (parallel);
        # J_r − i J_θ is its conjugate. Their Fourier integrals give J_r and J_θ.
        forward = sum(_fourier(one, n, bend=-1) for one in segments)
        backward = sum(_fourier(one, n, bend=1) for one in segments)
        scale = pole_pairs / math.pi
        amplitudes[n] = (
            scale * (forward + backward) / 2,
            scale * (forward - backward) / 2j,
        )
    return amplitudes


def _fourier(one: Segment, n: int, bend: int) -> complex:
    """Return ∫ J e^{∓i direction} e^{i bend (θ − centre)} e^{−i n θ} dθ over the segment."""
    k = -n + (bend if one.magnetisation == "parallel" else 0)
    value = one.width * float(np.sinc(k * one.width / 2 / math.pi))
    turned = np.exp(-1j * bend * one.direction - 1j * n * one.centre)
    return complex(one.remanence * value * turned)


def alternating(
    pole_pairs: int,
    *,
    remanence: float,
    cover: float,
    magnetisation: Literal["radial", "parallel"],
) -> list[Segment]:
    """Return an outward magnet at θ = 0 and an inward one; each covers `cover` of its pitch."""
    pitch = math.pi / pole_pairs
    return [
        Segment(
            centre=k * pitch,
            width=cover * pitch,
            remanence=remanence,
            direction=k * math.pi,
            magnetisation=magnetisation,
        )
        for k in (0, 1)
    ]


def halbach(
    pole_pairs: int,
    *,
    remanence: float,
    segments_per_pole: int,
    strong_side: Literal["inside", "outside"] = "inside",
    cover: float = 1.0,
) -> list[Segment]:
    """Return the uniformly magnetised segments of a Halbach pole pair, the first outward at θ = 0.

    From segment to segment the remanence turns against the local radius by +p of the step for a
    strong inside and −p of it for a strong outside (Halbach, Nucl. Instrum. Methods 169 (1980) 1).
    """
    pitch = math.pi / pole_pairs / segments_per_pole
    sense = pole_pairs if strong_side == "inside" else -pole_pairs
    return [
        Segment(
            centre=k * pitch, width=cover * pitch, remanence=remanence, direction=sense * k * pitch
        )
        for k in range(2 * segments_per_pole)
    ]


def ideal_halbach(
    pole_pairs: int, *, remanence: float, strong_side: Literal["inside", "outside"] = "inside"
) -> dict[int, tuple[complex, complex]]:
    """Return J_r = Br cos pθ with J_θ = +Br sin pθ (strong inside) or −Br sin pθ."""
    sense = -1j if strong_side == "inside" else 1j
    return {pole_pairs: (remanence + 0j, sense * remanence)}


def turned(harmonics: Harmonics, angle: float) -> dict[int, tuple[complex, complex]]:
    """Return the harmonics of magnets turned counter-clockwise by `angle` in rad."""
    return {
        n: (J_r * np.exp(-1j * n * angle), J_theta * np.exp(-1j * n * angle))
        for n, (J_r, J_theta) in harmonics.items()
    }
