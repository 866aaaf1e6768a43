"""A motor under water: cooled well, dragged hard, and said what it does to parts and people."""

from functools import cache

import pytest
from powered_machines import PRINTED, powered

import fem_motor as fm
from fem_motor.heat import steady, thermal_network
from fem_motor.losses.drag import gap_windage
from fem_motor.performance import PerformanceSheet
from fem_motor.powered import heating_at
from fem_motor.report.wording.cautions import cautions

WET = {"cooling__medium": "water", "load__diameter_mm": 60.0, "load__pitch_mm": 40.0}
"""Under water with a screw that this motor turns there."""


@cache
def sheet() -> PerformanceSheet:
    return fm.run(
        fm.load_design(f"geometries/{PRINTED}.toml").replace(**WET),
        quality="draft",
    )


def test_water_drags_the_rotor_some_hundred_times_as_hard_as_air() -> None:
    # Turbulent drag of the can goes with the density (830 times) and with ν^(1/5) to ν^(1/4) or so:
    # water is 15 times less viscous by ν, which takes back half. Worked example of a can of 30 mm:
    # 0.092 W in air and 47 W in water at 6000 rpm, 510 times.
    speed = 600.0
    wet = powered(PRINTED, cooling__medium="water").drag_losses(speed)["windage"]
    dry = powered(PRINTED).drag_losses(speed)["windage"]
    assert 200 < wet / dry < 830


def test_only_the_drag_of_the_gap_heats_the_motor() -> None:
    # Sources as of the drag: gap by Bilgen and Boulos, outside by Theodorsen and Regier; the can's
    # outside gives its heat to the water straight away.
    motor = powered(PRINTED, **WET)
    point = motor.at_load()
    assert point.speed is not None
    heating = heating_at(motor, point, copper_C=20.0, magnet_C=20.0)
    windage = motor.losses.windage
    in_gap = gap_windage(
        windage.fluid,
        radius=windage.gap_radius,
        gap=windage.gap,
        length=windage.stack_length,
        speed=point.speed,
    )
    assert heating.windage == pytest.approx(in_gap)
    assert in_gap < 0.5 * motor.drag_losses(point.speed)["windage"]


def test_a_screw_takes_the_power_that_the_density_of_water_asks_for() -> None:
    # P = CP ρ n³ D⁵, 998 kg/m³ of fresh water; the air's would be a thousandth of it.
    load = next(point for point in sheet().operating_points if point.name == "load")
    turns = (load.speed_rpm or 0.0) / 60
    assert turns > 20
    assert load.shaft_power_W == pytest.approx(0.048 * 998 * turns**3 * 0.06**5, rel=1e-4)
    assert load.thrust_N == pytest.approx(0.12 * 998 * turns**2 * 0.06**4, rel=1e-4)


def test_a_propeller_for_air_is_held_at_a_crawl_under_water() -> None:
    # 254 mm in water ask for 830 times the torque of air: the current limit is all there is.
    crawl = powered(PRINTED, cooling__medium="water").at_load()
    assert crawl.state is not None
    assert crawl.state.line_current_peak == pytest.approx(
        powered(PRINTED).bridge.current_limit, rel=1e-6
    )


def test_at_the_same_current_water_keeps_the_copper_cooler() -> None:
    wet, dry = (
        thermal_network(motor.motor, motor.winding, speed=300.0)
        for motor in (powered(PRINTED, cooling__medium="water"), powered(PRINTED))
    )
    ends = [steady(one, one.copper_heating(3e6)).of("copper") or 1e3 for one in (wet, dry)]
    assert ends[0] < ends[1]


def test_a_wet_run_names_insulation_corrosion_the_rim_and_the_local_code() -> None:
    told = " ".join(f"{finding.name} {finding.why} {finding.do}" for finding in sheet().checks)
    for word in ("under water", "pinholes", "coat magnets", "local code", "rim"):
        assert word in told
    assert any("residual-current" in line for line in cautions(sheet()))


def test_energy_closes_in_water_too() -> None:
    for point in sheet().operating_points:
        if point.supply_power_W is None:
            continue
        assert point.supply_power_W == pytest.approx(
            (point.shaft_power_W or 0.0) + sum(point.losses_W.values()), rel=1e-9
        )
