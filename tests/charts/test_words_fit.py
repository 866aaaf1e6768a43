"""No word of a picture leaves it or lies on another one, and none is too small for a phone."""

import itertools

import pytest
import sheet_of_sines as sines
from matplotlib.figure import Figure
from matplotlib.text import Text
from matplotlib.transforms import Bbox

from fem_motor.charts import canvas
from fem_motor.charts.picture import Picture, head
from fem_motor.charts.pictures.sheet_pictures import sheet_pictures
from fem_motor.charts.pictures.study_pictures import draw_values

PHONE_PX = 360 - 2 * 14
"""CSS pixels between the margins of a page on a narrow phone."""
LEAST_LETTERS_PX = 5.7
"""Size of letters, CSS pixels, that is still read on a phone of three dots to each of them, and
can be drawn larger with two fingers. A choice of this project."""


def words_of(figure: Figure) -> list[tuple[Text, Bbox]]:
    """Return what is written in a figure and the rectangle that it fills, in pixels."""
    figure.draw_without_rendering()
    found: list[Text] = list(figure.texts)
    legends = list(figure.legends)
    for axes in figure.axes:
        found += axes.texts
        legends += [one for one in [axes.get_legend()] if one is not None]
        for axis in (axes.xaxis, axes.yaxis) if axes.axison else ():
            low, high = sorted(axis.get_view_interval())
            edge = 1e-9 * (high - low)
            found.append(axis.label)
            for tick in (*axis.get_major_ticks(), *axis.get_minor_ticks()):
                if low - edge <= tick.get_loc() <= high + edge:
                    found += [tick.label1, tick.label2]
    found += [text for legend in legends for text in legend.get_texts()]
    shown = [text for text in found if text.get_visible() and text.get_text().strip()]
    # Of the words alone: an annotation would count its arrow too.
    return [(text, Text.get_window_extent(text)) for text in shown]


def check_words(picture: Picture) -> None:
    with canvas.house_style():
        figure = canvas.new_figure(picture.width, picture.height)
        picture.draw_into(figure)
        words = words_of(figure)
        edges = figure.bbox
        for text, box in words:
            told = f"{picture.name}: {text.get_text()!r}"
            assert edges.x0 - 1 <= box.x0, told
            assert box.x1 <= edges.x1 + 1, told
            assert edges.y0 - 1 <= box.y0, told
            assert box.y1 <= edges.y1 + 1, told
            assert text.get_fontsize() * PHONE_PX / (72 * picture.width) >= LEAST_LETTERS_PX, told
        for (one, first), (other, second) in itertools.combinations(words, 2):
            shared = Bbox.intersection(first, second)
            is_apart = shared is None or min(shared.width, shared.height) < 1.5
            assert is_apart, f"{picture.name}: {one.get_text()!r} on {other.get_text()!r}"


@pytest.mark.parametrize("picture", sheet_pictures(sines.sheet()), ids=lambda one: one.name)
def test_words_of_a_picture_stay_inside_it_and_apart(picture: Picture) -> None:
    check_words(picture)


def test_long_names_of_variants_and_long_titles_stay_inside() -> None:
    def draw(frame: canvas.Frame) -> None:
        (axes,) = frame.subplots()
        rows = [(f"a variant with a long name {n}", 1.0 + n, 0.9 + n, 1.2 + n) for n in range(4)]
        draw_values(rows, axes, name="motor_constant_Nm_per_sqrtW")
        head(axes, "Rotor of the reed-bed drive: motor constant", "computed, draft quality, " * 3)

    check_words(
        Picture(
            name="values", title="t", caption="c", alt="a", width=6.0, height=3.1,
            margins=(3.0, 0.3, 0.55, 0.65), draw=draw,
        )
    )  # fmt: skip
