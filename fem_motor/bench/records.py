"""What a test-stand log holds, and what was read off it; SI, temperatures in °C where named so."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal, get_args

import numpy as np

from fem_motor.arrays import BoolArray, FloatArray
from fem_motor.findings import Finding, Headline

Channel = Literal[
    "thrust", "torque", "speed", "voltage", "current", "throttle", "winding_C", "housing_C",
    "controller_C", "ambient_C", "air_pressure", "line_voltage_rms",
]  # fmt: skip
"""N, N m, mechanical rad/s, V and A at the controller's input, 0 to 1, °C, Pa, V between two leads.

Speed is never negative; torque is positive where the motor drives, thrust where it pushes.
"""

CHANNELS: tuple[Channel, ...] = get_args(Channel)

Test = Literal["load", "no load", "direct current", "driven"]
Kind = Literal["steady", "idle", "spin-up", "coast-down", "slowing"]
"""Steady: turning, settled; idle: standing, no current; spin-up: speeding up; coast-down: slowing
without current; slowing: with current, to a lower throttle."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Discarded:
    """So many rows (or single readings) of a log that were not used, and why."""

    reason: str
    rows: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column of the file and what it was taken for.

    Attributes
    ----------
    heading : str
        As in the file.
    channel : str
        ``time``, one of `CHANNELS`, or empty where it was left out.
    unit : str
        As read from heading, column map or the row of units.
    scale, offset : float
        SI = scale × number + offset.
    how : "map", "guessed" or "unused"
    """

    heading: str
    channel: str
    unit: str
    scale: float
    offset: float
    how: Literal["map", "guessed", "unused"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stand:
    """What a log cannot know of itself, from the tables [stand] and [uncertainty] of its map.

    Attributes
    ----------
    inertia : float or None
        Of all that turns, kg m², for the spin-down.
    air_density : float or None
        kg/m³; None: from the log's pressure and temperature, else the design's.
    winding_resistance_20 : float or None
        Between two leads at 20 °C, ohm, from a four-wire measurement.
    test : "load", "no load", "direct current" or "driven"
        What was done: a load turned, nothing on the shaft, direct current through two leads at
        rest, or the shaft turned from outside.
    throttle : "as logged" or "full"
        "full": every steady stretch was at full throttle, whatever the log says.
    scale_uncertainty : mapping of channel to fraction
        Standard uncertainty (type B) of an instrument's span.
    """

    inertia: float | None = None
    air_density: float | None = None
    winding_resistance_20: float | None = None
    test: Test = "load"
    throttle: Literal["as logged", "full"] = "as logged"
    scale_uncertainty: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        plain = MappingProxyType(dict(self.scale_uncertainty))
        object.__setattr__(self, "scale_uncertainty", plain)


@dataclass(frozen=True, slots=True, kw_only=True)
class Zero:
    """What a channel read at rest, and was therefore taken off it (or only noted).

    Attributes
    ----------
    first, last : float
        In the first and in the last stretch at rest.
    uncertainty : float
        Standard, of the zero between two stretches at rest.
    stretches : int
    is_taken_off : bool
    """

    first: float
    last: float
    uncertainty: float
    stretches: int
    is_taken_off: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BenchLog:
    """A log as read and cleaned, in SI.

    Attributes
    ----------
    file : str
    rows_read, rows_used : int
        Rows with data in the file, and all but the dropped.
    dropped : tuple of Discarded
        Whole rows.
    blanked : tuple of Discarded
        Single readings that were set aside while the rest of their row was kept.
    columns : tuple of Column
    time : (n,)
        s from the first row kept, strictly rising.
    channels : mapping of channel to (n,)
        Only the channels that the log has; NaN where there is no reading.
    stand : Stand
    zeros : mapping of channel to Zero
        Only where the log has a stretch at rest.
    findings : tuple of Finding
        What was mended on the way: tares, units that were guessed, jumps of the clock.
    """

    file: str
    rows_read: int
    rows_used: int
    dropped: tuple[Discarded, ...]
    blanked: tuple[Discarded, ...]
    columns: tuple[Column, ...]
    time: FloatArray
    channels: Mapping[Channel, FloatArray]
    stand: Stand = field(default_factory=Stand)
    zeros: Mapping[Channel, Zero] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "zeros", MappingProxyType(dict(self.zeros)))
        # Sealed in place, not copied: a log of ten hours fills much of the memory already.
        for values in (self.time, *self.channels.values()):
            values.flags.writeable = False
        object.__setattr__(self, "channels", MappingProxyType(dict(self.channels)))

    def valid(self, channel: Channel) -> BoolArray:
        """Return (n,) of bool: where the channel has a reading; all false where it is absent."""
        values = self.channels.get(channel)
        return np.zeros(self.time.shape, bool) if values is None else np.isfinite(values)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A channel over a segment.

    Attributes
    ----------
    mean : float
        Robust: single outliers do not move it.
    uncertainty : float
        Standard, type A (JCGM 100, 4.2), of the mean; neighbouring samples that say the same
        are counted once. The instrument's own (type B) is not in it.
    samples : int
    independent_samples : float
        What those count for.
    drift : float
        Slope over time, per s.
    """

    mean: float
    uncertainty: float
    samples: int
    independent_samples: float
    drift: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Segment:
    """A stretch of the log of one kind.

    Attributes
    ----------
    kind : "steady", "idle", "spin-up", "coast-down" or "slowing"
    start, end : float
        s, as in `BenchLog.time`.
    first_row, last_row : int
        Rows of `BenchLog.time`, both included.
    readings : mapping of channel to Reading
        Only channels with readings here.
    """

    kind: Kind
    start: float
    end: float
    first_row: int
    last_row: int
    readings: Mapping[Channel, Reading]

    def __post_init__(self) -> None:
        object.__setattr__(self, "readings", MappingProxyType(dict(self.readings)))


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredPoint:
    """What one steady segment says.

    Attributes
    ----------
    segment : Segment
    values : mapping of name to Headline
        ``speed_rpm``, ``torque_Nm``, ``thrust_N``, ``voltage_V``, ``current_A``,
        ``shaft_power_W``, ``supply_power_W``, ``efficiency``, ``thrust_coefficient``,
        ``power_coefficient``; only those that the log's channels allow. The range is two standard
        uncertainties each way, types A and B together (about 95 %).
    """

    segment: Segment
    values: Mapping[str, Headline]

    def __post_init__(self) -> None:
        object.__setattr__(self, "values", MappingProxyType(dict(self.values)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """What a whole log measured.

    Attributes
    ----------
    points : tuple of MeasuredPoint
        One for each steady segment, in the order of the log.
    values : mapping of name to Headline
        ``motor_constant_Nm_per_sqrtW`` (at 20 °C), ``speed_constant_rpm_per_V`` (six-step, per
        volt of direct voltage, without commutation), ``torque_constant_Nm_per_A`` (per ampere of
        direct current, likewise), ``torque_per_ampere_full_throttle_Nm_per_A`` (with it),
        ``resistance_ohm`` (in the way of the direct current), ``winding_resistance_20C_ohm``,
        ``no_load_current_A``, ``no_load_torque_Nm`` (drag at the highest speed),
        ``speed_constant_line_line_rms_rpm_per_V``, ``thrust_coefficient``,
        ``power_coefficient``, ``spin_down_a_Nm``, ``spin_down_b_Nm_s``, ``spin_down_c_Nm_s2``,
        ``thermal_time_constant_s``. Value None where the log cannot tell; its finding says why.
    findings : tuple of Finding
    """

    points: tuple[MeasuredPoint, ...]
    values: Mapping[str, Headline]
    findings: tuple[Finding, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "values", MappingProxyType(dict(self.values)))


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchResult:
    """All that a log said.

    Attributes
    ----------
    title : str
        Of the design that it is held against.
    log : BenchLog
    segments : tuple of Segment
    audit : tuple of Finding
        Doubts about the log; after a stop nothing is fitted, and `measured` holds points only.
    measured : Measured
    """

    title: str
    log: BenchLog
    segments: tuple[Segment, ...]
    audit: tuple[Finding, ...]
    measured: Measured
