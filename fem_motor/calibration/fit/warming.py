"""Thermal resistances from temperatures: contact of the winding, films of air, mount.

Losses follow from the fitted motor and the logged torque, P = k Q², k between the steady points as
it is at them. The thermal network of the heat room is run through the log; what scales its paths
is fitted with the room's own ranges as priors. The capacities and the loss itself get a factor
each, and a thermometer on a coil an offset, so that none of them passes for a resistance.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from fem_motor.arrays import FloatArray, IntArray
from fem_motor.bench import BenchLog, Segment
from fem_motor.calibration.fit.fitting import Fit, Residuals, figures_in, fit_at, solved
from fem_motor.calibration.model.forward import Figures, ForwardModel
from fem_motor.calibration.model.surface import surface
from fem_motor.calibration.planned import COVERAGE
from fem_motor.calibration.records import BenchCheck, Parameter, SteadyPoint, Warming
from fem_motor.heat import Heating, ThermalNetwork, thermal_network, transient
from fem_motor.units import ROOM_C

STRETCHES = 40
"""Of time that a log is cut into; its losses are taken as constant within each."""

LEAST_RISE = 5.0
"""K: temperatures that rise less say nothing about the cooling."""

PRIVATE_K, PRIVATE_SHARE = 1.0, 0.05
"""Standard uncertainty of one reading against the network: K, and share of the rise (the network
has one temperature for all coils); an assumption."""

OFFSET_K = 2.0
"""Standard, of a thermometer glued to a coil or a housing; common practice, no source."""

LOSS_SPREAD, CAPACITY_SPREAD = 0.05, 0.1
"""Of the logarithms; loss by the fitted motor, masses by the drawing: assumptions."""

Channel = Literal["winding_C", "housing_C", "ambient_C", "speed", "torque", "current"]

IDLE_SHARE = 0.02
"""Of the largest current, below which none flows."""

SENSORS: Mapping[Channel, str] = {"winding_C": "copper", "housing_C": "housing"}
"""Columns of a log, and the part that they are held against."""

ROUNDS, SETTLED, STEP = 3, 0.1, 0.15

CONTACT_NAME = "contact_thermal_resistance_factor"
FILM_NAME = "film_thermal_resistance_factor"
MOUNT_NAME = "mount_thermal_resistance_factor"
LOSS_NAME, CAPACITY_NAME = "copper_loss_factor", "heat_capacity_factor"
OFFSET_NAME = "thermometer_offset_C"


def warming_of(log: BenchLog, segments: Sequence[Segment], *, ambient_C: float) -> Warming | None:
    """Return what a log says about heat, None where it has no thermometer.

    Air as logged; else the first reading at rest; else `ambient_C`.
    """
    found = [name for name in SENSORS if log.valid(name).any()]
    if not found or len(log.time) <= STRETCHES:
        return None
    ends = np.linspace(log.time[0], log.time[-1], STRETCHES + 1)
    starts = np.unique(np.searchsorted(log.time, ends[:-1]))
    at_rest = _at_rest(segments, found[0])
    start_C = ambient_C if at_rest is None else at_rest
    is_air = log.valid("ambient_C")
    air_C = float(log.channels["ambient_C"][is_air].mean()) if is_air.any() else start_C
    return Warming(
        seconds=np.maximum(np.diff(np.append(log.time[starts], log.time[-1])), 1e-3),
        speed=np.nan_to_num(_means(log, "speed", starts)),
        torque=np.maximum(np.nan_to_num(_means(log, "torque", starts)), 0.0),
        current=np.nan_to_num(_means(log, "current", starts)),
        temperatures_C={SENSORS[name]: _means(log, name, starts) for name in found},
        surroundings_C=air_C,
        start_C=air_C if at_rest is None else at_rest,
    )


def _means(log: BenchLog, name: Channel, starts: IntArray) -> FloatArray:
    """Return the means of a channel from each of the rows `starts` to the next, NaN for none."""
    values = log.channels.get(name)
    if values is None:
        return np.full(starts.size, np.nan)
    is_read = np.isfinite(values)
    count = np.add.reduceat(is_read.astype(np.float64), starts)
    total = np.add.reduceat(np.where(is_read, values, 0.0), starts)
    return np.asarray(np.where(count > 0, total / np.maximum(count, 1), np.nan))


def _at_rest(segments: Sequence[Segment], name: Channel) -> float | None:
    first = next((one for one in segments if one.kind == "idle"), None)
    reading = None if first is None else first.readings.get(name)
    return None if reading is None else float(reading.mean)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Run:
    """One history: phases of losses, and the readings (s, part, °C, K) along it."""

    network: ThermalNetwork
    phases: tuple[tuple[float, Heating], ...]
    start_C: float
    readings: tuple[tuple[float, str, float, float], ...]
    has_offset: bool

    def temperatures(self, place: FloatArray) -> FloatArray:
        """Return what the network says at the readings, °C, for logarithms of the factors."""
        contact, film, mount, loss, capacity = np.exp(place)
        network = replace(
            self.network,
            contact=self.network.contact / contact,
            film_factor=self.network.film_factor / film,
            mount_resistance=self.network.mount_resistance * mount,
            capacities=self.network.capacities * capacity,
        )
        phases = [
            (seconds, replace(heating, copper=heating.copper * loss))
            for seconds, heating in self.phases
        ]
        start = np.full(len(network.parts), self.start_C)
        found = transient(network, phases, start_C=start, method="exponentials")
        return np.array(
            [np.interp(at, found.time, found.of(part)) for at, part, _, _ in self.readings]
        )


def heat_fit(model: ForwardModel, figures: Figures) -> Fit | None:
    """Return the fit of the thermal network, None where nothing rose by 5 K.

    Parameters
    ----------
    model : ForwardModel
    figures : mapping of name to value
        As fitted to everything but heat.
    """
    network = thermal_network(model.powered.motor, model.powered.winding)
    runs = _runs(model, figures, network)
    rises = [value - run.network.surroundings_C for run in runs for _, _, value, _ in run.readings]
    if max(rises, default=0.0) < LEAST_RISE:
        return None
    parameters = _parameters(network, runs)
    shift: FloatArray = np.zeros(len(parameters))
    residuals = _expanded(runs, parameters, shift)
    for _ in range(ROUNDS):
        before, shift = shift, solved(residuals, shift)
        if np.abs(_place(parameters, shift) - _place(parameters, before)).max() < SETTLED:
            break
        residuals = _expanded(runs, parameters, shift)
    found = figures_in(parameters, shift)
    return fit_at(residuals, parameters, shift, figures=found)


def _place(parameters: Sequence[Parameter], shift: FloatArray) -> FloatArray:
    logs = [
        one.spread * x for one, x in zip(parameters, shift, strict=True) if one.scale == "ratio"
    ]
    return np.array(logs)


def _expanded(
    runs: Sequence[_Run], parameters: Sequence[Parameter], shift: FloatArray
) -> Residuals:
    """Return the residuals with the network expanded to second order about a shift."""
    surfaces = [surface(run.temperatures, _place(parameters, shift), step=STEP) for run in runs]
    spreads = [np.array([uncertainty for *_, uncertainty in run.readings]) for run in runs]
    values = [np.array([value for _, _, value, _ in run.readings]) for run in runs]
    offset_spread = next((one.spread for one in parameters if one.name == OFFSET_NAME), 0.0)

    def residuals(shift: FloatArray) -> FloatArray:
        place = _place(parameters, shift)
        found = []
        for run, one, read, spread in zip(runs, surfaces, values, spreads, strict=True):
            offset = offset_spread * shift[-1] if run.has_offset else 0.0
            found.append((one.at(place) + offset - read) / spread)
        return np.concatenate(found)

    return residuals


def _parameters(network: ThermalNetwork, runs: Sequence[_Run]) -> list[Parameter]:
    """Return the five factors in the order of `_Run.temperatures`, and the offset."""
    corners = network.variants()
    contacts = [one.contact for one in corners]
    films = [one.film_factor for one in corners]
    found = [
        _factor(CONTACT_NAME, contacts, "dry contacts of wire, liner and core"),
        _factor(FILM_NAME, films, "films of air on all surfaces"),
        _factor(MOUNT_NAME, network.mount_range, "what the motor sits on"),
        Parameter(
            name=LOSS_NAME, prior=1.0, spread=LOSS_SPREAD, because="by the fitted motor's current"
        ),
        Parameter(name=CAPACITY_NAME, prior=1.0, spread=CAPACITY_SPREAD, because="masses as drawn"),
    ]
    if any(run.has_offset for run in runs):
        found.append(
            Parameter(
                name=OFFSET_NAME, prior=0.0, spread=OFFSET_K, scale="difference",
                because="a sensor glued on",
            )
        )  # fmt: skip
    return found


def _factor(name: str, ends: Sequence[float], what: str) -> Parameter:
    """Return a factor whose prior holds the ends of the thermal network's own range in 95 %."""
    spread = math.log(max(ends) / min(ends)) / (2 * COVERAGE)
    return Parameter(name=name, prior=1.0, spread=spread, because=f"{what}; range of the network")


def _runs(model: ForwardModel, figures: Figures, network: ThermalNetwork) -> list[_Run]:
    runs = [_checked(model, figures, network, check) for check in model.evidence.thermometers]
    if model.evidence.warming is not None:
        runs.append(_logged(model, figures, network, model.evidence.warming))
    return [run for run in runs if run is not None and run.readings]


def _checked(
    model: ForwardModel, figures: Figures, network: ThermalNetwork, check: BenchCheck
) -> _Run | None:
    """Return the run of a thermometer, None where its motor has no such part or state."""
    volts = model.powered.bridge.supply_voltage
    point = SteadyPoint(
        speed=check.speed, torque=check.torque, voltage=volts, current=0.0, speed_scatter=0.0,
        torque_scatter=0.0, voltage_scatter=0.0, current_scatter=0.0, throttle="part",
        winding_C=check.temperature_C,
    )  # fmt: skip
    watts = model.copper_loss(figures, point)
    if watts is None or check.part not in network.parts:
        return None
    return _Run(
        network=replace(network, surroundings_C=check.temperature_C),
        phases=((check.seconds, _heating(model, watts, check.speed)),),
        start_C=check.temperature_C,
        readings=((check.seconds, check.part, check.value, check.uncertainty),),
        has_offset=False,
    )


def _logged(
    model: ForwardModel, figures: Figures, network: ThermalNetwork, log: Warming
) -> _Run | None:
    known = [
        (torque, loss / torque**2)
        for point in model.evidence.points
        if (loss := model.copper_loss(figures, point)) is not None
        and (torque := point.torque + model.powered.drag(point.speed)) > 0
    ]
    if not known:
        return None
    torques, factors = np.array(sorted(known)).T
    is_driven = log.current > IDLE_SHARE * log.current.max()
    phases, begun, readings = [], 0.0, []
    for at, seconds in enumerate(log.seconds.tolist()):
        speed = float(log.speed[at])
        rotor = float(log.torque[at]) + (model.powered.drag(speed) if speed > 1 else 0.0)
        watts = float(np.interp(rotor, torques, factors)) * rotor**2 if is_driven[at] else 0.0
        phases.append((seconds, _heating(model, watts, speed)))
        for part, values in log.temperatures_C.items():
            value = float(values[at])
            if math.isfinite(value) and part in network.parts:
                rise = value - log.surroundings_C
                spread = math.hypot(PRIVATE_K, PRIVATE_SHARE * rise)
                readings.append((begun + seconds / 2, part, value, spread))
        begun += seconds
    return _Run(
        network=replace(network, surroundings_C=log.surroundings_C),
        phases=tuple(phases), start_C=log.start_C, readings=tuple(readings), has_offset=True,
    )  # fmt: skip


def _heating(model: ForwardModel, copper: float, speed: float) -> Heating:
    """Return the losses at a speed, the copper's as at 20 °C; drag as designed: it is little."""
    if speed <= 1:
        return Heating(copper=copper, speed=0.0)
    drag = model.powered.drag_losses(speed)
    return Heating(
        copper=copper, copper_C=ROOM_C, copper_eddy=drag.get("strand_eddy", 0.0),
        teeth=drag.get("core_teeth", 0.0), yoke=drag.get("core_yoke", 0.0),
        magnets=drag.get("magnet_eddy", 0.0), ring=drag.get("ring_eddy", 0.0),
        windage=model.powered.losses.windage.in_gap(speed), bearings=drag.get("bearing", 0.0),
        speed=speed,
    )  # fmt: skip
