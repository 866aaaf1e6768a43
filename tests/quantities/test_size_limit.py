"""A field that would not fit into memory is refused before it is tried."""

import pytest
from small_machines import GEOMETRIES

import fem_motor as fm
from fem_motor.errors import SolverError
from fem_motor.field.solving import problem as field
from fem_motor.mesh import mesh_motor
from fem_motor.quantities import motor_problem

MEASURED_KIB = (8.0, 10.0)
"""Of peak memory for each unknown, less 150 to 200 MB of libraries: 868 MB for 70 320 unknowns of
a steel machine solved as a whole circle."""


def test_memory_goes_with_the_unknowns_as_measured() -> None:
    # Measured: peak memory of processes over their unknowns; two halves have twice as many.
    motor = fm.load_design(GEOMETRIES / "printed_18s16p.toml").motor
    mesh = mesh_motor(motor, quality="draft")
    half, whole = (motor_problem(motor, mesh, sectors=sectors) for sectors in (2, 1))
    assert whole.memory == pytest.approx(2 * half.memory, rel=0.01)
    assert MEASURED_KIB[0] < whole.memory / whole.unknowns / 1024 < MEASURED_KIB[1]


def test_a_field_that_is_too_large_is_refused_before_it_is_solved(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    design = fm.load_design(GEOMETRIES / "printed_18s16p.toml")
    mesh = mesh_motor(design.motor, quality="draft")
    size = motor_problem(design.motor, mesh, sectors=2).unknowns
    # Each unknown as large as if the design had more of them: 15.9 GB pass, 16.1 GB do not.
    monkeypatch.setattr(field, "MEMORY_PER_UNKNOWN", 15.9e9 / size)
    assert motor_problem(design.motor, mesh, sectors=2).unknowns == size
    monkeypatch.setattr(field, "MEMORY_PER_UNKNOWN", 16.6e9 / size)
    with pytest.raises(SolverError) as caught:
        fm.rotor_sweep(design, angles_deg=[0.0], quality="draft")
    assert str(caught.value) == (
        "mesh asks for a field that is too large.\n"
        f"  why: its {size} unknowns would take about 17 GB of memory, and 16 GB are the most "
        "that is tried.\n"
        "  do:  use --quality draft, a slot and pole number with a common divisor, or a wider gap "
        "and thicker parts, which need fewer elements."
    )
    assert caught.value.exit_code == 1
