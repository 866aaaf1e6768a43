"""The thermal network as a record: parts, what they store, and the paths between them.

C dθ/dt = −(G − D) θ + p with θ the rise above the surroundings, G the conductances of the paths
(symmetric), D what the copper loss gains per kelvin, p the losses in copper as warm as the
surroundings. For given film coefficients this is linear.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import ClassVar, Literal

import numpy as np

from fem_motor.arrays import FloatArray, frozen
from fem_motor.errors import InputError
from fem_motor.findings import Finding
from fem_motor.heat.parts.films import Film
from fem_motor.units import ROOM_C

Spread = Literal["corners", "none"]
"""Whether films, contacts and mount are also taken at the ends of their ranges."""

SURROUNDINGS = -1
"""End of a path that leaves the motor."""

HOTTEST_RISE = 400.0
"""K: films stay as they are there beyond it, and no enamel lives so hot."""

FILM_RANGE = 1.5
"""Film coefficients are known within this factor; common practice, no source."""

CONTACT, CONTACT_RANGE = 100.0, (50.0, 200.0)
"""Dry contact of wire, liner and core, W/(m² K): 0.13 to 0.5 mm of air; common practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Path:
    """A way for heat between two parts: layers in series.

    Attributes
    ----------
    start, end : int
        Indices of parts; `end` may be `SURROUNDINGS`.
    resistance : float
        Of solid layers, K/W.
    contact_area : float or None
        Of a dry contact, m²; None: none.
    films : tuple of (film, area in m²)
    is_mount : bool
        Whether the mount's resistance to the surroundings is in it.
    """

    start: int
    end: int
    resistance: float = 0.0
    contact_area: float | None = None
    films: tuple[tuple[Film, float], ...] = ()
    is_mount: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """A surface between two parts whose temperature is read off the path between them.

    Attributes
    ----------
    name : str
    hot, cold : int
        Parts on its two sides.
    to_cold, to_hot : float
        Solid resistance to either part, K/W.
    contact_area : float
        Dry contact on the hot side, m².
    """

    name: str
    hot: int
    cold: int
    to_cold: float
    to_hot: float
    contact_area: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Heating:
    """Losses by the part they arise in, W; all of them means over time.

    Attributes
    ----------
    copper : float
        I²R of all phases, leads not included, with copper at `copper_C`.
    copper_C : float
        °C; the loss follows the resistance from there.
    copper_eddy : float
        Eddy and skin losses in the wires, taken as constant.
    teeth, yoke, magnets, ring, housing : float
    windage : float
        Of the gap; that of the outside warms the surroundings only.
    bearings : float
        Into the mount.
    speed : float or None
        Mechanical rad/s, for the films; None: that of the network.
    """

    copper: float = 0.0
    copper_C: float = ROOM_C
    copper_eddy: float = 0.0
    teeth: float = 0.0
    yoke: float = 0.0
    magnets: float = 0.0
    ring: float = 0.0
    housing: float = 0.0
    windage: float = 0.0
    bearings: float = 0.0
    speed: float | None = None

    def __post_init__(self) -> None:
        for name in self.__slots__:
            value = getattr(self, name)
            if value is not None and not np.isfinite(value):
                raise InputError(
                    f"= {value} is impossible.",
                    why="losses, temperature and speed are finite numbers.",
                    do="leave out what is not known, and say so.",
                    place=name,
                )


PART_OF_LOSS = {
    "teeth": "teeth",
    "yoke": "yoke",
    "magnets": "magnets",
    "ring": "ring",
    "housing": "housing",
    "windage": "gap air",
    "bearings": "mount",
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ThermalNetwork:
    """Parts a maker can touch, and how heat gets from one to the next.

    Attributes
    ----------
    parts : tuple of str
    capacities : (n,)
        J/K.
    paths : tuple of Path
    walls : tuple of Wall
        Surfaces read beside the parts: "slot walls", the plastic that touches the coil.
    limits_C : tuple of float or None
        Of each part and wall; None: no limit known.
    softening_C : float or None
        Deflection temperature of the core; None: it does not soften.
    core_readings : tuple of str
        Parts and walls made of the core.
    surroundings_C : float
    speed : float
        Mechanical rad/s, for the films.
    copper_share : (n,)
        Share of the I²R loss that arises in each part.
    copper_volume : float
        m³.
    resistivity, temperature_coefficient : float
        Of the copper at 20 °C, ohm m and 1/K.
    film_factor, contact, mount_resistance : float
        Times all films; W/(m² K) of dry contacts; K/W of the mount to the surroundings.
    mount_range : (low, high)
        K/W.
    findings : tuple of Finding
        What was assumed.
    not_known : str
        Of the cooling of any motor, in words.
    """

    not_known: ClassVar[str] = (
        f"films within a factor {FILM_RANGE:g}, contacts of {CONTACT_RANGE[0]:g} to "
        f"{CONTACT_RANGE[1]:g} W/(m² K)"
    )

    parts: tuple[str, ...]
    capacities: FloatArray
    paths: tuple[Path, ...]
    surroundings_C: float
    copper_share: FloatArray
    walls: tuple[Wall, ...] = ()
    limits_C: tuple[float | None, ...] = ()
    softening_C: float | None = None
    core_readings: tuple[str, ...] = ()
    speed: float = 0.0
    copper_volume: float = 0.0
    resistivity: float = 1.7241e-8
    temperature_coefficient: float = 0.00393
    film_factor: float = 1.0
    contact: float = CONTACT
    mount_resistance: float = 45.0
    mount_range: tuple[float, float] = (20.0, 100.0)
    findings: tuple[Finding, ...] = ()

    def __post_init__(self) -> None:
        for name in ("capacities", "copper_share"):
            object.__setattr__(self, name, frozen(getattr(self, name)))

    @property
    def readings(self) -> tuple[str, ...]:
        """Names of all temperatures: parts, then walls."""
        return (*self.parts, *(wall.name for wall in self.walls))

    @property
    def reading_matrix(self) -> FloatArray:
        """(m, n): the readings as means of the temperatures of parts."""
        matrix = np.eye(len(self.readings), len(self.parts))
        for row, wall in enumerate(self.walls, start=len(self.parts)):
            to_hot = wall.to_hot + 1 / (self.contact * wall.contact_area)
            share = wall.to_cold / (wall.to_cold + to_hot)
            matrix[row, wall.hot], matrix[row, wall.cold] = share, 1 - share
        return matrix

    @property
    def limit_array(self) -> FloatArray:
        """(m,): the limits of the readings, °C, infinite where none is known."""
        limits = self.limits_C or (None,) * len(self.readings)
        return np.array([np.inf if limit is None else limit for limit in limits])

    def copper_heating(self, current_density: float) -> Heating:
        """Return the loss of an RMS current density (A/m²) in all of the copper."""
        return Heating(copper=self.resistivity * current_density**2 * self.copper_volume)

    def cases(self, spread: Spread) -> tuple["ThermalNetwork", ...]:
        """Return this network, and its variants where their spread is asked for."""
        return (self,) if spread == "none" else (self, *self.variants())

    def variants(self) -> tuple["ThermalNetwork", ...]:
        """Return the networks of unlucky and lucky films, contacts and mount, all four corners."""
        low, high = self.mount_range
        return tuple(
            replace(self, film_factor=factor, contact=contact, mount_resistance=mount)
            for factor, mount in ((1 / FILM_RANGE, high), (FILM_RANGE, low))
            for contact in CONTACT_RANGE
        )

    def sources(self, heating: Heating) -> tuple[FloatArray, FloatArray]:
        """Return p (W, copper as warm as the surroundings) and D (W/K), each (n,)."""
        alpha = self.temperature_coefficient
        at_20 = heating.copper / (1 + alpha * (heating.copper_C - ROOM_C)) * self.copper_share
        cold = at_20 * (1 + alpha * (self.surroundings_C - ROOM_C))
        cold = cold + heating.copper_eddy * self.copper_share
        for loss, part in PART_OF_LOSS.items():
            watts = getattr(heating, loss)
            if watts:
                cold[self._index(part)] += watts
        return cold, at_20 * alpha

    def _index(self, part: str) -> int:
        if part in self.parts:
            return self.parts.index(part)
        raise InputError(
            f"{part} takes losses, but this motor has none.",
            why=f"its parts are {', '.join(self.parts)}.",
            do="leave that loss at 0.",
            place="heating",
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Assembly:
    """G ready to be made for any temperatures: solid paths added up once.

    Attributes
    ----------
    network : ThermalNetwork
    solid : (n, n)
        Conductance matrix of the paths without films, W/K.
    filmed : tuple of (start, end, solid resistance, films)
    ends : (n, k)
        Of the k paths with films: 1 where a path starts, −1 where it ends.
    """

    network: ThermalNetwork
    solid: FloatArray
    filmed: tuple[tuple[int, int, float, tuple[tuple[Film, float], ...]], ...]
    ends: FloatArray

    def conductances(self, rise: FloatArray, speed: float) -> FloatArray:
        """Return G (n, n), W/K, at the films of these rises (n,) and this speed (rad/s).

        G = G_solid + E diag(g) Eᵀ, with g of the k paths with films and E their `ends`.
        """
        base, factor = self.network.surroundings_C, self.network.film_factor
        kept = base + np.minimum(rise, HOTTEST_RISE)
        warm = [*kept.tolist(), base]  # the last is what SURROUNDINGS = −1 points at
        passed = []
        for start, end, resistance, films in self.filmed:
            total = resistance
            for film, area in films:
                total += 1 / (factor * area * film(warm[start], warm[end], speed))
            passed.append(1 / total)
        return np.asarray(self.solid + (self.ends * passed) @ self.ends.T)


def assemble(network: ThermalNetwork) -> Assembly:
    """Return the network with its solid paths added up."""
    matrix = np.zeros((len(network.parts), len(network.parts)))
    filmed = []
    for path, resistance in _resistances(network):
        if path.films:
            filmed.append((path.start, path.end, resistance, path.films))
        else:
            _add(matrix, path.start, path.end, 1 / resistance)
    ends = np.zeros((len(network.parts), len(filmed)))
    for column, (start, end, *_) in enumerate(filmed):
        ends[start, column] = 1.0
        if end != SURROUNDINGS:
            ends[end, column] = -1.0
    return Assembly(network=network, solid=frozen(matrix), filmed=tuple(filmed), ends=frozen(ends))


def _resistances(network: ThermalNetwork) -> Iterator[tuple[Path, float]]:
    for path in network.paths:
        resistance = path.resistance
        if path.contact_area is not None:
            resistance += 1 / (network.contact * path.contact_area)
        if path.is_mount:
            resistance += network.mount_resistance
        yield path, resistance


def _add(matrix: FloatArray, start: int, end: int, conductance: float) -> None:
    matrix[start, start] += conductance
    if end != SURROUNDINGS:
        matrix[end, end] += conductance
        matrix[start, end] -= conductance
        matrix[end, start] -= conductance
