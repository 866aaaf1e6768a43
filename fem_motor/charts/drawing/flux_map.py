"""The field of the whole machine as a map: |B| in tones, flux lines as contours."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import Collection
from matplotlib.patheffects import withStroke
from matplotlib.tri import Triangulation

from fem_motor.arrays import FloatArray, IntArray
from fem_motor.field import FieldMap
from fem_motor.units import MM

_FLUX_LINES = 12  # even: the line of potential zero runs to infinity and says nothing
# Single elements at sharp corners reach far above everything else and would darken the map.
_TONES_UP_TO_PERCENTILE = 99.5


def draw_flux_map(field_map: FieldMap, axes: Axes) -> None:
    """Draw |B| in tesla with a colour bar, and flux lines, over the whole section in mm.

    Equal flux runs between neighbouring lines. The tones end at the value that 99.5 % of the
    shown area stays below.
    """
    tones = _draw_tones_and_lines(field_map, axes)
    bar = axes.figure.colorbar(tones, ax=axes, extend="max", shrink=0.85, pad=0.02)
    bar.set_label("flux density |B|, T")
    axes.set(xlabel="x, mm", ylabel="y, mm")


def draw_tones(
    points: FloatArray, triangles: IntArray, values: FloatArray, axes: Axes
) -> Collection:
    """Draw one tone for each triangle (3, m) between points (2, n), m; lengths in mm.

    As triangles with corners of their own and three like colours: a polygon for each, which is
    the library's way, takes three times as long.
    """
    x, y = points[:, triangles.T.ravel()] / MM
    own = Triangulation(x, y, np.arange(x.size).reshape(-1, 3))
    return axes.tripcolor(
        own, np.repeat(values, 3), shading="gouraud", cmap="cividis", rasterized=True
    )


def draw_bare_map(field_map: FieldMap, axes: Axes) -> None:
    """Draw the same alone, without axes, the rotor's axis in the middle and as far as it fits."""
    _draw_tones_and_lines(field_map, axes)
    reach = float(np.abs(field_map.points).max() / MM)
    axes.set(xlim=(-reach, reach), ylim=(-reach, reach))
    axes.set_axis_off()


def _draw_tones_and_lines(field_map: FieldMap, axes: Axes) -> Collection:
    x, y = field_map.points / MM
    mesh = Triangulation(x, y, field_map.triangles.T)
    tones = draw_tones(field_map.points, field_map.triangles, field_map.flux_density, axes)
    tones.set_clim(0.0, _ceiling(field_map))
    potential = field_map.vector_potential
    low, high = float(potential.min()), float(potential.max())
    if high > low:
        # Half a step in from both ends: the extremes themselves are points, not lines.
        step = (high - low) / _FLUX_LINES
        levels = low + step * (np.arange(_FLUX_LINES) + 0.5)
        lines = axes.tricontour(mesh, potential, levels=levels, colors="white", linewidths=0.6,
                                linestyles="solid")  # fmt: skip
        # Dark edges, so that the lines stand out from light tones as well.
        lines.set_path_effects([withStroke(linewidth=1.0, foreground="black")])
    axes.set(aspect="equal")
    axes.grid(visible=False)
    return tones


def _ceiling(field_map: FieldMap) -> float:
    """Return the flux density that 99.5 % of the area stays below, in T."""
    corners = field_map.points[:, field_map.triangles]
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    area = np.abs(first[0] * second[1] - first[1] * second[0])
    order = np.argsort(field_map.flux_density, kind="stable")
    share = np.cumsum(area[order])
    place = int(np.searchsorted(share, _TONES_UP_TO_PERCENTILE / 100 * share[-1]))
    value = float(field_map.flux_density[order[min(place, order.size - 1)]])
    return value if value > 0 else 1.0
