import json
from types import ModuleType

import numpy as np
import pytest

from fem_motor import performance
from fem_motor.cli import main
from fem_motor.cli.doctor import installation, known_case


@pytest.fixture
def gap_field(monkeypatch: pytest.MonkeyPatch, sines: ModuleType) -> object:
    """Return a setter: the solver then finds this multiple of the exact field in the gap."""

    def set_field(multiple: float) -> None:
        angle = np.radians(sines.no_load().gap_angle_deg)
        # Inwards at pole 1, which stands at 0.
        wave = -known_case.expected_gap_fundamental() * np.cos(known_case.POLE_PAIRS * angle)
        sheet = sines.sheet(no_load=sines.no_load(gap_flux_density_T=multiple * wave))
        monkeypatch.setattr(performance, "run", lambda *_, **__: sheet)

    return set_field


def test_doctor_passes_where_the_field_is_that_of_the_closed_form(
    gap_field: object, capsys: pytest.CaptureFixture[str]
) -> None:
    gap_field(1.005)  # type: ignore[operator]  # the setter above
    assert main(["doctor"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert {line[:5].strip() for line in out.splitlines() if line[:5].strip()} <= {"ok", "watch"}
    for word in ("python: ", "gmsh: ", "processor cores: ", "test case: "):
        assert word in out


@pytest.mark.parametrize("multiple", [-1.0, 0.98, 1.02, 2.0])
def test_doctor_fails_where_the_field_is_turned_or_more_than_one_per_cent_off(
    multiple: float, gap_field: object, capsys: pytest.CaptureFixture[str]
) -> None:
    gap_field(multiple)  # type: ignore[operator]  # the setter above
    assert main(["doctor", "--json"]) == 1
    plain = json.loads(capsys.readouterr().out)
    assert set(plain) == {"versions", "problems", "test_case"}
    assert [problem["what"] for problem in plain["problems"]] == ["test case"]
    assert plain["test_case"]["expected"] == known_case.expected_gap_fundamental()


def test_doctor_finds_the_closed_form_by_the_solver_itself(
    capsys: pytest.CaptureFixture[str],
) -> None:
    # Core and magnets have the permeability of vacuum, so the field is that of the magnets alone;
    # the formula is held against their charges in test_installation.py.
    assert main(["doctor", "--json"]) == 0
    case = json.loads(capsys.readouterr().out)["test_case"]
    assert case["value"] == pytest.approx(case["expected"], rel=2e-3)


def test_doctor_names_the_missing_system_library_and_solves_nothing(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    text = "OSError: libGLU.so.1: cannot open shared object file: No such file or directory"
    monkeypatch.setattr(installation, "gmsh_failure", lambda: text)
    monkeypatch.setattr(installation, "_is_missing", lambda _: False)
    assert main(["doctor"]) == 1
    out = capsys.readouterr().out
    assert f"stop   gmsh's libraries: {text}\n" in out
    assert "apt-get install libglu1-mesa" in out
    assert "test case" not in out
