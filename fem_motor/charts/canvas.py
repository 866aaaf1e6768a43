"""Figures without a window: made with the house style, saved as the same bytes everywhere."""

import io
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

import matplotlib as mpl
import numpy as np
import numpy.typing as npt
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from PIL import Image

_BETWEEN = 0.6


@contextmanager
def house_style() -> Iterator[None]:
    """Draw in the house style, whatever the user's own matplotlib settings are."""
    style = files("fem_motor.charts") / "fem_motor.mplstyle"
    with mpl.rc_context(), warnings.catch_warnings():
        # Letters that the one font lacks become boxes; the page has them, and a warning on stderr
        # of a library's inside helps nobody.
        warnings.filterwarnings("ignore", message=r"Glyph \d+")
        mpl.rcdefaults()
        mpl.rcParams.update(mpl.rc_params_from_file(str(style), use_default_template=False))
        yield


def new_figure(width: float, height: float) -> Figure:
    """Return an empty figure of this size in inches on a canvas without a window."""
    figure = Figure(figsize=(width, height))
    FigureCanvasAgg(figure)
    return figure


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """A rectangle of a figure that takes one picture; all sizes in inches.

    The places of the axes are plain sums. matplotlib's own layout solves equations whose last
    digits change from run to run, and a rebuilt report would differ.

    Attributes
    ----------
    figure : Figure
    left, bottom, width, height : float
        Of the rectangle.
    margins : (left, right, bottom, top)
        Between the rectangle and the axes, for labels.
    """

    figure: Figure
    left: float
    bottom: float
    width: float
    height: float
    margins: tuple[float, float, float, float]

    def subplots(self, height_ratios: Sequence[float] = (1.0,)) -> list[Axes]:
        """Return new axes one below the other, with room for labels between them."""
        page_width, page_height = self.figure.get_size_inches()
        left, right, bottom, top = self.margins
        inside = self.height - bottom - top
        rows = len(height_ratios)
        grid = self.figure.add_gridspec(
            rows,
            1,
            left=(self.left + left) / page_width,
            right=(self.left + self.width - right) / page_width,
            bottom=(self.bottom + bottom) / page_height,
            top=(self.bottom + self.height - top) / page_height,
            height_ratios=height_ratios,
            # In units of the mean height of the axes.
            hspace=_BETWEEN * rows / (inside - _BETWEEN * (rows - 1)),
        )
        return [self.figure.add_subplot(grid[row, 0]) for row in range(rows)]


def png_bytes(figure: Figure) -> bytes:
    """Return the figure as PNG, without date or program version.

    As red, green and blue alone: nothing shows through, and the library's own way writes a fourth
    channel that says so.
    """
    buffer = io.BytesIO()
    dpi = mpl.rcParams["savefig.dpi"]
    Image.fromarray(_pixels(figure)).save(buffer, format="png", dpi=(dpi, dpi))
    return buffer.getvalue()


def palette_png_bytes(figure: Figure, colours: int = 96) -> bytes:
    """Return the figure as PNG with a palette: of a map a third of the bytes."""
    buffer = io.BytesIO()
    Image.fromarray(_pixels(figure)).quantize(colours).save(buffer, format="png", optimize=True)
    return buffer.getvalue()


def _pixels(figure: Figure) -> npt.NDArray[np.uint8]:
    """Return the figure as drawn, (height, width, 3)."""
    figure.set_dpi(mpl.rcParams["savefig.dpi"])
    drawn = FigureCanvasAgg(figure)
    drawn.draw()  # type: ignore[no-untyped-call]  # untyped library
    return np.asarray(drawn.buffer_rgba())[..., :3]  # type: ignore[no-untyped-call]


def svg_bytes(figure: Figure) -> bytes:
    """Return the figure as SVG, without date or program version."""
    buffer = io.BytesIO()
    figure.savefig(buffer, format="svg", metadata={"Date": None, "Creator": None})
    return buffer.getvalue()


def font_file(name: str) -> Path:
    """Return the file of the house font by its name, DejaVuSans or DejaVuSans-Bold."""
    return Path(mpl.get_data_path()) / "fonts" / "ttf" / f"{name}.ttf"
