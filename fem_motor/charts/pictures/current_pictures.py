"""What currents do, in pictures: inductance, waveforms at the load, magnets near their knee."""

from typing import Any

import numpy as np
from matplotlib.axes import Axes

from fem_motor.charts import canvas
from fem_motor.charts.drawing.flux_map import draw_tones
from fem_motor.charts.picture import Picture
from fem_motor.loading import DemagnetisationMap
from fem_motor.numbers import digits, quantity
from fem_motor.performance import PerformanceSheet
from fem_motor.units import MM

_STYLES: tuple[dict[str, Any], ...] = (
    {"color": "#0b3c6f", "linestyle": "-"},
    {"color": "#c8500a", "linestyle": "--"},
    {"color": "#2f8f5b", "linestyle": "-."},
)
_PAIRS, _PHASES = ("U-V", "V-W", "W-U"), ("U", "V", "W")
_MICRO = 1e-6
_SAME_WITHIN = 0.01
"""Part of itself by which an inductance changes over an angle without a curve being drawn."""


def draw_inductance(sheet: PerformanceSheet, above: Axes, below: Axes) -> None:
    """Draw what a meter reads line to line over rotor angle, and self and mutual inductance."""
    found = sheet.inductance
    for values, name, style in zip(found.line_line_H, _PAIRS, _STYLES, strict=True):
        above.plot(found.angle_deg, values / _MICRO, label=name, **style)
    for values, name, style in zip(found.self_H, _PHASES, _STYLES, strict=True):
        below.plot(found.angle_deg, values / _MICRO, label=name, **style)
    for values, name, style in zip(found.mutual_H, _PAIRS, _STYLES, strict=True):
        below.plot(found.angle_deg, values / _MICRO, label=name, linewidth=0.9, **style)
    above.set(ylabel="line to line, µH", ylim=(0, 1.3 * float(found.line_line_H.max()) / _MICRO))
    below.set(ylabel="phase; between two, µH", xlabel="rotor angle, mechanical, °")
    below.axhline(0, color="black", linewidth=0.6)
    for axes in (above, below):
        axes.set_xlim(float(found.angle_deg[0]), float(found.angle_deg[-1]))
        axes.legend(loc="center right", ncols=2, fontsize=8)


def draw_waveforms(sheet: PerformanceSheet, above: Axes, below: Axes) -> None:
    """Draw the currents of the lines, and voltage and back-EMF between two leads."""
    waves = sheet.waveforms
    if waves is None:
        return
    for values, name, style in zip(waves.line_current_A, _PHASES, _STYLES, strict=True):
        above.plot(waves.angle_deg, values, label=f"line {name}", **style)
    below.plot(waves.angle_deg, waves.line_voltage_V[0], color="#0b3c6f", label="voltage U-V")
    below.plot(
        waves.angle_deg, waves.line_back_emf_V[0], color="#c8500a", linestyle="--",
        label="back-EMF U-V",
    )  # fmt: skip
    above.set(ylabel="current, A")
    below.set(ylabel="voltage, V", xlabel="rotor angle, electrical, °")
    for axes in (above, below):
        axes.axhline(0, color="black", linewidth=0.6)
        axes.set_xlim(0, 360)
        axes.set_xticks(range(0, 361, 60))
        low, high = axes.get_ylim()
        axes.set_ylim(low, high + 0.25 * (high - low))  # room for the names
        axes.legend(loc="upper right", ncols=3, fontsize=8)


def draw_magnets_margin(magnets: DemagnetisationMap, axes: Axes) -> None:
    """Draw the magnets by how far they stay from their knee; where that is not known, by B."""
    values = magnets.flux_density if magnets.margin is None else magnets.margin
    label = "flux density along the magnetisation, T"
    if magnets.margin is not None:
        label = "margin over the knee, T"
    drawn = draw_tones(magnets.points, magnets.triangles, values, axes)
    bar = axes.figure.colorbar(drawn, ax=axes, shrink=0.85)
    bar.set_label(label)
    middle = magnets.points[:, magnets.triangles[:, int(np.argmin(values))]].mean(axis=1) / MM
    axes.plot(*middle, marker="o", markersize=9, fillstyle="none", color="black")
    axes.set_aspect("equal")
    axes.set(xlabel="x, mm", ylabel="y, mm")


def draw_probe(sheet: PerformanceSheet, axes: Axes) -> None:
    """Draw the radial field that a probe or a viewing film meets around the machine."""
    found = sheet.as_built
    if found is None:
        return
    axes.plot(found.probe_angle_deg, np.abs(found.probe_gap_T), color="#0b3c6f", label="mid-gap")
    if found.probe_outside_T is not None:
        axes.plot(
            found.probe_angle_deg, np.abs(found.probe_outside_T), color="#c8500a", linestyle="--",
            label=f"{digits(found.probe_distance_mm)} mm off the housing",
        )  # fmt: skip
    axes.set(xlabel="angle around, rotor at 0, °", ylabel="|B radial|, T", xlim=(0, 360))
    axes.set_ylim(0, 1.2 * axes.get_ylim()[1])
    axes.legend(loc="upper right", ncols=2, fontsize=8)


def inductance_picture(sheet: PerformanceSheet) -> Picture | None:
    """Return inductances over rotor angle; None where a table says as much, as they stay."""
    found = sheet.inductance
    if np.ptp(found.line_line_H) < _SAME_WITHIN * np.max(found.line_line_H):
        return None

    def draw(frame: canvas.Frame) -> None:
        draw_inductance(sheet, *frame.subplots((1.0, 1.0)))

    low, high = (quantity(float(one), "H", count=3)
                 for one in (found.line_line_H.min(), found.line_line_H.max()))  # fmt: skip
    return Picture(
        name="inductance",
        topic="with current",
        title="Inductance over rotor angle",
        caption="Above: between two leads, the third open. Below: of each phase, and between two "
        "(thin). Computed in 2-D at 20 °C for small changes without current; the end turns' "
        "estimate is in it.",
        alt=f"Curves over rotor angle; line to line {low} to {high}.",
        height=4.0,
        draw=draw,
    )


def waveforms_picture(sheet: PerformanceSheet) -> Picture | None:
    """Return currents and voltages over an electrical period; None without such a point."""
    waves = sheet.waveforms
    if waves is None:
        return None

    def draw(frame: canvas.Frame) -> None:
        draw_waveforms(sheet, *frame.subplots((1.0, 1.0)))

    return Picture(
        name="waveforms",
        topic="drive",
        title=f"Currents and voltage, {waves.name}",
        caption="One electrical period, full throttle, copper and magnets at 20 °C; computed, the "
        "controller's pulses averaged out. Mean torque "
        f"{quantity(waves.mean_torque_Nm, 'N m', count=3)}; V = I R + ω/Kv would say "
        f"{quantity(waves.first_order_torque_Nm, 'N m', count=3)}.",
        alt="Curves of the three line currents, peak "
        f"{quantity(float(np.abs(waves.line_current_A).max()), 'A', count=3)}, and of voltage and "
        "back-EMF between two leads, the latter at most "
        f"{quantity(float(np.abs(waves.line_back_emf_V).max()), 'V', count=3)}.",
        height=4.0,
        draw=draw,
    )


def magnets_picture(sheet: PerformanceSheet) -> Picture:
    """Return the worst case of the magnets."""
    magnets, margins = sheet.magnets_map, sheet.loaded.demagnetisation_margin_T

    def draw(frame: canvas.Frame) -> None:
        draw_magnets_margin(magnets, *frame.subplots())

    told = "" if margins is None else (
        f" Margins: hot {quantity(margins['hot'], 'T', count=3)}, "
        f"cold {quantity(margins['cold'], 'T', count=3)}; the checks say what to change."
    )  # fmt: skip
    return Picture(
        name="demagnetisation",
        topic="with current",
        title="How near the magnets come to losing strength",
        caption=f"The worst case looked at: magnets at {digits(magnets.temperature_C)} °C, rotor "
        "as drawn, the largest current held against them. The ring marks the lowest element; "
        f"computed in 2-D.{told}",
        alt="Map of the magnets by their margin over the knee of their law at "
        f"{digits(magnets.temperature_C)} °C.{told}",
        height=4.2,
        page_form="png",
        draw=draw,
    )


def probe_picture(sheet: PerformanceSheet) -> Picture | None:
    """Return what a probe meets around a motor with a defect; None as designed."""
    found = sheet.as_built
    if found is None:
        return None

    def draw(frame: canvas.Frame) -> None:
        draw_probe(sheet, *frame.subplots())

    odd = ", ".join(map(str, found.odd_magnets))
    words = f"Odd: magnet {odd}." if odd else "No magnet stands out."
    return Picture(
        name="probe",
        topic="no load",
        title="What a probe or a viewing film shows",
        caption=f"Size of the radial field around the motor as built, rotor at 0, no current; "
        f"computed in 2-D at 20 °C. {words}",
        alt=f"Curves of the radial flux density over the angle around. {words}",
        height=3.0,
        draw=draw,
    )
