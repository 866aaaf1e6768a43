"""Torque and power over speed, turns, current density, flights, maps: drawn into axes given."""

from collections.abc import Mapping, Sequence

import numpy as np
from matplotlib.axes import Axes
from scipy.interpolate import PchipInterpolator

from fem_motor.arrays import FloatArray
from fem_motor.numbers import digits, scale_of
from fem_motor.powered import WindingToLoad
from fem_motor.throttle import Flight, SpeedCurve, SpeedMap, Throttles

_FEWEST_TICKS = 3
"""With fewer a scale cannot be read."""

# Told apart without colour: by line style, marker and words.
_DARK = {"color": "#0b3c6f", "linestyle": "-", "marker": "o", "markersize": 3}
_WARM = {"color": "#c8500a", "linestyle": "--", "marker": "s", "markersize": 3}
_CALM = {"color": "#2f8f5b", "linestyle": "-.", "marker": "^", "markersize": 4}
_PLAIN = {"color": "#555555", "linestyle": ":", "marker": "", "linewidth": 1.8}
_PARTS = (
    {"color": "#c8500a", "linestyle": "-"},
    {"color": "#0b3c6f", "linestyle": "--"},
    {"color": "#2f8f5b", "linestyle": "-."},
    {"color": "#6d4a8f", "linestyle": ":"},
    {"color": "#555555", "linestyle": (0, (6, 2, 1, 2, 1, 2))},
)
_SPEED = "speed, rpm"
_LEVELS = 0.1
_MINUTES_FROM_S = 600


def draw_speed_torque(curve: SpeedCurve, axes: Axes) -> None:
    """Draw torque at full throttle, the load's line, and the area that heat allows for good."""
    largest = float(curve.torque_Nm.max(initial=0.0))
    factor, unit = scale_of(largest, "N m")
    speed = curve.speed_rpm
    _bent(axes, speed, curve.torque_Nm / factor, "full throttle", _DARK)
    if curve.continuous_torque_Nm.size:
        held = np.minimum(curve.continuous_torque_Nm, curve.torque_Nm) / factor
        axes.fill_between(
            speed, 0, held, facecolor="#cfe3d6", edgecolor="#2f8f5b", hatch="...", linewidth=0.0
        )
        _bent(axes, speed, held, "held for good", _CALM)
    if curve.load_torque_Nm.size:
        fine = np.linspace(0, float(speed[-1]), 200)
        line = _smooth(speed, curve.load_torque_Nm, fine)
        kept = line <= 1.1 * largest
        axes.plot(fine[kept], line[kept] / factor, label="load", **_PLAIN)  # type: ignore[arg-type]
    axes.set(ylabel=f"torque at the shaft, {unit}")
    axes.set_xlim(0, float(speed[-1]))
    axes.set_ylim(0, 1.12 * largest / factor or 1.0)
    _legend_above(axes)


def _bent(
    axes: Axes, at: FloatArray, values: FloatArray, label: str, style: Mapping[str, object]
) -> None:
    """Draw a curve that bends between its computed points, which have the markers."""
    fine = np.union1d(np.linspace(at[0], at[-1], 200), at)
    marks = np.searchsorted(fine, at).tolist()
    axes.plot(fine, _smooth(at, values, fine), label=label, markevery=marks, **style)  # type: ignore[arg-type]


def _smooth(at: FloatArray, values: FloatArray, fine: FloatArray) -> FloatArray:
    """Return a load's torque at the speeds `fine`, bent as its values at the speeds `at` say."""
    return np.asarray(PchipInterpolator(at, values)(fine))


def draw_speed_power(curve: SpeedCurve, axes: Axes) -> None:
    """Draw shaft power at full throttle, and efficiency in per cent, over speed."""
    _bent(axes, curve.speed_rpm, curve.shaft_power_W, "shaft power, W", _DARK)
    axes.set(xlabel=_SPEED, ylabel="shaft power, W")
    right = axes.twinx()
    _bent(right, curve.speed_rpm, 100 * curve.efficiency, "efficiency, % (right)", _WARM)
    right.set_ylabel("efficiency, %")
    right.set_ylim(0, 100)
    right.grid(visible=False)
    axes.set_xlim(0, float(curve.speed_rpm[-1]))
    axes.set_ylim(bottom=0)
    lines = [*axes.get_lines(), *right.get_lines()]
    axes.legend(
        lines, [str(line.get_label()) for line in lines],
        loc="lower left", bbox_to_anchor=(0, 1.0), ncols=2, handlelength=3.5,
    )  # fmt: skip


def draw_turns(turns: WindingToLoad, axes: Axes) -> None:
    """Draw power at full throttle and for good, and supply current, against turns."""
    rows = turns.rows
    at = [row.turns for row in rows]
    full = [row.load_shaft_power_W or 0.0 for row in rows]
    held = [row.lasting for row in rows]
    current = [row.load_supply_current_A or 0.0 for row in rows]
    axes.plot(at, full, label="full throttle, W", **_DARK)  # type: ignore[arg-type]
    axes.plot(at, held, label="for good, W", **_CALM)  # type: ignore[arg-type]
    axes.set_yscale("log")
    right = axes.twinx()
    right.plot(at, current, label="supply current, A (right)", **_WARM)  # type: ignore[arg-type]
    right.set_ylabel("supply current at full throttle, A")
    right.set_ylim(bottom=0)
    right.grid(visible=False)
    axes.set(xlabel="turns of a coil, at the copper of the design", ylabel="shaft power, W")
    _plain_watts(axes, [*full, *held])
    middle = sum(axes.get_xlim()) / 2
    for row, words, down in ((turns.designed, "design", 0.0), (turns.best, "best", 0.09)):
        if row is not None:
            # The curves fall to the right: free places are below on the left, above on the right.
            is_left = row.turns < middle
            axes.axvline(row.turns, color="#222222", linewidth=0.8, linestyle=":")
            axes.annotate(
                f"{words}: {row.turns}", (row.turns, 0.03 + down if is_left else 0.92 - down),
                xycoords=("data", "axes fraction"), xytext=(3 if is_left else -3, 0),
                textcoords="offset points", fontsize=8, ha="left" if is_left else "right",
            )  # fmt: skip
    lines = [*axes.get_lines()[:2], *right.get_lines()]
    axes.legend(
        lines, [str(line.get_label()) for line in lines],
        loc="lower left", bbox_to_anchor=(0, 1.0), ncols=2, handlelength=3.0, columnspacing=1.0,
    )  # fmt: skip


def _plain_watts(axes: Axes, values: list[float]) -> None:
    """Label a logarithmic axis of watts with 1, 2, 5, 10 … instead of powers of ten."""
    known = [value for value in values if value > 0]
    if not known:
        axes.set_yscale("linear")
        return
    ticks = [step * 10.0**power for power in range(-3, 7) for step in (1, 2, 5)]
    low, high = 0.7 * min(known), 1.4 * max(known)
    shown = [tick for tick in ticks if low <= tick <= high]
    axes.set_ylim(low, high)
    axes.set_yticks(shown, [digits(tick, 3) for tick in shown])
    axes.set_yticks([], minor=True)


def draw_density(throttles: Throttles, axes: Axes) -> None:
    """Draw the seconds until the first limit against current density, with their range."""
    rows = throttles.density.rows
    at = np.array([row.density_A_per_mm2 for row in rows])
    seconds = np.array([row.seconds.value or 0.0 for row in rows])
    low = np.array([row.seconds.low or row.seconds.value or 0.0 for row in rows])
    high = np.array([row.seconds.high or row.seconds.value or 0.0 for row in rows])
    axes.fill_between(at, low, high, color="#c9d6e6", label="range of films and contacts")
    axes.loglog(at, seconds, label="from cold until the first limit", **_DARK)
    lasting = throttles.density.lasting_A_per_mm2
    if lasting is not None:
        axes.axvline(lasting, color="#2f8f5b", linestyle="-.", linewidth=1.2)
        axes.annotate(
            f"for good: {digits(lasting, 2)} A/mm²", (lasting, 0.05),
            xycoords=("data", "axes fraction"), xytext=(4, 0), textcoords="offset points",
            fontsize=8,
        )  # fmt: skip
    for row in throttles.rows:
        if row.current_density_A_per_mm2 is not None and row.seconds_to_limit is not None:
            place = (row.current_density_A_per_mm2, row.seconds_to_limit)
            axes.plot(*place, marker="D", color="#c8500a", markersize=5, linestyle="")
            axes.annotate(
                f"throttle {100 * row.throttle:.0f} %", place,
                xytext=(6, 4), textcoords="offset points", fontsize=8,
            )  # fmt: skip
    for name, few, many in (
        (
            "x",
            (2, 3, 5, 10, 20, 30, 50),
            (2, 2.5, 3, 4, 5, 6, 8, 10, 12, 15, 18, 20, 22, 25, 28, 30, 35, 40, 50),
        ),
        ("y", (1, 10, 30, 60, 120, 300, 600, 1800), (1, 2, 5, 10, 20, 30, 60, 90, 120, 180, 300)),
    ):
        ends = getattr(axes, f"get_{name}lim")()
        shown = _within(few, ends)
        shown = _within(many, ends) if len(shown) < _FEWEST_TICKS else shown
        getattr(axes, f"set_{name}ticks")(shown, [f"{tick:g}" for tick in shown])
        getattr(axes, f"set_{name}ticks")([], minor=True)
    axes.set(xlabel="current density in the copper, RMS, A/mm²", ylabel="seconds")
    _legend_above(axes, columns=1)


def _within(ticks: Sequence[float], ends: tuple[float, float]) -> list[float]:
    return [tick for tick in ticks if ends[0] <= tick <= ends[1]]


def draw_flight(flight: Flight, above: Axes, below: Axes) -> None:
    """Draw the temperatures over a profile, and the throttle under them."""
    scale, unit = (60.0, "min") if flight.time_s[-1] > _MINUTES_FROM_S else (1.0, "s")
    time = flight.time_s / scale
    shown = [part for part in ("copper", "slot walls", "teeth", "magnets", "housing")
             if part in flight.temperatures_C]  # fmt: skip
    for part, style in zip(shown, _PARTS, strict=False):
        above.plot(time, flight.temperatures_C[part], label=part, **style)  # type: ignore[arg-type]
    if flight.first_part is not None and flight.first_s is not None:
        limit = flight.limits_C[flight.first_part]
        above.plot(flight.first_s / scale, limit, marker="X", color="black", linestyle="")
        above.annotate(
            f"{flight.first_part}: {digits(limit, 3)} °C after {digits(flight.first_s, 3)} s",
            (flight.first_s / scale, limit), xytext=(6, -12), textcoords="offset points",
            fontsize=8,
        )  # fmt: skip
    above.set(ylabel="temperature, °C")
    above.legend(
        loc="lower left", bbox_to_anchor=(0, 1.0), ncols=3, handlelength=2.5, columnspacing=1.0,
        fontsize=8,
    )  # fmt: skip
    below.step(time, 100 * flight.throttle, where="post", color="#222222", label="throttle, %")
    below.fill_between(time, 0, 100 * flight.throttle, step="post", color="#d9d9d9")
    below.set(xlabel=f"time, {unit}", ylabel="throttle, %", ylim=(0, 105))
    for axes in (above, below):
        axes.set_xlim(0, float(time[-1]))


def draw_speed_map(grid: SpeedMap, axes: Axes) -> None:
    """Draw efficiency over speed and torque, and the edge of what can be held for good."""
    factor, unit = scale_of(float(grid.torque_Nm.max()), "N m")
    torque = grid.torque_Nm / factor
    values = np.ma.masked_where(grid.is_reached < 1, 100 * grid.efficiency).T
    filled = axes.contourf(
        grid.speed_rpm, torque, values, levels=np.arange(0, 101, 100 * _LEVELS), cmap="cividis"
    )
    lines = axes.contour(
        grid.speed_rpm, torque, values, levels=filled.levels, colors="black", linewidths=0.5
    )
    for label in axes.clabel(
        lines, np.asarray(filled.levels)[::2], fmt="%.0f %%", fontsize=8, colors="black"
    ):
        label.set_bbox({"facecolor": "white", "edgecolor": "none", "pad": 1.0, "alpha": 0.85})
    # The edge of what lasts, black on white so that it stands out on dark and bright tones alike.
    held = np.ma.masked_where(grid.is_reached < 1, grid.holds_for_good).T
    if 0 < grid.holds_for_good.sum() < grid.is_reached.sum():
        for color, width, style in (("white", 3.5, "solid"), ("black", 1.5, "dashed")):
            axes.contour(
                grid.speed_rpm, torque, held, levels=[0.5],
                colors=color, linewidths=width, linestyles=style,
            )  # fmt: skip
    axes.plot(
        grid.best_speed_rpm, grid.best_torque_Nm / factor, marker="*", color="white",
        markeredgecolor="black", markersize=10, linestyle="",
    )  # fmt: skip
    axes.set(xlabel=_SPEED, ylabel=f"torque at the shaft, {unit}")
    axes.set_xlim(left=0)
    axes.set_ylim(bottom=0)
    axes.grid(visible=False)


def _legend_above(axes: Axes, *, columns: int = 3) -> None:
    axes.legend(
        loc="lower left",
        bbox_to_anchor=(0, 1.0),
        ncols=columns,
        handlelength=3.0,
        columnspacing=1.0,
    )
