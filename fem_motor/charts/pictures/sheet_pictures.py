"""The pictures of a performance sheet: a table, one line for each."""

from collections.abc import Callable

from fem_motor.charts import canvas
from fem_motor.charts.drawing.curves import (
    draw_back_emf,
    draw_gap_field,
    draw_spectrum,
    draw_torque,
)
from fem_motor.charts.drawing.flux_map import draw_flux_map
from fem_motor.charts.drawing.heat import draw_heat
from fem_motor.charts.drawing.ripple import draw_ripple, limit_words, ripple_of_sheet
from fem_motor.charts.drawing.section_drawing import draw_borders, draw_detail, draw_section
from fem_motor.charts.drawing.shapes import design_of
from fem_motor.charts.picture import Picture
from fem_motor.charts.pictures.current_pictures import (
    inductance_picture,
    magnets_picture,
    probe_picture,
    waveforms_picture,
)
from fem_motor.charts.pictures.power_pictures import (
    efficiency_picture,
    profile_picture,
    seconds_picture,
    speeds_picture,
    turns_picture,
)
from fem_motor.charts.pictures.turning import turning_picture
from fem_motor.design import MotorDesign
from fem_motor.numbers import digits, quantity
from fem_motor.performance import PerformanceSheet
from fem_motor.units import MM


def section_picture(design: MotorDesign) -> Picture:
    """Return the whole section with its parts named."""
    stator, rotor = design.motor.stator, design.motor.rotor

    def draw(frame: canvas.Frame) -> None:
        draw_section(design, *frame.subplots())

    return Picture(
        name="section",
        topic="machine",
        title="Section",
        caption="The machine as designed, rotor at 0: pole 1, its north face towards the "
        "shaft, stands over tooth 1 on the right. Arrows: magnetisation. Letters: phases.",
        alt=f"Drawing of the whole section: stator core of {stator.slots} teeth with coils inside, "
        f"{rotor.poles} magnet poles and a housing of "
        f"{digits(2 * rotor.housing_outer_radius / MM)} mm outside, parts named.",
        height=3.6,
        draw=draw,
    )


def detail_picture(design: MotorDesign) -> Picture:
    """Return one tooth and one magnet with the main dimensions."""
    motor = design.motor

    def draw(frame: canvas.Frame) -> None:
        draw_detail(design, *frame.subplots())

    return Picture(
        name="detail",
        topic="machine",
        title="One tooth and one magnet",
        caption="Main dimensions in mm, from the design file and what follows from it.",
        alt="Enlarged drawing of tooth 1 and the magnet over it with their dimensions: tooth "
        f"{digits(motor.stator.tooth_width / MM)} mm wide, slot opening "
        f"{digits(motor.stator.slot_opening / MM)} mm, air gap {digits(motor.air_gap / MM)} mm, "
        f"magnet {digits(motor.rotor.magnet_thickness / MM)} mm thick.",
        height=3.4,
        margins=(0.3, 0.3, 0.65, 0.5),
        draw=draw,
    )


def _section(sheet: PerformanceSheet) -> Picture:
    return section_picture(design_of(sheet.design))


def _detail(sheet: PerformanceSheet) -> Picture:
    return detail_picture(design_of(sheet.design))


def _flux_map(sheet: PerformanceSheet) -> Picture:
    fields, design = sheet.no_load, design_of(sheet.design)

    def draw(frame: canvas.Frame) -> None:
        (axes,) = frame.subplots()
        draw_flux_map(sheet.field_map, axes)
        draw_borders(design, axes)

    return Picture(
        name="flux_map",
        topic="field",
        title="Field without current",
        caption="Tones: flux density |B|. Lines: flux lines; equal flux runs between "
        "neighbours. Computed in 2-D at 20 °C, no current, rotor at 0. The scale ends where "
        "99.5 % of the area lies below.",
        alt="Map of the flux density over the section with flux lines; largest mean in the "
        f"teeth {quantity(fields.tooth_flux_density_T, 'T', count=3)}, "
        f"in the yoke {quantity(fields.yoke_flux_density_T, 'T', count=3)}.",
        height=4.3,
        page_form="png",
        draw=draw,
    )


def _gap_field(sheet: PerformanceSheet) -> Picture:
    fields = sheet.no_load
    peak = quantity(float(abs(fields.gap_flux_density_T).max(initial=0.0)), "T", count=3)

    def draw(frame: canvas.Frame) -> None:
        draw_gap_field(fields, *frame.subplots())

    return Picture(
        name="gap_field",
        topic="field",
        title="Field in the air gap",
        caption="Radial flux density in the middle of the air gap, outward positive, once "
        "around. Computed in 2-D at 20 °C, no current, rotor at 0.",
        alt=f"Curve of the radial flux density around the gap, at most {peak}.",
        height=2.5,
        draw=draw,
    )


def _back_emf(sheet: PerformanceSheet) -> Picture:
    fields = sheet.no_load
    phase, line = (digits(100 * thd, 3) for thd in (fields.back_emf_thd, fields.back_emf_line_thd))

    def draw(frame: canvas.Frame) -> None:
        above, below = frame.subplots((1.4, 1.0))
        draw_back_emf(fields, above)
        draw_spectrum(fields, below)

    return Picture(
        name="back_emf",
        topic="no load",
        title="Back-EMF",
        caption="Above: the three phases over one electrical period, volts for each rad/s of "
        "the rotor. Below: their harmonics; those of order 3, 9, 15 … are gone between two "
        "lines. Computed in 2-D at 20 °C, without end factor.",
        alt=f"Curves of the back-EMF of phases U, V, W; harmonics {phase} % of the "
        f"fundamental in a phase, {line} % line to line.",
        height=4.4,
        draw=draw,
    )


def _cogging(sheet: PerformanceSheet) -> Picture:
    fields = sheet.no_load
    swing = quantity(fields.cogging_peak_to_peak_Nm, "N m", count=3)
    period = quantity(fields.cogging_period_deg, "°")

    def draw(frame: canvas.Frame) -> None:
        draw_torque(fields, *frame.subplots())

    return Picture(
        name="cogging",
        topic="no load",
        title="Cogging",
        caption="Torque on the rotor without current, counter-clockwise positive; a few of "
        "its periods. Dots: computed positions. 2-D, 20 °C.",
        alt=f"Curve of the cogging torque over rotor angle: {swing} peak to peak, repeating "
        f"every {period}.",
        height=2.5,
        draw=draw,
    )


def _heat(sheet: PerformanceSheet) -> Picture | None:
    """Return the temperatures over time, where the design has a load."""
    heat = sheet.thermal
    if not heat.history_time_s.size:
        return None
    soft = heat.seconds_to_soften_core
    when = "it never does" if soft is None else f"it does after {digits(soft, 3)} s"

    def draw(frame: canvas.Frame) -> None:
        draw_heat(heat, *frame.subplots())

    return Picture(
        name="heat",
        topic="heat",
        title="Temperatures at full throttle from cold",
        caption="Computed by a network of heat paths from the losses at the load point; the "
        "spread of films and contacts stands at the answers, assumptions in the checks.",
        alt="Curves of the temperature of the parts over time, and of when the core "
        f"softens: {when}.",
        height=3.3,
        margins=(0.8, 0.2, 0.5, 0.55),
        draw=draw,
    )


def _ripple(sheet: PerformanceSheet) -> Picture:
    ripple, curve = ripple_of_sheet(sheet), sheet.loaded.rated
    computed = (
        f"Computed: 2-D section, magnets at 20 °C, quality {sheet.quality}; {curve.waveform} "
        f"currents turning with the rotor, {quantity(curve.line_current_A, 'A', count=3)} peak in "
        f"the line, current angle {digits(curve.current_angle_deg, 3)}° electrical"
    )
    limit = "" if ripple.limit is None else f" {limit_words(ripple.limit).capitalize()}."

    def draw(frame: canvas.Frame) -> None:
        above, below = frame.subplots((1.3, 1.0))
        draw_ripple(ripple, above, below)

    return Picture(
        name="ripple",
        topic="with current",
        title="Torque ripple at the rated current",
        caption=f"Above: torque over one period of the ripple, {ripple.sentence}; dashed: the "
        f"mean.{limit} Below: its spectrum, bars labelled in per cent of the mean. {computed}; "
        "the part of the magnets has the end factor.",
        alt=f"Curve of the torque at the rated current over rotor angle, {ripple.sentence}, and "
        "the spectrum of its ripple by order.",
        height=4.2,
        margins=(0.8, 0.2, 0.65, 0.3),
        draw=draw,
    )


SHEET_PICTURES: tuple[Callable[[PerformanceSheet], Picture | None], ...] = (
    _section,
    _detail,
    _flux_map,
    turning_picture,
    _gap_field,
    _back_emf,
    _cogging,
    _ripple,
    inductance_picture,
    magnets_picture,
    probe_picture,
    waveforms_picture,
    speeds_picture,
    turns_picture,
    efficiency_picture,
    _heat,
    seconds_picture,
    profile_picture,
)
"""All pictures of a sheet in the order of the report; a function gives None where its picture does
not apply. Within the document they stand under their topic."""


def sheet_pictures(sheet: PerformanceSheet) -> tuple[Picture, ...]:
    """Return the pictures of a performance sheet in the order of the report."""
    found = (picture(sheet) for picture in SHEET_PICTURES)
    return tuple(picture for picture in found if picture is not None)
