"""What a log says about the model, as a page for the terminal."""

import textwrap
from collections.abc import Callable

from fem_motor.calibration import CalibratedBench, Calibration, Explanation
from fem_motor.findings import Finding
from fem_motor.numbers import digits, split_name
from fem_motor.report.terminal.bench_words import bench_text
from fem_motor.report.terminal.prediction_words import score_lines

_WIDTH = 98
_MOST_CAUSES = 6
_UNLIKELY = 0.005
"""Score below which a cause is not told on the screen; all stand in the JSON."""


def calibrated_bench_text(
    result: CalibratedBench, *, finding_text: Callable[[Finding], str]
) -> str:
    """Return the page of the log, then calibration, what stays open, and explanations."""
    page = bench_text(result.bench, finding_text=finding_text)
    head, caution, tail = page.rpartition("\nCaution")
    lines = _calibration(result.calibration, finding_text)
    if result.prediction is not None:
        lines += ["", *score_lines(result.prediction, finding_text=finding_text)]
    text = "\n".join(lines)
    return f"{head}\n{text}\n{caution}{tail}"


def _calibration(found: Calibration, finding_text: Callable[[Finding], str]) -> list[str]:
    lines = ["Calibrated (fitted; about 95 %)"]
    if found.calibrated:
        lines.append(f"  {'':36}{'before':>12}{'now':>12}   range")
    else:
        lines.append("  nothing")
    lines += [
        f"  {_named(name):36}{digits(one.prior):>12}{digits(one.value):>12}   "
        f"{digits(one.low)} to {digits(one.high)}"
        for name, one in found.calibrated.items()
    ]
    lines += _misfit(found)
    for finding in found.findings:
        lines += ["  " + line for line in finding_text(finding).split("\n")]
    shown = [one for one in found.explanations[:_MOST_CAUSES] if one.score >= _UNLIKELY]
    if shown:
        lines += ["", "Explanations (share of the weight of all causes tried)"]
    for one in shown:
        lines += _explanation(one)
    return lines


def _misfit(found: Calibration) -> list[str]:
    """Return how far model and measurements are apart; nothing where nothing was measured."""
    if not found.residuals.size:
        return []
    return _wrapped(
        f"misfit, root mean square in standard uncertainties: {found.misfit_before:.2f} as "
        f"designed, {found.misfit_after:.2f} calibrated. Fit and prior assume the same drive "
        "model: what the model lacks is not in the ranges.",
        "  ",
    )


def _named(name: str) -> str:
    words, unit = split_name(name)
    return f"{words}, {unit}" if unit else words


def _explanation(one: Explanation) -> list[str]:
    lines = _wrapped(f"{one.score:4.0%}  {one.cause}: {one.why}", "  ", later=" " * 8)
    if one.next_measurement:
        lines += _wrapped(f"next: {one.next_measurement}", " " * 8)
    return lines


def _wrapped(text: str, first: str, later: str | None = None) -> list[str]:
    rest = first if later is None else later
    return textwrap.wrap(text, _WIDTH, initial_indent=first, subsequent_indent=rest)
