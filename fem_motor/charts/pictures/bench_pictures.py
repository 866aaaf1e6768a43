"""The pictures of a bench log: measured points on the model's curves, and the log over time."""

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import PercentFormatter

from fem_motor.arrays import FloatArray
from fem_motor.bench import BenchResult, MeasuredPoint
from fem_motor.calibration import CalibratedBench, Calibration
from fem_motor.charts import canvas
from fem_motor.charts.picture import Picture
from fem_motor.numbers import digits, quantity
from fem_motor.units import RPM

_MEASURED = {"color": "black", "marker": "o", "markersize": 4, "linestyle": "", "capsize": 2.5}
_DESIGNED = {"color": "#c8500a", "linestyle": "--", "marker": "s", "markersize": 3}
_CALIBRATED = {"color": "#0b3c6f", "linestyle": "-", "marker": "^", "markersize": 4}
_MOST_SAMPLES = 1500
"""Of a log that are drawn: more cannot be told apart on paper."""
_MINUTES_FROM_S = 600


def bench_pictures(result: BenchResult | CalibratedBench) -> tuple[Picture, ...]:
    """Return the points on the model's curves where there are points, and the log over time."""
    bench = result.bench if isinstance(result, CalibratedBench) else result
    calibration = result.calibration if isinstance(result, CalibratedBench) else None
    points = [one for one in bench.measured.points if _has(one, "speed_rpm", "current_A")]
    drawn = [_points_picture(points, calibration)] if points else []
    if "speed" in bench.log.channels:
        drawn.append(_log_picture(bench))
    return tuple(drawn)


def _has(point: MeasuredPoint, *names: str) -> bool:
    return all(name in point.values and point.values[name].value is not None for name in names)


def _points_picture(points: Sequence[MeasuredPoint], calibration: Calibration | None) -> Picture:
    def draw(frame: canvas.Frame) -> None:
        draw_points(points, *frame.subplots((1.0, 1.0)), calibration=calibration)

    told = _how_far_off(points, calibration)
    said = (
        " Curves join what the model computes for the speed, voltage and torque of each point; its "
        f"current, {told}."
        if told
        else ""
    )
    first, last = (points[at].values["speed_rpm"].value or 0.0 for at in (0, -1))
    return Picture(
        name="points",
        title="Measured points on the model's curves" if told else "Measured points",
        caption=f"Points: measured, bars about 95 %.{said}",
        alt=f"{len(points)} measured points of current and efficiency from "
        f"{quantity(first, 'rpm', count=3)} to {quantity(last, 'rpm', count=3)}"
        + (f" on the curves of the model, whose current, {told}." if told else "."),
        height=4.8,
        margins=(0.8, 0.2, 0.5, 0.55),
        draw=draw,
    )


def _how_far_off(points: Sequence[MeasuredPoint], calibration: Calibration | None) -> str:
    """Return how far computed currents are from the measured ones, empty without a model."""
    if calibration is None:
        return ""
    offs = [
        (name, current_off(points, [(one.speed_rpm, one.current_A) for one in computed]))
        for name, computed in (
            ("as designed", calibration.as_designed),
            ("calibrated", calibration.as_calibrated),
        )
    ]
    told = [f"{name}, is {digits(off, 2)} % off" for name, off in offs if off is not None]
    return f"{'; '.join(told)} (root mean square)" if told else ""


def current_off(
    points: Sequence[MeasuredPoint], computed: Sequence[tuple[float, float]]
) -> float | None:
    """Return by how many per cent currents computed at speeds in rpm are off, root mean square."""
    read = {round(one.values["speed_rpm"].value or 0.0): one.values["current_A"] for one in points}
    pairs = [(current, read.get(round(speed))) for speed, current in computed]
    ratios = [current / head.value - 1 for current, head in pairs if head and head.value]
    return 100 * float(np.sqrt(np.mean(np.square(ratios)))) if ratios else None


def draw_points(
    points: Sequence[MeasuredPoint],
    above: Axes,
    below: Axes,
    *,
    calibration: Calibration | None = None,
) -> None:
    """Draw supply current and efficiency over speed: measured with ranges, and the model's."""
    computed = () if calibration is None else (
        ("model as designed", calibration.as_designed, _DESIGNED),
        ("model calibrated", calibration.as_calibrated, _CALIBRATED),
    )  # fmt: skip
    for axes, name in ((above, "current_A"), (below, "efficiency")):
        for label, curve, style in computed:
            if curve:
                values = [getattr(one, name) for one in curve]
                axes.plot([one.speed_rpm for one in curve], values, label=label, **style)  # type: ignore[arg-type]
        shown = [one for one in points if _has(one, name)]
        if shown:
            speed, speed_bar = _bars(shown, "speed_rpm")
            value, bar = _bars(shown, name)
            axes.errorbar(speed, value, yerr=bar, xerr=speed_bar, label="measured", **_MEASURED)  # type: ignore[arg-type]
        axes.set_xlim(left=0)
    above.set(ylabel="supply current, A")
    above.set_ylim(bottom=0)
    below.set(ylabel="efficiency, %", xlabel="speed, rpm", ylim=(0, 1))
    below.yaxis.set_major_formatter(PercentFormatter(1.0, symbol=""))
    above.legend(loc="lower left", bbox_to_anchor=(0, 1.0), ncols=2, handlelength=3.0)


def _bars(points: Sequence[MeasuredPoint], name: str) -> tuple[FloatArray, FloatArray]:
    """Return values, and how far their ranges reach below and above them (2, n)."""
    heads = [one.values[name] for one in points]
    value = np.array([head.value or 0.0 for head in heads])
    low = np.array([head.value if head.low is None else head.low for head in heads], dtype=float)
    high = np.array([head.value if head.high is None else head.high for head in heads], dtype=float)
    return value, np.maximum([value - low, high - value], 0.0)


def _log_picture(bench: BenchResult) -> Picture:
    steady = [one for one in bench.segments if one.kind == "steady"]

    def draw(frame: canvas.Frame) -> None:
        draw_log(bench, *frame.subplots((1.0, 1.0)))

    return Picture(
        name="log",
        title="The log over time",
        caption="Speed and current as read. Grey: the steady stretches whose means are the points.",
        alt=f"Curves of speed and current over {quantity(float(bench.log.time[-1]), 's', count=3)} "
        f"with {len(steady)} steady stretches marked.",
        height=4.4,
        draw=draw,
    )


def draw_log(bench: BenchResult, above: Axes, below: Axes) -> None:
    """Draw speed and current over time, the steady stretches marked."""
    log = bench.log
    scale, unit = (60.0, "min") if log.time[-1] > _MINUTES_FROM_S else (1.0, "s")
    step = max(1, log.time.size // _MOST_SAMPLES)
    time = log.time[::step] / scale
    for axes, name, label, factor in (
        (above, "speed", "speed, rpm", RPM), (below, "current", "current, A", 1.0),
    ):  # fmt: skip
        values = log.channels.get(name)  # type: ignore[call-overload]  # one of the channels
        if values is not None:
            axes.plot(time, values[::step] / factor, color="#0b3c6f", linewidth=0.9)
        for one in bench.segments:
            if one.kind == "steady":
                axes.axvspan(one.start / scale, one.end / scale, color="#d9d9d9", zorder=0)
        axes.set(ylabel=label, xlim=(0, float(log.time[-1]) / scale))
    below.set_xlabel(f"time, {unit}")
