"""Say whether a design can be built and is consistent, and what to do where not."""

import argparse
from dataclasses import replace

from fem_motor.cli import options as shared
from fem_motor.cli.terminal import answer, finding_text, print_json, say

HELP = "is it buildable and consistent? findings with what to do"
_ORDER = {"stop": 0, "watch": 1, "ok": 2}


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add this verb's options."""
    shared.add_design(parser)
    shared.add_output(parser, "draw the section into this folder (default: nothing is drawn)")
    shared.add_json(parser)
    shared.add_quiet(parser)


def main(options: argparse.Namespace) -> int:
    """Run the verb and return the exit status: 1 where a finding says stop."""
    from fem_motor import performance, report
    from fem_motor.design import load_design

    design = load_design(options.file)
    findings = performance.check(design)
    result = report.DesignCheck(file=str(options.file), design=design, findings=findings)
    if options.output is not None:
        result = replace(result, picture=str(options.output / "section.png"))
        report.write_report(result, options.output)
    if options.json:
        print_json(report.result_to_json(result))
    else:
        ordered = sorted(findings, key=lambda item: _ORDER[item.status])
        answer("\n".join(map(finding_text, ordered)))
    if result.picture and not options.quiet:
        say(f"picture: {result.picture}")
    return 1 if any(finding.status == "stop" for finding in findings) else 0
