"""Iron-filled plastic: permeability between estimates, saturation by the share of iron."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from fem_motor.errors import MaterialError
from fem_motor.materials import BHCurve, Core, load_library, material_from_table

MU_0 = 4e-7 * math.pi
J_IRON = 2.15  # T, room temperature; R. Bozorth, Ferromagnetism (1951), from memory
FILLED = {
    name: core
    for name, core in load_library().items()
    if isinstance(core, Core) and core.iron_volume_fraction is not None
}

fractions = pytest.mark.parametrize("phi", [0.02, 0.1, 0.2, 0.3, 0.4, 0.5])
every_filled = pytest.mark.parametrize("name", FILLED)


def filled(phi: float) -> Core:
    """Return a plastic of which only the share of iron is known."""
    core = material_from_table("filled", {"kind": "core", "iron_volume_fraction": phi})
    assert isinstance(core, Core)
    return core


def estimates(phi: float) -> tuple[float, float]:
    """Return the lower and upper estimate that the program gives."""
    span = filled(phi).relative_permeability_range
    assert span is not None
    return span


def hashin_shtrikman(phi: float, iron: float) -> tuple[float, float]:
    """Return both bounds of an isotropic mixture of plastic (1) and iron.

    Source: Z. Hashin and S. Shtrikman, J. Appl. Phys. 33 (1962) 3125, from memory.
    """
    lower = 1 + phi / (1 / (iron - 1) + (1 - phi) / 3)
    upper = iron + (1 - phi) / (1 / (1 - iron) + phi / (3 * iron))
    return lower, upper


def wiener(phi: float, iron: float) -> tuple[float, float]:
    """Return the permeability across and along layers, which bound every mixture.

    Source: O. Wiener, Abh. Sächs. Akad. Wiss. 32 (1912) 509, from memory; series and parallel.
    """
    return 1 / (1 - phi + phi / iron), 1 - phi + phi * iron


# -- permeability ------------------------------------------------------------------------------


@fractions
def test_lower_estimate_is_maxwell_garnett(phi: float) -> None:
    # (μ − 1)/(μ + 2) = φ (μ_i − 1)/(μ_i + 2) → φ for iron (J. C. Maxwell Garnett, Phil. Trans. R.
    # Soc. 203 (1904) 385, from memory), solved here by bisection.
    expected = brentq(lambda mu: (mu - 1) / (mu + 2) - phi, 1, 100, xtol=1e-13)
    assert estimates(phi)[0] == pytest.approx(expected, rel=1e-9)


@fractions
def test_lower_estimate_is_the_lower_bound_of_hashin_and_shtrikman(phi: float) -> None:
    assert estimates(phi)[0] == pytest.approx(hashin_shtrikman(phi, 1e9)[0], rel=1e-7)


@fractions
def test_upper_estimate_is_bruggeman_and_hanai(phi: float) -> None:
    # (μ_i − μ)/(μ_i − 1) μ^(−1/3) = 1 − φ (D. Bruggeman, Ann. Phys. 416 (1935) 636; T. Hanai,
    # Kolloid-Z. 171 (1960) 23, from memory), solved by bisection for iron of μ_i = 10⁹.
    iron = 1e9
    expected = brentq(
        lambda mu: (iron - mu) / (iron - 1) * mu ** (-1 / 3) - (1 - phi), 1, 1e4, xtol=1e-12
    )
    assert estimates(phi)[1] == pytest.approx(expected, rel=1e-6)


@fractions
def test_upper_estimate_is_what_adding_grains_one_by_one_gives(phi: float) -> None:
    # Second method: every new grain sits in the mixture made so far, dμ/dφ = 3 μ/(1 − φ) for
    # spheres of very high permeability; integrated numerically from plain plastic.
    grown = solve_ivp(
        lambda share, mu: 3 * mu / (1 - share), (0, phi), [1.0], rtol=1e-10, atol=1e-12
    )
    assert estimates(phi)[1] == pytest.approx(grown.y[0, -1], rel=1e-7)


@settings(max_examples=50)
@given(phi=st.floats(0.001, 0.7), iron=st.floats(500, 1e5))
def test_both_estimates_lie_between_the_bounds_of_any_mixture(phi: float, iron: float) -> None:
    low, high = estimates(phi)
    assert low < high
    across, along = wiener(phi, iron)
    assert across < low
    assert high < along or phi < 0.01  # 1 + 3 φ against 1 + (μ_i − 1) φ
    # The lower estimate is the bound for endless μ_i: above that of finite μ_i by 3/μ_i or so.
    bound, upper_bound = hashin_shtrikman(phi, iron)
    assert bound <= low <= bound * (1 + 20 / iron)
    assert high < upper_bound


def test_few_grains_add_three_times_their_share() -> None:
    # A sphere of high permeability has demagnetising factor 1/3: μ = 1 + 3 φ to first order.
    for estimate in estimates(0.001):
        assert (estimate - 1) / 0.001 == pytest.approx(3.0, rel=3e-3)


def test_without_further_knowledge_the_middle_of_the_estimates_is_taken() -> None:
    low, high = estimates(0.25)
    assert low == pytest.approx(2.0, rel=1e-12)  # 1.5/0.75
    assert high == pytest.approx(64 / 27, rel=1e-12)
    found = filled(0.25).curve.initial_permeability
    assert found == pytest.approx(math.sqrt(low * high), rel=1e-12)


@every_filled
def test_library_ranges_are_the_two_estimates(name: str) -> None:
    core = FILLED[name]
    assert core.iron_volume_fraction is not None
    # Printed with four figures.
    assert core.relative_permeability_range == pytest.approx(
        estimates(core.iron_volume_fraction), rel=5e-4
    )


@every_filled
def test_library_permeability_lies_within_its_range(name: str) -> None:
    core = FILLED[name]
    assert core.relative_permeability_range is not None
    low, high = core.relative_permeability_range
    assert low < core.curve.initial_permeability < high


@every_filled
def test_density_tells_the_share_of_iron(name: str) -> None:
    # ρ = 7870 φ + matrix (1 − φ) kg/m³ with PLA of 1240 kg/m³, as one weighs a printed cube.
    core = FILLED[name]
    assert core.iron_volume_fraction is not None
    expected = 7870 * core.iron_volume_fraction + 1240 * (1 - core.iron_volume_fraction)
    assert core.density == pytest.approx(expected, abs=1)


# -- saturation --------------------------------------------------------------------------------


@every_filled
def test_polarisation_ends_at_the_share_of_iron_times_that_of_iron(name: str) -> None:
    core = FILLED[name]
    assert core.iron_volume_fraction is not None
    H = np.array([1e8, 1e9])
    J = core.curve.flux_density(H) - MU_0 * H
    np.testing.assert_allclose(J, core.iron_volume_fraction * J_IRON, rtol=2e-6)


@fractions
def test_law_of_a_mixture_is_its_closed_form(phi: float) -> None:
    # B = μ₀ H + φ J_s x/(1 + x⁴)^¼, x = H/H_s, H_s = φ J_s/(μ₀ (μ_r − 1)), between the knots too.
    mu = 1 + 4 * phi
    H_s = phi * J_IRON / (MU_0 * (mu - 1))
    H = H_s * np.geomspace(1e-3, 25, 1777)
    x = H / H_s
    expected = MU_0 * H + phi * J_IRON * x / (1 + x**4) ** 0.25
    found = BHCurve.mixture(phi, mu).flux_density(H)
    np.testing.assert_allclose(found, expected, rtol=1e-6)


@fractions
def test_well_separated_grains_saturate_at_a_third_of_their_magnetisation(phi: float) -> None:
    # With Maxwell Garnett H_s = M_s (1 − φ)/3: a saturated sphere's own demagnetising field, less
    # what its neighbours give. The tangent at the start meets φ J_s there, the law 2^(−1/4) of it.
    H_s = J_IRON / MU_0 * (1 - phi) / 3
    curve = BHCurve.mixture(phi, (1 + 2 * phi) / (1 - phi))
    polarisation = curve.flux_density(np.array([H_s]))[0] - MU_0 * H_s
    assert polarisation == pytest.approx(phi * J_IRON * 2**-0.25, rel=1e-6)


@every_filled
def test_a_printed_tooth_works_on_the_straight_part(name: str) -> None:
    # At half of H_s (200 kA/m) the law is (1 + 1/16)^(−1/4) = 1.5 % below its tangent.
    core = FILLED[name]
    assert core.iron_volume_fraction is not None
    mu = core.curve.initial_permeability
    H = 0.5 * core.iron_volume_fraction * J_IRON / (MU_0 * (mu - 1))
    J = core.curve.flux_density(np.array([H]))[0] - MU_0 * H
    assert J / (MU_0 * (mu - 1) * H) == pytest.approx((17 / 16) ** -0.25, rel=1e-6)


def test_a_mixture_of_permeability_one_is_plain_plastic() -> None:
    curve = BHCurve.mixture(0.1, 1.0)
    assert curve.is_linear
    assert curve.initial_permeability == 1.0


@pytest.mark.parametrize("phi", [0.0, -0.1, 1.0, 1.5, math.nan])
def test_a_share_of_iron_lies_between_none_and_all(phi: float) -> None:
    with pytest.raises(MaterialError) as caught:
        BHCurve.mixture(phi, 1.3)
    assert str(caught.value) == (
        f"iron_volume_fraction = {phi:g} is out of range.\n"
        "  why: it is the share of the volume that is iron.\n"
        "  do:  give a number between 0 and 1."
    )


@pytest.mark.parametrize(
    ("table", "span", "why"),
    [
        (
            {"kind": "core", "relative_permeability": 4.0, "relative_permeability_range": [5, 6]},
            "[5, 6]",
            "relative_permeability is 4.",
        ),
        (
            {"like": "iron-filled-pla-10vol", "relative_permeability_range": [1.4, 2.0]},
            "[1.4, 2.0]",
            "relative_permeability is 1.35.",
        ),
        # √((1 + 2φ)/(1 − φ) · (1 − φ)⁻³) at φ = 0.1 is √(1.33333 · 1.37174) = 1.352400.
        (
            {
                "kind": "core",
                "iron_volume_fraction": 0.1,
                "relative_permeability_range": [1.0, 1.3],
            },
            "[1.0, 1.3]",
            "relative_permeability is 1.3524, from iron_volume_fraction.",
        ),
    ],
    ids=["stated", "taken over", "computed"],
)
def test_a_range_that_does_not_hold_the_permeability_is_refused(
    table: dict[str, object], span: str, why: str
) -> None:
    with pytest.raises(MaterialError) as caught:
        material_from_table("mud", table)
    assert str(caught.value) == (
        f"materials.mud.relative_permeability_range = {span} does not hold the permeability.\n"
        f"  why: {why}\n"
        "  do:  give a range around it, or mend the permeability."
    )


@pytest.mark.parametrize("span", [[4, 4], [4, 6], [1, 4]])
def test_a_range_may_end_at_the_permeability(span: list[int]) -> None:
    table = {"kind": "core", "relative_permeability": 4.0, "relative_permeability_range": span}
    core = material_from_table("mud", table)
    assert isinstance(core, Core)
    assert core.relative_permeability_range == tuple(span)
