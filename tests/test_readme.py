"""The pages a stranger reads first: the commands work as printed, and the links lead somewhere."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from fem_motor.cli import main

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
GUARD = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
COMMANDS = re.findall(r"^```sh\n(.*?)^```", README, flags=re.MULTILINE | re.DOTALL)
(PRINTED,) = re.findall(r"^```text\n(.*?)^```", README, flags=re.MULTILINE | re.DOTALL)
BLOCKS = [block.strip().splitlines() for block in COMMANDS]

FOLDERS = (".ci", "benchmarks", "docs", "fem_motor", "geometries", "studies", "tests")
TEXT = {".cff", ".csv", ".md", ".mplstyle", ".py", ".pyi", ".toml", ""}
FILES = sorted(
    path
    for place in (ROOT, *(ROOT / folder for folder in FOLDERS))
    for path in (place.glob("*") if place == ROOT else place.rglob("*"))
    if path.is_file() and path.suffix in TEXT and "__pycache__" not in path.parts
)
PAGES = [path for path in FILES if path.suffix == ".md"]
# Patterns that do not match themselves, so that this file passes its own test.
FOREIGN = re.compile("/wor[k]/|transcrip[t]|TOD[O]|FIXM[E]")


NUMBER = re.compile(r"\d+(?:\.\d+)?")
LARGEST_PICTURE = 150_000
"""Bytes; all clones carry them for ever."""


def label(path: Path) -> str:
    return str(path.relative_to(ROOT))


def test_two_command_blocks_do_all_the_set_up() -> None:
    assert len(BLOCKS) == 2
    install, test = BLOCKS
    assert install[-1] == "fem-motor run geometries/printed_18s16p.toml"
    assert test[-1].endswith("python check.py --all")


def test_continuous_integration_runs_the_commands_of_this_page() -> None:
    # Environment and report folder stand elsewhere there: a line may go on after the printed part.
    printed = [line for block in BLOCKS for line in block if ".venv" not in line]
    lines = GUARD.splitlines()
    missing = [line for line in printed if not any(run.startswith(line) for run in lines)]
    assert missing == []
    assert BLOCKS[1][-1] in lines


def test_each_system_package_is_explained() -> None:
    (asked,) = re.findall(r"apt-get install -y --no-install-recommends (.*)", "\n".join(BLOCKS[0]))
    explained = set(re.findall(r"`([a-z0-9.+-]+)`", README.partition("System packages")[2]))
    assert set(asked.split()) <= explained


@pytest.mark.slow
def test_the_main_job_prints_what_this_page_shows(tmp_path: Path) -> None:
    # Line by line, in order; numbers within 2 %, for another release of the mesher makes other
    # meshes. A line of … stands for lines left out.
    job = "run geometries/printed_18s16p.toml --quiet -o".split()
    done = subprocess.run(  # noqa: S603
        [sys.executable, "-m", "fem_motor", *job, str(tmp_path / "report")],
        cwd=ROOT,
        env=os.environ | {"PYTHONIOENCODING": "utf-8", "NO_COLOR": "1"},
        check=True,
        capture_output=True,
        encoding="utf-8",
    )
    printed = iter(done.stdout.splitlines())
    shown = [line for line in PRINTED.splitlines() if line.strip() not in {"…", ""}]
    for line in shown:
        assert any(is_alike(line, found) for found in printed), line


def is_alike(line: str, found: str) -> bool:
    """Return whether the words are the same and the numbers nearly."""
    values = [[float(one) for one in NUMBER.findall(text)] for text in (line, found)]
    words = [NUMBER.sub("#", text).split() for text in (line, found)]
    return words[0] == words[1] and values[0] == pytest.approx(values[1], rel=0.02)


def test_pictures_are_small() -> None:
    pictures = [*(ROOT / "docs").rglob("*.png"), *(ROOT / "docs").rglob("*.svg")]
    assert pictures
    assert [label(one) for one in pictures if one.stat().st_size > LARGEST_PICTURE] == []


@pytest.mark.parametrize("page", PAGES, ids=label)
def test_links_inside_the_project_lead_somewhere(page: Path) -> None:
    targets = re.findall(r"\]\(([^)#\s]+)[^)]*\)", page.read_text(encoding="utf-8"))
    here = [target for target in targets if "://" not in target]
    assert [target for target in here if not (page.parent / target).exists()] == []


def test_no_text_holds_what_does_not_belong() -> None:
    found = [
        f"{label(path)}: {word}"
        for path in FILES
        for word in FOREIGN.findall(path.read_text(encoding="utf-8"))
    ]
    assert found == []


def test_the_licence_is_the_whole_gpl_version_3() -> None:
    licence = (ROOT / "LICENSE").read_text(encoding="utf-8")
    assert "GNU GENERAL PUBLIC LICENSE\n                       Version 3" in licence
    assert "17. Interpretation of Sections 15 and 16." in licence
    assert "How to Apply These Terms to Your New Programs" in licence


TUTORIAL = (ROOT / "docs" / "user" / "tutorial.md").read_text(encoding="utf-8")


def commands_of(page: str) -> list[str]:
    blocks = re.findall(r"^```(?:sh|console)\n(.*?)^```", page, flags=re.MULTILINE | re.DOTALL)
    lines = "\n".join(blocks).replace("\\\n", " ").splitlines()
    return [line for line in lines if line.startswith("fem-motor ")]


def all_commands() -> list[str]:
    """Return every command that a page prints, in blocks and within sentences."""
    texts = [page.read_text(encoding="utf-8") for page in PAGES]
    inline = {words for text in texts for words in re.findall(r"`(fem-motor [a-z]+ [^`]*)`", text)}
    return sorted({command for text in texts for command in commands_of(text)} | inline)


@pytest.mark.parametrize("command", all_commands())
def test_every_printed_command_has_options_that_exist(
    command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    verb, *words = command.split()[1:]
    assert main([verb, "--help"]) == 0
    known = set(re.findall(r"(?<![\w-])--?[a-z][a-z-]*", capsys.readouterr().out))
    assert {word for word in words if word.startswith("-")} <= known


def test_every_printed_benchmark_is_there_with_its_options() -> None:
    found = {
        (name, option)
        for page in PAGES
        for name, options in re.findall(
            r"python -m benchmarks\.(\w+)((?: --[\w-]+)*)", page.read_text(encoding="utf-8")
        )
        for option in options.split() or [""]
    }
    assert len(found) > 5
    for name, option in found:
        text = (ROOT / "benchmarks" / f"{name}.py").read_text(encoding="utf-8")
        assert option in text


def test_the_tutorial_uses_every_verb_that_a_first_design_needs() -> None:
    verbs = {command.split()[1] for command in commands_of(TUTORIAL)}
    assert verbs >= {"new", "check", "run", "sweep", "compare", "rank", "study", "export", "bench"}
