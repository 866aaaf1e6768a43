"""A picture before and after it is drawn: what it shows, its words, its bytes."""

import textwrap
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from fem_motor.charts import canvas
from fem_motor.design import MotorDesign

_DOTS_PER_INCH = 160
_TITLE_LETTERS, _SMALL_LETTERS = 9.3, 16.7  # to an inch
HEADED = (0.8, 0.2, 0.65, 0.95)
"""Margins of a picture with a few lines of words over it, inches."""

Topic = Literal["machine", "field", "no load", "with current", "drive", "heat", "building", "other"]
"""What a picture belongs to: the part of the document that it stands in."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Turned:
    """A picture of the rotor at 0, turned so that it shows another rotor angle.

    Attributes
    ----------
    rotor_deg, field_deg : float
        Of the rotor, and by how much the picture is turned; mechanical, counter-clockwise.
    """

    rotor_deg: float
    field_deg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """One picture, not yet drawn.

    Attributes
    ----------
    name : str
        Its file's name without ending.
    topic : str
    title, caption, alt : str
        Caption: what it shows, and what was computed or assumed. Alt: the same for those who
        cannot see it, with the main numbers.
    width, height : float
        Inches.
    margins : (left, right, bottom, top)
        Inches around the axes, for labels.
    page_form : "svg" or "png"
        How it stands in the page: lines as SVG, maps of many thousand triangles as PNG.
    turned : tuple of Turned
        Rotor angles that it shows when turned about its middle; empty for one that stands still.
    draw : callable
        Draws it into a frame.
    """

    name: str
    topic: Topic = "other"
    title: str
    caption: str
    alt: str
    width: float = 5.2
    height: float
    margins: tuple[float, float, float, float] = (0.8, 0.2, 0.5, 0.3)
    page_form: Literal["svg", "png"] = "svg"
    turned: tuple[Turned, ...] = ()
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
    topic: Topic
    title: str
    caption: str
    alt: str
    png: bytes
    embedded: bytes
    embedded_kind: str
    width_px: int
    height_px: int
    turned: tuple[Turned, ...] = ()


def render(picture: Picture) -> Rendered:
    """Return the picture drawn in the house style; the same bytes each time."""
    with canvas.house_style():
        figure = canvas.new_figure(picture.width, picture.height)
        picture.draw_into(figure)
        as_png = canvas.palette_png_bytes if picture.turned else canvas.png_bytes
        png = as_png(figure)
        is_map = picture.page_form == "png"
        embedded = png if is_map else canvas.svg_bytes(figure)
    return Rendered(
        name=picture.name,
        topic=picture.topic,
        title=picture.title,
        caption=picture.caption,
        alt=picture.alt,
        png=png,
        embedded=embedded,
        embedded_kind="image/png" if is_map else "image/svg+xml",
        width_px=round(picture.width * _DOTS_PER_INCH / 2),
        height_px=round(picture.height * _DOTS_PER_INCH / 2),
        turned=picture.turned,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepSetting:
    """What a sweep was made of, where that is known; a sweep itself holds numbers only.

    Attributes
    ----------
    design : MotorDesign or None
    quality : str
        draft, standard or fine; empty where not known.
    current_angle_deg : float or None
        Of currents that turn with the rotor, electrical.
    """

    design: MotorDesign | None = None
    quality: str = ""
    current_angle_deg: float | None = None


def head(axes: Axes, title: str, computed: str, *, above: float = 0.0) -> None:
    """Write what a picture shows over its axes, `above` inches higher, so that it goes with it."""
    figure = axes.figure
    # Where long names stand left of the axes, the words begin over these.
    left = min(axes.get_window_extent().x0 / figure.dpi, HEADED[0])
    room = figure.bbox.width / figure.dpi - left
    back = 72 * (axes.get_window_extent().x0 / figure.dpi - left)
    titles = textwrap.wrap(title, int(_TITLE_LETTERS * room))[:2]
    small = textwrap.wrap(computed, int(_SMALL_LETTERS * room))
    for place, line in enumerate(reversed([*titles, *small])):
        is_title = place >= len(small)
        axes.annotate(
            line,
            xy=(0.0, 1.0),
            xycoords="axes fraction",
            xytext=(-back, 6 + 72 * above + 13 * place),
            textcoords="offset points",
            fontsize=9.5 if is_title else 8,
            weight="bold" if is_title else "normal",
            parse_math=False,
        )
