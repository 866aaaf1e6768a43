import subprocess
import sys

import pytest

from fem_motor.cli import main, new, program
from fem_motor.errors import DesignError, FemMotorError, SolverError

HEAVY = {"numpy", "scipy", "matplotlib", "gmsh", "skfem", "tomlkit", "fem_motor.performance"}


def raising(error: BaseException) -> object:
    def run(_: object) -> int:
        raise error

    return run


@pytest.mark.parametrize("arguments", [["--help"], ["run", "--help"], ["sweep", "--help"]])
def test_help_loads_nothing_heavy(arguments: list[str]) -> None:
    code = (
        "import sys; from fem_motor.cli import main; "
        f"status = main({arguments!r}); print(*sys.modules, file=sys.stderr); sys.exit(status)"
    )
    done = subprocess.run(  # noqa: S603  (our own interpreter and text)
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    assert done.stdout.startswith("usage: fem-motor")
    assert not HEAVY & set(done.stderr.split())


def test_help_names_every_verb_and_every_exit_status(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--help"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    for word in ("new", "check", "run", "sweep", "materials", "doctor", "130 interrupted"):
        assert word in out


def test_version_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--version"]) == 0
    assert capsys.readouterr().out.startswith("fem_motor ")


def test_a_misspelt_verb_is_told_the_near_one(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["chekc", "a.toml"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err == (
        "fem-motor: there is no verb 'chekc'.\n"
        "  do:  did you mean check? The verbs are new, check, run, sweep, materials, doctor.\n"
    )


def test_no_verb_is_bad_input(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err == (
        "fem-motor: a verb is missing.\n"
        "  do:  say one of new, check, run, sweep, materials, doctor.\n"
    )


def test_a_wrong_option_is_bad_input(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["run", "a.toml", "--quality", "best"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "'draft', 'standard', 'fine'" in err
    assert "  do:  see fem-motor run --help.\n" in err


@pytest.mark.parametrize(
    ("error", "status", "text"),
    [
        (DesignError("does not fit.", why="too wide.", do="narrow it."), 2,
         "does not fit.\n  why: too wide.\n  do:  narrow it.\n"),
        (SolverError("did not converge.", do="use --quality fine."), 1,
         "did not converge.\n  do:  use --quality fine.\n"),
        (FemMotorError("failed."), 1, "failed.\n"),
        (KeyboardInterrupt(), 130, "interrupted.\n"),
        (MemoryError(), 1,
         "out of memory.\n  do:  use a lower --quality, or close other programs.\n"),
    ],
)  # fmt: skip
def test_what_goes_wrong_is_told_on_stderr_alone(
    error: BaseException,
    status: int,
    text: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(new, "main", raising(error))
    assert main(["new", "a.toml"]) == status
    out, err = capsys.readouterr()
    assert out == ""
    assert err == text


def test_a_bug_is_called_a_bug_and_its_place_shown_on_request(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(new, "main", raising(ZeroDivisionError("division by zero")))
    monkeypatch.delenv("FEM_MOTOR_TRACEBACK", raising=False)
    assert main(["new", "a.toml"]) == 1
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("this is a bug in fem_motor: ZeroDivisionError: division by zero\n")
    assert "Traceback" not in err
    monkeypatch.setenv("FEM_MOTOR_TRACEBACK", "1")
    assert main(["new", "a.toml"]) == 1
    assert "Traceback" in capsys.readouterr().err


def test_a_reader_that_went_away_ends_the_program_without_words() -> None:
    # The reader is gone before the first line is written.
    code = (
        "import sys; from fem_motor.cli import main; sys.stdin.read(); sys.exit(main(['--help']))"
    )
    with subprocess.Popen(  # noqa: S603  (our own interpreter and text)
        [sys.executable, "-c", code],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    ) as process:
        assert process.stdin is not None
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        process.stdin.close()
        err = process.stderr.read()
    assert err == b""
    assert process.returncode in {0, 1}


def test_values_that_begin_with_a_minus_stay_values() -> None:
    given = ["sweep", "f", "--from", "-5", "--currents", "-1,2,-1e-3", "--quiet", "-o", "x"]
    assert program._numbers_kept(given) == [  # noqa: SLF001  (a rule of its own)
        "sweep", "f", "--from=-5", "--currents=-1,2,-1e-3", "--quiet", "-o", "x",
    ]  # fmt: skip
