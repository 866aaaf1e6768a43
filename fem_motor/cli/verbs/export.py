"""Write what is needed to build and inspect a motor: drawing, field, cards, parts list."""

import argparse

from fem_motor.cli import options as shared
from fem_motor.cli.terminal import answer, print_json, progress
from fem_motor.errors import InputError

HELP = "section DXF, field VTU, winding card, magnet card, parts list"


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add this verb's options."""
    shared.add_design(parser)
    files = parser.add_argument_group(
        "files",
        "at least one; a file that this program did not write is never replaced. Cards and list: "
        "text, Markdown, HTML or CSV by suffix, .txt, .md, .html or .csv",
    )
    for name, words in (
        ("--dxf", "the section in mm, one layer for each part (.dxf)"),
        ("--vtu", "the field of the whole machine, SI (.vtu)"),
        ("--winding-card", "tooth by tooth: which way round, which turns, where each end goes"),
        ("--magnet-card", "magnet by magnet: which way north looks"),
        ("--parts-list", "magnets, wire, core, ring, housing, liner: sizes and masses"),
    ):
        files.add_argument(name, metavar="F", type=_file, help=words)
    angle = parser.add_argument_group("the field in --vtu")
    angle.add_argument(
        "--angle",
        metavar="DEG",
        type=shared.number,
        help="of the rotor, mechanical, counter-clockwise; at 0 pole 1 faces tooth 1 (default: 0)",
    )
    shared.add_currents(parser)
    shared.add_quality(parser)
    shared.add_json(parser)
    shared.add_quiet(parser)


def main(options: argparse.Namespace) -> int:
    """Run the verb and return the exit status."""
    currents = shared.currents_of(options)
    _refuse_idle(options)

    from fem_motor import export
    from fem_motor.design import load_design

    files = {
        kind: getattr(options, kind) for kind in export.KINDS if getattr(options, kind) is not None
    }
    export.ready_targets(files)  # before the long work, so that a bad name is known at once
    design = load_design(options.file)
    setting = export.FieldSetting(
        angle_deg=options.angle or 0.0, quality=options.quality, **currents
    )
    with progress(quiet=options.quiet) as on_step:
        written = export.write_exports(design, **files, setting=setting, on_step=on_step)
    names = [str(file) for file in written.files]
    if options.json:
        print_json({"files": names})
    else:
        answer("\n".join(names))
    return 0


def _refuse_idle(options: argparse.Namespace) -> None:
    """Raise where angle or currents are given and no field is asked for."""
    if options.vtu is not None:
        return
    for name in ("angle", "currents", "current_peak"):
        if getattr(options, name) is not None:
            raise InputError(
                "says nothing about these files.",
                why="rotor angle and currents belong to the field.",
                do="add --vtu FILE, or leave it out.",
                place=f"--{name.replace('_', '-')}",
            )


def _file(text: str) -> str:
    if not text:
        raise argparse.ArgumentTypeError("the name of the file is empty")
    return text
