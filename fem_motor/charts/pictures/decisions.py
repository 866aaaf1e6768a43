"""Pictures of a comparison and of a ranking."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

from fem_motor.arrays import FloatArray
from fem_motor.charts import canvas
from fem_motor.charts.picture import Picture
from fem_motor.comparison import GOAL_WORDS, Comparison, Ranking, gain_words
from fem_motor.numbers import digits, quantity

_STYLES = (
    {"color": "#0b3c6f", "linestyle": "-"},
    {"color": "#c8500a", "linestyle": "--"},
    {"color": "#2f8f5b", "linestyle": "-."},
    {"color": "#6b6b6b", "linestyle": ":"},
)
_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_BARS = 16
_LONGEST_TITLE, _LONGEST_LEGEND = 40, 56
_LEGEND_ROW = 0.19  # inches
_MARKERS = {"gain": "o", "tied": "s", "no-gain": "D", "loss": "v"}
_DOWN, _FURTHER, _DISTINCT = 0.25, 0.12, 4
"""Part of its height that a curve has lost where its letter stands, and how much more the next."""


def decision_pictures(result: Comparison | Ranking) -> tuple[Picture, ...]:
    """Return the pictures of a comparison or of a ranking, not yet drawn."""
    if isinstance(result, Ranking):
        return (_gains_picture(result),)
    soft = any(one.curves.held_power_W.size for one in result.candidates)
    curves = _curves_picture(result)
    return (curves, _seconds_picture(result)) if soft else (curves,)


def _curves_picture(comparison: Comparison) -> Picture:
    rows = len(comparison.candidates) + any(
        one.curves.load_torque_Nm.size for one in comparison.candidates
    )

    def draw(frame: canvas.Frame) -> None:
        above, below = frame.subplots((1.0, 1.0))
        draw_torque_over_speed(comparison, above)
        draw_power_over_speed(comparison, below)
        above.legend(loc="lower left", bbox_to_anchor=(0, 1.0), fontsize=8, handlelength=3.0)

    tops = "; ".join(
        f"{letter} at most {quantity(float(one.curves.torque_Nm.max(initial=0.0)), 'N m', count=3)}"
        f" and {quantity(float(one.curves.shaft_power_W.max(initial=0.0)), 'W', count=3)}"
        for letter, one in zip(_LETTERS, comparison.candidates, strict=False)
    )
    return Picture(
        name="comparison",
        title="Torque and power over speed",
        caption="Each candidate at full throttle with the turns that it is compared with, copper "
        "and magnets at 20 °C. Computed.",
        alt=f"Curves of torque and shaft power over speed of the candidates: {tops}.",
        height=4.2 + _LEGEND_ROW * rows,
        margins=(0.8, 0.2, 0.5, 0.15 + _LEGEND_ROW * rows),
        draw=draw,
    )


def _seconds_picture(comparison: Comparison) -> Picture:
    def draw(frame: canvas.Frame) -> None:
        draw_seconds_over_power(comparison, *frame.subplots())

    return Picture(
        name="seconds",
        title="Seconds until the core is soft",
        caption="From cold, against the shaft power that is held along the load's line; computed "
        "by the thermal network of each candidate. A candidate without a curve does not soften.",
        alt="Falling curves of the seconds until the core of a candidate is soft, over the shaft "
        "power that is held.",
        height=3.2,
        draw=draw,
    )


def _gains_picture(ranking: Ranking) -> Picture:
    shown = [one for one in ranking.changes if one.gain_fraction is not None][:_BARS]

    def draw(frame: canvas.Frame) -> None:
        draw_gains(ranking, *frame.subplots())

    best = "; ".join(
        f"{one.title} {' ('.join(gain_words(one, ranking.goal)[:2])})" for one in shown[:3]
    )
    return Picture(
        name="ranking",
        title="What single changes do",
        caption=f"{_sentence(GOAL_WORDS[ranking.goal])}: times the design as it is. Mark: likely; "
        "line: range. Blue: a gain or a loss beyond doubt; grey: may go either way. Computed.",
        alt=f"Gains of {len(shown)} changes as marks with ranges, the best first: {best}.",
        width=6.0,
        height=1.1 + 0.26 * len(shown),
        margins=(2.6, 0.3, 0.55, 0.2),
        draw=draw,
    )


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]


def draw_torque_over_speed(comparison: Comparison, axes: Axes) -> None:
    """Draw the torque at the shaft of every candidate, and the load's where it is the same."""
    for place, one in enumerate(comparison.candidates):
        curves = one.curves
        label = f"{_LETTERS[place % 26]}  {_short(one.title, _LONGEST_LEGEND)}"
        axes.plot(
            curves.speed_rpm,
            1e3 * curves.torque_Nm,
            label=label,
            **_STYLES[place % len(_STYLES)],  # type: ignore[arg-type]  # words of matplotlib
        )
        _name(axes, curves.speed_rpm, 1e3 * curves.torque_Nm, place)
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
        _name(axes, curves.speed_rpm, curves.shaft_power_W, place)
    axes.set(xlabel="speed, rpm", ylabel="shaft power, W")
    axes.set_xlim(left=0)
    axes.set_ylim(bottom=0)


def draw_seconds_over_power(comparison: Comparison, axes: Axes) -> None:
    """Draw the seconds until the core is soft over the shaft power that is held."""
    for place, one in enumerate(comparison.candidates):
        curves = one.curves
        if curves.held_power_W.size:
            axes.plot(
                curves.held_power_W,
                curves.seconds_to_soften,
                marker=".",
                **_STYLES[place % len(_STYLES)],  # type: ignore[arg-type]
            )
            letter = _LETTERS[place % 26]
            axes.annotate(letter, (curves.held_power_W[0], curves.seconds_to_soften[0]))
    axes.set(xlabel="shaft power held from cold, W", ylabel="seconds until soft")
    axes.set_yscale("log")
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: digits(value)))
    axes.yaxis.set_minor_formatter(NullFormatter())
    axes.set_xlim(left=0)


def _name(axes: Axes, x: FloatArray, y: FloatArray, place: int) -> None:
    """Write a curve's letter on its fall, that of each candidate further down than the last."""
    if len(y):
        height = (1 - _DOWN - _FURTHER * (place % _DISTINCT)) * y.max()
        falling = np.arange(y.size) >= int(np.argmax(y))
        at = int(np.argmin(np.where(falling, np.abs(y - height), np.inf)))
        axes.annotate(
            _LETTERS[place % 26], (float(x[at]), float(y[at])), xytext=(4, 3),
            textcoords="offset points",
        )  # fmt: skip


def _short(title: str, most: int) -> str:
    shown = title if len(title) <= most else f"{title[: most - 1]}…"
    return shown.replace("$", r"\$")


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
    axes.set_yticks(range(len(shown)), [_short(one.title, _LONGEST_TITLE) for one in shown])
    axes.invert_yaxis()
    if shown and 1 + (shown[0].high or 0.0) > 4:  # noqa: PLR2004  (a linear axis would hide the small ones)
        axes.set_xscale("log")
        axes.xaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
        axes.xaxis.set_major_formatter(FuncFormatter(lambda times, _: f"×{times:g}"))
        axes.xaxis.set_minor_formatter(NullFormatter())
    axes.set_xlabel("times the design as it is (point: likely, line: range)")
