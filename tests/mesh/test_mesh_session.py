"""gmsh is used so that nobody notices: no words, no state, no settings from elsewhere."""

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import gmsh
import numpy as np
import pytest
from mesh_designs import mesh_of, motor_of

from fem_motor.errors import MeshError
from fem_motor.mesh import MotorMesh, mesh_motor
from fem_motor.mesh.session import gmsh_model

NAME = "steel_9s12p"


def is_same(one: MotorMesh, other: MotorMesh) -> bool:
    return all(
        np.array_equal(getattr(getattr(one, body), part), getattr(getattr(other, body), part))
        for body in ("stator", "rotor")
        for part in ("points", "triangles", "region", "start_side", "end_side", "gap_circle")
    )


@pytest.fixture
def session() -> Iterator[None]:
    """Open gmsh as a caller would, with a disc named like one of our models, and a newer model."""
    gmsh.initialize(readConfigFiles=False, interruptible=False)
    try:
        gmsh.option.setNumber("General.Terminal", 0)
        gmsh.model.add("stator")
        gmsh.model.occ.addDisk(0, 0, 0, 1, 1)
        gmsh.model.occ.synchronize()
        gmsh.model.add("newer")
        gmsh.model.setCurrent("stator")
        gmsh.option.setNumber("General.Terminal", 1)
        yield
    finally:
        gmsh.finalize()


def test_gmsh_is_closed_again() -> None:
    mesh_motor(motor_of(NAME), quality="draft")
    assert not gmsh.isInitialized()


def test_gmsh_says_nothing(capfd: pytest.CaptureFixture[str]) -> None:
    mesh_motor(motor_of(NAME), quality="draft")
    assert capfd.readouterr() == ("", "")


@pytest.mark.usefixtures("session")
def test_gmsh_says_nothing_in_the_session_of_a_caller(capfd: pytest.CaptureFixture[str]) -> None:
    mesh_motor(motor_of(NAME), quality="draft")
    assert capfd.readouterr() == ("", "")


def test_a_failure_inside_closes_gmsh_and_says_nothing(capfd: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(ZeroDivisionError), gmsh_model("stator"):
        raise ZeroDivisionError
    assert not gmsh.isInitialized()
    assert capfd.readouterr() == ("", "")


def test_what_gmsh_cannot_mesh_is_an_error_with_its_words(
    monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    def fail(_: int) -> None:
        gmsh.model.geo.addCurveLoop([12345])
        gmsh.model.geo.addPlaneSurface([99])

    monkeypatch.setattr(gmsh.model.mesh, "generate", fail)
    with pytest.raises(MeshError) as caught:
        mesh_motor(motor_of(NAME), quality="draft")
    lines = str(caught.value).splitlines()
    assert lines[0] == "mesh of the stator could not be made."
    assert lines[1].startswith("  why: gmsh says: ")
    assert lines[2].startswith("  do:  look at the section")
    assert not gmsh.isInitialized()
    assert capfd.readouterr() == ("", "")


@pytest.mark.usefixtures("session")
def test_the_model_of_a_caller_survives() -> None:
    gmsh.option.setNumber("General.Terminal", 0)
    gmsh.model.mesh.generate(2)
    before = gmsh.model.mesh.getNodes()[1].copy()
    models = gmsh.model.list()
    mesh_motor(motor_of(NAME), quality="draft")
    assert gmsh.isInitialized()
    assert gmsh.model.list() == models
    assert gmsh.model.getCurrent() == "stator"
    assert gmsh.model.getEntities(2) == [(2, 1)]
    assert np.array_equal(gmsh.model.mesh.getNodes()[1], before)


@pytest.mark.usefixtures("session")
def test_the_model_of_a_caller_survives_a_failure() -> None:
    thin = replace(motor_of(NAME).stator, slot_liner=1e-7)
    with pytest.raises(MeshError):
        mesh_motor(replace(motor_of(NAME), stator=thin), quality="draft")
    assert gmsh.model.getCurrent() == "stator"
    assert gmsh.model.getEntities(2) == [(2, 1)]


@pytest.mark.usefixtures("session")
@pytest.mark.parametrize(
    ("option", "value"),
    [
        ("General.Terminal", 1),
        ("General.Verbosity", 99),
        ("Mesh.Algorithm", 1),
        ("Mesh.ElementOrder", 1),
        ("Mesh.MeshSizeFactor", 0.5),
        ("Mesh.MeshSizeMax", 1e-3),
        ("Mesh.MeshSizeFromCurvature", 20),
        ("Mesh.MeshSizeFromPoints", 0),
        ("Mesh.LcIntegrationPrecision", 1e-2),
        ("Mesh.RandomFactor", 0.1),
        ("Mesh.RandomSeed", 7),
        ("Mesh.RecombineAll", 1),
        ("Mesh.Smoothing", 5),
        ("Mesh.SubdivisionAlgorithm", 1),
        ("Mesh.SecondOrderIncomplete", 1),
        ("Mesh.SecondOrderLinear", 1),
        ("Mesh.ToleranceEdgeLength", 0.3),
    ],
)
def test_settings_of_a_caller_change_no_mesh_and_are_kept(
    option: str, value: float, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    gmsh.option.setNumber(option, value)
    assert is_same(mesh_motor(motor_of(NAME), quality="draft"), mesh_of(NAME))
    assert gmsh.option.getNumber(option) == value
    # At verbosity 99 gmsh writes its size maps into the working directory.
    assert list(tmp_path.iterdir()) == []


def test_a_configuration_in_the_home_folder_is_not_read(tmp_path: Path) -> None:
    # In a process of its own: gmsh looks for the folder once.
    for name in (".gmshrc", ".gmsh-options"):
        (tmp_path / name).write_text("Mesh.ScalingFactor = 3;\n", encoding="utf-8")
    ask = (
        "from fem_motor.mesh.session import gmsh_model\n"
        "with gmsh_model('stator') as gmsh:\n"
        "    print(gmsh.option.getNumber('Mesh.ScalingFactor'))\n"
    )
    environment = os.environ | {"HOME": str(tmp_path), "GMSH_HOME": str(tmp_path)}
    done = subprocess.run(  # noqa: S603  (this interpreter, on the lines above)
        (sys.executable, "-c", ask),
        cwd=Path(__file__).resolve().parents[2],
        env=environment,
        capture_output=True,
        check=True,
        text=True,
    )
    assert (done.stdout, done.stderr) == ("1.0\n", "")


def test_gmsh_that_does_not_load_is_no_bug_and_doctor_knows_more(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # None in sys.modules makes the import fail (the language reference, import system, 5.3.1).
    monkeypatch.setitem(sys.modules, "gmsh", None)
    with (
        pytest.raises(MeshError, match=r"gmsh does not load.*\n.*fem-motor doctor"),
        gmsh_model("a"),
    ):
        pass


@pytest.mark.skipif(not hasattr(signal, "SIGPIPE"), reason="a system without this signal")
def test_a_pipe_without_a_reader_stays_an_error_after_meshing() -> None:
    # gmsh sets the signal back to what ends a process; Python's way is an error (signal module).
    script = """
import os
import signal
from fem_motor.mesh.session import gmsh_model
with gmsh_model("any"):
    pass
reader, writer = os.pipe()
os.close(reader)
try:
    os.write(writer, b"nobody reads this")
except BrokenPipeError:
    print("told")
"""
    ended = subprocess.run(  # noqa: S603  (this interpreter, on the lines above)
        [sys.executable, "-c", script], capture_output=True, check=False
    )
    assert (ended.returncode, ended.stdout) == (0, b"told\n")
