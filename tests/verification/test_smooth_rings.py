"""Bodies of concentric rings on regular grids: exact with iron on both sides, and saturating.

Slots keep a design file from having a smooth iron stator; meshes made by hand have one. Iron of
infinite permeability is left out: nothing on its surface says H_t = 0, as the weak form does.
"""

import math
from dataclasses import replace

import numpy as np
import pytest
from exact.tables import SLOTLESS_ORDERS, SlotlessRow, slotless_rows
from field.annuli import Ring, ring_cell

from fem_motor.field import FieldProblem, Magnets, field_problem, gap_potential, solve
from fem_motor.materials import BHCurve
from fem_motor.mesh import REGIONS, HalfCell, MotorMesh

# -- the table of slotless machines: p = 7, stator at 20 mm, magnets 20.5 to 23.5 mm ------------

P, BR, STEPS = 7, 1.2, 20
LOW, HIGH = 0.02015, 0.02035
STATORS: dict[str, tuple[float, list[Ring], float]] = {
    # back: inner radius, rings, permeability. The solid core of d has a hole of 2 mm, which the
    # lowest harmonic feels by (2/20)^14.
    "a": (0.020, [], 1.0),
    "b": (0.020, [], 1.0),
    "c": (0.016, [(0.020, "core", 12)], 1.0),
    "d": (0.002, [(0.010, "core", 8), (0.020, "core", 30)], 4.0),
    "e": (0.014, [(0.020, "core", 18)], 1.4),
    "f": (0.014, [(0.020, "core", 18)], 1000.0),
}
ROTOR_RINGS: dict[str, tuple[float, float]] = {"d": (0.0265, 4.0), "f": (0.026, 1000.0)}
COVER = 17 / STEPS
ROWS = [row for row in slotless_rows() if "ideal" not in row.magnets.lower()]


def open_ended(cell: HalfCell) -> HalfCell:
    """Return the cell without its far circle: beyond it lies ideal iron."""
    return replace(cell, far_circle=np.arange(0))


def stator_of(back: str) -> HalfCell:
    inner, rings, _ = STATORS[back]
    cell = ring_cell(
        inner_radius=inner,
        rings=[*rings, (LOW, "gap", 1)],
        steps=STEPS,
        half_pitch=math.pi / (2 * P),
        gap_outside=True,
    )
    return open_ended(cell) if back in "ab" else cell


def rotor_of(back: str, segments_per_pole: int, *, is_covered: bool) -> HalfCell:
    rings: list[Ring] = [(0.0205, "gap", 1), (0.0235, "magnet", 18)]
    if back in ROTOR_RINGS:
        rings.append((ROTOR_RINGS[back][0], "ring", 12))
    half_pitch = math.pi / (2 * P * segments_per_pole)
    cell = ring_cell(
        inner_radius=HIGH, rings=rings, steps=STEPS, half_pitch=half_pitch, gap_outside=False
    )
    if back == "a":
        cell = open_ended(cell)
    if not is_covered:
        # The table has the magnets' permeability between the magnets as well.
        x, y = cell.points[:, cell.triangles[:3]].mean(axis=1)
        beside = np.arctan2(y, x) > COVER * half_pitch
        region = np.array(cell.region)
        region[beside & (region == REGIONS.index("magnet"))] = REGIONS.index("coil")
        cell = replace(cell, region=region)
    return cell


def magnets_of(name: str) -> tuple[Magnets, int]:
    """Return the magnets, the first outward at 0, and their number in a pole."""
    per_pole = int(name.split("/", maxsplit=1)[0][-1]) if "Halbach" in name else 1
    number = 2 * P * per_pole
    turn = math.pi / per_pole * np.arange(number)
    is_radial = name.startswith("radial")
    magnets = Magnets(
        remanence=BR * np.cos(turn) if is_radial else np.full(number, BR),
        direction=-turn if "outward" in name else turn,
        recoil_permeability=1.05,
        is_radial=is_radial,
    )
    return magnets, per_pole


def problem_of(row: SlotlessRow) -> FieldProblem:
    magnets, per_pole = magnets_of(row.magnets)
    mesh = MotorMesh(
        stator=stator_of(row.back),
        rotor=rotor_of(row.back, per_pole, is_covered="0.85" not in row.magnets),
        cut=40 * P,  # 6 % of which reaches across
    )
    return field_problem(
        mesh,
        stator_curves={"core": BHCurve.linear(STATORS[row.back][2])},
        rotor_curves={
            "ring": BHCurve.linear(ROTOR_RINGS.get(row.back, (0.0, 1.0))[1]),
            "coil": BHCurve.linear(1.05),
        },
        magnets=magnets,
        slots=2 * P,
        poles=2 * P,
        sectors=2 * P,
    )


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.magnets}, {row.back}")
def test_smooth_machine_has_the_exact_gap_field_and_potential(row: SlotlessRow) -> None:
    # Table: closed form (see exact/annulus.py). Harmonics of B_r at 20.25 mm within 0.1 % of the
    # largest; A at the stator's surface within 0.02 % (of the least one where Halbach magnets
    # stand the wrong way round and next to nothing is left).
    problem = problem_of(row)
    solved = solve(problem, angles=np.zeros(1), ampere_turns=np.zeros((1, 2 * P, 2)))
    stator, rotor = solved.kept_fields
    theta = 2 * math.pi / P / 256 * np.arange(256)
    depth = np.log(np.array([0.020, 0.02025]) / LOW) / math.log(HIGH / LOW)
    A, B_r, _ = gap_potential(problem, stator[0], rotor[0], 0.0, depth=depth, theta=theta)
    spectrum = np.fft.rfft(B_r[1]).real * 2 / 256
    largest = max(map(abs, row.gap_harmonics))
    for n, expected in zip(SLOTLESS_ORDERS, row.gap_harmonics, strict=True):
        assert spectrum[n // P] == pytest.approx(expected, abs=1e-3 * largest), n
    found = abs(np.fft.rfft(A[0])[1]) * 2 / 256
    strongest = max(one.potential for one in ROWS if one.back == row.back)
    slack = 2e-4 * (strongest if "outward" in row.magnets else row.potential)
    assert found == pytest.approx(row.potential, abs=slack)
