"""Thermal resistances from temperatures: planted in the network of the heat room, and found."""

import math
from dataclasses import replace

import numpy as np
import pytest
from stand import AMBIENT_C, model_of, simulated, solved

from fem_motor.calibration.checks import checks_from_toml
from fem_motor.calibration.fit.fitting import Fit
from fem_motor.calibration.fit.profile import Range, ranges_of
from fem_motor.calibration.fit.warming import heat_fit
from fem_motor.calibration.model.forward import ForwardModel
from fem_motor.calibration.records import BenchCheck, Warming
from fem_motor.heat import thermal_network, transient
from fem_motor.powered import heating_at
from fem_motor.units import RPM

RUN_S, POINTS, THROTTLE = 600.0, 40, 0.6


def warmed(*, contact: float = 1.0, film: float = 1.0, rise: float = 1.0) -> Warming:
    """Return ten minutes at one throttle by the powered motor's own losses and the heat room."""
    powered = solved().powered
    point = powered.at_load(throttle=THROTTLE)
    network = thermal_network(powered.motor, powered.winding)
    network = replace(
        network, surroundings_C=AMBIENT_C, contact=network.contact / contact,
        film_factor=network.film_factor / film,
    )  # fmt: skip
    heating = heating_at(powered, point, copper_C=AMBIENT_C, magnet_C=AMBIENT_C)
    found = transient(network, [(RUN_S, heating)])
    middles = (np.arange(POINTS) + 0.5) * RUN_S / POINTS
    state = point.state
    assert state is not None

    def of(part: str) -> np.ndarray:
        curve = np.interp(middles, found.time, found.of(part))
        return AMBIENT_C + rise * (curve - AMBIENT_C)

    ones = np.ones(POINTS)
    return Warming(
        seconds=ones * RUN_S / POINTS, speed=ones * state.speed,
        torque=ones * (point.shaft_torque or 0.0), current=ones * state.supply_current,
        temperatures_C={"copper": of("copper"), "housing": of("housing")},
        surroundings_C=AMBIENT_C, start_C=AMBIENT_C,
    )  # fmt: skip


def fitted(warming: Warming | None, checks: tuple[BenchCheck, ...] = ()) -> Fit | None:
    model: ForwardModel = model_of(replace(simulated(), warming=warming, checks=checks))
    return heat_fit(model, model.prior)


def ranges(found: Fit | None) -> dict[str, Range]:
    assert found is not None
    return {one.name: one for one in ranges_of(found)}


def test_the_network_as_it_is_comes_back_with_factors_of_one() -> None:
    found = ranges(fitted(warmed()))
    for name in ("contact", "film", "mount"):
        one = found[f"{name}_thermal_resistance_factor"]
        assert one.low < 1 < one.high
        assert one.value == pytest.approx(1, rel=0.15)


def test_a_loose_winding_is_found_and_not_taken_for_poor_air() -> None:
    found = ranges(fitted(warmed(contact=1.8)))
    contact = found["contact_thermal_resistance_factor"]
    assert 1.1 < contact.low < 1.8 < contact.high
    assert (
        found["film_thermal_resistance_factor"].low
        < 1
        < (found["film_thermal_resistance_factor"].high)
    )


def test_temperatures_that_hardly_rise_say_nothing() -> None:
    assert fitted(warmed(rise=0.02)) is None
    assert fitted(None) is None


def test_what_no_cooling_explains_has_a_misfit() -> None:
    # Sensors exchanged: a housing warmer than its winding.
    log = warmed()
    copper, housing = (log.temperatures_C[part] for part in ("copper", "housing"))
    found = fitted(replace(log, temperatures_C={"copper": housing, "housing": copper}))
    assert found is not None
    assert math.sqrt(float(np.mean(found.residuals**2))) > 2


def test_a_thermometer_at_the_end_of_a_run_is_a_reading_like_others() -> None:
    log = warmed(film=1.4)
    speed, torque = log.speed[0] / RPM, log.torque[0]
    text = (
        f'[[thermometer]]\npart = "{{}}"\npart_C = {{}}\nsurroundings_C = {AMBIENT_C}\n'
        f"speed_rpm = {speed}\ntorque_Nm = {torque}\nrun_s = {RUN_S - RUN_S / POINTS / 2}\n"
        "uncertainty_K = 1\n"
    )
    names = {"winding": "copper", "housing": "housing"}
    entries = [text.format(word, log.temperatures_C[part][-1]) for word, part in names.items()]
    found = ranges(fitted(None, checks_from_toml("".join(entries))))
    film = found["film_thermal_resistance_factor"]
    assert film.low < 1.4 < film.high
    assert film.value > 1.05
    assert "thermometer_offset_C" not in found
