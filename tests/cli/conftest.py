"""What the command line tests share: a sheet of sines instead of a field solution."""

import importlib.util
from collections.abc import Callable
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from fem_motor import performance
from fem_motor.cli import main

STARTER = "airboat.toml"


def load_sines() -> ModuleType:
    path = Path(__file__).parent.parent / "sheet_of_sines.py"
    spec = importlib.util.spec_from_file_location("sheet_of_sines", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def sines() -> ModuleType:
    """Return the module that makes sheets and sweeps of sines."""
    return load_sines()


@pytest.fixture
def design_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return the starter design in an empty folder, which is the working directory."""
    folder = tmp_path / "Schilf und Gerät"
    folder.mkdir()
    monkeypatch.chdir(folder)
    assert main(["new", STARTER, "--quiet"]) == 0
    return folder / STARTER


@pytest.fixture
def solved(monkeypatch: pytest.MonkeyPatch, sines: ModuleType) -> dict[str, Any]:
    """Let run and sweep return sines at once; hand out what they were asked for."""
    asked: dict[str, Any] = {}

    def stand_in(result: Any) -> Callable[..., Any]:  # noqa: ANN401  (a sheet or a sweep)
        def compute(design: Any, *, on_step: Callable[..., None], **options: Any) -> Any:  # noqa: ANN401  (stands in for both)
            asked.update(options, design=design)
            for done in range(9):
                on_step(done, 8, "fields")
            return result

        return compute

    monkeypatch.setattr(performance, "run", stand_in(sines.sheet()))
    monkeypatch.setattr(performance, "rotor_sweep", stand_in(sines.sweep(5)))
    return asked
