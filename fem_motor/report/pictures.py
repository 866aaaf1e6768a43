"""The pictures of a report: what each shows, its words, and how it is drawn and saved."""

import textwrap
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from fem_motor.design import MotorDesign
from fem_motor.performance import PerformanceSheet
from fem_motor.quantities import RotorSweep
from fem_motor.report import canvas
from fem_motor.report.curves import (
    draw_back_emf,
    draw_flux_linkage,
    draw_gap_field,
    draw_spectrum,
    draw_torque,
)
from fem_motor.report.flux_map import draw_flux_map
from fem_motor.report.heat import draw_heat
from fem_motor.report.numbers import digits, quantity
from fem_motor.report.results import SweepSetting
from fem_motor.report.ripple import (
    draw_ripple,
    is_held,
    ripple_of_sheet,
    ripple_of_sweep,
    turns,
)
from fem_motor.report.section_drawing import draw_borders, draw_detail, draw_section
from fem_motor.report.shapes import design_of
from fem_motor.report.sweep_words import currents_in_words

_DOTS_PER_INCH = 160
# Margins of a picture with a few lines of words over it, inches.
_TITLE_LETTERS = 58
_HEADED = (0.8, 0.2, 0.65, 0.95)


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """One picture, not yet drawn.

    Attributes
    ----------
    name : str
        Its file's name without ending.
    title, caption, alt : str
        Caption: what it shows, and what was computed or assumed. Alt: the same for those who
        cannot see it, with the main numbers.
    width, height : float
        Inches.
    margins : (left, right, bottom, top)
        Inches around the axes, for labels.
    page_form : "svg" or "png"
        How it stands in the page: lines as SVG, maps of many thousand triangles as PNG.
    draw : callable
        Draws it into a frame.
    """

    name: str
    title: str
    caption: str
    alt: str
    width: float = 7.0
    height: float
    margins: tuple[float, float, float, float] = (0.8, 0.2, 0.5, 0.3)
    page_form: Literal["svg", "png"] = "svg"
    draw: Callable[[canvas.Frame], None]

    def draw_into(self, figure: Figure, *, left: float = 0.0, bottom: float = 0.0) -> None:
        """Draw it with its lower left corner at this place (inches) of a figure."""
        self.draw(
            canvas.Frame(
                figure=figure,
                left=left,
                bottom=bottom,
                width=self.width,
                height=self.height,
                margins=self.margins,
            )
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Rendered:
    """One picture as bytes: `png` for the folder, `embedded` for the page."""

    name: str
    title: str
    caption: str
    alt: str
    png: bytes
    embedded: bytes
    embedded_kind: str
    width_px: int
    height_px: int


def render(picture: Picture) -> Rendered:
    """Return the picture drawn in the house style; the same bytes each time."""
    with canvas.house_style():
        figure = canvas.new_figure(picture.width, picture.height)
        picture.draw_into(figure)
        png = canvas.png_bytes(figure)
        is_map = picture.page_form == "png"
        embedded = png if is_map else canvas.svg_bytes(figure)
    return Rendered(
        name=picture.name,
        title=picture.title,
        caption=picture.caption,
        alt=picture.alt,
        png=png,
        embedded=embedded,
        embedded_kind="image/png" if is_map else "image/svg+xml",
        width_px=round(picture.width * _DOTS_PER_INCH / 2),
        height_px=round(picture.height * _DOTS_PER_INCH / 2),
    )


def section_pictures(design: MotorDesign) -> tuple[Picture, ...]:
    """Return the section with its parts named, and one tooth with the main dimensions."""

    def whole(frame: canvas.Frame) -> None:
        draw_section(design, *frame.subplots())

    def detail(frame: canvas.Frame) -> None:
        draw_detail(design, *frame.subplots())

    return (
        Picture(
            name="section",
            title="Section",
            caption="The machine as designed, rotor at 0: pole 1, its north face towards the "
            "shaft, stands over tooth 1 on the right. Arrows: magnetisation. Letters: phases.",
            alt="Drawing of the whole section: stator core with coils inside, magnets and housing "
            "outside, parts named.",
            height=4.5,
            draw=whole,
        ),
        Picture(
            name="detail",
            title="One tooth and one magnet",
            caption="Main dimensions in mm, from the design file and what follows from it.",
            alt="Enlarged drawing of tooth 1 and the magnet over it with their dimensions.",
            height=4.1,
            margins=(0.3, 0.3, 0.65, 0.5),
            draw=detail,
        ),
    )


def sheet_pictures(sheet: PerformanceSheet) -> tuple[Picture, ...]:
    """Return the pictures of a performance sheet in the order of the report."""
    design = design_of(sheet.design)
    return (
        *section_pictures(design),
        *_field_pictures(sheet, design),
        *_curve_pictures(sheet),
        _ripple_picture(sheet),
        *_heat_pictures(sheet),
    )


def _field_pictures(sheet: PerformanceSheet, design: MotorDesign) -> tuple[Picture, ...]:
    fields = sheet.no_load

    def flux_map(frame: canvas.Frame) -> None:
        (axes,) = frame.subplots()
        draw_flux_map(sheet.field_map, axes)
        draw_borders(design, axes)

    def gap_field(frame: canvas.Frame) -> None:
        draw_gap_field(fields, *frame.subplots())

    peak = quantity(float(abs(fields.gap_flux_density_T).max(initial=0.0)), "T", count=3)
    return (
        Picture(
            name="flux_map",
            title="Field without current",
            caption="Tones: flux density |B|. Lines: flux lines; equal flux runs between "
            "neighbours. Computed in 2-D at 20 °C, no current, rotor at 0. The scale ends where "
            "99.5 % of the area lies below.",
            alt="Map of the flux density over the section with flux lines; largest mean in the "
            f"teeth {quantity(fields.tooth_flux_density_T, 'T', count=3)}, "
            f"in the yoke {quantity(fields.yoke_flux_density_T, 'T', count=3)}.",
            height=5.6,
            page_form="png",
            draw=flux_map,
        ),
        Picture(
            name="gap_field",
            title="Field in the air gap",
            caption="Radial flux density in the middle of the air gap, outward positive, once "
            "around. Computed in 2-D at 20 °C, no current, rotor at 0.",
            alt=f"Curve of the radial flux density around the gap, at most {peak}.",
            height=2.8,
            draw=gap_field,
        ),
    )


def _curve_pictures(sheet: PerformanceSheet) -> tuple[Picture, ...]:
    fields = sheet.no_load

    def back_emf(frame: canvas.Frame) -> None:
        above, below = frame.subplots((1.4, 1.0))
        draw_back_emf(fields, above)
        draw_spectrum(fields, below)

    def cogging(frame: canvas.Frame) -> None:
        draw_torque(fields, *frame.subplots())

    phase, line = (digits(100 * thd, 3) for thd in (fields.back_emf_thd, fields.back_emf_line_thd))
    swing = quantity(fields.cogging_peak_to_peak_Nm, "N m", count=3)
    period = quantity(fields.cogging_period_deg, "°")
    return (
        Picture(
            name="back_emf",
            title="Back-EMF",
            caption="Above: the three phases over one electrical period, volts for each rad/s of "
            "the rotor. Below: their harmonics; those of order 3, 9, 15 … are gone between two "
            "lines. Computed in 2-D at 20 °C, without end factor.",
            alt=f"Curves of the back-EMF of phases U, V, W; harmonics {phase} % of the "
            f"fundamental in a phase, {line} % line to line.",
            height=5.2,
            draw=back_emf,
        ),
        Picture(
            name="cogging",
            title="Cogging",
            caption="Torque on the rotor without current, counter-clockwise positive; a few of "
            "its periods. Dots: computed positions. 2-D, 20 °C.",
            alt=f"Curve of the cogging torque over rotor angle: {swing} peak to peak, repeating "
            f"every {period}.",
            height=2.8,
            draw=cogging,
        ),
    )


def _heat_pictures(sheet: PerformanceSheet) -> tuple[Picture, ...]:
    """Return the temperatures over time, where the design has a load."""
    heat = sheet.thermal
    if not heat.history_time_s.size:
        return ()

    def draw(frame: canvas.Frame) -> None:
        draw_heat(heat, *frame.subplots())

    soft = heat.seconds_to_soften_core
    when = "it never does" if soft is None else f"it does after {digits(soft, 3)} s"
    return (
        Picture(
            name="heat",
            title="Temperatures at full throttle from cold",
            caption="Computed by a network of heat paths from the losses at the load point; the "
            "spread of films and contacts stands at the answers, assumptions in the checks.",
            alt="Curves of the temperature of the parts over time, and of when the core "
            f"softens: {when}.",
            height=3.2,
            draw=draw,
        ),
    )


def _ripple_picture(sheet: PerformanceSheet) -> Picture:
    ripple, curve = ripple_of_sheet(sheet), sheet.loaded.rated
    computed = (
        f"computed: 2-D section, magnets at 20 °C, quality {sheet.quality}; {curve.waveform} "
        f"currents turning with the rotor, {quantity(curve.line_current_A, 'A', count=3)} peak in "
        f"the line, current angle {digits(curve.current_angle_deg, 3)}° electrical"
    )

    def draw(frame: canvas.Frame) -> None:
        above, below = frame.subplots((1.3, 1.0))
        _head(above, f"Torque ripple. {sheet.title}", computed)
        draw_ripple(ripple, above, below)

    return Picture(
        name="ripple",
        title="Torque ripple at the rated current",
        caption="Above: torque over one period of the ripple. Below: its spectrum, bars labelled "
        "in per cent of the mean. The picture says what was computed; the part of the magnets has "
        "the end factor.",
        alt=f"Curve of the torque at the rated current over rotor angle, {ripple.sentence}, and "
        "the spectrum of its ripple by order.",
        height=4.8,
        margins=_HEADED,
        draw=draw,
    )


def sweep_pictures(sweep: RotorSweep, setting: SweepSetting) -> tuple[Picture, ...]:
    """Return torque with the orders of its ripple, and flux linkage, over rotor angle."""
    ripple, computed = ripple_of_sweep(sweep, setting.design), _sweep_words(sweep, setting)
    title = "" if setting.design is None else f" {setting.design.title}"

    def torque(frame: canvas.Frame) -> None:
        above, below = frame.subplots((1.3, 1.0))
        _head(above, f"Torque over rotor angle.{title}", computed)
        draw_ripple(ripple, above, below)

    def linkage(frame: canvas.Frame) -> None:
        (axes,) = frame.subplots()
        draw_flux_linkage(sweep, axes)
        _head(axes, f"Flux linkage over rotor angle.{title}", computed, above=0.3)

    return (
        Picture(
            name="torque",
            title="Torque over rotor angle",
            caption=f"On the rotor, counter-clockwise positive; {computed}.",
            alt=f"Curve of the torque over rotor angle, {ripple.sentence}, and the spectrum of its "
            "ripple by order.",
            height=4.8,
            margins=_HEADED,
            draw=torque,
        ),
        Picture(
            name="flux_linkage",
            title="Flux linkage over rotor angle",
            caption=f"Phases U, V, W at their terminals; {computed}.",
            alt="Curves of the flux linkage of the three phases over rotor angle.",
            height=4.2,
            margins=(*_HEADED[:3], _HEADED[3] + 0.3),
            draw=linkage,
        ),
    )


def _sweep_words(sweep: RotorSweep, setting: SweepSetting) -> str:
    """Return what a sweep computed: section, quality, currents."""
    quality = f", quality {setting.quality}" if setting.quality else ""
    return f"computed: 2-D section, 20 °C, no end factor{quality}; {_currents(sweep, setting)}"


def _currents(sweep: RotorSweep, setting: SweepSetting) -> str:
    currents = sweep.currents_A
    if not currents.any():
        return "no current"
    if is_held(currents):
        three = ", ".join(digits(value) for value in currents[:, 0].tolist())
        return f"branch currents U, V, W held at {three} A"
    if not turns(sweep):
        return "branch currents as given, changing with the angle"
    return currents_in_words(sweep, setting.current_angle_deg)


def _head(axes: Axes, title: str, computed: str, *, above: float = 0.0) -> None:
    """Write what a picture shows over its axes, `above` inches higher, so that it goes with it."""
    titles, small = textwrap.wrap(title, _TITLE_LETTERS)[:2], textwrap.wrap(computed, 104)
    for place, line in enumerate(reversed([*titles, *small])):
        is_title = place >= len(small)
        axes.annotate(
            line,
            xy=(0.0, 1.0),
            xycoords="axes fraction",
            xytext=(0.0, 6 + 72 * above + 13 * place),
            textcoords="offset points",
            fontsize=9.5 if is_title else 8,
            weight="bold" if is_title else "normal",
            parse_math=False,
        )
