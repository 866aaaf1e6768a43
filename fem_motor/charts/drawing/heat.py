"""Temperatures over time, drawn into axes that are given."""

from matplotlib.axes import Axes

from fem_motor.numbers import digits
from fem_motor.performance import Thermal

# Told apart without colour: by line style and by the name at the end of the line.
STYLES = (
    {"color": "#c8500a", "linestyle": "-"},
    {"color": "#0b3c6f", "linestyle": "--"},
    {"color": "#2f8f5b", "linestyle": "-."},
    {"color": "#6d4a8f", "linestyle": ":"},
    {"color": "#555555", "linestyle": (0, (6, 2, 1, 2, 1, 2))},
    {"color": "#8a6d00", "linestyle": (0, (1, 1))},
)
_HANDLE = 4.0
"""Heights of a letter: room for a whole pattern, which alone tells parts apart on grey paper."""
_MINUTE_AXIS_FROM_S = 600
_HOTTEST_SHOWN_C = 250.0


def draw_heat(heat: Thermal, axes: Axes) -> None:
    """Draw the temperature of the parts from cold, and where the core softens."""
    minutes = heat.history_time_s[-1] > _MINUTE_AXIS_FROM_S
    scale, unit = (60.0, "min") if minutes else (1.0, "s")
    time = heat.history_time_s / scale
    for (part, values), style in zip(heat.history_C.items(), STYLES, strict=False):
        axes.plot(time, values, label=part, **style)  # type: ignore[arg-type]
    if heat.softening_C is not None:
        axes.axhline(heat.softening_C, color="#222222", linewidth=0.8)
        axes.annotate(
            f"core softens, {digits(heat.softening_C, 3)} °C",
            (time[-1], heat.softening_C), xytext=(-4, 3), textcoords="offset points",
            ha="right", va="bottom", fontsize=8,
        )  # fmt: skip
    soft = heat.seconds_to_soften_core
    if soft is not None and soft <= heat.history_time_s[-1]:
        axes.axvline(soft / scale, color="#222222", linewidth=0.8, linestyle=":")
    top = max(float(values.max()) for values in heat.history_C.values())
    if top > _HOTTEST_SHOWN_C:
        axes.set_ylim(top=_HOTTEST_SHOWN_C)
    axes.set(xlabel=f"time at full throttle, {unit}", ylabel="temperature, °C")
    axes.set_xlim(0, time[-1])
    axes.legend(
        loc="lower left", bbox_to_anchor=(0, 1.0), ncols=3, fontsize=8, handlelength=_HANDLE
    )
