import errno
import io
import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from fem_motor.cli import main, program
from fem_motor.cli.terminal import Progress, print_json
from fem_motor.cli.verbs import new
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
        "  do:  did you mean check? The verbs are new, check, run, sweep, compare, rank, study, "
        "bench, export, materials, doctor.\n"
    )


def test_no_verb_is_bad_input(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err == (
        "fem-motor: a verb is missing.\n"
        "  do:  say one of new, check, run, sweep, compare, rank, study, bench, export, "
        "materials, doctor.\n"
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
        (OSError(errno.ENOSPC, "No space left on device"), 1,
         ("something could not be written: No space left on device.\n"
          "  do:  make room on the disk and in the folder of temporary files (TMPDIR,\n"
          "       otherwise /tmp).\n")),
        (ModuleNotFoundError("No module named 'skfem'"), 1,
         ("a part of the installation is missing: No module named 'skfem'.\n"
          "  do:  run fem-motor doctor, which names it, or install fem_motor again.\n")),
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


class Full(io.StringIO):
    """A stream on a disk without room."""

    def flush(self) -> None:
        """Fail as the system does."""
        raise OSError(28, "No space left on device")


@pytest.mark.parametrize("arguments", [["materials"], ["--help"], ["run", "--help"], ["--version"]])
def test_an_answer_that_finds_no_room_is_a_failure_and_no_bug(
    arguments: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "stdout", Full())
    assert main(arguments) == 1
    assert capsys.readouterr().err == (
        "stdout: the answer could not be written to the end.\n"
        "  why: No space left on device.\n"
        "  do:  make room on the disk, or send the answer elsewhere.\n"
    )


def test_without_stderr_errors_do_not_go_to_stdout(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    # As Python leaves it where a program is started with 2>&-.
    monkeypatch.setattr(sys, "stderr", None)
    assert main(["check", str(tmp_path / "none.toml")]) == 2
    sys.stderr.close()
    assert capsys.readouterr().out == ""


def test_without_stdout_the_work_is_done_all_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdout", None)
    assert main(["materials"]) == 0
    sys.stdout.close()


@pytest.mark.parametrize(
    ("arguments", "verb", "unknown", "hint"),
    [
        (["run", "a.toml", "--qualty", "fine"], "run", "--qualty fine", "did you mean --quality? "),
        (["check", "a.toml", "b.toml"], "check", "b.toml", ""),
        (["check", "a.toml", "--js"], "check", "--js", "did you mean --json? "),
    ],
)
def test_an_unknown_option_is_told_the_near_one_of_its_verb(
    arguments: list[str],
    verb: str,
    unknown: str,
    hint: str,
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(arguments) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.splitlines() == [
        f"fem-motor {verb}: {unknown} is not known here.",
        f"  do:  {hint}fem-motor {verb} --help names all that is.",
    ]


def test_an_interrupt_while_the_program_loads_exits_with_130(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(program, "run_command", raising(KeyboardInterrupt()))
    assert main(["materials"]) == 130
    assert capsys.readouterr() == ("", "interrupted.\n")


TWICE = """
import os, signal
from fem_motor.cli import main, program, terminal
def passed_on(argv):
    raise KeyboardInterrupt  # as a pool does with the interrupt of a worker
def said(text, say=terminal.say):
    say(text)
    os.kill(os.getpid(), signal.SIGINT)  # only now this process meets its own
program.run_command, terminal.say = passed_on, said
raise SystemExit(main())
"""


def test_an_interrupt_that_arrives_twice_still_exits_with_130() -> None:
    ended = subprocess.run(  # noqa: S603
        [sys.executable, "-c", TWICE], capture_output=True, text=True, check=False
    )
    assert (ended.returncode, ended.stderr) == (130, "interrupted.\n")


@pytest.mark.skipif(not hasattr(signal, "SIGPIPE"), reason="a system without this signal")
def test_a_reader_that_went_away_does_not_end_a_run() -> None:
    # gmsh sets the signal to its default, which kills; the first progress after it must not die.
    before = signal.signal(signal.SIGPIPE, signal.SIG_DFL)
    try:
        Progress(io.StringIO(), style="lines")(1, 2, "fields")
        assert signal.getsignal(signal.SIGPIPE) is signal.SIG_IGN
    finally:
        signal.signal(signal.SIGPIPE, before)


def test_json_stays_json_where_stdout_knows_ascii_only(monkeypatch: pytest.MonkeyPatch) -> None:
    held = io.BytesIO()
    stream = io.TextIOWrapper(held, encoding="ascii", errors="backslashreplace")
    monkeypatch.setattr(sys, "stdout", stream)
    # The last is what Python makes of a file name that is not UTF-8.
    print_json({"title": "Gerät 芦", "file": "a\udce4.toml"})
    assert json.loads(held.getvalue()) == {"title": "Gerät 芦", "file": "a\udce4.toml"}


def test_values_that_begin_with_a_minus_stay_values() -> None:
    given = ["sweep", "f", "--from", "-5", "--currents", "-1,2,-1e-3", "--quiet", "-o", "x"]
    assert program._numbers_kept(given) == [  # noqa: SLF001  (a rule of its own)
        "sweep", "f", "--from=-5", "--currents=-1,2,-1e-3", "--quiet", "-o", "x",
    ]  # fmt: skip


@pytest.mark.parametrize("words", [("check", "-o", "drawn"), ("export", "--dxf", "section.dxf")])
def test_a_home_that_cannot_be_written_to_is_no_news(
    words: tuple[str, ...], tmp_path: Path
) -> None:
    # Nothing can be made below a device (POSIX: ENOTDIR), not even by the superuser.
    nowhere = dict.fromkeys(("XDG_CACHE_HOME", "XDG_CONFIG_HOME"), f"{os.devnull}/nowhere")
    verb, option, name = words
    done = subprocess.run(  # noqa: S603  (this interpreter, on the lines above)
        [sys.executable, "-m", "fem_motor", verb, "geometries/printed_18s16p.toml", option,
         str(tmp_path / name), "--quiet"],
        cwd=Path(__file__).parents[2],
        env={k: v for k, v in os.environ.items() if k != "MPLCONFIGDIR"} | nowhere,
        capture_output=True,
        check=True,
    )  # fmt: skip
    assert done.stderr == b""
    assert (tmp_path / name).exists()
