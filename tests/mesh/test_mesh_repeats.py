"""The same motor has the same mesh: again, after others, in other processes."""

import hashlib
import multiprocessing
from concurrent.futures import ProcessPoolExecutor

import pytest
from mesh_designs import mesh_of, motor_of

from fem_motor.mesh import MotorMesh, mesh_motor

NAMES = ["steel_12s14p", "halbach_18s16p", "blocks that touch in a ring"]
PARTS = ("points", "triangles", "region", "start_side", "end_side", "gap_circle", "far_circle")


def fingerprint(mesh: MotorMesh) -> str:
    """Return a hash of all bytes of a mesh."""
    digest = hashlib.sha256()
    for cell in (mesh.stator, mesh.rotor):
        for part in PARTS:
            digest.update(getattr(cell, part).tobytes())
    return digest.hexdigest()


def meshed_anew(name: str) -> str:
    return fingerprint(mesh_motor(motor_of(name), quality="draft"))


@pytest.mark.parametrize("name", NAMES)
def test_a_second_mesh_in_the_same_process_is_the_same_to_the_last_bit(name: str) -> None:
    assert meshed_anew(name) == fingerprint(mesh_of(name))


def test_the_order_of_many_designs_changes_no_mesh() -> None:
    forwards = [meshed_anew(name) for name in NAMES]
    backwards = [meshed_anew(name) for name in NAMES[::-1]]
    assert forwards == backwards[::-1]
    assert len(set(forwards)) == len(NAMES)


def test_two_processes_at_once_make_the_same_meshes_as_one() -> None:
    # Spawned, so that nothing is inherited from this process.
    with ProcessPoolExecutor(2, mp_context=multiprocessing.get_context("spawn")) as pool:
        found = list(pool.map(meshed_anew, NAMES * 2))
    assert found == [fingerprint(mesh_of(name)) for name in NAMES] * 2
