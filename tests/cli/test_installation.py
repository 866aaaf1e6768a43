import math
import re
import sys
import tomllib
from pathlib import Path

import numpy as np
import pytest

from fem_motor.cli.doctor import installation, known_case

ROOT = Path(__file__).parent.parent.parent
LOADER = "OSError: libGLU.so.1: cannot open shared object file: No such file or directory"


def test_the_missing_library_is_named_with_its_debian_package(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # The loader's message as glibc writes it (dlopen(3)).
    monkeypatch.setattr(installation, "_is_missing", lambda name: name == "libXft.so.2")
    missing = installation.missing_libraries(LOADER)
    assert missing == ("libGLU.so.1", "libXft.so.2")
    assert installation.remedy(missing) == (
        "install libGLU.so.1, libXft.so.2; "
        "on Debian and Ubuntu: apt-get install libglu1-mesa libxft2"
    )


def test_a_library_that_is_not_in_the_table_is_named_all_the_same() -> None:
    assert installation.remedy(("libodd.so.3",)) == "install libodd.so.3"


def test_a_failure_of_another_kind_names_no_library() -> None:
    assert installation.missing_libraries("ModuleNotFoundError: No module named 'gmsh'") == ()


def test_the_last_line_of_a_failed_import_is_the_reason(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "executable", "/bin/false")
    assert installation.gmsh_failure() == "the process ended with status 1"


def test_versions_name_python_and_each_package() -> None:
    versions = installation.versions()
    assert {"python", "system", "numpy", "gmsh"} <= set(versions)
    assert versions["numpy"] == np.__version__


def test_every_package_that_the_program_needs_is_looked_for() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    needed = {re.split("[>=]", line)[0] for line in project["dependencies"]}
    assert set(installation.PACKAGES) == needed


def test_the_source_archive_holds_what_the_tests_read() -> None:
    # A folder that tests or pages read and that setuptools does not take by itself.
    manifest = (ROOT / "MANIFEST.in").read_text(encoding="utf-8")
    grafted = set(re.findall(r"^graft (\w+)$", manifest, re.MULTILINE))
    assert grafted == {"benchmarks", "docs", "geometries", "studies", "tests"}


def test_cores_and_memory_are_positive() -> None:
    memory = installation.free_memory_GiB()
    assert installation.cores() >= 1
    assert memory is None or memory > 0


def test_the_known_case_agrees_with_the_field_of_its_magnetic_charges() -> None:
    # Second method: charges −div M in the tube and M·n on its faces, each a line source whose
    # field falls as 1/(2 π distance), added up by quadrature over angle and radius.
    inner = known_case.STATOR_RADIUS_MM + known_case.GAP_MM
    outer = inner + known_case.MAGNET_THICKNESS_MM
    radius = known_case.STATOR_RADIUS_MM + known_case.GAP_MM / 2
    count = 4000
    angle = (np.arange(count) + 0.5) * 2 * math.pi / count
    step = 2 * math.pi / count
    pole = known_case.REMANENCE_T * np.sign(np.cos(known_case.POLE_PAIRS * angle))
    node, weight = np.polynomial.legendre.leggauss(40)
    depth = (outer - inner) / 2
    layers = [(outer, outer), (inner, -inner)]
    layers += [
        ((inner + outer) / 2 + depth * x, -depth * w) for x, w in zip(node, weight, strict=True)
    ]
    seen = np.arange(64) * 2 * math.pi / 64
    field = np.zeros(64)
    for place, strength in layers:
        dx = radius * np.cos(seen)[:, None] - place * np.cos(angle)
        dy = radius * np.sin(seen)[:, None] - place * np.sin(angle)
        outward = dx * np.cos(seen)[:, None] + dy * np.sin(seen)[:, None]
        field += (strength * pole * step * outward / (dx**2 + dy**2)).sum(axis=1) / (2 * math.pi)
    amplitude = 2 * abs(np.fft.rfft(field)[known_case.POLE_PAIRS]) / 64
    # The face of the tube is 1 mm away, its charges 19 µm apart: good to some 1e-4.
    assert known_case.expected_gap_fundamental() == pytest.approx(amplitude, rel=5e-4)
