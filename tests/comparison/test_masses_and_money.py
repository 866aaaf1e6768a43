"""Masses from the section, and money from a list of prices."""

import math

import pytest

import fem_motor as fm
from fem_motor.comparison.assessing.masses import masses
from fem_motor.comparison.changes.prices import Prices, money_between, one_magnet, purchases
from fem_motor.errors import InputError

PLAIN = "geometries/printed_18s16p.toml"


def test_blocks_weigh_their_number_times_their_volume() -> None:
    # 16 blocks of 8 × 3 × 20 mm of 7500 kg/m³.
    motor = fm.load_design(PLAIN).motor
    assert masses(motor, fm.wind(motor)).magnets == pytest.approx(
        16 * 8e-3 * 3e-3 * 20e-3 * 7500, rel=1e-9
    )


def test_a_ring_weighs_its_annulus() -> None:
    # Inside: the circle through the outer corners of blocks 8 mm wide that begin at 28.8 mm.
    design = fm.load_design(PLAIN).replace(
        rotor__ring_material="steel-1008", rotor__ring_thickness_mm=2.0
    )
    inner = math.hypot(28.8e-3 + 3e-3, 4e-3)
    area = math.pi * ((inner + 2e-3) ** 2 - inner**2)
    motor = design.motor
    assert motor.rotor.ring is not None
    density = motor.rotor.ring.density or 0.0
    assert masses(motor, fm.wind(motor)).ring == pytest.approx(area * 20e-3 * density, rel=1e-6)


def test_a_core_of_sheets_weighs_its_share_of_iron() -> None:
    design = fm.load_design(PLAIN).replace(stator__core="m400-50a", stator__core_fraction=0.5)
    full = design.replace("stator.core_fraction", 1.0)
    half_mass, full_mass = (masses(one.motor, fm.wind(one.motor)).core for one in (design, full))
    assert full_mass == pytest.approx(2 * half_mass, rel=1e-12)


def bought(design: fm.MotorDesign, unit: float) -> tuple[object, ...]:
    winding = fm.wind(design.motor)
    weights = masses(design.motor, winding)
    return purchases(design, weights, wire_length=winding.wire_length, magnet_mass=unit)


def test_only_what_differs_has_to_be_priced() -> None:
    # 16 magnets of 0.5 become 16 of 4/3 the size by volume: 16 · 0.5 · (4/3 − 1) more.
    design = fm.load_design(PLAIN)
    thicker = design.replace("rotor.magnet_thickness_mm", 4.0)
    unit = one_magnet(design, masses(design.motor, fm.wind(design.motor)))
    prices = Prices(per_kg={"petg": 20.0}, per_piece={"ndfeb-n42h": 0.5}, per_m={})
    found = money_between(bought(design, unit), bought(thicker, unit), prices)  # type: ignore[arg-type]
    housing = [masses(one.motor, fm.wind(one.motor)).housing for one in (design, thicker)]
    expected = 16 * 0.5 / 3 + 20 * (housing[1] - housing[0])
    assert found.value == pytest.approx(expected, rel=1e-9)


def test_a_price_that_is_missing_leaves_the_money_out_and_is_named() -> None:
    design = fm.load_design(PLAIN)
    other = design.replace("rotor.magnet", "ndfeb-n52")
    prices = Prices(per_kg={}, per_piece={"ndfeb-n42h": 0.5}, per_m={})
    found = money_between(bought(design, 1e-3), bought(other, 1e-3), prices)  # type: ignore[arg-type]
    assert found.value is None
    assert found.missing == ("ndfeb-n52",)


def test_every_problem_of_a_list_of_prices_comes_at_once() -> None:
    with pytest.raises(InputError) as caught:
        Prices.from_toml("currency = 3\n[per_kilo]\na = 1\n[per_kg]\nb = -1\n", name="p.toml")
    assert str(caught.value) == (
        'p.toml: currency = 3 is no text.\n  do:  "EUR".\n'
        "p.toml: per_kilo is not known.\n"
        "  why: a list of prices has currency and per_kg, per_piece, per_m.\n"
        "  do:  move it into one of these sections.\n"
        "p.toml: per_kg.b = -1 is no price.\n"
        "  why: a price is a number, 0 or more.\n"
        "  do:  write 45.0, without the currency."
    )
