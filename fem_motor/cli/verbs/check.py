"""Say whether a design can be built and is consistent, and what readings say of its winding."""

import argparse
import math
from collections.abc import Callable
from dataclasses import replace

from fem_motor.cli import options as shared
from fem_motor.cli.terminal import answer, finding_text, print_json, say
from fem_motor.errors import InputError, Problem
from fem_motor.units import ROOM_C

HELP = "is it buildable and consistent? findings with what to do"
_ORDER = {"stop": 0, "watch": 1, "ok": 2}
_PAIRS = 3


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add this verb's options."""
    shared.add_design(parser)
    readings = parser.add_argument_group(
        "readings at the leads of the stator as wound",
        "U-V, V-W and W-U; ranks what may be wrong with the winding",
    )
    readings.add_argument(
        "--resistance",
        metavar="OHM,OHM,OHM",
        type=_resistances,
        help="four-wire, without the controller; open for a pair without connection",
    )
    readings.add_argument(
        "--spin-voltage",
        metavar="V,V,V",
        type=_voltages,
        help="RMS, leads open, rotor turned at a steady speed (propeller off)",
    )
    readings.add_argument(
        "--spin-speed",
        metavar="RPM",
        type=_positive,
        help="that speed; without it only the ratios of the voltages count",
    )
    readings.add_argument(
        "--copper-temperature",
        metavar="C",
        type=shared.number,
        help="of the copper while its resistance was read, °C (default: 20)",
    )
    shared.add_output(parser, "draw the section into this folder (default: nothing is drawn)")
    shared.add_json(parser)
    shared.add_quiet(parser)


def main(options: argparse.Namespace) -> int:
    """Run the verb and return the exit status: 1 where a finding says stop."""
    _check_readings(options)

    from fem_motor import performance, report
    from fem_motor.design import load_design

    design = load_design(options.file)
    findings = performance.check(design)
    result = report.DesignCheck(file=str(options.file), design=design, findings=findings)
    if options.resistance is not None:
        faults = performance.rank_faults(
            design,
            resistance_ohm=options.resistance,
            spin_voltage_V=options.spin_voltage,
            spin_speed_rpm=options.spin_speed,
            copper_C=ROOM_C if options.copper_temperature is None else options.copper_temperature,
        )
        result = replace(result, faults=faults)
    if options.output is not None:
        result = replace(result, picture=str(options.output / "section.png"))
        report.write_report(result, options.output)
    if options.json:
        print_json(report.result_to_json(result))
    else:
        ordered = sorted(findings, key=lambda item: _ORDER[item.status])
        parts = ["\n".join(map(finding_text, ordered))]
        parts += [] if result.faults is None else [report.summary_text(result)]
        answer("\n\n".join(parts))
    if result.picture and not options.quiet:
        say(f"picture: {result.picture}")
    return 1 if any(finding.status == "stop" for finding in findings) else 0


def _check_readings(options: argparse.Namespace) -> None:
    """Refuse readings that lack the one they go with, all at once."""
    problems = [
        _lacks(name, "add --resistance OHM,OHM,OHM.")
        for name in ("spin_voltage", "copper_temperature")
        if options.resistance is None and getattr(options, name) is not None
    ]
    if options.spin_speed is not None and options.spin_voltage is None:
        problems.append(_lacks("spin_speed", "add --spin-voltage V,V,V."))
    if problems:
        raise InputError.from_problems(problems)


def _lacks(name: str, do: str) -> Problem:
    place = f"--{name.replace('_', '-')}"
    return Problem(what="says nothing alone.", why="", do=do, place=place)


def _resistances(text: str) -> tuple[float, ...]:
    return _three(text, lambda part: math.inf if part.strip() == "open" else _positive(part))


def _voltages(text: str) -> tuple[float, ...]:
    return _three(text, lambda part: 0.0 if part.strip() in {"0", "0.0"} else _positive(part))


def _three(text: str, one: Callable[[str], float]) -> tuple[float, ...]:
    values = tuple(one(part) for part in text.split(","))
    if len(values) != _PAIRS:
        raise argparse.ArgumentTypeError(f"{text!r} is not three readings U-V,V-W,W-U")
    return values


def _positive(text: str) -> float:
    value = shared.number(text)
    if value <= 0:
        raise argparse.ArgumentTypeError(f"{text!r} is not above zero")
    return value
