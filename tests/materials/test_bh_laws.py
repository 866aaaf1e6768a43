"""B-H laws: smooth, monotone, vacuum beyond the table, and their energies."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from fem_motor.arrays import FloatArray
from fem_motor.errors import MaterialError
from fem_motor.materials import BHCurve, Core, load_library

MU_0 = 4e-7 * math.pi
CORES = {name: core for name, core in load_library().items() if isinstance(core, Core)}

every_core = pytest.mark.parametrize("name", CORES)


@st.composite
def tables(draw: st.DrawFn) -> tuple[FloatArray, FloatArray]:
    """Return a table of H and B that any core could have: J grows, B = J + μ₀ H."""
    rows = draw(st.integers(1, 9))
    H_steps = draw(st.lists(st.floats(1, 1e5), min_size=rows, max_size=rows))
    J_steps = draw(st.lists(st.floats(0, 0.3), min_size=rows, max_size=rows))
    H = np.concatenate([[0.0], np.cumsum(H_steps)])
    return H, np.concatenate([[0.0], np.cumsum(J_steps)]) + MU_0 * H


def slope(curve: BHCurve, B: FloatArray) -> FloatArray:
    """Return dH/dB = ν + 2 B² dν/d(B²)."""
    reluctivity, change = curve.reluctivity_and_slope(B**2)
    return reluctivity + 2 * B**2 * change


# -- the law itself ----------------------------------------------------------------------------


@given(table=tables())
@settings(max_examples=60, deadline=None)
def test_a_law_goes_through_every_row_of_its_table(table: tuple[FloatArray, FloatArray]) -> None:
    H, B = table
    curve = BHCurve.from_table(H, B)
    np.testing.assert_allclose(curve.field_strength(B), H, rtol=1e-9)
    np.testing.assert_allclose(curve.flux_density(H), B, rtol=1e-9)


@given(table=tables())
@settings(max_examples=60, deadline=None)
def test_any_law_rises_strictly_and_nowhere_less_than_vacuum(
    table: tuple[FloatArray, FloatArray],
) -> None:
    curve = BHCurve.from_table(*table)
    B = np.linspace(0, 1.2 * curve.points[-1], 4001)
    rise = np.diff(curve.field_strength(B))
    assert rise.min() > 0
    # Tables may fall below μ₀ by a millionth (printed with few digits), and so may the law;
    # the rest is the rounding of a difference of two large field strengths.
    rounding = 4e-16 * curve.field_strength(B[-1:])[0] / np.diff(B)[0] * MU_0
    assert (rise / np.diff(B)).max() * MU_0 <= 1 + 2e-6 + rounding


@given(table=tables())
@settings(max_examples=60, deadline=None)
def test_any_law_is_inverted_by_its_inverse(table: tuple[FloatArray, FloatArray]) -> None:
    curve = BHCurve.from_table(*table)
    B = np.linspace(-1.5, 1.5, 601) * curve.points[-1]
    np.testing.assert_allclose(
        curve.flux_density(curve.field_strength(B)), B, rtol=1e-9, atol=1e-12
    )
    H = np.concatenate([[0.0], np.geomspace(1e-3, 1e7, 400)])
    there = curve.field_strength(curve.flux_density(H))
    np.testing.assert_allclose(there, H, rtol=1e-8, atol=1e-9)


@every_core
def test_library_laws_are_inverted_to_rounding(name: str) -> None:
    curve = CORES[name].curve
    H = np.concatenate([[0.0], np.geomspace(1e-2, 1e6, 2000)])
    H = np.concatenate([-H, H])
    np.testing.assert_allclose(curve.field_strength(curve.flux_density(H)), H, rtol=1e-12)


@every_core
def test_field_strength_has_no_step_at_a_knot(name: str) -> None:
    curve, step = CORES[name].curve, 1e-10
    knots = curve.points[1:]
    jump = curve.field_strength(knots + step) - curve.field_strength(knots - step)
    # Over 2e-10 T no law rises by more than vacuum does, 1.6e-4 A/m.
    assert np.all(jump >= 0)
    assert np.all(jump <= 2 * step / MU_0 * 1.01 + 1e-12 * curve.field_strength(knots))


@every_core
def test_slope_has_no_step_at_a_knot(name: str) -> None:
    # One-sided differences of H, twice extrapolated to a step of nothing: a cubic is met exactly.
    curve = CORES[name].curve
    knots = curve.points[1:]
    if not knots.size:
        pytest.skip("a constant permeability has no knots")
    before = np.diff(curve.points)
    after = np.append(before[1:], before[-1])

    def one_sided(width: FloatArray) -> FloatArray:
        rows = [
            (curve.field_strength(knots + width * t) - curve.field_strength(knots)) / (width * t)
            for t in (0.1, 0.2, 0.4)
        ]
        first, second = 2 * rows[0] - rows[1], 2 * rows[1] - rows[2]
        return (4 * first - second) / 3

    left, right = one_sided(-before), one_sided(after)
    # Rounding of H over the narrowest step (1e-5 T next to 2 T, H up to 2e5 A/m): 1e-5 of 1/μ₀.
    np.testing.assert_allclose(left, right, rtol=1e-6, atol=1e-5 / MU_0)
    np.testing.assert_allclose(left, slope(curve, knots), rtol=1e-6, atol=1e-5 / MU_0)


def test_slope_of_a_printed_table_has_no_step_at_its_rows() -> None:
    # Sharper than above, below the knee of a steel, where dH/dB is a thousandth of 1/μ₀.
    curve = CORES["m400-50a"].curve
    rows = curve.points[1:14]
    below, above = slope(curve, rows * (1 - 1e-9)), slope(curve, rows * (1 + 1e-9))
    np.testing.assert_allclose(below, above, rtol=1e-5)
    H_below = (curve.field_strength(rows) - curve.field_strength(rows - 1e-6)) / 1e-6
    H_above = (curve.field_strength(rows + 1e-6) - curve.field_strength(rows)) / 1e-6
    np.testing.assert_allclose(H_below, H_above, rtol=2e-3)


@every_core
def test_the_reluctivity_slope_is_the_derivative_of_the_reluctivity(name: str) -> None:
    curve = CORES[name].curve
    square = np.linspace(0.013, 4.1, 97) ** 2
    step = 1e-6 * square
    numeric = (curve.reluctivity(square + step) - curve.reluctivity(square - step)) / (2 * step)
    # Central difference: rounding 2e-16/1e-6 of ν/B², and a knot within the step now and then.
    np.testing.assert_allclose(
        curve.reluctivity_and_slope(square)[1], numeric, rtol=1e-4, atol=1e-8 / MU_0 / square.min()
    )


@every_core
def test_reluctivity_is_field_strength_over_flux_density(name: str) -> None:
    curve = CORES[name].curve
    B = np.linspace(0.001, 3, 301)
    np.testing.assert_allclose(curve.reluctivity(B**2), curve.field_strength(B) / B, rtol=1e-12)


@every_core
def test_reluctivity_is_finite_and_steady_at_no_field(name: str) -> None:
    curve = CORES[name].curve
    value, change = curve.reluctivity_and_slope(np.array([0.0, 1e-30, 1e-16]))
    start = 1 / (MU_0 * curve.initial_permeability)
    np.testing.assert_allclose(value, start, rtol=1e-5)
    assert np.all(np.isfinite(change))


@every_core
def test_beyond_the_last_row_the_polarisation_stays(name: str) -> None:
    curve = CORES[name].curve
    B = curve.points[-1] + np.array([0.01, 0.1, 1.0, 10.0])
    J = B - MU_0 * curve.field_strength(B)
    np.testing.assert_allclose(J, J[0], atol=1e-12)
    np.testing.assert_allclose(slope(curve, B), 1 / MU_0, rtol=1e-9)


@given(table=tables())
@settings(max_examples=40, deadline=None)
def test_the_turn_to_vacuum_costs_less_than_a_tenth_of_a_millitesla(
    table: tuple[FloatArray, FloatArray],
) -> None:
    # The kinked law has J of the last row for ever. The turn is 1e-4 T wide, so that at most
    # ½ · 1e-4 T are added.
    H, B = table
    curve = BHCurve.from_table(H, B)
    far = np.array([2 * H[-1] + 1e6])
    added = curve.flux_density(far)[0] - MU_0 * far[0] - (B[-1] - MU_0 * H[-1])
    assert -1e-9 <= added <= 0.5e-4 + 1e-9


def test_a_law_is_odd() -> None:
    curve = CORES["steel-1008"].curve
    B = np.linspace(0, 2.5, 26)
    np.testing.assert_array_equal(curve.field_strength(-B), -curve.field_strength(B))
    H = curve.field_strength(B)
    np.testing.assert_array_equal(curve.flux_density(-H), -curve.flux_density(H))


def test_a_law_does_not_overshoot_between_rows_of_a_sharp_knee() -> None:
    # What a plain cubic spline gets wrong: within a piece H stays between its rows.
    H, B = np.array([0.0, 100, 110, 5000]), np.array([0.0, 0.1, 1.5, 1.6])
    curve = BHCurve.from_table(H, B)
    for row in range(3):
        inside = curve.field_strength(np.linspace(B[row], B[row + 1], 201))
        assert inside.min() >= H[row] - 1e-9
        assert inside.max() <= H[row + 1] + 1e-9


def test_a_table_that_ends_flat_has_no_vertical_flux_density() -> None:
    # H = 0, 100, 101 A/m: the last row is so shallow that the end slope of the monotone cubic
    # (three-point formula of Fritsch and Butland) is 0; B over H would be vertical there.
    curve = BHCurve.from_table(np.array([0.0, 100, 101]), np.array([0.0, 0.1, 0.5]))
    assert slope(curve, np.array([0.5]))[0] >= 0.1 * (101 - 100) / (0.5 - 0.1) * (1 - 1e-12)


# -- energies ----------------------------------------------------------------------------------


@every_core
def test_energy_density_is_the_integral_of_field_strength(name: str) -> None:
    # Second method: adaptive quadrature of ∫ H dB, told where the pieces meet.
    curve = CORES[name].curve
    for B in (0.05, 0.7, 1.55, 2.4):
        knots = [float(p) for p in curve.points[1:] if p < B]
        expected, _ = quad(
            lambda b: float(curve.field_strength(np.array(b))),
            0,
            B,
            points=knots or None,
            limit=800,
            epsrel=1e-11,
        )
        found = curve.energy_density(np.array([B**2]))[0]
        assert found == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("name", ["m400-50a", "smc-typical", "iron-filled-pla-20vol"])
def test_energy_density_and_the_integral_of_flux_density_make_the_product(name: str) -> None:
    # ∫ H dB + ∫ B dH = H B, the second by quadrature over the inverse law.
    curve = CORES[name].curve
    H = 3e4
    knots = [float(h) for h in curve.coefficients[0][1:] if h < H]
    expected, _ = quad(
        lambda h: float(curve.flux_density(np.array([h]))[0]),
        0,
        H,
        points=knots or None,
        limit=400,
        epsrel=1e-9,
    )
    B = curve.flux_density(np.array([H]))
    rest = H * B[0] - curve.energy_density(B**2)[0]
    assert rest == pytest.approx(expected, rel=1e-8)


@given(table=tables())
@settings(max_examples=30, deadline=None)
def test_iron_never_stores_more_energy_than_coenergy(table: tuple[FloatArray, FloatArray]) -> None:
    # Where J grows ever more slowly (a concave law) ∫ B dH ≥ ∫ H dB; both are never negative.
    H, B = table
    order = np.argsort(-np.diff(B) / np.diff(H), kind="stable")
    H = np.concatenate([[0.0], np.cumsum(np.diff(H)[order])])
    B = np.concatenate([[0.0], np.cumsum(np.diff(B)[order])])
    curve = BHCurve.from_table(H, B)
    square = B[1:] ** 2
    energy = curve.energy_density(square)
    coenergy = curve.field_strength(B[1:]) * B[1:] - energy
    assert np.all(energy > 0)
    assert np.all(coenergy >= energy * (1 - 1e-6))


# -- linear laws -------------------------------------------------------------------------------


def test_a_linear_law_is_the_straight_line_of_its_permeability() -> None:
    curve = BHCurve.linear(4.0)
    B = np.array([-2.0, 0.0, 0.3, 5.0])
    assert curve.is_linear
    np.testing.assert_allclose(curve.field_strength(B), B / (4 * MU_0), rtol=1e-14)
    np.testing.assert_allclose(curve.flux_density(B / (4 * MU_0)), B, rtol=1e-14)
    np.testing.assert_allclose(curve.energy_density(B**2), B**2 / (8 * MU_0), rtol=1e-14)
    np.testing.assert_array_equal(curve.reluctivity_and_slope(B**2)[1], 0.0)


@pytest.mark.parametrize("permeability", [0.9, 0.0, -3.0, math.inf, math.nan])
def test_a_linear_law_below_vacuum_is_refused(permeability: float) -> None:
    with pytest.raises(MaterialError) as caught:
        BHCurve.linear(permeability)
    assert str(caught.value) == (
        f"relative_permeability = {permeability:g} is out of range.\n"
        "  why: a core carries at least the flux of vacuum.\n"
        "  do:  give a number from 1 up."
    )


# -- stacks of sheets --------------------------------------------------------------------------


@every_core
@pytest.mark.parametrize("fraction", [0.90, 0.95, 0.97])
def test_a_stack_carries_the_flux_of_its_sheets_and_of_the_air_between(
    name: str, fraction: float
) -> None:
    # Closed form: H is common, so B_avg = f B(H) + (1 − f) μ₀ H. The cubics of the stack meet it
    # within a millionth.
    curve = CORES[name].curve
    H = np.geomspace(0.5, 5e5, 700)
    expected = fraction * curve.flux_density(H) + (1 - fraction) * MU_0 * H
    np.testing.assert_allclose(curve.stacked(fraction).flux_density(H), expected, rtol=1e-6)


def test_a_stack_of_a_linear_material_is_linear() -> None:
    # f μ_r + 1 − f
    # Plastic in any share is plastic; 0.9 + (1 - 0.9) rounds to less than vacuum.
    for fraction in (0.3, 0.7, 0.9, 0.95):
        assert BHCurve.linear(1.0).stacked(fraction).initial_permeability == 1.0
    stack = BHCurve.linear(5.0).stacked(0.8)
    assert stack.is_linear
    assert stack.initial_permeability == pytest.approx(4.2, rel=1e-14)


def test_a_stack_without_air_is_the_material_itself() -> None:
    curve = CORES["m400-50a"].curve
    assert curve.stacked(1.0) is curve


def test_a_stack_saturates_at_its_share_of_the_polarisation() -> None:
    curve = CORES["m400-50a"].curve
    H = np.array([5e6])
    full, part = (law.flux_density(H)[0] - MU_0 * H[0] for law in (curve, curve.stacked(0.95)))
    assert part == pytest.approx(0.95 * full, rel=1e-4)  # the turn to vacuum: up to 5e-5 T


@pytest.mark.parametrize("fraction", [0.0, -0.5, 1.01, math.nan])
def test_a_stack_holds_between_nothing_and_all_of_the_material(fraction: float) -> None:
    with pytest.raises(MaterialError) as caught:
        CORES["m400-50a"].curve.stacked(fraction)
    assert str(caught.value) == (
        f"core_fraction = {fraction:g} is out of range.\n"
        "  why: it is the iron share of the stack length.\n"
        "  do:  give a number above 0 and at most 1."
    )


# -- the record --------------------------------------------------------------------------------


def test_a_law_is_read_only_and_short_to_print() -> None:
    curve = CORES["iron-filled-pla-10vol"].curve
    with pytest.raises(ValueError, match="read-only"):
        curve.points[0] = 1.0
    assert repr(curve) == "BHCurve(is_linear=False)"
    assert len(repr(CORES["m400-50a"])) < 1200


def test_arrays_of_any_shape_keep_it() -> None:
    curve = CORES["smc-typical"].curve
    square = np.linspace(0, 4, 24).reshape(2, 3, 4)
    for result in (
        *curve.reluctivity_and_slope(square),
        curve.field_strength(square),
        curve.flux_density(square),
        curve.energy_density(square),
    ):
        assert result.shape == (2, 3, 4)


@pytest.mark.parametrize("spread", ["even", "uneven"])
def test_many_values_find_the_pieces_that_single_values_find(spread: str) -> None:
    # Tables for many values, bisection for few: the same law.
    B = np.linspace(0, 2, 200) if spread == "even" else 2 * np.linspace(0, 1, 60) ** 5
    curve = BHCurve.from_table(B / (2000 * MU_0) + 2e3 * B**6, B)
    many = np.random.default_rng(8).uniform(0, 2.5, 50_000)
    some = many[:500]
    assert np.array_equal(curve.field_strength(many)[:500], curve.field_strength(some))
