"""Every check fires on a machine made doubtful on purpose, and is quiet on a sound one."""

import functools
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import fem_motor as fm
from fem_motor.findings import Finding
from fem_motor.mesh import mesh_motor
from fem_motor.performance.doubts.checks import result_checks
from fem_motor.performance.doubts.quality import SETTINGS, Quality
from fem_motor.quantities import MotorModel, motor_model
from fem_motor.winding import wind

GEOMETRIES = Path(__file__).parents[2] / "geometries"
RATED = 0.5
"""N m; against it the cogging below is held."""


def design_of(name: str, **changes: object) -> fm.MotorDesign:
    return fm.load_design(GEOMETRIES / f"{name}.toml").replace(**changes)


@functools.cache
def solved() -> MotorModel:
    """Return a model whose numbers the tests overwrite."""
    motor = design_of("printed_18s16p").motor
    return motor_model(motor, wind(motor), mesh_motor(motor, quality="draft"), angles_per_period=2)


def model(
    *,
    cogging_peak: float = 1e-3,
    spread: float = 0.0,
    tooth: float = 1.0,
    yoke: float = 1.0,
    ring: float | None = None,
) -> MotorModel:
    """Return a model with these numbers, by default sound ones."""
    known = solved().torques
    assert known is not None
    torques = replace(known, harmonics=1e-4, energy=1e-4, stress_stator=1e-4, stress_rotor=1e-4)
    up_and_down = (-1.0) ** np.arange(solved().angle.size)
    return replace(
        solved(),
        cogging_torque=cogging_peak * up_and_down,
        torques=replace(torques, energy=1e-4 + spread),
        core_flux=replace(solved().core_flux, tooth=tooth, yoke=yoke, ring=ring),
    )


def findings(
    name: str,
    changes: dict[str, object] | None = None,
    quality: Quality = "standard",
    **numbers: float,
) -> dict[str, Finding]:
    motor = design_of(name, **(changes or {})).motor
    found = result_checks(motor, model(**numbers), SETTINGS[quality], rated_torque=RATED)
    by_name = {finding.name: finding for finding in found}
    assert len(by_name) == len(found)
    for finding in found:
        assert finding.why
        assert bool(finding.do) == (finding.status != "ok")
    return by_name


SPREAD = "spread of three torques (harmonics, co-energy, stress), N m"
COGGING = "cogging peak over rated torque"
TOOTH, YOKE, RING = (f"mean flux density of the {part}, T" for part in ("tooth", "yoke", "ring"))
SECTORS = "equal sectors around the rotor"
HALBACH = "strong side of the Halbach layout"
SHORT = "stack length over pole pitch"


def test_a_sound_machine_raises_nothing() -> None:
    found = findings("steel_12s14p", cogging_peak=5e-3, ring=1.2)
    assert set(found) == {SPREAD, COGGING, TOOTH, YOKE, RING, SECTORS}
    assert {finding.status for finding in found.values()} == {"ok"}


@pytest.mark.parametrize(
    ("quality", "spread", "status"),
    [
        # Standard: 1 % of a peak of 0.1 N m is 1 mN m; draft five times that.
        ("standard", 0.9e-3, "ok"),
        ("standard", 1.1e-3, "watch"),
        ("draft", 4.5e-3, "ok"),
        ("draft", 5.5e-3, "watch"),
        ("fine", 1.1e-4, "watch"),
    ],
)
def test_torques_that_disagree_are_watched(quality: Quality, spread: float, status: str) -> None:
    found = findings("steel_12s14p", quality=quality, cogging_peak=0.1, spread=spread)[SPREAD]
    assert found.status == status
    assert found.value == pytest.approx(spread, rel=1e-9)


@pytest.mark.parametrize(("spread", "status"), [(0.9e-4, "ok"), (1.1e-4, "watch")])
def test_where_hardly_anything_cogs_the_spread_is_held_against_rated_torque(
    spread: float, status: str
) -> None:
    # 2e-4 of the rated 0.5 N m at standard quality; of the peak, 1e-6 N m, nothing would pass.
    found = findings("steel_12s14p", cogging_peak=1e-6, spread=spread)[SPREAD]
    assert found.status == status


@pytest.mark.parametrize(("peak", "status"), [(0.0099, "ok"), (0.0101, "watch")])
def test_cogging_above_2_percent_of_rated_torque_is_watched(peak: float, status: str) -> None:
    # Common practice for propellers, no source: 2 % of 0.5 N m. The peak is half of peak to peak.
    found = findings("steel_12s14p", cogging_peak=peak)[COGGING]
    assert found.status == status
    assert found.value == pytest.approx(peak / RATED, rel=1e-6)


@pytest.mark.parametrize(
    ("part", "name", "limit"), [("tooth", TOOTH, 1.75), ("yoke", YOKE, 1.55), ("ring", RING, 1.5)]
)
def test_saturated_steel_is_watched_part_by_part(part: str, name: str, limit: float) -> None:
    # Common practice in design reviews, no source.
    sound = {"tooth": 1.0, "yoke": 1.0, "ring": 1.0}
    full = findings("steel_12s14p", **sound | {part: limit + 0.01})
    assert [key for key in (TOOTH, YOKE, RING) if full[key].status == "watch"] == [name]
    assert full[name].limit == limit
    below = findings("steel_12s14p", **sound | {part: limit - 0.01})
    assert below[name].status == "ok"


def test_a_plastic_core_is_not_asked_for_the_saturation_of_steel() -> None:
    found = findings("printed_18s16p_ring", tooth=3.0, yoke=3.0, ring=1.0)
    assert TOOTH not in found
    assert YOKE not in found
    assert RING in found
    assert RING not in findings("printed_18s16p")


@pytest.mark.parametrize(("poles", "status"), [(8, "watch"), (10, "watch"), (12, "ok"), (6, "ok")])
def test_one_sector_only_pulls_to_one_side(poles: int, status: str) -> None:
    # Forces of the currents cancel where slots and poles have a common divisor of 2 or more.
    narrow = {"machine__poles": poles, "rotor__magnet_width_mm": 3.0}
    found = findings("steel_9s12p", narrow)[SECTORS]
    assert found.status == status
    assert found.value == math.gcd(9, poles)


def test_a_halbach_layout_with_its_strong_side_outside_is_a_stop() -> None:
    wrong = findings("halbach_18s16p", {"rotor__strong_side": "outside"})
    assert wrong[HALBACH].status == "stop"
    assert HALBACH not in findings("halbach_18s16p")


@pytest.mark.parametrize(("length_mm", "status"), [(50.0, "ok"), (40.0, "watch")])
def test_a_short_stack_on_a_core_near_air_is_watched(length_mm: float, status: str) -> None:
    # Four pole pitches of π·56 mm/16 = 10.996 mm are 43.98 mm: below it ends cost more than 5 %,
    # from the exact field of magnet segments of finite length.
    found = findings("printed_18s16p", {"machine__stack_length_mm": length_mm})[SHORT]
    assert found.status == status
    assert found.value == pytest.approx(length_mm / 10.9956, rel=1e-5)


def test_with_a_steel_core_the_length_of_the_stack_is_not_asked_for() -> None:
    assert SHORT not in findings("steel_9s12p", {"machine__stack_length_mm": 2.0})


# -- before anything is solved ----------------------------------------------------------------


def statuses(design: fm.MotorDesign) -> dict[str, str]:
    found = {finding.name: finding.status for finding in fm.check(design)}
    assert len(found) == len(fm.check(design))
    return found


FILL = "slot fill, bare copper over slot area inside the liner"
OPENING = "slot opening, mm, against one enamelled wire"
GAP = "air gap, mm"


def test_shipped_designs_raise_no_stop() -> None:
    for path in sorted(GEOMETRIES.glob("*.toml")):
        assert "stop" not in statuses(fm.load_design(path)).values(), path.name


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({"winding__turns_per_tooth": 24}, FILL),
        ({"stator__slot_opening_mm": 0.5, "winding__strands": 1}, OPENING),
        ({"machine__air_gap_mm": 0.4}, GAP),
        ({"winding__coils": ["U+", "W+", "V+"] * 6, "machine__poles": 12}, "phase sequence"),
        (
            {"winding__coils": ["U+", "V+", "W+"] * 5 + ["U+", "V+", "W-"], "machine__poles": 12},
            "unbalance of the phases",
        ),
    ],
)  # fmt: skip
def test_a_doubtful_design_is_watched_before_it_is_solved(
    changes: dict[str, object], name: str
) -> None:
    before = statuses(design_of("printed_18s16p"))
    assert before.get(name, "ok") == "ok"
    found = statuses(design_of("printed_18s16p", **changes))
    assert [key for key, status in found.items() if status != "ok"] == [name]


def test_a_phase_whose_coils_cancel_is_a_stop() -> None:
    # Eighteen slots and twelve poles repeat every three teeth: U+ with U- leaves nothing.
    coils = ["U+", "V+", "W+", "U-", "V+", "W+"] * 3
    changes = {"winding__coils": coils, "machine__poles": 12}
    assert statuses(design_of("printed_18s16p", **changes))["phase without voltage"] == "stop"


def test_a_design_that_cannot_be_built_is_refused() -> None:
    with pytest.raises(fm.DesignError, match="stator"):
        fm.check(design_of("printed_18s16p", stator__tooth_width_mm=12.0))


MEMORY = "memory that the fields take, GB"


@pytest.mark.parametrize("share", [0.9, 1.1])
def test_a_field_of_more_than_two_gigabytes_is_watched(
    share: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    # 2 GB is a limit of common practice; each unknown is made as large as it takes to reach it.
    monkeypatch.setattr("fem_motor.performance.doubts.checks.MUCH_MEMORY", 2e9)
    each = share * 2e9 / solved().problem.unknowns
    monkeypatch.setattr("fem_motor.field.solving.problem.MEMORY_PER_UNKNOWN", each)
    found = findings("printed_18s16p")
    assert (MEMORY in found) == (share > 1)
    if share > 1:
        assert found[MEMORY].status == "watch"
        assert found[MEMORY].value == pytest.approx(2.2)
