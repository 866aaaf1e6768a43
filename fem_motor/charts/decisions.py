"""Pictures of a comparison and of a ranking."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

from fem_motor.arrays import FloatArray
from fem_motor.charts import canvas
from fem_motor.comparison import GOAL_WORDS, Comparison, Ranking

_STYLES = (
    {"color": "#0b3c6f", "linestyle": "-"},
    {"color": "#c8500a", "linestyle": "--"},
    {"color": "#2f8f5b", "linestyle": "-."},
    {"color": "#6b6b6b", "linestyle": ":"},
)
_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_BARS = 16
_LONGEST_TITLE = 46
_MARKERS = {"gain": "o", "tied": "s", "no-gain": "D", "loss": "v"}
_DOWN = 0.4
"""Part of its height that a curve has lost where its letter stands: above the load's curve."""


def decision_png(result: Comparison | Ranking) -> bytes:
    """Return the picture of a result as PNG, the same bytes each time."""
    with canvas.house_style():
        if isinstance(result, Comparison):
            return canvas.png_bytes(_comparison_figure(result))
        return canvas.png_bytes(_ranking_figure(result))


def _comparison_figure(comparison: Comparison) -> Figure:
    legend = 0.25 * len(comparison.candidates)
    figure = canvas.new_figure(7.0, 7.4 + legend)
    frame = canvas.Frame(
        figure=figure,
        left=0.0,
        bottom=0.0,
        width=7.0,
        height=7.4 + legend,
        margins=(0.8, 0.3, 0.5, 0.6 + legend),
    )
    torque, power, soft = frame.subplots((1.0, 1.0, 0.8))
    draw_torque_over_speed(comparison, torque)
    draw_power_over_speed(comparison, power)
    draw_seconds_over_power(comparison, soft)
    figure.legend(
        *torque.get_legend_handles_labels(),
        loc="upper left",
        bbox_to_anchor=(0.1, 1 - 0.35 / (7.4 + legend)),
    )
    figure.text(
        0.115,
        1 - 0.25 / (7.4 + legend),
        "At full throttle, copper and magnets at 20 °C (computed)",
        weight="bold",
        fontsize=10,
        parse_math=False,
    )
    return figure


def draw_torque_over_speed(comparison: Comparison, axes: Axes) -> None:
    """Draw the torque at the shaft of every candidate, and the load's where it is the same."""
    for place, one in enumerate(comparison.candidates):
        curves = one.curves
        label = f"{_LETTERS[place % 26]}  {one.title}: {one.winding}"
        axes.plot(
            curves.speed_rpm,
            1e3 * curves.torque_Nm,
            label=label.replace("$", r"\$"),
            **_STYLES[place % len(_STYLES)],  # type: ignore[arg-type]  # words of matplotlib
        )
        _name(axes, curves.speed_rpm, 1e3 * curves.torque_Nm, _LETTERS[place % 26])
    for place, one in enumerate(comparison.candidates):
        if one.curves.load_torque_Nm.size:
            axes.plot(
                one.curves.speed_rpm,
                1e3 * one.curves.load_torque_Nm,
                color="black",
                linewidth=0.8,
                label="what the load takes" if place == 0 else None,
            )
    highest = max((1e3 * one.curves.torque_Nm.max() for one in comparison.candidates), default=1.0)
    axes.set(xlabel="speed, rpm", ylabel="torque at the shaft, mN m", ylim=(0, 1.08 * highest))
    axes.set_xlim(left=0)


def draw_power_over_speed(comparison: Comparison, axes: Axes) -> None:
    """Draw the shaft power of every candidate."""
    for place, one in enumerate(comparison.candidates):
        curves = one.curves
        axes.plot(curves.speed_rpm, curves.shaft_power_W, **_STYLES[place % len(_STYLES)])  # type: ignore[arg-type]
        top = int(np.argmax(curves.shaft_power_W))
        axes.annotate(
            _LETTERS[place % 26],
            (curves.speed_rpm[top], curves.shaft_power_W[top]),
            xytext=(0, 3),
            textcoords="offset points",
        )
    axes.set(xlabel="speed, rpm", ylabel="shaft power, W")
    axes.set_xlim(left=0)
    axes.set_ylim(bottom=0)


def draw_seconds_over_power(comparison: Comparison, axes: Axes) -> None:
    """Draw the seconds until the core is soft over the shaft power that is held."""
    drawn = False
    for place, one in enumerate(comparison.candidates):
        curves = one.curves
        if curves.held_power_W.size:
            drawn = True
            axes.plot(
                curves.held_power_W,
                curves.seconds_to_soften,
                marker=".",
                **_STYLES[place % len(_STYLES)],  # type: ignore[arg-type]
            )
            letter = _LETTERS[place % 26]
            axes.annotate(letter, (curves.held_power_W[0], curves.seconds_to_soften[0]))
    axes.set(xlabel="shaft power held from cold, W", ylabel="seconds until soft")
    if drawn:
        axes.set_yscale("log")
        axes.set_xlim(left=0)
    else:
        axes.text(
            0.5, 0.5, "no core softens up to full throttle", ha="center", transform=axes.transAxes
        )
        axes.set(xticks=[], yticks=[])


def _name(axes: Axes, x: FloatArray, y: FloatArray, letter: str) -> None:
    """Write a curve's letter on its fall."""
    if len(y):
        place = int(np.argmin(np.abs(y - (1 - _DOWN) * y.max())))
        axes.annotate(
            letter, (float(x[place]), float(y[place])), xytext=(4, 4), textcoords="offset points"
        )


def _ranking_figure(ranking: Ranking) -> Figure:
    shown = [one for one in ranking.changes if one.gain_fraction is not None][:_BARS]
    height = 1.6 + 0.28 * len(shown)
    figure = canvas.new_figure(7.0, height)
    frame = canvas.Frame(
        figure=figure, left=0.0, bottom=0.0, width=7.0, height=height, margins=(3.1, 0.3, 0.6, 0.6)
    )
    (axes,) = frame.subplots()
    draw_gains(ranking, axes)
    figure.text(
        0.02,
        1 - 0.3 / height,
        f"Gain in {GOAL_WORDS[ranking.goal]}",
        weight="bold",
        fontsize=9,
        parse_math=False,
    )
    return figure


def draw_gains(ranking: Ranking, axes: Axes) -> None:
    """Draw the gains of the best changes with their ranges, as times of the design as it is."""
    shown = [one for one in ranking.changes if one.gain_fraction is not None][:_BARS]
    for place, one in enumerate(shown):
        likely = 1 + (one.gain_fraction or 0.0)
        low, high = 1 + (one.low or 0.0), 1 + (one.high or 0.0)
        is_sure = one.verdict in ("gain", "loss")
        axes.plot([low, high], [place, place], color="#0b3c6f" if is_sure else "#6b6b6b")
        axes.plot(
            likely,
            place,
            marker=_MARKERS[one.verdict or "tied"],
            color="#0b3c6f" if is_sure else "#6b6b6b",
        )
    axes.axvline(1.0, color="black", linewidth=0.8)
    titles = [one.title for one in shown]
    short = [t if len(t) <= _LONGEST_TITLE else f"{t[: _LONGEST_TITLE - 1]}…" for t in titles]
    axes.set_yticks(range(len(shown)), [title.replace("$", r"\$") for title in short])
    axes.invert_yaxis()
    if shown and 1 + (shown[0].high or 0.0) > 4:  # noqa: PLR2004  (a linear axis would hide the small ones)
        axes.set_xscale("log")
        axes.xaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
        axes.xaxis.set_major_formatter(FuncFormatter(lambda times, _: f"×{times:g}"))
        axes.xaxis.set_minor_formatter(NullFormatter())
    axes.set_xlabel("times the design as it is (point: likely, line: range)")
