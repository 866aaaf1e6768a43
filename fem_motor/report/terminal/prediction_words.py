"""A frozen prediction as a test plan, and how a log did against it, as lines for the terminal."""

import textwrap
from collections.abc import Callable, Iterator

from fem_motor.calibration import Prediction, PredictionScore
from fem_motor.findings import Finding
from fem_motor.numbers import digits, split_name
from fem_motor.report.terminal.bench_words import CAUTIONS

_WIDTH = 98
_COLUMNS = ("speed_rpm", "torque_Nm", "voltage_V", "current_A")
_SHOWN = 24


def plan_text(prediction: Prediction) -> str:
    """Return the page of a planned test: what should be read, when to stop, in which order."""
    limits = prediction.limits
    lines = [f"{prediction.title}: a test that is planned, frozen on {prediction.date}", ""]
    if not prediction.is_blind:
        lines += [*_wrapped("The log is there already: this prediction is not blind."), ""]
    lines += ["What should be read (about 95 %)", *_steps(prediction), ""]
    lines += ["Stop at once when"]
    current, speed = digits(limits.current_A, 3), digits(limits.speed_rpm, 3)
    lines += [
        f"  the current passes {current} A, the speed {speed} rpm,",
        f"  the winding passes {digits(limits.winding_C, 3)} °C,",
        "  anything shakes, scrapes, smells or smokes.",
        *_wrapped(limits.because),
        "",
        "Plan",
    ]
    throttles = ", ".join(f"{100 * step.throttle:.0f} %" for step in prediction.steps)
    for number, sentence in enumerate(
        (
            "Zero the cells, log ten seconds at rest, note air and winding temperature.",
            f"Hold {throttles} of the throttle for fifteen seconds each, or until a limit comes.",
            "Cut the power, log the coast-down, and ten seconds at rest again.",
            "Let the winding cool and do it once more: what differs is the day, not the motor.",
            "fem-motor bench LOG DESIGN --freeze F then scores the log.",
        ),
        1,
    ):
        lines += textwrap.wrap(
            f"{number}. {sentence}", _WIDTH, initial_indent="  ", subsequent_indent="     "
        )
    lines += ["", "Caution"]
    for caution in CAUTIONS:
        lines += _wrapped(caution)
    return "\n".join(lines)


def score_lines(score: PredictionScore, *, finding_text: Callable[[Finding], str]) -> Iterator[str]:
    """Yield the lines of a score: each reading with its range and deviation, then the share."""
    yield f"Against the prediction of {score.date} (content {score.content_hash[:12]})"
    if score.values:
        yield f"  {'throttle':>8}  {'':<10}{'predicted':<24}{'measured':<12}{'deviation':>9}"
    for one in score.values[:_SHOWN]:
        label, unit = split_name(one.name)
        low, high = digits(one.predicted.low or 0.0, 3), digits(one.predicted.high or 0.0, 3)
        read = f"{digits(one.measured.value or 0.0, 4)} {unit}"
        yield (
            f"  {100 * one.throttle:>6.0f} %  {label:<10}{f'{low} to {high} {unit}':<24}"
            f"{read:<12}{one.deviation:>+9.1f}"
        )
    for finding in score.findings:
        yield from ("  " + line for line in finding_text(finding).split("\n"))


def _steps(prediction: Prediction) -> Iterator[str]:
    heads = [" ".join(split_name(name)) for name in _COLUMNS]
    yield f"  {'throttle':>8}" + "".join(f"{head:>22}" for head in heads)
    for step in prediction.steps:
        cells = [
            f"{digits(head.low or 0.0, 3)} to {digits(head.high or 0.0, 3)}"
            for head in (step.values[name] for name in _COLUMNS)
        ]
        yield f"  {100 * step.throttle:>6.0f} %" + "".join(f"{cell:>22}" for cell in cells)


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, _WIDTH, initial_indent="  ", subsequent_indent="  ")
