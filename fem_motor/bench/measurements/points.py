"""What each steady segment says: powers, efficiency, propeller coefficients, with uncertainty.

Uncertainties follow JCGM 100:2008: type A of the scatter and the drift of a zero belong to one
segment, type B of an instrument's span is common to all of them, and both add in squares.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fem_motor.bench.bins import REST_SPEED
from fem_motor.bench.records import BenchLog, Channel, MeasuredPoint, Segment, Stand
from fem_motor.design import Motor
from fem_motor.findings import Headline
from fem_motor.units import RPM

ASSUMED_SPAN: Mapping[str, float] = {
    "thrust": 0.01, "torque": 0.01, "speed": 0.001, "voltage": 0.005, "current": 0.01,
    "line_voltage_rms": 0.01,
}  # fmt: skip
"""Standard uncertainty of an instrument's span where none is stated: hobby load cells, Hall or
shunt sensors and meters, calibrated once (common practice, no source)."""
COVERAGE = 2.0
"""Standard uncertainties each way: about 95 % (JCGM 100, 6.3.3)."""
GAS_CONSTANT_OF_AIR = 287.05
"""J/(kg K), dry."""
KELVIN = 273.15
_STATED_DENSITY, _READ_DENSITY, _ASSUMED_DENSITY = 0.005, 0.005, 0.02
"""Standard uncertainty of the air density: stated, from pressure and temperature (humid air is up
to 1 % lighter), or the design's (a day's weather and some hundred metres of height)."""
_WATER_DENSITY = 0.01
"""Standard uncertainty of the density of water: the sea is 2.7 % denser than a river."""
FULL_THROTTLE = 0.99
_LEAST_POWER = 1e-3
"""W: below it an efficiency means nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A value with the parts of its standard uncertainty, each by its name."""

    value: float
    parts: Mapping[str, float]

    @property
    def uncertainty(self) -> float:
        """Standard uncertainty: the parts in squares."""
        return math.hypot(*self.parts.values())

    def headline(self, *, scale: float = 1.0) -> Headline:
        """Return value and range, about 95 %, divided by `scale`; the largest parts are named."""
        width = COVERAGE * self.uncertainty
        largest = sorted(self.parts.items(), key=lambda part: -part[1])[:2]
        named = [
            f"{name} {100 * part / abs(self.value):.2g} %" if self.value else name
            for name, part in largest
            if part > 0
        ]
        return Headline(
            value=self.value / scale,
            low=(self.value - width) / scale,
            high=(self.value + width) / scale,
            because="measured; two standard uncertainties, most of it " + " and ".join(named)
            if named
            else "measured",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """A steady segment as numbers, SI; None for a channel that the log does not have.

    Attributes
    ----------
    scatter : mapping of channel to float
        Standard uncertainty of this segment alone: type A and zero.
    """

    segment: Segment
    speed: float | None
    torque: float | None
    thrust: float | None
    voltage: float | None
    current: float | None
    throttle: float | None
    winding_C: float | None
    scatter: Mapping[str, float]

    def is_full_throttle(self, stand: Stand) -> bool:
        """Return whether all of the voltage was on the motor."""
        return stand.throttle == "full" or (self.throttle or 0.0) >= FULL_THROTTLE

    @property
    def shaft_power(self) -> float | None:
        """W."""
        if self.torque is None or self.speed is None:
            return None
        return self.torque * self.speed

    @property
    def supply_power(self) -> float | None:
        """W, at the controller's input."""
        if self.voltage is None or self.current is None:
            return None
        return self.voltage * self.current


def span_of(channel: str, stand: Stand) -> float:
    """Return the standard uncertainty of an instrument's span, as a fraction."""
    return stand.scale_uncertainty.get(channel, ASSUMED_SPAN.get(channel, 0.01))


def points_of(log: BenchLog, segments: Sequence[Segment]) -> tuple[Point, ...]:
    """Return the steady segments as numbers."""
    return tuple(_point(log, segment) for segment in segments if segment.kind == "steady")


def _point(log: BenchLog, segment: Segment) -> Point:
    def mean(channel: Channel) -> float | None:
        reading = segment.readings.get(channel)
        return None if reading is None else reading.mean

    scatter: dict[str, float] = {}
    for name, reading in segment.readings.items():
        zero = log.zeros.get(name)
        scatter[name] = math.hypot(reading.uncertainty, zero.uncertainty if zero else 0.0)
    return Point(
        segment=segment,
        speed=mean("speed"),
        torque=mean("torque"),
        thrust=mean("thrust"),
        voltage=mean("voltage"),
        current=mean("current"),
        throttle=mean("throttle"),
        winding_C=mean("winding_C"),
        scatter=scatter,
    )


def load_density(log: BenchLog, motor: Motor) -> Estimate:
    """Return the density of what the load turns in, kg/m³.

    That of air as stated, from pressure and temperature, or the design's.
    """
    if motor.load_medium == "water":
        density = motor.load_density
        return Estimate(value=density, parts={"density of water": _WATER_DENSITY * density})
    pressure, ambient = _average(log, "air_pressure"), _average(log, "ambient_C")
    if log.stand.air_density is not None:
        value, share, how = log.stand.air_density, _STATED_DENSITY, "stated air density"
    elif pressure is not None and ambient is not None:
        value = pressure / (GAS_CONSTANT_OF_AIR * (ambient + KELVIN))
        share, how = _READ_DENSITY, "air density from pressure and temperature"
    else:
        value, share = motor.cooling.air_density, _ASSUMED_DENSITY
        how = "assumed air density of the design"
    return Estimate(value=value, parts={how: share * value})


def _average(log: BenchLog, channel: Channel) -> float | None:
    good = log.valid(channel)
    return float(log.channels[channel][good].mean()) if good.any() else None


def product(factors: Mapping[str, tuple[float, float, float]]) -> Estimate:
    """Return ∏ x^power of name → (x, standard uncertainty of x, power), independent of each other.

    (u/y)² = Σ (power · u_x/x)²  (JCGM 100, 5.1.6)

    >>> power = product({"T": (1, 0.01, 1), "n": (1, 0.005, 1), "V": (1, 0.005, -1),
    ...                  "I": (1, 0.01, -1)})
    >>> round(100 * power.uncertainty, 2)
    1.58
    """
    value = math.prod(x**power for x, _, power in factors.values())
    parts = {
        name: abs(value * power * uncertainty / x) if x else math.inf
        for name, (x, uncertainty, power) in factors.items()
    }
    return Estimate(value=value, parts=parts)


def measured_point(
    point: Point, *, stand: Stand, density: Estimate, diameter: float | None
) -> MeasuredPoint:
    """Return the figures of a steady segment as far as its channels go."""
    known = {
        name: (value, math.hypot(point.scatter[name], span_of(name, stand) * value))
        for name, value in (
            ("speed", point.speed), ("torque", point.torque), ("thrust", point.thrust),
            ("voltage", point.voltage), ("current", point.current),
        )
        if value is not None
    }  # fmt: skip
    found: dict[str, Headline] = {}
    for name, scale, label in (
        ("speed", RPM, "speed_rpm"), ("torque", 1.0, "torque_Nm"), ("thrust", 1.0, "thrust_N"),
        ("voltage", 1.0, "voltage_V"), ("current", 1.0, "current_A"),
    ):  # fmt: skip
        if name in known:
            value = known[name][0]
            parts = {"span": span_of(name, stand) * abs(value), "scatter": point.scatter[name]}
            found[label] = Estimate(value=value, parts=parts).headline(scale=scale)
    for label, powers in (
        ("shaft_power_W", {"torque": 1.0, "speed": 1.0}),
        ("supply_power_W", {"voltage": 1.0, "current": 1.0}),
        ("efficiency", {"torque": 1.0, "speed": 1.0, "voltage": -1.0, "current": -1.0}),
    ):
        if powers.keys() <= known.keys() and all(known[name][0] for name in powers):
            found[label] = product(
                {name: (*known[name], power) for name, power in powers.items()}
            ).headline()
    if (point.supply_power or 0.0) < _LEAST_POWER:
        found.pop("efficiency", None)
    if diameter is not None and (point.speed or 0.0) > REST_SPEED:
        found |= _coefficients(known, density, diameter)
    return MeasuredPoint(segment=point.segment, values=found)


def _coefficients(
    known: Mapping[str, tuple[float, float]], density: Estimate, diameter: float
) -> dict[str, Headline]:
    """Return CT = T/(ρ n² D⁴) and CP = P/(ρ n³ D⁵) = 2π Q/(ρ n² D⁵), n in rev/s."""
    found = {}
    turns = tuple(value / (2 * math.pi) for value in known["speed"])
    air = {"air density": (density.value, density.uncertainty, -1.0)}
    speed = {"speed": (turns[0], turns[1], -2.0)}
    for name, channel, size in (
        ("thrust_coefficient", "thrust", diameter**-4),
        ("power_coefficient", "torque", 2 * math.pi * diameter**-5),
    ):
        if channel in known and known[channel][0]:
            factors = {channel: (*known[channel], 1.0), **speed, **air, "size": (size, 0.0, 1.0)}
            found[name] = product(factors).headline()
    return found
