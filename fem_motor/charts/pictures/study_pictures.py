"""The pictures of a study: recorded figures by variant, and curves of all variants."""

import math
from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes

from fem_motor.charts import canvas
from fem_motor.charts.picture import Picture, head
from fem_motor.findings import Headline
from fem_motor.numbers import digits, quantity, scale_of
from fem_motor.study import CURVES, Study, StudyResult, in_words, points_of

Row = tuple[str, float, float, float]
"""A variant: its label, a figure, and its range."""

_STYLES = (
    ("#0b3c6f", "-", "o"),
    ("#c8500a", "--", "s"),
    ("#2f8f5b", "-.", "^"),
    ("#7b4b94", ":", "D"),
    ("#8a6d00", "-", "v"),
    ("#444444", "--", "P"),
)
_HATCHES = ("", "///", "", "\\\\\\", "", "xxx")
"""Of bars, so that neighbours can be told apart in grey print."""
LEGEND_COLUMNS, LEGEND_DOWN, LEGEND_ROW = 2, 0.5, 0.2
"""Under the axes, where it covers no curve; inches."""

GAP_PERIODS = 2
"""Electrical periods of the gap field that are drawn."""

COGGING_PERIODS = 4
"""Periods of the cogging that are drawn, of the variant that repeats itself least often."""

MOST_CURVES = len(_STYLES)
_MARKERS = 10
_ROW_HEIGHT = 0.32  # inches
_WIDEST_LABEL = 34
_AS_BARS = "order"


def study_pictures(result: StudyResult) -> tuple[Picture, ...]:
    """Return the figures that a study asks for, not yet drawn; none without answers."""
    found = []
    for number, plan in enumerate(result.study.figures, 1):
        if not result.solved:
            continue
        if plan.kind == "values":
            found.append(_values(result, plan.of, plan.along, plan.name(number)))
        else:
            found.append(_curves(result, plan.of, plan.name(number)))
    return tuple(found)


def draw_values(rows: Sequence[Row], axes: Axes, *, name: str) -> None:
    """Draw a figure of each variant as a mark, with a line over its range, one below the other."""
    factor, unit = scale_of(max(abs(high) for *_, high in rows), in_words(name)[1])
    for place, (_, value, low, high) in enumerate(rows):
        axes.plot([low / factor, high / factor], [place, place], color="#0b3c6f", linewidth=1.5)
        axes.plot(value / factor, place, "o", color="#0b3c6f", markersize=5)
        axes.annotate(
            digits(value / factor),
            (value / factor, place),
            xytext=(0, 5),
            textcoords="offset points",
            ha="center",
            fontsize=7.5,
        )
    axes.set_yticks(range(len(rows)), [label[:_WIDEST_LABEL] for label, *_ in rows])
    axes.set_ylim(len(rows) - 0.4, -0.7)
    axes.set_xlabel(f"{in_words(name)[0]}{f', {unit}' if unit else ''}")
    axes.grid(axis="x", alpha=0.3)


def draw_along(
    along: Sequence[float], rows: Sequence[Row], axes: Axes, *, names: tuple[str, str]
) -> None:
    """Draw a figure over the numbers of an axis, its range as a band."""
    factor, unit = scale_of(max(abs(high) for *_, high in rows), in_words(names[1])[1])
    order = np.argsort(along)
    x = np.array(along)[order]
    value, low, high = (np.array([row[k] for row in rows])[order] / factor for k in (1, 2, 3))
    axes.fill_between(x, low, high, color="#0b3c6f", alpha=0.15, linewidth=0)
    axes.plot(x, value, "-o", color="#0b3c6f", markersize=4)
    axes.set(xlabel=names[0], ylabel=f"{in_words(names[1])[0]}{f', {unit}' if unit else ''}")
    axes.grid(alpha=0.3)


def draw_curves(
    curves: Sequence[tuple[str, Sequence[float], Sequence[float]]],
    axes: Axes,
    *,
    labels: tuple[str, str],
) -> None:
    """Draw a curve of each variant; a spectrum as bars side by side."""
    largest = max((max(map(abs, y)) for _, _, y in curves if len(y)), default=1.0)
    words, _, unit = labels[1].rpartition(", ")
    factor, shown = scale_of(largest, unit)
    for place, (label, x, y) in enumerate(curves):
        color, line, marker = _STYLES[place % MOST_CURVES]
        heights = np.asarray(y) / factor
        if _AS_BARS in labels[0]:
            width = 0.8 / len(curves)
            shift = (place - (len(curves) - 1) / 2) * width
            axes.bar(np.arange(len(x)) + shift, heights, width, label=label, color=color,
                     edgecolor="white" if _HATCHES[place % MOST_CURVES] else "black",
                     hatch=_HATCHES[place % MOST_CURVES], linewidth=0.4)  # fmt: skip
            axes.set_xticks(range(len(x)), [f"{order:g}" for order in x])
        else:
            axes.plot(x, heights, line, color=color, marker=marker, label=label, markersize=3.5,
                      markevery=max(1, len(x) // _MARKERS))  # fmt: skip
    axes.set(xlabel=labels[0], ylabel=f"{words}, {shown}")
    axes.legend(
        fontsize=7.5,
        loc="upper left",
        bbox_to_anchor=(0.0, -LEGEND_DOWN / axes.get_window_extent().height * axes.figure.dpi),
        ncols=LEGEND_COLUMNS,
        frameon=False,
    )
    axes.grid(alpha=0.3)


def _values(result: StudyResult, name: str, along: str, picture: str) -> Picture:
    study = result.study
    rows = [(row, *_range(row.values[name])) for row in result.solved if row.values.get(name)]
    axis = along or study.axes[0].name
    numbers = [_number(row.variant.labels[axis]) for row, *_ in rows]
    listed: list[Row] = [(row.variant.label, a, b, c) for row, a, b, c in rows]
    words = in_words(name)[0]
    several = len(study.axes) > 1
    rows_are = f" by {' and '.join(one.name for one in study.axes)}" if several else ""
    as_line = len(study.axes) == 1 and len(rows) > 1 and None not in numbers

    def draw(frame: canvas.Frame) -> None:
        (axes,) = frame.subplots()
        if as_line:
            draw_along([one or 0.0 for one in numbers], listed, axes, names=(axis, name))
        elif listed:
            draw_values(listed, axes, name=name)
        head(axes, f"{study.title}: {words}{rows_are}", _computed(study))

    left = 1.0 if as_line else 0.6 + 0.075 * min(max(len(r[0]) for r in listed), _WIDEST_LABEL)
    return Picture(
        name=picture,
        title=f"{_sentence(words)} by variant",
        caption=f"Mark: the value; line or band: its range. {_sentence(_computed(study))}.",
        alt=f"{words} of each variant: "
        + "; ".join(f"{label} {digits(value)}" for label, value, *_ in listed),
        width=6.0,
        height=3.4 if as_line else 1.8 + _ROW_HEIGHT * len(listed),
        margins=(left, 0.3, 0.55, 0.65),
        draw=draw,
    )


def _curves(result: StudyResult, name: str, picture: str) -> Picture:
    study, curve = result.study, CURVES[name]
    found: list[tuple[str, Sequence[float], Sequence[float]]] = [
        (row.variant.named, *points_of(row.outcome.result, curve))
        for row in result.solved[:MOST_CURVES]
    ]
    if name == "gap field":
        found = [(label, *_up_to(_end_of_gap(study), x, y)) for label, x, y in found]
    if name == "cogging":
        found = [(label, *_up_to(_end_of_cogging(result), x, y)) for label, x, y in found]
    rows = math.ceil(len(found) / LEGEND_COLUMNS)
    left_out = len(result.solved) - len(found)
    more = f"; {left_out} more variants are in the table only" if left_out else ""

    def draw(frame: canvas.Frame) -> None:
        (axes,) = frame.subplots()
        draw_curves(found, axes, labels=(curve.x_label, curve.y_label))
        head(axes, f"{study.title}: {name}", _computed(study) + more)

    return Picture(
        name=picture,
        title=f"{_sentence(name)} of the variants",
        caption=f"{_sentence(_computed(study))}{more}.",
        alt=f"{_sentence(name)} of {', '.join(label for label, *_ in found)}; largest "
        f"{_largest(found, curve.y_label)}.",
        width=6.0,
        height=3.6 + LEGEND_ROW * rows,
        margins=(0.8, 0.2, 0.7 + LEGEND_ROW * rows, 0.65),
        draw=draw,
    )


def _largest(found: Sequence[tuple[str, Sequence[float], Sequence[float]]], label: str) -> str:
    """Return the largest size of each curve in words, for those who cannot see it."""
    unit = label.rpartition(", ")[2]
    return ", ".join(quantity(max(map(abs, y), default=0.0), unit, count=3) for *_, y in found)


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]


def _end_of_gap(study: Study) -> float:
    """Return up to where the gap field is drawn: the base design repeats itself a few times."""
    return GAP_PERIODS * 360 / study.base.motor.rotor.pole_pairs


def _end_of_cogging(result: StudyResult) -> float:
    """Return up to where cogging is drawn: every variant repeats itself a few times."""
    parts = [row.outcome.result.get("no_load") or {} for row in result.solved]
    periods = [float(part.get("cogging_period_deg", math.inf)) for part in parts]
    return COGGING_PERIODS * max(periods)


def _up_to(
    end: float, x: Sequence[float], y: Sequence[float]
) -> tuple[Sequence[float], Sequence[float]]:
    """Return a curve as far as `end`."""
    number = sum(one <= end for one in x)
    return x[:number], y[:number]


def _computed(study: Study) -> str:
    return f"computed, {study.quality} quality, 20 °C unless a temperature is shown"


def _range(headline: Headline | None) -> tuple[float, float, float]:
    """Return a value and its range; the value alone where it has none."""
    if headline is None or headline.value is None:
        return 0.0, 0.0, 0.0
    low = headline.value if headline.low is None else headline.low
    high = headline.value if headline.high is None else headline.high
    return headline.value, low, high


def _number(label: str) -> float | None:
    try:
        return float(label)
    except ValueError:
        return None
