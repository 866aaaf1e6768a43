"""How far the magnets stay from their knee: the records of the demagnetisation check."""

from dataclasses import dataclass
from typing import Literal

from fem_motor.arrays import FloatArray, IntArray, frozen, frozen_integers

LoadCase = Literal["no current", "current limit", "stall"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TemperatureMargin:
    """The worst magnet at one temperature, of all rotor angles and load cases looked at.

    Attributes
    ----------
    temperature_C : float
    case : "no current", "current limit" or "stall"
    rotor_angle : float
        rad.
    current_angle : float or None
        Lead of the currents over the back-EMF, electrical rad; None without current.
    magnet : int
        From 1, counter-clockwise from pole 1, segment by segment.
    flux_density : float
        T, along the magnetisation: 1 % of that magnet's area lies below.
    knee : float or None
        Of that magnet, T; None where the coercivity is not known.
    area_below_knee : float or None
        Share of that magnet's area.
    margin_without_current : float or None
        T, of the worst magnet in the case "no current".
    advice : tuple of str
        What would widen the margin, with figures; empty where it is wide enough.
    """

    temperature_C: float
    case: LoadCase
    rotor_angle: float
    current_angle: float | None
    magnet: int
    flux_density: float
    knee: float | None
    area_below_knee: float | None
    margin_without_current: float | None
    advice: tuple[str, ...] = ()

    @property
    def margin(self) -> float | None:
        """Flux density less knee, T; negative where the magnet stays weaker for good."""
        return None if self.knee is None else self.flux_density - self.knee


@dataclass(frozen=True, slots=True, kw_only=True)
class StallCurrent:
    """What flows at standstill with all of the throttle.

    Attributes
    ----------
    line_peak : float
        A.
    held_by : "current limit" or "resistance"
        Of the controller, or of supply, controller, leads and winding.
    """

    line_peak: float
    held_by: Literal["current limit", "resistance"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StallMargin:
    """The worst magnet of a stalled motor at one temperature, of all positions and directions.

    Attributes
    ----------
    current : StallCurrent
        With the copper as warm as the magnets.
    worst : TemperatureMargin
    by_magnet : (s,) T or None
        Smallest margin of each magnet; None where the coercivity is not known.
    """

    current: StallCurrent
    worst: TemperatureMargin
    by_magnet: FloatArray | None

    def __post_init__(self) -> None:
        if self.by_magnet is not None:
            object.__setattr__(self, "by_magnet", frozen(self.by_magnet))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DemagnetisationMap:
    """The magnets of the whole rotor in the worst case, element by element, for drawing.

    Attributes
    ----------
    points : (2, 3 m) m
        The rotor standing at `rotor_angle`.
    triangles : (3, m)
    area : (m,) m²
    flux_density : (m,) T
        Along the magnetisation, mean of each element.
    margin : (m,) T or None
        Over each magnet's own knee; None where the coercivity is not known.
    rotor_angle : float
        rad.
    temperature_C : float
    """

    points: FloatArray
    triangles: IntArray
    area: FloatArray
    flux_density: FloatArray
    margin: FloatArray | None
    rotor_angle: float
    temperature_C: float

    def __post_init__(self) -> None:
        for name in ("points", "area", "flux_density"):
            object.__setattr__(self, name, frozen(getattr(self, name)))
        object.__setattr__(self, "triangles", frozen_integers(self.triangles))
        if self.margin is not None:
            object.__setattr__(self, "margin", frozen(self.margin))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DemagnetisationMargins:
    """Margins with hot and with cold magnets, in the plane.

    The straight line of the magnet's law holds above the knee only: a negative margin says that
    flux is lost, not how much. At the two ends of a stack magnets work lower than in the plane.

    Attributes
    ----------
    hot, cold : TemperatureMargin
    line_peak : float
        Peak line current of the case "current limit", A, before the allowance for transients.
    demagnetising_current : float
        Amplitude of the branch currents of that case, on the negative d axis, A.
    hot_by_magnet, cold_by_magnet : (s,) T or None
        Smallest margin of each magnet, all angles and cases.
    worst_map : DemagnetisationMap
        Of the temperature with the smaller margin.
    stall : pair of StallMargin, or None
        Hot and cold magnets of a motor that is held; None where it was not looked at.
    """

    hot: TemperatureMargin
    cold: TemperatureMargin
    line_peak: float
    demagnetising_current: float
    hot_by_magnet: FloatArray | None
    cold_by_magnet: FloatArray | None
    worst_map: DemagnetisationMap
    stall: tuple[StallMargin, StallMargin] | None = None

    def __post_init__(self) -> None:
        for name in ("hot_by_magnet", "cold_by_magnet"):
            values = getattr(self, name)
            object.__setattr__(self, name, None if values is None else frozen(values))
