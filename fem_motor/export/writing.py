"""Files written whole or not at all, and never over what this program did not write."""

import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Literal

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.beside import clear_leftovers, file_beside, written_to_the_end
from fem_motor.design import Motor, MotorDesign
from fem_motor.errors import DesignError, InputError, Problem
from fem_motor.export.cards.as_designed import as_designed
from fem_motor.export.cards.card import FORMS, Card
from fem_motor.export.cards.magnet_card import FORMAT as MAGNET_FORMAT
from fem_motor.export.cards.magnet_card import magnet_card
from fem_motor.export.cards.parts_list import FORMAT as PARTS_FORMAT
from fem_motor.export.cards.parts_list import parts_list
from fem_motor.export.cards.winding_card import FORMAT as WINDING_FORMAT
from fem_motor.export.cards.winding_card import winding_card
from fem_motor.export.drawings.drawing import FORMAT as SECTION_FORMAT
from fem_motor.export.drawings.drawing import section_dxf
from fem_motor.export.fields.field_file import FORMAT as FIELD_FORMAT
from fem_motor.export.fields.field_file import field_vtu
from fem_motor.export.fields.field_grid import field_grid
from fem_motor.mesh import Quality
from fem_motor.progress import OnStage, ignore
from fem_motor.quantities import Phases
from fem_motor.units import DEG
from fem_motor.winding import Winding, wind

Kind = Literal["dxf", "vtu", "winding_card", "magnet_card", "parts_list"]

_CARDS = (WINDING_FORMAT, MAGNET_FORMAT, PARTS_FORMAT)
MARKS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {".dxf": (SECTION_FORMAT,), ".vtu": (FIELD_FORMAT,), **dict.fromkeys(FORMS, _CARDS)}
)
"""Names of formats by suffix: one of them stands in every file that this program wrote."""

OPTIONS: Mapping[Kind, str] = MappingProxyType(
    {
        "dxf": "--dxf",
        "vtu": "--vtu",
        "winding_card": "--winding-card",
        "magnet_card": "--magnet-card",
        "parts_list": "--parts-list",
    }
)
"""What each kind is called on the command line."""

KINDS: tuple[Kind, ...] = tuple(OPTIONS)
"""In the order in which they are written."""

_WORDS = {
    "dxf": "the drawing of the section",
    "vtu": "the field",
    "winding_card": "the winding card",
    "magnet_card": "the magnet card",
    "parts_list": "the parts list",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldSetting:
    """Where the rotor stands and which currents flow in the field that is written.

    Attributes
    ----------
    angle_deg : float
        Of the rotor, mechanical.
    currents_A : (3,)
        Of the branches.
    current_peak_A, current_angle_deg : float
        Instead of `currents_A`: those at that rotor angle of currents that turn with the rotor,
        leading when positive.
    waveform : "sine" or "six-step"
        Of the currents that turn.
    quality : "draft", "standard" or "fine"
        Of the mesh.
    """

    angle_deg: float = 0.0
    currents_A: Sequence[float] = (0.0, 0.0, 0.0)
    current_peak_A: float | None = None
    current_angle_deg: float = 0.0
    waveform: Literal["sine", "six-step"] = "sine"
    quality: Quality = "standard"


@dataclass(frozen=True, slots=True, kw_only=True)
class Exports:
    """The files that were written, in the order dxf, vtu, cards, parts list."""

    files: tuple[Path, ...]


def write_exports(
    design: MotorDesign,
    *,
    dxf: Path | str | None = None,
    vtu: Path | str | None = None,
    winding_card: Path | str | None = None,
    magnet_card: Path | str | None = None,
    parts_list: Path | str | None = None,
    setting: FieldSetting | None = None,
    on_step: OnStage = ignore,
) -> Exports:
    """Write what is needed to build and inspect a motor, and return which files.

    A file appears whole or not at all, and takes the place only of one that this program wrote.
    Drawing, cards and parts list show the motor as designed, the field as built.

    Parameters
    ----------
    design : MotorDesign
    dxf : path
        The section in millimetres, one layer for each part.
    vtu : path
        The field of the whole machine on second-order triangles, SI.
    winding_card, magnet_card, parts_list : path
        Plain text, Markdown, HTML or CSV by suffix: .txt, .md, .html, .csv.
    setting : fem_motor.export.FieldSetting, optional
        Rotor angle, currents and mesh of the field; None: angle 0, no current, standard quality.
    on_step : callable
        Called with (done, of, stage).

    Raises
    ------
    InputError
        No file is asked for, or one cannot be written; all problems at once, nothing is written.

    Examples
    --------
    >>> import fem_motor as fm
    >>> design = fm.load_design("geometries/printed_18s16p.toml")
    >>> fm.write_exports(design, winding_card="card.toml")
    Traceback (most recent call last):
    ...
    fem_motor.errors.InputError: --winding-card card.toml ends in .toml.
      why: the suffix says in which form the file is written.
      do:  use a name that ends in .md or .txt or .html or .csv.
    """
    named: dict[Kind, Path | str | None] = {
        "dxf": dxf,
        "vtu": vtu,
        "winding_card": winding_card,
        "magnet_card": magnet_card,
        "parts_list": parts_list,
    }
    targets = ready_targets({kind: file for kind, file in named.items() if file is not None})
    _write_all(_contents(design, targets, setting or FieldSetting(), on_step))
    on_step(len(targets), len(targets), "files")
    return Exports(files=tuple(targets.values()))


def _contents(
    design: MotorDesign, targets: Mapping[Kind, Path], setting: FieldSetting, on_step: OnStage
) -> dict[Path, bytes]:
    winding = _wound(design)
    contents: dict[Path, bytes] = {}
    for done, (kind, target) in enumerate(targets.items()):
        on_step(done, len(targets), _WORDS[kind])
        if kind == "vtu":
            contents[target] = _field(design.motor, winding, setting)
        else:
            contents[target] = _content(kind, target, design.motor)
    return contents


def _wound(design: MotorDesign) -> Winding:
    try:
        return wind(design.motor)
    except DesignError as error:
        raise error.placed_in(design.name) from None


def _field(motor: Motor, winding: Winding, setting: FieldSetting) -> bytes:
    angle = setting.angle_deg * DEG
    currents: FloatArray = np.asarray(setting.currents_A, dtype=np.float64)
    if setting.current_peak_A is not None:
        phases = Phases.of(winding, motor)
        wave = phases.sine if setting.waveform == "sine" else phases.six_step
        lead = setting.current_angle_deg * DEG
        turning = wave(np.array([angle]), peak=setting.current_peak_A, current_angle=lead)
        currents = turning[:, 0]
    quality = setting.quality
    grid = field_grid(motor, winding, angle=angle, currents=currents, quality=quality)
    return field_vtu(grid, motor)


def _content(kind: Kind, target: Path, motor: Motor) -> bytes:
    if kind == "dxf":
        return section_dxf(motor, wind(as_designed(motor)).coils)
    makers: dict[str, Callable[[Motor], Card]] = {
        "winding_card": winding_card,
        "magnet_card": magnet_card,
        "parts_list": parts_list,
    }
    return FORMS[target.suffix.lower()](makers[kind](motor)).encode()


def suffixes(kind: Kind) -> tuple[str, ...]:
    """Return what the name of a file may end in.

    >>> suffixes("winding_card")
    ('.md', '.txt', '.html', '.csv')
    """
    return (f".{kind}",) if kind in {"dxf", "vtu"} else tuple(FORMS)


def ready_targets(files: Mapping[Kind, Path | str]) -> dict[Kind, Path]:
    """Return the files to write, after making sure that each can be written.

    Raises
    ------
    InputError
        With all that is wrong.
    """
    if not files:
        raise InputError(
            "needs at least one file to write.",
            do=f"add one or more of {', '.join(OPTIONS.values())}, each with a file name.",
            place="export",
        )
    targets = {kind: Path(file).expanduser() for kind, file in files.items()}
    problems = [problem for kind, target in targets.items() for problem in _problems(kind, target)]
    problems += _shared(targets)
    if problems:
        raise InputError.from_problems(problems)
    return targets


def _problems(kind: Kind, target: Path) -> Iterator[Problem]:
    place = f"{OPTIONS[kind]} {target}"
    allowed = suffixes(kind)
    if target.suffix.lower() not in allowed:
        given = f"ends in {target.suffix}" if target.suffix else "has no suffix"
        yield Problem(
            place=place,
            what=f"{given}.",
            why="the suffix says in which form the file is written.",
            do=f"use a name that ends in {' or '.join(allowed)}.",
        )
    elif target.is_dir():
        yield Problem(place=place, what="is a folder.", do="name a file in it.")
    elif target.exists() and not _is_ours(target):
        yield Problem(
            place=place,
            what="is left as it is.",
            why="a file is there that this program did not write.",
            do="choose another name, or move that file away.",
        )
    elif not (target.parent.is_dir() and os.access(target.parent, os.W_OK)):
        yield Problem(
            place=place,
            what="cannot be written.",
            why=f"{target.parent} is no folder that you may write to.",
            do="make it first, or choose another.",
        )


def _shared(targets: Mapping[Kind, Path]) -> Iterator[Problem]:
    seen: dict[Path, Kind] = {}
    for kind, target in targets.items():
        other = seen.setdefault(target.absolute(), kind)
        if other != kind:
            yield Problem(
                place=f"{OPTIONS[kind]} {target}",
                what=f"is also the file of {OPTIONS[other]}.",
                do="give each a name of its own.",
            )


def _is_ours(target: Path) -> bool:
    try:
        return _is_signed(target, target.read_bytes())
    except OSError:
        return False


def _is_signed(target: Path, content: bytes) -> bool:
    """Return whether a file says in which of this program's formats it is."""
    return any(mark.encode() in content for mark in MARKS[target.suffix.lower()])


def _write_all(contents: Mapping[Path, bytes]) -> None:
    """Write all files beside their targets first, then move each to its place in one step."""
    with ExitStack() as stack:
        for target, content in contents.items():
            _check_signed(target, content)
        ready = [(stack.enter_context(file_beside(t, text)), t) for t, text in contents.items()]
        for temporary, target in ready:
            with written_to_the_end(target):
                temporary.replace(target)
            clear_leftovers(target)


def _check_signed(target: Path, content: bytes) -> None:
    """Raise where a file would not be known as this program's when it is to be replaced."""
    if not _is_signed(target, content):  # pragma: no cover  (a slip in a new form)
        msg = f"{target.suffix} does not say who wrote it"
        raise AssertionError(msg)
