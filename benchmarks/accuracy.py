"""Measure the errors against exact and semi-analytical solutions, and print the tables of a page.

    python -m benchmarks.accuracy [--quick]

The references and their sources stand in `tests/verification`; this prints how far the program is
from them, where the tests only say whether that is near enough. The tables are those of
`docs/verification.md`. Needs `python -m pip install -e '.[test]'`.
"""

import argparse
import math
import sys
from collections.abc import Iterator
from pathlib import Path
from unittest.mock import patch

import numpy as np

from fem_motor.arrays import FloatArray

TESTS = Path(__file__).parent.parent / "tests"
sys.path[:0] = [str(TESTS), str(TESTS / "verification")]

import slotted  # noqa: E402
import test_same_answer as same  # noqa: E402
import test_saturating_ring as ring  # noqa: E402
import test_slotless as slotless  # noqa: E402
import test_smooth_rings as smooth  # noqa: E402
from exact import nonlinear_ring  # noqa: E402
from exact.tables import SLOTLESS_ORDERS, SlotlessRow  # noqa: E402
from test_slotted import POSITIONS  # noqa: E402

import fem_motor as fm  # noqa: E402
from fem_motor.field import gap_potential, solve  # noqa: E402
from fem_motor.field.elimination import cholesky  # noqa: E402
from fem_motor.materials import BHCurve  # noqa: E402
from fem_motor.mesh import Quality  # noqa: E402
from fem_motor.units import MU_0  # noqa: E402

QUALITIES: tuple[Quality, ...] = ("draft", "standard", "fine")


def error_of(found: FloatArray, expected: FloatArray, scale: float | None = None) -> float:
    """Return the largest error, over `scale` or the largest expected value."""
    over = np.abs(expected).max() if scale is None else scale
    return float(np.abs(found - expected).max() / over)


def print_table(heads: tuple[str, ...], rows: Iterator[tuple[object, ...]]) -> None:
    """Print a table as the page has it, row by row as they come."""
    print(f"\n| {' | '.join(heads)} |", flush=True)
    print("|---" * len(heads) + "|", flush=True)
    for row in rows:
        cells = (f"{cell:.1e}" if isinstance(cell, float) else str(cell) for cell in row)
        print(f"| {' | '.join(cells)} |", flush=True)


# -- slotted machines ------------------------------------------------------------------------


def slotted_rows(qualities: tuple[Quality, ...]) -> Iterator[tuple[object, ...]]:
    """Yield each machine with the worst of three positions of the gap circles and three angles.

    Cogging over its peak by quality, then flux of a tooth by quality, then torque with currents
    by quality where the reference has it.
    """
    for name in slotted.CASES:
        found = np.array([slotted_errors(name, quality) for quality in qualities]).T
        yield (
            name,
            *(
                " / ".join("–" if math.isnan(one) else f"{100 * one:.3f}" for one in line)
                for line in found
            ),
        )


def slotted_errors(name: str, quality: Quality) -> tuple[float, float, float]:
    """Return the worst errors of cogging over its peak, tooth flux and torque with currents."""
    case, reference = slotted.CASES[name], slotted.REFERENCES[name]
    angles = np.array(list(reference.torque))
    torque = np.array(list(reference.torque.values()))
    errors = []
    for position in POSITIONS:
        problem = slotted.problem_of(case, quality=quality, gap_position=position)
        field = slotted.solve_case(case, problem, angles, {})
        linkage = slotted.tooth_linkage(field)[1] * 1e3
        loaded = math.nan
        if name in slotted.LOADED:
            currents, expected = slotted.LOADED[name]
            turned = slotted.solve_case(case, problem, np.array(list(expected)), currents)
            values = np.array(list(expected.values()))
            loaded = float(np.abs(turned.torque / values - 1).max())
        errors.append(
            (
                error_of(field.torque, torque, reference.peak),
                abs(linkage / reference.linkage - 1),
                loaded,
            )
        )
    worst = np.array(errors).max(axis=0)
    return float(worst[0]), float(worst[1]), float(worst[2])


# -- machines without slots for the field ----------------------------------------------------


def slotless_rows() -> Iterator[tuple[object, ...]]:
    """Yield each design with the errors of flux linkage, of its course and of the gap field."""
    for name in slotless.CASES:
        bore, sheet = slotless.solved(name)
        no_load = sheet.no_load
        fundamental = bore.fundamental("U")
        angle = np.radians(no_load.angle_deg)
        course = np.array([bore.linkage(phase, angle) for phase in "UVW"])
        spectrum = 2 / no_load.gap_flux_density_T.size * np.fft.rfft(no_load.gap_flux_density_T)
        exact = np.array([bore.radial(n, slotless.MIDDLE) for n in slotless.UP_TO_NINTH])
        yield (
            name,
            abs(no_load.flux_linkage_fundamental_Wb / fundamental - 1),
            error_of(no_load.flux_linkage_Wb, course, abs(fundamental)),
            error_of(spectrum[slotless.UP_TO_NINTH], exact),
        )


def loaded_rows() -> Iterator[tuple[object, ...]]:
    """Yield designs with the error of the torque with held currents, over its largest."""
    angles, currents = np.array([0.0, 3.1, 7.7, 16.4, 25.0]), (9.0, -2.0, -7.0)
    for name in ("parallel, air behind", "halbach 3, iron behind", "blocks"):
        case = slotless.CASES[name]()
        sweep = fm.rotor_sweep(case.design, angles_deg=angles, currents_A=currents)
        slopes = [case.bore.linkage_slope(phase, np.radians(angles)) for phase in "UVW"]
        yield name, error_of(sweep.torque_Nm, np.array(currents) @ np.array(slopes))


def smooth_rows() -> Iterator[tuple[object, ...]]:
    """Yield each kind of iron with the worst errors over all magnets: field and potential."""
    for back in sorted({row.back for row in smooth.ROWS}):
        rows = [row for row in smooth.ROWS if row.back == back]
        strongest = max(row.potential for row in rows)
        errors = np.array([smooth_errors(row, strongest) for row in rows])
        yield back, len(rows), *(float(one) for one in errors.max(axis=0))


def smooth_errors(row: SlotlessRow, strongest: float) -> tuple[float, float]:
    """Return the errors of B_r in the gap, and of A at the stator, over what the test takes."""
    problem = smooth.problem_of(row)
    at_rest = np.zeros((1, 2 * smooth.P, 2))
    stator, rotor = solve(problem, angles=np.zeros(1), ampere_turns=at_rest).kept_fields
    theta = 2 * math.pi / smooth.P / 256 * np.arange(256)
    depth = np.log(np.array([0.020, 0.02025]) / smooth.LOW) / math.log(smooth.HIGH / smooth.LOW)
    A, B_r, _ = gap_potential(problem, stator[0], rotor[0], 0.0, depth=depth, theta=theta)
    spectrum = np.fft.rfft(B_r[1]).real * 2 / 256
    orders = [n // smooth.P for n in SLOTLESS_ORDERS]
    found = abs(np.fft.rfft(A[0])[1]) * 2 / 256
    scale = strongest if "outward" in row.magnets else row.potential
    return (
        error_of(spectrum[orders], np.array(row.gap_harmonics)),
        abs(found - row.potential) / scale,
    )


# -- the saturating ring ---------------------------------------------------------------------


def ring_rows() -> Iterator[tuple[object, ...]]:
    """Yield each current with the error of the flux in the ring by steel."""
    brauer, brauer_exact = ring.brauer_law()
    H, B = nonlinear_ring.TEAM_13_H, nonlinear_ring.TEAM_13_B
    steels = (
        ("closed form of Brauer", brauer, brauer_exact, 2, (20, 100, 300, 1000, 5000)),
        (
            "table of TEAM problem 13",
            BHCurve.from_table(np.array(H), np.array(B)),
            nonlinear_ring.pchip_table(H, B),
            3,
            (5, 20, 50, 100, 300, 1000),
        ),
    )
    for name, curve, exact, level, currents in steels:
        problem = ring.ring_problem(curve, level=level)
        for current in currents:
            found = ring.ring_flux(ring.with_current(problem, current))
            expected = nonlinear_ring.flux(exact, current=current, **ring.WHERE)
            yield name, current, abs(found / expected - 1)


def order_rows() -> Iterator[tuple[object, ...]]:
    """Yield orders of convergence, from grids whose edges are halved, beside those of theory."""
    curve, exact = ring.brauer_law()
    solved = [
        ring.with_current(ring.ring_problem(curve, level=level), 300.0) for level in (1, 2, 3)
    ]
    energy = np.abs(np.diff([float(one.energy[0]) for one in solved]))
    expected = nonlinear_ring.flux(exact, current=300.0, **ring.WHERE)
    flux = [abs(ring.ring_flux(one) - expected) for one in solved[:2]]
    strength = 50 * MU_0 * 100.0 / (2 * math.pi)
    fields = []
    for level in (2, 3):
        problem = ring.ring_problem(BHCurve.linear(50.0), level=level)
        cell, A = ring.potential(ring.with_current(problem, 100.0))
        fields.append(ring._ring_errors(cell, A, strength))  # noqa: SLF001
    potential, density = np.log2(np.array(fields[0]) / np.array(fields[1]))
    yield "energy, saturating", 4, f"{math.log2(energy[0] / energy[1]):.2f}"
    yield "flux, saturating", 4, f"{math.log2(flux[0] / flux[1]):.2f}"
    yield "potential A", 3, f"{potential:.2f}"
    yield "flux density", 2, f"{density:.2f}"


# -- one machine in two ways -----------------------------------------------------------------


def same_rows() -> Iterator[tuple[object, ...]]:
    """Yield the largest difference of torque and linkage between two ways to one answer."""
    for name, design in (
        ("slots of permeability 3, half", same.linear()),
        ("`steel_9s12p`, a third", same.saturating()),
        ("`steel_12s14p`, half", same.shipped("steel_12s14p")),
    ):
        sector, whole = same.swept(design), same.swept(design, "whole")
        with patch.object(cholesky, "default_library", return_value="superlu"):
            other = same.swept(design)
        yield name, difference(sector, whole), difference(sector, other)


def difference(one: fm.RotorSweep, other: fm.RotorSweep) -> float:
    """Return the larger of the differences in torque and in flux linkage, over their largest."""
    return max(
        error_of(one.torque_Nm, other.torque_Nm),
        error_of(one.flux_linkage_Wb, other.flux_linkage_Wb),
    )


def main() -> None:
    """Measure and print, the quick tables last."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--quick", action="store_true", help="without the fine meshes")
    qualities = QUALITIES[:2] if parser.parse_args().quick else QUALITIES
    words = " / ".join(qualities)
    print(f"Slotted machines: errors in percent, {words}")
    print_table(
        ("machine", "cogging over its peak", "tooth flux", "torque with currents"),
        slotted_rows(qualities),
    )
    print("\nMachines without slots for the field, standard; over the fundamental")
    print_table(("magnets", "flux linkage", "its course", "gap field"), slotless_rows())
    print("\nTorque with held currents, standard")
    print_table(("magnets", "torque"), loaded_rows())
    print("\nSmooth rings; by iron, the worst of all magnets")
    print_table(("iron", "magnets", "gap field", "potential"), smooth_rows())
    print("\nThe saturating ring: flux")
    print_table(("steel", "current, A", "error"), ring_rows())
    print("\nOrders of convergence")
    print_table(("what", "theory", "found"), order_rows())
    print("\nTwo ways to one answer, draft: largest difference")
    print_table(("machine, sector", "sector and whole", "CHOLMOD and SuperLU"), same_rows())


if __name__ == "__main__":
    main()
